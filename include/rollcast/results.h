/* The results of a campaign: an HDF5 store read back, column by column. Opaque, read only. */
#ifndef ROLLCAST_RESULTS_H
#define ROLLCAST_RESULTS_H

#include <stdint.h>

#include "rollcast/status.h"

typedef struct rc_results rc_results;

/* Open a store, finished or not.
 * out  results  caller frees with rc_results_close; untouched on error
 * ends RC_NO_FILE, RC_NOT_STORE, RC_IO, RC_NO_MEMORY */
rc_status rc_results_open(rc_results **results, const char *path, struct rc_error *err) RC_MUST_CHECK;

/* Close it. NULL is fine. */
void rc_results_close(rc_results *results);

/* Flights in the store (rows), flights its run was asked for, whether it is finished, its seed and campaign fingerprint. */
int64_t rc_results_flights(const rc_results *results);
int64_t rc_results_flights_asked(const rc_results *results);
int rc_results_is_finished(const rc_results *results);
uint64_t rc_results_seed(const rc_results *results);
uint64_t rc_results_fingerprint(const rc_results *results);

/* Read rows [first, first + n) of a column.
 * in   column  "measures/held_fraction", "quantities/fins[0].cant_deg" or "end"
 * out  values  (n)
 * ends RC_BAD_INPUT (no such column, rows outside), RC_IO */
rc_status rc_results_column(const rc_results *results, const char *column, int64_t first, int64_t n, double *values,
                            struct rc_error *err) RC_MUST_CHECK;

#endif
