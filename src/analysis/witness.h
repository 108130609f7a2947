/* Do the repeats that led importance sampling bear out what it claims? */
#ifndef RC_WITNESS_H
#define RC_WITNESS_H

#include "rollcast/rare.h"

/* What a run of importance sampling has shown. */
struct rc_witness {
    const double *odds;       /* (n_repeats) of its own repeats                                                      */
    const double *led;        /* (n_repeats) of the repeats of subset simulation that led it                         */
    double effective;         /* failing flights that its weights amount to, (sum w)^2 / sum w^2                     */
    double missed;            /* 0 .. 1, share of the failures that led it where its mixture hardly reaches          */
};

/* Refuse the claim where it is not borne out; else widen its upper side by what the mixture misses.
 * in/out found    from rc_repeats_summarise of `odds`, supported
 * in     options  the confidence is that of the claim
 * source ours; coverage measured, docs/coverage.md */
void rc_witness_judge(struct rc_rare *found, const struct rc_witness *witness, const struct rc_rare_options *options);

#endif
