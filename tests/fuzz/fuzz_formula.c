/* Arbitrary bytes as a formula: what is refused says why and gives no formula, what is accepted can be worked out. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "numeric/formula.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const names[] = {"x", "y"};
    const double inputs[] = {0.5, -3.0};
    struct rc_formula *formula = NULL;
    struct rc_error err = {.what = ""};
    char *const text = malloc(size + 1);
    if (text == NULL)
        return 0;
    memcpy(text, size > 0 ? (const void *)data : "", size);
    text[size] = '\0';
    const rc_status status = rc_formula_create(&formula, text, names, 2, &err);
    if ((status == RC_OK) != (formula != NULL) || (status == RC_BAD_INPUT) != (err.what[0] != '\0'))
        abort();
    if (formula != NULL)
        (void)rc_formula_value(formula, inputs);
    rc_formula_free(formula);
    free(text);
    return 0;
}
