/* Units of flights handed out to threads and taken back in the order of their flights. A thread whose unit comes early leaves it
 * and flies the next: nobody waits for a slower one until all places are taken. */
#ifndef RC_UNITS_H
#define RC_UNITS_H

#include <pthread.h>
#include <stdbool.h>

#include "worker.h"

/* Take a unit back; called for one after the other, never by two threads at once.
 * ends false: no further one is handed out, nor taken back */
typedef bool rc_units_sink(void *user, const struct rc_worker_unit *unit, bool is_whole);

/* What is to be flown. */
struct rc_units_job {
    int64_t first, n_rows;       /* flight number of the first row; rows             */
    int n_threads, most;         /* flights of a unit at most, whole blocks of lanes */
    int n_columns, n_cells;      /* of a row                                         */
    rc_units_sink *sink;
    void *user;
};

/* The place of one unit's rows. */
struct rc_units_place {
    struct rc_worker_unit unit;
    bool is_back, is_whole;
    struct rc_units_place *next;    /* unused one */
};

/* Units in work. */
struct rc_units {
    struct rc_units_job job;
    struct rc_units_place *place;   /* (n_places)                                            */
    struct rc_units_place **turn;   /* (n_places) by number of the unit modulo n_places      */
    struct rc_units_place *unused;  /* list: the last one that was used comes first          */
    int n_places;
    int64_t row_out;                /* rows handed out                                       */
    int64_t n_out, n_in;            /* units handed out, and of them taken back by the sink  */
    bool is_sinking, is_over;
    pthread_mutex_t lock;           /* over all of the above but the rows of units in work   */
    pthread_cond_t is_freed;
};

/* Make places.
 * out  units  ends with rc_units_free, also on error
 * ends RC_NO_MEMORY
 * cost two units of rows a thread and two more; one for one thread */
rc_status rc_units_begin(struct rc_units *units, const struct rc_units_job *job, struct rc_error *err) RC_MUST_CHECK;

/* The next unit to fly, with room for its rows; long ones first, so that threads end at about the same time. Waits while every
 * place is taken. ends NULL: there is none */
struct rc_worker_unit *rc_units_take(struct rc_units *units);

/* Give a unit back; what has its turn goes to the sink. */
void rc_units_give(struct rc_units *units, const struct rc_worker_unit *unit, bool is_whole);

/* Release all. */
void rc_units_free(struct rc_units *units);

#endif
