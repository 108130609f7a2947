/* Making a store's HDF5 file: facts, campaign, lists, columns to be filled, bands; then seal, flush and rename. */
#include "fold.h"

#include <hdf5_hl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "disk.h"
#include "hdf.h"
#include "rollcast/status.h"
#include "seal.h"

/* Which part of a run it is. */
static int put_shard(hid_t file, const struct rc_shard *shard)
{
    if (shard->count == 0)
        return 0;
    return rc_hdf_put_int(file, "shard", shard->number) < 0 || rc_hdf_put_int(file, "shards", shard->count) < 0 ||
                   rc_hdf_put_int(file, "first_flight", shard->first) < 0 ||
                   rc_hdf_put_int(file, "run_flights", shard->whole) < 0
               ? -1
               : 0;
}

static int put_facts(const struct rc_fold *fold, bool is_finished)
{
    const struct rc_store_plan *plan = &fold->store->plan;
    const hid_t file = fold->file;
    const int64_t asked = fold->n_rows > plan->n_flights ? fold->n_rows : plan->n_flights;
    return rc_hdf_put_text(file, "format", plan->shard.count > 0 ? RC_SHARD_FORMAT : RC_STORE_FORMAT) < 0 ||
                   rc_hdf_put_int(file, "format_version", RC_STORE_FORMAT_VERSION) < 0 ||
                   rc_hdf_put_text(file, "campaign", plan->campaign_name) < 0 ||
                   rc_hdf_put_word(file, "fingerprint", plan->fingerprint) < 0 || rc_hdf_put_word(file, "seed", plan->seed) < 0 ||
                   rc_hdf_put_int(file, "flights", fold->n_rows) < 0 || rc_hdf_put_int(file, "flights_asked", asked) < 0 ||
                   rc_hdf_put_int(file, "finished", is_finished ? 1 : 0) < 0 ||
                   rc_hdf_put_text(file, "version", plan->version) < 0 ||
                   rc_hdf_put_text(file, "created", fold->store->created) < 0 ||
                   rc_hdf_put_text(file, "host", plan->host_facts) < 0 ||
                   (plan->run_rule[0] != '\0' && rc_hdf_put_text(file, "run_rule", plan->run_rule) < 0)
               ? -1
               : 0;
}

/* campaign/text and campaign/table_1 ..: the bundle, so that the store explains itself. */
static int put_bundle(const struct rc_fold *fold)
{
    const struct rc_bundle *bundle = fold->store->plan.bundle;
    int result = rc_hdf_put_int(fold->file, "campaign_files", bundle->n_files);
    for (int index = 0; index < bundle->n_files && result == 0; index++) {
        const struct rc_bundle_file *from = &bundle->file[index];
        char path[32];
        if (index == 0)
            (void)snprintf(path, sizeof path, "campaign/text");
        else
            (void)snprintf(path, sizeof path, "campaign/table_%d", index);
        result = rc_hdf_put_file(fold->file, path, from->name, from->bytes, from->n_bytes);
    }
    return result;
}

/* An array of names, in the order in which they were given: HDF5 itself lists them by alphabet. */
static int put_names(hid_t file, const char *path, int n, const char *const *names)
{
    int result = -1;
    hid_t dataset = -1;
    const hid_t type = H5Tcopy(H5T_C_S1);
    char *texts = calloc((size_t)n, RC_STORE_MAX_NAME);
    if (type < 0 || !texts || H5Tset_size(type, RC_STORE_MAX_NAME) < 0 || H5Tset_cset(type, H5T_CSET_UTF8) < 0)
        goto done;
    for (int index = 0; index < n; index++)
        (void)snprintf(texts + (size_t)index * RC_STORE_MAX_NAME, RC_STORE_MAX_NAME, "%s", names[index]);
    dataset = rc_hdf_put_array(file, path, type, (hsize_t[2]){(hsize_t)n, 0}, texts);
    if (dataset >= 0)
        result = H5Dclose(dataset) < 0 ? -1 : 0;
done:
    free(texts);
    if (type >= 0)
        (void)H5Tclose(type);
    return result;
}

static int put_lists(const struct rc_fold *fold)
{
    const struct rc_store_plan *plan = &fold->store->plan;
    const char *names[RC_STORE_MAX_COLUMNS];
    for (int index = 0; index < plan->n_columns; index++)
        names[index] = plan->column[index].name;
    if (put_names(fold->file, "columns", plan->n_columns, names) < 0)
        return -1;
    for (int index = 0; index < plan->n_signals; index++)
        names[index] = plan->signal[index].name;
    return plan->n_times > 0 ? put_names(fold->file, "bands/signals", plan->n_signals, names) : 0;
}

/* Make the columns, each with the flight number as its scale. */
static int make_columns(const struct rc_fold *fold)
{
    const struct rc_store_plan *plan = &fold->store->plan;
    const hsize_t dims = (hsize_t)fold->n_rows;
    const hsize_t chunk = RC_HDF_CHUNK;
    hid_t *scale = &fold->to[plan->n_columns];
    *scale = rc_hdf_array(fold->file, "flight", H5T_STD_I64LE, 1, &dims, &chunk);
    if (*scale < 0 || rc_hdf_put_text(*scale, "units", "1") < 0 || rc_hdf_put_text(*scale, "long_name", "flight number") < 0 ||
        H5DSset_scale(*scale, "flight") < 0)
        return -1;
    for (int index = 0; index < plan->n_columns; index++) {
        const struct rc_store_column *column = &plan->column[index];
        fold->to[index] = rc_hdf_array(fold->file, column->name, H5T_IEEE_F64LE, 1, &dims, &chunk);
        if (fold->to[index] < 0 || rc_hdf_put_text(fold->to[index], "units", column->unit) < 0 ||
            rc_hdf_put_text(fold->to[index], "long_name", column->long_name) < 0 ||
            H5DSattach_scale(fold->to[index], *scale, 0) < 0)
            return -1;
    }
    return 0;
}

static rc_status begin(struct rc_fold *fold, struct rc_error *err)
{
    const struct rc_store *store = fold->store;
    const size_t n = (size_t)store->plan.n_columns + 1;
    fold->to = malloc(n * sizeof *fold->to);
    if (!fold->to)
        return rc_error_fill(err, RC_NO_MEMORY, store->path, "no memory for the columns of a new file");
    for (size_t index = 0; index < n; index++)
        fold->to[index] = -1;
    (void)unlink(store->temporary_path); /* ours, left by a killed process: the lock is held */
    fold->file = rc_hdf_driver_create(&fold->driver, store->temporary_path, RC_SEAL_BYTES);
    return fold->file < 0 ? rc_hdf_fail(err, store->temporary_path, "cannot be made") : RC_OK;
}

static rc_status fill(struct rc_fold *fold, const struct rc_fold_source *source, bool is_finished, struct rc_error *err)
{
    const struct rc_store *store = fold->store;
    rc_status status = begin(fold, err);
    if (status != RC_OK)
        return status;
    if (put_facts(fold, is_finished) < 0 || put_shard(fold->file, &store->plan.shard) < 0 || put_bundle(fold) < 0 ||
        put_lists(fold) < 0 || make_columns(fold) < 0)
        return rc_hdf_fail(err, store->temporary_path, "columns cannot be made");
    status = source->put(source->user, fold, err);
    if (status != RC_OK)
        return status;
    if (rc_store_bands_write(fold->file, &store->plan, fold->n_rows > 0 ? store->counts : NULL) < 0)
        return rc_hdf_fail(err, store->temporary_path, "percentile bands cannot be written");
    return RC_OK;
}

/* Close everything; the file last. ends negative if anything could not be closed */
static int release(struct rc_fold *fold)
{
    int result = 0;
    for (int index = 0; fold->to && index <= fold->store->plan.n_columns; index++)
        if (fold->to[index] >= 0 && H5Dclose(fold->to[index]) < 0)
            result = -1;
    if (fold->file >= 0 && H5Fclose(fold->file) < 0)
        result = -1;
    free(fold->to);
    return result;
}

rc_status rc_fold_file(const struct rc_store *store, const struct rc_fold_source *source, bool is_finished, struct rc_error *err)
{
    struct rc_hdf_quiet quiet;
    rc_hdf_silence(&quiet);
    struct rc_fold fold = {.store = store, .n_rows = source->n_rows, .file = -1, .driver = {.id = -1}};
    rc_status status = fill(&fold, source, is_finished, err);
    if (release(&fold) < 0 && status == RC_OK)
        status = rc_hdf_fail(err, store->temporary_path, "cannot be closed");
    rc_hdf_driver_end(&fold.driver);
    if (fold.driver.code != 0) /* HDF5 does not know, see hdf_driver.h */
        status = rc_disk_fail(err, store->temporary_path, "cannot be written", fold.driver.code);
    if (status == RC_OK)
        status = rc_seal_write(store->temporary_path, err);
    if (status == RC_OK)
        status = rc_file_sync(store->temporary_path, err);
    if (status == RC_OK)
        status = rc_file_replace(store->temporary_path, store->path, err);
    if (status != RC_OK)
        (void)unlink(store->temporary_path);
    rc_hdf_restore(&quiet);
    return status;
}
