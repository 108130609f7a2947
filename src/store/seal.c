/* The seal of a store. Knows no HDF5, only that its file begins with a block that HDF5 leaves alone. */
#include "seal.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/base.h"
#include "disk.h"

#define SEAL_MARK "rollcast-store\n"
#define SEAL_FORM SEAL_MARK "bytes %" PRId64 "\nchecksum %016" PRIx64 "\n"
enum { SEAL_STEP = 1 << 20 };

uint64_t rc_seal_checksum(uint64_t hash, const void *bytes, size_t n_bytes)
{
    const char *from = bytes;
    for (size_t at = 0; at < n_bytes; at += 8) {
        uint64_t word = 0;
        memcpy(&word, from + at, n_bytes - at < 8 ? n_bytes - at : 8);
        hash = (hash ^ word) * 1099511628211ULL;
        hash ^= hash >> 32U;
    }
    return hash;
}

/* Text of the seal for a length and a checksum, filled up with zeros. */
static void seal_text(char seal[RC_SEAL_BYTES], int64_t n_bytes, uint64_t sum)
{
    memset(seal, 0, RC_SEAL_BYTES);
    (void)snprintf(seal, RC_SEAL_BYTES, SEAL_FORM, n_bytes, sum);
}

/* Checksum of all bytes behind the seal. out n_bytes  length of the whole file */
static rc_status sum_up(uint64_t *sum, int64_t *n_bytes, int file, const char *path, struct rc_error *err)
{
    rc_status status = RC_OK;
    int64_t got = SEAL_STEP;
    int64_t at = RC_SEAL_BYTES;
    uint64_t hash = RC_FNV_START;
    char *bytes = malloc(SEAL_STEP);
    if (!bytes)
        return rc_error_fill(err, RC_NO_MEMORY, path, "no memory to check it");
    while (got == SEAL_STEP) {
        got = rc_disk_read(file, bytes, SEAL_STEP, at);
        if (got < 0) {
            status = rc_disk_fail(err, path, "cannot be read", errno);
            break;
        }
        hash = rc_seal_checksum(hash, bytes, (size_t)got);
        at += got;
    }
    free(bytes);
    *sum = hash;
    *n_bytes = at;
    return status;
}

rc_status rc_seal_write(const char *path, struct rc_error *err)
{
    char seal[RC_SEAL_BYTES];
    uint64_t sum = 0;
    int64_t n_bytes = 0;
    const int file = open(path, O_RDWR | O_CLOEXEC);
    if (file < 0)
        return rc_disk_fail(err, path, "cannot be opened to seal it", errno);
    rc_status status = sum_up(&sum, &n_bytes, file, path, err);
    if (status == RC_OK) {
        seal_text(seal, n_bytes, sum);
        const int code = rc_disk_write(file, seal, sizeof seal, 0);
        if (code != 0)
            status = rc_disk_fail(err, path, "cannot be sealed", code);
    }
    if (close(file) != 0 && status == RC_OK)
        status = rc_disk_fail(err, path, "cannot be closed", errno);
    return status;
}

/* Open an ordinary file for reading; a pipe or a folder could be no store, and a pipe would make us wait. */
static rc_status open_plain(int *file, const char *path, struct rc_error *err)
{
    struct stat facts;
    const int opened = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (opened < 0)
        return rc_error_fill(err, RC_IO, path, "cannot be opened: %s; check the path", strerror(errno));
    *file = opened;
    if (fstat(opened, &facts) != 0)
        return rc_error_fill(err, RC_IO, path, "cannot be read: %s", strerror(errno));
    if (!S_ISREG(facts.st_mode))
        return rc_error_fill(err, RC_NOT_STORE, path, "is not a file that a campaign could have filled; name a store");
    return RC_OK;
}

static rc_status compare(int file, const char *path, struct rc_error *err)
{
    static const char hdf_mark[8] = "\211HDF\r\n\032\n";
    char found[RC_SEAL_BYTES + 1] = "";
    char wanted[RC_SEAL_BYTES];
    int64_t n_sealed = 0;
    int64_t n_bytes = 0;
    uint64_t sum = 0;
    const int64_t got = rc_disk_read(file, found, RC_SEAL_BYTES, 0);
    if (got < 0)
        return rc_disk_fail(err, path, "cannot be read", errno);
    if (got >= (int64_t)sizeof hdf_mark && memcmp(found, hdf_mark, sizeof hdf_mark) == 0)
        return rc_error_fill(err, RC_NOT_STORE, path, "is an HDF5 file but not a store: no campaign has filled it; name a store");
    if (found[strspn(found, " \t\r\n")] == '{')
        return rc_error_fill(err, RC_NOT_STORE, path,
                             "is JSON, as a campaign is, not a store; fly the campaign first (rollcast fly) and name its store");
    if (strncmp(found, SEAL_MARK, strlen(SEAL_MARK)) != 0)
        return rc_error_fill(err, RC_NOT_STORE, path, "is not a store: its first line is not \"rollcast-store\"; name a store");
    const rc_status status = sum_up(&sum, &n_bytes, file, path, err);
    if (status != RC_OK)
        return status;
    seal_text(wanted, n_bytes, sum);
    if (got == RC_SEAL_BYTES && memcmp(found, wanted, sizeof wanted) == 0)
        return RC_OK;
    if (sscanf(found + strlen(SEAL_MARK), "bytes %" SCNd64, &n_sealed) == 1 && n_sealed > n_bytes)
        return rc_error_fill(err, RC_NOT_STORE, path,
                             "was cut short: it has %" PRId64 " of %" PRId64 " bytes; use a whole copy or fly again",
                             got < RC_SEAL_BYTES ? got : n_bytes, n_sealed);
    return rc_error_fill(err, RC_NOT_STORE, path,
                         "is damaged, or another program has changed it: its checksum is not that of its seal; "
                         "use a good copy or fly again");
}

rc_status rc_seal_check(const char *path, struct rc_error *err)
{
    int file = -1;
    rc_status status = open_plain(&file, path, err);
    if (status == RC_OK)
        status = compare(file, path, err);
    if (file >= 0)
        (void)close(file); /* nothing was written to it */
    return status;
}
