/* Merging: one store out of the shards of a run. Its file is made like any other (fold.h); the rows come from the shards' files,
 * one shard open at a time. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "disk.h"
#include "fold.h"
#include "hdf.h"

/* The shards, and room for a chunk of one column. */
struct merge {
    const char *const *path;
    int n;
    double *values;        /* (RC_HDF_CHUNK)     */
    int64_t *flights;      /* (RC_HDF_CHUNK)     */
    uint64_t *counts;      /* of one signal      */
};

/* One shard in work. */
struct shard {
    const char *path;
    hid_t file;
    int64_t first, n;      /* its rows in the whole */
};

static rc_status open_shard(struct shard *shard, const struct rc_store_plan *plan, struct rc_error *err)
{
    int64_t first = -1;
    shard->file = rc_hdf_open(shard->path);
    if (shard->file < 0 || rc_hdf_int(&first, shard->file, "first_flight") < 0 ||
        rc_hdf_int(&shard->n, shard->file, "flights") < 0)
        return rc_hdf_fail(err, shard->path, "the shard cannot be opened");
    if (first != shard->first || shard->n < 0 || shard->n > plan->n_flights - first)
        return rc_error_fill(err, RC_OTHER_STORE, shard->path, "holds flights from %lld on, those from %lld on come next; %s",
                             (long long)first, (long long)shard->first, "merge again");
    return RC_OK;
}

/* Chunks that need no unpacking: where a shard begins at a chunk of the whole. */
static int64_t full_chunks(const struct shard *shard)
{
    return shard->first % RC_HDF_CHUNK == 0 ? shard->n / RC_HDF_CHUNK : 0;
}

/* Rows of one column, unpacked and packed again; the whole's chunks are filled one after the other. */
static int copy_rows(const struct merge *merge, const struct rc_fold *fold, const struct shard *shard, int column, hid_t from)
{
    const int64_t skip = full_chunks(shard) * RC_HDF_CHUNK;
    const bool is_flight = column == fold->store->plan.n_columns;
    const hid_t type = is_flight ? H5T_NATIVE_INT64 : H5T_NATIVE_DOUBLE;
    void *room = is_flight ? (void *)merge->flights : (void *)merge->values;
    for (int64_t row = skip; row < shard->n;) {
        const int64_t left = RC_HDF_CHUNK - (shard->first + row) % RC_HDF_CHUNK;
        const int64_t n = shard->n - row < left ? shard->n - row : left;
        if (rc_hdf_rows(from, type, row, n, room) < 0 ||
            rc_hdf_put_rows(fold->to[column], type, shard->first + row, n, room) < 0)
            return -1;
        row += n;
    }
    return 0;
}

static int copy_column(const struct merge *merge, const struct rc_fold *fold, const struct shard *shard, int column)
{
    const struct rc_store_plan *plan = &fold->store->plan;
    const char *name = column < plan->n_columns ? plan->column[column].name : "flight";
    const hid_t from = H5Dopen2(shard->file, name, H5P_DEFAULT);
    int result = from < 0 ? -1 : rc_hdf_copy_chunks(fold->to[column], from, shard->first, full_chunks(shard));
    if (result == 0)
        result = copy_rows(merge, fold, shard, column, from);
    if (from >= 0)
        (void)H5Dclose(from);
    return result;
}

static rc_status copy_shard(const struct merge *merge, const struct rc_fold *fold, const struct shard *shard,
                            struct rc_error *err)
{
    for (int index = 0; index <= fold->store->plan.n_columns; index++) {
        if (copy_column(merge, fold, shard, index) < 0)
            return rc_hdf_fail(err, shard->path, "rows cannot be copied");
        if (fold->driver.code != 0)
            return rc_disk_status(fold->driver.code); /* the message is made at the end */
    }
    return RC_OK;
}

static rc_status put_rows(void *user, const struct rc_fold *fold, struct rc_error *err)
{
    const struct merge *merge = user;
    int64_t first = 0;
    rc_status status = RC_OK;
    for (int index = 0; index < merge->n && status == RC_OK; index++) {
        struct shard shard = {.path = merge->path[index], .file = -1, .first = first};
        status = open_shard(&shard, &fold->store->plan, err);
        if (status == RC_OK)
            status = copy_shard(merge, fold, &shard, err);
        first += shard.n;
        if (shard.file >= 0)
            (void)H5Fclose(shard.file);
    }
    if (status == RC_OK && first != fold->n_rows)
        status = rc_error_fill(err, RC_OTHER_STORE, fold->store->path, "%lld of %lld flights were found; merge again",
                               (long long)first, (long long)fold->n_rows);
    return status;
}

/* Add the counts of one shard to the whole's. */
static int add_counts(const struct merge *merge, struct rc_store *store, const char *path)
{
    const struct rc_store_plan *plan = &store->plan;
    const size_t n_counts = (size_t)plan->n_times * (size_t)plan->n_bins;
    const hid_t file = rc_hdf_open(path);
    int result = file < 0 ? -1 : 0;
    for (int signal = 0; signal < plan->n_signals && result == 0; signal++) {
        char name[RC_STORE_MAX_NAME + 32];
        (void)snprintf(name, sizeof name, "bands/%s/counts", plan->signal[signal].name);
        const hid_t dataset = H5Dopen2(file, name, H5P_DEFAULT);
        const hid_t space = dataset < 0 ? -1 : H5Dget_space(dataset);
        if (space < 0 || H5Sget_simple_extent_npoints(space) != (hssize_t)n_counts ||
            H5Dread(dataset, H5T_NATIVE_UINT64, H5S_ALL, H5S_ALL, H5P_DEFAULT, merge->counts) < 0)
            result = -1;
        for (size_t index = 0; index < n_counts && result == 0; index++)
            store->counts[(size_t)signal * n_counts + index] += merge->counts[index];
        if (space >= 0)
            (void)H5Sclose(space);
        if (dataset >= 0)
            (void)H5Dclose(dataset);
    }
    if (file >= 0)
        (void)H5Fclose(file);
    return result;
}

/* When the first of them was begun. */
static rc_status take_time(struct rc_store *store, const struct merge *merge, struct rc_error *err)
{
    for (int index = 0; index < merge->n; index++) {
        char *created = NULL;
        const hid_t file = rc_hdf_open(merge->path[index]);
        const int result = file < 0 ? -1 : rc_hdf_text(&created, file, "created");
        if (file >= 0)
            (void)H5Fclose(file);
        if (result < 0)
            return rc_hdf_fail(err, merge->path[index], "the shard cannot be opened");
        if (store->created && strcmp(store->created, created) <= 0) {
            free(created);
            continue;
        }
        free(store->created);
        store->created = created;
    }
    return RC_OK;
}

static rc_status gather(struct rc_store *store, const struct merge *merge, struct rc_error *err)
{
    const struct rc_fold_source source = {.n_rows = store->plan.n_flights, .put = put_rows, .user = (void *)merge};
    rc_status status = take_time(store, merge, err);
    for (int index = 0; index < merge->n && status == RC_OK; index++)
        if (add_counts(merge, store, merge->path[index]) < 0)
            status = rc_hdf_fail(err, merge->path[index], "the counts of the percentile bands cannot be read");
    return status == RC_OK ? rc_fold_file(store, &source, true, err) : status;
}

rc_status rc_store_merge(const char *path, const struct rc_store_plan *plan, const char *const *shard, int n_shards,
                         struct rc_error *err)
{
    struct rc_hdf_quiet quiet;
    rc_hdf_silence(&quiet);
    struct rc_store *store = NULL;
    struct merge merge = {.path = shard, .n = n_shards};
    rc_status status = rc_store_refuse(path, NULL, err);
    if (status == RC_OK)
        status = rc_store_begin(&store, path, plan, err);
    if (status == RC_OK) /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): rc_store_begin sets it where it ends well */
        status = rc_store_refuse(path, store->journal_path, err);
    if (status != RC_OK)
        goto done;
    merge.values = malloc(RC_HDF_CHUNK * sizeof *merge.values);
    merge.flights = malloc(RC_HDF_CHUNK * sizeof *merge.flights);
    merge.counts = malloc(((size_t)plan->n_times * (size_t)plan->n_bins + 1) * sizeof *merge.counts);
    status = merge.values && merge.flights && merge.counts ? gather(store, &merge, err)
                                                           : rc_error_fill(err, RC_NO_MEMORY, path, "no memory to merge");
done:
    free(merge.values);
    free(merge.flights);
    free(merge.counts);
    rc_store_free(store);
    rc_hdf_restore(&quiet);
    return status;
}
