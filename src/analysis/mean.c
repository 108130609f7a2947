/* Mean of a measure with an interval, from independent flights or from independent replicates of flights. */
#include <math.h>

#include "rollcast/analysis.h"
#include "running.h"
#include "student.h"

struct running {
    int64_t n;
    double mean, squares;
};

static void add(struct running *running, double value)
{
    rc_running_add(&running->mean, &running->squares, (double)++running->n, value);
}

struct rc_mean rc_mean_interval(const double *values, int64_t n, int n_replicates, double confidence)
{
    struct running part[RC_MAX_REPLICATES] = {{0, 0.0, 0.0}};
    struct running whole = {0, 0.0, 0.0};
    struct rc_mean mean = {.n = 0, .mean = NAN, .low = NAN, .high = NAN, .standard_error = NAN};
    for (int64_t flight = 0; flight < n; flight++) {
        if (!isfinite(values[flight]))
            continue;
        mean.n++;
        if (n_replicates > 0)
            add(&part[flight % n_replicates], values[flight]);
        else
            add(&whole, values[flight]);
    }
    for (int replicate = 0; replicate < n_replicates; replicate++) {
        if (part[replicate].n > 0)
            add(&whole, part[replicate].mean);
    }
    if (whole.n < 1)
        return mean;
    mean.mean = whole.mean;
    if (whole.n < 2)
        return mean;
    mean.standard_error = sqrt(whole.squares / (double)(whole.n - 1) / (double)whole.n);
    const double freedom = fmin((double)(whole.n - 1), 1e6); /* beyond, it is the normal */
    const double half_width = rc_student_quantile(0.5 * (1.0 - confidence), freedom) * mean.standard_error;
    mean.low = mean.mean - half_width;
    mean.high = mean.mean + half_width;
    return mean;
}
