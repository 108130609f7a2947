/* Rising order and quantiles. What is sorted, and why, is the caller's. */
#include "sorted.h"

int rc_sorted_rising(const void *one, const void *other)
{
    const double a = *(const double *)one, b = *(const double *)other;
    return (a > b) - (a < b);
}

double rc_sorted_quantile(const double *value, int64_t n, double share)
{
    const double place = share * (double)(n - 1);
    const int64_t below = (int64_t)place;
    const int64_t above = below + 1 < n ? below + 1 : below;
    return value[below] + (place - (double)below) * (value[above] - value[below]);
}
