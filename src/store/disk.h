/* What the store asks of the operating system: messages for failed calls, whole writes, the lock that keeps a second
 * writer out. */
#ifndef RC_DISK_H
#define RC_DISK_H

#include <stddef.h>
#include <stdint.h>

#include "rollcast/status.h"

/* The status that stands for an errno value. ends RC_NO_SPACE (device, quota or file size limit full), RC_NO_MEMORY, RC_IO */
rc_status rc_disk_status(int code);

/* Fill a message for a failed system call.
 * in   path   the file, becomes err->where
 * in   doing  "cannot be written"
 * in   code   errno of the call
 * ends rc_disk_status(code) */
rc_status rc_disk_fail(struct rc_error *err, const char *path, const char *doing, int code);

/* Write all bytes at an offset. ends 0, or the errno value of the failure */
int rc_disk_write(int file, const void *bytes, size_t n_bytes, int64_t offset);

/* Read up to n_bytes at an offset, fewer only at the end of the file. ends bytes read, or -1 with errno set */
int64_t rc_disk_read(int file, void *bytes, size_t n_bytes, int64_t offset);

/* Take the lock file of a store. A lock whose owner died is free: the kernel drops it with the process.
 * out  lock  open file, ends with rc_disk_unlock; -1 on error
 * in   path  STORE.lock, made if absent
 * ends RC_EXISTS (another process holds it), RC_IO, RC_NO_SPACE */
rc_status rc_disk_lock(int *lock, const char *path, struct rc_error *err) RC_MUST_CHECK;

/* Remove the lock file and release the lock. in lock -1 is fine */
void rc_disk_unlock(int lock, const char *path);

#endif
