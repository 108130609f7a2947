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
        return output->out != NULL ? 0 : say_path_error(path, strerror(errno));
    }
    if (is_there && overwrite != 1) {
        rc_say_line("%s: the output exists and stays as it is; name another file%s", path,
                    overwrite == 0 ? " or give --overwrite" : "");
        return rc_status_exit_code(RC_EXISTS);
    }
    if ((size_t)snprintf(output->part, sizeof output->part, "%s.%ld.part", path, (long)getpid()) >= sizeof output->part) {
        output->part[0] = '\0';
        return say_path_error(path, "the name is too long");
    }
    const int descriptor = open(output->part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    output->out = descriptor >= 0 ? fdopen(descriptor, "w") : NULL;
    if (output->out == NULL) {
        const int code = say_path_error(path, strerror(errno));
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
        code = say_path_error(output->path, reason != 0 ? strerror(reason) : "writing failed");
    } else if (is_good && output->part[0] != '\0' && rename(output->part, output->path) != 0) {
        code = say_path_error(output->path, strerror(errno));
    } else if (is_good) {
        return 0;
    }
    if (output->part[0] != '\0') {
        unlink(output->part);
    }
    return code;
}

int rc_output_write(const char *path, const char *bytes, size_t n_bytes)
{
    struct rc_output output;
    const int code = rc_output_open(&output, path, -1);
    if (code != 0) {
        return code;
    }
    (void)fwrite(bytes, 1, n_bytes, output.out); /* the stream's error flag tells */
    return rc_output_close(&output, 1);
}

int rc_output_folder(const char *path)
{
    if (mkdir(path, 0777) == 0 || errno == EEXIST) {
        return 0;
    }
    rc_say_line("%s: the folder for the stores cannot be made: %s; name another one with -o", path, strerror(errno));
    return rc_status_exit_code(RC_IO);
}
