/* A result that goes to a file of its own, all at once. */
#ifndef RC_OUTPUT_H
#define RC_OUTPUT_H

#include <stddef.h>

/* Write a new file; one that exists stays as it is. A file that cannot be written in full is taken away again.
 * ends 0, or the exit code after saying what failed */
int rc_output_write(const char *path, const char *bytes, size_t n_bytes);

#endif
