/* Names of inputs and the formula over them. Their values are quantities and read with all others; the language is numeric's. */
#include "inputs.h"

#include <math.h>
#include <string.h>

static bool check_name(const struct rc_reader *reader, const struct rc_settings *settings, int index)
{
    const char *name = settings->inputs[index].name;
    char path[RC_MAX_PATH_TEXT];
    (void)snprintf(path, sizeof path, "inputs[%d].name", index);
    if (!rc_formula_is_name(name)) {
        rc_read_report(reader, path, NULL, "got \"%.31s\", wanted letters, digits and _, no digit first, and no function's name",
                       name);
        return false;
    }
    for (int other = 0; other < index; other++) {
        if (strcmp(settings->inputs[other].name, name) == 0) {
            rc_read_report(reader, path, NULL, "the name \"%.31s\" is that of input %d too; choose another", name, other);
            return false;
        }
    }
    return true;
}

rc_status rc_inputs_read(struct rc_formula **formula, const struct rc_reader *reader, const struct rc_settings *settings,
                         const struct rc_values *values)
{
    const char *name[RC_MAX_INPUTS];
    struct rc_formula *made = NULL;
    struct rc_error err = {.status = RC_OK};
    bool is_good = true;
    for (int index = 0; index < settings->n_inputs; index++) {
        name[index] = settings->inputs[index].name;
        is_good = check_name(reader, settings, index) && is_good;
    }
    if (!is_good)
        return RC_OK;
    const rc_status status = rc_formula_create(&made, settings->formula, name, settings->n_inputs, &err);
    if (status == RC_BAD_INPUT)
        rc_read_report(reader, "formula", NULL, "%s", err.what);
    if (status != RC_OK)
        return status == RC_BAD_INPUT ? RC_OK : status;
    if (!isfinite(rc_formula_value(made, values->base.formula.input)))
        rc_read_warn(reader, "formula", "has no finite value where every input is at its middle");
    if (values->sampling.n == 0)
        rc_read_warn(reader, "inputs", "nothing is uncertain: all results will be the same");
    *formula = made;
    return RC_OK;
}
