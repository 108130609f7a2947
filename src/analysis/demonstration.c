/* Sizes of demonstrations: how many flights with how few failures show which odds. Exact binomial, in terms of the beta
 * distribution: the chance of at most f failures in n flights at odds R is I_R(n - f, f + 1). */
#include <math.h>

#include "numeric/special.h"
#include "rollcast/analysis.h"

static const int64_t most_flights = 1000000000000;

double rc_demonstration_chance(double true_odds, int64_t flights, int64_t failures)
{
    if (failures >= flights)
        return 1.0;
    if (failures < 0)
        return 0.0;
    return rc_special_beta_cdf((double)(flights - failures), (double)failures + 1.0, true_odds);
}

static int shows(double odds, double confidence, int64_t flights, int64_t failures)
{
    return flights > failures && rc_demonstration_chance(odds, flights, failures) <= 1.0 - confidence;
}

int64_t rc_demonstration_flights(double odds, double confidence, int64_t failures)
{
    int64_t too_few = failures;
    int64_t enough = failures + 1;
    while (!shows(odds, confidence, enough, failures)) {
        if (enough >= most_flights)
            return -1;
        too_few = enough;
        enough *= 2;
    }
    while (enough - too_few > 1) {
        const int64_t middle = too_few + (enough - too_few) / 2;
        if (shows(odds, confidence, middle, failures))
            enough = middle;
        else
            too_few = middle;
    }
    return enough;
}

int64_t rc_demonstration_failures(double odds, double confidence, int64_t flights)
{
    int64_t allowed = -1;
    int64_t too_many = flights;
    while (too_many - allowed > 1) {
        const int64_t middle = allowed + (too_many - allowed) / 2;
        if (shows(odds, confidence, flights, middle))
            allowed = middle;
        else
            too_many = middle;
    }
    return allowed;
}

double rc_demonstration_odds(int64_t flights, int64_t failures, double confidence)
{
    double low = 0.0;
    double high = 1.0;
    if (flights < 1 || failures >= flights)
        return 0.0;
    rc_odds_interval(flights - failures, flights, confidence, 1, &low, &high);
    return low;
}
