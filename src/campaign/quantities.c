/* The table of quantities as data. Reading values by it is left to values.c. */
#include "quantities.h"

#include <string.h>

#define RC_DEG 0.017453292519943295 /* pi / 180 */

#define REQUIRED                                                                                                                 \
    {                                                                                                                            \
        RC_DEFAULT_NONE, 0, 0                                                                                                    \
    }
#define VALUE(x)                                                                                                                 \
    {                                                                                                                            \
        RC_DEFAULT_VALUE, x, 0                                                                                                   \
    }
#define TIMES(field, factor)                                                                                                     \
    {                                                                                                                            \
        RC_DEFAULT_TIMES, factor, offsetof(struct rc_design, field)                                                              \
    }

static const struct rc_quantity_row rows[] = {
#define RC_QUANTITY(path, unit, to_si, low, high, fallback, field, when, meaning)                                                \
    {path, unit, to_si, low, high, fallback, offsetof(struct rc_design, field), RC_WHEN_##when, meaning, false},
#define RC_COUNT(path, low, high, fallback, field, when, meaning)                                                                \
    {path, "1", 1, low, high, fallback, offsetof(struct rc_design, field), RC_WHEN_##when, meaning, true},
#define RC_SWITCH(path, fallback, field, when, meaning)                                                                          \
    {path, "1", 1, 0, 1, fallback, offsetof(struct rc_design, field), RC_WHEN_##when, meaning, true},
#include "quantities.def"
#undef RC_QUANTITY
#undef RC_COUNT
#undef RC_SWITCH
};

int rc_quantities_count(void)
{
    return (int)(sizeof rows / sizeof rows[0]);
}

const struct rc_quantity_row *rc_quantities_row(int index)
{
    return &rows[index];
}

const struct rc_quantity_row *rc_quantities_find(const char *pattern)
{
    for (int index = 0; index < rc_quantities_count(); index++) {
        if (strcmp(rows[index].path, pattern) == 0)
            return &rows[index];
    }
    return NULL;
}

const char *rc_quantities_unit(const struct rc_quantity_row *row)
{
    return strcmp(row->unit, "1") == 0 ? "" : row->unit;
}

const char *rc_quantities_whole_wanted(const struct rc_quantity_row *row)
{
    return row->high > 1 ? "whole numbers, of a distribution such as {\"distribution\": \"discrete\", \"values\": [12, 14], "
                           "\"weights\": [0.5, 0.5]}"
                         : "0, 1, or odds of 1 as {\"distribution\": \"chance\", \"odds\": 0.98}";
}

bool rc_quantities_is_per_fin(const struct rc_quantity_row *row)
{
    const size_t n = strlen(row->path);
    return n > 2 && strcmp(row->path + n - 2, "[]") == 0;
}
