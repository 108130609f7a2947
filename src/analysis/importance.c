/* Importance sampling: each repeat shifts the mean of its scores towards failure, level by level, by the cross-entropy method;
 * then all repeats draw from the mixture of the shifted densities, so that regions that different repeats have found count.
 * Symbols: m_j the shift of repeat j; phi(x - m_j)/phi(x) = exp(m_j x - |m_j|^2/2) the density ratio to the plain scores. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "numeric/numeric.h"
#include "repeats.h"

/* Share of a level's flights that the next shift is taken from. */
enum { ELITE = 10 };

/* Failing flights that the weights must amount to, all repeats together. */
static const double least_effective = 100.0;

/* One flight's place in the order of margins. */
struct placed {
    double margin;
    int flight;
};

struct work {
    const struct rc_rare_problem *problem;
    int n_flights, n_repeats;
    double *shift;            /* (n_repeats x n)               */
    double *scores;           /* (n_flights x n)               */
    double *margins;          /* (n_flights)                   */
    struct placed *order;     /* (n_flights)                   */
    struct rc_pcg pcg;
    int64_t flown;
};

static int by_margin(const void *one, const void *other)
{
    const struct placed *first = one, *second = other;
    if (first->margin != second->margin)
        return first->margin < second->margin ? -1 : 1;
    return (first->flight > second->flight) - (first->flight < second->flight);
}

/* Logarithm of the density of scores about a shift over that of plain scores. */
static double log_ratio(const double *shift, const double *scores, int n)
{
    double sum = 0.0;
    for (int index = 0; index < n; index++)
        sum += shift[index] * (scores[index] - 0.5 * shift[index]);
    return sum;
}

static bool fly(struct work *work)
{
    work->problem->margins(work->problem->user, work->scores, work->n_flights, work->margins);
    work->flown += work->n_flights;
    for (int flight = 0; flight < work->n_flights; flight++) {
        if (!isfinite(work->margins[flight]))
            return false;
    }
    return true;
}

static void draw_about(struct work *work, const double *shift, int flight)
{
    const int n = work->problem->n;
    for (int index = 0; index < n; index++)
        work->scores[(size_t)flight * (size_t)n + (size_t)index] =
            shift[index] + rc_special_normal_quantile(rc_stream_uniform(&work->pcg));
}

/* The weighted mean of the flights whose margin is at most a threshold. */
static void move_shift(struct work *work, double *shift, double threshold)
{
    const int n = work->problem->n;
    double *mean = calloc((size_t)n, sizeof *mean);
    double total = 0.0;
    for (int flight = 0; mean && flight < work->n_flights; flight++) {
        const double *scores = work->scores + (size_t)flight * (size_t)n;
        if (work->margins[flight] > threshold)
            continue;
        const double weight = exp(-log_ratio(shift, scores, n));
        total += weight;
        for (int index = 0; index < n; index++)
            mean[index] += weight * scores[index];
    }
    for (int index = 0; mean && total > 0.0 && index < n; index++)
        shift[index] = mean[index] / total;
    free(mean);
}

/* Shift one repeat until a tenth of its flights fail. ends whether it got there; if not, why */
static bool tune(struct work *work, double *shift, int n_levels, const char **why)
{
    for (int level = 0; level < n_levels; level++) {
        for (int flight = 0; flight < work->n_flights; flight++)
            draw_about(work, shift, flight);
        *why = "a margin is not a finite number";
        if (!fly(work))
            return false;
        for (int flight = 0; flight < work->n_flights; flight++)
            work->order[flight] = (struct placed){work->margins[flight], flight};
        qsort(work->order, (size_t)work->n_flights, sizeof *work->order, by_margin);
        const int n_elite = work->n_flights / ELITE;
        const double threshold = work->order[n_elite - 1].margin;
        if (threshold == work->order[work->n_flights - 1].margin && threshold > 0.0) {
            *why = "the margin has too few values to lead towards failure: use a margin that varies, not a count of failures";
            return false;
        }
        move_shift(work, shift, fmax(threshold, 0.0));
        if (threshold <= 0.0)
            return true;
    }
    *why = "failure was not reached within the levels allowed: it may lie in several directions, or cannot happen; try subset";
    return false;
}

/* One repeat's odds: flights from the mixture of all shifts. out weights  sum and sum of squares over failing flights */
static double estimate(struct work *work, double weights[2])
{
    const int n = work->problem->n;
    double sum = 0.0;
    for (int flight = 0; flight < work->n_flights; flight++)
        draw_about(work, work->shift + (size_t)(flight % work->n_repeats) * (size_t)n, flight);
    if (!fly(work))
        return NAN;
    for (int flight = 0; flight < work->n_flights; flight++) {
        if (work->margins[flight] > 0.0)
            continue;
        double density = 0.0;
        for (int repeat = 0; repeat < work->n_repeats; repeat++)
            density += exp(log_ratio(work->shift + (size_t)repeat * (size_t)n, work->scores + (size_t)flight * (size_t)n, n));
        const double weight = work->n_repeats / density;
        sum += weight;
        weights[0] += weight;
        weights[1] += weight * weight;
    }
    return sum / work->n_flights;
}

/* All repeats: first every shift, then every estimate. */
static void run(struct work *work, struct rc_rare *found, const struct rc_rare_options *options)
{
    double odds[RC_RARE_MOST_REPEATS], weights[2] = {0.0, 0.0};
    const char *why = "";
    *found = (struct rc_rare){.odds = NAN, .high = 1.0, .bound_high = 1.0, .spread = NAN, .is_supported = 1};
    for (int repeat = 0; repeat < options->n_repeats && found->is_supported; repeat++) {
        work->pcg = rc_stream_open(options->seed, (uint64_t)repeat, rc_hash_bytes(RC_FNV_START, "shift", 5));
        if (!tune(work, work->shift + (size_t)repeat * (size_t)work->problem->n, options->n_levels, &why))
            rc_repeats_refuse(found, "%s", why);
    }
    for (int repeat = 0; repeat < options->n_repeats && found->is_supported; repeat++) {
        work->pcg = rc_stream_open(options->seed, (uint64_t)repeat, rc_hash_bytes(RC_FNV_START, "importance", 10));
        odds[repeat] = estimate(work, weights);
        if (isnan(odds[repeat]))
            rc_repeats_refuse(found, "a margin is not a finite number");
    }
    found->flights = work->flown;
    if (!found->is_supported)
        return;
    rc_repeats_summarise(found, odds, options);
    if (found->is_supported && weights[0] * weights[0] < least_effective * weights[1])
        rc_repeats_refuse(found, "the weights hang on %.0f flights' worth of failures, wanted %.0f: more per level, or subset",
                          weights[1] > 0.0 ? weights[0] * weights[0] / weights[1] : 0.0, least_effective);
}

rc_status rc_importance_sample(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                               struct rc_error *err)
{
    rc_status status = rc_repeats_check(problem, options, err);
    if (status != RC_OK)
        return status;
    const size_t n_flights = (size_t)options->n_per_level, n = (size_t)problem->n;
    struct work work = {.problem = problem, .n_flights = options->n_per_level, .n_repeats = options->n_repeats};
    work.shift = calloc((size_t)options->n_repeats * n, sizeof *work.shift);
    work.scores = calloc(n_flights * n, sizeof *work.scores);
    work.margins = calloc(n_flights, sizeof *work.margins);
    work.order = calloc(n_flights, sizeof *work.order);
    if (!work.shift || !work.scores || !work.margins || !work.order)
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for levels of %d flights", options->n_per_level);
    else
        run(&work, rare, options);
    free(work.shift);
    free(work.scores);
    free(work.margins);
    free(work.order);
    return status;
}
