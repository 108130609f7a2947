/* Odds from a replicated plan: the replicates are independent, the flights inside one are not, so the interval comes from the
 * spread of the replicates' shares. Counting is left to the caller. */
#include <math.h>

#include "rollcast/analysis.h"
#include "running.h"
#include "student.h"

/* With fewer passes or failures than this the shares of 16 replicates are too lumpy for a spread: all may be equal by luck. */
static const int64_t few = 100;

/* Mean of the replicates' shares and its standard error. A replicate of m flights tells its share in steps of 1/m only; a plan
 * that spreads the flights evenly enough lets all replicates count the same, and the steps are then all the error there is: their
 * variance, that of a uniform number, goes in too. Replicates without flights do not count. ends how many do */
static int spread_of(const struct rc_replicates *replicates, double *standard_error)
{
    int n = 0;
    double mean = 0.0;
    double squares = 0.0, steps = 0.0;
    for (int index = 0; index < replicates->n; index++) {
        if (replicates->flights[index] < 1)
            continue;
        const double share = (double)replicates->passed[index] / (double)replicates->flights[index];
        rc_running_add(&mean, &squares, ++n, share);
        steps += 1.0 / 12.0 / ((double)replicates->flights[index] * (double)replicates->flights[index]);
    }
    *standard_error = n > 1 ? sqrt(squares / (n - 1) / n + steps / n / n) : INFINITY;
    return n;
}

/* Flights until a t interval this wide, shrinking with the root of the flights, parts from the odds. */
static int64_t more_flights(const struct rc_odds *odds, double required, double half_width)
{
    const double distance = fabs(odds->estimate - required);
    const double wanted = ceil((double)odds->flights * (half_width / distance) * (half_width / distance));
    if (!(distance > 0.0) || !(wanted < 1e12))
        return -1;
    return (int64_t)fmax(wanted - (double)odds->flights, 1.0);
}

/* One interval at t standard errors, widened to the exact one of independent flights while there are few of either kind. */
static void interval_at(struct rc_range *range, const struct rc_odds *odds, double half_width, double confidence, int sides)
{
    *range = (struct rc_range){fmax(odds->estimate - half_width, 0.0), fmin(odds->estimate + half_width, 1.0)};
    if (odds->passed >= few && odds->flights - odds->passed >= few)
        return;
    struct rc_range exact = {0.0, 1.0};
    rc_odds_interval(odds->passed, odds->flights, confidence, sides, &exact.low, &exact.high);
    range->low = fmin(range->low, exact.low);
    range->high = fmax(range->high, exact.high);
}

struct rc_odds rc_odds_from_replicates(const struct rc_replicates *replicates, const struct rc_criterion *criterion)
{
    struct rc_odds odds = {.estimate = NAN, .interval_high = 1.0, .bound_high = 1.0, .verdict = RC_VERDICT_NOT_YET_KNOWN,
                           .more_flights = -1};
    for (int index = 0; index < replicates->n; index++) {
        odds.passed += replicates->passed[index];
        odds.flights += replicates->flights[index];
    }
    if (odds.flights < 1)
        return odds;
    odds.estimate = (double)odds.passed / (double)odds.flights;
    double standard_error = 0.0;
    const int n = spread_of(replicates, &standard_error);
    const double tail = 1.0 - criterion->confidence;
    const double two_sided = n > 1 ? rc_student_quantile(0.5 * tail, n - 1.0) * standard_error : 1.0;
    /* below a confidence of 1/2 a one-sided bound would lie beyond the estimate; the estimate is as far as it goes */
    const double one_sided = n > 1 ? rc_student_quantile(fmin(tail, 0.5), n - 1.0) * standard_error : 1.0;
    struct rc_range range;
    interval_at(&range, &odds, two_sided, criterion->confidence, 2);
    odds.interval_low = range.low;
    odds.interval_high = range.high;
    interval_at(&range, &odds, one_sided, criterion->confidence, 1);
    odds.bound_low = range.low;
    odds.bound_high = range.high;
    odds.verdict = rc_odds_verdict(odds.bound_low, odds.bound_high, criterion->odds);
    odds.more_flights = odds.verdict == RC_VERDICT_NOT_YET_KNOWN ? more_flights(&odds, criterion->odds, one_sided) : 0;
    return odds;
}
