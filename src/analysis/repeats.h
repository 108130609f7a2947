/* What independent repeats of a rare-outcome run say together. */
#ifndef RC_REPEATS_H
#define RC_REPEATS_H

#include <stdbool.h>

#include "rollcast/rare.h"

/* Refuse options that are out of range. ends RC_OK, RC_BAD_INPUT */
rc_status rc_repeats_check(const struct rc_rare_problem *problem, const struct rc_rare_options *options, struct rc_error *err);

/* Said where a margin is NAN or infinite. */
extern const char rc_repeats_not_finite[];

/* Fly a block and look at its margins. ends false where one is not finite */
bool rc_repeats_fly(const struct rc_rare_problem *problem, const double *scores, int n_flights, double *margins);

/* An answer that says nothing yet. */
struct rc_rare rc_repeats_nothing(void);

/* Mean, interval, bounds and spread of the repeats' odds, or why they support no claim.
 * in/out rare        flights are set
 * in     odds        (options->n_repeats) */
void rc_repeats_summarise(struct rc_rare *rare, const double *odds, const struct rc_rare_options *options);

/* Mark that nothing can be claimed. in format printf form of the reason */
void rc_repeats_refuse(struct rc_rare *rare, const char *format, ...) RC_PRINTF(2, 3);

#endif
