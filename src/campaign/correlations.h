/* The list "correlations" of a campaign: which uncertain quantities vary together. */
#ifndef RC_CORRELATIONS_H
#define RC_CORRELATIONS_H

#include "read.h"
#include "sampling/sampling.h"
#include "values.h"

/* Make the copula of the pairs in the settings. Wrong pairs are reported.
 * out  copula  caller frees with rc_copula_free; untouched where there are no pairs or some are wrong
 * ends RC_NO_MEMORY, RC_OK also when issues were found */
rc_status rc_correlations_make(struct rc_copula **copula, const struct rc_reader *reader, const struct rc_settings *settings,
                               const struct rc_values *values) RC_MUST_CHECK;

#endif
