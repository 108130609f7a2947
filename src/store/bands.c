/* Percentile bands: counting samples in bins and reading percentiles from the counts. Knows no HDF5. */
#include "bands.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>

#include "base/base.h"

double rc_bands_percent(int index)
{
    static const double percent[RC_N_PERCENTILES] = {5.0, 25.0, 50.0, 75.0, 95.0};
    return index >= 0 && index < RC_N_PERCENTILES ? percent[index] : NAN;
}

/* The percentiles of one time: the values below which their shares of the samples lie.
 * out  value  (RC_N_PERCENTILES) */
static void values_at(double *value, const struct rc_bands_grid *grid, const uint64_t *counts, uint64_t total)
{
    double below = 0.0;
    int last = 0;
    int index = 0;
    for (int bin = 0; bin < grid->n_bins && index < RC_N_PERCENTILES; bin++) {
        const double here = (double)counts[bin];
        if (counts[bin] == 0)
            continue;
        for (double target; index < RC_N_PERCENTILES; index++) {
            target = rc_bands_percent(index) / 100.0 * (double)total;
            if (below + here < target)
                break;
            value[index] = grid->edge[bin] + (target - below) / here * (grid->edge[bin + 1] - grid->edge[bin]);
        }
        last = bin;
        below += here;
    }
    for (; index < RC_N_PERCENTILES; index++)
        value[index] = grid->edge[last + 1];
}

void rc_bands_percentiles(const struct rc_bands_grid *grid, const uint64_t *counts, double *curve, int64_t *alive)
{
    for (int time = 0; time < grid->n_times; time++) {
        const uint64_t *row = counts ? counts + (size_t)time * (size_t)grid->n_bins : NULL;
        double value[RC_N_PERCENTILES] = {NAN, NAN, NAN, NAN, NAN};
        uint64_t total = 0;
        for (int bin = 0; row && bin < grid->n_bins; bin++)
            total += row[bin];
        if (total > 0)
            values_at(value, grid, row, total);
        for (int index = 0; index < RC_N_PERCENTILES; index++)
            curve[(size_t)index * (size_t)grid->n_times + (size_t)time] = value[index];
        if (alive)
            alive[time] = (int64_t)total;
    }
}

void rc_bands_count(const struct rc_bands_grid *grid, uint64_t *counts, int64_t n, const uint16_t *bins, int64_t stride)
{
    enum { TIMES = 32 }; /* bins of a line of the cache: what they count stays in the nearest cache as well */
    const size_t n_bins = (size_t)grid->n_bins;
    const size_t n_times = (size_t)grid->n_times;
    for (size_t first = 0; first < n_times; first += TIMES)
        for (int64_t flight = 0; flight < n; flight++) {
            const size_t end = first + TIMES < n_times ? first + TIMES : n_times;
            for (size_t time = first; time < end; time++) { /* neighbours in time do not wait for each other */
                const size_t bin = bins[(size_t)(flight * stride) + time];
                if (bin < n_bins)
                    counts[time * n_bins + bin]++;
            }
        }
}

rc_status rc_bands_count_journal(const struct rc_bands_grid *grid, uint64_t *counts, const struct rc_journal *journal,
                                 const struct rc_bands_part *part, struct rc_error *err)
{
    const size_t n_cells = (size_t)journal->head.shape.n_signals * journal->head.shape.n_times;
    rc_status status = RC_OK;
    uint16_t *bins = NULL;
    for (size_t index = 0; index < journal->n_records && status == RC_OK; index++) {
        const struct rc_journal_record *record = &journal->record[index];
        const int64_t skip = part->first > record->first ? part->first - record->first : 0;
        if (skip >= record->n)
            continue;
        uint16_t *larger = realloc(bins, record->n * n_cells * sizeof *bins);
        if (!larger) {
            status = rc_error_fill(err, RC_NO_MEMORY, journal->path, "no memory to count its rows");
            break;
        }
        bins = larger;
        status = rc_journal_bins(journal, record, bins, err);
        if (status == RC_OK)
            rc_bands_count(grid, counts, record->n - skip,
                           bins + (size_t)skip * n_cells + (size_t)part->signal * journal->head.shape.n_times, (int64_t)n_cells);
    }
    free(bins);
    return status;
}
