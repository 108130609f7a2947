/* One column in a few numbers: median, central 90 %, mean, standard deviation, extremes. What the column means is left to
 * the caller. */
#include <math.h>

#include "rollcast/analysis.h"
#include "running.h"

static void swap(double *values, int64_t one, int64_t other)
{
    const double kept = values[one];
    values[one] = values[other];
    values[other] = kept;
}

/* Median of three, so that sorted columns, which are common, do not take the square of n steps. */
static double pivot_of(double *values, int64_t first, int64_t last)
{
    const int64_t middle = first + (last - first) / 2;
    if (values[middle] < values[first])
        swap(values, middle, first);
    if (values[last] < values[first])
        swap(values, last, first);
    if (values[last] < values[middle])
        swap(values, last, middle);
    return values[middle];
}

/* Reorder values[first..last] until the one of rank `rank` stands at its place, with nothing greater before it and nothing less
 * behind it. source Hoare 1961, algorithm 65 */
static double select_rank(double *values, int64_t first, int64_t last, int64_t rank)
{
    while (first < last) {
        const double pivot = pivot_of(values, first, last);
        int64_t up = first;
        int64_t down = last;
        while (up <= down) {
            while (values[up] < pivot)
                up++;
            while (values[down] > pivot)
                down--;
            if (up <= down)
                swap(values, up++, down--);
        }
        if (rank <= down)
            last = down;
        else if (rank >= up)
            first = up;
        else
            break;
    }
    return values[rank];
}

/* Type-7 quantile: between order statistics at (n - 1) q. in n >= 1 */
static double quantile(double *values, int64_t n, double q)
{
    const double position = (double)(n - 1) * q;
    const int64_t rank = (int64_t)floor(position);
    const double share = position - (double)rank;
    const double lower = select_rank(values, 0, n - 1, rank);
    if (share == 0.0 || rank + 1 >= n)
        return lower;
    double upper = values[rank + 1];
    for (int64_t index = rank + 2; index < n; index++)
        upper = fmin(upper, values[index]);
    return lower + share * (upper - lower);
}

/* Move the finite values to the front. ends how many there are */
static int64_t keep_finite(double *values, int64_t n)
{
    int64_t n_finite = 0;
    for (int64_t index = 0; index < n; index++) {
        if (isfinite(values[index]))
            swap(values, n_finite++, index);
    }
    return n_finite;
}

struct rc_spread rc_spread_of(double *values, int64_t n)
{
    struct rc_spread spread = {.median = NAN, .p05 = NAN, .p95 = NAN, .mean = NAN, .sd = NAN, .least = NAN, .greatest = NAN};
    spread.n = keep_finite(values, n);
    if (spread.n == 0)
        return spread;
    double mean = 0.0;
    double squares = 0.0;
    spread.least = values[0];
    spread.greatest = values[0];
    for (int64_t index = 0; index < spread.n; index++) {
        rc_running_add(&mean, &squares, (double)(index + 1), values[index]);
        spread.least = fmin(spread.least, values[index]);
        spread.greatest = fmax(spread.greatest, values[index]);
    }
    spread.mean = mean;
    spread.sd = spread.n > 1 ? sqrt(squares / (double)(spread.n - 1)) : NAN;
    spread.p05 = quantile(values, spread.n, 0.05);
    spread.median = quantile(values, spread.n, 0.50);
    spread.p95 = quantile(values, spread.n, 0.95);
    return spread;
}
