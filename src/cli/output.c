/* Files that answers go to. What is written is left to the commands. */
#include "output.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "rollcast/rollcast.h"
#include "say.h"

static int say_path_error(const char *path, const char *what)
{
    rc_say_line("%s: %s", path, what);
    return rc_status_exit_code(RC_IO);
}

/* Why it cannot be written, by the system's error number. */
static int say_unwritable(const char *path, int reason)
{
    const int is_room = reason == ENOSPC || reason == EDQUOT || reason == EFBIG;
    rc_say_line("%s: the output cannot be written: %s; %s", path, reason != 0 ? strerror(reason) : "writing failed",
                is_room ? "make room, or name a file elsewhere" : "name a file in a folder that exists and may be written to");
    return rc_status_exit_code(RC_IO);
}

int rc_output_open(struct rc_output *output, const char *path, int overwrite)
{
    struct stat facts;
    *output = (struct rc_output){.path = path};

    if (strcmp(path, "-") == 0) {
        output->out = stdout;
        output->is_standard = 1;
        return 0;
    }
    const int is_there = stat(path, &facts) == 0;
    if (is_there && !S_ISREG(facts.st_mode)) { /* a device or a pipe: nothing to overwrite */
        if (S_ISDIR(facts.st_mode)) {
            return say_path_error(path, "is a folder; name a file");
        }
        output->out = fopen(path, "w");
        return output->out != NULL ? 0 : say_unwritable(path, errno);
    }
    if (is_there && overwrite != 1) {
        rc_say_line("%s: the output exists and stays as it is; name another file%s", path,
                    overwrite == 0 ? " or give --overwrite" : "");
        return rc_status_exit_code(RC_EXISTS);
    }
    if ((size_t)snprintf(output->part, sizeof output->part, "%s.%ld.part", path, (long)getpid()) >= sizeof output->part) {
        output->part[0] = '\0';
        return say_path_error(path, "the name of the output is too long; name a file with a shorter path");
    }
    const int descriptor = open(output->part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    output->out = descriptor >= 0 ? fdopen(descriptor, "w") : NULL;
    if (output->out == NULL) {
        const int code = say_unwritable(path, errno);
        output->part[0] = '\0';
        return code;
    }
    return 0;
}

int rc_output_close(struct rc_output *output, int is_good)
{
    if (output->is_standard) {
        return 0;
    }
    errno = 0;
    const int is_bad = ferror(output->out) != 0;
    const int is_unclosed = fclose(output->out) != 0;
    const int reason = errno;
    output->out = NULL;

    int code = 0;
    if (is_good && (is_bad || is_unclosed)) {
        code = say_unwritable(output->path, reason);
    } else if (is_good && output->part[0] != '\0' && rename(output->part, output->path) != 0) {
        code = say_unwritable(output->path, errno);
    } else if (is_good) {
        return 0;
    }
    if (output->part[0] != '\0') {
        unlink(output->part);
    }
    return code;
}

int rc_output_folder(const char *path, int *is_new)
{
    *is_new = mkdir(path, 0777) == 0;
    if (*is_new || errno == EEXIST) {
        return 0;
    }
    rc_say_line("%s: the folder for the stores cannot be made: %s; name another one with -o", path, strerror(errno));
    return rc_status_exit_code(RC_IO);
}

void rc_output_drop_folder(const char *path, int is_new)
{
    if (is_new) {
        (void)rmdir(path); /* refused where it holds something */
    }
}
