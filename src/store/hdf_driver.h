/* A file driver for HDF5 files being made: a write that fails is noted and from then on everything seems to succeed.
 * HDF5 itself may not be let down in the middle: after a failed flush its H5Fclose leaves a half-freed file behind, and the
 * next call on it, or the end of the process, crashes (seen with 1.10.8). */
#ifndef RC_HDF_DRIVER_H
#define RC_HDF_DRIVER_H

#include <hdf5.h>

/* What became of the writes; look at it after H5Fclose. */
struct rc_hdf_driver {
    hid_t id;   /* of the registered driver                */
    int code;   /* errno of the first failure, 0 = none     */
};

/* Make a file, which may not exist yet.
 * out  driver  must stand until rc_hdf_driver_end
 * in   n_free  bytes that HDF5 leaves free at the beginning: 0, 512 or a greater power of two
 * ends the file, or negative with driver->code set (0 where HDF5 has the reason) */
hid_t rc_hdf_driver_create(struct rc_hdf_driver *driver, const char *path, hsize_t n_free);

/* Unregister, after the file was closed. */
void rc_hdf_driver_end(struct rc_hdf_driver *driver);

#endif
