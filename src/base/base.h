/* Front header of base: status and messages, growing text, whole files, bundles of named files, limits.
 * Knows nothing of rockets. Everything else may include it. */
#ifndef RC_BASE_H
#define RC_BASE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "limits.h"
#include "rollcast/status.h"

/* Fill a message and hand its status back, so that a caller can write `return rc_error_fill(...)`.
 * out  err     may be NULL: then only the status is returned
 * in   status  what to return, kept in err
 * in   where   place, may be NULL or empty; cut to fit
 * in   format  printf form of the sentence; line breaks and control characters become spaces
 * ends `status` */
rc_status rc_error_fill(struct rc_error *err, rc_status status, const char *where, const char *format, ...) RC_PRINTF(4, 5);

/* Add one error to a list (dropped beyond the cap, but counted).
 * in/out issues  list to add to
 * in     where, format  as for rc_error_fill */
void rc_issues_add(struct rc_issues *issues, const char *where, const char *format, ...) RC_PRINTF(3, 4);

/* Add one warning: legal but suspicious. Arguments as for rc_issues_add. */
void rc_issues_warn(struct rc_issues *issues, const char *where, const char *format, ...) RC_PRINTF(3, 4);

/* Does the list hold that one already? */
bool rc_issues_has(const struct rc_issues *issues, const struct rc_error *item);

/* The first error of a list, warnings passed over, as an error; the status' own text where the list has none.
 * ends `status` */
rc_status rc_issues_first_error(const struct rc_issues *issues, rc_status status, struct rc_error *err);

/* Text that grows. Zero-initialise; rc_text_free when done. A failed allocation sets `failed` and later appends do nothing. */
struct rc_text {
    char *bytes;     /* NUL-terminated, NULL while empty */
    size_t n_bytes;  /* without the NUL                  */
    size_t capacity;
    bool failed;
};

/* Append printf-formatted text. ends nothing; check text->failed once at the end. */
void rc_text_add(struct rc_text *text, const char *format, ...) RC_PRINTF(2, 3);

/* Append n_bytes raw bytes (no NUL among them is required, but readers of `bytes` as a string stop there). */
void rc_text_add_bytes(struct rc_text *text, const char *bytes, size_t n_bytes);

/* Release the bytes and make the text empty again. NULL is fine. */
void rc_text_free(struct rc_text *text);

/* Read a whole file into memory.
 * out  bytes    NUL-terminated copy, caller frees with free(); untouched on error
 * out  n_bytes  length without the NUL
 * in   path     file to read; "-" is standard input
 * in   n_max    refuse larger files
 * ends RC_NO_FILE (cannot be opened or read: says why), RC_BAD_INPUT (a folder, pipe or device, too large), RC_NO_MEMORY */
rc_status rc_file_read(char **bytes, size_t *n_bytes, const char *path, size_t n_max, struct rc_error *err) RC_MUST_CHECK;

/* Is there anything at this path (file, directory, dangling link)? */
bool rc_file_exists(const char *path);

/* Flush a file and the directory that names it to the device.
 * ends RC_IO, RC_NO_SPACE */
rc_status rc_file_sync(const char *path, struct rc_error *err) RC_MUST_CHECK;

/* Rename `from` over `to` and flush the directory, so that after a crash either the old or the new file stands.
 * ends RC_IO, RC_NO_SPACE */
rc_status rc_file_replace(const char *from, const char *to, struct rc_error *err) RC_MUST_CHECK;

/* Files that belong together, by name: a campaign's text (file 0) and every table it names. The store keeps
 * a copy, so that a store explains itself after the files are gone. */
struct rc_bundle_file {
    char *name;     /* as written in the campaign; the campaign's own is its base name */
    char *bytes;    /* NUL-terminated                                                  */
    size_t n_bytes; /* without the NUL                                                 */
};
struct rc_bundle {
    int n_files;
    struct rc_bundle_file file[RC_MAX_BUNDLE_FILES];
};

/* Add a copy of a file to a bundle. A name that is there already keeps its first bytes.
 * ends RC_NO_MEMORY, RC_BAD_INPUT (too many files) */
rc_status rc_bundle_add(struct rc_bundle *bundle, const char *name, const char *bytes, size_t n_bytes,
                        struct rc_error *err) RC_MUST_CHECK;

/* The file of that name, or NULL; borrowed, lives as long as the bundle. */
const struct rc_bundle_file *rc_bundle_find(const struct rc_bundle *bundle, const char *name);

/* A 64-bit fingerprint over names and bytes, in order (FNV-1a): tells whether two bundles are the same campaign. */
uint64_t rc_bundle_fingerprint(const struct rc_bundle *bundle);

/* Release all copies. */
void rc_bundle_free(struct rc_bundle *bundle);

/* FNV-1a, 64 bits, over a byte string, going on from `hash` (start with RC_FNV_START).
 * source Fowler, Noll, Vo: offset basis 14695981039346656037, prime 1099511628211 */
uint64_t rc_hash_bytes(uint64_t hash, const void *bytes, size_t n_bytes);
#define RC_FNV_START 14695981039346656037ULL

#endif
