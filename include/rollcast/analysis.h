/* From plain columns to answers. No files, no threads. */
#ifndef ROLLCAST_ANALYSIS_H
#define ROLLCAST_ANALYSIS_H

#include <stdint.h>

#include "rollcast/campaign.h"
#include "rollcast/status.h"

enum rc_verdict { RC_VERDICT_GO = 0, RC_VERDICT_NO_GO, RC_VERDICT_NOT_YET_KNOWN };

/* "GO", "NO-GO" or "NOT YET KNOWN". */
const char *rc_odds_verdict_text(enum rc_verdict verdict);

/* The verdict of one-sided bounds: GO where the lower one reaches the odds asked for, NO-GO where the upper one falls short.
 * in bound_low, bound_high  each at the confidence wanted; 0 and 1 where nothing is shown */
enum rc_verdict rc_odds_verdict(double bound_low, double bound_high, double odds);

/* Odds of one criterion. */
struct rc_odds {
    int64_t passed, flights;
    double estimate;                /* passed / flights; NAN without flights                                        */
    double interval_low, interval_high; /* two-sided interval at the criterion's confidence; exact from a count     */
    double bound_low, bound_high;   /* one-sided bounds, each at the confidence: what the verdict uses              */
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

/* Passes of a replicated plan, replicate by replicate: flight f belongs to replicate f % n. */
enum { RC_MAX_REPLICATES = 64 };
struct rc_replicates {
    int n;                                 /* replicates, 2 .. RC_MAX_REPLICATES                 */
    int64_t flights[RC_MAX_REPLICATES];    /* of each; they differ by one at most                */
    int64_t passed[RC_MAX_REPLICATES];
};

/* Odds from independent replicates, for plans whose flights are not independent of each other. Interval and bounds come from the
 * spread of the replicates' shares (Student t), clipped to 0 .. 1. While fewer than 100 flights have passed or fewer than 100
 * have failed, that spread is not yet trusted alone: they are then at least as wide as for as many independent flights.
 * source t over replicates: Owen 1997, SIAM J. Numer. Anal. 34:1884; the floor: ours, coverage measured (docs/coverage.md) */
struct rc_odds rc_odds_from_replicates(const struct rc_replicates *replicates, const struct rc_criterion *criterion);

/* A range of numbers. */
struct rc_range {
    double low, high;
};

/* Confidence sequence of a share: holds the truth at all numbers of flights at once with the confidence given, so that one may
 * look at any time and stop at will. For plain sampling.
 * in   passed, flights  0 <= passed <= flights; without flights the range is 0 .. 1
 * in   prior   both parameters of the mixing beta distribution, above 0; 1 is uniform
 * source Robbins 1970, Ann. Math. Stat. 41:1397; Howard, Ramdas, McAuliffe and Sekhon 2021, Ann. Stat. 49:1055 */
struct rc_range rc_sequence_interval(int64_t passed, int64_t flights, double confidence, double prior);

/* Verdict that may be read after every flight: a one-sided mixture either way, each at the criterion's confidence.
 * source as above; the mixture is uniform over the side of the odds asked for */
enum rc_verdict rc_sequence_verdict(int64_t passed, int64_t flights, const struct rc_criterion *criterion);

/* Flights at look 0 .. n_looks-1 of a run that is judged at doubling sizes, the last at n_flights or the next multiple beyond. */
int64_t rc_looks_flights(int64_t n_flights, int n_looks, int look);

/* The criterion a single one of n_looks looks is judged by: its risk is 1/n_looks of the whole, so that all looks together keep
 * the confidence. For any plan's odds. */
struct rc_criterion rc_looks_criterion(const struct rc_criterion *criterion, int n_looks);

/* Verdict at one of n_looks looks: exact one-sided bounds at (1 - confidence)/n_looks each, so that all looks together keep the
 * confidence. For plain sampling. */
enum rc_verdict rc_looks_verdict(int64_t passed, int64_t flights, const struct rc_criterion *criterion, int n_looks);

/* Odds under a stop rule. Under a plain plan they come from a confidence sequence, which holds at all numbers of flights at once;
 * bounds are one-sided mixtures, and the verdict is rc_sequence_verdict. Under a replicated plan the run looks at doubling sizes,
 * and the interval of any one look has its share of the risk, one more than it looks: a run may also end between two looks.
 * Without a rule: rc_odds_from_count or rc_odds_from_replicates.
 * in   counts  of all replicates; n is 1 for a plain plan
 * source of the sequence as rc_sequence_interval; of the looks as rc_looks_criterion */
struct rc_odds rc_stop_odds(const struct rc_replicates *counts, const struct rc_stop_rule *rule,
                            const struct rc_criterion *criterion);

/* Is the rule's width or verdict reached for all rows? To be asked at the numbers of flights that rc_stop_next_look tells. */
enum rc_stop_reason { RC_STOP_NONE = 0, RC_STOP_VERDICT, RC_STOP_WIDTH, RC_STOP_TIME };

/* in   counts, criteria  (n_rows) of each row of the answer
 * ends RC_STOP_NONE, RC_STOP_VERDICT or RC_STOP_WIDTH */
enum rc_stop_reason rc_stop_reached(const struct rc_stop_rule *rule, int n_rows, const struct rc_replicates *counts,
                                    const struct rc_criterion *criteria);

/* The first number of flights from `flights` on at which the rule looks; -1 where there is none.
 * in   n_replicates  of the plan, 0 or 1 for a plain one */
int64_t rc_stop_next_look(const struct rc_stop_rule *rule, int n_replicates, int64_t flights);

/* Looks of a run under a replicated plan. */
int rc_stop_look_count(const struct rc_stop_rule *rule);

/* Does the rule say anything? */
int rc_stop_is_set(const struct rc_stop_rule *rule);

/* A rule as the text that stores keep, and back: "width 20000e-6, verdict 1, seconds 60000e-3, of 10000 flights", whole numbers
 * in any locale; empty where nothing is set.
 * out  text  RC_STOP_TEXT bytes
 * ends of reading: 0 where the text is no rule */
enum { RC_STOP_TEXT = 160 };
void rc_stop_write(const struct rc_stop_rule *rule, char *text);
int rc_stop_read(struct rc_stop_rule *rule, const char *text);

/* "n flights with at most f failures show odds R with confidence C". Exact binomial.
 * Smallest n. in odds, confidence in (0, 1); failures >= 0. ends -1 beyond 1e12 */
int64_t rc_demonstration_flights(double odds, double confidence, int64_t failures);

/* Greatest f that n flights may have. ends -1 where even none is too few flights */
int64_t rc_demonstration_failures(double odds, double confidence, int64_t flights);

/* The odds that n flights with f failures show with a confidence: the exact lower bound. */
double rc_demonstration_odds(int64_t flights, int64_t failures, double confidence);

/* Chance that a design of true odds R passes a demonstration of n flights with at most f failures. */
double rc_demonstration_chance(double true_odds, int64_t flights, int64_t failures);

/* Order statistics that enclose a quantile whatever the distribution: the values of rank `lower` and `upper` (1 .. n; 0 = there
 * is none). For plain sampling.
 * source David and Nagaraja 2003, Order Statistics, ch. 7 */
struct rc_order {
    int64_t lower, upper;
    double coverage;       /* exact probability that they enclose it; 0 where there is none */
};

/* in   n >= 1; q, confidence in (0, 1) */
struct rc_order rc_order_interval(int64_t n, double q, double confidence);
struct rc_order rc_order_lower_bound(int64_t n, double q, double confidence);
struct rc_order rc_order_upper_bound(int64_t n, double q, double confidence);

/* Flights for a tolerance limit: with that confidence at least the share `coverage` lies beyond the `order`-th least or below the
 * `order`-th greatest value (sides 1), or between the two (sides 2). ends -1 beyond 1e12
 * source Wilks 1941, Ann. Math. Stat. 12:91 */
int64_t rc_order_tolerance_flights(double coverage, double confidence, int sides, int64_t order);

/* The greatest order whose tolerance limit n values give; 0 = too few for any. */
int64_t rc_order_tolerance_order(double coverage, double confidence, int sides, int64_t n);

/* Mean of a measure with a Student t interval over replicates, or over the flights where a plan has none. */
struct rc_mean {
    int64_t n;             /* finite values                                       */
    double mean;           /* of all of them; NAN without values                  */
    double low, high;      /* NAN with fewer than two replicates or flights       */
    double standard_error; /* from the spread of the replicates' means or the flights */
};

/* What the mean is made of, flight by flight. Zero-initialise all but n_replicates. */
struct rc_mean_tally {
    int n_replicates;      /* flight f belongs to replicate f % n_replicates; 0 = flights are independent; at most
                            * RC_MAX_REPLICATES */
    int64_t n;
    double mean, squares;  /* of all: running mean, squared deviations */
    int64_t part_n[RC_MAX_REPLICATES];
    double part_mean[RC_MAX_REPLICATES];
};

/* Take a flight's value in; one that is not finite is left out. */
void rc_mean_add(struct rc_mean_tally *tally, int64_t flight, double value);

/* The mean with its interval. in confidence above 0, below 1 */
struct rc_mean rc_mean_of(const struct rc_mean_tally *tally, double confidence);

/* The same of a column at once.
 * in   values  (n) by flight number; those that are not finite are left out
 * in   n_replicates  flight f belongs to replicate f % n_replicates; 0 = flights are independent; at most RC_MAX_REPLICATES */
struct rc_mean rc_mean_interval(const double *values, int64_t n, int n_replicates, double confidence);

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

/* Ellipse around landing points that holds a stated share of them. */
struct rc_ellipse {
    double share;                   /* of the points [1]                                                             */
    double scale;                   /* half axes over the standard deviations along them [1]; NAN with too few points */
    double scale_low, scale_high;   /* its interval; 0 and infinity where the points are too few to bound it         */
};
enum { RC_N_ELLIPSES = 3, RC_ELLIPSE_LEAST_POINTS = 8 };

/* How points scatter: centre and axes, and ellipses that hold 50, 90 and 99 % of them. NAN with fewer than
 * RC_ELLIPSE_LEAST_POINTS finite ones. */
struct rc_dispersion {
    int64_t n;                          /* finite points                                       */
    double centre_east, centre_north;   /* mean [m]                                            */
    double major_sd, minor_sd;          /* standard deviations along the axes [m]              */
    double azimuth;                     /* of the long axis, clockwise from north, 0 .. pi [rad] */
    struct rc_ellipse ellipse[RC_N_ELLIPSES];
};

/* Ellipses of the axes of the covariance, sized by the rank of the points' Mahalanobis distances: type-7 quantile, and order
 * statistics for the interval, whatever the distribution. The interval takes centre and axes as they are. They come from the same
 * points: of 1,000 normal scatters of 400 points the 95 % intervals held the true area in 958, 948 and 946 (test_ellipse). For
 * plain sampling; with replicated plans the intervals are indicative.
 * in/out east, north  (n) [m]; used up
 * in   confidence  of each scale's interval
 * cost sorts once
 * source Mahalanobis 1936; ranks as rc_order_interval */
void rc_ellipse_dispersion(double *east, double *north, int64_t n, double confidence, struct rc_dispersion *found);

/* Area of the ellipse of that scale [m2]. */
double rc_ellipse_area(const struct rc_dispersion *found, double scale);

#endif
