/* What the parts of the writer share: the open store, its own copy of the plan, the folding of the journal. */
#ifndef RC_STORE_STATE_H
#define RC_STORE_STATE_H

#include <hdf5.h>

#include "hdf.h"
#include "journal.h"
#include "store.h"

/* Names in the file that the writer and the reader must agree on. */
#define RC_STORE_FORMAT "rollcast-store"
#define RC_SHARD_FORMAT "rollcast-shard"   /* so that no reader takes a part for the whole */
enum { RC_STORE_FORMAT_VERSION = 1, RC_STORE_MAX_NAME = 192 };

/* Long shards are cut where chunks are. */
_Static_assert((int)RC_STORE_CHUNK == (int)RC_HDF_CHUNK, "shards are cut where chunks are");

struct rc_store {
    struct rc_store_plan plan;    /* deep copy, rc_store_plan_free                       */
    char *created;                /* UTC, ISO 8601                                       */
    char *path, *temporary_path, *journal_path, *lock_path;
    int lock;                     /* open lock file                                      */
    struct rc_journal journal;    /* closed while the store is being created             */
    uint64_t *counts;             /* (n_signals x n_times x n_bins) of all rows so far   */
    int64_t n_folded;             /* rows in the HDF5 file                               */
    int64_t hdf_bytes;            /* its size                                            */
    int64_t asked_on_disk;        /* flights_asked as the HDF5 file says, -1 = no file   */
    bool finished_on_disk;
    int64_t synced_at;            /* clock of the last flush of the journal [s]          */
};

/* Copy a plan with everything it points to.
 * out  copy  ends with rc_store_plan_free, also on error
 * ends RC_NO_MEMORY, RC_BAD_INPUT (beyond a limit of store.h) */
rc_status rc_store_plan_copy(struct rc_store_plan *copy, const struct rc_store_plan *plan, struct rc_error *err) RC_MUST_CHECK;

/* Release a copied plan. */
void rc_store_plan_free(struct rc_store_plan *copy);

/* Memory, names and the lock, in common to all ways of writing.
 * out  store  ends with rc_store_free, also on error
 * ends RC_NO_MEMORY, RC_BAD_INPUT, or as rc_disk_lock */
rc_status rc_store_begin(struct rc_store **store, const char *path, const struct rc_store_plan *plan,
                         struct rc_error *err) RC_MUST_CHECK;

/* Refuse a place where a store, or a journal of one, stands already. in journal_path NULL = do not look. ends RC_EXISTS */
rc_status rc_store_refuse(const char *path, const char *journal_path, struct rc_error *err) RC_MUST_CHECK;

/* Release everything but leave the files as they are. NULL is fine. */
void rc_store_free(struct rc_store *store);

/* Is a store on disk one of this plan? ends RC_OTHER_STORE (says which difference) */
struct rc_facts;
rc_status rc_store_compare(const struct rc_store_plan *plan, const struct rc_facts *facts, const char *path,
                           struct rc_error *err) RC_MUST_CHECK;

/* What journals of this plan agree on. */
struct rc_journal_shape rc_store_plan_shape(const struct rc_store_plan *plan);

/* Write a new HDF5 file of all rows (old file and journal) beside the old one and put it in its place.
 * in   is_finished  what the file says of itself
 * ends RC_IO, RC_NO_SPACE, RC_NO_MEMORY; on error the old file and the journal are untouched */
rc_status rc_store_fold_write(const struct rc_store *store, bool is_finished, struct rc_error *err) RC_MUST_CHECK;

/* Write the dataset group of the percentile bands into a file being made.
 * in   counts  (n_signals x n_times x n_bins), NULL = no flights yet
 * ends negative on error */
int rc_store_bands_write(hid_t file, const struct rc_store_plan *plan, const uint64_t *counts);

#endif
