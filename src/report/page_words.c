/* The page's tables of words: criteria and measures, the campaign, what the model leaves out. */
#include "page_sheet.h"

#include <math.h>
#include <string.h>

#include "campaign/campaign.h"
#include "compare.h"
#include "wording.h"

static const char *const word_class[] = {
    [RC_VERDICT_GO] = "word-go", [RC_VERDICT_NO_GO] = "word-no", [RC_VERDICT_NOT_YET_KNOWN] = "word-open"};

/* Row of a store's answer that asks the same, -1 if none does. in row the store's own row counts `n` are all together */
static int same_row(const struct rc_answer *answer, const struct rc_criterion *wanted)
{
    const int n = rc_campaign_criteria_count(answer->campaign);
    for (int row = 0; row <= n; row++) {
        if (rc_compare_is_same(rc_answer_criterion(answer, row), wanted)) {
            return row;
        }
    }
    return -1;
}

/* Odds, interval and verdict of one store; the full number stands in an attribute of its own. */
static void write_odds_cell(FILE *out, const struct rc_answer *answer, int row)
{
    if (row < 0) {
        fputs("<td>not asked</td>", out);
        return;
    }
    const struct rc_odds *odds = rc_answer_odds(answer, row);
    const int decimals = rc_figures_percent_decimals(odds->interval_low, odds->interval_high, RC_PAGE_DECIMALS);
    fprintf(out, "<td><span data-value=\"%.17g\">%s&nbsp;%%</span>", odds->estimate, rc_answer_percent(odds, decimals).text);
    fprintf(out, "<small><span data-value=\"%.17g\">%s</span>", odds->interval_low,
            rc_figures_number(100.0 * odds->interval_low, decimals, RC_ROUND_DOWN).text);
    fprintf(out, " to <span data-value=\"%.17g\">%s</span>&nbsp;%%</small>", odds->interval_high,
            rc_figures_number(100.0 * odds->interval_high, decimals, RC_ROUND_UP).text);
    fprintf(out, "<span class=\"%s\">%s</span></td>", word_class[odds->verdict], rc_odds_verdict_text(odds->verdict));
}

/* The limit of a criterion, as HTML. */
static void write_limit(FILE *out, const struct rc_criterion *criterion)
{
    const struct rc_measure_row *measure = rc_measures_row(criterion->measure);
    const char *unit = rc_wording_unit(measure->unit), *gap = *unit != '\0' ? "&nbsp;" : "";
    rc_page_text(out, measure->name);
    if (isfinite(criterion->at_least)) {
        fprintf(out, " at least %s%s%s", rc_figures_plain(criterion->at_least).text, gap, unit);
    }
    if (isfinite(criterion->at_most)) {
        fprintf(out, "%s at most %s%s%s", isfinite(criterion->at_least) ? " and" : "", rc_figures_plain(criterion->at_most).text,
                gap, unit);
    }
    fputs(": ", out);
    rc_page_text(out, measure->meaning);
}

/* One row of the table: the criterion of a store, and the odds of all stores that ask the same. */
static void write_criterion(struct rc_page *page, int store, int row)
{
    const struct rc_answer *answer = &page->facts[store].answer;
    const struct rc_criterion *criterion = rc_answer_criterion(answer, row);
    const int is_together = row == rc_campaign_criteria_count(answer->campaign);
    fputs("<tr><th scope=\"row\">", page->out);
    rc_page_text(page->out, is_together ? "all together" : criterion->name);
    fputs("<small>", page->out);
    if (is_together) {
        fputs("every criterion met in one flight", page->out);
    } else {
        write_limit(page->out, criterion);
    }
    fprintf(page->out, "</small></th><td>%s&nbsp;%%<small>with %s&nbsp;%% confidence</small></td>",
            rc_figures_plain(100.0 * criterion->odds).text, rc_figures_plain(100.0 * criterion->confidence).text);
    for (int other = 0; other < page->n_stores; other++) {
        write_odds_cell(page->out, &page->facts[other].answer, same_row(&page->facts[other].answer, criterion));
    }
    fputs("</tr>\n", page->out);
}

/* Has a store before this one asked the same? Then its row is there already. */
static int is_told(const struct rc_page *page, int store, int row)
{
    const struct rc_criterion *criterion = rc_answer_criterion(&page->facts[store].answer, row);
    for (int before = 0; before < store; before++) {
        if (same_row(&page->facts[before].answer, criterion) >= 0) {
            return 1;
        }
    }
    return 0;
}

static void write_store_heads(struct rc_page *page, const char *single)
{
    char name[160];
    for (int store = 0; store < page->n_stores; store++) {
        fputs("<th scope=\"col\">", page->out);
        rc_page_store_name(page, store, name, sizeof name);
        rc_page_text(page->out, page->n_stores > 1 ? name : single);
        fputs("</th>", page->out);
    }
}

/* Has any store a measure? */
static int has_measure(const struct rc_page *page, int measure)
{
    for (int store = 0; store < page->n_stores; store++) {
        if (page->facts[store].answer.spread[measure].n > 0) {
            return 1;
        }
    }
    return 0;
}

/* Median and range of each measure that a store has. */
static void write_measures(struct rc_page *page)
{
    int n_measures = 0;
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        n_measures += has_measure(page, measure);
    }
    if (n_measures == 0) {
        return;
    }
    fputs("<details><summary>All measures: median and 90&nbsp;% range</summary>\n", page->out);
    rc_page_open_table(page, "All measures", -1);
    fputs("<caption>Over the flights that reached apogee; the range is from the 5th to the 95th percentile</caption>\n"
          "<thead><tr><th scope=\"col\">Measure</th>",
          page->out);
    write_store_heads(page, "median and range");
    fputs("</tr></thead>\n<tbody>\n", page->out);
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        if (!has_measure(page, measure)) {
            continue;
        }
        const struct rc_measure_row *row = rc_measures_row(measure);
        fprintf(page->out, "<tr><th scope=\"row\">%s<small>", row->name);
        rc_page_text(page->out, row->meaning);
        fputs("</small></th>", page->out);
        for (int store = 0; store < page->n_stores; store++) {
            const struct rc_spread *spread = &page->facts[store].answer.spread[measure];
            const double width = spread->p95 - spread->p05;
            const int decimals = rc_figures_decimals(width), digits = width > 0.0 ? decimals : 3;
            if (spread->n == 0) {
                fputs("<td>none</td>", page->out);
                continue;
            }
            fprintf(page->out, "<td><span data-value=\"%.17g\">%s</span>&nbsp;%s", spread->median,
                    rc_figures_number(spread->median, digits, RC_ROUND_NEAREST).text, rc_wording_unit(row->unit));
            fprintf(page->out, "<small>%s", rc_figures_number(spread->p05, digits, RC_ROUND_NEAREST).text);
            fprintf(page->out, " to %s</small></td>", rc_figures_number(spread->p95, digits, RC_ROUND_NEAREST).text);
        }
        fputs("</tr>\n", page->out);
    }
    fputs("</tbody></table></div></details>\n", page->out);
}

/* Flights that ended otherwise than at apogee. */
static void write_ends(struct rc_page *page, int store)
{
    const struct rc_answer *answer = &page->facts[store].answer;
    const int64_t n_others = answer->flights - answer->n_ended[RC_END_APOGEE];
    if (n_others == 0) {
        return;
    }
    fprintf(page->out, "<p>%s of %s flights did not reach apogee and meet no criterion:", rc_figures_count(n_others).text,
            rc_figures_count(answer->flights).text);
    for (int end = RC_END_APOGEE + 1; end <= RC_N_ENDS; end++) {
        if (answer->n_ended[end] > 0) {
            fprintf(page->out, " %s ", rc_figures_count(answer->n_ended[end]).text);
            rc_page_text(page->out, rc_answer_end_text(answer, end < RC_N_ENDS ? end : -1));
            fputs(";", page->out);
        }
    }
    fputs("</p>\n", page->out);
}

rc_status rc_page_words_criteria(struct rc_page *page, struct rc_error *err)
{
    (void)err;
    rc_page_open_table(page, "Criteria", -1);
    fputs("<caption>Odds of each criterion with interval and verdict</caption>\n<thead><tr><th scope=\"col\">Criterion</th>"
          "<th scope=\"col\">asked in</th>",
          page->out);
    write_store_heads(page, "met in");
    fputs("</tr></thead>\n<tbody>\n", page->out);
    for (int store = 0; store < page->n_stores; store++) {
        const int n = rc_campaign_criteria_count(page->store[store].campaign);
        for (int row = 0; row <= n; row++) {
            if (!is_told(page, store, row)) {
                write_criterion(page, store, row);
            }
        }
    }
    fputs("</tbody></table></div>\n", page->out);
    for (int store = 0; store < page->n_stores; store++) {
        write_ends(page, store);
    }
    rc_page_paragraph(page->out, rc_answer_interval_note(&page->facts[0].answer));
    write_measures(page);
    return RC_OK;
}

/* The vehicle, its drive and its cameras in a few sentences. */
static void write_layout(FILE *out, const rc_campaign *campaign)
{
    const struct rc_layout *layout = rc_campaign_layout(campaign);
    if (rc_campaign_formula(campaign) != NULL) {
        fputs("<p>A formula stands in place of a vehicle: <code>", out);
        rc_page_text(out, rc_campaign_formula_text(campaign));
        fputs("</code></p>\n", out);
        return;
    }
    const char *nose = rc_wording_nose(layout->nose_shape);
    fprintf(out, "<p>The vehicle has %s %s nose and %d fin%s", strchr("aeiou", nose[0]) != NULL ? "an" : "a", nose,
            layout->n_fins[0], layout->n_fins[0] == 1 ? "" : "s");
    if (layout->n_fin_sets > 1) {
        fprintf(out, " with %d tabs or fins of a second set", layout->n_fins[1]);
    }
    fprintf(out, "; its aerodynamics are %s, the wind %s. ",
            layout->aero.n > 0 ? "those of a table where it has a column" : "estimated from the geometry",
            layout->wind.n > 0 ? "that of a table over height" : "a power law over height");
    fputs("The platform is turned by a ", out);
    for (const char *at = layout->drive_kind; *at != '\0'; at++) {
        fputc(*at == '_' ? ' ' : *at, out);
    }
    fprintf(out,
            " drive, told by a gyro on the %s with %d samples a second; the controller holds the %s at zero, %d times a second. ",
            layout->gyro_mount == RC_GYRO_ON_VEHICLE ? "vehicle" : "platform", layout->gyro_rate,
            layout->control_mode == RC_CONTROL_ANGLE ? "angle" : "rate", layout->control_rate);
    for (int camera = 0; camera < layout->n_cameras; camera++) {
        char name[64];
        rc_wording_camera(campaign, camera, name, sizeof name);
        fputs("Camera ", out);
        rc_page_text(out, name);
        fprintf(out, " takes %d frames a second on the %s. ", layout->frame_rate[camera],
                layout->camera_mount[camera] == RC_CAMERA_ON_VEHICLE ? "vehicle" : "platform");
    }
    fputs("</p>\n", out);
}

static void write_quantity(FILE *out, const struct rc_quantity_view *view)
{
    fputs("<tr><th scope=\"row\"><code>", out);
    rc_page_text(out, view->path);
    fputs("</code><small>", out);
    rc_page_text(out, view->meaning);
    fputs("</small></th><td>", out);
    if (view->is_uncertain) {
        rc_page_text(out, view->distribution);
    } else {
        fprintf(out, "%s%s", rc_figures_plain(view->value).text, view->is_default ? " (default)" : "");
    }
    fputs("</td><td>", out);
    rc_page_text(out, rc_wording_unit(view->unit));
    fputs("</td></tr>\n", out);
}

/* The uncertain numbers, or the fixed ones. */
static void write_quantities(struct rc_page *page, int store, int is_uncertain)
{
    const rc_campaign *campaign = page->store[store].campaign;
    FILE *out = page->out;
    const int n_uncertain = rc_campaign_uncertain_count(campaign);
    if ((is_uncertain ? n_uncertain : rc_campaign_quantity_count(campaign) - n_uncertain) == 0) {
        return;
    }
    fprintf(out, "<details><summary>%s</summary>\n",
            is_uncertain ? "What is uncertain, drawn anew for each flight" : "What is fixed");
    rc_page_open_table(page, is_uncertain ? "Uncertain quantities" : "Fixed quantities", store);
    fprintf(out, "<thead><tr><th scope=\"col\">Quantity</th><th scope=\"col\">%s</th><th scope=\"col\">unit</th></tr></thead>\n"
                 "<tbody>\n", is_uncertain ? "distribution" : "value");
    for (int index = 0; index < rc_campaign_quantity_count(campaign); index++) {
        const struct rc_quantity_view view = rc_campaign_quantity(campaign, index);
        if (view.is_uncertain == is_uncertain) {
            write_quantity(out, &view);
        }
    }
    fputs("</tbody></table></div></details>\n", out);
}

rc_status rc_page_words_campaign(struct rc_page *page, struct rc_error *err)
{
    (void)err;
    for (int store = 0; store < page->n_stores; store++) {
        const rc_campaign *campaign = page->store[store].campaign;
        char name[160];
        if (page->n_stores > 1) {
            rc_page_store_name(page, store, name, sizeof name);
            fputs("<h3>", page->out);
            rc_page_text(page->out, name);
            fputs("</h3>\n", page->out);
        }
        if (*rc_campaign_purpose(campaign) != '\0') {
            rc_page_paragraph(page->out, rc_campaign_purpose(campaign));
        }
        write_layout(page->out, campaign);
        fprintf(page->out, "<p>%d of its %d numbers are uncertain and are drawn anew for each flight.</p>\n",
                rc_campaign_uncertain_count(campaign), rc_campaign_quantity_count(campaign));
        write_quantities(page, store, 1);
        write_quantities(page, store, 0);
    }
    return RC_OK;
}

/* What the model leaves out, most weighty first. docs/KNOWN_LIMITS.md is the whole list. */
static const char *const left_out[] = {
    "Roll forcing and roll damping are the least known numbers of all; the odds are as good as the spreads they were given.",
    "One stiff stage: no bending, no flutter, no tip-off from the rail, no parts that come loose.",
    "The mean wind is steady over one flight; gusts, where asked for, are continuous turbulence without single strong gusts.",
    "A drive that is called starts, but for the failed starts that a campaign gives odds of; a geared drive stalls only where it "
    "has a torque limit.",
    "Aerodynamics estimated from geometry know a clean vehicle only and are less exact at large angles of attack.",
    "Under parachutes the vehicle is a point that drifts with the wind; footage counts up to apogee only.",
    "Smear uses the rate at one instant of the exposure, at the end of the tick in which the frame falls; vibration and focus "
    "are left out.",
};

rc_status rc_page_words_limits(struct rc_page *page, struct rc_error *err)
{
    (void)err;
    rc_page_paragraph(page->out, rc_answer_model_note(&page->facts[0].answer));
    if (rc_page_has_vehicle(page)) {
        fputs("<ul>\n", page->out);
        for (size_t i = 0; i < sizeof left_out / sizeof left_out[0]; i++) {
            fprintf(page->out, "<li>%s</li>\n", left_out[i]);
        }
        fputs("</ul>\n", page->out);
    }
    fputs("<div class=\"caution\">", page->out);
    rc_page_paragraph(page->out, rc_answer_caution());
    fputs("</div>\n", page->out);
    return RC_OK;
}
