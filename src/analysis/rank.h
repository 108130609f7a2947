/* Which uncertain quantity matters most, from flights that are there: shares of variance, rank correlation, separation of the
 * flights that met a criterion from those that missed it. Columns come in chunks; memory does not grow with the flights. */
#ifndef RC_RANK_H
#define RC_RANK_H

#include <stdint.h>

#include "base/base.h"

enum {
    RC_RANK_SAMPLE = 65536, /* rows of the first chunk, at least, unless there are fewer in all: ranks are taken in them      */
    RC_RANK_DUMMIES = 40    /* quantities of pure chance that are ranked too: the yardstick of noise                          */
};

struct rc_rank_options {
    int n_quantities;
    int64_t n_flights;     /* in all                                                       */
    int n_replicates;      /* of the plan; 0 = the flights are independent                 */
    uint64_t seed;         /* of dummies and resamples; the same seed gives the same bits  */
    double confidence;     /* of the intervals, 0 .. 1                                     */
};

/* Rows first .. first+n-1 of the columns. */
struct rc_rank_chunk {
    int64_t first;
    int n;
    const double *const *quantity; /* (n_quantities) columns of (n)               */
    const double *outcome;         /* (n) what is ranked for; NAN = it has none   */
    const unsigned char *met;      /* (n) 1 where the flight met the criterion    */
};

/* A number with its interval. */
struct rc_estimate {
    double value, low, high;
};

/* What one quantity does to the outcome. */
struct rc_rank_row {
    struct rc_estimate share;       /* first-order index: share of the outcome's variance that goes when it is known [1]       */
    struct rc_estimate correlation; /* Spearman's rank correlation with the outcome [1]                                       */
    struct rc_estimate separation;  /* greatest distance of its distribution in flights that met from that in flights that missed,
                                     * above 0 where flights that met have the greater values [1]; its interval is put around
                                     * the distance freed of the excess that a greatest one has                              */
    int is_constant;                /* it never varied: nothing to rank                                                       */
    int is_noise;                   /* no figure stands out from those of quantities of pure chance                           */
};

/* What is ranked, as a whole. */
struct rc_rank_total {
    int64_t n, n_outcomes, n_met;   /* flights, flights with an outcome, flights that met */
    double mean, sd;                /* of the outcome; NAN without any                    */
};

struct rc_rank;

/* Begin.
 * out  rank  caller frees with rc_rank_free; untouched on error
 * ends RC_NO_MEMORY
 * cost about 270 kB for each quantity and dummy */
rc_status rc_rank_create(struct rc_rank **rank, const struct rc_rank_options *options, struct rc_error *err) RC_MUST_CHECK;

/* Release it. NULL is fine. */
void rc_rank_free(struct rc_rank *rank);

/* Take the next rows, in order. The first chunk holds RC_RANK_SAMPLE rows or all of them.
 * ends RC_NO_MEMORY */
rc_status rc_rank_add(struct rc_rank *rank, const struct rc_rank_chunk *chunk, struct rc_error *err) RC_MUST_CHECK;

/* What came in so far. */
struct rc_rank_total rc_rank_total(const struct rc_rank *rank);

/* Work out the rows. Intervals are estimate -/+ t standard errors, from 200 resamples of 32 groups of flights (of the replicates
 * where the plan has them).
 * out  row    (n_quantities)
 * out  dummy  greatest figures of the dummies
 * ends RC_NO_MEMORY
 * source shares: equal-count bins of the quantity's ranks, corrected for the bins' number; bins after Plischke, Borgonovo and
 *        Smith 2013, Eur. J. Oper. Res. 226:536; separation: Smirnov's distance, as Hornberger and Spear 1981 use it */
rc_status rc_rank_finish(const struct rc_rank *rank, struct rc_rank_row *row, struct rc_rank_row *dummy,
                         struct rc_error *err) RC_MUST_CHECK;

#endif
