/* Reading what a store says of itself. Any file may be offered as one: the seal is checked first, and even then nothing is
 * taken to have the shape it should have. */
#include "facts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "hdf.h"
#include "seal.h"

static rc_status open_hdf(hid_t *file, const char *path, struct rc_error *err)
{
    *file = rc_hdf_open(path);
    if (*file >= 0)
        return RC_OK;
    (void)rc_hdf_fail(err, path, "cannot be opened as HDF5");
    if (err)
        err->status = RC_NOT_STORE;
    return RC_NOT_STORE;
}

/* One-dimensional or two-dimensional extents of a dataset; the second 1 where it has none. */
static int extents(hsize_t dims[2], hid_t file, const char *path)
{
    int result = -1;
    hid_t space = -1;
    const hid_t dataset = H5Dopen2(file, path, H5P_DEFAULT);
    dims[1] = 1;
    if (dataset < 0)
        goto done;
    space = H5Dget_space(dataset);
    const int n_dims = space < 0 ? -1 : H5Sget_simple_extent_ndims(space);
    if ((n_dims == 1 || n_dims == 2) && H5Sget_simple_extent_dims(space, dims, NULL) >= 0)
        result = n_dims;
done:
    if (space >= 0)
        (void)H5Sclose(space);
    if (dataset >= 0)
        (void)H5Dclose(dataset);
    return result;
}

/* Read a list of names. out rows  calloc'ed, names filled. ends their number, or negative */
static int read_names(struct rc_facts_row **rows, hid_t file, const char *path, int n_max)
{
    hsize_t dims[2] = {0, 0};
    int result = -1;
    char *texts = NULL;
    struct rc_facts_row *read = NULL;
    const hid_t dataset = H5Dopen2(file, path, H5P_DEFAULT);
    const hid_t type = dataset < 0 ? -1 : H5Dget_type(dataset);
    if (type < 0 || extents(dims, file, path) != 1 || dims[0] < 1 || dims[0] > (hsize_t)n_max ||
        H5Tget_class(type) != H5T_STRING || H5Tis_variable_str(type) != 0 || H5Tget_size(type) != RC_STORE_MAX_NAME)
        goto done;
    texts = calloc((size_t)dims[0], RC_STORE_MAX_NAME);
    read = calloc((size_t)dims[0], sizeof *read);
    if (!texts || !read || H5Dread(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, texts) < 0)
        goto done;
    for (size_t index = 0; index < dims[0]; index++)
        (void)snprintf(read[index].name, RC_STORE_MAX_NAME, "%.*s", RC_STORE_MAX_NAME - 1, texts + index * RC_STORE_MAX_NAME);
    *rows = read;
    read = NULL;
    result = (int)dims[0];
done:
    free(read);
    free(texts);
    if (type >= 0)
        (void)H5Tclose(type);
    if (dataset >= 0)
        (void)H5Dclose(dataset);
    return result;
}

/* Unit and long name of a dataset. */
static int read_labels(struct rc_facts_row *row, hid_t file, const char *path)
{
    const hid_t dataset = H5Dopen2(file, path, H5P_DEFAULT);
    if (dataset < 0)
        return -1;
    const int result = rc_hdf_text(&row->unit, dataset, "units") < 0 ? -1 : rc_hdf_text(&row->long_name, dataset, "long_name");
    (void)H5Dclose(dataset);
    return result;
}

static int read_columns(struct rc_facts *facts, hid_t file)
{
    facts->n_columns = read_names(&facts->column, file, "columns", RC_STORE_MAX_COLUMNS);
    if (facts->n_columns < 0)
        facts->n_columns = 0;
    for (int index = 0; index < facts->n_columns; index++) {
        hsize_t dims[2];
        const char *name = facts->column[index].name;
        if (extents(dims, file, name) != 1 || dims[0] != (hsize_t)facts->flights ||
            read_labels(&facts->column[index], file, name) < 0)
            return -1;
    }
    return facts->n_columns > 0 ? 0 : -1;
}

static int read_signals(struct rc_facts *facts, hid_t file)
{
    const htri_t has_bands = H5Lexists(file, "bands", H5P_DEFAULT);
    if (has_bands <= 0)
        return has_bands < 0 ? -1 : 0;
    facts->n_signals = read_names(&facts->signal, file, "bands/signals", RC_STORE_MAX_SIGNALS);
    if (facts->n_signals < 0)
        facts->n_signals = 0;
    for (int index = 0; index < facts->n_signals; index++) {
        hsize_t dims[2];
        char path[RC_STORE_MAX_NAME + 32];
        (void)snprintf(path, sizeof path, "bands/%s/counts", facts->signal[index].name);
        if (extents(dims, file, path) != 2 || dims[0] < 1 || dims[0] > RC_MAX_BAND_TIMES || dims[1] < 1 ||
            dims[1] > RC_STORE_MAX_BINS)
            return -1;
        if (index > 0 && (dims[0] != (hsize_t)facts->n_times || dims[1] != (hsize_t)facts->n_bins))
            return -1;
        facts->n_times = (int)dims[0];
        facts->n_bins = (int)dims[1];
        (void)snprintf(path, sizeof path, "bands/%s/percentiles", facts->signal[index].name);
        if (read_labels(&facts->signal[index], file, path) < 0)
            return -1;
    }
    return facts->n_signals > 0 ? 0 : -1;
}

/* Is it one of ours, and of a version that this program knows? */
static rc_status check_format(hid_t file, const char *path, struct rc_error *err)
{
    char *format = NULL;
    int64_t version = 0;
    rc_status status = RC_OK;
    if (H5Aexists(file, "format") <= 0 || rc_hdf_text(&format, file, "format") < 0 ||
        (strcmp(format, RC_STORE_FORMAT) != 0 && strcmp(format, RC_SHARD_FORMAT) != 0))
        status = rc_error_fill(err, RC_NOT_STORE, path, "is an HDF5 file but not a store: it has no attribute format = %s",
                               RC_STORE_FORMAT);
    else if (rc_hdf_int(&version, file, "format_version") < 0 || version != RC_STORE_FORMAT_VERSION)
        status = rc_error_fill(err, RC_NOT_STORE, path,
                               "is a store of format %lld, this program reads format %d; use the version that wrote it",
                               (long long)version, RC_STORE_FORMAT_VERSION);
    free(format);
    return status;
}

/* Stores that can only end at their number of flights, and those of older versions, have none. */
static int read_run_rule(struct rc_facts *facts, hid_t file)
{
    if (H5Aexists(file, "run_rule") > 0)
        return rc_hdf_text(&facts->run_rule, file, "run_rule");
    facts->run_rule = calloc(1, 1);
    return facts->run_rule ? 0 : -1;
}

/* Whole stores have none of these. */
static int read_shard(struct rc_facts *facts, hid_t file)
{
    struct rc_shard *shard = &facts->shard;
    int64_t number = 0;
    int64_t count = 0;
    if (H5Aexists(file, "shard") <= 0)
        return 0;
    if (rc_hdf_int(&number, file, "shard") < 0 || rc_hdf_int(&count, file, "shards") < 0 ||
        rc_hdf_int(&shard->first, file, "first_flight") < 0 || rc_hdf_int(&shard->whole, file, "run_flights") < 0 || number < 1 ||
        number > count || count > RC_MAX_SHARDS || shard->first < 0 || shard->whole > RC_MAX_FLIGHTS ||
        facts->asked > shard->whole - shard->first)
        return -1;
    shard->number = (int)number;
    shard->count = (int)count;
    return 0;
}

static int read_facts(struct rc_facts *facts, hid_t file)
{
    int64_t finished = 0;
    if (rc_hdf_int(&facts->flights, file, "flights") < 0 || rc_hdf_int(&facts->asked, file, "flights_asked") < 0 ||
        rc_hdf_int(&finished, file, "finished") < 0 || rc_hdf_word(&facts->fingerprint, file, "fingerprint") < 0 ||
        rc_hdf_word(&facts->seed, file, "seed") < 0 || rc_hdf_text(&facts->campaign, file, "campaign") < 0 ||
        rc_hdf_text(&facts->version, file, "version") < 0 || rc_hdf_text(&facts->created, file, "created") < 0 ||
        rc_hdf_text(&facts->host, file, "host") < 0 || read_run_rule(facts, file) < 0)
        return -1;
    facts->is_finished = finished != 0;
    if (facts->flights < 0 || facts->flights > RC_MAX_FLIGHTS || facts->asked < facts->flights)
        return -1;
    if (read_shard(facts, file) < 0)
        return -1;
    return read_columns(facts, file) < 0 ? -1 : read_signals(facts, file);
}

rc_status rc_facts_open(hid_t *file, struct rc_facts *facts, const char *path, struct rc_error *err)
{
    *facts = (struct rc_facts){0};
    *file = -1;
    hid_t opened = -1;
    rc_status status = rc_seal_check(path, err);
    if (status == RC_OK)
        status = open_hdf(&opened, path, err);
    if (status == RC_OK)
        status = check_format(opened, path, err);
    if (status == RC_OK && read_facts(facts, opened) < 0)
        status = rc_error_fill(err, RC_NOT_STORE, path,
                               "is a damaged store: what it says of itself is not whole; use a copy or fly again");
    if (status == RC_OK)
        *file = opened;
    else if (opened >= 0)
        (void)H5Fclose(opened);
    return status;
}

static void free_rows(struct rc_facts_row *rows, int n)
{
    for (int index = 0; rows && index < n; index++) {
        free(rows[index].unit);
        free(rows[index].long_name);
    }
    free(rows);
}

void rc_facts_free(struct rc_facts *facts)
{
    free_rows(facts->column, facts->n_columns);
    free_rows(facts->signal, facts->n_signals);
    free(facts->campaign);
    free(facts->version);
    free(facts->created);
    free(facts->host);
    free(facts->run_rule);
    *facts = (struct rc_facts){0};
}

uint64_t rc_facts_hash_shard(uint64_t hash, const struct rc_shard *shard)
{
    const int64_t key[4] = {shard->number, shard->count, shard->first, shard->whole};
    return shard->count > 0 ? rc_hash_bytes(hash, key, sizeof key) : hash;
}

struct rc_journal_shape rc_facts_shape(const struct rc_facts *facts)
{
    uint64_t hash = RC_FNV_START;
    for (int index = 0; index < facts->n_columns; index++) {
        hash = rc_hash_bytes(hash, facts->column[index].name, strlen(facts->column[index].name) + 1);
        hash = rc_hash_bytes(hash, facts->column[index].unit, strlen(facts->column[index].unit) + 1);
    }
    hash = rc_facts_hash_shard(hash, &facts->shard);
    return (struct rc_journal_shape){.fingerprint = facts->fingerprint, .seed = facts->seed, .columns = hash,
                                     .n_columns = (uint32_t)facts->n_columns, .n_signals = (uint32_t)facts->n_signals,
                                     .n_times = (uint32_t)facts->n_times};
}

int rc_facts_counts(uint64_t *counts, hid_t file, const struct rc_facts *facts, int signal)
{
    char path[RC_STORE_MAX_NAME + 32];
    (void)snprintf(path, sizeof path, "bands/%s/counts", facts->signal[signal].name);
    const hid_t dataset = H5Dopen2(file, path, H5P_DEFAULT);
    if (dataset < 0)
        return -1;
    const int result = H5Dread(dataset, H5T_NATIVE_UINT64, H5S_ALL, H5S_ALL, H5P_DEFAULT, counts) < 0 ? -1 : 0;
    (void)H5Dclose(dataset);
    return result;
}
