/* Values as they were measured: a column of a CSV file. Without smoothing one of them is drawn, all equally likely; with
 * smoothing each stands for every value within that distance, equally likely. The table: the number of values n, the values
 * in rising order and, with smoothing, 2n knots (each value less and plus the distance, in rising order), the probability
 * below each and that above each, both summed from their own end; between knots the probability is linear. */
#include <math.h>
#include <string.h>

#include "base/base.h"
#include "numeric/distribution.h"

enum { SMOOTHING, N = RC_MAX_PARAMETERS, FIRST };

extern const struct rc_distribution_kind rc_empirical_distribution;

static rc_status check(const double *p, struct rc_error *err)
{
    const rc_status status = rc_distribution_check_finite(&rc_empirical_distribution, p, err);
    if (status == RC_OK && p[SMOOTHING] < 0.0)
        return rc_error_fill(err, RC_BAD_INPUT, "smoothing", "got %.15g, wanted 0 (none) or a distance above it", p[SMOOTHING]);
    return status;
}

/* Fill knots and sums by walking both ends' lists at once. */
static void pack_knots(double *table)
{
    const int n = (int)table[N];
    const double half = table[SMOOTHING];
    const double *values = table + FIRST;
    double *knot = table + FIRST + n;
    double *below = knot + 2 * (size_t)n;
    double *above = below + 2 * (size_t)n;
    int n_begun = 0;
    int n_ended = 0;
    for (int index = 0; index < 2 * n; index++) {
        const bool begins = n_begun < n && values[n_begun] - half <= values[n_ended] + half;
        knot[index] = begins ? values[n_begun] - half : values[n_ended] + half;
        /* until the sums are made, `above` holds how many boxes cover the stretch behind the knot */
        n_begun += begins;
        n_ended += !begins;
        above[index] = n_begun - n_ended;
    }
    const double slope = 0.5 / (half * n);
    below[0] = 0.0;
    for (int index = 1; index < 2 * n; index++)
        below[index] = below[index - 1] + slope * above[index - 1] * (knot[index] - knot[index - 1]);
    double sum = 0.0;
    for (int index = 2 * n - 1; index >= 0; index--) {
        sum += index < 2 * n - 1 ? slope * above[index] * (knot[index + 1] - knot[index]) : 0.0;
        above[index] = sum;
    }
}

static rc_status pack(double *table, const struct rc_distribution_lists *lists, struct rc_error *err)
{
    const size_t n = (size_t)lists->n;
    table[N] = lists->n;
    memcpy(table + FIRST, lists->list[0], n * sizeof *table);
    const rc_status status = rc_distribution_sort(table + FIRST, NULL, lists->n, "values", err);
    if (status != RC_OK || table[SMOOTHING] == 0.0)
        return status;
    const double width = table[FIRST + n - 1] - table[FIRST];
    const bool is_small = table[SMOOTHING] < 1e-9 * (fabs(table[FIRST]) + fabs(table[FIRST + n - 1]));
    if (is_small || !isfinite(width + 4.0 * table[SMOOTHING]))
        return rc_error_fill(err, RC_BAD_INPUT, "smoothing", "got %.15g, too %s for values from %.6g to %.6g", table[SMOOTHING],
                             is_small ? "small" : "large", table[FIRST], table[FIRST + n - 1]);
    pack_knots(table);
    return RC_OK;
}

/* The stretch, by its lower knot, in which u or upper lies. */
static int stretch_of(const double *p, double u, double upper)
{
    const int n = (int)p[N];
    const double *below = p + FIRST + 3 * (size_t)n;
    const double *above = below + 2 * (size_t)n;
    int low = 0;
    int high = 2 * n - 2;
    while (low < high) {
        const int middle = (low + high) / 2;
        if (u <= upper ? below[middle + 1] >= u : above[middle + 1] <= upper)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

static double quantile(const double *p, double u, double upper)
{
    const int n = (int)p[N];
    if (p[SMOOTHING] == 0.0) {
        const double index = u <= upper ? ceil(u * n) - 1.0 : n - 1 - floor(upper * n);
        return p[FIRST + (int)fmin(fmax(index, 0.0), n - 1)];
    }
    const int stretch = stretch_of(p, u, upper);
    const double *knot = p + FIRST + n + stretch;
    const double *below = knot + 2 * (size_t)n;
    const double *above = below + 2 * (size_t)n;
    const double width = knot[1] - knot[0];
    if (u <= upper)
        return fmin(knot[0] + width * ((u - below[0]) / (below[1] - below[0])), knot[1]);
    return fmax(knot[1] - width * ((upper - above[1]) / (above[0] - above[1])), knot[0]);
}

static double cdf(const double *p, double x)
{
    const int n = (int)p[N];
    double sum = 0.0;
    for (int index = 0; index < n && p[FIRST + index] - p[SMOOTHING] <= x; index++) {
        const double share = p[SMOOTHING] > 0.0 ? 0.5 * (x - (p[FIRST + index] - p[SMOOTHING])) / p[SMOOTHING] : 1.0;
        sum += fmin(share, 1.0);
    }
    return sum / n;
}

static double mean(const double *p)
{
    double sum = 0.0;
    for (int index = 0; index < (int)p[N]; index++)
        sum += p[FIRST + index] - p[FIRST];
    return p[FIRST] + sum / p[N];
}

static double sd(const double *p)
{
    const double centre = mean(p);
    double sum = 0.0;
    for (int index = 0; index < (int)p[N]; index++)
        sum += (p[FIRST + index] - centre) * (p[FIRST + index] - centre);
    return sqrt(sum / p[N] + p[SMOOTHING] * p[SMOOTHING] / 3.0);
}

static void support(const double *p, double *low, double *high)
{
    *low = p[FIRST] - p[SMOOTHING];
    *high = p[FIRST + (int)p[N] - 1] + p[SMOOTHING];
}

const struct rc_distribution_kind rc_empirical_distribution = {
    .name = "empirical",
    .summary = "values as measured, from a column of a CSV file",
    .n_parameters = 1,
    .parameter = {{"smoothing", "each value stands for all within this distance; 0 draws the values themselves", false}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
    .n_lists = 1,
    .list = {{"values", "the column's numbers", false}},
    .is_column = true,
    .n_table_per_entry = 7,
    .pack = pack,
};
