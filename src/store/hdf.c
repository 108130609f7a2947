/* Small calls on top of HDF5. What the store's datasets are called is decided in store_fold.c and results.c. */
#include "hdf.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "disk.h"
#include "pack.h"

static herr_t note_entry(unsigned depth, const H5E_error2_t *entry, void *user)
{
    struct rc_hdf_quiet *quiet = user;
    const char *text = entry->desc ? entry->desc : "";
    const char *mark = strstr(text, "errno = ");
    if (depth == 0)
        (void)snprintf(quiet->reason, sizeof quiet->reason, "%s", text);
    if (mark && quiet->code == 0)
        quiet->code = (int)strtol(mark + strlen("errno = "), NULL, 10);
    return 0;
}

/* HDF5 calls this where it would print. Later failures mostly follow from the first. */
static herr_t note_failure(hid_t stack, void *user)
{
    const struct rc_hdf_quiet *quiet = user;
    if (quiet->reason[0] == '\0')
        (void)H5Ewalk2(stack, H5E_WALK_UPWARD, note_entry, user);
    return 0;
}

void rc_hdf_silence(struct rc_hdf_quiet *quiet)
{
    *quiet = (struct rc_hdf_quiet){.print = NULL};
    (void)H5Eget_auto2(H5E_DEFAULT, &quiet->print, &quiet->user);
    (void)H5Eset_auto2(H5E_DEFAULT, note_failure, quiet);
}

void rc_hdf_restore(const struct rc_hdf_quiet *quiet)
{
    (void)H5Eset_auto2(H5E_DEFAULT, quiet->print, quiet->user);
}

rc_status rc_hdf_fail(struct rc_error *err, const char *path, const char *doing)
{
    H5E_auto2_t print = NULL;
    void *user = NULL;
    if (H5Eget_auto2(H5E_DEFAULT, &print, &user) < 0 || print != note_failure)
        return rc_error_fill(err, RC_IO, path, "%s", doing);
    struct rc_hdf_quiet *quiet = user;
    const rc_status status = quiet->code != 0 ? rc_disk_fail(err, path, doing, quiet->code)
                                              : rc_error_fill(err, RC_IO, path, "%s: %s", doing,
                                                              quiet->reason[0] ? quiet->reason : "HDF5 gives no reason");
    quiet->reason[0] = '\0';
    quiet->code = 0;
    return status;
}

static hid_t text_type(void)
{
    const hid_t type = H5Tcopy(H5T_C_S1);
    if (type >= 0 && H5Tset_size(type, H5T_VARIABLE) >= 0 && H5Tset_cset(type, H5T_CSET_UTF8) >= 0)
        return type;
    if (type >= 0)
        (void)H5Tclose(type);
    return -1;
}

/* Make a scalar attribute and write it. */
static int put_attribute(hid_t object, const char *name, hid_t type, const void *value)
{
    int result = -1;
    hid_t attribute = -1;
    const hid_t space = H5Screate(H5S_SCALAR);
    if (space < 0)
        goto done;
    attribute = H5Acreate2(object, name, type, space, H5P_DEFAULT, H5P_DEFAULT);
    if (attribute >= 0 && H5Awrite(attribute, type, value) >= 0)
        result = 0;
done:
    if (attribute >= 0 && H5Aclose(attribute) < 0)
        result = -1;
    if (space >= 0)
        (void)H5Sclose(space);
    return result;
}

int rc_hdf_put_text(hid_t object, const char *name, const char *text)
{
    const hid_t type = text_type();
    if (type < 0)
        return -1;
    const int result = put_attribute(object, name, type, &text);
    (void)H5Tclose(type);
    return result;
}

int rc_hdf_put_int(hid_t object, const char *name, int64_t value)
{
    return put_attribute(object, name, H5T_STD_I64LE, &value);
}

int rc_hdf_put_word(hid_t object, const char *name, uint64_t value)
{
    return put_attribute(object, name, H5T_STD_U64LE, &value);
}

int rc_hdf_text(char **text, hid_t object, const char *name)
{
    int result = -1;
    char *read = NULL;
    hid_t kept = -1;
    const hid_t type = text_type();
    const hid_t attribute = H5Aopen(object, name, H5P_DEFAULT);
    if (type < 0 || attribute < 0)
        goto done;
    kept = H5Aget_type(attribute);
    if (kept < 0 || H5Tis_variable_str(kept) <= 0 || H5Aread(attribute, type, &read) < 0 || !read)
        goto done;
    const size_t n = strlen(read) + 1;
    char *copy = malloc(n);
    if (copy) {
        memcpy(copy, read, n);
        *text = copy;
        result = 0;
    }
done:
    if (read)
        (void)H5free_memory(read);
    if (kept >= 0)
        (void)H5Tclose(kept);
    if (attribute >= 0)
        (void)H5Aclose(attribute);
    if (type >= 0)
        (void)H5Tclose(type);
    return result;
}

static int read_number(void *value, hid_t type, hid_t object, const char *name)
{
    int result = -1;
    hid_t space = -1;
    const hid_t attribute = H5Aopen(object, name, H5P_DEFAULT);
    if (attribute < 0)
        goto done;
    space = H5Aget_space(attribute);
    if (space >= 0 && H5Sget_simple_extent_npoints(space) == 1 && H5Aread(attribute, type, value) >= 0)
        result = 0;
done:
    if (space >= 0)
        (void)H5Sclose(space);
    if (attribute >= 0)
        (void)H5Aclose(attribute);
    return result;
}

int rc_hdf_int(int64_t *value, hid_t object, const char *name)
{
    return read_number(value, H5T_NATIVE_INT64, object, name);
}

int rc_hdf_word(uint64_t *value, hid_t object, const char *name)
{
    return read_number(value, H5T_NATIVE_UINT64, object, name);
}

/* A text of fixed length: bytes as they are, no conversion, no end mark. */
static hid_t bytes_type(size_t n_bytes)
{
    const hid_t type = H5Tcopy(H5T_C_S1);
    if (type >= 0 && H5Tset_size(type, n_bytes > 0 ? n_bytes : 1) >= 0 && H5Tset_strpad(type, H5T_STR_NULLPAD) >= 0 &&
        H5Tset_cset(type, H5T_CSET_UTF8) >= 0)
        return type;
    if (type >= 0)
        (void)H5Tclose(type);
    return -1;
}

/* Creation properties without times, so that equal runs give equal objects. */
static hid_t timeless(void)
{
    const hid_t properties = H5Pcreate(H5P_DATASET_CREATE);
    if (properties >= 0 && H5Pset_obj_track_times(properties, 0) < 0) {
        (void)H5Pclose(properties);
        return -1;
    }
    return properties;
}

int rc_hdf_spare(hid_t access)
{
    enum { CHUNKS = 1, SLOTS = 3 };
    const size_t n_least = (size_t)64 << 10;
    H5AC_cache_config_t lists = {.version = H5AC__CURR_CACHE_CONFIG_VERSION};
    if (H5Pset_cache(access, 0, SLOTS, CHUNKS * RC_HDF_CHUNK * sizeof(double), 1.0) < 0 || H5Pget_mdc_config(access, &lists) < 0)
        return -1;
    lists.set_initial_size = 1;
    lists.initial_size = n_least;
    lists.min_size = n_least;
    lists.max_size = 4 * n_least;
    return H5Pset_mdc_config(access, &lists) < 0 ? -1 : 0;
}

hid_t rc_hdf_open(const char *path)
{
    const hid_t access = H5Pcreate(H5P_FILE_ACCESS);
    const hid_t file = access >= 0 && rc_hdf_spare(access) >= 0 ? H5Fopen(path, H5F_ACC_RDONLY, access) : -1;
    if (access >= 0)
        (void)H5Pclose(access);
    return file;
}

static hid_t create(hid_t file, const char *path, hid_t type, hid_t space, hid_t properties)
{
    const hid_t links = H5Pcreate(H5P_LINK_CREATE);
    hid_t dataset = -1;
    if (links >= 0 && H5Pset_create_intermediate_group(links, 1) >= 0)
        dataset = H5Dcreate2(file, path, type, space, links, properties, H5P_DEFAULT);
    if (links >= 0)
        (void)H5Pclose(links);
    return dataset;
}

int rc_hdf_put_file(hid_t group, const char *dataset, const char *name, const char *bytes, size_t n_bytes)
{
    int result = -1;
    hid_t object = -1;
    const hid_t type = bytes_type(n_bytes);
    const hid_t space = H5Screate(H5S_SCALAR);
    const hid_t properties = timeless();
    if (type < 0 || space < 0 || properties < 0)
        goto done;
    object = create(group, dataset, type, space, properties);
    if (object >= 0 && H5Dwrite(object, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, bytes) >= 0 &&
        rc_hdf_put_text(object, "name", name) >= 0 && rc_hdf_put_int(object, "n_bytes", (int64_t)n_bytes) >= 0)
        result = 0;
done:
    if (object >= 0 && H5Dclose(object) < 0)
        result = -1;
    if (properties >= 0)
        (void)H5Pclose(properties);
    if (space >= 0)
        (void)H5Sclose(space);
    if (type >= 0)
        (void)H5Tclose(type);
    return result;
}

int rc_hdf_file(char **bytes, size_t *n_bytes, hid_t group, const char *dataset)
{
    int result = -1;
    int64_t n = 0;
    char *read = NULL;
    hid_t kept = -1;
    const hid_t object = H5Dopen2(group, dataset, H5P_DEFAULT);
    if (object < 0 || rc_hdf_int(&n, object, "n_bytes") < 0 || n < 0 || n > RC_MAX_FILE_BYTES)
        goto done;
    kept = H5Dget_type(object);
    if (kept < 0 || H5Tget_class(kept) != H5T_STRING || H5Tis_variable_str(kept) != 0 ||
        H5Tget_size(kept) != (size_t)(n > 0 ? n : 1))
        goto done;
    read = calloc((size_t)n + 2, 1);
    if (!read || H5Dread(object, kept, H5S_ALL, H5S_ALL, H5P_DEFAULT, read) < 0)
        goto done;
    read[n] = '\0';
    *bytes = read;
    *n_bytes = (size_t)n;
    read = NULL;
    result = 0;
done:
    free(read);
    if (kept >= 0)
        (void)H5Tclose(kept);
    if (object >= 0)
        (void)H5Dclose(object);
    return result;
}

hid_t rc_hdf_array(hid_t file, const char *path, hid_t type, int n_dims, const hsize_t *dims, const hsize_t *chunk)
{
    hid_t dataset = -1;
    hsize_t most[2] = {H5S_UNLIMITED, n_dims > 1 ? dims[1] : 0};
    const hid_t space = H5Screate_simple(n_dims, dims, most);
    const hid_t properties = timeless();
    if (space >= 0 && properties >= 0 && H5Pset_chunk(properties, n_dims, chunk) >= 0 && H5Pset_shuffle(properties) >= 0 &&
        H5Pset_deflate(properties, 1) >= 0)
        dataset = create(file, path, type, space, properties);
    if (properties >= 0)
        (void)H5Pclose(properties);
    if (space >= 0)
        (void)H5Sclose(space);
    return dataset;
}

hid_t rc_hdf_put_array(hid_t file, const char *path, hid_t type, const hsize_t dims[2], const void *values)
{
    hid_t dataset = -1;
    const hid_t space = H5Screate_simple(dims[1] > 0 ? 2 : 1, dims, NULL);
    const hid_t properties = timeless();
    if (space >= 0 && properties >= 0)
        dataset = create(file, path, type, space, properties);
    if (dataset >= 0 && H5Dwrite(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, values) < 0) {
        (void)H5Dclose(dataset);
        dataset = -1;
    }
    if (properties >= 0)
        (void)H5Pclose(properties);
    if (space >= 0)
        (void)H5Sclose(space);
    return dataset;
}

/* Select rows of a dataset in file and memory; both spaces are the caller's to close. */
static int select_rows(hid_t *in_file, hid_t *in_memory, hid_t dataset, int64_t first, int64_t n)
{
    const hsize_t start = (hsize_t)first;
    const hsize_t count = (hsize_t)n;
    *in_memory = -1;
    *in_file = H5Dget_space(dataset);
    if (*in_file < 0 || H5Sget_simple_extent_ndims(*in_file) != 1 ||
        H5Sselect_hyperslab(*in_file, H5S_SELECT_SET, &start, NULL, &count, NULL) < 0)
        return -1;
    *in_memory = H5Screate_simple(1, &count, NULL);
    return *in_memory < 0 ? -1 : 0;
}

int rc_hdf_put_rows(hid_t dataset, hid_t type, int64_t first, int64_t n, const void *values)
{
    hid_t in_file = -1;
    hid_t in_memory = -1;
    int result = select_rows(&in_file, &in_memory, dataset, first, n);
    if (result == 0)
        result = H5Dwrite(dataset, type, in_memory, in_file, H5P_DEFAULT, values) < 0 ? -1 : 0;
    if (in_memory >= 0)
        (void)H5Sclose(in_memory);
    if (in_file >= 0)
        (void)H5Sclose(in_file);
    return result;
}

int rc_hdf_rows(hid_t dataset, hid_t type, int64_t first, int64_t n, void *values)
{
    hid_t in_file = -1;
    hid_t in_memory = -1;
    int result = select_rows(&in_file, &in_memory, dataset, first, n);
    if (result == 0)
        result = H5Dread(dataset, type, in_memory, in_file, H5P_DEFAULT, values) < 0 ? -1 : 0;
    if (in_memory >= 0)
        (void)H5Sclose(in_memory);
    if (in_file >= 0)
        (void)H5Sclose(in_file);
    return result;
}

int rc_hdf_put_chunk(hid_t dataset, const hsize_t *at, size_t n, const uint64_t *bits)
{
    uint8_t *packed = malloc(rc_pack_room(n));
    const size_t n_packed = packed ? rc_pack_numbers(packed, bits, n) : 0;
    const int result = n_packed > 0 && H5Dwrite_chunk(dataset, H5P_DEFAULT, 0, at, n_packed, packed) >= 0 ? 0 : -1;
    free(packed);
    return result;
}

int rc_hdf_copy_chunks(hid_t to, hid_t from, int64_t first, int64_t n_chunks)
{
    int result = 0;
    char *bytes = NULL;
    hsize_t room = 0;
    for (int64_t chunk = 0; chunk < n_chunks && result == 0; chunk++) {
        const hsize_t offset = (hsize_t)chunk * RC_HDF_CHUNK;
        const hsize_t target = (hsize_t)first + offset;
        hsize_t size = 0;
        uint32_t filters = 0;
        result = H5Dget_chunk_storage_size(from, &offset, &size) < 0 || size == 0 ? -1 : 0;
        if (result == 0 && size > room) {
            free(bytes);
            bytes = malloc(size);
            room = size;
        }
        if (result == 0 && (!bytes || H5Dread_chunk(from, H5P_DEFAULT, &offset, &filters, bytes) < 0 ||
                            H5Dwrite_chunk(to, H5P_DEFAULT, filters, &target, size, bytes) < 0))
            result = -1;
    }
    free(bytes);
    return result;
}
