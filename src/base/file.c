/* Whole files: reading one into memory, and making a new one durable. What the bytes mean is left to the caller. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base.h"

static rc_status write_status(int code)
{
    return code == ENOSPC || code == EDQUOT ? RC_NO_SPACE : RC_IO;
}

/* read() until n bytes, the end of the file or an error. ends bytes read, or -1 */
static ssize_t read_fully(int file, char *bytes, size_t n)
{
    size_t n_read = 0;
    while (n_read < n) {
        const ssize_t got = read(file, bytes + n_read, n - n_read);
        if (got == 0)
            break;
        if (got > 0)
            n_read += (size_t)got;
        else if (errno != EINTR)
            return -1;
    }
    return (ssize_t)n_read;
}

/* A named pipe would make us wait for a writer that may never come, a device for an end it may not have. */
static rc_status expect_regular(int file, const char *place, struct rc_error *err)
{
    struct stat facts;
    if (fstat(file, &facts) != 0 || S_ISREG(facts.st_mode) || S_ISDIR(facts.st_mode))
        return RC_OK; /* first_size says what is wrong with the others */
    return rc_error_fill(err, RC_BAD_INPUT, place, "is not a regular file; use - for standard input");
}

/* Refuse what makes no sense, and say how much memory to start with. */
static rc_status first_size(size_t *size, int file, const char *place, size_t n_max, struct rc_error *err)
{
    struct stat facts;
    if (fstat(file, &facts) != 0)
        return rc_error_fill(err, RC_NO_FILE, place, "cannot be read: %s", strerror(errno));
    if (S_ISDIR(facts.st_mode))
        return rc_error_fill(err, RC_BAD_INPUT, place, "is a directory, wanted a file; name a file in it");
    if (S_ISREG(facts.st_mode) && (uintmax_t)facts.st_size > n_max)
        return rc_error_fill(err, RC_BAD_INPUT, place, "has %ju bytes, at most %zu are accepted; give a smaller file",
                             (uintmax_t)facts.st_size, n_max);
    *size = S_ISREG(facts.st_mode) && facts.st_size > 0 ? (size_t)facts.st_size : 4096;
    return RC_OK;
}

/* Read to the end into growing memory; the size known beforehand is only a hint, since pipes have none. */
static rc_status read_all(struct rc_text *text, int file, const char *place, size_t n_max, struct rc_error *err)
{
    size_t room = 4096;
    const rc_status status = first_size(&room, file, place, n_max, err);
    if (status != RC_OK)
        return status;
    for (;;) {
        char *chunk = malloc(room);
        if (!chunk)
            return rc_error_fill(err, RC_NO_MEMORY, place, "no memory for %zu bytes of it", room);
        const ssize_t got = read_fully(file, chunk, room);
        const int code = errno;
        if (got >= 0)
            rc_text_add_bytes(text, chunk, (size_t)got);
        free(chunk);
        if (got < 0)
            return rc_error_fill(err, RC_NO_FILE, place, "cannot be read: %s", strerror(code));
        if (text->failed)
            return rc_error_fill(err, RC_NO_MEMORY, place, "no memory for %zu bytes of it", room);
        if (text->n_bytes > n_max)
            return rc_error_fill(err, RC_BAD_INPUT, place, "is larger than the %zu bytes accepted; give a smaller file", n_max);
        if ((size_t)got < room)
            return RC_OK;
        room = 4096;
    }
}

rc_status rc_file_read(char **bytes, size_t *n_bytes, const char *path, size_t n_max, struct rc_error *err)
{
    const bool is_stdin = strcmp(path, "-") == 0;
    const char *place = is_stdin ? "standard input" : path;
    struct rc_text text = {0};
    rc_status status = RC_OK;
    const int file = is_stdin ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (file < 0) {
        status = rc_error_fill(err, RC_NO_FILE, place, "cannot be opened: %s; check the path", strerror(errno));
        goto done;
    }
    status = is_stdin ? RC_OK : expect_regular(file, place, err);
    if (status == RC_OK)
        status = read_all(&text, file, place, n_max, err);
    if (status != RC_OK)
        goto done;
    *bytes = text.bytes;
    *n_bytes = text.n_bytes;
    text = (struct rc_text){0};
done:
    if (file >= 0 && !is_stdin)
        (void)close(file); /* opened for reading: nothing can be lost */
    rc_text_free(&text);
    return status;
}

bool rc_file_exists(const char *path)
{
    struct stat facts;
    return lstat(path, &facts) == 0;
}

/* fsync of one path. Some file systems cannot sync a directory and say EINVAL: there is nothing to gain then. */
static rc_status sync_path(const char *path, bool is_folder, const char *place, struct rc_error *err)
{
    const int file = open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0)
        return rc_error_fill(err, RC_IO, place, "cannot be opened to flush it: %s", strerror(errno));
    int code = fsync(file) == 0 ? 0 : errno;
    if (is_folder && code == EINVAL)
        code = 0;
    if (close(file) != 0 && code == 0)
        code = errno;
    if (code != 0)
        return rc_error_fill(err, write_status(code), place, "cannot be flushed to the device: %s", strerror(code));
    return RC_OK;
}

/* Flush the directory that names `path`. */
static rc_status sync_folder_of(const char *path, struct rc_error *err)
{
    const char *slash = strrchr(path, '/');
    if (!slash)
        return sync_path(".", true, path, err);
    const size_t length = slash == path ? 1 : (size_t)(slash - path);
    char *folder = malloc(length + 1);
    if (!folder)
        return rc_error_fill(err, RC_NO_MEMORY, path, "no memory to flush its folder");
    memcpy(folder, path, length);
    folder[length] = '\0';
    const rc_status status = sync_path(folder, true, path, err);
    free(folder);
    return status;
}

rc_status rc_file_sync(const char *path, struct rc_error *err)
{
    const rc_status status = sync_path(path, false, path, err);
    return status == RC_OK ? sync_folder_of(path, err) : status;
}

rc_status rc_file_replace(const char *from, const char *to, struct rc_error *err)
{
    if (rename(from, to) != 0)
        return rc_error_fill(err, write_status(errno), to, "cannot be replaced by %s: %s", from, strerror(errno));
    return sync_folder_of(to, err);
}
