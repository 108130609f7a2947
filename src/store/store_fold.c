/* Folding: a new HDF5 file from the old one and the journal, put in the old one's place when it is whole.
 * Full chunks of the old file are copied packed as they are; only the rows after them go through HDF5's filters. */
#include <hdf5_hl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "disk.h"
#include "hdf.h"
#include "hdf_driver.h"
#include "rollcast/status.h"
#include "seal.h"
#include "store_state.h"

/* One fold in work. Column n_columns of each list is the flight number. */
struct fold {
    const struct rc_store *store;
    int64_t n_rows;        /* of the new file                  */
    hid_t old, file;       /* -1 = none                        */
    struct rc_hdf_driver driver;
    hid_t *from, *to;      /* (n_columns + 1) datasets         */
    double *window;        /* (RC_HDF_CHUNK x n_columns) rows  */
    double *values;        /* (RC_HDF_CHUNK) of one column     */
    int64_t *flights;      /* (RC_HDF_CHUNK)                   */
};

static int put_facts(const struct fold *fold, bool is_finished)
{
    const struct rc_store_plan *plan = &fold->store->plan;
    const hid_t file = fold->file;
    const int64_t asked = fold->n_rows > plan->n_flights ? fold->n_rows : plan->n_flights;
    return rc_hdf_put_text(file, "format", RC_STORE_FORMAT) < 0 ||
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
static int put_bundle(const struct fold *fold)
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

static int put_lists(const struct fold *fold)
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

/* Make the columns, each with the flight number as its scale, and open their counterparts in the old file. */
static int open_columns(struct fold *fold)
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
    for (int index = 0; index <= plan->n_columns && fold->old >= 0; index++) {
        fold->from[index] = H5Dopen2(fold->old, index < plan->n_columns ? plan->column[index].name : "flight", H5P_DEFAULT);
        if (fold->from[index] < 0)
            return -1;
    }
    return 0;
}

/* Rows first .. first+n-1 of one column: the old file's part and the journal's part from the window. */
static int put_window(const struct fold *fold, int column, int64_t first, int64_t n)
{
    const int n_columns = fold->store->plan.n_columns;
    const int64_t n_old = fold->store->n_folded > first ? fold->store->n_folded - first : 0;
    if (column == n_columns) {
        for (int64_t row = 0; row < n; row++)
            fold->flights[row] = first + row;
        return rc_hdf_put_rows(fold->to[column], H5T_NATIVE_INT64, first, n, fold->flights);
    }
    /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): there are old rows only if there is an old file */
    if (n_old > 0 && rc_hdf_rows(fold->from[column], H5T_NATIVE_DOUBLE, first, n_old, fold->values) < 0)
        return -1;
    for (int64_t row = n_old; row < n; row++)
        fold->values[row] = fold->window[(row - n_old) * n_columns + column];
    return rc_hdf_put_rows(fold->to[column], H5T_NATIVE_DOUBLE, first, n, fold->values);
}

static rc_status put_rows(const struct fold *fold, struct rc_error *err)
{
    const struct rc_store *store = fold->store;
    const int64_t n_full = store->n_folded / RC_HDF_CHUNK;
    for (int index = 0; index <= store->plan.n_columns && n_full > 0; index++)
        /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): the lists stand wherever allocate ended well */
        if (rc_hdf_copy_chunks(fold->to[index], fold->from[index], n_full) < 0)
            return rc_hdf_fail(err, store->temporary_path, "stored rows cannot be copied");
    for (int64_t first = n_full * RC_HDF_CHUNK; first < fold->n_rows; first += RC_HDF_CHUNK) {
        const int64_t n = fold->n_rows - first < RC_HDF_CHUNK ? fold->n_rows - first : RC_HDF_CHUNK;
        const int64_t begin = first > store->n_folded ? first : store->n_folded;
        const rc_status status = begin < first + n
                                     ? rc_journal_rows(&store->journal, begin, first + n - begin, fold->window, err)
                                     : RC_OK;
        if (status != RC_OK)
            return status;
        for (int index = 0; index <= store->plan.n_columns; index++)
            if (put_window(fold, index, first, n) < 0)
                return rc_hdf_fail(err, store->temporary_path, "rows cannot be written");
        if (fold->driver.code != 0)
            return rc_disk_status(fold->driver.code); /* the message is made at the end */
    }
    return RC_OK;
}

static rc_status allocate(struct fold *fold, struct rc_error *err)
{
    const size_t n = (size_t)fold->store->plan.n_columns + 1;
    fold->from = malloc(n * sizeof *fold->from);
    fold->to = malloc(n * sizeof *fold->to);
    fold->window = malloc(RC_HDF_CHUNK * n * sizeof *fold->window);
    fold->values = malloc(RC_HDF_CHUNK * sizeof *fold->values);
    fold->flights = malloc(RC_HDF_CHUNK * sizeof *fold->flights);
    if (!fold->from || !fold->to || !fold->window || !fold->values || !fold->flights) {
        free(fold->from); /* NULL tells release() that no ids stand in the lists */
        fold->from = NULL;
        return rc_error_fill(err, RC_NO_MEMORY, fold->store->path, "no memory to fold the journal");
    }
    for (size_t index = 0; index < n; index++)
        fold->from[index] = fold->to[index] = -1;
    return RC_OK;
}

/* Close everything; the new file last. ends negative if anything of the new file could not be closed */
static int release(struct fold *fold)
{
    int result = 0;
    for (int index = 0; fold->from && index <= fold->store->plan.n_columns; index++) {
        if (fold->to[index] >= 0 && H5Dclose(fold->to[index]) < 0)
            result = -1;
        if (fold->from[index] >= 0)
            (void)H5Dclose(fold->from[index]);
    }
    if (fold->old >= 0)
        (void)H5Fclose(fold->old);
    if (fold->file >= 0 && H5Fclose(fold->file) < 0)
        result = -1;
    free(fold->from);
    free(fold->to);
    free(fold->window);
    free(fold->values);
    free(fold->flights);
    return result;
}

static rc_status open_files(struct fold *fold, struct rc_error *err)
{
    const struct rc_store *store = fold->store;
    (void)unlink(store->temporary_path); /* ours, left by a killed process: the lock is held */
    if (store->asked_on_disk >= 0) {
        fold->old = H5Fopen(store->path, H5F_ACC_RDONLY, H5P_DEFAULT);
        if (fold->old < 0)
            return rc_hdf_fail(err, store->path, "the store cannot be opened");
    }
    fold->file = rc_hdf_driver_create(&fold->driver, store->temporary_path, RC_SEAL_BYTES);
    return fold->file < 0 ? rc_hdf_fail(err, store->temporary_path, "cannot be made") : RC_OK;
}

static rc_status fill(struct fold *fold, bool is_finished, struct rc_error *err)
{
    const struct rc_store *store = fold->store;
    rc_status status = allocate(fold, err);
    if (status == RC_OK)
        status = open_files(fold, err);
    if (status != RC_OK)
        return status;
    if (put_facts(fold, is_finished) < 0 || put_bundle(fold) < 0 || put_lists(fold) < 0 || open_columns(fold) < 0)
        return rc_hdf_fail(err, store->temporary_path, "columns cannot be made");
    status = put_rows(fold, err);
    if (status != RC_OK)
        return status;
    if (rc_store_bands_write(fold->file, &store->plan, store->counts, fold->n_rows == 0) < 0)
        return rc_hdf_fail(err, store->temporary_path, "percentile bands cannot be written");
    return RC_OK;
}

rc_status rc_store_fold_write(const struct rc_store *store, bool is_finished, struct rc_error *err)
{
    struct rc_hdf_quiet quiet;
    rc_hdf_silence(&quiet);
    struct fold fold = {.store = store, .old = -1, .file = -1, .driver = {.id = -1}};
    fold.n_rows = store->journal.file >= 0 ? store->journal.next : store->n_folded;
    rc_status status = fill(&fold, is_finished, err);
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
