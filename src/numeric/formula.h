/* Formulas over named inputs: a text becomes a short list of steps once and is then worked out for any inputs. Arithmetic only:
 * a formula cannot loop, call, name a file or take longer than its number of steps. */
#ifndef RC_FORMULA_H
#define RC_FORMULA_H

#include <stdbool.h>

#include "rollcast/status.h"

enum {
    RC_FORMULA_MAX_TEXT = 2048,  /* longest formula, with its NUL                    */
    RC_FORMULA_MAX_DEPTH = 48,   /* parentheses, signs and powers inside each other  */
    RC_FORMULA_MAX_HELD = 128    /* values held at once while it is worked out       */
};

/* A formula ready to be worked out. Constant. */
struct rc_formula;

/* Read a formula: numbers, inputs, pi, + - * / ^ (powers first, from the right; a sign binds weaker than a power), parentheses,
 * and abs, sqrt, exp, log, sin, cos, tan, asin, acos, atan, floor, min(a, b), max(a, b). Angles in radians.
 * out  formula  caller frees with rc_formula_free; untouched on error; keeps none of the texts
 * in   text     without control characters
 * in   names    (n_names) of the inputs, each one that rc_formula_is_name accepts
 * ends RC_BAD_INPUT with err->what: the place in the text, what stands there, what is wanted; RC_NO_MEMORY */
rc_status rc_formula_create(struct rc_formula **formula, const char *text, const char *const *names, int n_names,
                            struct rc_error *err) RC_MUST_CHECK;

/* Release it. NULL is fine. */
void rc_formula_free(struct rc_formula *formula);

/* Its value; not finite where it has none (a division by zero, the logarithm of a negative number).
 * in   inputs  (n_names) in the order of the names
 * cost one pass over the steps, no allocation */
double rc_formula_value(const struct rc_formula *formula, const double *inputs);

/* Can this be an input's name? Letters, digits and _, no digit first, and none of the words above. */
bool rc_formula_is_name(const char *text);

#endif
