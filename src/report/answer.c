/* Gathers the answer from a store's columns: counts per criterion and for all together, how flights ended, spreads.
 * Intervals and verdicts come from analysis; wording is left to answer_text.c and answer_json.c. */
#include "answer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "campaign/campaign.h"
#include "figures.h"

/* Per flight: did it reach apogee, has it met every criterion so far, and the one in work? A byte, so that one column stays the
 * largest block. */
enum { REACHED_APOGEE = 1, MEETS_ALL = 2, MEETS_THIS = 4, COUNTS = 8 };

/* The memory of one gathering. */
struct gathering {
    int64_t n_flights;
    double *column;      /* (n_flights) the column in work  */
    unsigned char *mark; /* (n_flights) bits of the above   */
};

static rc_status read_ends(struct rc_answer *answer, const rc_results *results, struct gathering *work, struct rc_error *err)
{
    const rc_status status = rc_results_column(results, "end", 0, work->n_flights, work->column, err);
    if (status != RC_OK) {
        return status;
    }
    const struct rc_plan_kind *plan = rc_campaign_plan(answer->campaign);
    const struct rc_sampling *sampling = rc_campaign_sampling(answer->campaign);
    for (int64_t flight = 0; flight < work->n_flights; flight++) {
        const double end = work->column[flight];
        const int is_known = end >= 0.0 && end < RC_N_ENDS && end == floor(end);
        answer->n_ended[is_known ? (int)end : RC_N_ENDS]++;
        work->mark[flight] = end == RC_END_APOGEE ? REACHED_APOGEE | MEETS_ALL : 0;
        work->mark[flight] |= rc_plan_counts(plan, sampling, (uint64_t)flight) ? COUNTS : 0;
    }
    return RC_OK;
}

/* Count the flights that passed, whose mark has a bit of `passed` set, replicate by replicate where the plan has them. */
static struct rc_odds count_passed(const struct gathering *work, unsigned char passed, const struct rc_answer *answer,
                                   const struct rc_criterion *criterion)
{
    struct rc_replicates replicates = {.n = answer->n_replicates > 0 ? answer->n_replicates : 1};
    for (int64_t flight = 0; flight < work->n_flights; flight++) {
        if (!(work->mark[flight] & COUNTS)) {
            continue;
        }
        replicates.flights[flight % replicates.n]++;
        replicates.passed[flight % replicates.n] += (work->mark[flight] & passed) != 0;
    }
    return rc_stop_odds(&replicates, &answer->stop_rule, criterion);
}

/* Mark the flights that meet one criterion, and strike those that miss it from "all together". */
static void mark_criterion(const struct rc_criterion *criterion, struct gathering *work)
{
    for (int64_t flight = 0; flight < work->n_flights; flight++) {
        const double end = work->mark[flight] & REACHED_APOGEE ? RC_END_APOGEE : RC_END_DIVERGED;
        if (rc_odds_is_met(criterion, work->column[flight], end)) {
            work->mark[flight] |= MEETS_THIS;
        } else {
            work->mark[flight] &= (unsigned char)~(MEETS_THIS | MEETS_ALL);
        }
    }
}

/* A column of a measure. One that an older version did not keep reads as NAN throughout. */
static rc_status read_column(struct rc_answer *answer, int measure, const rc_results *results, struct gathering *work,
                             struct rc_error *err)
{
    char name[96];
    snprintf(name, sizeof name, "measures/%s", rc_measures_row(measure)->name);
    answer->is_kept[measure] = rc_results_has(results, name);
    if (answer->is_kept[measure]) {
        return rc_results_column(results, name, 0, work->n_flights, work->column, err);
    }
    for (int64_t flight = 0; flight < work->n_flights; flight++) {
        work->column[flight] = NAN;
    }
    return RC_OK;
}

/* The mean's interval, before the spread puts the column in order: from replicates, or from flights independent of each other. */
static struct rc_mean mean_of(const struct rc_answer *answer, const struct gathering *work)
{
    struct rc_mean_tally tally = {.n_replicates = answer->n_replicates};
    for (int64_t flight = 0; flight < work->n_flights; flight++) {
        if (work->mark[flight] & COUNTS) {
            rc_mean_add(&tally, flight, work->column[flight]);
        }
    }
    return rc_mean_of(&tally, answer->mean_confidence);
}

static rc_status read_measure(struct rc_answer *answer, int measure, const rc_results *results, struct gathering *work,
                              struct rc_error *err)
{
    const rc_status status = read_column(answer, measure, results, work, err);
    if (status != RC_OK) {
        return status;
    }

    const struct rc_layout *layout = rc_campaign_layout(answer->campaign);
    const int has_landing = layout != NULL && layout->has_descent && answer->is_kept[measure];
    const int n_criteria = rc_campaign_criteria_count(answer->campaign);
    for (int row = 0; row < n_criteria; row++) {
        const struct rc_criterion *criterion = rc_campaign_criterion(answer->campaign, row);
        if (criterion->measure == measure) {
            mark_criterion(criterion, work);
            answer->odds[row] = count_passed(work, MEETS_THIS, answer, criterion);
        }
    }

    /* The spread is over whole ascents only: a flight that never left the rail has no footage to describe. */
    for (int64_t flight = 0; flight < work->n_flights; flight++) {
        if (!(work->mark[flight] & REACHED_APOGEE)) {
            work->column[flight] = NAN;
        } else if (measure == RC_MEASURE_step_phase_max) {
            answer->n_less_exact += work->column[flight] > RC_ANSWER_EXACT_PHASE;
        } else if (measure == RC_MEASURE_static_margin_min_cal) {
            answer->n_unstable += work->column[flight] < 0.0;
        } else if (measure == RC_MEASURE_landing_speed_mps && has_landing) {
            answer->n_aloft += isnan(work->column[flight]);
        }
    }
    answer->mean[measure] = mean_of(answer, work);
    answer->spread[measure] = rc_spread_of(work->column, work->n_flights);
    return RC_OK;
}

enum rc_verdict rc_answer_worse(enum rc_verdict one, enum rc_verdict other)
{
    static const int badness[] = {[RC_VERDICT_GO] = 0, [RC_VERDICT_NOT_YET_KNOWN] = 1, [RC_VERDICT_NO_GO] = 2};
    return badness[other] > badness[one] ? other : one;
}

/* The worst verdict, and what would settle it. */
static void judge(struct rc_answer *answer)
{
    const int n_criteria = rc_campaign_criteria_count(answer->campaign);

    answer->verdict = RC_VERDICT_GO;
    answer->more_flights = 0;
    for (int row = 0; row <= n_criteria; row++) {
        const struct rc_odds *odds = rc_answer_odds(answer, row);
        answer->verdict = rc_answer_worse(answer->verdict, odds->verdict);
        if (odds->more_flights < 0 || answer->more_flights < 0) {
            answer->more_flights = -1;
        } else if (odds->more_flights > answer->more_flights) {
            answer->more_flights = odds->more_flights;
        }
    }
    if (answer->verdict != RC_VERDICT_NOT_YET_KNOWN) {
        answer->more_flights = 0;
    }
}

static rc_status gather_columns(struct rc_answer *answer, const rc_results *results, struct gathering *work, struct rc_error *err)
{
    rc_status status = read_ends(answer, results, work, err);
    for (int measure = 0; status == RC_OK && measure < RC_N_MEASURES; measure++) {
        status = read_measure(answer, measure, results, work, err);
    }
    if (status == RC_OK) {
        status = rc_answer_gather_landing(answer, results, work->column, err);
    }
    if (status != RC_OK) {
        return status;
    }
    answer->all_together = count_passed(work, MEETS_ALL, answer, rc_campaign_all_together(answer->campaign));
    judge(answer);
    return RC_OK;
}

/* The stop rule of the store's run, in words too. */
static rc_status read_rule(struct rc_answer *answer, const rc_results *results, struct rc_error *err)
{
    struct rc_stop_rule *rule = &answer->stop_rule;
    if (!rc_stop_read(rule, rc_results_run_rule(results))) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "its run had the rule '%s': its flights are no sample of the campaign's; ask "
                             "`rollcast odds` of this store alone", rc_results_run_rule(results));
    }
    size_t n = (size_t)snprintf(answer->stop_text, RC_STOP_TEXT, "%s", rule->on_verdict ? "verdict reached, " : "");
    if (rule->width > 0.0) {
        n += (size_t)snprintf(answer->stop_text + n, RC_STOP_TEXT - n, "intervals at most %.6g %% wide, ", 100.0 * rule->width);
    }
    if (rule->seconds > 0.0) {
        n += (size_t)snprintf(answer->stop_text + n, RC_STOP_TEXT - n, "%.6g s over, ", rule->seconds);
    }
    (void)snprintf(answer->stop_text + n, RC_STOP_TEXT - n, "or %s flights", rc_figures_count(rule->most).text);
    return RC_OK;
}

rc_status rc_answer_gather(struct rc_answer *answer, const rc_results *results, const rc_campaign *campaign, struct rc_error *err)
{
    rc_status status = RC_OK;
    struct gathering work = {.n_flights = rc_results_flights(results), .column = NULL, .mark = NULL};
    struct rc_answer fresh = {.campaign = campaign,
                              .n_replicates = rc_campaign_plan(campaign)->n_replicates,
                              .mean_confidence = RC_ANSWER_MEAN_CONFIDENCE,
                              .seed = rc_results_seed(results),
                              .flights = work.n_flights,
                              .flights_asked = rc_results_flights_asked(results),
                              .is_finished = rc_results_is_finished(results)};

    status = read_rule(&fresh, results, err);
    if (status != RC_OK) {
        return status;
    }
    if (work.n_flights < 1) {
        return rc_error_fill(err, RC_IO, "", "the store holds no flight yet; go on with: rollcast fly ... --resume");
    }
    if ((uint64_t)work.n_flights <= SIZE_MAX / sizeof *work.column) {
        work.column = malloc((size_t)work.n_flights * sizeof *work.column);
        work.mark = malloc((size_t)work.n_flights);
    }
    if (work.column == NULL || work.mark == NULL) {
        status = rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a column of %lld flights", (long long)work.n_flights);
        goto done;
    }
    status = gather_columns(&fresh, results, &work, err);
    if (status == RC_OK) {
        *answer = fresh;
    }

done:
    free(work.column);
    free(work.mark);
    return status;
}

int rc_answer_is_left_out(const struct rc_answer *answer, int measure)
{
    return !answer->is_kept[measure] || (answer->spread[measure].n == 0 && answer->n_ended[RC_END_APOGEE] > 0);
}

const struct rc_criterion *rc_answer_criterion(const struct rc_answer *answer, int row)
{
    return row < rc_campaign_criteria_count(answer->campaign) ? rc_campaign_criterion(answer->campaign, row)
                                                              : rc_campaign_all_together(answer->campaign);
}

const struct rc_odds *rc_answer_odds(const struct rc_answer *answer, int row)
{
    return row < rc_campaign_criteria_count(answer->campaign) ? &answer->odds[row] : &answer->all_together;
}

const char *rc_answer_end_text(const struct rc_answer *answer, int end)
{
    if (rc_campaign_formula(answer->campaign) != NULL && (end == RC_END_APOGEE || end == RC_END_DIVERGED)) {
        return end == RC_END_APOGEE ? "has a result" : "has no finite result";
    }
    return rc_measures_end_text(end);
}

const char *rc_answer_interval_from(const struct rc_answer *answer)
{
    if (!rc_stop_is_set(&answer->stop_rule)) {
        return answer->n_replicates > 0 ? "replicates" : "count";
    }
    return answer->n_replicates > 0 ? "looks" : "sequence";
}

const char *rc_answer_interval_note(const struct rc_answer *answer)
{
    const int has_rule = rc_stop_is_set(&answer->stop_rule);
    if (has_rule && answer->n_replicates > 0) {
        return "Intervals are two-sided, from the spread of the plan's independent replicates (Student t). The run had a stop "
               "rule: each of its looks, and its end, has an equal share of the risk, so that all of them together keep the "
               "confidence asked. Measures are over the flights that reached apogee; of a formula, those with a result.";
    }
    if (has_rule) {
        return "The run had a stop rule, so the intervals are confidence sequences: at the confidence asked they hold at all "
               "numbers of flights at once, whenever one stops. Bounds and verdicts are one-sided sequences. Measures are over "
               "the flights that reached apogee; of a formula, those with a result.";
    }
    if (answer->n_replicates > 0) {
        return "Intervals are two-sided, at the confidence asked, from the spread of the plan's independent replicates (Student "
               "t), never narrower than the exact one while few flights have passed or few have failed; a verdict needs the "
               "one-sided bound at that confidence beyond the odds asked. Measures are over the flights that reached apogee; of "
               "a formula, those with a result.";
    }
    if (rc_campaign_plan(answer->campaign)->counts != NULL) {
        return "Of the paired design only flights that are independent of each other count for odds; their intervals are exact "
               "(Clopper-Pearson), two-sided, at the confidence asked; a verdict needs the one-sided bound at that confidence "
               "beyond the odds asked. Measures are over all flights that reached apogee.";
    }
    return "Intervals are exact (Clopper-Pearson), two-sided, at the confidence asked; a verdict needs the one-sided "
           "bound at that confidence beyond the odds asked. Measures are over the flights that reached apogee; of a formula, "
           "those with a result.";
}

const char *rc_answer_caution(void)
{
    return "Caution: these figures estimate the odds of usable footage. They are no safety clearance and no permission to fly: "
           "follow the local codes, the range's rules and the judgement of a licensed or certified person.";
}

const char *rc_answer_model_note(const struct rc_answer *answer)
{
    if (answer != NULL && rc_stop_is_set(&answer->stop_rule)) {
        return "The intervals hold sampling error only, which more flights make smaller. Model error (how far the simulated "
               "vehicle, drive and weather are from the real ones) is apart from it and no number of flights removes it.";
    }
    return "The intervals hold sampling error only, which more flights make smaller. Model error (how far the simulated vehicle, "
           "drive and weather are from the real ones) is apart from it and no number of flights removes it. "
           "Settle the number of flights before looking: flying on until a verdict pleases makes it less sure than it says.";
}
