/* Whatever system call fails, and whenever the process is killed: the store stays openable, holds what it said was safe,
 * and resuming gives the same datasets as a run without trouble. */
#define _XOPEN_SOURCE 700

#include <dirent.h>
#include <errno.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>
#include <hdf5.h>

#include "fault_calls.h"
#include "support/made_store.h"

enum { N_FLIGHTS = 500, UNIT = 40, N_FOLD = 200 };

/* Create or resume, append, fold once on the way, append, close. out safe  flights that were safe when it ended */
static rc_status run(const char *path, int64_t n, int64_t *safe, struct rc_error *err)
{
    const struct rc_store_plan plan = made_plan(n);
    struct rc_store *store = NULL;
    rc_status status = rc_file_exists(path) ? rc_store_resume(&store, path, &plan, err) : rc_store_create(&store, path, &plan, err);
    if (status != RC_OK)
        return status;
    if (rc_store_flights(store) < N_FOLD)
        status = made_append(store, N_FOLD, UNIT, err);
    if (status == RC_OK)
        status = rc_store_fold(store, err);
    if (status == RC_OK)
        status = made_append(store, n, UNIT, err);
    *safe = rc_store_flights(store);
    const rc_status closed = rc_store_close(store, status == RC_OK ? err : NULL);
    return status == RC_OK ? closed : status;
}

/* Rows that a reader finds; 0 where there is no store yet. Each is checked. */
static int64_t check_prefix(const char *path)
{
    rc_results *results = NULL;
    struct rc_error err = {0};
    if (!rc_file_exists(path))
        return 0;
    if (rc_results_open(&results, path, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    const int64_t n = rc_results_flights(results);
    rc_results_close(results);
    made_check(path, n);
    return n;
}

static void finish(const char *path)
{
    int64_t safe = 0;
    struct rc_error err = {0};
    if (run(path, N_FLIGHTS, &safe, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    assert_int_equal(safe, N_FLIGHTS);
    made_check(path, N_FLIGHTS);
}

static int n_open_files(void)
{
    int n = 0;
    DIR *folder = opendir("/proc/self/fd");
    if (!folder)
        return -1;
    while (readdir(folder))
        n++;
    (void)closedir(folder);
    return n;
}

/* Calls of a run without trouble. */
static long n_calls(const char *path)
{
    int64_t safe = 0;
    struct rc_error err = {0};
    made_remove(path);
    fault_arm(FAULT_NONE, 0, 0);
    const rc_status status = run(path, N_FLIGHTS, &safe, &err);
    const long n = fault_disarm();
    assert_int_equal(status, RC_OK);
    assert_true(n > 50);
    return n;
}

/* Every call fails in turn, once or from then on, in this process: which must go on without a leak. */
static void fail_each_call(const char *name, enum fault_kind kind, int code, rc_status wanted)
{
    const char *path = made_path(name);
    const long n = n_calls(path);
    const int n_files = n_open_files();
    int n_failed = 0;
    for (long at = 1; at <= n; at++) {
        int64_t safe = 0;
        struct rc_error err = {0};
        made_remove(path);
        fault_arm(kind, at, code);
        const rc_status status = run(path, N_FLIGHTS, &safe, &err);
        (void)fault_disarm();
        if (status != RC_OK) {
            if (status != wanted)
                fail_msg("call %ld: status %d: %s: %s", at, (int)status, err.where, err.what);
            assert_non_null(strstr(err.what, strerror(code)));
            assert_null(strchr(err.what, '\n'));
            if (safe > 0)
                assert_non_null(strstr(err.what, "flights are safe"));
            n_failed++;
        }
        const int64_t found = check_prefix(path);
        if (found < safe)
            fail_msg("call %ld: %lld flights are left, %lld were said to be safe", at, (long long)found, (long long)safe);
        finish(path);
        assert_int_equal(H5Fget_obj_count(H5F_OBJ_ALL, H5F_OBJ_ALL), 0);
        assert_int_equal(n_open_files(), n_files);
    }
    print_message("%ld calls, %d of their failures ended the run with status %d\n", n, n_failed, (int)wanted);
    assert_true(n_failed > n / 2);
}

static void test_store_faults__full_device_at_any_call_loses_nothing(void **state)
{
    (void)state;
    fail_each_call("full.h5", FAULT_FROM_ON, ENOSPC, RC_NO_SPACE);
}

static void test_store_faults__failing_device_at_any_call_loses_nothing(void **state)
{
    (void)state;
    fail_each_call("broken.h5", FAULT_ONCE, EIO, RC_IO);
}

static void test_store_faults__short_writes_are_gone_on_with(void **state)
{
    (void)state;
    const char *path = made_path("short.h5");
    int64_t safe = 0;
    struct rc_error err = {0};
    made_remove(path);
    fault_arm(FAULT_SHORT, 1, 0);
    const rc_status status = run(path, N_FLIGHTS, &safe, &err);
    (void)fault_disarm();
    assert_int_equal(status, RC_OK);
    made_check(path, N_FLIGHTS);
}

/* Run in a child process that dies in a call, or some time after its start. ends whether it died */
static bool run_and_die(const char *path, enum fault_kind kind, long at, long microseconds)
{
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        int64_t safe = 0;
        struct rc_error err = {0};
        if (kind != FAULT_NONE)
            fault_arm(kind, at, 0);
        _exit(run(path, N_FLIGHTS, &safe, &err) == RC_OK ? 0 : 1);
    }
    if (kind == FAULT_NONE) {
        const struct timespec pause = {0, microseconds * 1000};
        (void)nanosleep(&pause, NULL);
        assert_int_equal(kill(child, SIGKILL), 0);
    }
    int code = 0;
    assert_int_equal(waitpid(child, &code, 0), child);
    if (WIFEXITED(code) && WEXITSTATUS(code) != 0)
        fail_msg("%s: the run failed instead of being killed", path);
    return WIFSIGNALED(code);
}

static void kill_in_each_call(const char *name, enum fault_kind kind)
{
    const char *path = made_path(name);
    const char *paths[2] = {made_path("straight.h5"), path};
    const long n = n_calls(path);
    int64_t before = 0;
    long n_killed = 0;
    made_complete(paths[0], N_FLIGHTS, UNIT);
    for (long at = 1; at <= n; at++) {
        made_remove(path);
        const bool is_dead = run_and_die(path, kind, at, 0);
        assert_true(is_dead || kind == FAULT_KILL_TORN); /* a call that is no write cannot be torn */
        n_killed += is_dead;
        if (!is_dead)
            continue;
        const int64_t found = check_prefix(path);
        assert_true(found >= before); /* the later the kill, the more is there */
        before = found;
        finish(path);
        if (at % 40 == 0)
            assert_int_equal(made_compare(paths, 2), 0);
    }
    assert_int_equal(before, N_FLIGHTS);
    assert_true(n_killed > n / 2);
    print_message("killed in %ld of %ld calls\n", n_killed, n);
}

static void test_store_faults__kill_before_any_call_is_resumed(void **state)
{
    (void)state;
    kill_in_each_call("killed.h5", FAULT_KILL);
}

static void test_store_faults__kill_within_any_write_is_resumed(void **state)
{
    (void)state;
    kill_in_each_call("torn.h5", FAULT_KILL_TORN);
}

/* At instants of a clock that knows nothing of calls, several kills in one run's life. The seed is fixed; the machine's load is not. */
static void test_store_faults__kill_at_forty_instants_is_resumed(void **state)
{
    (void)state;
    enum { N_KILLS = 40 };
    const char *path = made_path("instants.h5");
    const char *paths[2] = {made_path("straight.h5"), path};
    struct timespec begin;
    struct timespec end;
    int n_killed = 0;
    (void)clock_gettime(CLOCK_REALTIME, &begin);
    made_complete(paths[0], N_FLIGHTS, UNIT);
    (void)clock_gettime(CLOCK_REALTIME, &end);
    const long whole = (end.tv_sec - begin.tv_sec) * 1000000 + (end.tv_nsec - begin.tv_nsec) / 1000;
    srandom(20261125);
    made_remove(path);
    for (int turn = 0; turn < 50 * N_KILLS && n_killed < N_KILLS; turn++) {
        if (!run_and_die(path, FAULT_NONE, 0, random() % (whole < 900000 ? whole : 900000)))
            made_remove(path); /* it was quicker: once more from the start */
        else
            n_killed++;
        (void)check_prefix(path);
        if (turn % 3 == 2 && rc_file_exists(path)) {
            finish(path);
            made_remove(path);
        }
    }
    finish(path);
    assert_int_equal(n_killed, N_KILLS);
    assert_int_equal(made_compare(paths, 2), 0);
}

/* The kernel's own limit on the size of a file: EFBIG, with the signal that goes with it ignored as the command does. */
static void test_store_faults__file_size_limit_loses_nothing(void **state)
{
    (void)state;
    const char *path = made_path("limit.h5");
    struct rlimit old;
    size_t n_whole = 0;
    int n_failed = 0;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &old), 0);
    void (*before)(int) = signal(SIGXFSZ, SIG_IGN);
    made_complete(path, N_FLIGHTS, UNIT);
    free(made_file(path, &n_whole));
    for (size_t limit = 100; limit < n_whole; limit += n_whole / 20) {
        int64_t safe = 0;
        struct rc_error err = {0};
        const struct rlimit small = {limit, old.rlim_max};
        made_remove(path);
        assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
        const rc_status status = run(path, N_FLIGHTS, &safe, &err);
        assert_int_equal(setrlimit(RLIMIT_FSIZE, &old), 0);
        assert_int_equal(status, RC_NO_SPACE);
        assert_true(check_prefix(path) >= safe);
        finish(path);
        n_failed++;
    }
    (void)signal(SIGXFSZ, before);
    assert_true(n_failed > 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_store_faults__full_device_at_any_call_loses_nothing),
        cmocka_unit_test(test_store_faults__failing_device_at_any_call_loses_nothing),
        cmocka_unit_test(test_store_faults__short_writes_are_gone_on_with),
        cmocka_unit_test(test_store_faults__kill_before_any_call_is_resumed),
        cmocka_unit_test(test_store_faults__kill_within_any_write_is_resumed),
        cmocka_unit_test(test_store_faults__kill_at_forty_instants_is_resumed),
        cmocka_unit_test(test_store_faults__file_size_limit_loses_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
