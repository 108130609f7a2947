/* The plug is pulled between any two calls, and the device keeps of what was not flushed what it likes: the store opens, has the
 * flights that were promised, and is resumed to the same numbers. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "power_calls.h"
#include "store/store_state.h"
#include "support/made_store.h"

enum { N_FLIGHTS = 400, UNIT = 30, N_FOLD = 150, N_KILL = 250, CHOICES = 10 };

/* Append unit by unit; what was flushed is promised. */
static void append(struct rc_store *store, int64_t end)
{
    struct rc_error err = {0};
    while (rc_store_flights(store) < end) {
        const long n_flushes = power_flushes();
        const int64_t next = rc_store_flights(store) + UNIT;
        if (made_append(store, next < end ? next : end, UNIT, &err) != RC_OK)
            fail_msg("%s: %s", err.where, err.what);
        if (power_flushes() > n_flushes)
            power_promise(rc_store_flights(store));
    }
}

static struct rc_store *begin(const char *path)
{
    const struct rc_store_plan plan = made_plan(N_FLIGHTS);
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    const rc_status status =
        rc_file_exists(path) ? rc_store_resume(&store, path, &plan, &err) : rc_store_create(&store, path, &plan, &err);
    if (status != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    return store;
}

static void end(struct rc_store *store)
{
    struct rc_error err = {0};
    if (rc_store_close(store, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
}

/* A run left alone, with a folding on the way. */
static void run_straight(const char *path)
{
    struct rc_error err = {0};
    struct rc_store *store = begin(path);
    power_promise(0);
    append(store, N_FOLD);
    assert_int_equal(rc_store_fold(store, &err), RC_OK);
    power_promise(N_FOLD);
    append(store, N_FLIGHTS);
    end(store);
    power_promise(N_FLIGHTS);
}

/* A run that is killed (its files stay as they are), and resumed before the power fails. */
static void run_killed(const char *path)
{
    struct rc_error err = {0};
    struct rc_store *store = begin(path);
    power_promise(0);
    append(store, N_FOLD);
    assert_int_equal(rc_store_fold(store, &err), RC_OK);
    append(store, N_KILL);
    rc_store_free(store);
    store = begin(path);
    append(store, N_FLIGHTS - UNIT / 2);
    rc_store_free(store);
    store = begin(path);
    append(store, N_FLIGHTS);
    end(store);
    power_promise(N_FLIGHTS);
}

/* Open what is left, look at its numbers, go on to the end. */
static void go_on(const char *path, int64_t promised, long at, unsigned choice)
{
    rc_results *results = NULL;
    struct rc_error err = {0};
    if (!rc_file_exists(path)) {
        if (promised >= 0)
            fail_msg("call %ld, choice %u: no store is left", at, choice);
    } else {
        if (rc_results_open(&results, path, &err) != RC_OK)
            fail_msg("call %ld, choice %u: %s: %s", at, choice, err.where, err.what);
        const int64_t found = rc_results_flights(results);
        rc_results_close(results);
        made_check(path, found);
        if (found < promised)
            fail_msg("call %ld, choice %u: %lld flights are left of %lld promised", at, choice, (long long)found,
                     (long long)promised);
    }
    struct rc_store *store = begin(path);
    append(store, N_FLIGHTS);
    end(store);
    made_check(path, N_FLIGHTS);
}

static void cut_everywhere(const char *name, void (*run)(const char *))
{
    char folder[520];
    char path[600];
    char left[600];
    char left_path[700];
    (void)snprintf(folder, sizeof folder, "%s", made_path(name));
    (void)snprintf(left, sizeof left, "%s-left", folder);
    (void)snprintf(path, sizeof path, "%s/cut.h5", folder);
    (void)snprintf(left_path, sizeof left_path, "%s/cut.h5", left);
    (void)mkdir(folder, 0777);
    (void)mkdir(left, 0777);
    made_remove(path);
    power_record(folder);
    run(path);
    const long n = power_stop();
    assert_true(n > 100);
    long n_cuts = 0;
    for (long at = 0; at <= n; at++)
        for (unsigned choice = 0; choice < CHOICES; choice++) {
            if (!power_is_turn(at) && (at + choice) % 5 > 0) /* most calls are writes to a file that nobody sees yet */
                continue;
            made_remove(left_path);
            go_on(left_path, power_cut(left, at, choice), at, choice);
            n_cuts++;
        }
    print_message("%ld calls, the power was cut %ld times\n", n, n_cuts);
    power_forget();
}

static void test_power_cut__run_left_alone_is_resumed(void **state)
{
    (void)state;
    cut_everywhere("straight", run_straight);
}

static void test_power_cut__run_killed_before_is_resumed(void **state)
{
    (void)state;
    cut_everywhere("killed", run_killed);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_power_cut__run_left_alone_is_resumed),
        cmocka_unit_test(test_power_cut__run_killed_before_is_resumed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
