/* The paired design for shares of variance: rows of n + 2 flights. The first two of a row are independent draws A and B; flight
 * 2 + i has all quantities of A but the i-th, which it takes from B. So flights of one row differ by one quantity at a time,
 * rows are independent, and any flight can be drawn alone. Only the first two of a row are independent and count for odds.
 * source Saltelli et al. 2010, Comput. Phys. Commun. 181:259 */
#include "base/base.h"
#include "sampling/sampling.h"

extern const struct rc_plan_kind rc_paired_plan;

static rc_status check(const struct rc_sampling *sampling, uint64_t n_flights, struct rc_error *err)
{
    (void)n_flights;
    if (sampling->copula)
        return rc_error_fill(err, RC_BAD_INPUT, "run.plan",
                             "the paired design changes one quantity at a time, so none may vary together with others; take out "
                             "the correlations or use plain");
    return RC_OK;
}

static bool counts(const struct rc_sampling *sampling, uint64_t flight)
{
    return flight % ((uint64_t)sampling->n + 2U) < 2U;
}

static void draw(const struct rc_sampling *sampling, uint64_t seed, uint64_t flight, double *values)
{
    const uint64_t length = (uint64_t)sampling->n + 2U;
    const uint64_t row = flight / length;
    const uint64_t place = flight % length;
    for (int index = 0; index < sampling->n; index++) {
        const bool is_from_b = place == 1U || place == (uint64_t)index + 2U;
        const uint64_t path_hash = sampling->quantity[index].path_hash;
        struct rc_pcg pcg = rc_stream_open(seed, row, is_from_b ? rc_stream_mix(path_hash) : path_hash);
        values[index] = rc_stream_uniform(&pcg);
    }
    rc_plan_values(sampling, values);
}

const struct rc_plan_kind rc_paired_plan = {
    .name = "paired",
    .summary = "rows of n + 2 flights that differ by one of n quantities: for `rank`, which then tells shares with all "
               "interactions; two flights of a row count for odds",
    .check = check,
    .counts = counts,
    .draw = draw,
};
