/* The seal of a store: the first 512 bytes of the file, before HDF5's own, say its length and checksum in plain text.
 * HDF5 crashes or hangs on some damaged files, so a file is checked before HDF5 sees it. */
#ifndef RC_SEAL_H
#define RC_SEAL_H

#include <stddef.h>
#include <stdint.h>

#include "rollcast/status.h"

/* Bytes of the seal: HDF5 calls it a user block and skips it. */
enum { RC_SEAL_BYTES = 512 };

/* Checksum over 64-bit words, the last one filled up with zeros, going on from `hash` (start with RC_FNV_START).
 * source FNV-1a with words for bytes, and a shift after each step; every step is a bijection, so no single changed word
 * goes unseen */
uint64_t rc_seal_checksum(uint64_t hash, const void *bytes, size_t n_bytes);

/* Write the seal into a file whose first RC_SEAL_BYTES are free.
 * ends RC_IO, RC_NO_SPACE, RC_NO_MEMORY
 * cost reads the file once */
rc_status rc_seal_write(const char *path, struct rc_error *err) RC_MUST_CHECK;

/* Is the file sealed, and just as it was then?
 * ends RC_NOT_STORE (says which: none of ours, cut short, changed), RC_IO, RC_NO_MEMORY
 * cost reads the file once */
rc_status rc_seal_check(const char *path, struct rc_error *err) RC_MUST_CHECK;

#endif
