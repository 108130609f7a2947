/* Processor time that a run spends in its store: the linker puts this file between the run and the store's functions. For runs of
 * one thread. */
#define _GNU_SOURCE
#include "clocked_store.h"

#include <time.h>

#include "store/store.h"

static double spent;

static double now(void)
{
    struct timespec at = {0, 0};
    (void)clock_gettime(CLOCK_THREAD_CPUTIME_ID, &at);
    return (double)at.tv_sec + 1e-9 * (double)at.tv_nsec;
}

double clocked_store_seconds(void)
{
    const double seconds = spent;
    spent = 0.0;
    return seconds;
}

rc_status __real_rc_store_create(struct rc_store **store, const char *path, const struct rc_store_plan *plan, struct rc_error *err);
rc_status __real_rc_store_append(struct rc_store *store, int n, const double *rows, const uint16_t *bins, struct rc_error *err);
rc_status __real_rc_store_close(struct rc_store *store, struct rc_error *err);
rc_status __wrap_rc_store_create(struct rc_store **store, const char *path, const struct rc_store_plan *plan, struct rc_error *err);
rc_status __wrap_rc_store_append(struct rc_store *store, int n, const double *rows, const uint16_t *bins, struct rc_error *err);
rc_status __wrap_rc_store_close(struct rc_store *store, struct rc_error *err);

rc_status __wrap_rc_store_create(struct rc_store **store, const char *path, const struct rc_store_plan *plan, struct rc_error *err)
{
    const double begun = now();
    const rc_status status = __real_rc_store_create(store, path, plan, err);
    spent += now() - begun;
    return status;
}

rc_status __wrap_rc_store_append(struct rc_store *store, int n, const double *rows, const uint16_t *bins, struct rc_error *err)
{
    const double begun = now();
    const rc_status status = __real_rc_store_append(store, n, rows, bins, err);
    spent += now() - begun;
    return status;
}

rc_status __wrap_rc_store_close(struct rc_store *store, struct rc_error *err)
{
    const double begun = now();
    const rc_status status = __real_rc_store_close(store, err);
    spent += now() - begun;
    return status;
}
