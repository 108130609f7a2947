/* Units out and in. What is flown, and what becomes of the rows, is the callers'. */
#include "units.h"

#include <stddef.h>
#include <stdlib.h>

#include "rollcast/run.h"

/* A unit is found by its place, and the other way round. */
_Static_assert(offsetof(struct rc_units_place, unit) == 0, "a place begins with its unit");

enum { PLACES_A_THREAD = 2, SPARE_PLACES = 2, SHARE = 4 };

rc_status rc_units_begin(struct rc_units *units, const struct rc_units_job *job, struct rc_error *err)
{
    const size_t n_row = (size_t)job->most * (size_t)job->n_columns;
    const size_t n_bin = (size_t)job->most * (size_t)job->n_cells;
    const int n_places = job->n_threads == 1 ? 1 : PLACES_A_THREAD * job->n_threads + SPARE_PLACES;
    *units = (struct rc_units){.job = *job, .n_places = n_places};
    (void)pthread_mutex_init(&units->lock, NULL); /* cannot fail: neither has attributes */
    (void)pthread_cond_init(&units->is_freed, NULL);
    units->place = calloc((size_t)n_places, sizeof *units->place);
    units->turn = calloc((size_t)n_places, sizeof(struct rc_units_place *));
    if (!units->place || !units->turn)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for units of flights");
    for (int place = 0; place < n_places; place++) {
        struct rc_worker_unit *unit = &units->place[place].unit;
        unit->rows = malloc(n_row * sizeof *unit->rows);
        unit->bins = n_bin > 0 ? malloc(n_bin * sizeof *unit->bins) : NULL;
        if (!unit->rows || (n_bin > 0 && !unit->bins))
            return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for units of flights; give fewer --threads");
        units->place[place].next = units->unused;
        units->unused = &units->place[place];
    }
    return RC_OK;
}

void rc_units_free(struct rc_units *units)
{
    for (int place = 0; units->place && place < units->n_places; place++) {
        free(units->place[place].unit.rows);
        free(units->place[place].unit.bins);
    }
    free(units->place);
    free(units->turn);
    (void)pthread_cond_destroy(&units->is_freed);
    (void)pthread_mutex_destroy(&units->lock);
}

/* Flights of the next unit: a share of what is left, whole blocks of lanes. */
static int next_length(const struct rc_units *units)
{
    const int n_lanes = rc_block_lanes();
    const int64_t left = units->job.n_rows - units->row_out;
    int64_t n = left / ((int64_t)units->job.n_threads * SHARE) / n_lanes * n_lanes;
    n = n < n_lanes ? n_lanes : n;
    n = n < units->job.most ? n : units->job.most;
    return (int)(n < left ? n : left);
}

struct rc_worker_unit *rc_units_take(struct rc_units *units)
{
    struct rc_worker_unit *unit = NULL;
    (void)pthread_mutex_lock(&units->lock);
    while (!units->is_over && units->row_out < units->job.n_rows && !units->unused)
        (void)pthread_cond_wait(&units->is_freed, &units->lock);
    if (!units->is_over && units->row_out < units->job.n_rows) {
        struct rc_units_place *place = units->unused;
        units->unused = place->next;
        units->turn[units->n_out % units->n_places] = place;
        unit = &place->unit;
        unit->first = units->job.first + units->row_out;
        unit->n = next_length(units);
        units->row_out += unit->n;
        units->n_out++;
    }
    (void)pthread_mutex_unlock(&units->lock);
    return unit;
}

/* The place whose turn it is, if its unit is back. */
static struct rc_units_place *whose_turn(const struct rc_units *units)
{
    struct rc_units_place *place = units->n_in < units->n_out ? units->turn[units->n_in % units->n_places] : NULL;
    return place && place->is_back && !units->is_over ? place : NULL;
}

void rc_units_give(struct rc_units *units, const struct rc_worker_unit *unit, bool is_whole)
{
    struct rc_units_place *given = (struct rc_units_place *)(void *)unit; /* its first member */
    (void)pthread_mutex_lock(&units->lock);
    given->is_back = true;
    given->is_whole = is_whole;
    if (!units->is_sinking) {
        units->is_sinking = true;
        for (struct rc_units_place *place = whose_turn(units); place; place = whose_turn(units)) {
            (void)pthread_mutex_unlock(&units->lock); /* the others go on */
            const bool goes_on = units->job.sink(units->job.user, &place->unit, place->is_whole);
            (void)pthread_mutex_lock(&units->lock);
            place->is_back = false;
            place->next = units->unused;
            units->unused = place;
            units->n_in++;
            units->is_over = units->is_over || !goes_on;
            (void)pthread_cond_broadcast(&units->is_freed);
        }
        units->is_sinking = false;
    }
    (void)pthread_mutex_unlock(&units->lock);
}
