/* The table of quantities: every number of a campaign that may be uncertain, and where it lives in struct rc_design. */
#ifndef RC_QUANTITIES_H
#define RC_QUANTITIES_H

#include <stdbool.h>
#include <stddef.h>

#include "flight/design.h"
#include "platform/platform.h"

/* When a row applies; the others are not known to that campaign. */
enum rc_when {
    RC_WHEN_ALWAYS = 0,
    RC_WHEN_WIND_POWER_LAW,
    RC_WHEN_WIND_TABLE,
    RC_WHEN_ACTS_ON_RATE,
    RC_WHEN_ACTS_ON_ANGLE,
    RC_WHEN_GUSTS,
    RC_WHEN_DESCENT,
    RC_WHEN_BODY,
    RC_WHEN_WINDING,    /* stepper without a pull-out table */
    RC_WHEN_BATTERY,
    RC_WHEN_ENCODER,
    RC_WHEN_FORMULA,    /* in a campaign of a formula, where none of the others do */
    RC_WHEN_SHARED,     /* in either kind of campaign                              */
    RC_WHEN_DRIVES = 1 << 8  /* from here on: a bit per drive that has it          */
};

/* A row that one drive has, or two: `OF(stepper)`, `OF_BOTH(geared_sensorless, stepper)` in quantities.def. */
#define RC_WHEN_OF(drive) (RC_WHEN_DRIVES << RC_DRIVE_INDEX_##drive)
#define RC_WHEN_OF_BOTH(one, other) (RC_WHEN_OF(one) | RC_WHEN_OF(other))

enum rc_default_kind { RC_DEFAULT_NONE = 0, RC_DEFAULT_VALUE, RC_DEFAULT_TIMES };

/* What stands for an entry that the file does not give. */
struct rc_default {
    enum rc_default_kind kind;
    double value;  /* the number, in the row's unit, or the factor of RC_DEFAULT_TIMES */
    size_t offset; /* RC_DEFAULT_TIMES: of the field it follows, in struct rc_design   */
};

struct rc_quantity_row {
    const char *path; /* pattern, e.g. "fins[].misalignment_deg[]"  */
    const char *unit; /* e.g. "deg"; "1" for a plain number         */
    double to_si;     /* SI value = value * to_si                   */
    double low, high; /* allowed range, in the unit                 */
    struct rc_default fallback;
    size_t offset; /* of the field, of the first list members    */
    int when; /* enum rc_when, or drives */
    const char *meaning;
    bool is_whole; /* a whole number, of a distribution too; of a range 0 to 1 a switch */
};

/* How many rows the table has. */
int rc_quantities_count(void);

/* One row; borrowed. in index 0 .. count-1 */
const struct rc_quantity_row *rc_quantities_row(int index);

/* The row of that pattern, or NULL. */
const struct rc_quantity_row *rc_quantities_find(const char *pattern);

/* Its unit as it stands behind a number in a message: "" for a plain number. */
const char *rc_quantities_unit(const struct rc_quantity_row *row);

/* What a row that takes whole numbers wants, for messages: a switch, or a count. */
const char *rc_quantities_whole_wanted(const struct rc_quantity_row *row);

/* Has the row one entry per fin? (its path ends in []) */
bool rc_quantities_is_per_fin(const struct rc_quantity_row *row);

#endif
