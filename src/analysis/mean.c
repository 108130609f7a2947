/* Mean of a measure with an interval, from independent flights or from independent replicates of flights. */
#include <math.h>

#include "rollcast/analysis.h"
#include "running.h"
#include "student.h"

void rc_mean_add(struct rc_mean_tally *tally, int64_t flight, double value)
{
    if (!isfinite(value))
        return;
    rc_running_add(&tally->mean, &tally->squares, (double)++tally->n, value);
    if (tally->n_replicates > 0) {
        const int64_t replicate = flight % tally->n_replicates;
        double not_used = 0.0;
        rc_running_add(&tally->part_mean[replicate], &not_used, (double)++tally->part_n[replicate], value);
    }
}

/* Squared deviations of the replicates' means from their own mean; how many have one. */
static int64_t spread_of_parts(const struct rc_mean_tally *tally, double *squares)
{
    int64_t n = 0;
    double mean = 0.0;
    *squares = 0.0;
    for (int replicate = 0; replicate < tally->n_replicates; replicate++) {
        if (tally->part_n[replicate] > 0)
            rc_running_add(&mean, squares, (double)++n, tally->part_mean[replicate]);
    }
    return n;
}

struct rc_mean rc_mean_of(const struct rc_mean_tally *tally, double confidence)
{
    struct rc_mean mean = {.n = tally->n, .mean = NAN, .low = NAN, .high = NAN, .standard_error = NAN};
    double squares = tally->squares;
    const int64_t n = tally->n_replicates > 0 ? spread_of_parts(tally, &squares) : tally->n;
    if (tally->n < 1)
        return mean;
    mean.mean = tally->mean;
    if (n < 2)
        return mean;
    mean.standard_error = sqrt(squares / (double)(n - 1) / (double)n);
    const double freedom = fmin((double)(n - 1), 1e6); /* beyond, it is the normal */
    const double half_width = rc_student_quantile(0.5 * (1.0 - confidence), freedom) * mean.standard_error;
    mean.low = mean.mean - half_width;
    mean.high = mean.mean + half_width;
    return mean;
}

struct rc_mean rc_mean_interval(const double *values, int64_t n, int n_replicates, double confidence)
{
    struct rc_mean_tally tally = {.n_replicates = n_replicates};
    for (int64_t flight = 0; flight < n; flight++)
        rc_mean_add(&tally, flight, values[flight]);
    return rc_mean_of(&tally, confidence);
}
