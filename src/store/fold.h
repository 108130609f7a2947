/* A new HDF5 file of a store: made whole beside its place and put there when it is good. Where its rows come from is the
 * caller's: the old file and the journal (store_fold.c), or shards (store_merge.c). */
#ifndef RC_FOLD_H
#define RC_FOLD_H

#include "hdf_driver.h"
#include "store_state.h"

/* One file in work. */
struct rc_fold {
    const struct rc_store *store;
    int64_t n_rows;
    hid_t file;
    struct rc_hdf_driver driver;
    hid_t *to;                     /* (n_columns + 1) datasets, the last is the flight number */
};

/* Fill the columns.
 * in   user  as given to rc_fold_file
 * in   fold  its columns are made, (n_rows) each
 * ends any status; HDF5's reasons are told by rc_hdf_fail */
typedef rc_status rc_fold_rows(void *user, const struct rc_fold *fold, struct rc_error *err);

/* Where the rows come from. */
struct rc_fold_source {
    int64_t n_rows;
    rc_fold_rows *put;
    void *user;
};

/* Write the file of all facts, the source's rows and the store's counts, and put it in the store's place.
 * in   is_finished  what the file says of itself
 * ends RC_IO, RC_NO_SPACE, RC_NO_MEMORY, or what the source ends with; on error nothing in the store's place is touched */
rc_status rc_fold_file(const struct rc_store *store, const struct rc_fold_source *source, bool is_finished,
                       struct rc_error *err) RC_MUST_CHECK;

#endif
