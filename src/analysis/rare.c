/* Subset simulation. What a flight is and where its scores go is left to the caller's margins. Each repeat is a run of its own;
 * the error comes from their spread, since the formula for a single run takes its levels as independent and is too sure. */
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "numeric/numeric.h"
#include "repeats.h"

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

rc_status rc_rare_subset(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                         struct rc_error *err)
{
    rc_status status = rc_repeats_check(problem, options, err);
    if (status != RC_OK)
        return status;
    const size_t n_flights = (size_t)options->n_per_level;
    const size_t n_entries = n_flights * (size_t)problem->n;
    struct work work = {.problem = problem, .n_flights = options->n_per_level};
    struct rc_rare found = {.odds = NAN, .high = 1.0, .bound_high = 1.0, .spread = NAN, .is_supported = 1};
    double odds[RC_RARE_MOST_REPEATS];
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
        if (isnan(odds[index]))
            rc_repeats_refuse(&found, "%s", why);
    }
    found.flights = work.flown;
    if (found.is_supported)
        rc_repeats_summarise(&found, odds, options);
    *rare = found;

done:
    free(work.scores);
    free(work.next);
    free(work.margins);
    free(work.proposed);
    free(work.order);
    return status;
}

double rc_rare_margin(const struct rc_criterion *criterion, double value, double end)
{
    const double margin = fmin(value - criterion->at_least, criterion->at_most - value);
    if (!rc_odds_is_met(criterion, value, end))
        return isfinite(margin) && margin < 0.0 ? margin : -DBL_MAX / 4.0; /* finite, and beyond every other */
    return isfinite(margin) && margin > 0.0 ? margin : DBL_MIN;
}

void rc_rare_write(const struct rc_rare_rule *rule, char *text)
{
    static const char *const methods[] = {[RC_RARE_SUBSET] = "subset", [RC_RARE_IMPORTANCE] = "importance"};
    text[0] = '\0';
    if (rule->method != RC_RARE_NONE)
        (void)snprintf(text, RC_STOP_TEXT, "rare by %s, criterion %d, %d flights a level, %d repeats", methods[rule->method],
                       rule->criterion, rule->per_level, rule->repeats);
}

int rc_rare_read(struct rc_rare_rule *rule, const char *text)
{
    char method[16] = "";
    *rule = (struct rc_rare_rule){.method = RC_RARE_NONE};
    if (sscanf(text, "rare by %15[a-z], criterion %d, %d flights a level, %d repeats", method, &rule->criterion, &rule->per_level,
               &rule->repeats) != 4)
        return 0;
    if (strcmp(method, "subset") == 0)
        rule->method = RC_RARE_SUBSET;
    else if (strcmp(method, "importance") == 0)
        rule->method = RC_RARE_IMPORTANCE;
    return rule->method != RC_RARE_NONE && rule->criterion >= 0;
}

rc_status rc_rare_run(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_rule *rule,
                      const struct rc_rare_options *options, struct rc_error *err)
{
    struct rc_rare_options all = *options;
    all.n_per_level = rule->per_level;
    all.n_repeats = rule->repeats;
    all.n_levels = RC_RARE_LEVELS;
    return rule->method == RC_RARE_IMPORTANCE ? rc_importance_sample(rare, problem, &all, err)
                                              : rc_rare_subset(rare, problem, &all, err);
}

int64_t rc_rare_most_flights(const struct rc_rare_rule *rule)
{
    /* a level of chains keeps a tenth of the one before; importance sampling flies each level anew, and once more at the end */
    const int64_t levels = rule->method == RC_RARE_SUBSET ? 10 + 9 * RC_RARE_LEVELS : 10 * (RC_RARE_LEVELS + 1);
    return (int64_t)rule->repeats * rule->per_level / 10 * levels;
}
