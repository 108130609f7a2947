/* Reading a store: the HDF5 file and, of an unfinished one, the rows that still stand in the journal beside it. */
#define _XOPEN_SOURCE 700 /* realpath */

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "hdf.h"
#include "results_state.h"
#include "store_state.h"

static rc_status read_bundle(struct rc_results *results, struct rc_error *err)
{
    int64_t n_files = 0;
    if (rc_hdf_int(&n_files, results->file, "campaign_files") < 0 || n_files < 1 || n_files > RC_MAX_BUNDLE_FILES)
        return rc_error_fill(err, RC_NOT_STORE, results->path, "is a damaged store: its copy of the campaign is not whole");
    for (int index = 0; index < (int)n_files; index++) {
        char dataset[32] = "campaign/text";
        char *bytes = NULL;
        char *name = NULL;
        size_t n_bytes = 0;
        if (index > 0)
            (void)snprintf(dataset, sizeof dataset, "campaign/table_%d", index);
        const hid_t object = H5Dopen2(results->file, dataset, H5P_DEFAULT);
        rc_status status = RC_OK;
        if (object < 0 || rc_hdf_text(&name, object, "name") < 0 || rc_hdf_file(&bytes, &n_bytes, results->file, dataset) < 0)
            status = rc_error_fill(err, RC_NOT_STORE, results->path, "is a damaged store: %s cannot be read", dataset);
        else
            status = rc_bundle_add(&results->bundle, name, bytes, n_bytes, err);
        if (object >= 0)
            (void)H5Dclose(object);
        free(name);
        free(bytes);
        if (status != RC_OK)
            return status;
    }
    return RC_OK;
}

static void close_files(struct rc_results *results)
{
    rc_journal_close(&results->journal);
    rc_facts_free(&results->facts);
    rc_bundle_free(&results->bundle);
    if (results->file >= 0)
        (void)H5Fclose(results->file);
    results->file = -1;
}

/* Open both files. out is_torn_apart  a writer folded between the two: try again */
static rc_status open_files(struct rc_results *results, bool *is_torn_apart, struct rc_error *err)
{
    *is_torn_apart = false;
    rc_status status = rc_facts_open(&results->file, &results->facts, results->path, err);
    if (status == RC_OK)
        status = read_bundle(results, err);
    if (status != RC_OK)
        return status;
    const struct rc_journal_shape shape = rc_facts_shape(&results->facts);
    status = rc_journal_open(&results->journal, results->journal_path, &shape, false, err);
    if (status != RC_OK)
        return status;
    results->flights = results->facts.flights;
    if (results->journal.file < 0)
        return RC_OK;
    *is_torn_apart = results->journal.head.first > results->flights;
    if (results->journal.next > results->flights)
        results->flights = results->journal.next;
    return RC_OK;
}

rc_status rc_results_open(rc_results **results, const char *path, struct rc_error *err)
{
    rc_results *opened = NULL;
    const rc_status status = rc_results_open_shard(&opened, path, err);
    if (status != RC_OK)
        return status;
    const struct rc_shard *shard = &opened->facts.shard;
    if (shard->count > 0) {
        (void)rc_error_fill(err, RC_OTHER_STORE, path,
                            "is shard %d/%d of a run of %lld flights: merge all of them (rollcast merge), then ask the whole",
                            shard->number, shard->count, (long long)shard->whole);
        rc_results_close(opened);
        return RC_OTHER_STORE;
    }
    *results = opened;
    return RC_OK;
}

struct rc_shard rc_results_shard(const rc_results *results)
{
    return results->facts.shard;
}

rc_status rc_results_open_shard(rc_results **results, const char *path, struct rc_error *err)
{
    enum { N_TRIES = 5 };
    struct rc_hdf_quiet quiet;
    rc_hdf_silence(&quiet);
    rc_status status = RC_OK;
    bool is_torn_apart = true;
    char *real = realpath(path, NULL);
    struct rc_results *made = calloc(1, sizeof *made);
    const size_t n_path = strlen(real ? real : path) + sizeof ".journal";
    if (made) {
        made->file = -1;
        made->journal = RC_JOURNAL_CLOSED;
        made->path = malloc(n_path);
        made->journal_path = malloc(n_path);
    }
    if (!made || !made->path || !made->journal_path) {
        status = rc_error_fill(err, RC_NO_MEMORY, path, "no memory to open a store");
        goto done;
    }
    (void)snprintf(made->path, n_path, "%s", real ? real : path);
    (void)snprintf(made->journal_path, n_path, "%s.journal", made->path);
    for (int attempt = 0; attempt < N_TRIES && is_torn_apart && status == RC_OK; attempt++) {
        close_files(made);
        status = open_files(made, &is_torn_apart, err);
    }
    if (status == RC_OK && is_torn_apart)
        status = rc_error_fill(err, RC_OTHER_STORE, made->journal_path,
                               "begins after the end of the store beside it; put the right store back, or move the journal away");
    if (status != RC_OK)
        goto done;
    *results = made;
    made = NULL;
done:
    rc_results_close(made);
    free(real);
    rc_hdf_restore(&quiet);
    return status;
}

void rc_results_close(rc_results *results)
{
    if (!results)
        return;
    struct rc_hdf_quiet quiet;
    rc_hdf_silence(&quiet);
    close_files(results);
    free(results->path);
    free(results->journal_path);
    free(results);
    rc_hdf_restore(&quiet);
}

int64_t rc_results_flights(const rc_results *results)
{
    return results->flights;
}

int64_t rc_results_flights_asked(const rc_results *results)
{
    const int64_t asked = results->journal.file >= 0 ? results->journal.head.n_asked : 0;
    const int64_t most = asked > results->facts.asked ? asked : results->facts.asked;
    return results->flights > most ? results->flights : most;
}

int rc_results_is_finished(const rc_results *results)
{
    return results->facts.is_finished && results->flights == results->facts.flights &&
           rc_results_flights_asked(results) == results->facts.asked;
}

const char *rc_results_run_rule(const rc_results *results)
{
    return results->facts.run_rule;
}

uint64_t rc_results_seed(const rc_results *results)
{
    return results->facts.seed;
}

uint64_t rc_results_fingerprint(const rc_results *results)
{
    return results->facts.fingerprint;
}

const struct rc_bundle *rc_results_bundle(const rc_results *results)
{
    return &results->bundle;
}

int rc_results_column_count(const rc_results *results)
{
    return results->facts.n_columns;
}

struct rc_column_view rc_results_column_view(const rc_results *results, int index)
{
    if (index < 0 || index >= results->facts.n_columns)
        return (struct rc_column_view){"", "", ""};
    const struct rc_facts_row *row = &results->facts.column[index];
    return (struct rc_column_view){row->name, row->unit, row->long_name};
}

int rc_results_has(const rc_results *results, const char *column)
{
    for (int index = 0; index < results->facts.n_columns; index++) {
        if (strcmp(results->facts.column[index].name, column) == 0)
            return 1;
    }
    return 0;
}

struct rc_results_origin rc_results_origin(const rc_results *results)
{
    const struct rc_facts *facts = &results->facts;
    return (struct rc_results_origin){facts->campaign, facts->version, facts->created, facts->host};
}

static rc_status read_folded(const struct rc_results *results, int index, int64_t first, int64_t n, double *values)
{
    const hid_t dataset = H5Dopen2(results->file, results->facts.column[index].name, H5P_DEFAULT);
    if (dataset < 0)
        return RC_IO;
    const int result = rc_hdf_rows(dataset, H5T_NATIVE_DOUBLE, first, n, values);
    (void)H5Dclose(dataset);
    return result < 0 ? RC_IO : RC_OK;
}

/* Pick one column out of the journal's rows, a window at a time. */
static rc_status read_journal(const struct rc_results *results, int index, int64_t first, int64_t n, double *values)
{
    enum { WINDOW = 512 };
    const int64_t n_columns = results->facts.n_columns;
    rc_status status = RC_OK;
    double *rows = malloc(WINDOW * (size_t)n_columns * sizeof *rows);
    if (!rows)
        return RC_NO_MEMORY;
    for (int64_t done = 0; done < n && status == RC_OK; done += WINDOW) {
        const int64_t take = n - done < WINDOW ? n - done : WINDOW;
        status = rc_journal_rows(&results->journal, first + done, take, rows, NULL);
        for (int64_t row = 0; row < take && status == RC_OK; row++)
            values[done + row] = rows[row * n_columns + index];
    }
    free(rows);
    return status;
}

static int find_column(const struct rc_results *results, const char *column)
{
    for (int index = 0; index < results->facts.n_columns; index++)
        if (strcmp(results->facts.column[index].name, column) == 0)
            return index;
    return -1;
}

rc_status rc_results_column(const rc_results *results, const char *column, int64_t first, int64_t n, double *values,
                            struct rc_error *err)
{
    const int index = find_column(results, column);
    if (index < 0)
        return rc_error_fill(err, RC_BAD_INPUT, results->path, "has no column %s; h5dump -n lists the columns", column);
    if (first < 0 || n < 0 || first > results->flights || n > results->flights - first)
        return rc_error_fill(err, RC_BAD_INPUT, results->path, "holds flights 0 to %lld; %lld rows from %lld on were asked for",
                             (long long)results->flights - 1, (long long)n, (long long)first);
    struct rc_hdf_quiet quiet;
    rc_hdf_silence(&quiet);
    const int64_t left = results->facts.flights > first ? results->facts.flights - first : 0;
    const int64_t n_folded = left < n ? left : n;
    rc_status status = RC_OK;
    if (n_folded > 0 && read_folded(results, index, first, n_folded, values) != RC_OK)
        status = rc_hdf_fail(err, results->path, "a column cannot be read, the file may be damaged");
    if (status == RC_OK && n > n_folded) {
        status = read_journal(results, index, first + n_folded, n - n_folded, values + n_folded);
        if (status != RC_OK)
            status = rc_error_fill(err, status, results->journal_path, "rows cannot be read from the journal");
    }
    rc_hdf_restore(&quiet);
    return status;
}

rc_status rc_results_match(const rc_results *results, const struct rc_store_plan *plan, struct rc_error *err)
{
    return rc_store_compare(plan, &results->facts, results->path, err);
}
