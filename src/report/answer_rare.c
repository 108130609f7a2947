/* The answer of a store whose run went after rare failures: the method's own steps again with the stored margins, its odds, its
 * verdict, or why it supports no claim. */
#include "answer_rare.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "figures.h"
#include "json.h"
#include "measures/measures.h"
#include "rollcast/rare.h"
#include "wording.h"

/* Stored margins, read in the order in which they were flown. */
struct margins {
    double *value; /* (n) */
    int64_t n, next;
};

/* What is answered. */
struct rare_answer {
    const rc_campaign *campaign;
    const struct rc_criterion *criterion;
    struct rc_rare_rule rule;
    struct rc_rare rare;
    uint64_t seed;
    int64_t flights;
    int is_short;             /* the store ends before the method does */
    enum rc_verdict verdict;
};

static void next_margins(void *user, const double *scores, int n_flights, double *margins)
{
    struct margins *stored = user;
    (void)scores;
    for (int flight = 0; flight < n_flights; flight++) {
        margins[flight] = stored->next < stored->n ? stored->value[stored->next] : NAN;
        stored->next++;
    }
}

static const char model_note[] =
    "The interval holds sampling error only. Model error (how far the simulated vehicle, drive and weather are from the real "
    "ones, and how well the tails of the distributions are known) is apart from it and no number of flights removes it.";

static const char interval_note[] =
    "The odds are those of failing one criterion. Flights were chosen to come near that failure, so they are no sample of the "
    "campaign: their other measures say nothing, and the spread of independent repeats, not a count, gives the interval "
    "(the wider of Student's and Cox's).";

static void write_text(FILE *out, const struct rare_answer *answer)
{
    struct rc_text text = {NULL, 0, 0, false};
    const struct rc_rare *rare = &answer->rare;
    if (rare->is_supported) {
        rc_text_add(&text, "%s: %s fails in ", rc_odds_verdict_text(answer->verdict), answer->criterion->name);
        rc_text_add(&text, rare->odds > 0.0 ? "%.2g" : "%.0f", rare->odds);
        rc_text_add(&text, " of flights.");
    } else {
        rc_text_add(&text, "NOT YET KNOWN: this run supports no claim: %s.", answer->is_short
                    ? "it is unfinished; go on with: rollcast fly CAMPAIGN -o STORE --resume" : rare->why);
    }
    rc_figures_wrap(out, text.failed ? "?" : text.bytes, 0, 0);
    fprintf(out, "\nCampaign   ");
    rc_figures_wrap(out, rc_campaign_name(answer->campaign), 11, 11);
    fprintf(out, "Flights    %s, seed %" PRIu64 "\n", rc_figures_count(answer->flights).text, answer->seed);
    fprintf(out, "Method     %s, %d repeats, %s flights a level\n", rc_rare_label(answer->rule.method), answer->rule.repeats,
            rc_figures_count(answer->rule.per_level).text);
    fprintf(out, "Criterion  ");
    rc_wording_limit(out, answer->criterion);
    fprintf(out, "\n           ");
    rc_wording_asked(out, answer->criterion);
    fputc('\n', out);
    rc_text_free(&text);
    if (rare->is_supported) {
        fprintf(out, "Failing    %.3g, %g %% interval %.3g to %.3g\n", rare->odds, 100.0 * answer->criterion->confidence,
                rare->low, rare->high);
        fprintf(out, "Shown      at most %.3g, at least %.3g, each with that confidence\n", rare->bound_high, rare->bound_low);
    }
    fputc('\n', out);
    rc_figures_wrap(out, interval_note, 0, 0);
    rc_figures_wrap(out, model_note, 0, 0);
    fputc('\n', out);
    rc_figures_wrap(out, rc_answer_caution(), 0, 0);
}

static void write_json(FILE *out, const struct rare_answer *answer)
{
    struct rc_json json = {.out = out};
    const struct rc_rare *rare = &answer->rare;
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-rare/1");
    rc_json_text(&json, "campaign", rc_campaign_name(answer->campaign));
    rc_json_unsigned(&json, "seed", answer->seed);
    rc_json_integer(&json, "flights", answer->flights);
    rc_json_text(&json, "method", rc_rare_name(answer->rule.method));
    rc_json_integer(&json, "flights_per_level", answer->rule.per_level);
    rc_json_integer(&json, "repeats", answer->rule.repeats);
    rc_json_text(&json, "criterion", answer->criterion->name);
    rc_json_text(&json, "measure", rc_measures_row(answer->criterion->measure)->name);
    rc_json_number(&json, "at_least", answer->criterion->at_least);
    rc_json_number(&json, "at_most", answer->criterion->at_most);
    rc_json_number(&json, "odds_asked", answer->criterion->odds);
    rc_json_number(&json, "confidence", answer->criterion->confidence);
    rc_json_flag(&json, "is_supported", rare->is_supported != 0);
    rc_json_text(&json, "why_not", rare->is_supported ? NULL : answer->is_short ? "the run is unfinished" : rare->why);
    rc_json_number(&json, "odds_of_failing", rare->odds);
    rc_json_pair(&json, "interval", rare->low, rare->high);
    rc_json_number(&json, "bound_low", rare->bound_low);
    rc_json_number(&json, "bound_high", rare->bound_high);
    rc_json_number(&json, "spread", rare->spread);
    rc_json_text(&json, "verdict", rc_odds_verdict_text(answer->verdict));
    rc_json_text(&json, "caution", rc_answer_caution());
    rc_json_close(&json, '}');
}

rc_status rc_answer_rare(FILE *out, enum rc_report_form form, const rc_results *results, const rc_campaign *campaign,
                         enum rc_verdict *verdict, struct rc_error *err)
{
    struct rare_answer answer = {.campaign = campaign, .seed = rc_results_seed(results), .flights = rc_results_flights(results)};
    struct margins stored = {.value = NULL, .n = answer.flights};
    if (!rc_rare_read(&answer.rule, rc_results_run_rule(results)) ||
        answer.rule.criterion >= rc_campaign_criteria_count(campaign)) {
        return rc_error_fill(err, RC_OTHER_STORE, "", "has the rule '%s', which does not fit its campaign; use a good copy",
                             rc_results_run_rule(results));
    }
    answer.criterion = rc_campaign_criterion(campaign, answer.rule.criterion);
    const struct rc_rare_problem problem = {.n = rc_campaign_uncertain_count(campaign), .user = &stored, .margins = next_margins};
    const struct rc_rare_options options = {.seed = answer.seed, .confidence = answer.criterion->confidence};
    if (answer.flights < 1) {
        return rc_error_fill(err, RC_IO, "", "the store holds no flight yet; go on with: rollcast fly ... --resume");
    }
    rc_status status = rc_run_margins(&stored.value, results, answer.criterion, err);
    if (status == RC_OK) {
        status = rc_rare_run(&answer.rare, &problem, &answer.rule, &options, err);
    }
    if (status == RC_OK) {
        answer.is_short = stored.next > stored.n;
        /* the odds of meeting the criterion are one less those of failing it */
        answer.verdict = rc_odds_verdict(1.0 - answer.rare.bound_high, 1.0 - answer.rare.bound_low, answer.criterion->odds);
        if (form == RC_REPORT_JSON) {
            write_json(out, &answer);
        } else {
            write_text(out, &answer);
        }
        if (verdict != NULL) {
            *verdict = answer.verdict;
        }
    }
    free(stored.value);
    return status;
}
