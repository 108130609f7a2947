/* The writer of a store: creating, resuming, appending, closing; who may write; when the journal is folded.
 * What must agree is in store_compare.c, folding in store_fold.c, the journal in journal.c. */
#define _XOPEN_SOURCE 700 /* realpath */

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "bands.h"
#include "disk.h"
#include "facts.h"
#include "hdf.h"
#include "store_state.h"

/* The journal is folded when it is longer than this and than a quarter of the HDF5 file (decision 0002). */
#define FOLD_BYTES ((int64_t)64 << 20)

static char *with_suffix(const char *path, const char *suffix)
{
    const size_t n = strlen(path) + strlen(suffix) + 1;
    char *text = malloc(n);
    if (text)
        (void)snprintf(text, n, "%s%s", path, suffix);
    return text;
}

static struct rc_bands_grid grid_of(const struct rc_store *store)
{
    return (struct rc_bands_grid){store->plan.n_times, store->plan.n_bins, store->plan.bin_edge};
}

void rc_store_free(struct rc_store *store)
{
    if (!store)
        return;
    rc_journal_close(&store->journal);
    if (store->lock_path)
        rc_disk_unlock(store->lock, store->lock_path);
    rc_store_plan_free(&store->plan);
    free(store->created);
    free(store->path);
    free(store->temporary_path);
    free(store->journal_path);
    free(store->lock_path);
    free(store->counts);
    free(store);
}

rc_status rc_store_begin(struct rc_store **store, const char *path, const struct rc_store_plan *plan, struct rc_error *err)
{
    struct rc_store *made = calloc(1, sizeof *made);
    if (!made)
        return rc_error_fill(err, RC_NO_MEMORY, path, "no memory for a store");
    *store = made;
    made->lock = -1;
    made->asked_on_disk = -1;
    made->journal = RC_JOURNAL_CLOSED;
    rc_status status = rc_store_plan_copy(&made->plan, plan, err);
    if (status != RC_OK)
        return status;
    const size_t n_counts = (size_t)made->plan.n_signals * (size_t)made->plan.n_times * (size_t)made->plan.n_bins;
    made->path = with_suffix(path, "");
    made->temporary_path = with_suffix(path, ".tmp");
    made->journal_path = with_suffix(path, ".journal");
    made->lock_path = with_suffix(path, ".lock");
    made->counts = calloc(n_counts + 1, sizeof *made->counts);
    if (!made->path || !made->temporary_path || !made->journal_path || !made->lock_path || !made->counts)
        return rc_error_fill(err, RC_NO_MEMORY, path, "no memory for a store");
    return rc_disk_lock(&made->lock, made->lock_path, err);
}

/* Note what now stands on disk. */
static void note_folded(struct rc_store *store, bool is_finished)
{
    struct stat facts;
    store->n_folded = rc_store_flights(store);
    store->asked_on_disk = store->n_folded > store->plan.n_flights ? store->n_folded : store->plan.n_flights;
    store->finished_on_disk = is_finished;
    store->hdf_bytes = stat(store->path, &facts) == 0 ? (int64_t)facts.st_size : 0;
}

static rc_status new_journal(struct rc_store *store, struct rc_error *err)
{
    const struct rc_journal_head head = {.shape = rc_store_plan_shape(&store->plan), .first = store->n_folded,
                                         .n_asked = store->plan.n_flights};
    rc_journal_close(&store->journal);
    return rc_journal_create(&store->journal, store->journal_path, &head, err);
}

rc_status rc_store_refuse(const char *path, const char *journal_path, struct rc_error *err)
{
    if (rc_file_exists(path))
        return rc_error_fill(err, RC_EXISTS, path, "exists and is not overwritten; resume it, or choose another name");
    if (journal_path && rc_file_exists(journal_path))
        return rc_error_fill(err, RC_EXISTS, journal_path,
                             "is left from a store that is gone; remove it, or choose another name");
    return RC_OK;
}

rc_status rc_store_create(struct rc_store **store, const char *path, const struct rc_store_plan *plan, struct rc_error *err)
{
    struct rc_store *made = NULL;
    time_t now = time(NULL);
    struct tm utc;
    rc_status status = rc_store_refuse(path, NULL, err); /* before anything is made beside it */
    if (status == RC_OK)
        status = rc_store_begin(&made, path, plan, err);
    if (status == RC_OK) /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): rc_store_begin sets made where it ends well */
        status = rc_store_refuse(path, made->journal_path, err);
    if (status != RC_OK)
        goto done;
    made->created = calloc(1, 32);
    if (!made->created) {
        status = rc_error_fill(err, RC_NO_MEMORY, path, "no memory for a store");
        goto done;
    }
    if (gmtime_r(&now, &utc))
        (void)strftime(made->created, 32, "%Y-%m-%dT%H:%M:%SZ", &utc);
    status = rc_store_fold_write(made, plan->n_flights == 0, err);
    if (status != RC_OK)
        goto done;
    note_folded(made, plan->n_flights == 0);
    status = new_journal(made, err);
    if (status != RC_OK)
        goto done;
    *store = made;
    made = NULL;
done:
    rc_store_free(made);
    return status;
}

/* Take over what only the file on disk knows: when and where it was begun, its rows and counts. */
static rc_status adopt(struct rc_store *store, hid_t file, struct rc_facts *facts, struct rc_error *err)
{
    const size_t n_counts = (size_t)facts->n_times * (size_t)facts->n_bins;
    free(store->created);
    free((char *)store->plan.host_facts);
    store->created = facts->created;
    store->plan.host_facts = facts->host;
    facts->created = facts->host = NULL;
    store->n_folded = facts->flights;
    store->asked_on_disk = facts->asked;
    store->finished_on_disk = facts->is_finished;
    for (int signal = 0; signal < facts->n_signals; signal++)
        if (rc_facts_counts(store->counts + (size_t)signal * n_counts, file, facts, signal) < 0)
            return rc_hdf_fail(err, store->path, "the counts of the percentile bands cannot be read");
    return RC_OK;
}

static rc_status read_store(struct rc_store *store, struct rc_error *err)
{
    struct rc_hdf_quiet quiet;
    rc_hdf_silence(&quiet);
    struct rc_facts facts;
    struct stat size;
    hid_t file = -1;
    /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference): rc_store_begin sets store where it ends well */
    rc_status status = rc_facts_open(&file, &facts, store->path, err);
    if (status == RC_OK)
        status = rc_store_compare(&store->plan, &facts, store->path, err);
    if (status == RC_OK)
        status = adopt(store, file, &facts, err);
    if (file >= 0)
        (void)H5Fclose(file);
    rc_facts_free(&facts);
    rc_hdf_restore(&quiet);
    store->hdf_bytes = stat(store->path, &size) == 0 ? (int64_t)size.st_size : 0;
    return status;
}

/* The counts of one signal. */
static uint64_t *counts_of(const struct rc_store *store, int signal)
{
    return store->counts + (size_t)signal * (size_t)store->plan.n_times * (size_t)store->plan.n_bins;
}

/* Add the journal's rows to the counts, those of them that are not folded yet. */
static rc_status count_journal(struct rc_store *store, struct rc_error *err)
{
    const struct rc_bands_grid grid = grid_of(store);
    rc_status status = RC_OK;
    for (int signal = 0; signal < store->plan.n_signals && store->plan.n_times > 0 && status == RC_OK; signal++) {
        const struct rc_bands_part part = {.first = store->n_folded, .signal = signal};
        status = rc_bands_count_journal(&grid, counts_of(store, signal), &store->journal, &part, err);
    }
    return status;
}

static rc_status read_journal(struct rc_store *store, struct rc_error *err)
{
    const struct rc_journal_shape shape = rc_store_plan_shape(&store->plan);
    rc_status status = rc_journal_open(&store->journal, store->journal_path, &shape, true, err);
    if (status != RC_OK)
        return status;
    /* Nothing beyond the HDF5 file: no journal, a torn head, or a kill between folding and beginning the next journal. */
    if (store->journal.file < 0 || store->journal.next <= store->n_folded)
        return new_journal(store, err);
    if (store->journal.head.first > store->n_folded)
        return rc_error_fill(
            err, RC_OTHER_STORE, store->journal_path,
            "begins at flight %lld but the store beside it ends before %lld; put the right store back, or move the journal away",
            (long long)store->journal.head.first, (long long)store->n_folded);
    return count_journal(store, err);
}

rc_status rc_store_resume(struct rc_store **store, const char *path, const struct rc_store_plan *plan, struct rc_error *err)
{
    struct rc_store *made = NULL;
    rc_status status = RC_OK;
    char *real = realpath(path, NULL); /* so that a link stays a link when its target is replaced */
    if (!real)
        return rc_error_fill(err, RC_IO, path, "cannot be resumed: %s; check the path", strerror(errno));
    status = rc_store_begin(&made, real, plan, err);
    if (status == RC_OK)
        status = read_store(made, err);
    if (status == RC_OK)
        status = read_journal(made, err);
    if (status != RC_OK)
        goto done;
    (void)unlink(made->temporary_path); /* left by a killed process: the lock is held, so nobody is writing it */
    *store = made;
    made = NULL;
done:
    rc_store_free(made);
    free(real);
    return status;
}

int64_t rc_store_flights(const struct rc_store *store)
{
    return store->journal.file >= 0 ? store->journal.next : store->n_folded;
}

/* Add to a message what is safe and how to go on. */
static rc_status add_advice(const struct rc_store *store, rc_status status, struct rc_error *err)
{
    if (!err || status == RC_OK)
        return status;
    const size_t used = strlen(err->what);
    (void)snprintf(err->what + used, sizeof err->what - used, "; %lld flights are safe in %s: %s, then resume",
                   (long long)rc_store_flights(store), store->path,
                   status == RC_NO_SPACE ? "free some space" : "remove the cause");
    return status;
}

void rc_store_settle(struct rc_store *store)
{
    store->plan.n_flights = rc_store_flights(store);
}

static rc_status fold(struct rc_store *store, struct rc_error *err)
{
    const bool is_finished = rc_store_flights(store) >= store->plan.n_flights;
    const rc_status status = rc_store_fold_write(store, is_finished, err);
    if (status != RC_OK)
        return status;
    note_folded(store, is_finished);
    return new_journal(store, err);
}

rc_status rc_store_fold(struct rc_store *store, struct rc_error *err)
{
    return add_advice(store, fold(store, err), err);
}

/* Against the loss of power: the journal reaches the device about once a second. */
static rc_status sync_at_times(struct rc_store *store, struct rc_error *err)
{
    struct timespec now;
    if (clock_gettime(CLOCK_MONOTONIC, &now) != 0 || now.tv_sec == store->synced_at)
        return RC_OK;
    store->synced_at = now.tv_sec;
    return rc_journal_sync(&store->journal, err);
}

rc_status rc_store_append(struct rc_store *store, int n, const double *rows, const uint16_t *bins, struct rc_error *err)
{
    const struct rc_bands_grid grid = grid_of(store);
    rc_status status = RC_OK;
    if (n < 1 || n > RC_JOURNAL_MAX_ROWS)
        return rc_error_fill(err, RC_INTERNAL, store->path, "%d rows cannot be appended at once", n);
    status = rc_journal_append(&store->journal, (uint32_t)n, rows, bins, err);
    if (status != RC_OK)
        return add_advice(store, status, err);
    struct rc_bands_grid used = grid; /* after the last sample there is nothing to count */
    used.n_times = (int)store->journal.record[store->journal.n_records - 1].n_times;
    for (int signal = 0; signal < store->plan.n_signals && grid.n_times > 0; signal++)
        rc_bands_count(&used, counts_of(store, signal), n, bins + (size_t)signal * (size_t)grid.n_times,
                       (int64_t)store->plan.n_signals * grid.n_times);
    status = sync_at_times(store, err);
    const int64_t limit = store->hdf_bytes / 4 > FOLD_BYTES ? store->hdf_bytes / 4 : FOLD_BYTES;
    if (status == RC_OK && store->journal.length > limit)
        status = fold(store, err);
    return add_advice(store, status, err);
}

rc_status rc_store_close(struct rc_store *store, struct rc_error *err)
{
    if (!store)
        return RC_OK;
    const int64_t n_rows = rc_store_flights(store);
    const int64_t asked = n_rows > store->plan.n_flights ? n_rows : store->plan.n_flights;
    const bool is_finished = n_rows >= store->plan.n_flights;
    rc_status status = RC_OK;
    if (n_rows != store->n_folded || asked != store->asked_on_disk || is_finished != store->finished_on_disk)
        status = rc_store_fold_write(store, is_finished, err);
    if (status == RC_OK && unlink(store->journal_path) != 0 && errno != ENOENT)
        status = rc_disk_fail(err, store->journal_path, "the folded journal cannot be removed", errno);
    status = add_advice(store, status, err);
    rc_store_free(store);
    return status;
}
