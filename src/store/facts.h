/* What an HDF5 file says of itself when it is a store: read and checked once, for the reader and for resuming. */
#ifndef RC_FACTS_H
#define RC_FACTS_H

#include <hdf5.h>

#include "journal.h"
#include "store_state.h"

/* A column or signal as the file has it; texts owned. */
struct rc_facts_row {
    char name[RC_STORE_MAX_NAME];
    char *unit, *long_name;
};

struct rc_facts {
    int64_t flights, asked;
    bool is_finished;
    struct rc_shard shard;
    uint64_t fingerprint, seed;
    char *campaign, *version, *created, *host, *run_rule;
    int n_columns, n_signals, n_times, n_bins;
    struct rc_facts_row *column;   /* (n_columns) */
    struct rc_facts_row *signal;   /* (n_signals) */
};

/* Open a file as a store and read what it says of itself.
 * out  file   open for reading, closed with H5Fclose; -1 on error
 * out  facts  ends with rc_facts_free, also on error
 * ends RC_IO (cannot be opened), RC_NOT_STORE (no HDF5 file, none of ours, damaged, a later version), RC_NO_MEMORY */
rc_status rc_facts_open(hid_t *file, struct rc_facts *facts, const char *path, struct rc_error *err) RC_MUST_CHECK;

/* Release the texts and lists. */
void rc_facts_free(struct rc_facts *facts);

/* The hash over names and units of columns, made different for each shard.
 * in   hash  over the columns */
uint64_t rc_facts_hash_shard(uint64_t hash, const struct rc_shard *shard);

/* What a journal beside this store must agree on. */
struct rc_journal_shape rc_facts_shape(const struct rc_facts *facts);

/* Read the counts of one signal. out counts (n_times x n_bins). ends negative on error */
int rc_facts_counts(uint64_t *counts, hid_t file, const struct rc_facts *facts, int signal);

#endif
