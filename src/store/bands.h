/* Percentile bands: counting samples in bins, and percentiles from the counts. */
#ifndef RC_BANDS_H
#define RC_BANDS_H

#include <stdint.h>

#include "journal.h"
#include "rollcast/results.h"

/* The grid one signal is counted on. */
struct rc_bands_grid {
    int n_times, n_bins;
    const double *edge;   /* (n_bins + 1), rising; not needed for counting */
};

/* The percentile of curve `index` [%]; NAN beyond RC_N_PERCENTILES. */
double rc_bands_percent(int index);

/* Percentile curves of one signal: linear within a bin, so they depend on the counts alone, not on the order of flights.
 * in   counts  (n_times x n_bins), NULL = nothing is counted
 * out  curve   (RC_N_PERCENTILES x n_times), NAN where nothing is counted
 * out  alive   (n_times) samples counted; may be NULL */
void rc_bands_percentiles(const struct rc_bands_grid *grid, const uint64_t *counts, double *curve, int64_t *alive);

/* Count the samples of one signal; a bin beyond n_bins means no sample.
 * in/out counts  (n_times x n_bins)
 * in     bins    n flights, n_times bins each, stride apart */
void rc_bands_count(const struct rc_bands_grid *grid, uint64_t *counts, int64_t n, const uint16_t *bins, int64_t stride);

/* Which samples of a journal are counted. */
struct rc_bands_part {
    int64_t first;   /* flights from here on    */
    int signal;      /* of the journal's signals */
};

/* Count the samples that stand in a journal.
 * in/out counts  (n_times x n_bins) of the part's signal
 * ends RC_IO, RC_NO_MEMORY */
rc_status rc_bands_count_journal(const struct rc_bands_grid *grid, uint64_t *counts, const struct rc_journal *journal,
                                 const struct rc_bands_part *part, struct rc_error *err) RC_MUST_CHECK;

#endif
