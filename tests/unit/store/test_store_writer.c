/* The writer of a store: round trip, what h5py sees, resuming, folding, refusing. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "support/made_store.h"

static struct rc_store *resume(const char *path, int64_t n_flights)
{
    const struct rc_store_plan plan = made_plan(n_flights);
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    if (rc_store_resume(&store, path, &plan, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    return store;
}

static struct rc_store *create(const char *path, int64_t n_flights)
{
    const struct rc_store_plan plan = made_plan(n_flights);
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    made_remove(path);
    if (rc_store_create(&store, path, &plan, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    return store;
}

static void append_ok(struct rc_store *store, int64_t end, int unit)
{
    struct rc_error err = {0};
    if (made_append(store, end, unit, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
}

static void close_ok(struct rc_store *store)
{
    struct rc_error err = {0};
    if (rc_store_close(store, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
}

static bool is_beside(const char *path, const char *suffix)
{
    char name[600];
    (void)snprintf(name, sizeof name, "%s%s", path, suffix);
    return rc_file_exists(name);
}

static void test_store_writer__rows_written_come_back(void **state)
{
    (void)state;
    const char *path = made_path("round.h5");
    made_complete(path, 10000, 77);
    made_check(path, 10000);
    assert_false(is_beside(path, ".journal"));
    assert_false(is_beside(path, ".lock"));
    assert_false(is_beside(path, ".tmp"));
}

/* Against the packaged h5py, which shares nothing with our reader but the format. */
static void test_store_writer__h5py_sees_the_documented_layout(void **state)
{
    (void)state;
    enum { N = 5000 };
    const char *path = made_path("layout.h5");
    const char *expected = made_path("layout.raw");
    char command[1400];
    double *rows = malloc(N * MADE_COLUMNS * sizeof *rows);
    uint16_t *bins = malloc(N * MADE_SIGNALS * MADE_TIMES * sizeof *bins);
    struct rc_text raw = {0};
    assert_non_null(rows);
    assert_non_null(bins);
    made_complete(path, N, 100);
    made_rows(0, N, rows, bins);
    rc_text_add_bytes(&raw, (const char *)rows, N * MADE_COLUMNS * sizeof *rows);
    rc_text_add_bytes(&raw, (const char *)bins, N * MADE_SIGNALS * MADE_TIMES * sizeof *bins);
    assert_false(raw.failed);
    made_write(expected, raw.bytes, raw.n_bytes);
    (void)snprintf(command, sizeof command, "%s -B %s/tests/unit/store/check_layout.py '%s' '%s' %d", RC_TEST_PYTHON,
                   RC_SOURCE_DIR, path, expected, N);
    assert_int_equal(system(command), 0);
    rc_text_free(&raw);
    free(rows);
    free(bins);
}

static void test_store_writer__h5dump_shows_units_and_numbers(void **state)
{
    (void)state;
    const char *path = made_path("dump.h5");
    char command[700];
    char line[512];
    char wanted[64];
    bool has_unit = false;
    bool has_value = false;
    made_complete(path, 3, 2);
    (void)snprintf(command, sizeof command, "h5dump -m %%.17g -d /measures/apogee_m '%s'", path);
    (void)snprintf(wanted, sizeof wanted, "%.17g", made_value(1, 3));
    FILE *dump = popen(command, "r");
    assert_non_null(dump);
    while (fgets(line, sizeof line, dump)) {
        has_unit = has_unit || strstr(line, "(0): \"m\"") != NULL;
        has_value = has_value || strstr(line, wanted) != NULL;
    }
    assert_int_equal(pclose(dump), 0);
    assert_true(has_unit);
    assert_true(has_value);
}

static void test_store_writer__any_folding_and_resuming_gives_the_same_datasets(void **state)
{
    (void)state;
    const char *paths[4] = {made_path("one.h5"), made_path("folded.h5"), made_path("resumed.h5"), made_path("extended.h5")};
    struct rc_error err = {0};
    made_complete(paths[0], 9001, 64);

    struct rc_store *store = create(paths[1], 9001); /* folds at, just below and just above a chunk's end, and twice at once */
    const int64_t folds[] = {1, 4095, 4096, 4097, 8192, 8200, 8200};
    for (size_t index = 0; index < sizeof folds / sizeof folds[0]; index++) {
        append_ok(store, folds[index], 50);
        assert_int_equal(rc_store_fold(store, &err), RC_OK);
        made_check(paths[1], folds[index]);
    }
    append_ok(store, 9001, 1000);
    close_ok(store);

    store = create(paths[2], 9001);
    for (int64_t at = 0; at < 9001; at += 1237) {
        append_ok(store, at, 33);
        close_ok(store);
        made_check(paths[2], at);
        store = resume(paths[2], 9001);
        assert_int_equal(rc_store_flights(store), at);
    }
    append_ok(store, 9001, 200);
    close_ok(store);

    made_complete(paths[3], 4000, 128); /* finished, then more flights are asked for */
    store = resume(paths[3], 9001);
    append_ok(store, 9001, 17);
    close_ok(store);

    assert_int_equal(made_compare(paths, 4), 0);
}

static void test_store_writer__finished_is_said_only_of_a_whole_store(void **state)
{
    (void)state;
    const char *path = made_path("finished.h5");
    rc_results *results = NULL;
    struct rc_error err = {0};
    struct rc_store *store = create(path, 100);
    append_ok(store, 100, 10); /* all rows are in, but in the journal */
    assert_int_equal(rc_results_open(&results, path, &err), RC_OK);
    assert_int_equal(rc_results_flights(results), 100);
    assert_int_equal(rc_results_flights_asked(results), 100);
    assert_false(rc_results_is_finished(results));
    rc_results_close(results);
    close_ok(store);
    assert_int_equal(rc_results_open(&results, path, &err), RC_OK);
    assert_true(rc_results_is_finished(results));
    rc_results_close(results);

    store = resume(path, 150);
    append_ok(store, 120, 10);
    assert_int_equal(rc_results_open(&results, path, &err), RC_OK);
    assert_false(rc_results_is_finished(results));
    assert_int_equal(rc_results_flights_asked(results), 150);
    rc_results_close(results);
    close_ok(store);
    made_check(path, 120);
    assert_int_equal(rc_results_open(&results, path, &err), RC_OK);
    assert_false(rc_results_is_finished(results));
    rc_results_close(results);

    store = resume(path, 50); /* fewer than there are: nothing is lost */
    assert_int_equal(rc_store_flights(store), 120);
    close_ok(store);
    made_check(path, 120);
}

static void test_store_writer__bundle_and_origin_come_back(void **state)
{
    (void)state;
    const char *path = made_path("bundle.h5");
    const struct rc_store_plan plan = made_plan(3);
    rc_results *results = NULL;
    struct rc_error err = {0};
    made_complete(path, 3, 3);
    assert_int_equal(rc_results_open(&results, path, &err), RC_OK);
    const struct rc_bundle *bundle = rc_results_bundle(results);
    assert_int_equal(bundle->n_files, 3);
    for (int file = 0; file < 3; file++) {
        assert_string_equal(bundle->file[file].name, plan.bundle->file[file].name);
        assert_int_equal(bundle->file[file].n_bytes, plan.bundle->file[file].n_bytes);
        assert_memory_equal(bundle->file[file].bytes, plan.bundle->file[file].bytes, plan.bundle->file[file].n_bytes + 1);
    }
    assert_int_equal(rc_bundle_fingerprint(bundle), plan.fingerprint);
    assert_int_equal(rc_results_fingerprint(results), plan.fingerprint);
    assert_int_equal(rc_results_seed(results), plan.seed);
    const struct rc_results_origin origin = rc_results_origin(results);
    assert_string_equal(origin.campaign_name, plan.campaign_name);
    assert_string_equal(origin.version, plan.version);
    assert_string_equal(origin.host, plan.host_facts);
    assert_int_equal(strlen(origin.created), strlen("2026-11-25T08:00:00Z"));
    assert_string_equal(rc_results_signal(results, 1).name, "height");
    assert_string_equal(rc_results_signal(results, 1).unit, "m");
    assert_string_equal(rc_results_column_view(results, 0).long_name, "cant of the fins");
    rc_results_close(results);
}

static void test_store_writer__existing_output_is_refused(void **state)
{
    (void)state;
    const char *path = made_path("exists.h5");
    const struct rc_store_plan plan = made_plan(3);
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    size_t n_bytes = 0;
    made_remove(path);
    made_write(path, "dear diary", 10);
    assert_int_equal(rc_store_create(&store, path, &plan, &err), RC_EXISTS);
    assert_null(store);
    char *bytes = made_file(path, &n_bytes);
    assert_string_equal(bytes, "dear diary");
    free(bytes);
    made_remove(path);
    assert_int_equal(symlink("nowhere", path), 0); /* a link that leads nowhere is something, too */
    assert_int_equal(rc_store_create(&store, path, &plan, &err), RC_EXISTS);
    made_remove(path);
    assert_int_equal(rc_store_create(&store, made_path("no such folder/a.h5"), &plan, &err), RC_IO);
    assert_non_null(strstr(err.what, "No such file or directory"));
    made_write(path, "x", 1); /* a file where a folder is wanted */
    char below[600];
    (void)snprintf(below, sizeof below, "%s/a.h5", path);
    assert_int_equal(rc_store_create(&store, below, &plan, &err), RC_IO);
    made_remove(path);
}

static void test_store_writer__other_runs_are_refused(void **state)
{
    (void)state;
    const char *path = made_path("other.h5");
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    const struct rc_store_plan same = made_plan(20);
    made_complete(path, 10, 5);

    struct rc_store_plan plan = same;
    plan.fingerprint++;
    assert_int_equal(rc_store_resume(&store, path, &plan, &err), RC_OTHER_STORE);
    assert_non_null(strstr(err.what, "fingerprint"));
    plan = same;
    plan.seed++;
    assert_int_equal(rc_store_resume(&store, path, &plan, &err), RC_OTHER_STORE);
    assert_non_null(strstr(err.what, "seed 20261125"));
    plan = same;
    plan.n_columns--;
    assert_int_equal(rc_store_resume(&store, path, &plan, &err), RC_OTHER_STORE);
    plan = same;
    plan.n_times--;
    assert_int_equal(rc_store_resume(&store, path, &plan, &err), RC_OTHER_STORE);
    plan = same;
    plan.version = "0.0.2";
    assert_int_equal(rc_store_resume(&store, path, &plan, &err), RC_OTHER_STORE);
    assert_non_null(strstr(err.what, "0.0.2"));
    assert_null(store);
    assert_int_equal(rc_store_resume(&store, made_path("absent.h5"), &same, &err), RC_IO);
    made_check(path, 10);
}

static void test_store_writer__second_writer_is_refused(void **state)
{
    (void)state;
    const char *path = made_path("two.h5");
    const struct rc_store_plan plan = made_plan(100);
    struct rc_store *second = NULL;
    struct rc_error err = {0};
    struct rc_store *store = create(path, 100);
    append_ok(store, 10, 5);
    assert_int_equal(rc_store_resume(&second, path, &plan, &err), RC_EXISTS);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) { /* and in another process */
        const rc_status status = rc_store_resume(&second, path, &plan, &err);
        _exit(status == RC_EXISTS && strstr(err.what, "another process") ? 0 : 1);
    }
    int code = -1;
    assert_int_equal(waitpid(child, &code, 0), child);
    assert_int_equal(code, 0);
    append_ok(store, 100, 5);
    close_ok(store);
    made_check(path, 100);
}

static void test_store_writer__leftovers_of_a_killed_process_do_not_block(void **state)
{
    (void)state;
    const char *path = made_path("stale.h5");
    char name[600];
    made_complete(path, 50, 5);
    (void)snprintf(name, sizeof name, "%s.tmp", path);
    made_write(name, "half a file", 11);
    (void)snprintf(name, sizeof name, "%s.lock", path);
    made_write(name, "", 0);
    struct rc_store *store = resume(path, 80);
    append_ok(store, 80, 7);
    close_ok(store);
    made_check(path, 80);
    assert_false(is_beside(path, ".tmp"));
    assert_false(is_beside(path, ".lock"));
}

static void test_store_writer__link_to_a_store_stays_a_link(void **state)
{
    (void)state;
    const char *target = made_path("target.h5");
    const char *path = made_path("link.h5");
    struct stat facts;
    made_complete(target, 50, 5);
    made_remove(path);
    assert_int_equal(symlink("target.h5", path), 0);
    struct rc_store *store = resume(path, 80);
    append_ok(store, 80, 7);
    close_ok(store);
    assert_int_equal(lstat(path, &facts), 0);
    assert_true(S_ISLNK(facts.st_mode));
    made_check(target, 80);
    made_check(path, 80);
}

static void test_store_writer__store_without_bands_or_flights_is_whole(void **state)
{
    (void)state;
    const char *path = made_path("bare.h5");
    struct rc_store_plan plan = made_plan(10);
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    rc_results *results = NULL;
    double rows[10 * MADE_COLUMNS];
    double values[10];
    uint16_t bins[10 * MADE_SIGNALS * MADE_TIMES];
    made_remove(path);
    plan.n_times = 0;
    assert_int_equal(rc_store_create(&store, path, &plan, &err), RC_OK);
    assert_int_equal(rc_results_open(&results, path, &err), RC_OK);
    assert_int_equal(rc_results_flights(results), 0);
    rc_results_close(results);
    made_rows(0, 10, rows, bins);
    assert_int_equal(rc_store_append(store, 10, rows, NULL, &err), RC_OK);
    close_ok(store);
    assert_int_equal(rc_results_open(&results, path, &err), RC_OK);
    assert_int_equal(rc_results_signal_count(results), 0);
    assert_int_equal(rc_results_column(results, "end", 0, 10, values, &err), RC_OK);
    assert_true(values[9] == made_value(9, 6));
    rc_results_close(results);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_store_writer__rows_written_come_back),
        cmocka_unit_test(test_store_writer__h5py_sees_the_documented_layout),
        cmocka_unit_test(test_store_writer__h5dump_shows_units_and_numbers),
        cmocka_unit_test(test_store_writer__any_folding_and_resuming_gives_the_same_datasets),
        cmocka_unit_test(test_store_writer__finished_is_said_only_of_a_whole_store),
        cmocka_unit_test(test_store_writer__bundle_and_origin_come_back),
        cmocka_unit_test(test_store_writer__existing_output_is_refused),
        cmocka_unit_test(test_store_writer__other_runs_are_refused),
        cmocka_unit_test(test_store_writer__second_writer_is_refused),
        cmocka_unit_test(test_store_writer__leftovers_of_a_killed_process_do_not_block),
        cmocka_unit_test(test_store_writer__link_to_a_store_stays_a_link),
        cmocka_unit_test(test_store_writer__store_without_bands_or_flights_is_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
