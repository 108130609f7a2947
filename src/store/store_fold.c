/* Folding: a new HDF5 file from the old one and the journal, put in the old one's place when it is whole.
 * Full chunks of the old file are copied packed as they are; only the rows after them are packed. */
#include <stdlib.h>
#include <string.h>

#include "disk.h"
#include "fold.h"
#include "hdf.h"

/* The rows' sources, and room for a chunk of them. Columns of the old file are open one at a time, for HDF5 keeps a chunk of each
 * that is open. */
struct rows {
    hid_t old;             /* -1 = none                        */
    double *window;        /* (RC_HDF_CHUNK x n_columns) rows  */
    uint64_t *bits;        /* (RC_HDF_CHUNK) of one column     */
    int64_t *flights;      /* (RC_HDF_CHUNK)                   */
};

static hid_t open_old(const struct rows *rows, const struct rc_store *store, int column)
{
    return H5Dopen2(rows->old, column < store->plan.n_columns ? store->plan.column[column].name : "flight", H5P_DEFAULT);
}

/* The full chunks of one column, as they are. */
static int copy_chunks(const struct rows *rows, const struct rc_fold *fold, int column, int64_t n_chunks)
{
    const hid_t from = open_old(rows, fold->store, column);
    const int result = from < 0 ? -1 : rc_hdf_copy_chunks(fold->to[column], from, 0, n_chunks);
    if (from >= 0)
        (void)H5Dclose(from);
    return result;
}

/* Rows of the old file. out rows->bits (n) */
static int read_old(const struct rows *rows, const struct rc_store *store, int column, int64_t first, int64_t n)
{
    const hid_t from = open_old(rows, store, column);
    const int result = from < 0 ? -1 : rc_hdf_rows(from, H5T_NATIVE_DOUBLE, first, n, rows->bits);
    if (from >= 0)
        (void)H5Dclose(from);
    return result;
}

/* Rows first .. first+n-1 of one column: the old file's part and the journal's part from the window. */
static int put_window(const struct rows *rows, const struct rc_fold *fold, int column, int64_t first, int64_t n)
{
    const struct rc_store *store = fold->store;
    const int n_columns = store->plan.n_columns;
    const int64_t n_old = store->n_folded > first ? store->n_folded - first : 0;
    if (column == n_columns) {
        for (int64_t row = 0; row < n; row++)
            rows->flights[row] = store->plan.shard.first + first + row;
        return rc_hdf_put_rows(fold->to[column], H5T_NATIVE_INT64, first, n, rows->flights);
    }
    if (n_old > 0 && read_old(rows, store, column, first, n_old) < 0)
        return -1;
    for (int64_t row = n_old; row < n; row++)
        memcpy(&rows->bits[row], &rows->window[(row - n_old) * n_columns + column], sizeof *rows->bits);
    memset(rows->bits + n, 0, (size_t)(RC_HDF_CHUNK - n) * sizeof *rows->bits);
    const hsize_t at = (hsize_t)first;
    return rc_hdf_put_chunk(fold->to[column], &at, RC_HDF_CHUNK, rows->bits);
}

static rc_status put_rows(void *user, const struct rc_fold *fold, struct rc_error *err)
{
    const struct rows *rows = user;
    const struct rc_store *store = fold->store;
    const int64_t n_full = store->n_folded / RC_HDF_CHUNK;
    for (int index = 0; index <= store->plan.n_columns && n_full > 0; index++)
        if (copy_chunks(rows, fold, index, n_full) < 0)
            return rc_hdf_fail(err, store->temporary_path, "stored rows cannot be copied");
    for (int64_t first = n_full * RC_HDF_CHUNK; first < fold->n_rows; first += RC_HDF_CHUNK) {
        const int64_t n = fold->n_rows - first < RC_HDF_CHUNK ? fold->n_rows - first : RC_HDF_CHUNK;
        const int64_t begin = first > store->n_folded ? first : store->n_folded;
        const rc_status status = begin < first + n
                                     ? rc_journal_rows(&store->journal, begin, first + n - begin, rows->window, err)
                                     : RC_OK;
        if (status != RC_OK)
            return status;
        for (int index = 0; index <= store->plan.n_columns; index++)
            if (put_window(rows, fold, index, first, n) < 0)
                return rc_hdf_fail(err, store->temporary_path, "rows cannot be written");
        if (fold->driver.code != 0)
            return rc_disk_status(fold->driver.code); /* the message is made at the end */
    }
    return RC_OK;
}

static rc_status allocate(struct rows *rows, const struct rc_store *store, struct rc_error *err)
{
    rows->window = malloc(RC_HDF_CHUNK * (size_t)store->plan.n_columns * sizeof *rows->window);
    rows->bits = malloc(RC_HDF_CHUNK * sizeof *rows->bits);
    rows->flights = malloc(RC_HDF_CHUNK * sizeof *rows->flights);
    return rows->window && rows->bits && rows->flights
               ? RC_OK
               : rc_error_fill(err, RC_NO_MEMORY, store->path, "no memory to fold the journal");
}

rc_status rc_store_fold_write(const struct rc_store *store, bool is_finished, struct rc_error *err)
{
    struct rc_hdf_quiet quiet;
    rc_hdf_silence(&quiet);
    struct rows rows = {.old = -1};
    const struct rc_fold_source source = {.n_rows = store->journal.file >= 0 ? store->journal.next : store->n_folded,
                                          .put = put_rows,
                                          .user = &rows};
    rc_status status = allocate(&rows, store, err);
    if (status == RC_OK && store->asked_on_disk >= 0) {
        rows.old = rc_hdf_open(store->path);
        if (rows.old < 0)
            status = rc_hdf_fail(err, store->path, "the store cannot be opened");
    }
    if (status == RC_OK)
        status = rc_fold_file(store, &source, is_finished, err);
    if (rows.old >= 0)
        (void)H5Fclose(rows.old);
    free(rows.window);
    free(rows.bits);
    free(rows.flights);
    rc_hdf_restore(&quiet);
    return status;
}
