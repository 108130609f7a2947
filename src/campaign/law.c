/* Reads distribution objects by the registry of kinds. Kinds, their parameters and their checks are numeric's. */
#include "law.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "law_lists.h"
#include "base/suggest.h"

/* Share of flights that may fall outside the allowed range (and are then held at its edge) without a complaint. */
#define OUTSIDE_MOST 1e-6
/* Of sums of probabilities. */
#define ROUNDING 1e-12

static const struct rc_law_row rows[] = {
#define RC_LAW_ENTRY(name, key, low, high, fallback, in_unit, meaning) {key, low, high, fallback, in_unit, meaning},
#include "law.def"
#undef RC_LAW_ENTRY
};

const struct rc_law_row *rc_law_row(enum rc_law_entry entry)
{
    return &rows[entry];
}

static int extra_index(const char *key)
{
    for (int index = 0; index < RC_N_LAW_ENTRIES; index++) {
        if (strcmp(rows[index].key, key) == 0)
            return index;
    }
    return -1;
}

/* Read one entry that does not belong to the kind. ends false after reporting */
static bool read_extra(double *value, const struct rc_law_row *row, const struct rc_reader *reader, const cJSON *entry,
                       const char *path)
{
    char got[RC_READ_GOT];
    rc_read_describe(entry, got);
    if (cJSON_IsNumber(entry) && entry->valuedouble >= row->low && entry->valuedouble <= row->high) {
        *value = entry->valuedouble;
        return true;
    }
    rc_read_report(reader, path, row->key, "got %s, wanted a number from %.10g to %.10g: %s", got, row->low, row->high,
                   row->meaning);
    return false;
}

static const struct rc_distribution_kind *read_kind(const struct rc_reader *reader, const cJSON *node, const char *path)
{
    const cJSON *name = cJSON_GetObjectItemCaseSensitive(node, "distribution");
    char got[RC_READ_GOT];
    if (!name) {
        rc_read_report(reader, path, "distribution",
                       "the entry \"distribution\" is missing; an uncertain number needs it, "
                       "e.g. {\"distribution\": \"normal\", \"mean\": 0, \"sd\": 1}");
        return NULL;
    }
    rc_read_describe(name, got);
    if (!cJSON_IsString(name)) {
        rc_read_report(reader, path, "distribution", "got %s, wanted the name of a distribution", got);
        return NULL;
    }
    const struct rc_distribution_kind *kind = rc_distribution_find(name->valuestring);
    if (kind)
        return kind;
    struct rc_suggest search = {.wanted = name->valuestring};
    char words[256] = "";
    for (int index = 0; index < rc_distribution_count(); index++) {
        const char *word = rc_distribution_at(index)->name;
        rc_suggest_offer(&search, word, strlen(word));
        const size_t n = strlen(words);
        (void)snprintf(words + n, sizeof words - n, "%s%s", n > 0 ? ", " : "", word);
    }
    char hint[128];
    rc_suggest_text(&search, hint, sizeof hint);
    rc_read_report(reader, path, "distribution", "unknown distribution %s, wanted one of %s%s", got, words, hint);
    return NULL;
}

static int parameter_index(const struct rc_distribution_kind *kind, const char *key)
{
    for (int index = 0; index < kind->n_parameters; index++) {
        if (strcmp(kind->parameter[index].key, key) == 0)
            return index;
    }
    return -1;
}

static bool is_doubled(const cJSON *object, const cJSON *node)
{
    for (const cJSON *other = object->child; other != node; other = other->next) {
        if (strcmp(other->string, node->string) == 0)
            return true;
    }
    return false;
}

/* Offer a key as the nearest, and list it. */
static void offer(struct rc_suggest *search, char words[256], const char *key)
{
    rc_suggest_offer(search, key, strlen(key));
    const size_t n = strlen(words);
    (void)snprintf(words + n, 256 - n, "%s%s", n > 0 ? ", " : "", key);
}

static void report_unknown(const struct rc_distribution_kind *kind, const struct rc_reader *reader, const cJSON *entry,
                           const char *path)
{
    struct rc_suggest search = {.wanted = entry->string};
    char words[256] = "";
    char hint[128];
    for (int known = 0; known < kind->n_parameters; known++)
        offer(&search, words, kind->parameter[known].key);
    for (int known = 0; rc_law_lists_key(kind, known); known++)
        offer(&search, words, rc_law_lists_key(kind, known));
    for (int known = 0; known < RC_N_LAW_ENTRIES; known++)
        offer(&search, words, rows[known].key);
    rc_suggest_text(&search, hint, sizeof hint);
    rc_read_report(reader, path, entry->string, "unknown parameter \"%.60s\", %s takes %s%s", entry->string, kind->name, words,
                   hint);
}

/* Read one parameter of the kind. ends false after reporting */
static bool read_parameter(double *p, const struct rc_distribution_kind *kind, const struct rc_reader *reader, const cJSON *entry,
                           const char *path)
{
    const int index = parameter_index(kind, entry->string);
    char got[RC_READ_GOT];
    rc_read_describe(entry, got);
    if (index < 0) {
        report_unknown(kind, reader, entry, path);
        return false;
    }
    if (!cJSON_IsNumber(entry)) {
        rc_read_report(reader, path, entry->string, "got %s, wanted a number: %s", got, kind->parameter[index].meaning);
        return false;
    }
    if (!isfinite(entry->valuedouble)) {
        rc_read_report(reader, path, entry->string, "got a number too large for a double, wanted a finite one");
        return false;
    }
    p[index] = entry->valuedouble;
    return true;
}

/* Read one entry of the object, whichever it is. ends false after reporting */
static bool read_entry(struct rc_distribution *read, struct rc_law_extras *extras, const struct rc_reader *reader,
                       const cJSON *entry, const char *path)
{
    if (strcmp(entry->string, "distribution") == 0 || rc_law_lists_has_key(read->kind, entry->string))
        return true;
    const int extra = parameter_index(read->kind, entry->string) < 0 ? extra_index(entry->string) : -1;
    return extra >= 0 ? read_extra(&extras->value[extra], &rows[extra], reader, entry, path)
                      : read_parameter(read->p, read->kind, reader, entry, path);
}

static bool read_parameters(struct rc_distribution *read, struct rc_law_extras *extras, const struct rc_reader *reader,
                            const cJSON *node, const char *path)
{
    const struct rc_distribution_kind *kind = read->kind;
    bool is_good = true;
    int n_entries = 0;
    for (int extra = 0; extra < RC_N_LAW_ENTRIES; extra++)
        extras->value[extra] = rows[extra].fallback;
    for (const cJSON *entry = node->child; entry && n_entries < 32; entry = entry->next, n_entries++) {
        if (is_doubled(node, entry)) {
            rc_read_report(reader, path, entry->string, "the key \"%.60s\" stands here twice; keep one", entry->string);
            is_good = false;
        } else if (!read_entry(read, extras, reader, entry, path)) {
            is_good = false;
        }
    }
    for (int index = 0; index < kind->n_parameters; index++) {
        const char *key = kind->parameter[index].key;
        if (cJSON_GetObjectItemCaseSensitive(node, key))
            continue;
        rc_read_report(reader, path, key, "the parameter \"%s\" of %s is missing; add it: %s", key, kind->name,
                       kind->parameter[index].meaning);
        is_good = false;
    }
    return is_good;
}

/* Hold a distribution against the allowed range. */
static bool check_range(const struct rc_distribution *d, const struct rc_reader *reader, const char *path,
                        const struct rc_quantity_row *row)
{
    const char *unit = rc_quantities_unit(row), *blank = *unit != '\0' ? " " : "";
    char text[160];
    rc_law_text(text, sizeof text, d);
    const double median = rc_distribution_value(d, 0.5);
    if (!(median >= row->low && median <= row->high)) {
        rc_read_report(reader, path, NULL, "the median %.6g of %s is outside the allowed %.10g to %.10g%s%s", median, text,
                       row->low, row->high, blank, unit);
        return false;
    }
    double below = 0;
    double above = 0;
    rc_distribution_outside(d, row->low, row->high, &below, &above);
    if (below + above <= OUTSIDE_MOST)
        return true;
    rc_read_report(
        reader, path, NULL,
        "%s leaves the allowed %.10g to %.10g%s%s with probability %.2g (below %.2g, above %.2g), at most %g is accepted; "
        "use a distribution with limits, such as truncated_normal",
        text, row->low, row->high, blank, unit, below + above, below, above, OUTSIDE_MOST);
    return false;
}

/* A switch is thrown one way or the other, and nobody counts half a step: nothing between two whole numbers may be drawn. */
static bool check_whole(const struct rc_distribution *d, const struct rc_reader *reader, const char *path,
                        const struct rc_quantity_row *row)
{
    for (double whole = row->low; row->is_whole && whole < row->high; whole++) {
        double below_next = 0, above_this = 0;
        rc_distribution_outside(d, whole + 1, whole, &below_next, &above_this);
        if (below_next + above_this - 1 <= ROUNDING)
            continue;
        char text[160];
        rc_law_text(text, sizeof text, d);
        rc_read_report(reader, path, NULL, "%s gives values between %.0f and %.0f, wanted %s: %s", text, whole, whole + 1,
                       rc_quantities_whole_wanted(row), row->meaning);
        return false;
    }
    return true;
}

/* Check the parameters, and read the lists into a table. */
static bool pack(struct rc_distribution *read, const struct rc_reader *reader, const cJSON *node, const char *path)
{
    struct rc_law_lists lists = {0};
    struct rc_error err = {.status = RC_OK};
    double *table = NULL;
    bool is_good = rc_law_lists_read(&lists, read->kind, reader, node, path);
    if (is_good && read->kind->n_lists > 0) {
        table = calloc(rc_distribution_table_length(read->kind, lists.n), sizeof *table);
        is_good = table != NULL;
        if (!is_good)
            rc_read_report(reader, path, NULL, "no memory for its %d values", lists.n);
    }
    const struct rc_distribution_lists borrowed = {.n = lists.n, .list = {lists.list[0], lists.list[1]}};
    if (is_good && rc_distribution_pack(read, table, &borrowed, &err) != RC_OK) {
        rc_read_report(reader, path, err.where[0] != '\0' ? err.where : NULL, "%s", err.what);
        is_good = false;
    }
    if (!is_good)
        free(table);
    rc_law_lists_free(&lists);
    return is_good;
}

bool rc_law_read(struct rc_distribution *distribution, struct rc_law_extras *extras, const struct rc_reader *reader,
                 const cJSON *node, const char *path, const struct rc_quantity_row *row)
{
    struct rc_distribution read = {.kind = read_kind(reader, node, path)};
    struct rc_law_extras found;
    if (!read.kind || !read_parameters(&read, &found, reader, node, path))
        return false;
    bool is_good = pack(&read, reader, node, path);
    if (is_good && (found.value[RC_LAW_SPREAD_FACTOR] != 1.0 || found.value[RC_LAW_SHIFT] != 0.0))
        rc_distribution_reshape(&read, found.value[RC_LAW_SPREAD_FACTOR], found.value[RC_LAW_SHIFT]);
    is_good = is_good && check_range(&read, reader, path, row) && check_whole(&read, reader, path, row);
    if (!is_good) {
        rc_law_free(&read);
        return false;
    }
    *distribution = read;
    *extras = found;
    return true;
}

static bool is_key(const char *row, const char *key, size_t n)
{
    return row && strlen(row) == n && strncmp(row, key, n) == 0;
}

bool rc_law_in_unit(const struct rc_distribution *distribution, const char *key, size_t n)
{
    const struct rc_distribution_kind *kind = distribution->kind;
    for (int index = 0; index < kind->n_parameters; index++) {
        if (is_key(kind->parameter[index].key, key, n))
            return !kind->parameter[index].is_pure;
    }
    for (int index = 0; index < kind->n_lists; index++) {
        if (is_key(kind->list[index].key, key, n))
            return !kind->list[index].is_pure;
    }
    for (int index = 0; index < RC_N_LAW_ENTRIES; index++) {
        if (is_key(rows[index].key, key, n))
            return rows[index].in_unit;
    }
    return false;
}

void rc_law_free(struct rc_distribution *distribution)
{
    free((void *)distribution->table);
    distribution->table = NULL;
}

void rc_law_text(char *text, size_t n, const struct rc_distribution *distribution)
{
    const struct rc_distribution_kind *kind = distribution->kind;
    size_t at = (size_t)snprintf(text, n, "%s(", kind->name);
    for (int index = 0; index < kind->n_parameters && at < n; index++)
        at += (size_t)snprintf(text + at, n - at, "%s%s %.6g", index > 0 ? ", " : "", kind->parameter[index].key,
                               distribution->p[index]);
    if (distribution->table && at < n)
        at += (size_t)snprintf(text + at, n - at, "%s%d values", kind->n_parameters > 0 ? ", " : "",
                               (int)distribution->table[RC_MAX_PARAMETERS]);
    if (distribution->narrowed != 0.0 && at < n)
        at += (size_t)snprintf(text + at, n - at, ", spread_factor %.6g", 1.0 - distribution->narrowed);
    if (distribution->shift != 0.0 && at < n)
        at += (size_t)snprintf(text + at, n - at, ", shift %.6g", distribution->shift);
    if (at < n)
        (void)snprintf(text + at, n - at, ")");
}
