/* One measure of a store: its mean with an interval, and by rank quantiles with distribution-free intervals and tolerance limits.
 * Flights of a replicated plan depend on each other, so that they have a mean only. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "campaign/campaign.h"
#include "figures.h"
#include "json.h"
#include "measures/measures.h"
#include "numeric/sorted.h"
#include "rollcast/rare.h"
#include "rollcast/report.h"
#include "wording.h"

static const double shares[] = {0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99};
static const double coverages[] = {0.9, 0.95, 0.99};
enum { N_SHARES = sizeof shares / sizeof shares[0], N_COVERAGES = sizeof coverages / sizeof coverages[0] };

/* Values of the flights that count, in rising order. */
struct ranked {
    int measure;
    double confidence;
    double *value;                    /* (n) */
    int64_t n;
    const struct rc_plan_kind *plan;
    int has_rule;                     /* could the run end early? */
    struct rc_mean_tally tally;
};

/* The value of a rank, counted from 1; not a number where there is none. */
static double at_rank(const struct ranked *ranked, int64_t rank)
{
    return rank >= 1 && rank <= ranked->n ? ranked->value[rank - 1] : NAN;
}

static double quantile(const struct ranked *ranked, double share)
{
    return rc_sorted_quantile(ranked->value, ranked->n, share);
}

/* Are flights independent of each other? Of a plan without replicates those that count are. */
static int has_ranks(const struct ranked *ranked)
{
    return ranked->plan->n_replicates == 0;
}

/* Do these flights allow it? */
static rc_status check(int *measure, const char *name, const rc_results *results, const rc_campaign *campaign,
                       struct rc_error *err)
{
    struct rc_rare_rule rare;
    *measure = rc_measures_find(name);
    if (*measure < 0 || !rc_campaign_yields(campaign, *measure)) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "no measure has the name '%.60s'; `rollcast odds` lists them", name);
    }
    if (!rc_campaign_keeps(campaign, *measure)) {
        return rc_error_fill(err, RC_BAD_INPUT, "",
                             "the store does not keep %.60s, as its campaign's run.keep.measures says; %s",
                             name, "fly it again with all measures kept");
    }
    if (rc_rare_read(&rare, rc_results_run_rule(results))) {
        return rc_error_fill(err, RC_BAD_INPUT, "",
                             "its run went after rare failures: its flights are no sample to take means and ranks of; fly the "
                             "campaign without run.rare and --rare into another store");
    }
    return RC_OK;
}

/* Keep flights that count and have a value, in rising order. */
static rc_status read_values(struct ranked *ranked, const rc_results *results, const rc_campaign *campaign, struct rc_error *err)
{
    const int64_t n_flights = rc_results_flights(results);
    char name[96];
    rc_status status = RC_OK;
    double *end = malloc((size_t)(n_flights + 1) * sizeof *end);
    ranked->value = malloc((size_t)(n_flights + 1) * sizeof *ranked->value);
    if (end == NULL || ranked->value == NULL) {
        status = rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a column of %lld flights", (long long)n_flights);
        goto done;
    }
    snprintf(name, sizeof name, "measures/%s", rc_measures_row(ranked->measure)->name);
    status = rc_results_column(results, name, 0, n_flights, ranked->value, err);
    if (status == RC_OK) {
        status = rc_results_column(results, "end", 0, n_flights, end, err);
    }
    for (int64_t flight = 0; status == RC_OK && flight < n_flights; flight++) {
        const int counts = rc_plan_counts(ranked->plan, rc_campaign_sampling(campaign), (uint64_t)flight);
        if (counts && end[flight] == RC_END_APOGEE && isfinite(ranked->value[flight])) {
            rc_mean_add(&ranked->tally, flight, ranked->value[flight]);
            ranked->value[ranked->n++] = ranked->value[flight];
        }
    }
    if (status == RC_OK && ranked->n < 1) {
        status = rc_error_fill(err, RC_IO, "",
                               "no flight of the store has a value of '%s'; `rollcast odds` lists how flights ended and which "
                               "measures have values",
                               rc_measures_row(ranked->measure)->name);
    }
    if (status == RC_OK) {
        qsort(ranked->value, (size_t)ranked->n, sizeof *ranked->value, rc_sorted_rising);
    }
done:
    free(end);
    return status;
}

/* Ranks of a tolerance limit: least, greatest, or both ends; 0 where the values are too few. */
static int64_t limit_order(const struct ranked *ranked, double coverage, int sides)
{
    return rc_order_tolerance_order(coverage, ranked->confidence, sides, ranked->n);
}

/* The mean to one digit more than its interval is wide; one that did not vary stands as it is. */
static void write_mean(FILE *out, const struct ranked *ranked)
{
    const struct rc_mean mean = rc_mean_of(&ranked->tally, ranked->confidence);
    const double width = mean.high - mean.low;
    const int decimals = rc_figures_decimals(width) + 1;
    if (!(width > 0.0)) {
        fprintf(out, "  mean        %11s  ", rc_figures_plain(mean.mean).text);
        fprintf(out, "%s\n", isnan(width) ? "no interval: it takes two flights, or replicates" : "the same in every one");
        return;
    }
    fprintf(out, "  mean        %11s  ", rc_figures_number(mean.mean, decimals, RC_ROUND_NEAREST).text);
    fprintf(out, "%s to ", rc_figures_number(mean.low, decimals, RC_ROUND_DOWN).text);
    fprintf(out, "%s\n", rc_figures_number(mean.high, decimals, RC_ROUND_UP).text);
}

/* What the figures rest on. */
static void write_notes(FILE *out, const struct ranked *ranked)
{
    char text[256];
    if (has_ranks(ranked)) {
        rc_figures_wrap(out,
                        "The mean's interval is Student's over the flights, good where they are many. The other "
                        "intervals and the limits are values of flights, chosen by rank: they hold whatever the distribution "
                        "(none or - where there are too few flights). All are for sampling error only.",
                        0, 0);
    } else {
        (void)snprintf(text, sizeof text,
                       "The interval is Student's over the %d independent replicates of plan %s, for sampling error only. "
                       "Quantiles and limits by rank take flights that are independent of each other: fly plan plain for them.",
                       ranked->plan->n_replicates, ranked->plan->name);
        rc_figures_wrap(out, text, 0, 0);
    }
    if (ranked->has_rule) {
        rc_figures_wrap(out,
                        "The run had a stop rule. The interval of the mean, and what goes by rank, hold for a number of flights "
                        "that was settled beforehand: take them as indications.",
                        0, 0);
    }
}

static void write_ranks(FILE *out, const struct ranked *ranked)
{
    const double width = quantile(ranked, 0.95) - quantile(ranked, 0.05);
    const int decimals = width > 0.0 ? rc_figures_decimals(width) + 1 : 3;
    fprintf(out, "\n  share below       value  %.12g %% interval\n", 100.0 * ranked->confidence);
    for (int index = 0; index < N_SHARES; index++) {
        const struct rc_order order = rc_order_interval(ranked->n, shares[index], ranked->confidence);
        fprintf(out, "  %9.4g %% %11s  ", 100.0 * shares[index],
                rc_figures_number(quantile(ranked, shares[index]), decimals, RC_ROUND_NEAREST).text);
        fprintf(out, "%s to ",
                order.lower > 0 ? rc_figures_number(at_rank(ranked, order.lower), decimals, RC_ROUND_DOWN).text : "-");
        fprintf(out, "%s\n", order.upper > 0 ? rc_figures_number(at_rank(ranked, order.upper), decimals, RC_ROUND_UP).text : "-");
    }
    fprintf(
        out,
        "\nWith %.12g %% confidence at least this share of flights lies\n\n  share        above        below        between\n",
        100.0 * ranked->confidence);
    for (int index = 0; index < N_COVERAGES; index++) {
        const int64_t one = limit_order(ranked, coverages[index], 1), two = limit_order(ranked, coverages[index], 2);
        fprintf(out, "  %3.0f %% %12s ", 100.0 * coverages[index],
                rc_figures_number(at_rank(ranked, one), decimals, RC_ROUND_DOWN).text);
        fprintf(out, "%12s        ",
                rc_figures_number(at_rank(ranked, one > 0 ? ranked->n + 1 - one : 0), decimals, RC_ROUND_UP).text);
        fprintf(out, "%s to ", rc_figures_number(at_rank(ranked, two), decimals, RC_ROUND_DOWN).text);
        fprintf(out, "%s\n", rc_figures_number(at_rank(ranked, two > 0 ? ranked->n + 1 - two : 0), decimals, RC_ROUND_UP).text);
    }
}

static void write_text(FILE *out, const struct ranked *ranked)
{
    const struct rc_measure_row *row = rc_measures_row(ranked->measure);
    fprintf(out, "%s, %s%s%s flights\n\n                    value  %.12g %% interval\n", row->name, rc_wording_unit(row->unit),
            *rc_wording_unit(row->unit) != '\0' ? ", " : "", rc_figures_count(ranked->n).text, 100.0 * ranked->confidence);
    write_mean(out, ranked);
    if (has_ranks(ranked)) {
        write_ranks(out, ranked);
    }
    fputc('\n', out);
    write_notes(out, ranked);
}

static void write_json_ranks(struct rc_json *json, const struct ranked *ranked)
{
    rc_json_open(json, "quantiles", '[');
    for (int index = 0; index < N_SHARES; index++) {
        const struct rc_order order = rc_order_interval(ranked->n, shares[index], ranked->confidence);
        rc_json_open(json, NULL, '{');
        rc_json_number(json, "share", shares[index]);
        rc_json_number(json, "value", quantile(ranked, shares[index]));
        rc_json_pair(json, "interval", at_rank(ranked, order.lower), at_rank(ranked, order.upper));
        rc_json_close(json, '}');
    }
    rc_json_close(json, ']');
    rc_json_open(json, "tolerance_limits", '[');
    for (int index = 0; index < N_COVERAGES; index++) {
        const int64_t one = limit_order(ranked, coverages[index], 1), two = limit_order(ranked, coverages[index], 2);
        rc_json_open(json, NULL, '{');
        rc_json_number(json, "share", coverages[index]);
        rc_json_number(json, "above", at_rank(ranked, one));
        rc_json_number(json, "below", at_rank(ranked, one > 0 ? ranked->n + 1 - one : 0));
        rc_json_pair(json, "between", at_rank(ranked, two), at_rank(ranked, two > 0 ? ranked->n + 1 - two : 0));
        rc_json_close(json, '}');
    }
    rc_json_close(json, ']');
}

static void write_json(FILE *out, const struct ranked *ranked)
{
    const struct rc_mean mean = rc_mean_of(&ranked->tally, ranked->confidence);
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-quantiles/1");
    rc_json_text(&json, "measure", rc_measures_row(ranked->measure)->name);
    rc_json_text(&json, "unit", rc_measures_row(ranked->measure)->unit);
    rc_json_integer(&json, "flights", ranked->n);
    rc_json_number(&json, "confidence", ranked->confidence);
    rc_json_flag(&json, "is_indicative", ranked->has_rule);
    rc_json_number(&json, "mean", mean.mean);
    rc_json_pair(&json, "mean_interval", mean.low, mean.high);
    rc_json_number(&json, "standard_error", mean.standard_error);
    rc_json_text(&json, "interval_from", has_ranks(ranked) ? "flights" : "replicates");
    if (has_ranks(ranked)) {
        write_json_ranks(&json, ranked);
    } else {
        rc_json_text(&json, "quantiles", NULL);
        rc_json_text(&json, "tolerance_limits", NULL);
    }
    rc_json_close(&json, '}');
}

static void write_csv_row(FILE *out, const char *kind, double share, double value, const double ends[2])
{
    fputs(kind, out);
    rc_figures_cell(out, share);
    rc_figures_cell(out, value);
    rc_figures_cell(out, ends[0]);
    rc_figures_cell(out, ends[1]);
    fputc('\n', out);
}

static void write_csv_ranks(FILE *out, const struct ranked *ranked)
{
    const double none[2] = {NAN, NAN};
    for (int index = 0; index < N_SHARES; index++) {
        const struct rc_order order = rc_order_interval(ranked->n, shares[index], ranked->confidence);
        const double ends[2] = {at_rank(ranked, order.lower), at_rank(ranked, order.upper)};
        write_csv_row(out, "quantile", shares[index], quantile(ranked, shares[index]), ends);
    }
    for (int index = 0; index < N_COVERAGES; index++) {
        const int64_t one = limit_order(ranked, coverages[index], 1), two = limit_order(ranked, coverages[index], 2);
        const double ends[2] = {at_rank(ranked, two), at_rank(ranked, two > 0 ? ranked->n + 1 - two : 0)};
        write_csv_row(out, "above", coverages[index], at_rank(ranked, one), none);
        write_csv_row(out, "below", coverages[index], at_rank(ranked, one > 0 ? ranked->n + 1 - one : 0), none);
        write_csv_row(out, "between", coverages[index], NAN, ends);
    }
}

static void write_csv(FILE *out, const struct ranked *ranked)
{
    const struct rc_mean mean = rc_mean_of(&ranked->tally, ranked->confidence);
    const double ends[2] = {mean.low, mean.high};
    fputs("row,share,value,interval_low,interval_high\n", out);
    write_csv_row(out, "mean", NAN, mean.mean, ends);
    if (has_ranks(ranked)) {
        write_csv_ranks(out, ranked);
    }
}

rc_status rc_report_quantiles(FILE *out, enum rc_report_form form, const struct rc_report_quantiles *asked, struct rc_error *err)
{
    const struct rc_plan_kind *plan = rc_campaign_plan(asked->campaign);
    struct ranked ranked = {.confidence = asked->confidence,
                            .plan = plan,
                            .has_rule = rc_results_run_rule(asked->results)[0] != '\0',
                            .tally = {.n_replicates = plan->n_replicates}};
    rc_status status = check(&ranked.measure, asked->measure, asked->results, asked->campaign, err);
    if (status == RC_OK) {
        status = read_values(&ranked, asked->results, asked->campaign, err);
    }
    if (status == RC_OK && form == RC_REPORT_JSON) {
        write_json(out, &ranked);
    } else if (status == RC_OK && form == RC_REPORT_CSV) {
        write_csv(out, &ranked);
    } else if (status == RC_OK) {
        write_text(out, &ranked);
    }
    free(ranked.value);
    return status;
}
