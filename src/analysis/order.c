/* Quantiles and tolerance limits by rank: whatever the distribution, the number of values below its q-quantile is binomial.
 * Symbols: n values, P(k) the chance that at most k of them lie below the quantile. */
#include <math.h>

#include "numeric/special.h"
#include "rollcast/analysis.h"

/* P(k) = I_(1-q)(n - k, k + 1) */
static double at_most(int64_t n, double q, int64_t k)
{
    if (k < 0)
        return 0.0;
    if (k >= n)
        return 1.0;
    return rc_special_beta_upper((double)k + 1.0, (double)(n - k), q);
}

/* 1 - P(k - 1), not by subtraction */
static double at_least(int64_t n, double q, int64_t k)
{
    if (k <= 0)
        return 1.0;
    if (k > n)
        return 0.0;
    return rc_special_beta_cdf((double)k, (double)(n - k) + 1.0, q);
}

/* Largest rank l with P(l - 1) <= risk; 0 = none. */
static int64_t lower_rank(int64_t n, double q, double risk)
{
    int64_t good = 0;
    int64_t bad = n + 1;
    while (bad - good > 1) {
        const int64_t middle = good + (bad - good) / 2;
        if (at_most(n, q, middle - 1) <= risk)
            good = middle;
        else
            bad = middle;
    }
    return good;
}

/* Smallest rank u with 1 - P(u - 1) <= risk; 0 = none. */
static int64_t upper_rank(int64_t n, double q, double risk)
{
    int64_t bad = 0;
    int64_t good = n + 1;
    while (good - bad > 1) {
        const int64_t middle = bad + (good - bad) / 2;
        if (at_least(n, q, middle) <= risk)
            good = middle;
        else
            bad = middle;
    }
    return good <= n ? good : 0;
}

struct rc_order rc_order_interval(int64_t n, double q, double confidence)
{
    const double risk = 0.5 * (1.0 - confidence);
    struct rc_order order = {.lower = lower_rank(n, q, risk), .upper = upper_rank(n, q, risk)};
    if (order.lower > 0 && order.upper > 0)
        order.coverage = 1.0 - at_most(n, q, order.lower - 1) - at_least(n, q, order.upper);
    return order;
}

struct rc_order rc_order_lower_bound(int64_t n, double q, double confidence)
{
    struct rc_order order = {.lower = lower_rank(n, q, 1.0 - confidence)};
    if (order.lower > 0)
        order.coverage = 1.0 - at_most(n, q, order.lower - 1);
    return order;
}

struct rc_order rc_order_upper_bound(int64_t n, double q, double confidence)
{
    struct rc_order order = {.upper = upper_rank(n, q, 1.0 - confidence)};
    if (order.upper > 0)
        order.coverage = 1.0 - at_least(n, q, order.upper);
    return order;
}

/* A tolerance limit of order r leaves out r - 1 values at each side: the same count as failures of a demonstration. */
int64_t rc_order_tolerance_flights(double coverage, double confidence, int sides, int64_t order)
{
    return rc_demonstration_flights(coverage, confidence, sides * order - 1);
}

int64_t rc_order_tolerance_order(double coverage, double confidence, int sides, int64_t n)
{
    return (rc_demonstration_failures(coverage, confidence, n) + 1) / sides;
}
