/* What a campaign means, as text and JSON: what is uncertain, what is fixed, what is asked. For `check`. Its layout is
 * report_layout.c's. */
#include "rollcast/report.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "campaign/campaign.h"
#include "figures.h"
#include "json.h"
#include "measures/measures.h"
#include "report_layout.h"
#include "wording.h"

/* Columns of the lists: indent, path or name, value with unit; the meaning takes the rest. */
enum { PATH_COLUMNS = 34, VALUE_COLUMNS = 14 };

/* What is left of a number's meaning: on the same line where it fits, else below. */
static void write_meaning(FILE *out, const char *left, const char *meaning)
{
    const int n_left = rc_figures_columns(left);
    const int n_padded = n_left > PATH_COLUMNS + VALUE_COLUMNS ? n_left : PATH_COLUMNS + VALUE_COLUMNS;

    fputs("  ", out);
    if (2 + n_padded + 1 + rc_figures_columns(meaning) <= RC_FIGURES_COLUMNS) {
        rc_figures_name(out, left, n_padded);
        fprintf(out, " %s\n", meaning);
        return;
    }
    rc_figures_name(out, left, 0);
    fprintf(out, "\n      ");
    rc_figures_wrap(out, meaning, 6, 6);
}

/* A fixed number: path, value and unit, or the drawn number that it goes with; a star at a default; meaning. */
static void write_fixed(FILE *out, const struct rc_quantity_view *view)
{
    char left[3 * RC_FIGURES_TEXT + sizeof view->path + sizeof view->follows];
    const char *unit = rc_wording_unit(view->unit);

    if (view->follows[0] != '\0') {
        const int is_whole = view->share >= 1.0 && view->share <= 1.0;
        snprintf(left, sizeof left, "%-*s %s%s%s *", PATH_COLUMNS, view->path,
                 is_whole ? "as" : rc_figures_plain(view->share).text, is_whole ? " " : " x ", view->follows);
    } else {
        snprintf(left, sizeof left, "%-*s %s%s%.16s%s", PATH_COLUMNS, view->path, rc_figures_plain(view->value).text,
                 *unit != '\0' ? " " : "", unit, view->is_default ? " *" : "");
    }
    write_meaning(out, left, view->meaning);
}

/* An uncertain number: path, distribution and unit, then its meaning unless the number before it said the same. */
static void write_uncertain(FILE *out, const struct rc_quantity_view *view, const char *meaning_before)
{
    char law[sizeof view->distribution + 32];
    const char *unit = rc_wording_unit(view->unit);

    snprintf(law, sizeof law, "%s%s%.16s", view->distribution, *unit != '\0' ? " " : "", unit);
    const int n_path = rc_figures_columns(view->path);
    if (n_path <= PATH_COLUMNS && 2 + PATH_COLUMNS + 1 + rc_figures_columns(law) <= RC_FIGURES_COLUMNS) {
        fprintf(out, "  %-*s %s\n", PATH_COLUMNS, view->path, law);
    } else {
        fprintf(out, "  %s\n      %s\n", view->path, law);
    }
    if (strcmp(view->meaning, meaning_before) != 0) {
        fprintf(out, "      ");
        rc_figures_wrap(out, view->meaning, 6, 6);
    }
}

static void write_quantities(FILE *out, const rc_campaign *campaign)
{
    const int n_uncertain = rc_campaign_uncertain_count(campaign);
    const int n_quantities = rc_campaign_quantity_count(campaign);

    fprintf(out, "\nUncertain, drawn anew for each flight (%d)\n", n_uncertain);
    const char *meaning_before = "";
    for (int index = 0; index < n_uncertain; index++) {
        const struct rc_quantity_view view = rc_campaign_uncertain(campaign, index);
        write_uncertain(out, &view, meaning_before);
        meaning_before = view.meaning;
    }
    fprintf(out, "\nFixed (%d; * = not in the file, the default serves)\n", n_quantities - n_uncertain);
    for (int index = 0; index < n_quantities; index++) {
        const struct rc_quantity_view view = rc_campaign_quantity(campaign, index);
        if (!view.is_uncertain) {
            write_fixed(out, &view);
        }
    }
}

/* What the middle design's flight shows before anything is drawn. */
static const int shown_of_middle[] = {RC_MEASURE_apogee_m, RC_MEASURE_mach_max, RC_MEASURE_rail_exit_mps,
                                                  RC_MEASURE_static_margin_min_cal, RC_MEASURE_roll_peak_dps};

static void write_middle(FILE *out, const struct rc_record *middle)
{
    fprintf(out, "\nMiddle design, every uncertain number at its median, flown once\n");
    if (middle->end != RC_END_APOGEE) {
        fprintf(out, "  it %s\n", rc_measures_end_text(middle->end));
    }
    for (size_t index = 0; index < sizeof shown_of_middle / sizeof shown_of_middle[0]; index++) {
        const struct rc_measure_row *row = rc_measures_row(shown_of_middle[index]);
        const double value = middle->measure[shown_of_middle[index]];
        const char *unit = isfinite(value) ? rc_wording_unit(row->unit) : "";
        char left[3 * RC_FIGURES_TEXT];
        const int decimals = isfinite(value) && value > 0.0 ? (int)fmax(0.0, 2.0 - floor(log10(value))) : 0;
        snprintf(left, sizeof left, "%-*s %s%s%.16s", PATH_COLUMNS, row->name,
                 rc_figures_number(value, decimals, RC_ROUND_NEAREST).text, *unit != '\0' ? " " : "", unit);
        write_meaning(out, left, row->meaning);
    }
}

static void write_criteria(FILE *out, const rc_campaign *campaign)
{
    fprintf(out, "\nAsked\n");
    for (int row = 0; row < rc_campaign_criteria_count(campaign); row++) {
        const struct rc_criterion *criterion = rc_campaign_criterion(campaign, row);
        fputs("  ", out);
        rc_figures_name(out, criterion->name, 0);
        fprintf(out, "\n      ");
        rc_wording_limit(out, criterion);
        fprintf(out, "\n      ");
        rc_figures_wrap(out, rc_measures_row(criterion->measure)->meaning, 6, 6);
        fprintf(out, "      ");
        rc_wording_asked(out, criterion);
        fputc('\n', out);
    }
    fprintf(out, "  all together\n      every criterion met in one flight\n      ");
    rc_wording_asked(out, rc_campaign_all_together(campaign));
    fputc('\n', out);
}

static void write_text(FILE *out, const rc_campaign *campaign)
{
    rc_figures_wrap(out, rc_campaign_name(campaign), 0, 0);
    if (*rc_campaign_purpose(campaign) != '\0') {
        rc_figures_wrap(out, rc_campaign_purpose(campaign), 0, 0);
    }
    fprintf(out, "%s flights from seed %" PRIu64 "; %d of %d numbers are uncertain\n\nLayout\n",
            rc_figures_count(rc_campaign_flights(campaign)).text, rc_campaign_seed(campaign),
            rc_campaign_uncertain_count(campaign), rc_campaign_quantity_count(campaign));
    rc_report_layout_text(out, campaign);
    if (rc_campaign_middle(campaign) != NULL) {
        write_middle(out, rc_campaign_middle(campaign));
    }
    write_criteria(out, campaign);
    write_quantities(out, campaign);
}

static void write_json_criterion(struct rc_json *json, const char *key, const struct rc_criterion *criterion, int has_limit)
{
    rc_json_open(json, key, '{');
    if (has_limit) {
        rc_json_text(json, "name", criterion->name);
        rc_json_text(json, "measure", rc_measures_row(criterion->measure)->name);
        rc_json_text(json, "unit", rc_measures_row(criterion->measure)->unit);
        rc_json_number(json, "at_least", criterion->at_least);
        rc_json_number(json, "at_most", criterion->at_most);
    }
    rc_json_number(json, "odds_asked", criterion->odds);
    rc_json_number(json, "confidence", criterion->confidence);
    rc_json_close(json, '}');
}

static void write_json_quantity(struct rc_json *json, const struct rc_quantity_view *view)
{
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "path", view->path);
    rc_json_text(json, "unit", view->unit);
    rc_json_text(json, "meaning", view->meaning);
    rc_json_number(json, "value", view->value);
    rc_json_number(json, "low", view->low);
    rc_json_number(json, "high", view->high);
    rc_json_flag(json, "is_uncertain", view->is_uncertain != 0);
    rc_json_flag(json, "is_default", view->is_default != 0);
    rc_json_text(json, "follows", view->follows[0] != '\0' ? view->follows : NULL);
    rc_json_text(json, "distribution", view->is_uncertain ? view->distribution : NULL);
    rc_json_number(json, "cost_to_halve", view->cost_to_halve);
    rc_json_number(json, "cost_to_remove", view->cost_to_remove);
    rc_json_close(json, '}');
}

/* null with a formula */
static void write_json_middle(struct rc_json *json, const struct rc_record *middle)
{
    if (middle == NULL) {
        rc_json_text(json, "middle_design", NULL);
        return;
    }
    rc_json_open(json, "middle_design", '{');
    rc_json_text(json, "end", rc_measures_end_text(middle->end));
    for (size_t index = 0; index < sizeof shown_of_middle / sizeof shown_of_middle[0]; index++) {
        rc_json_number(json, rc_measures_row(shown_of_middle[index])->name, middle->measure[shown_of_middle[index]]);
    }
    rc_json_close(json, '}');
}

static void write_json(FILE *out, const rc_campaign *campaign)
{
    struct rc_json json = {.out = out};

    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-campaign/1");
    rc_json_text(&json, "campaign", rc_campaign_name(campaign));
    rc_json_text(&json, "purpose", rc_campaign_purpose(campaign));
    rc_json_text(&json, "cost_unit", rc_campaign_cost_unit(campaign));
    rc_json_unsigned(&json, "seed", rc_campaign_seed(campaign));
    rc_json_integer(&json, "flights", rc_campaign_flights(campaign));
    rc_json_text(&json, "drive", rc_campaign_layout(campaign)->drive_kind);
    rc_report_layout_json(&json, campaign);
    if (rc_campaign_formula(campaign) != NULL) {
        rc_json_text(&json, "formula", rc_campaign_formula_text(campaign));
        rc_json_open(&json, "inputs", '[');
        for (int input = 0; input < rc_campaign_input_count(campaign); input++) {
            rc_json_text(&json, NULL, rc_campaign_input_name(campaign, input));
        }
        rc_json_close(&json, ']');
    }
    write_json_middle(&json, rc_campaign_middle(campaign));
    rc_json_integer(&json, "uncertain", rc_campaign_uncertain_count(campaign));
    rc_json_open(&json, "quantities", '[');
    for (int index = 0; index < rc_campaign_quantity_count(campaign); index++) {
        const struct rc_quantity_view view = rc_campaign_quantity(campaign, index);
        write_json_quantity(&json, &view);
    }
    rc_json_close(&json, ']');
    rc_json_open(&json, "criteria", '[');
    for (int row = 0; row < rc_campaign_criteria_count(campaign); row++) {
        write_json_criterion(&json, NULL, rc_campaign_criterion(campaign, row), 1);
    }
    rc_json_close(&json, ']');
    write_json_criterion(&json, "all_together", rc_campaign_all_together(campaign), 0);
    rc_json_close(&json, '}');
}

rc_status rc_report_campaign(FILE *out, enum rc_report_form form, const rc_campaign *campaign, struct rc_error *err)
{
    if (form == RC_REPORT_JSON) {
        write_json(out, campaign);
    } else {
        write_text(out, campaign);
    }
    if (ferror(out)) {
        return rc_error_fill(err, RC_IO, "", "the answer could not be written");
    }
    return RC_OK;
}
