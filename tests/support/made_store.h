/* A store of made-up rows: every number is a function of the flight number, so that any part of it can be checked or
 * made again. Knows no rockets. */
#ifndef RC_MADE_STORE_H
#define RC_MADE_STORE_H

#include <stdint.h>

#include "store/store.h"

enum { MADE_COLUMNS = 7, MADE_SIGNALS = 2, MADE_TIMES = 5, MADE_BINS = 9 };

/* The plan; points to constant data. */
struct rc_store_plan made_plan(int64_t n_flights);

/* Value of a column of a flight: ordinary numbers, and now and then a NAN, an infinity or a negative zero. */
double made_value(int64_t flight, int column);

/* Bin of a flight's signal at a time; 0xffff after the flight's end. */
uint16_t made_bin(int64_t flight, int signal, int time);

/* Rows and bins of flights first .. first+n-1. */
void made_rows(int64_t first, int n, double *rows, uint16_t *bins);

/* Append flights up to `end` in records of changing length (a function of `unit`). ends the first status that is not RC_OK */
rc_status made_append(struct rc_store *store, int64_t end, int unit, struct rc_error *err);

/* Make a store of n flights in one go. Fails the test on any error. */
void made_complete(const char *path, int64_t n, int unit);

/* Compare all stored numbers of a store with the made-up ones, bit by bit, and the counts behind its bands through the
 * curves. Fails the test on a difference. */
void made_check(const char *path, int64_t n);

/* Compare stores with the first one, dataset by dataset, in the system's h5py; times and host facts apart.
 * ends 0 if all are equal */
int made_compare(const char *const *paths, int n);

/* A path in this process's scratch folder; the folder is made. Valid until the next but seven call. */
const char *made_path(const char *name);

/* Remove a store and everything that stands beside it. */
void made_remove(const char *path);

/* The whole of a file; fails the test on error. Caller frees. */
char *made_file(const char *path, size_t *n_bytes);

/* Write a file; fails the test on error. */
void made_write(const char *path, const char *bytes, size_t n_bytes);

#endif
