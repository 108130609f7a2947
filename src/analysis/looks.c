/* Verdicts at a few looks whose number was settled before: exact bounds, each look with its share of the risk. */
#include "rollcast/analysis.h"

int64_t rc_looks_flights(int64_t n_flights, int n_looks, int look)
{
    const int64_t parts = INT64_C(1) << (n_looks - 1);
    const int64_t first = (n_flights + parts - 1) / parts;
    return first << look;
}

struct rc_criterion rc_looks_criterion(const struct rc_criterion *criterion, int n_looks)
{
    struct rc_criterion stricter = *criterion;
    stricter.confidence = 1.0 - (1.0 - criterion->confidence) / n_looks;
    return stricter;
}

enum rc_verdict rc_looks_verdict(int64_t passed, int64_t flights, const struct rc_criterion *criterion, int n_looks)
{
    const double confidence = rc_looks_criterion(criterion, n_looks).confidence;
    double low = 0.0;
    double high = 1.0;
    if (flights < 1)
        return RC_VERDICT_NOT_YET_KNOWN;
    rc_odds_interval(passed, flights, confidence, 1, &low, &high);
    return rc_odds_verdict(low, high, criterion->odds);
}
