/* System calls that fail on demand. Only calls on files below the scratch folder or made by this process matter to the
 * tests, so every call is counted but those on the standard streams. */
#define _GNU_SOURCE
#include "fault_calls.h"

#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <sys/types.h>
#include <time.h>
#include <unistd.h>

static struct {
    enum fault_kind kind;
    long at, n;
    int code;
} fault;

void fault_arm(enum fault_kind kind, long at, int code)
{
    fault.kind = kind;
    fault.at = at;
    fault.code = code;
    fault.n = 0;
}

long fault_disarm(void)
{
    fault.kind = FAULT_NONE;
    return fault.n;
}

/* The next definition after this program's. */
static void *real(const char *name)
{
    return dlsym(RTLD_NEXT, name);
}

/* Count a call. ends 1 if it is to fail: errno is then set */
static int strikes(void)
{
    fault.n++;
    if (fault.kind == FAULT_KILL && fault.n == fault.at)
        raise(SIGKILL);
    if ((fault.kind == FAULT_ONCE && fault.n == fault.at) || (fault.kind == FAULT_FROM_ON && fault.n >= fault.at)) {
        errno = fault.code;
        return 1;
    }
    return 0;
}

/* The steady clock stands still, or how often the journal is flushed, and so the number of calls, would depend on it. */
int clock_gettime(clockid_t clock, struct timespec *now)
{
    int (*call)(clockid_t, struct timespec *) = (int (*)(clockid_t, struct timespec *))real("clock_gettime");
    if (clock != CLOCK_MONOTONIC)
        return call(clock, now);
    now->tv_sec = 1;
    now->tv_nsec = 0;
    return 0;
}

/* Bytes that a write does before what befalls it. */
static size_t share(size_t n)
{
    const int is_torn = (fault.kind == FAULT_KILL_TORN && fault.n == fault.at) || (fault.kind == FAULT_SHORT && fault.n >= fault.at);
    return is_torn && n > 1 ? n / 2 : n;
}

static void die_if_torn(void)
{
    if (fault.kind == FAULT_KILL_TORN && fault.n == fault.at)
        raise(SIGKILL);
}

ssize_t write(int file, const void *bytes, size_t n)
{
    ssize_t (*call)(int, const void *, size_t) = (ssize_t (*)(int, const void *, size_t))real("write");
    if (file <= 2)
        return call(file, bytes, n);
    if (strikes())
        return -1;
    const ssize_t put = call(file, bytes, share(n));
    die_if_torn();
    return put;
}

static ssize_t put_at(const char *name, int file, const void *bytes, size_t n, off_t offset)
{
    ssize_t (*call)(int, const void *, size_t, off_t) = (ssize_t (*)(int, const void *, size_t, off_t))real(name);
    if (strikes())
        return -1;
    const ssize_t put = call(file, bytes, share(n), offset);
    die_if_torn();
    return put;
}

ssize_t pwrite(int file, const void *bytes, size_t n, off_t offset)
{
    return put_at("pwrite", file, bytes, n, offset);
}

ssize_t pwrite64(int file, const void *bytes, size_t n, off64_t offset)
{
    return put_at("pwrite64", file, bytes, n, offset);
}

int ftruncate(int file, off_t size)
{
    int (*call)(int, off_t) = (int (*)(int, off_t))real("ftruncate");
    return strikes() ? -1 : call(file, size);
}

int ftruncate64(int file, off64_t size)
{
    int (*call)(int, off64_t) = (int (*)(int, off64_t))real("ftruncate64");
    return strikes() ? -1 : call(file, size);
}

int fsync(int file)
{
    (void)file;
    return strikes() ? -1 : 0;
}

int fdatasync(int file)
{
    (void)file;
    return strikes() ? -1 : 0;
}

int rename(const char *from, const char *to)
{
    int (*call)(const char *, const char *) = (int (*)(const char *, const char *))real("rename");
    return strikes() ? -1 : call(from, to);
}

int unlink(const char *path)
{
    int (*call)(const char *) = (int (*)(const char *))real("unlink");
    const int is_struck = fault.kind == FAULT_FROM_ON ? (fault.n++, 0) : strikes(); /* a full device still lets files go */
    return is_struck ? -1 : call(path);
}

static int open_as(const char *name, const char *path, int flags, mode_t mode)
{
    int (*call)(const char *, int, ...) = (int (*)(const char *, int, ...))real(name);
    if ((flags & O_CREAT) && strikes())
        return -1;
    return call(path, flags, mode);
}

#include "open_calls.h"
