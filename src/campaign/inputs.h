/* A campaign of a formula in place of a vehicle: the names of its inputs, and the formula over them. */
#ifndef RC_INPUTS_H
#define RC_INPUTS_H

#include "read.h"
#include "values.h"

/* Make the formula of the settings. Reports names that cannot be or stand twice and what is wrong in the formula, and warns
 * where the middle of the inputs has no value. Only to be called when every single entry is good.
 * out  formula  caller frees with rc_formula_free; untouched where something was reported
 * ends RC_NO_MEMORY; RC_OK also when issues were found */
rc_status rc_inputs_read(struct rc_formula **formula, const struct rc_reader *reader, const struct rc_settings *settings,
                         const struct rc_values *values) RC_MUST_CHECK;

#endif
