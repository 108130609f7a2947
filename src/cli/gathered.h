/* An answer gathered in memory: an error on the way then leaves no half of it anywhere. */
#ifndef RC_GATHERED_H
#define RC_GATHERED_H

#include <stdio.h>

#include "rollcast/status.h"

/* One answer. Zero it first. */
struct rc_gathered {
    FILE *out;         /* to write to                       */
    char *bytes;       /* (n_bytes) once it is closed       */
    size_t n_bytes;
};

/* Begin. ends 1, or 0 without memory, which rc_gathered_close will say */
int rc_gathered_open(struct rc_gathered *answer);

/* End, and say what went wrong, memory included.
 * in   status, err  how writing the answer ended
 * in   path         what it is about, NULL = no file
 * ends 0, or the exit code after saying why not */
int rc_gathered_close(struct rc_gathered *answer, rc_status status, const struct rc_error *err, const char *path);

/* Write it to standard output, as words or, with `is_data`, byte by byte. */
void rc_gathered_print(const struct rc_gathered *answer, int is_data);

/* Release it. */
void rc_gathered_free(struct rc_gathered *answer);

#endif
