/* Subset simulation, repeat by repeat: for its own mode and for finding where importance sampling has to look. */
#ifndef RC_SUBSET_H
#define RC_SUBSET_H

#include <stdbool.h>

#include "numeric/numeric.h"
#include "rollcast/rare.h"

/* Most levels; flights of a chain: a level holds about one in ten of the one before. */
enum { RC_SUBSET_MOST_LEVELS = 12, RC_SUBSET_CHAIN = 10 };

/* One run's memory, and the flights of the level it is in. */
struct rc_subset {
    const struct rc_rare_problem *problem;
    const struct rc_rare_options *options;
    int n_flights;                            /* of a level                                               */
    int n_thresholds;                         /* levels on the way to failure                             */
    double threshold[RC_SUBSET_MOST_LEVELS];  /* (n_thresholds) margins that lead to the next level       */
    double *scores, *next;                    /* (n_flights x n)                                          */
    double *margins, *proposed;               /* (n_flights)                                              */
    double *sorted;                           /* (n_flights)                                              */
    int *survivor;                            /* (n_flights)                                              */
    struct rc_pcg pcg;
    int64_t flown;
    const char *why;                          /* the reason, where something cannot be told               */
};

/* Take memory.
 * in   options  in range (rc_repeats_check)
 * out  subset   ends with rc_subset_end, also on error
 * ends RC_NO_MEMORY */
rc_status rc_subset_begin(struct rc_subset *subset, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                          struct rc_error *err) RC_MUST_CHECK;

/* Release it. */
void rc_subset_end(struct rc_subset *subset);

/* Fly a pilot that settles the thresholds and is no part of any estimate: with thresholds that do not depend on their own flights
 * the repeats are free of bias. ends false where failure cannot be reached, or is reached without a level on the way and so is
 * not rare: `why` */
bool rc_subset_pilot(struct rc_subset *subset) RC_MUST_CHECK;

/* Fly one repeat. Its flights of the last level stay in `scores` and `margins`; those at or below 0 are failures.
 * in   index  0 .. n_repeats-1
 * ends the odds of failure; NAN where it cannot tell: `why`
 * cost n_flights (1 + 0.9 n_thresholds) flights */
double rc_subset_repeat(struct rc_subset *subset, int index);

#endif
