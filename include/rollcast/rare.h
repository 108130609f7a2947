/* Odds of rare outcomes, where plain flights would nearly all pass. */
#ifndef ROLLCAST_RARE_H
#define ROLLCAST_RARE_H

#include <stdint.h>

#include "rollcast/status.h"

/* What is asked: how likely is a margin of at most zero, for independent standard normal scores? */
struct rc_rare_problem {
    int n;       /* scores of one flight, at least 1 */
    void *user;
    /* Margins of many flights at once: failure is at or below 0.
     * in scores (n_flights x n); out margins (n_flights), finite */
    void (*margins)(void *user, const double *scores, int n_flights, double *margins);
};

struct rc_rare_options {
    uint64_t seed;
    int n_per_level;    /* flights of a level, a multiple of 10 from 100 on; 1000 is usual            */
    int n_repeats;      /* independent repeats, 8 to 64, whose spread is the error; 16 is usual       */
    int n_levels;       /* most levels: odds below 10^-n_levels are given up; 1 to 12                 */
    double confidence;  /* of the interval, 0 .. 1                                                    */
};

/* What came out. */
struct rc_rare {
    double odds;              /* of failure: mean of the repeats                                          */
    double low, high;         /* interval at the confidence, from the spread of the repeats              */
    double spread;            /* standard deviation of one repeat over the mean                           */
    int64_t flights;          /* flown in all                                                             */
    int is_supported;         /* 0: the run cannot support a claim, odds is NAN and `why` says why        */
    char why[160];            /* empty where it can                                                       */
};

/* Subset simulation: levels that each hold a tenth of the one before, reached by Markov chains of conditional draws.
 * out  rare  untouched on error
 * ends RC_OK, also where no claim is supported; RC_BAD_INPUT (options out of range), RC_NO_MEMORY
 * cost n_repeats n_per_level (1 + 0.9 per further level) flights
 * source Au and Beck 2001, Prob. Eng. Mech. 16:263; conditional draws Papaioannou et al. 2015, Prob. Eng. Mech. 41:89 */
rc_status rc_rare_subset(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                         struct rc_error *err) RC_MUST_CHECK;

#endif
