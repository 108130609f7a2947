/* What a campaign says about itself: names, counts, criteria, quantities, and what it lends to the layers above. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "campaign_handle.h"

const char *rc_campaign_name(const rc_campaign *campaign)
{
    return campaign->settings.name;
}

const char *rc_campaign_purpose(const rc_campaign *campaign)
{
    return campaign->settings.purpose;
}

int rc_campaign_sweep_count(const rc_campaign *campaign)
{
    return campaign->settings.n_sweeps;
}

struct rc_sweep_range rc_campaign_sweep(const rc_campaign *campaign, int index)
{
    const struct rc_sweep_settings *from = &campaign->settings.sweep[index];
    struct rc_sweep_range range = {.from = from->from, .to = from->to, .count = (int)from->values};
    (void)snprintf(range.path, sizeof range.path, "%.95s", from->path);
    return range;
}

const char *rc_campaign_cost_unit(const rc_campaign *campaign)
{
    return campaign->settings.cost_unit;
}

int64_t rc_campaign_flights(const rc_campaign *campaign)
{
    return campaign->settings.flights;
}

uint64_t rc_campaign_seed(const rc_campaign *campaign)
{
    return (uint64_t)campaign->settings.seed;
}

uint64_t rc_campaign_fingerprint(const rc_campaign *campaign)
{
    return rc_bundle_fingerprint(&campaign->bundle);
}

struct rc_stop_rule rc_campaign_stop_rule(const rc_campaign *campaign)
{
    const struct rc_settings *settings = &campaign->settings;
    return (struct rc_stop_rule){.width = settings->stop_width, .seconds = settings->stop_seconds,
                                 .on_verdict = settings->stop_on_verdict, .most = settings->flights};
}

struct rc_rare_rule rc_campaign_rare_rule(const rc_campaign *campaign)
{
    const struct rc_settings *settings = &campaign->settings;
    struct rc_rare_rule rule = {.method = (enum rc_rare_method)settings->rare_method, .criterion = -1,
                                .per_level = (int)settings->rare_per_level, .repeats = (int)settings->rare_repeats};
    for (int index = 0; index < settings->n_criteria; index++)
        if (settings->n_criteria == 1 || strcmp(settings->criteria[index].name, settings->rare_criterion) == 0)
            rule.criterion = index;
    return rule;
}

int rc_campaign_criteria_count(const rc_campaign *campaign)
{
    return campaign->settings.n_criteria;
}

const struct rc_criterion *rc_campaign_criterion(const rc_campaign *campaign, int index)
{
    return index >= 0 && index < campaign->settings.n_criteria ? &campaign->criterion[index] : NULL;
}

const struct rc_criterion *rc_campaign_all_together(const rc_campaign *campaign)
{
    return &campaign->together;
}

int rc_campaign_quantity_count(const rc_campaign *campaign)
{
    return campaign->values.n;
}

/* The uncertain number that an entry goes with where the file does not give it, or NULL. */
static const struct rc_entry *followed_by(const rc_campaign *campaign, const struct rc_entry *entry)
{
    if (!entry->is_default || entry->row->fallback.kind != RC_DEFAULT_TIMES)
        return NULL;
    for (int index = 0; index < campaign->values.n; index++) {
        const struct rc_entry *other = &campaign->values.entry[index];
        if (other->uncertain >= 0 && other->offset == entry->row->fallback.offset)
            return other;
    }
    return NULL;
}

struct rc_quantity_view rc_campaign_quantity(const rc_campaign *campaign, int index)
{
    const struct rc_entry *entry = &campaign->values.entry[index];
    struct rc_quantity_view view = {.unit = entry->row->unit,
                                    .meaning = entry->row->meaning,
                                    .value = entry->value,
                                    .low = entry->row->low,
                                    .high = entry->row->high,
                                    .is_uncertain = entry->uncertain >= 0,
                                    .is_default = entry->is_default};
    const int has_law = entry->uncertain >= 0;
    view.cost_to_halve = has_law ? entry->extras.value[RC_LAW_COST_TO_HALVE] : NAN;
    view.cost_to_remove = has_law ? entry->extras.value[RC_LAW_COST_TO_REMOVE] : NAN;
    const struct rc_entry *followed = followed_by(campaign, entry);
    if (followed) {
        memcpy(view.follows, followed->path, sizeof view.follows);
        view.share = entry->row->fallback.value;
    }
    memcpy(view.path, entry->path, sizeof view.path);
    memcpy(view.given, entry->given, sizeof view.given);
    memcpy(view.distribution, entry->distribution, sizeof view.distribution);
    return view;
}

/* The measure that a limit of a criterion is held against, NULL where no limit stands at the path. */
static const struct rc_measure_row *limited_at(const rc_campaign *campaign, const char *path)
{
    static const char *const limits[] = {"criteria[].at_least", "criteria[].at_most"};
    char limit[RC_MAX_PATH_TEXT];
    for (int index = 0; index < campaign->settings.n_criteria; index++) {
        for (size_t at = 0; at < sizeof limits / sizeof limits[0]; at++) {
            rc_read_path(limit, limits[at], index, -1);
            if (strcmp(path, limit) == 0)
                return rc_measures_row(campaign->criterion[index].measure);
        }
    }
    return NULL;
}

const char *rc_campaign_unit(const rc_campaign *campaign, const char *path)
{
    const struct rc_measure_row *const measure = limited_at(campaign, path);
    if (measure)
        return measure->unit;
    for (int index = 0; index < campaign->values.n; index++) {
        const struct rc_entry *entry = &campaign->values.entry[index];
        const size_t n = strlen(entry->given);
        if (strncmp(entry->given, path, n) != 0 || (path[n] != '.' && path[n] != '\0'))
            continue;
        const char *key = path + n + (path[n] == '.');
        const bool is_parameter = *key != '\0' && entry->uncertain >= 0;
        if (is_parameter && !rc_law_in_unit(&campaign->values.uncertain[entry->uncertain].distribution, key, strcspn(key, "[.")))
            return "1";
        return entry->row->unit;
    }
    return "1";
}

int rc_campaign_uncertain_count(const rc_campaign *campaign)
{
    return campaign->values.sampling.n;
}

struct rc_quantity_view rc_campaign_uncertain(const rc_campaign *campaign, int index)
{
    return rc_campaign_quantity(campaign, campaign->values.uncertain_entry[index]);
}

/* Entries that the public header reports by other calls. */
static int is_told_elsewhere(const char *path)
{
    static const char *const starts[] = {"$schema",  "name",    "purpose",    "run.flights",
                                         "run.seed", "sweep[]", "criteria[]", "all_together"};
    for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++) {
        const size_t n = strlen(starts[i]);
        if (strncmp(path, starts[i], n) == 0 && (path[n] == '\0' || path[n] == '.'))
            return 1;
    }
    return 0;
}

/* Members of the list that a row's path goes through; 1 where it goes through none, 0 for rows told elsewhere and for those that
 * do not apply. */
static int members_of(const rc_campaign *campaign, const struct rc_setting_row *row)
{
    const struct rc_list_row *list = rc_settings_list(row->path);
    const int is_formula = campaign->settings.formula[0] != '\0';
    if (is_told_elsewhere(row->path) || (row->when != RC_WHEN_SHARED && is_formula != (row->when == RC_WHEN_FORMULA)))
        return 0;
    return list ? rc_settings_list_count(&campaign->settings, list) : 1;
}

int rc_campaign_setting_count(const rc_campaign *campaign)
{
    int n = 0;
    for (int row = 0; row < rc_settings_count(); row++)
        n += members_of(campaign, rc_settings_row(row));
    return n;
}

/* A file's name with its size and the sum of its bytes: two files of one name need not be the same. */
static void describe_file(const rc_campaign *campaign, const char *name, char *value, size_t n_value)
{
    const struct rc_bundle_file *file = rc_bundle_find(&campaign->bundle, name);
    if (!file) {
        (void)snprintf(value, n_value, "%s", name);
        return;
    }
    const uint64_t sum = rc_hash_bytes(RC_FNV_START, file->bytes, file->n_bytes);
    (void)snprintf(value, n_value, "%.190s (%zu bytes, sum %08" PRIx64 ")", name, file->n_bytes, sum & 0xffffffffU);
}

static void describe_setting(const rc_campaign *campaign, const struct rc_setting_row *row, const char *field,
                             struct rc_setting_view *view)
{
    int64_t whole = 0;
    int index = 0;
    double number = 0;
    switch (row->kind) {
    case RC_SETTING_TEXT:
        (void)snprintf(view->value, sizeof view->value, "%s", field);
        break;
    case RC_SETTING_FILE:
        describe_file(campaign, field, view->value, sizeof view->value);
        break;
    case RC_SETTING_INTEGER:
        memcpy(&whole, field, sizeof whole);
        (void)snprintf(view->value, sizeof view->value, "%" PRId64, whole);
        break;
    case RC_SETTING_NUMBER:
        memcpy(&number, field, sizeof number);
        (void)snprintf(view->value, sizeof view->value, "%.10g", number);
        break;
    case RC_SETTING_CHOICE:
        memcpy(&index, field, sizeof index);
        (void)snprintf(view->value, sizeof view->value, "%s", row->choice(index));
        break;
    }
}

struct rc_setting_view rc_campaign_setting(const rc_campaign *campaign, int index)
{
    struct rc_setting_view view = {.path = "", .value = "", .meaning = ""};
    int at = 0;
    while (at + 1 < rc_settings_count() && index >= members_of(campaign, rc_settings_row(at)))
        index -= members_of(campaign, rc_settings_row(at++));
    const struct rc_setting_row *row = rc_settings_row(at);
    const struct rc_list_row *list = rc_settings_list(row->path);
    const size_t offset = row->offset + (list ? (size_t)index * list->settings_stride : 0);
    rc_read_path(view.path, row->path, list ? index : -1, -1);
    view.meaning = row->meaning;
    describe_setting(campaign, row, (const char *)&campaign->settings + offset, &view);
    return view;
}

const struct rc_bundle *rc_campaign_bundle(const rc_campaign *campaign)
{
    return &campaign->bundle;
}

const struct rc_layout *rc_campaign_layout(const rc_campaign *campaign)
{
    return &campaign->layout;
}

const struct rc_sampling *rc_campaign_sampling(const rc_campaign *campaign)
{
    return &campaign->values.sampling;
}

const struct rc_plan_kind *rc_campaign_plan(const rc_campaign *campaign)
{
    return campaign->plan;
}

const struct rc_model *rc_campaign_model(const rc_campaign *campaign)
{
    return campaign->model;
}

void rc_campaign_design(const rc_campaign *campaign, const double *values, struct rc_design *design)
{
    rc_values_design(design, &campaign->values, values);
}

const struct rc_record *rc_campaign_middle(const rc_campaign *campaign)
{
    return campaign->formula ? NULL : &campaign->middle;
}

const struct rc_formula *rc_campaign_formula(const rc_campaign *campaign)
{
    return campaign->formula;
}

const char *rc_campaign_formula_text(const rc_campaign *campaign)
{
    return campaign->settings.formula;
}

int rc_campaign_input_count(const rc_campaign *campaign)
{
    return campaign->settings.n_inputs;
}

const char *rc_campaign_input_name(const rc_campaign *campaign, int index)
{
    return campaign->settings.inputs[index].name;
}

bool rc_campaign_yields(const rc_campaign *campaign, int measure)
{
    return rc_measures_is_formula(measure) == (campaign->formula != NULL);
}

bool rc_campaign_keeps(const rc_campaign *campaign, int measure)
{
    bool is_kept = campaign->formula != NULL || campaign->settings.keep_measures == RC_KEPT_ALL;
    for (int index = 0; index < rc_campaign_criteria_count(campaign); index++)
        is_kept = is_kept || rc_campaign_criterion(campaign, index)->measure == measure;
    return is_kept && rc_campaign_yields(campaign, measure);
}

bool rc_campaign_keeps_bands(const rc_campaign *campaign)
{
    return campaign->formula == NULL && campaign->settings.keep_bands != 0;
}
