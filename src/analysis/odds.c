/* Odds of a criterion from a count of flights: exact binomial interval, verdict, and how many more flights would settle it.
 * Counting is left to the caller. Symbols: k of n flights passed, R the odds asked for, C the confidence. */
#include <math.h>

#include "numeric/special.h"
#include "rollcast/analysis.h"

const char *rc_odds_verdict_text(enum rc_verdict verdict)
{
    switch (verdict) {
    case RC_VERDICT_GO:
        return "GO";
    case RC_VERDICT_NO_GO:
        return "NO-GO";
    case RC_VERDICT_NOT_YET_KNOWN:
        break;
    }
    return "NOT YET KNOWN";
}

enum rc_verdict rc_odds_verdict(double bound_low, double bound_high, double odds)
{
    if (bound_low >= odds)
        return RC_VERDICT_GO;
    return bound_high < odds ? RC_VERDICT_NO_GO : RC_VERDICT_NOT_YET_KNOWN;
}

void rc_odds_interval(int64_t passed, int64_t flights, double confidence, int sides, double *low, double *high)
{
    const double tail = (1.0 - confidence) / sides;
    const double k = (double)passed;
    const double n = (double)flights;
    *low = passed > 0 ? rc_special_beta_quantile(k, n - k + 1.0, tail) : 0.0;
    *high = passed < flights ? rc_special_beta_quantile(k + 1.0, n - k, 1.0 - tail) : 1.0;
}

/* Would n flights settle it if the share of passes stays what it is? The bound passes R just where the chance of such a
 * count at odds R falls to 1 - C, which costs one distribution function instead of an inversion; k need not be whole. */
static int is_settled(double share, double n, double required, double confidence)
{
    const double k = share * n;
    const double chance = share > required ? rc_special_beta_cdf(k, n - k + 1.0, required)
                                           : rc_special_beta_cdf(n - k, k + 1.0, 1.0 - required);
    return chance <= 1.0 - confidence;
}

/* Smallest n beyond `flights` that settles it, less `flights`; -1 where the estimate sits on the odds asked for, or nearly. */
static int64_t more_flights(double share, int64_t flights, double required, double confidence)
{
    const double most = 1e12;
    if (flights < 1 || share == required || required >= 1.0)
        return -1;
    double unsettled = (double)flights;
    double settled = 2.0 * unsettled;
    while (!is_settled(share, settled, required, confidence)) {
        if (settled >= most)
            return -1;
        unsettled = settled;
        settled *= 2.0;
    }
    while (settled - unsettled > 1.0) {
        const double middle = floor(0.5 * (unsettled + settled));
        if (is_settled(share, middle, required, confidence))
            settled = middle;
        else
            unsettled = middle;
    }
    return settled > most ? -1 : (int64_t)settled - flights;
}

struct rc_odds rc_odds_from_count(int64_t passed, int64_t flights, const struct rc_criterion *criterion)
{
    struct rc_odds odds = {.passed = passed,
                           .flights = flights,
                           .estimate = NAN,
                           .interval_high = 1.0,
                           .bound_high = 1.0,
                           .verdict = RC_VERDICT_NOT_YET_KNOWN,
                           .more_flights = -1};
    if (flights < 1)
        return odds;
    odds.estimate = (double)passed / (double)flights;
    rc_odds_interval(passed, flights, criterion->confidence, 2, &odds.interval_low, &odds.interval_high);
    rc_odds_interval(passed, flights, criterion->confidence, 1, &odds.bound_low, &odds.bound_high);
    odds.verdict = rc_odds_verdict(odds.bound_low, odds.bound_high, criterion->odds);
    odds.more_flights = odds.verdict == RC_VERDICT_NOT_YET_KNOWN
                            ? more_flights(odds.estimate, flights, criterion->odds, criterion->confidence)
                            : 0;
    return odds;
}

int rc_odds_is_met(const struct rc_criterion *criterion, double value, double end)
{
    return end == 0.0 && value >= criterion->at_least && value <= criterion->at_most; /* a NAN fails both comparisons */
}
