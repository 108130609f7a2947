/* The bit-for-bit promise, on the demonstration campaign: whatever the number of threads, stops, kills, resumes and
 * additions, a store holds the same bits; and any stored flight flown again gives its row.
 *
 * Runs go in child processes: a process that is forked after it has used threads may not use them again. */
#define _XOPEN_SOURCE 700

#include <errno.h>
#include <setjmp.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "rollcast/rollcast.h"
#include "support/made_store.h"

enum { N_FLIGHTS = 403 }; /* no multiple of any number of lanes */

static const char campaign_path[] = RC_SOURCE_DIR "/campaigns/first.json";

static atomic_int is_stopped;

static void on_signal(int number)
{
    (void)number;
    is_stopped = 1;
}

/* Fly to a number of flights, or until SIGTERM. ends the status, in a child its exit code */
static rc_status fly(const char *path, int64_t n_flights, int n_threads)
{
    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    struct rc_error err = {0};
    const struct sigaction action = {.sa_handler = on_signal, .sa_flags = SA_RESTART};
    const struct rc_run_options options = {
        .n_flights = n_flights, .n_threads = n_threads, .resume = rc_file_exists(path), .stop = &is_stopped};
    if (rc_campaign_load(&campaign, campaign_path, &issues) != RC_OK)
        return RC_INTERNAL;
    (void)sigaction(SIGTERM, &action, NULL);
    const rc_status status = rc_run_fly(campaign, path, &options, NULL, &err);
    if (status != RC_OK && status != RC_STOPPED)
        (void)fprintf(stderr, "%s: %s\n", err.where, err.what);
    rc_campaign_free(campaign);
    return status;
}

static pid_t start(const char *path, int64_t n_flights, int n_threads)
{
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0)
        _exit((int)fly(path, n_flights, n_threads));
    return child;
}

/* Wait for a run. ends its status, or -1 if a signal ended it */
static int wait_for(pid_t child)
{
    int code = 0;
    while (waitpid(child, &code, 0) < 0)
        assert_int_equal(errno, EINTR);
    return WIFEXITED(code) ? WEXITSTATUS(code) : -1;
}

static int64_t flights_in(const char *path)
{
    rc_results *results = NULL;
    struct rc_error err = {0};
    if (!rc_file_exists(path))
        return 0;
    if (rc_results_open(&results, path, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    const int64_t n = rc_results_flights(results);
    rc_results_close(results);
    return n;
}

/* The run all others are compared with: one thread, straight through. */
static const char *straight(void)
{
    const char *path = made_path("straight.h5");
    if (!rc_file_exists(path))
        assert_int_equal(wait_for(start(path, N_FLIGHTS, 1)), RC_OK);
    assert_int_equal(flights_in(path), N_FLIGHTS);
    return path;
}

static void assert_same(const char *path)
{
    const char *paths[2] = {straight(), path};
    assert_int_equal(flights_in(path), N_FLIGHTS);
    assert_int_equal(made_compare(paths, 2), 0);
}

static void test_runs__any_number_of_threads_gives_the_same_bits(void **state)
{
    (void)state;
    const int n_threads[] = {2, 3, 7};
    for (size_t index = 0; index < sizeof n_threads / sizeof n_threads[0]; index++) {
        const char *path = made_path("threads.h5");
        made_remove(path);
        assert_int_equal(wait_for(start(path, N_FLIGHTS, n_threads[index])), RC_OK);
        assert_same(path);
    }
}

/* In additions, each ending inside a block of lanes, one of them of a single flight. */
static void test_runs__flown_in_additions_gives_the_same_bits(void **state)
{
    (void)state;
    const int64_t ends[] = {1, 2, 19, 100, 256, 257, N_FLIGHTS};
    const char *path = made_path("additions.h5");
    made_remove(path);
    for (size_t index = 0; index < sizeof ends / sizeof ends[0]; index++) {
        assert_int_equal(wait_for(start(path, ends[index], 1 + (int)(index % 2))), RC_OK);
        assert_int_equal(flights_in(path), ends[index]);
    }
    assert_same(path);
}

/* Start a run and send it a signal once a reader sees some more flights in its store, and a random while later.
 * ends as wait_for */
static int disturb(const char *path, int n_threads, int64_t n_more, int signal_number)
{
    const int64_t wanted = flights_in(path) + n_more;
    const struct timespec tick = {0, 1000000};
    const struct timespec pause = {0, random() % 20000000};
    const pid_t child = start(path, N_FLIGHTS, n_threads);
    while (flights_in(path) < wanted && flights_in(path) < N_FLIGHTS)
        (void)nanosleep(&tick, NULL);
    (void)nanosleep(&pause, NULL);
    assert_int_equal(kill(child, signal_number), 0); /* an ended child is still there until it is waited for */
    return wait_for(child);
}

static void test_runs__stopped_and_resumed_gives_the_same_bits(void **state)
{
    (void)state;
    const char *path = made_path("stopped.h5");
    int n_stops = 0;
    srandom(11);
    made_remove(path);
    for (int turn = 0; flights_in(path) < N_FLIGHTS; turn++) {
        const int64_t before = flights_in(path);
        const int ended = disturb(path, 1 + turn % 3, turn == 0 ? 1 : 1 + random() % 100, SIGTERM);
        assert_true(ended == RC_OK || ended == RC_STOPPED);
        assert_true(flights_in(path) > before);
        assert_true((ended == RC_OK) == (flights_in(path) == N_FLIGHTS));
        n_stops += ended == RC_STOPPED;
    }
    print_message("stopped %d times\n", n_stops);
    assert_true(n_stops > 0);
    assert_same(path);
}

static void test_runs__killed_and_resumed_gives_the_same_bits(void **state)
{
    (void)state;
    const char *path = made_path("killed.h5");
    int n_kills = 0;
    srandom(12);
    made_remove(path);
    for (int turn = 0; flights_in(path) < N_FLIGHTS; turn++) {
        const int64_t before = flights_in(path);
        n_kills += disturb(path, 2, turn == 0 ? 1 : 1 + random() % 100, SIGKILL) == -1;
        assert_true(flights_in(path) > before);
    }
    assert_int_equal(wait_for(start(path, N_FLIGHTS, 2)), RC_OK); /* the last kill may have come before the last folding */
    print_message("killed %d times\n", n_kills);
    assert_true(n_kills > 0);
    assert_same(path);
}

static void test_runs__replayed_flights_equal_their_rows(void **state)
{
    (void)state;
    rc_results *results = NULL;
    struct rc_error err = {0};
    assert_int_equal(rc_results_open(&results, straight(), &err), RC_OK);
    for (int64_t flight = 0; flight < N_FLIGHTS; flight += flight < N_FLIGHTS - 40 ? 37 : 9) {
        int n_differing = -1;
        if (rc_run_replay(results, flight, NULL, 0.0, &n_differing, &err) != RC_OK)
            fail_msg("%s: %s", err.where, err.what);
        assert_int_equal(n_differing, 0);
    }
    rc_results_close(results);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_runs__any_number_of_threads_gives_the_same_bits),
        cmocka_unit_test(test_runs__flown_in_additions_gives_the_same_bits),
        cmocka_unit_test(test_runs__stopped_and_resumed_gives_the_same_bits),
        cmocka_unit_test(test_runs__killed_and_resumed_gives_the_same_bits),
        cmocka_unit_test(test_runs__replayed_flights_equal_their_rows),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
