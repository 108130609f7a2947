/* Subset simulation. What a flight is and where its scores go is left to the caller's margins. A pilot settles the thresholds;
 * each repeat then is a run of its own over these, so that its odds, a product of shares, are right in the mean; the error comes
 * from the repeats' spread. source Au and Beck 2001; conditional steps Papaioannou et al. 2015; keeping every state of chains
 * from seeds chosen at random, without bias, Dau and Chopin 2022 (docs/theory.md, "Rare outcomes") */
#include "subset.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "repeats.h"

/* Share of a score that a step of a chain keeps. source the value of the measured table in docs/theory.md, "Rare outcomes" */
static const double kept = 0.8;

/* A threshold that keeps more than this share of a level leads nowhere; one that keeps less than that hangs on too few. */
static const double greatest_share = 0.5, least_share = 0.02;

rc_status rc_subset_begin(struct rc_subset *subset, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                          struct rc_error *err)
{
    const size_t n_flights = (size_t)options->n_per_level;
    const size_t n_entries = n_flights * (size_t)problem->n;
    *subset = (struct rc_subset){.problem = problem, .options = options, .n_flights = options->n_per_level, .why = ""};
    subset->scores = calloc(n_entries, sizeof *subset->scores);
    subset->next = calloc(n_entries, sizeof *subset->next);
    subset->margins = calloc(n_flights, sizeof *subset->margins);
    subset->proposed = calloc(n_flights, sizeof *subset->proposed);
    subset->sorted = calloc(n_flights, sizeof *subset->sorted);
    subset->survivor = calloc(n_flights, sizeof *subset->survivor);
    if (!subset->scores || !subset->next || !subset->margins || !subset->proposed || !subset->sorted || !subset->survivor)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for levels of %d flights", options->n_per_level);
    return RC_OK;
}

void rc_subset_end(struct rc_subset *subset)
{
    free(subset->scores);
    free(subset->next);
    free(subset->margins);
    free(subset->proposed);
    free(subset->sorted);
    free(subset->survivor);
}

static double draw_score(struct rc_subset *subset)
{
    return rc_special_normal_quantile(rc_stream_uniform(&subset->pcg));
}

/* ends false where a margin is not finite */
static bool fly(struct rc_subset *subset, const double *scores, int n_flights, double *margins)
{
    subset->flown += n_flights;
    if (rc_repeats_fly(subset->problem, scores, n_flights, margins))
        return true;
    subset->why = rc_repeats_not_finite;
    return false;
}

static bool first_level(struct rc_subset *subset)
{
    for (int entry = 0; entry < subset->n_flights * subset->problem->n; entry++)
        subset->scores[entry] = draw_score(subset);
    return fly(subset, subset->scores, subset->n_flights, subset->margins);
}

/* Step every chain once. The proposals stand in `next` as one block, so that they are flown together.
 * in step 1 .. RC_SUBSET_CHAIN-1; states of step s stand at flights s n_chains .. of scores and margins */
static bool step_chains(struct rc_subset *subset, int step, double threshold)
{
    const size_t n = (size_t)subset->problem->n;
    const int n_chains = subset->n_flights / RC_SUBSET_CHAIN;
    const double *from = subset->scores + (size_t)(step - 1) * (size_t)n_chains * n;
    double *to = subset->scores + (size_t)step * (size_t)n_chains * n;
    const double fresh = sqrt(1.0 - kept * kept);
    for (size_t entry = 0; entry < (size_t)n_chains * n; entry++)
        subset->next[entry] = kept * from[entry] + fresh * draw_score(subset);
    if (!fly(subset, subset->next, n_chains, subset->proposed))
        return false;
    const double *before = subset->margins + (step - 1) * n_chains;
    for (int chain = 0; chain < n_chains; chain++) {
        const bool is_taken = subset->proposed[chain] <= threshold;
        memcpy(to + (size_t)chain * n, (is_taken ? subset->next : from) + (size_t)chain * n, n * sizeof *to);
        subset->margins[step * n_chains + chain] = is_taken ? subset->proposed[chain] : before[chain];
    }
    return true;
}

/* Flights of this level at or below a threshold. out survivor (ends) */
static int find_survivors(struct rc_subset *subset, double threshold)
{
    int n = 0;
    for (int flight = 0; flight < subset->n_flights; flight++) {
        if (subset->margins[flight] <= threshold)
            subset->survivor[n++] = flight;
    }
    return n;
}

/* From survivors, which seed the chains in random order, each as often as any other as far as that goes, to a whole level. */
static bool next_level(struct rc_subset *subset, int n_survivors, double threshold)
{
    const size_t n = (size_t)subset->problem->n;
    const int n_chains = subset->n_flights / RC_SUBSET_CHAIN;
    for (int place = 0; place < n_survivors && place < n_chains; place++) {
        const int other = place + (int)(rc_stream_uniform(&subset->pcg) * (n_survivors - place));
        const int flight = subset->survivor[other];
        subset->survivor[other] = subset->survivor[place];
        subset->survivor[place] = flight;
    }
    for (int chain = 0; chain < n_chains; chain++) {
        const int seed = subset->survivor[chain % n_survivors];
        memcpy(subset->next + (size_t)chain * n, subset->scores + (size_t)seed * n, n * sizeof *subset->next);
        subset->proposed[chain] = subset->margins[seed];
    }
    memcpy(subset->scores, subset->next, (size_t)n_chains * n * sizeof *subset->scores);
    memcpy(subset->margins, subset->proposed, (size_t)n_chains * sizeof *subset->margins);
    bool is_good = true;
    for (int step = 1; step < RC_SUBSET_CHAIN && is_good; step++)
        is_good = step_chains(subset, step, threshold);
    return is_good;
}

static int by_value(const void *one, const void *other)
{
    const double first = *(const double *)one, second = *(const double *)other;
    return (first > second) - (first < second);
}

/* The pilot's next threshold: a tenth of its flights lie at or below. Where many share one margin, the next lower margin is
 * taken.
 * ends false where no threshold leads on */
static bool add_threshold(struct rc_subset *subset)
{
    const int n = subset->n_flights;
    const int n_chains = n / RC_SUBSET_CHAIN;
    double *sorted = subset->sorted;
    memcpy(sorted, subset->margins, (size_t)n * sizeof *sorted);
    qsort(sorted, (size_t)n, sizeof *sorted, by_value);
    double threshold = 0.5 * (sorted[n_chains - 1] + sorted[n_chains]);
    if (threshold <= 0.0)
        return true;
    subset->why = "failure was not reached within the levels allowed: the odds are below them, or failure cannot happen";
    if (subset->n_thresholds == subset->options->n_levels)
        return false;
    int n_kept = n_chains;
    while (n_kept < n && sorted[n_kept] <= threshold)
        n_kept++;
    if (n_kept > greatest_share * n) {
        for (n_kept = n_chains; n_kept > 0 && sorted[n_kept - 1] >= threshold;)
            n_kept--;
        threshold = n_kept > 0 ? sorted[n_kept - 1] : NAN;
    }
    subset->why = "too many flights share one value, as where what is measured does not happen: nothing leads to failure; "
                  "ask for a measure that varies";
    if (n_kept < least_share * n)
        return false;
    if (threshold > 0.0)
        subset->threshold[subset->n_thresholds++] = threshold;
    return true;
}

/* One way down. in is_pilot  settle the thresholds on it. ends the odds; NAN: `why` */
static double go_down(struct rc_subset *subset, bool is_pilot)
{
    double odds = 1.0;
    if (!first_level(subset))
        return NAN;
    for (int level = 0;; level++) {
        if (is_pilot && !add_threshold(subset))
            return NAN;
        const double threshold = level < subset->n_thresholds ? subset->threshold[level] : 0.0;
        const int n_survivors = find_survivors(subset, threshold);
        odds *= (double)n_survivors / subset->n_flights;
        if (level == subset->n_thresholds || n_survivors == 0)
            return odds;
        if (!next_level(subset, n_survivors, threshold))
            return NAN;
    }
}

bool rc_subset_pilot(struct rc_subset *subset)
{
    subset->pcg = rc_stream_open(subset->options->seed, 0, rc_hash_bytes(RC_FNV_START, "rare pilot", 10));
    if (isnan(go_down(subset, true)))
        return false;
    /* Without a level on the way repeats are plain flights, and their spread tells nothing where nearly all fail. */
    subset->why = "failure is not rare: the first flights reach it without a level on the way; fly plain, without --rare";
    return subset->n_thresholds > 0;
}

double rc_subset_repeat(struct rc_subset *subset, int index)
{
    subset->pcg = rc_stream_open(subset->options->seed, (uint64_t)index, rc_hash_bytes(RC_FNV_START, "rare", 4));
    return go_down(subset, false);
}

rc_status rc_subset_simulate(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                             struct rc_error *err)
{
    struct rc_subset subset;
    double odds[RC_RARE_MOST_REPEATS];
    rc_status status = rc_repeats_check(problem, options, err);
    if (status != RC_OK)
        return status;
    status = rc_subset_begin(&subset, problem, options, err);
    if (status == RC_OK) {
        *rare = rc_repeats_nothing();
        bool is_good = rc_subset_pilot(&subset);
        for (int index = 0; index < options->n_repeats && is_good; index++) {
            odds[index] = rc_subset_repeat(&subset, index);
            is_good = !isnan(odds[index]);
        }
        if (is_good)
            rc_repeats_summarise(rare, odds, options);
        else
            rc_repeats_refuse(rare, "%s", subset.why);
        rare->flights = subset.flown;
    }
    rc_subset_end(&subset);
    return status;
}

int64_t rc_subset_most(const struct rc_rare_rule *rule)
{
    /* the pilot and the repeats; each level after the first keeps a tenth of the one before */
    return ((int64_t)rule->repeats + 1) * rule->per_level / 10 * (10 + 9 * RC_RARE_LEVELS);
}
