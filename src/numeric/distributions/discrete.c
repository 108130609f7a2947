/* A few values with weights. The table: the number of values, the values in rising order, for each the probability of at most
 * it, and for each the probability of more than it, both summed from their own end. */
#include <math.h>
#include <string.h>

#include "base/base.h"
#include "numeric/distribution.h"

enum { N = RC_MAX_PARAMETERS, FIRST };

static rc_status check(const double *p, struct rc_error *err)
{
    (void)p;
    (void)err;
    return RC_OK;
}

static rc_status pack(double *table, const struct rc_distribution_lists *lists, struct rc_error *err)
{
    const int n = lists->n;
    double *values = table + FIRST;
    double *at_most = values + n; /* the weights first */
    double *more = at_most + n;
    table[N] = n;
    memcpy(values, lists->list[0], (size_t)n * sizeof *values);
    memcpy(at_most, lists->list[1], (size_t)n * sizeof *at_most);
    double sum = 0.0;
    for (int index = 0; index < n; index++) {
        if (!(at_most[index] >= 0.0 && at_most[index] <= 1.0))
            return rc_error_fill(err, RC_BAD_INPUT, "weights", "entry %d is %.15g, wanted a number from 0 to 1", index + 1,
                                 at_most[index]);
        sum += at_most[index];
    }
    if (!(fabs(sum - 1.0) <= 1e-9))
        return rc_error_fill(err, RC_BAD_INPUT, "weights", "the %d weights sum to %.12g, wanted 1; divide each by their sum", n,
                             sum);
    const rc_status status = rc_distribution_sort(values, at_most, n, "values", err);
    if (status != RC_OK)
        return status;
    double above = 0.0;
    for (int index = n - 1; index >= 0; index--) {
        more[index] = above / sum;
        above += at_most[index];
    }
    double below = 0.0;
    for (int index = 0; index < n; index++) {
        below += at_most[index];
        at_most[index] = below / sum;
    }
    return RC_OK;
}

/* The first value with at least u at or below it: asked for through the smaller tail. */
static double quantile(const double *p, double u, double upper)
{
    const int n = (int)p[N];
    const double *at_most = p + FIRST + n;
    const double *more = at_most + n;
    int low = 0;
    int high = n - 1;
    while (low < high) {
        const int middle = (low + high) / 2;
        if (u <= upper ? at_most[middle] >= u : more[middle] <= upper)
            high = middle;
        else
            low = middle + 1;
    }
    return p[FIRST + low];
}

static double cdf(const double *p, double x)
{
    const int n = (int)p[N];
    double sum = 0.0;
    for (int index = 0; index < n && p[FIRST + index] <= x; index++)
        sum = index == n - 1 ? 1.0 : p[FIRST + n + index];
    return sum;
}

/* Weight of one value, from whichever sums are smaller. */
static double weight(const double *p, int index)
{
    const int n = (int)p[N];
    const double *at_most = p + FIRST + n;
    const double *more = at_most + n;
    if (at_most[index] <= 0.5)
        return index > 0 ? at_most[index] - at_most[index - 1] : at_most[index];
    return index > 0 ? more[index - 1] - more[index] : 1.0 - more[index];
}

static double mean(const double *p)
{
    double sum = 0.0;
    for (int index = 0; index < (int)p[N]; index++)
        sum += weight(p, index) * (p[FIRST + index] - p[FIRST]);
    return p[FIRST] + sum;
}

static double sd(const double *p)
{
    const double centre = mean(p);
    double sum = 0.0;
    for (int index = 0; index < (int)p[N]; index++)
        sum += weight(p, index) * (p[FIRST + index] - centre) * (p[FIRST + index] - centre);
    return sqrt(sum);
}

static void support(const double *p, double *low, double *high)
{
    *low = p[FIRST];
    *high = p[FIRST + (int)p[N] - 1];
}

const struct rc_distribution_kind rc_discrete_distribution = {
    .name = "discrete",
    .summary = "one of a few values, by weight",
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
    .n_lists = 2,
    .list = {{"values", "list of the values", false},
             {"weights", "list of their probabilities, in the same order; they sum to 1", true}},
    .n_table_per_entry = 3,
    .pack = pack,
};
