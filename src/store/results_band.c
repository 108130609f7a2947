/* Reading the percentile bands of a store: the counts in the HDF5 file and those of the journal. */
#include <stdlib.h>

#include "bands.h"
#include "hdf.h"
#include "results_state.h"

double rc_results_percentile(int index)
{
    return rc_bands_percent(index);
}

int rc_results_signal_count(const rc_results *results)
{
    return results->facts.n_signals;
}

struct rc_column_view rc_results_signal(const rc_results *results, int index)
{
    if (index < 0 || index >= results->facts.n_signals)
        return (struct rc_column_view){"", "", ""};
    const struct rc_facts_row *row = &results->facts.signal[index];
    return (struct rc_column_view){row->name, row->unit, row->long_name};
}

int rc_results_band_times(const rc_results *results)
{
    return results->facts.n_times;
}

/* Read a small array of doubles whole; its length must be as given. */
static int read_doubles(double *values, hid_t file, const char *path, int64_t n)
{
    const hid_t dataset = H5Dopen2(file, path, H5P_DEFAULT);
    if (dataset < 0)
        return -1;
    const hid_t space = H5Dget_space(dataset);
    int result = space >= 0 && H5Sget_simple_extent_npoints(space) == n ? 0 : -1;
    if (result == 0 && H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values) < 0)
        result = -1;
    if (space >= 0)
        (void)H5Sclose(space);
    (void)H5Dclose(dataset);
    return result;
}

/* Counts of one signal over all rows, folded or not. */
static rc_status read_counts(const struct rc_results *results, int signal, const struct rc_bands_grid *grid, uint64_t *counts,
                             struct rc_error *err)
{
    const struct rc_bands_part part = {.first = results->facts.flights, .signal = signal};
    if (rc_facts_counts(counts, results->file, &results->facts, signal) < 0)
        return rc_hdf_fail(err, results->path, "the counts of a percentile band cannot be read");
    return results->journal.file < 0 ? RC_OK : rc_bands_count_journal(grid, counts, &results->journal, &part, err);
}

rc_status rc_results_band(const rc_results *results, int signal, double *time, double *curve, int64_t *alive,
                          struct rc_error *err)
{
    const struct rc_facts *facts = &results->facts;
    if (signal < 0 || signal >= facts->n_signals)
        return rc_error_fill(err, RC_BAD_INPUT, results->path, "has no signal number %d; it has %d", signal, facts->n_signals);
    struct rc_hdf_quiet quiet;
    rc_hdf_silence(&quiet);
    rc_status status = RC_OK;
    uint64_t *counts = malloc((size_t)facts->n_times * (size_t)facts->n_bins * sizeof *counts);
    double *edge = malloc(((size_t)facts->n_bins + 1) * sizeof *edge);
    const struct rc_bands_grid grid = {facts->n_times, facts->n_bins, edge};
    if (!counts || !edge) {
        status = rc_error_fill(err, RC_NO_MEMORY, results->path, "no memory for a percentile band");
        goto done;
    }
    if (read_doubles(time, results->file, "bands/time", facts->n_times) < 0 ||
        read_doubles(edge, results->file, "bands/bin_edge", facts->n_bins + 1) < 0) {
        status = rc_hdf_fail(err, results->path, "the axes of the percentile bands cannot be read");
        goto done;
    }
    status = read_counts(results, signal, &grid, counts, err);
    if (status == RC_OK)
        rc_bands_percentiles(&grid, counts, curve, alive);
done:
    free(edge);
    free(counts);
    rc_hdf_restore(&quiet);
    return status;
}
