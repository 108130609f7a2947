/* Subset simulation. What a flight is and where its scores go is left to the caller's margins. Each repeat is a run of its own;
 * the error comes from their spread, since the formula for a single run takes its levels as independent and is too sure. */
#include "rollcast/rare.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "numeric/numeric.h"
#include "student.h"

enum { CHAIN = 10 }; /* flights of a chain: a level holds one in ten of the one before */

/* Share of a score that a step of a chain keeps. source the value of the measured table in docs/theory.md, "Rare outcomes" */
static const double kept = 0.8;

/* One flight's place in the order of margins. */
struct placed {
    double margin;
    int flight;
};

/* Memory of one repeat. */
struct work {
    const struct rc_rare_problem *problem;
    int n_flights;
    double *scores, *next;      /* (n_flights x n) */
    double *margins, *proposed; /* (n_flights)     */
    struct placed *order;       /* (n_flights)     */
    struct rc_pcg pcg;
    int64_t flown;
};

static double draw_score(struct work *work)
{
    return rc_special_normal_quantile(rc_stream_uniform(&work->pcg));
}

static int by_margin(const void *one, const void *other)
{
    const struct placed *first = one;
    const struct placed *second = other;
    if (first->margin != second->margin)
        return first->margin < second->margin ? -1 : 1;
    return (first->flight > second->flight) - (first->flight < second->flight);
}

/* ends false where a margin is not finite */
static bool fly(struct work *work, const double *scores, int n_flights, double *margins)
{
    work->problem->margins(work->problem->user, scores, n_flights, margins);
    work->flown += n_flights;
    for (int flight = 0; flight < n_flights; flight++) {
        if (!isfinite(margins[flight]))
            return false;
    }
    return true;
}

static bool first_level(struct work *work)
{
    for (int entry = 0; entry < work->n_flights * work->problem->n; entry++)
        work->scores[entry] = draw_score(work);
    return fly(work, work->scores, work->n_flights, work->margins);
}

/* Step every chain once. The proposals stand in `next` as one block, so that they are flown together.
 * in step 1 .. CHAIN-1; states of step s stand at flights s n_chains .. of scores and margins */
static bool step_chains(struct work *work, int step, double threshold)
{
    const int n = work->problem->n;
    const int n_chains = work->n_flights / CHAIN;
    const double *from = work->scores + (size_t)(step - 1) * (size_t)n_chains * (size_t)n;
    double *to = work->scores + (size_t)step * (size_t)n_chains * (size_t)n;
    const double fresh = sqrt(1.0 - kept * kept);
    for (int entry = 0; entry < n_chains * n; entry++)
        work->next[entry] = kept * from[entry] + fresh * draw_score(work);
    if (!fly(work, work->next, n_chains, work->proposed))
        return false;
    for (int chain = 0; chain < n_chains; chain++) {
        const bool is_taken = work->proposed[chain] <= threshold;
        const double *state = (is_taken ? work->next : from) + (size_t)chain * (size_t)n;
        memcpy(to + (size_t)chain * (size_t)n, state, (size_t)n * sizeof *to);
        work->margins[step * n_chains + chain] = is_taken ? work->proposed[chain] : work->margins[(step - 1) * n_chains + chain];
    }
    return true;
}

/* From the tenth with the least margins, which `order` names, to a whole level. */
static bool next_level(struct work *work, double threshold)
{
    const size_t n = (size_t)work->problem->n;
    const int n_chains = work->n_flights / CHAIN;
    for (int chain = 0; chain < n_chains; chain++)
        memcpy(work->next + (size_t)chain * n, work->scores + (size_t)work->order[chain].flight * n, n * sizeof *work->next);
    memcpy(work->scores, work->next, (size_t)n_chains * n * sizeof *work->scores);
    for (int chain = 0; chain < n_chains; chain++)
        work->margins[chain] = work->order[chain].margin;
    bool is_good = true;
    for (int step = 1; step < CHAIN && is_good; step++)
        is_good = step_chains(work, step, threshold);
    return is_good;
}

/* One repeat. ends the odds of failure; NAN where it cannot tell, and why */
static double repeat(struct work *work, int n_levels, const char **why)
{
    *why = "a margin is not a finite number";
    if (!first_level(work))
        return NAN;
    double odds = 1.0;
    for (int level = 0; level < n_levels; level++) {
        const int n_chains = work->n_flights / CHAIN;
        int n_failed = 0;
        for (int flight = 0; flight < work->n_flights; flight++) {
            work->order[flight] = (struct placed){work->margins[flight], flight};
            n_failed += work->margins[flight] <= 0.0;
        }
        qsort(work->order, (size_t)work->n_flights, sizeof *work->order, by_margin);
        const double threshold = 0.5 * (work->order[n_chains - 1].margin + work->order[n_chains].margin);
        if (threshold <= 0.0)
            return odds * n_failed / work->n_flights;
        if (work->order[n_chains - 1].margin == work->order[work->n_flights - 1].margin) {
            *why = "the margin has too few values to lead towards failure: use a margin that varies, not a count of failures";
            return NAN;
        }
        odds /= CHAIN;
        if (!next_level(work, threshold))
            return NAN;
    }
    *why = "failure was not reached within the levels allowed: the odds are below them, or failure cannot happen";
    return NAN;
}

static rc_status check_options(const struct rc_rare_problem *problem, const struct rc_rare_options *options, struct rc_error *err)
{
    if (problem->n < 1)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "nothing is uncertain, so nothing is rare: wanted at least one score");
    if (options->n_per_level < 100 || options->n_per_level > 1000000 || options->n_per_level % CHAIN != 0)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "got %d flights a level, wanted a multiple of 10 from 100 to 1000000",
                             options->n_per_level);
    if (options->n_repeats < 8 || options->n_repeats > 64)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "got %d repeats, wanted 8 to 64", options->n_repeats);
    if (options->n_levels < 1 || options->n_levels > 12)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "got %d levels, wanted 1 to 12", options->n_levels);
    return RC_OK;
}

/* Mean, interval and spread of the repeats' odds. */
static void summarise(struct rc_rare *rare, const double *odds, int n, double confidence)
{
    double mean = 0.0;
    double squares = 0.0;
    for (int index = 0; index < n; index++) {
        const double from_old = odds[index] - mean;
        mean += from_old / (index + 1);
        squares += from_old * (odds[index] - mean);
    }
    const double sd = sqrt(squares / (n - 1));
    const double half_width = rc_student_quantile(0.5 * (1.0 - confidence), n - 1.0) * sd / sqrt(n);
    rare->odds = mean;
    rare->spread = sd / mean;
    rare->low = fmax(mean - half_width, 0.0);
    rare->high = fmin(mean + half_width, 1.0);
}

/* Above it the repeats do not agree on where failure lies, and their mean hangs on a few of them. */
static const double greatest_spread = 1.5;

rc_status rc_rare_subset(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                         struct rc_error *err)
{
    rc_status status = check_options(problem, options, err);
    if (status != RC_OK)
        return status;
    const size_t n_flights = (size_t)options->n_per_level;
    const size_t n_entries = n_flights * (size_t)problem->n;
    struct work work = {.problem = problem, .n_flights = options->n_per_level};
    struct rc_rare found = {.odds = NAN, .low = 0.0, .high = 1.0, .spread = NAN, .is_supported = 1};
    double odds[64];
    work.scores = calloc(n_entries, sizeof *work.scores);
    work.next = calloc(n_entries, sizeof *work.next);
    work.margins = calloc(n_flights, sizeof *work.margins);
    work.proposed = calloc(n_flights, sizeof *work.proposed);
    work.order = calloc(n_flights, sizeof *work.order);
    if (!work.scores || !work.next || !work.margins || !work.proposed || !work.order) {
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for levels of %d flights", options->n_per_level);
        goto done;
    }
    for (int index = 0; index < options->n_repeats && found.is_supported; index++) {
        const char *why = "";
        work.pcg = rc_stream_open(options->seed, (uint64_t)index, rc_hash_bytes(RC_FNV_START, "rare", 4));
        odds[index] = repeat(&work, options->n_levels, &why);
        found.is_supported = !isnan(odds[index]);
        if (!found.is_supported)
            (void)snprintf(found.why, sizeof found.why, "%s", why);
    }
    found.flights = work.flown;
    if (found.is_supported)
        summarise(&found, odds, options->n_repeats, options->confidence);
    if (found.is_supported && !(found.spread <= greatest_spread)) {
        found.is_supported = 0;
        (void)snprintf(found.why, sizeof found.why, "the repeats differ by %.0f %% of their mean: fly more per level",
                       100.0 * found.spread);
        found.odds = NAN;
    }
    *rare = found;

done:
    free(work.scores);
    free(work.next);
    free(work.margins);
    free(work.proposed);
    free(work.order);
    return status;
}
