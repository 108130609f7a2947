/* The results of a campaign: an HDF5 store read back, column by column. Opaque, read only. */
#ifndef ROLLCAST_RESULTS_H
#define ROLLCAST_RESULTS_H

#include <stdint.h>

#include "rollcast/status.h"

typedef struct rc_results rc_results;

/* Open a store, finished or not; rows that still stand in its journal are there too. One thread at a time.
 * out  results  caller frees with rc_results_close; untouched on error
 * ends RC_NOT_STORE, RC_IO, RC_NO_MEMORY */
rc_status rc_results_open(rc_results **results, const char *path, struct rc_error *err) RC_MUST_CHECK;

/* Close it. NULL is fine. */
void rc_results_close(rc_results *results);

/* Flights in the store (rows), flights its run was asked for, whether it is finished, its seed and campaign fingerprint. */
int64_t rc_results_flights(const rc_results *results);
int64_t rc_results_flights_asked(const rc_results *results);
int rc_results_is_finished(const rc_results *results);
uint64_t rc_results_seed(const rc_results *results);
uint64_t rc_results_fingerprint(const rc_results *results);

/* What could end its run early or how it went after rare outcomes: a text for rc_stop_read or rc_rare_read; empty where its
 * flights are those of the plan and it could only end at their number. Borrowed. */
const char *rc_results_run_rule(const rc_results *results);

/* Read rows [first, first + n) of a column.
 * in   column  "measures/held_fraction", "quantities/fins[0].cant_deg" or "end"
 * out  values  (n)
 * ends RC_BAD_INPUT (no such column, rows outside), RC_IO */
rc_status rc_results_column(const rc_results *results, const char *column, int64_t first, int64_t n, double *values,
                            struct rc_error *err) RC_MUST_CHECK;

/* A column or a signal as the store describes it; texts borrowed from the results. */
struct rc_column_view {
    const char *name;       /* "measures/held_fraction"; of a signal "roll"   */
    const char *unit;       /* as the `units` attribute says                  */
    const char *long_name;  /* one line                                       */
};

/* How many columns the store has, and column `index` of them (0 .. count-1), in the order they were given. */
int rc_results_column_count(const rc_results *results);
struct rc_column_view rc_results_column_view(const rc_results *results, int index);

/* Has the store a column of that name? A store of an older version may lack one. */
int rc_results_has(const rc_results *results, const char *column);

/* Texts of the store: the campaign's name, the version that made it, when (UTC), and build and host, one "key: value" a line. */
struct rc_results_origin {
    const char *campaign_name, *version, *created, *host;
};
struct rc_results_origin rc_results_origin(const rc_results *results);

enum { RC_N_PERCENTILES = 5 };

/* The percentile that curve `index` (0 .. RC_N_PERCENTILES-1) of a band shows: 5, 25, 50, 75, 95 [%]. */
double rc_results_percentile(int index);

/* Signals with a percentile band, signal `index` of them, and the times at which each band is known. */
int rc_results_signal_count(const rc_results *results);
struct rc_column_view rc_results_signal(const rc_results *results, int index);
int rc_results_band_times(const rc_results *results);

/* The percentile band of a signal over time, all flights so far.
 * in   signal  0 .. rc_results_signal_count()-1
 * out  time    (rc_results_band_times()) after lift-off [s]
 * out  curve   (RC_N_PERCENTILES x rc_results_band_times()) in the signal's unit; NAN where no flight is left
 * out  alive   (rc_results_band_times()) flights that still flew; may be NULL
 * ends RC_BAD_INPUT (no such signal), RC_IO, RC_NO_MEMORY
 * cost reads the counts and, of an unfinished store, the journal */
rc_status rc_results_band(const rc_results *results, int signal, double *time, double *curve, int64_t *alive,
                          struct rc_error *err) RC_MUST_CHECK;

#endif
