/* Units go out and come back in the order of their flights, whoever is quicker; none is lost, none comes twice. */
#include <pthread.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <time.h>

#include <cmocka.h>

#include "batch/units.h"

enum { COLUMNS = 3, CELLS = 2, MOST = 64, FIRST = 1000 };

/* What the sink has seen. */
struct seen {
    int64_t next, end_at;    /* flight that comes next; no further unit after this one, 0 = none */
    int n_units, n_bad, last_n;
    atomic_int n_inside;     /* threads in the sink */
};

static bool sink(void *user, const struct rc_worker_unit *unit, bool is_whole)
{
    struct seen *seen = user;
    seen->n_bad += atomic_fetch_add(&seen->n_inside, 1) != 0;
    seen->n_bad += unit->first != seen->next || unit->n < 1 || unit->n > MOST || !is_whole;
    for (int row = 0; row < unit->n; row++)
        seen->n_bad += unit->rows[row * COLUMNS] != (double)(unit->first + row) || unit->bins[row * CELLS] != (uint16_t)row;
    if (seen->n_units % 8 == 5) { /* as when the journal is folded */
        const struct timespec pause = {0, 500000};
        (void)nanosleep(&pause, NULL);
    }
    seen->next += unit->n;
    seen->n_units++;
    seen->last_n = unit->n;
    (void)atomic_fetch_sub(&seen->n_inside, 1);
    return seen->end_at == 0 || seen->next < seen->end_at;
}

static void begin(struct rc_units *units, struct seen *seen, int64_t n_rows, int n_threads)
{
    const struct rc_units_job job = {.first = FIRST, .n_rows = n_rows, .n_threads = n_threads, .most = MOST, .n_columns = COLUMNS,
                                     .n_cells = CELLS, .sink = sink, .user = seen};
    assert_int_equal(rc_units_begin(units, &job, NULL), RC_OK);
    seen->next = FIRST;
}

/* Fill a unit as if it were flown. */
static void fill(const struct rc_worker_unit *unit)
{
    for (int row = 0; row < unit->n; row++) {
        unit->rows[row * COLUMNS] = (double)(unit->first + row);
        unit->bins[row * CELLS] = (uint16_t)row;
    }
}

static void test_units__slow_unit_does_not_stop_the_others(void **state)
{
    (void)state;
    struct rc_units units;
    struct seen seen = {0};
    begin(&units, &seen, 100000, 2);
    struct rc_worker_unit *slow = rc_units_take(&units);
    for (int place = 1; place < units.n_places; place++) { /* all of these are flown while the first is in work */
        struct rc_worker_unit *quick = rc_units_take(&units);
        fill(quick);
        rc_units_give(&units, quick, true);
    }
    assert_true(units.n_places >= 4);
    assert_int_equal(seen.n_units, 0);
    fill(slow);
    rc_units_give(&units, slow, true);
    assert_int_equal(seen.n_units, units.n_places);
    assert_int_equal(seen.n_bad, 0);
    rc_units_free(&units);
}

static void test_units__last_ones_are_short(void **state)
{
    (void)state;
    struct rc_units units;
    struct seen seen = {0};
    int n_units = 0;
    begin(&units, &seen, 1001, 2);
    for (struct rc_worker_unit *unit = rc_units_take(&units); unit; unit = rc_units_take(&units), n_units++) {
        assert_true(unit->n == (n_units == 0 ? MOST : unit->n));
        fill(unit);
        rc_units_give(&units, unit, true);
    }
    assert_int_equal(seen.next, FIRST + 1001);
    assert_int_equal(seen.n_bad, 0);
    assert_true(seen.last_n <= rc_block_lanes()); /* so that the threads end at about the same time */
    rc_units_free(&units);
}

/* One of several threads; each unit takes as long as chance has it. */
static void *fly(void *user)
{
    struct rc_units *units = user;
    for (struct rc_worker_unit *unit = rc_units_take(units); unit; unit = rc_units_take(units)) {
        const struct timespec pause = {0, (long)((uint64_t)unit->first * 2654435761U % 300) * 1000};
        (void)nanosleep(&pause, NULL);
        fill(unit);
        rc_units_give(units, unit, true);
    }
    return NULL;
}

static void fly_all(int n_threads, int64_t n_rows, int64_t end_at)
{
    pthread_t thread[8];
    struct rc_units units;
    struct seen seen = {.end_at = end_at};
    begin(&units, &seen, n_rows, n_threads);
    for (int number = 0; number < n_threads; number++)
        assert_int_equal(pthread_create(&thread[number], NULL, fly, &units), 0);
    for (int number = 0; number < n_threads; number++)
        assert_int_equal(pthread_join(thread[number], NULL), 0);
    assert_int_equal(seen.n_bad, 0);
    if (end_at == 0)
        assert_int_equal(seen.next, FIRST + n_rows);
    else
        assert_in_range(seen.next, end_at, end_at + MOST);
    rc_units_free(&units);
}

static void test_units__threads_lose_none(void **state)
{
    (void)state;
    static const int64_t rows[] = {0, 1, 15, 16, 17, 700, 9999};
    for (size_t at = 0; at < sizeof rows / sizeof *rows; at++)
        for (int n_threads = 1; n_threads <= 8; n_threads += n_threads == 1 ? 2 : 5)
            fly_all(n_threads, rows[at], 0);
}

static void test_units__sink_ends_the_run(void **state)
{
    (void)state;
    fly_all(1, 9999, FIRST + 500);
    fly_all(4, 9999, FIRST + 500);
    fly_all(4, 9999, FIRST + 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_units__slow_unit_does_not_stop_the_others),
        cmocka_unit_test(test_units__last_ones_are_short),
        cmocka_unit_test(test_units__threads_lose_none),
        cmocka_unit_test(test_units__sink_ends_the_run),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
