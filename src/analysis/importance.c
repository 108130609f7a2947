/* Importance sampling. Repeats of subset simulation find where failure lies; a mixture of shifted normals is fitted to their
 * failing flights, and after some flights drawn from it fitted again, by the cross-entropy method; then all repeats draw from the
 * mixture, and each failing flight counts by its weight, plain density over the mixture's. The subset's repeats stay as
 * witnesses: they tell what the mixture misses. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "mixture.h"
#include "repeats.h"
#include "subset.h"
#include "witness.h"

/* Most failing flights that are kept, and most numbers for them. */
enum { MOST_POINTS = 65536, MOST_ENTRIES = 4000000 };

/* The mixture is fitted again so many times, each time after as many flights as a part of the repeats draw. */
enum { ROUNDS = 2, ROUND_PART = 4 };

/* Share of the flights that goes to all parts alike, so that one which few failures showed is looked into all the same. */
static const double alike = 0.1;

struct work {
    const struct rc_rare_options *options;
    struct rc_subset subset;             /* its scores and margins serve the sampling too                       */
    struct rc_mixture mixture;
    double share[RC_MIXTURE_MOST];       /* of the flights, as they are drawn from its parts                    */
    int room, n_points, n_witnesses;     /* failing flights: at most, kept, those of the subset's repeats, which come first */
    double *point, *weight;              /* (room x n), (room)                                                  */
    double witness[RC_RARE_MOST_REPEATS], odds[RC_RARE_MOST_REPEATS]; /* of the subset's repeats; of the sampling's */
    double sum, squares, greatest;       /* of the failing flights' weights                                     */
    struct rc_pcg pcg;
};

static rc_status begin(struct work *work, const struct rc_rare_problem *problem, struct rc_error *err)
{
    const int64_t room = MOST_ENTRIES / problem->n < MOST_POINTS ? MOST_ENTRIES / problem->n : MOST_POINTS;
    const int64_t flights = ((int64_t)work->options->n_repeats + ROUNDS * (work->options->n_repeats / ROUND_PART)) *
                            work->options->n_per_level;
    work->room = (int)(flights < room ? flights : room);
    rc_status status = rc_subset_begin(&work->subset, problem, work->options, err);
    if (status == RC_OK)
        status = rc_mixture_begin(&work->mixture, problem->n, err);
    work->point = malloc((size_t)work->room * (size_t)problem->n * sizeof *work->point);
    work->weight = malloc((size_t)work->room * sizeof *work->weight);
    if (status == RC_OK && (!work->point || !work->weight))
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for %d failing flights", work->room);
    return status;
}

static void end(struct work *work)
{
    rc_subset_end(&work->subset);
    rc_mixture_end(&work->mixture);
    free(work->point);
    free(work->weight);
}

/* Weight of a flight that was drawn from the mixture. */
static double weigh(const struct work *work, const double *scores)
{
    return exp(-rc_mixture_log_ratio(&work->mixture, work->share, scores));
}

/* Keep the failing flights of a repeat or round, evenly thinned to its part of the room.
 * in n_parts   repeats or rounds that share what room there is from here on
 * in odds      of a repeat of the subset: together its failures weigh that; 0: each has its own weight */
static void keep_failures(struct work *work, int n_parts, double odds)
{
    const struct rc_subset *subset = &work->subset;
    const size_t n = (size_t)subset->problem->n;
    const int room = (work->room - work->n_points) / n_parts;
    int64_t n_failed = 0, n_seen = 0;
    for (int flight = 0; flight < subset->n_flights; flight++)
        n_failed += subset->margins[flight] <= 0.0;
    const int64_t n_kept = n_failed < room ? n_failed : room;
    for (int flight = 0; flight < subset->n_flights; flight++) {
        const double *scores = subset->scores + (size_t)flight * n;
        if (subset->margins[flight] > 0.0)
            continue;
        n_seen++;
        if (n_seen * n_kept / n_failed == (n_seen - 1) * n_kept / n_failed)
            continue;
        memcpy(work->point + (size_t)work->n_points * n, scores, n * sizeof *scores);
        work->weight[work->n_points++] = odds > 0.0 ? odds / (double)n_kept : weigh(work, scores);
    }
}

/* Make the weights of some points sum to 1. */
static void share_out(double *weight, int n)
{
    double all = 0.0;
    for (int point = 0; point < n; point++)
        all += weight[point];
    for (int point = 0; point < n; point++)
        weight[point] /= all;
}

/* The part that a flight of a repeat is drawn from, by the mixture's own shares. */
static int part_of(const struct work *work, int flight)
{
    const struct rc_mixture *mixture = &work->mixture;
    const double place = (flight + 0.5) / work->subset.n_flights;
    double sum = 0.0;
    for (int part = 0; part < mixture->n_parts - 1; part++) {
        sum += (1.0 - alike) * mixture->share[part] + alike / mixture->n_parts;
        if (place < sum)
            return part;
    }
    return mixture->n_parts - 1;
}

/* Fit the mixture to the points kept so far; witnesses and sampled flights weigh the same together. in n_sampled as how many
 * independent flights the sampled ones count */
static rc_status fit(struct work *work, double n_sampled, struct rc_error *err)
{
    share_out(work->weight, work->n_witnesses);
    share_out(work->weight + work->n_witnesses, work->n_points - work->n_witnesses);
    const struct rc_mixture_points points = {.n = work->n_points, .scores = work->point, .weight = work->weight,
                                             .n_independent = fmax(work->n_witnesses / (double)RC_SUBSET_CHAIN + n_sampled, 1.0)};
    const rc_status status = rc_mixture_fit(&work->mixture, &points, err);
    memset(work->share, 0, sizeof work->share);
    for (int flight = 0; flight < work->subset.n_flights && status == RC_OK; flight++)
        work->share[part_of(work, flight)] += 1.0 / work->subset.n_flights; /* rounded to whole flights: these count */
    return status;
}

/* Draw one repeat's flights. ends its odds; NAN where a margin is not finite */
static double sample(struct work *work)
{
    struct rc_subset *subset = &work->subset;
    const size_t n = (size_t)subset->problem->n;
    double sum = 0.0;
    for (int flight = 0; flight < subset->n_flights; flight++) {
        const double *centre = work->mixture.centre + (size_t)part_of(work, flight) * n;
        for (size_t index = 0; index < n; index++)
            subset->scores[(size_t)flight * n + index] =
                centre[index] + rc_special_normal_quantile(rc_stream_uniform(&work->pcg));
    }
    subset->flown += subset->n_flights;
    subset->why = rc_repeats_not_finite;
    if (!rc_repeats_fly(subset->problem, subset->scores, subset->n_flights, subset->margins))
        return NAN;
    for (int flight = 0; flight < subset->n_flights; flight++) {
        if (subset->margins[flight] > 0.0)
            continue;
        const double weight = weigh(work, subset->scores + (size_t)flight * n);
        sum += weight;
        work->squares += weight * weight;
        work->greatest = fmax(work->greatest, weight);
    }
    work->sum += sum;
    return sum / subset->n_flights;
}

static void forget_weights(struct work *work)
{
    work->sum = work->squares = work->greatest = 0.0;
}

static double effective(const struct work *work)
{
    return work->squares > 0.0 ? work->sum * work->sum / work->squares : 0.0;
}

/* Flights of a chain count as one; a part of the mixture has a number a score and its share. From fewer failures for each of
 * these numbers a part is not told from chance, and a region in many scores goes unseen. */
enum { FAILURES_PER_NUMBER = 2 };

/* Find where failure lies. ends false where that cannot be told: subset.why */
static bool find(struct work *work)
{
    const int n_repeats = work->options->n_repeats;
    if (!rc_subset_pilot(&work->subset))
        return false;
    for (int repeat = 0; repeat < n_repeats; repeat++) {
        work->witness[repeat] = rc_subset_repeat(&work->subset, repeat);
        if (isnan(work->witness[repeat]))
            return false;
        keep_failures(work, n_repeats - repeat + ROUNDS * (n_repeats / ROUND_PART), work->witness[repeat]);
    }
    work->n_witnesses = work->n_points;
    work->subset.why = "the repeats met too few failures for so many scores: fly more per level, or use --rare subset";
    return work->n_witnesses >= FAILURES_PER_NUMBER * RC_SUBSET_CHAIN * (work->mixture.n + 1);
}

/* One round: fly from the mixture, fit it again. ends false where a margin is not finite or memory ran out, which status says */
static bool tune(struct work *work, int round, rc_status *status, struct rc_error *err)
{
    const int n_passes = work->options->n_repeats / ROUND_PART;
    const int n_before = work->n_points;
    work->pcg = rc_stream_open(work->options->seed, (uint64_t)round, rc_hash_bytes(RC_FNV_START, "tuning", 6));
    forget_weights(work);
    for (int pass = 0; pass < n_passes; pass++) {
        if (isnan(sample(work)))
            return false;
        keep_failures(work, (ROUNDS - round) * n_passes - pass, 0.0);
    }
    share_out(work->weight + n_before, work->n_points - n_before);
    *status = fit(work, (round + 1) * effective(work), err);
    return *status == RC_OK;
}

/* Share of the witnesses that weigh more than any failing flight of the sampling: there the mixture hardly reaches. */
static double share_missed(const struct work *work)
{
    double missed = 0.0;
    for (int point = 0; point < work->n_witnesses; point++) {
        if (weigh(work, work->point + (size_t)point * (size_t)work->mixture.n) > work->greatest)
            missed += work->weight[point];
    }
    return missed;
}

/* Everything up to the odds of each repeat. ends false where they cannot be told: subset.why, or status */
static bool work_out(struct work *work, rc_status *status, struct rc_error *err)
{
    if (!find(work))
        return false;
    *status = fit(work, 0.0, err);
    for (int round = 0; round < ROUNDS && *status == RC_OK; round++) {
        if (!tune(work, round, status, err))
            return false;
    }
    forget_weights(work);
    for (int repeat = 0; repeat < work->options->n_repeats && *status == RC_OK; repeat++) {
        work->pcg = rc_stream_open(work->options->seed, (uint64_t)repeat, rc_hash_bytes(RC_FNV_START, "importance", 10));
        work->odds[repeat] = sample(work);
        if (isnan(work->odds[repeat]))
            return false;
    }
    return *status == RC_OK;
}

rc_status rc_importance_sample(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                               struct rc_error *err)
{
    struct rc_rare found = rc_repeats_nothing();
    struct work work = {.options = options};
    rc_status status = rc_repeats_check(problem, options, err);
    if (status != RC_OK)
        return status;
    status = begin(&work, problem, err);
    if (status != RC_OK)
        goto done;
    if (work_out(&work, &status, err))
        rc_repeats_summarise(&found, work.odds, options);
    else
        rc_repeats_refuse(&found, "%s", work.subset.why);
    if (status != RC_OK)
        goto done;
    if (found.is_supported) {
        const struct rc_witness witness = {work.odds, work.witness, effective(&work), share_missed(&work)};
        rc_witness_judge(&found, &witness, options);
    }
    found.flights = work.subset.flown;
    *rare = found;
done:
    end(&work);
    return status;
}

int64_t rc_importance_most(const struct rc_rare_rule *rule)
{
    return rc_subset_most(rule) + ((int64_t)rule->repeats + ROUNDS * (rule->repeats / ROUND_PART)) * rule->per_level;
}
