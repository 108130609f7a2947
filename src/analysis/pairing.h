/* Designs flown on the same flights: exact paired tests, intervals of differences of odds, a band over many designs. */
#ifndef RC_PAIRING_H
#define RC_PAIRING_H

#include <stdint.h>

#include "base/base.h"
#include "rollcast/analysis.h"

/* Flights of two designs, pair by pair. */
struct rc_pairs {
    int64_t both, only_first, only_second, neither;
};

/* Count them. in first, second (n) 1 where the flight met */
struct rc_pairs rc_pairing_count(const unsigned char *first, const unsigned char *second, int64_t n);

/* Chance of pairs at least this uneven, either way, were both designs equally good. Exact.
 * source McNemar 1947, Psychometrika 12:153; exact binomial form */
double rc_pairing_test(const struct rc_pairs *pairs);

/* Chance of the first being ahead by at least this much, were it not better. Exact, one-sided. */
double rc_pairing_test_better(const struct rc_pairs *pairs);

/* Odds of the first less odds of the second: score interval for paired shares.
 * source Tango 1998, Stat. Med. 17:891 */
struct rc_range rc_pairing_interval(const struct rc_pairs *pairs, double confidence);

/* Marks of designs flown on the same flights. */
struct rc_designs {
    int n;                        /* designs, at least 1                      */
    int64_t n_flights;            /* of each                                  */
    const unsigned char *met;     /* (n x n_flights) 1 where the flight met   */
};

/* A band that holds the true odds of all designs at once: exact intervals, each at a confidence so high that the greatest of n
 * normal deviates, correlated as the designs' flights are, stays inside with the confidence asked; never above the one that
  * Bonferroni takes.
 * out  band  (n)
 * in   seed  of the deviates
 * ends RC_NO_MEMORY
 * cost n^2 n_flights; 10,000 n^2 */
rc_status rc_pairing_band(struct rc_range *band, const struct rc_designs *designs, double confidence, uint64_t seed,
                          struct rc_error *err) RC_MUST_CHECK;

/* Which designs may be the best? One stays out where some other is better by the exact one-sided test at (1 - confidence)/(n -
 * 1); so the truly best is among them with the confidence.
 * out  may_be_best  (n) 1 or 0 */
void rc_pairing_best(int *may_be_best, const struct rc_designs *designs, double confidence);

#endif
