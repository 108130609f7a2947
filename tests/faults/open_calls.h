/* Both names of open(), which the programs of this folder answer themselves: each by its own open_as(name, path, flags, mode),
 * which stands before this is included. */
#ifndef OPEN_CALLS_H
#define OPEN_CALLS_H

#include <fcntl.h>
#include <stdarg.h>
#include <sys/types.h>

int open(const char *path, int flags, ...)
{
    va_list more;
    va_start(more, flags);
    const mode_t mode = flags & O_CREAT ? va_arg(more, mode_t) : 0;
    va_end(more);
    return open_as("open", path, flags, mode);
}

int open64(const char *path, int flags, ...)
{
    va_list more;
    va_start(more, flags);
    const mode_t mode = flags & O_CREAT ? va_arg(more, mode_t) : 0;
    va_end(more);
    return open_as("open64", path, flags, mode);
}

#endif
