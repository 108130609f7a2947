/* From plain columns to answers. No files, no threads. */
#ifndef ROLLCAST_ANALYSIS_H
#define ROLLCAST_ANALYSIS_H

#include <stdint.h>

#include "rollcast/campaign.h"
#include "rollcast/status.h"

enum rc_verdict { RC_VERDICT_GO = 0, RC_VERDICT_NO_GO, RC_VERDICT_NOT_YET_KNOWN };

/* "GO", "NO-GO" or "NOT YET KNOWN". */
const char *rc_odds_verdict_text(enum rc_verdict verdict);

/* Odds of one criterion. */
struct rc_odds {
    int64_t passed, flights;
    double estimate;                /* passed / flights; NAN without flights                                        */
    double interval_low, interval_high; /* exact two-sided interval (Clopper-Pearson) at the criterion's confidence */
    double bound_low, bound_high;   /* exact one-sided bounds, each at the confidence: what the verdict uses        */
    enum rc_verdict verdict;
    int64_t more_flights;           /* expected to settle a NOT YET KNOWN if the estimate holds; 0 otherwise, -1 = beyond 1e12 */
};

/* Exact interval of a binomial share. source Clopper and Pearson 1934, Biometrika 26:404
 * in   passed, flights  0 <= passed <= flights, flights >= 1
 * in   confidence  0 < c < 1; sides 1 gives each bound at c on its own, 2 gives an interval
 * out  low, high */
void rc_odds_interval(int64_t passed, int64_t flights, double confidence, int sides, double *low, double *high);

/* Odds from a count: estimate, interval, bounds and verdict against the criterion's odds and confidence. */
struct rc_odds rc_odds_from_count(int64_t passed, int64_t flights, const struct rc_criterion *criterion);

/* Does a value meet a criterion? A NAN, or a flight whose end is not 0 (apogee), does not. */
int rc_odds_is_met(const struct rc_criterion *criterion, double value, double end);

/* Median and central 90 % of a measure. */
struct rc_spread {
    int64_t n;              /* finite values                               */
    double median;          /* type-7 quantiles; NAN without values        */
    double p05, p95;
    double mean, sd;        /* Welford                                     */
    double least, greatest;
};

/* Summarise one column.
 * in/out values  (n) reordered; non-finite ones are left out
 * source quantiles Hyndman and Fan 1996, type 7; mean and sd Welford 1962 */
struct rc_spread rc_spread_of(double *values, int64_t n);

#endif
