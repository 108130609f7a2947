/* What another spread of one quantity would do to the odds, from flights that are there: each counts by how much more often the
 * other spread would draw its value. */
#ifndef RC_TIGHTEN_H
#define RC_TIGHTEN_H

#include <stdint.h>

#include "base/base.h"
#include "numeric/distribution.h"
#include "rollcast/analysis.h"

/* What is changed. Spreads shrink around the median; a tenth stands for none, of which it leaves a hundredth of the variance. */
enum rc_tighten_change { RC_TIGHTEN_HALF = 0, RC_TIGHTEN_TENTH, RC_TIGHTEN_UP, RC_TIGHTEN_DOWN, RC_N_TIGHTEN };

/* How a change moves a value: median + scale (value - median) + shift. */
struct rc_tighten_move {
    double scale, shift;   /* shift in the quantity's unit: half a standard deviation up or down */
};
struct rc_tighten_move rc_tighten_move(const struct rc_distribution *distribution, enum rc_tighten_change change);

/* Weights of one quantity's values: density after over density before, tabulated. */
struct rc_tighten_table;

/* Make it.
 * out  table  caller frees with rc_tighten_table_free; NULL with RC_OK where the distribution takes separate values only, whose
 *             spread cannot shrink
 * ends RC_NO_MEMORY
 * cost some 130 kB */
rc_status rc_tighten_table_create(struct rc_tighten_table **table, const struct rc_distribution *distribution,
                                  struct rc_error *err) RC_MUST_CHECK;

/* Release it. NULL is fine. */
void rc_tighten_table_free(struct rc_tighten_table *table);

/* Multiply weights by those of one quantity's values.
 * in   values   (n)
 * in/out weights  (n) */
void rc_tighten_weigh(const struct rc_tighten_table *table, enum rc_tighten_change change, const double *values, int n,
                      double *weights);

/* Sums of weighted flights. Fill with {.n_groups = replicates of the plan, 0 = independent flights}. */
struct rc_tighten_sums {
    int n_groups;
    double n, n_met;                     /* flights, and those that met */
    double weight, weight_met;           /* sums of weights */
    double square, square_met;           /* sums of squared weights */
    double greatest;                     /* weight */
    double group[RC_MAX_REPLICATES][4];  /* flights, met, weight, weight of met */
};

/* Add flights first .. first+n-1. */
void rc_tighten_add(struct rc_tighten_sums *sums, int64_t first, int n, const unsigned char *met, const double *weights);

/* The odds after a change. */
struct rc_tightened {
    double odds, low, high;                /* NAN where not supported                                              */
    double gain, gain_low, gain_high;      /* odds after less odds before, with its interval                       */
    double effective;                      /* flights that count: squared sum of the weights over sum of squares   */
    int is_supported;
    const char *why;                       /* what the flights lack; empty where they do not                       */
    int64_t more_flights;                  /* that would support it; 0 where supported, -1 = no number would       */
};

/* Work them out. Refused while fewer than RC_TIGHTEN_LEAST flights count, while one flight has a fiftieth of all weight, and
 * where the weights do not average to 1 (the flights then do not cover what the change would draw).
 * source self-normalised importance sampling, effective sample size of Kong 1992; interval from the linearised variance put as a
 *        number of flights into the exact binomial one: ours, coverage measured */
struct rc_tightened rc_tighten_odds(const struct rc_tighten_sums *sums, double confidence);
enum { RC_TIGHTEN_LEAST = 200 };

#endif
