/* Writes a result to a new file. What is in it is left to the command. */
#include "output.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "say.h"

static int fail(const char *path, const char *why, rc_status status)
{
    rc_say_line("%s: %s", path, why);
    return rc_status_exit_code(status);
}

int rc_output_write(const char *path, const char *bytes, size_t n_bytes)
{
    const int descriptor = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (descriptor < 0) {
        return errno == EEXIST ? fail(path, "the output exists and stays as it is; name another file", RC_EXISTS)
                               : fail(path, strerror(errno), RC_IO);
    }
    FILE *out = fdopen(descriptor, "w");
    if (out == NULL) {
        (void)close(descriptor);
        (void)unlink(path);
        return fail(path, rc_status_text(RC_NO_MEMORY), RC_NO_MEMORY);
    }
    errno = 0;
    const int is_short = fwrite(bytes, 1, n_bytes, out) != n_bytes;
    const int is_unclosed = fclose(out) != 0;
    if (!is_short && !is_unclosed) {
        return 0;
    }
    const int reason = errno;
    (void)unlink(path);
    return fail(path, reason != 0 ? strerror(reason) : "writing failed", reason == ENOSPC ? RC_NO_SPACE : RC_IO);
}
