/* The answer for people, 80 columns: verdict, flights, criteria, measures, what the figures are and are not. */
#include "answer.h"
#include "campaign/campaign.h"
#include "figures.h"
#include "wording.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

/* Columns of the two tables: name, figure (right-aligned), interval. The widest verdict then ends at column 79. */
enum { NAME_COLUMNS = 26, FIGURE_COLUMNS = 12, INTERVAL_COLUMNS = 26, MEASURE_COLUMNS = 24 };

/* More decimals of a percentage than this do not fit; outward rounding keeps the interval honest. */
enum { PERCENT_DECIMALS_MAX = 5 };

void rc_answer_add_rows(struct rc_text *text, const struct rc_answer *answer, enum rc_verdict verdict)
{
    const int n_criteria = rc_campaign_criteria_count(answer->campaign);
    const char *gap = "";

    for (int row = 0; row <= n_criteria; row++) {
        if (rc_answer_odds(answer, row)->verdict == verdict) {
            rc_text_add(text, "%s%s", gap, row < n_criteria ? rc_answer_criterion(answer, row)->name : "all together");
            gap = ", ";
        }
    }
}

/* "NO-GO: ..." with the names of the criteria that fall short. */
static void write_no_go(FILE *out, const struct rc_answer *answer)
{
    struct rc_text text = {NULL, 0, 0, false};

    rc_text_add(&text, "NO-GO: short of the odds asked: ");
    rc_answer_add_rows(&text, answer, RC_VERDICT_NO_GO);
    rc_text_add(&text, ".");
    rc_figures_wrap(out, text.failed ? "NO-GO" : text.bytes, 0, 0);
    rc_text_free(&text);
}

static void write_verdict(FILE *out, const struct rc_answer *answer)
{
    char text[200];

    if (answer->verdict == RC_VERDICT_NO_GO) {
        write_no_go(out, answer);
        return;
    }
    if (answer->verdict == RC_VERDICT_GO) {
        snprintf(text, sizeof text, "GO: every criterion, alone and all together, is met with the odds and confidence asked.");
    } else if (answer->more_flights < 0) {
        snprintf(text, sizeof text,
                 "NOT YET KNOWN: the odds are so close to those asked that no practical number of flights settles it.");
    } else {
        snprintf(text, sizeof text, "NOT YET KNOWN: about %s more flights would settle it if the odds stay.",
                 rc_figures_count(answer->more_flights).text);
    }
    rc_figures_wrap(out, text, 0, 0);
}

/* Campaign, flights and seed, unfinished or not, and how flights ended that did not reach apogee. */
static void write_flights(FILE *out, const struct rc_answer *answer)
{
    const int64_t n_others = answer->flights - answer->n_ended[RC_END_APOGEE];

    fprintf(out, "\nCampaign   ");
    rc_figures_wrap(out, rc_campaign_name(answer->campaign), 11, 11);
    fprintf(out, "Flights    %s, seed %" PRIu64 "\n", rc_figures_count(answer->flights).text, answer->seed);
    if (!answer->is_finished) {
        fprintf(out, "           the store is unfinished: %s of %s flights are in;\n", rc_figures_count(answer->flights).text,
                rc_figures_count(answer->flights_asked).text);
        fprintf(out, "           go on with: rollcast fly CAMPAIGN -o STORE --resume\n");
    }
    if (rc_stop_is_set(&answer->stop_rule)) {
        fprintf(out, "Stop rule  ");
        rc_figures_wrap(out, answer->stop_text, 11, 11);
    }
    const int is_formula = rc_campaign_formula(answer->campaign) != NULL;
    if (n_others == 0) {
        fprintf(out, is_formula ? "Result     finite for all\n" : "Apogee     reached by all\n");
        return;
    }
    fprintf(out, is_formula ? "Result     finite for %s; %s ended otherwise and meet no criterion:\n"
                            : "Apogee     reached by %s; %s ended otherwise and meet no criterion:\n",
            rc_figures_count(answer->n_ended[RC_END_APOGEE]).text, rc_figures_count(n_others).text);
    for (int end = RC_END_APOGEE + 1; end <= RC_N_ENDS; end++) {
        if (answer->n_ended[end] > 0) {
            fprintf(out, "           %10s  ", rc_figures_count(answer->n_ended[end]).text);
            rc_figures_wrap(out, rc_answer_end_text(answer, end < RC_N_ENDS ? end : -1), 23, 23);
        }
    }
}

struct rc_figure rc_answer_percent(const struct rc_odds *odds, int decimals)
{
    const double percent = 100.0 * odds->estimate;
    const double digit = pow(10.0, -decimals);
    enum rc_rounding rounding = RC_ROUND_NEAREST;

    if (odds->passed < odds->flights && percent > 100.0 - digit) {
        rounding = RC_ROUND_DOWN;
    } else if (odds->passed > 0 && percent < digit) {
        rounding = RC_ROUND_UP;
    }
    return rc_figures_number(percent, decimals, rounding);
}

/* What the one-sided bounds show, in the words of the verdict. */
static void write_shown(FILE *out, const struct rc_odds *odds, int decimals)
{
    if (odds->verdict == RC_VERDICT_GO) {
        fprintf(out, "shown: at least %s %%\n", rc_figures_number(100.0 * odds->bound_low, decimals, RC_ROUND_DOWN).text);
    } else if (odds->verdict == RC_VERDICT_NO_GO) {
        fprintf(out, "shown: at most %s %%\n", rc_figures_number(100.0 * odds->bound_high, decimals, RC_ROUND_UP).text);
    } else if (odds->more_flights > 0) {
        fprintf(out, "about %s more flights\n", rc_figures_count(odds->more_flights).text);
    } else {
        fprintf(out, "too close to settle\n");
    }
}

static void write_criterion(FILE *out, const struct rc_answer *answer, int row)
{
    const int n_criteria = rc_campaign_criteria_count(answer->campaign);
    const struct rc_criterion *criterion = rc_answer_criterion(answer, row);
    const struct rc_odds *odds = rc_answer_odds(answer, row);
    const char *name = row < n_criteria ? criterion->name : "all together";
    const int decimals = rc_figures_percent_decimals(odds->interval_low, odds->interval_high, PERCENT_DECIMALS_MAX);
    struct rc_figure interval, percent;

    rc_figures_name(out, name, NAME_COLUMNS);
    if (rc_figures_columns(name) > NAME_COLUMNS) {
        fprintf(out, "\n%*s", NAME_COLUMNS, "");
    }
    snprintf(percent.text, sizeof percent.text, "%.24s %%", rc_answer_percent(odds, decimals).text);
    snprintf(interval.text, sizeof interval.text, "%.24s to %.24s %%",
             rc_figures_number(100.0 * odds->interval_low, decimals, RC_ROUND_DOWN).text,
             rc_figures_number(100.0 * odds->interval_high, decimals, RC_ROUND_UP).text);
    fprintf(out, "%*s  %-*s %s\n  ", FIGURE_COLUMNS, percent.text, INTERVAL_COLUMNS, interval.text,
            rc_odds_verdict_text(odds->verdict));
    if (row < n_criteria) {
        rc_wording_limit(out, criterion);
    } else {
        fputs("every criterion met in one flight", out);
    }
    fputs("\n  ", out);
    rc_wording_asked(out, criterion);
    fputs("; ", out);
    write_shown(out, odds, decimals);
}

struct rc_figure rc_answer_measure(double value, double width)
{
    return width > 0.0 ? rc_figures_number(value, rc_figures_decimals(width), RC_ROUND_NEAREST) : rc_figures_plain(value);
}

/* What no outcome of so few flights could show: the first row that asks for more. */
static void write_too_few(FILE *out, const struct rc_answer *answer)
{
    const int n_criteria = rc_campaign_criteria_count(answer->campaign);
    char text[320];

    for (int row = 0; row <= n_criteria; row++) {
        const struct rc_criterion *criterion = rc_answer_criterion(answer, row);
        const int64_t least = rc_demonstration_flights(criterion->odds, criterion->confidence, 0);
        if (rc_answer_odds(answer, row)->verdict != RC_VERDICT_NOT_YET_KNOWN || (least >= 0 && least <= answer->flights)) {
            continue;
        }
        snprintf(text, sizeof text, "%s flights cannot show odds of %.12g %%, whatever they are like: that takes %s flights "
                 "without a failure, or a run after rare failures: fly --rare subset.", rc_figures_count(answer->flights).text,
                 100.0 * criterion->odds, least < 0 ? "more than 1e12" : rc_figures_count(least).text);
        fputc('\n', out);
        rc_figures_wrap(out, text, 0, 0);
        return;
    }
}

static void write_measure(FILE *out, const struct rc_measure_row *row, const struct rc_spread *spread)
{
    const char *unit = rc_wording_unit(row->unit);
    if (spread->n == 0) {
        fprintf(out, "%-*s%*s\n", MEASURE_COLUMNS, row->name, FIGURE_COLUMNS, "none");
        return;
    }
    const double width = spread->p95 - spread->p05;
    fprintf(out, "%-*s%*s %-6s ", MEASURE_COLUMNS, row->name, FIGURE_COLUMNS, rc_answer_measure(spread->median, width).text,
            unit);
    fprintf(out, "%s to %s%s%s\n", rc_answer_measure(spread->p05, width).text, rc_answer_measure(spread->p95, width).text,
            *unit != '\0' ? " " : "", unit);
}

/* Measures of things that this vehicle lacks or that never happened would bury the others. */
static int is_nothing(const struct rc_spread *spread)
{
    return spread->n > 0 && spread->least == 0.0 && spread->greatest == 0.0;
}

static void write_measures(FILE *out, const struct rc_answer *answer)
{
    struct rc_text nothing = {NULL, 0, 0, false};
    fprintf(out, "\n%-*s%*s        %s\n", MEASURE_COLUMNS, "Measure", FIGURE_COLUMNS, "median",
            "90 % range (5th to 95th percentile)");
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        const struct rc_spread *spread = &answer->spread[measure];
        if (!rc_answer_is_left_out(answer, measure) && is_nothing(spread)) {
            rc_text_add(&nothing, "%s%s", nothing.bytes != NULL ? ", " : "0 in every flight: ", rc_measures_row(measure)->name);
        } else if (!rc_answer_is_left_out(answer, measure)) {
            write_measure(out, rc_measures_row(measure), spread);
        }
    }
    if (nothing.bytes != NULL && !nothing.failed) {
        rc_text_add(&nothing, ".");
        rc_figures_wrap(out, nothing.failed ? "" : nothing.bytes, 0, 0);
    }
    rc_text_free(&nothing);
}

void rc_answer_write_text(FILE *out, const struct rc_answer *answer)
{
    const int n_criteria = rc_campaign_criteria_count(answer->campaign);
    char text[200];

    write_verdict(out, answer);
    write_flights(out, answer);

    fprintf(out, "\n%-*s%*s  %-*s %s\n", NAME_COLUMNS, "Criterion", FIGURE_COLUMNS, "odds", INTERVAL_COLUMNS,
            strcmp(rc_answer_interval_from(answer), "count") == 0 ? "exact interval" : "interval", "verdict");
    for (int row = 0; row <= n_criteria; row++) {
        write_criterion(out, answer, row);
    }

    write_too_few(out, answer);
    write_measures(out, answer);
    if (answer->n_less_exact > 0) {
        snprintf(text, sizeof text,
                 "%s flights turned more than %.1f rad of pitch in one step (step_phase_max): they are less exact than stated.",
                 rc_figures_count(answer->n_less_exact).text, RC_ANSWER_EXACT_PHASE);
        rc_figures_wrap(out, text, 0, 0);
    }

    if (answer->n_unstable > 0) {
        snprintf(text, sizeof text,
                 "%s flights were statically unstable on the way (static_margin_min_cal below 0); they were flown as they are.",
                 rc_figures_count(answer->n_unstable).text);
        rc_figures_wrap(out, text, 0, 0);
    }
    if (answer->n_aloft > 0) {
        snprintf(text, sizeof text,
                 "%s flights sank so slowly that they were given up on the way down: their landing is blank and meets no "
                 "criterion.",
                 rc_figures_count(answer->n_aloft).text);
        rc_figures_wrap(out, text, 0, 0);
    }
    rc_answer_write_landing(out, answer);

    fputc('\n', out);
    rc_figures_wrap(out, rc_answer_interval_note(answer), 0, 0);
    rc_figures_wrap(out, rc_answer_model_note(answer), 0, 0);
    fputc('\n', out);
    rc_figures_wrap(out, rc_answer_caution(), 0, 0);
}
