/* Front header of store: the only user of HDF5. Knows columns, not rockets.
 *
 * What stands on disk. STORE is always a complete, closed HDF5 file: it is never changed in place, only replaced by a
 * finished new one (rename). Between replacements blocks of rows go to STORE.journal, append only, each record with its
 * checksum. Resuming reads both. So a kill at any instant loses at most the record in work. */
#ifndef RC_STORE_H
#define RC_STORE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/base.h"
#include "rollcast/results.h"

/* One column to be kept. */
struct rc_store_column {
    const char *name;      /* "measures/held_fraction"; intermediate groups are made */
    const char *unit;
    const char *long_name;
};

/* A signal whose counts are kept over time. */
struct rc_store_signal {
    const char *name;
    const char *unit;
    const char *long_name;
};

/* Which part of a run a store holds. All zero: all of it. */
struct rc_shard {
    int number, count;     /* shard 1 .. of that many; count 0 = no shard */
    int64_t first;         /* flight number of row 0                      */
    int64_t whole;         /* flights of the whole run                    */
};
enum {
    RC_MAX_SHARDS = 100000,
    RC_STORE_CHUNK = 4096   /* rows that are packed together: shards that begin at multiples of it are merged fast */
};

/* What a store is made for. All pointers are borrowed during the call only. */
struct rc_store_plan {
    const struct rc_bundle *bundle;       /* campaign text and tables, file 0 is the JSON          */
    uint64_t fingerprint;                 /* of the campaign                                       */
    uint64_t seed;
    int64_t n_flights;                    /* asked for; of a shard its own                         */
    struct rc_shard shard;
    const char *campaign_name;
    const char *version;                  /* of the program; rows of two versions are never mixed  */
    const char *host_facts;               /* build and host, one "key: value" per line             */
    const char *run_rule;                /* what ends it early or chooses its flights; NULL = none  */
    int n_columns;
    const struct rc_store_column *column; /* (n_columns) all doubles                               */
    int n_signals, n_times, n_bins;       /* of the percentile bands; n_times 0 = none             */
    const struct rc_store_signal *signal; /* (n_signals)                                           */
    double time_step;                     /* between band times, the first is 0 [s]                */
    const double *bin_edge;               /* (n_bins + 1)                                          */
};

/* A store being filled by one process. */
struct rc_store;

/* Make a new store. Never overwrites.
 * out  store  caller ends it with rc_store_close
 * ends RC_EXISTS, RC_IO, RC_NO_SPACE, RC_NO_MEMORY */
rc_status rc_store_create(struct rc_store **store, const char *path, const struct rc_store_plan *plan,
                          struct rc_error *err) RC_MUST_CHECK;

/* Go on with an unfinished store (or extend a finished one to plan->n_flights): checks that it is a store of this
 * campaign, seed and columns, reads the journal up to its last whole record, takes the lock.
 * ends RC_NOT_STORE, RC_OTHER_STORE (says which difference), RC_IO, RC_NO_SPACE, RC_EXISTS (another process is
 *       writing), RC_NO_MEMORY */
rc_status rc_store_resume(struct rc_store **store, const char *path, const struct rc_store_plan *plan,
                          struct rc_error *err) RC_MUST_CHECK;

/* Largest number of columns and signals a store takes, and of bins of a signal. */
enum { RC_STORE_MAX_COLUMNS = 1024, RC_STORE_MAX_SIGNALS = 64, RC_STORE_MAX_BINS = 65535 };

/* Rows that are safe: flights 0 .. n-1. */
int64_t rc_store_flights(const struct rc_store *store);

/* Fold the journal into the HDF5 file now; appending does it by itself as the journal grows.
 * ends RC_IO, RC_NO_SPACE, RC_NO_MEMORY; the rows are safe in any case */
rc_status rc_store_fold(struct rc_store *store, struct rc_error *err) RC_MUST_CHECK;

/* Append the next rows; they must follow the ones before. On error the store still holds everything up to the last success.
 * in   n     rows
 * in   rows  (n x n_columns) row by row
 * in   bins  (n x n_signals x n_times) bin numbers, 0xffff = no sample; NULL if n_times is 0
 * ends RC_IO, RC_NO_SPACE, RC_NO_MEMORY */
rc_status rc_store_append(struct rc_store *store, int n, const double *rows, const uint16_t *bins,
                          struct rc_error *err) RC_MUST_CHECK;

/* Settle for the rows that are there: they become all that were asked for, so that closing marks the store finished. */
void rc_store_settle(struct rc_store *store);

/* Fold the journal into the HDF5 file, mark it finished if all flights asked for are in, remove the journal, release the lock
 * and memory.
 * in   store  may be NULL; gone afterwards even on error (then the journal is kept and nothing is lost)
 * ends RC_IO, RC_NO_SPACE, RC_NO_MEMORY */
rc_status rc_store_close(struct rc_store *store, struct rc_error *err) RC_MUST_CHECK;

/* Write a whole store out of the shards of a run: their rows one after the other, their counts added up. Rows are copied packed
 * where a shard begins at a whole chunk. The store appears complete or not at all.
 * in   plan   of the whole run
 * in   shard  (n_shards) paths of finished shards in the order of their flights; rc_results_open_shard and rc_results_match
 *             have been asked about each
 * ends RC_EXISTS, RC_OTHER_STORE (they do not follow each other), RC_IO, RC_NO_SPACE, RC_NO_MEMORY
 * cost memory of some chunks a column, whatever the number of rows */
rc_status rc_store_merge(const char *path, const struct rc_store_plan *plan, const char *const *shard, int n_shards,
                         struct rc_error *err) RC_MUST_CHECK;

/* Open a store or a shard; rc_results_open refuses shards. Flights are then counted from the shard's first as 0.
 * ends as rc_results_open */
rc_status rc_results_open_shard(rc_results **results, const char *path, struct rc_error *err) RC_MUST_CHECK;

/* Which part of a run it is. */
struct rc_shard rc_results_shard(const rc_results *results);

/* Is it a store of this plan? ends RC_OTHER_STORE (says which difference) */
rc_status rc_results_match(const rc_results *results, const struct rc_store_plan *plan, struct rc_error *err) RC_MUST_CHECK;

/* The campaign text and tables an open store keeps; borrowed. */
const struct rc_bundle *rc_results_bundle(const rc_results *results);

#endif
