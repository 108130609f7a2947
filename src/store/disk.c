/* Messages, whole reads and writes, and the lock file of a store. Knows no formats. */
#include "disk.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/base.h"

rc_status rc_disk_status(int code)
{
    if (code == ENOSPC || code == EDQUOT || code == EFBIG)
        return RC_NO_SPACE;
    return code == ENOMEM ? RC_NO_MEMORY : RC_IO;
}

rc_status rc_disk_fail(struct rc_error *err, const char *path, const char *doing, int code)
{
    return rc_error_fill(err, rc_disk_status(code), path, "%s: %s", doing, strerror(code));
}

int rc_disk_write(int file, const void *bytes, size_t n_bytes, int64_t offset)
{
    const char *from = bytes;
    size_t n_done = 0;
    while (n_done < n_bytes) {
        const ssize_t put = pwrite(file, from + n_done, n_bytes - n_done, (off_t)(offset + (int64_t)n_done));
        if (put > 0)
            n_done += (size_t)put;
        else if (put == 0)
            return EIO;
        else if (errno != EINTR)
            return errno;
    }
    return 0;
}

int64_t rc_disk_read(int file, void *bytes, size_t n_bytes, int64_t offset)
{
    char *to = bytes;
    size_t n_done = 0;
    while (n_done < n_bytes) {
        const ssize_t got = pread(file, to + n_done, n_bytes - n_done, (off_t)(offset + (int64_t)n_done));
        if (got == 0)
            break;
        if (got > 0)
            n_done += (size_t)got;
        else if (errno != EINTR)
            return -1;
    }
    return (int64_t)n_done;
}

/* Does the path still name the open file? The owner before may have removed it between our open and our lock. */
static bool is_same_file(int file, const char *path)
{
    struct stat held;
    struct stat named;
    return fstat(file, &held) == 0 && stat(path, &named) == 0 && held.st_dev == named.st_dev && held.st_ino == named.st_ino;
}

rc_status rc_disk_lock(int *lock, const char *path, struct rc_error *err)
{
    *lock = -1;
    for (;;) {
        const int file = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0666);
        if (file < 0)
            return rc_disk_fail(err, path, "cannot be made; the store's folder must exist and be writable", errno);
        const int code = flock(file, LOCK_EX | LOCK_NB) == 0 ? 0 : errno;
        if (code == 0 && is_same_file(file, path)) {
            *lock = file;
            return RC_OK;
        }
        (void)close(file); /* nothing was written to it */
        if (code == EWOULDBLOCK)
            return rc_error_fill(err, RC_EXISTS, path,
                                 "another process is writing this store; wait for it or choose another name");
        if (code != 0 && code != EINTR)
            return rc_disk_fail(err, path, "cannot be locked", code);
    }
}

void rc_disk_unlock(int lock, const char *path)
{
    if (lock < 0)
        return;
    (void)unlink(path); /* while the lock is held, so that nobody locks a file that is about to go */
    (void)close(lock);
}
