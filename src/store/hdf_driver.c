/* The file driver under HDF5 files being made. Reading is HDF5's own business and goes through its own driver. */
#include "hdf_driver.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "disk.h"
#include "hdf.h"

/* An open file; HDF5 sees only its first member. */
struct open_file {
    H5FD_t hdf;
    struct rc_hdf_driver *driver;
    int file;
    haddr_t end_allocated, end_written;
};

static H5FD_t *open_file(const char *path, unsigned flags, hid_t access, haddr_t max_address)
{
    (void)flags; /* files are only made, never opened again */
    (void)max_address;
    struct rc_hdf_driver *const *driver = H5Pget_driver_info(access);
    struct open_file *opened = calloc(1, sizeof *opened);
    if (!driver || !opened)
        goto failed;
    opened->driver = *driver;
    opened->file = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (opened->file >= 0)
        return &opened->hdf;
    opened->driver->code = errno;
failed:
    free(opened);
    return NULL;
}

static herr_t close_file(H5FD_t *hdf)
{
    struct open_file *opened = (struct open_file *)hdf;
    if (close(opened->file) != 0 && opened->driver->code == 0)
        opened->driver->code = errno;
    free(opened);
    return 0;
}

static herr_t say_features(const H5FD_t *hdf, unsigned long *features)
{
    (void)hdf;
    *features = H5FD_FEAT_AGGREGATE_METADATA | H5FD_FEAT_ACCUMULATE_METADATA | H5FD_FEAT_DATA_SIEVE |
                H5FD_FEAT_AGGREGATE_SMALLDATA;
    return 0;
}

static haddr_t end_allocated(const H5FD_t *hdf, H5FD_mem_t kind)
{
    (void)kind;
    return ((const struct open_file *)hdf)->end_allocated;
}

static herr_t allocate_to(H5FD_t *hdf, H5FD_mem_t kind, haddr_t end)
{
    (void)kind;
    ((struct open_file *)hdf)->end_allocated = end;
    return 0;
}

static haddr_t end_written(const H5FD_t *hdf, H5FD_mem_t kind)
{
    (void)kind;
    return ((const struct open_file *)hdf)->end_written;
}

/* What was never written, or could not be, reads as zeros. */
static herr_t read_bytes(H5FD_t *hdf, H5FD_mem_t kind, hid_t transfer, haddr_t address, size_t n_bytes, void *bytes)
{
    struct open_file *opened = (struct open_file *)hdf;
    (void)kind;
    (void)transfer;
    int64_t got = rc_disk_read(opened->file, bytes, n_bytes, (int64_t)address);
    if (got < 0) {
        if (opened->driver->code == 0)
            opened->driver->code = errno;
        got = 0;
    }
    memset((char *)bytes + got, 0, n_bytes - (size_t)got);
    return 0;
}

static herr_t write_bytes(H5FD_t *hdf, H5FD_mem_t kind, hid_t transfer, haddr_t address, size_t n_bytes, const void *bytes)
{
    struct open_file *opened = (struct open_file *)hdf;
    (void)kind;
    (void)transfer;
    if (opened->driver->code == 0)
        opened->driver->code = rc_disk_write(opened->file, bytes, n_bytes, (int64_t)address);
    if (opened->end_written < address + n_bytes)
        opened->end_written = address + n_bytes;
    return 0;
}

static herr_t set_length(H5FD_t *hdf, hid_t transfer, hbool_t is_closing)
{
    struct open_file *opened = (struct open_file *)hdf;
    (void)transfer;
    (void)is_closing;
    if (opened->driver->code == 0 && opened->end_allocated != opened->end_written &&
        ftruncate(opened->file, (off_t)opened->end_allocated) != 0)
        opened->driver->code = errno;
    opened->end_written = opened->end_allocated;
    return 0;
}

/* The description HDF5 wants; it copies it. */
static hid_t describe(void)
{
    const H5FD_class_t description = {
#ifdef H5FD_CLASS_VERSION
        .version = H5FD_CLASS_VERSION,
        .value = (H5FD_class_value_t)600,
#endif
        .name = "rollcast",
        .maxaddr = ((haddr_t)1 << 62U) - 1,
        .fc_degree = H5F_CLOSE_WEAK,
        .fapl_size = sizeof(struct rc_hdf_driver *),
        .open = open_file,
        .close = close_file,
        .query = say_features,
        .get_eoa = end_allocated,
        .set_eoa = allocate_to,
        .get_eof = end_written,
        .read = read_bytes,
        .write = write_bytes,
        .truncate = set_length,
        .fl_map = H5FD_FLMAP_DICHOTOMY,
    };
    return H5FDregister(&description);
}

hid_t rc_hdf_driver_create(struct rc_hdf_driver *driver, const char *path, hsize_t n_free)
{
    hid_t file = -1;
    *driver = (struct rc_hdf_driver){.id = describe()};
    const hid_t access = H5Pcreate(H5P_FILE_ACCESS);
    const hid_t creation = H5Pcreate(H5P_FILE_CREATE);
    if (driver->id >= 0 && access >= 0 && creation >= 0 && rc_hdf_spare(access) >= 0 &&
        H5Pset_driver(access, driver->id, &driver) >= 0 &&
        H5Pset_userblock(creation, n_free) >= 0)
        file = H5Fcreate(path, H5F_ACC_EXCL, creation, access);
    if (creation >= 0)
        (void)H5Pclose(creation);
    if (access >= 0)
        (void)H5Pclose(access);
    return file;
}

void rc_hdf_driver_end(struct rc_hdf_driver *driver)
{
    if (driver->id >= 0)
        (void)H5FDunregister(driver->id);
    driver->id = -1;
}
