/* One thread's work: flight numbers in, rows and bins out. */
#ifndef RC_WORKER_H
#define RC_WORKER_H

#include <stdatomic.h>

#include "columns.h"

/* What all workers of a run share; constant while they work. */
struct rc_worker_plan {
    const rc_campaign *campaign;
    const struct rc_columns *columns;
    uint64_t seed;
    int n_cells;                        /* band bins of one flight: signals x times */
    const atomic_int *stop;  /* may be NULL                              */
};

/* Working memory of one thread. */
struct rc_worker {
    struct rc_block *block;       /* NULL with a formula */
    struct rc_design *designs;    /* (lanes) */
    uint64_t *flights;            /* (lanes) */
    struct rc_record *records;    /* (lanes) */
};

/* Make a worker.
 * out  worker  ends with rc_worker_free, also on error
 * ends RC_NO_MEMORY */
rc_status rc_worker_begin(struct rc_worker *worker, const struct rc_worker_plan *plan, struct rc_error *err) RC_MUST_CHECK;

/* Release its memory. */
void rc_worker_free(struct rc_worker *worker);

/* Where a unit's results go. */
struct rc_worker_unit {
    int64_t first;     /* flight number of row 0                            */
    int n;             /* flights                                           */
    double *rows;      /* (n x columns->n)                                  */
    uint16_t *bins;    /* (n x n_cells); NULL where n_cells is 0            */
};

/* Fly a unit block by block.
 * ends false if a stop was asked for: the unit is then not whole and is to be thrown away */
bool rc_worker_fly(struct rc_worker *worker, const struct rc_worker_plan *plan, struct rc_worker_unit *unit);

/* Fly drawn flights, or work out the formula that stands in place of a vehicle: it ends like a flight at apogee where it has a
 * finite value, else like one that diverged.
 * in/out worker  flights and designs (n) filled; out: records
 * in   n     1 .. rc_block_lanes()
 * in   sink  as for rc_block_fly; a formula has no moments */
void rc_worker_lanes(struct rc_worker *worker, const struct rc_worker_plan *plan, int n, rc_moment_sink *sink, void *user);

#endif
