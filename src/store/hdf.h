/* Small calls on top of HDF5: its messages turned into ours, attributes, texts and chunked columns.
 * All return a negative number where HDF5 fails, as HDF5 does; rc_hdf_fail then says why. */
#ifndef RC_HDF_H
#define RC_HDF_H

#include <hdf5.h>
#include <stdint.h>

#include "rollcast/status.h"

/* What stands in for HDF5's error printing during a call of ours: the first reason is noted before cleaning up, which calls
 * HDF5 again, wipes HDF5's error stack. */
struct rc_hdf_quiet {
    H5E_auto2_t print;   /* as it was before */
    void *user;
    char reason[256];    /* innermost message of the first failure; empty = none */
    int code;            /* errno value in it, 0 = none                          */
};

/* Switch HDF5's error printing off; rc_hdf_restore gives the caller's setting back.
 * out  quiet  must stand until rc_hdf_restore */
void rc_hdf_silence(struct rc_hdf_quiet *quiet);
void rc_hdf_restore(const struct rc_hdf_quiet *quiet);

/* Fill a message from the first failure noted since rc_hdf_silence; the errno value in it decides the status.
 * in   doing  "cannot be written"
 * ends RC_NO_SPACE, RC_NO_MEMORY, RC_IO */
rc_status rc_hdf_fail(struct rc_error *err, const char *path, const char *doing);

/* Attributes of an object. Texts are UTF-8 of variable length, so that h5py gives str. */
int rc_hdf_put_text(hid_t object, const char *name, const char *text);
int rc_hdf_put_int(hid_t object, const char *name, int64_t value);
int rc_hdf_put_word(hid_t object, const char *name, uint64_t value);

/* Read them back. out text  malloc'ed, caller frees with free() */
int rc_hdf_text(char **text, hid_t object, const char *name);
int rc_hdf_int(int64_t *value, hid_t object, const char *name);
int rc_hdf_word(uint64_t *value, hid_t object, const char *name);

/* Write bytes as a scalar text dataset with attributes `name` and `n_bytes`; read it back whole.
 * out bytes  NUL-terminated, caller frees with free() */
int rc_hdf_put_file(hid_t group, const char *dataset, const char *name, const char *bytes, size_t n_bytes);
int rc_hdf_file(char **bytes, size_t *n_bytes, hid_t group, const char *dataset);

/* Let HDF5 keep little in memory of a file: some chunks of a column, a megabyte of its lists. Its own bounds grow with the file.
 * in/out access  file access properties */
int rc_hdf_spare(hid_t access);

/* Open a file for reading, sparing memory. ends the file, or negative */
hid_t rc_hdf_open(const char *path);

/* Rows of one chunk of a column. */
enum { RC_HDF_CHUNK = 4096 };

/* Make an empty array that can be filled by rows.
 * in   path   groups on the way are made
 * in   type   on disk
 * in   dims, chunk  (n_dims); the first dimension may grow
 * ends the dataset, or negative */
hid_t rc_hdf_array(hid_t file, const char *path, hid_t type, int n_dims, const hsize_t *dims, const hsize_t *chunk);

/* Write a small array whole, one or two dimensions. ends the dataset (caller closes), or negative */
hid_t rc_hdf_put_array(hid_t file, const char *path, hid_t type, const hsize_t dims[2], const void *values);

/* Write or read rows first .. first+n-1 of a one-dimensional array. in type in memory */
int rc_hdf_put_rows(hid_t dataset, hid_t type, int64_t first, int64_t n, const void *values);
int rc_hdf_rows(hid_t dataset, hid_t type, int64_t first, int64_t n, void *values);

/* Write one whole chunk, packed by ourselves (pack.h), which no one has written yet.
 * in   dataset  of rc_hdf_array, of numbers of eight bytes
 * in   at       (dimensions) its first row, and 0 where there are columns
 * in   bits     (n) the numbers' bits; zeros beyond the dataset's end */
int rc_hdf_put_chunk(hid_t dataset, const hsize_t *at, size_t n, const uint64_t *bits);

/* Copy the first n_chunks chunks of a column as they are, without unpacking. Both have the same chunks and filters.
 * in   first  row of `to` where they go, a multiple of RC_HDF_CHUNK */
int rc_hdf_copy_chunks(hid_t to, hid_t from, int64_t first, int64_t n_chunks);

#endif
