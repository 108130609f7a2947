/* Texts and exit codes of the status table, which is status.def. Messages about one event are in error.c. */
#include "rollcast/status.h"

#include <stddef.h>

enum row {
#define RC_STATUS(name, exit_code, text) ROW_##name,
#include "status.def"
#undef RC_STATUS
    N_ROWS
};

/* The public enumeration is written out for its readers; the table must list the same names in the same order. */
#define RC_STATUS(name, exit_code, text) _Static_assert((int)ROW_##name == (int)RC_##name, "status.def and rc_status differ");
#include "status.def"
#undef RC_STATUS
_Static_assert((int)N_ROWS == (int)RC_N_STATUS, "status.def and rc_status differ in length");

struct status_row {
    const char *text;
    int exit_code;
};

static const struct status_row rows[N_ROWS] = {
#define RC_STATUS(name, exit_code, text) {text, exit_code},
#include "status.def"
#undef RC_STATUS
};

static const struct status_row *find(rc_status status)
{
    const int index = (int)status;
    return index >= 0 && index < N_ROWS ? &rows[index] : NULL;
}

const char *rc_status_text(rc_status status)
{
    const struct status_row *row = find(status);
    return row ? row->text : "unknown status";
}

int rc_status_exit_code(rc_status status)
{
    const struct status_row *row = find(status);
    return row ? row->exit_code : 70;
}
