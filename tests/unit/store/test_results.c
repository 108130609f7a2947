/* The reader of stores: windows of columns, unfinished runs, and whatever else may be offered as a store. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <hdf5.h>

#include "store/seal.h"
#include "support/made_store.h"

static rc_status open_status(const char *path, struct rc_error *err)
{
    rc_results *results = NULL;
    const rc_status status = rc_results_open(&results, path, err);
    if (status != RC_OK)
        assert_null(results);
    rc_results_close(results);
    return status;
}

static void test_results__windows_across_file_and_journal_are_right(void **state)
{
    (void)state;
    enum { FOLDED = 5000, ALL = 6100 };
    const char *path = made_path("window.h5");
    const struct rc_store_plan plan = made_plan(ALL);
    const char *column = plan.column[3].name;
    const int64_t firsts[] = {0, 1, 4095, 4096, 4999, 5000, 5001, 6099};
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    rc_results *results = NULL;
    double values[ALL];
    made_remove(path);
    assert_int_equal(rc_store_create(&store, path, &plan, &err), RC_OK);
    assert_int_equal(made_append(store, FOLDED, 100, &err), RC_OK);
    assert_int_equal(rc_store_fold(store, &err), RC_OK);
    assert_int_equal(made_append(store, ALL, 70, &err), RC_OK);
    assert_int_equal(rc_results_open(&results, path, &err), RC_OK);
    assert_int_equal(rc_results_flights(results), ALL);
    for (size_t index = 0; index < sizeof firsts / sizeof firsts[0]; index++) {
        const int64_t most = ALL - firsts[index];
        const int64_t counts[] = {0, 1, most / 2, most};
        for (size_t n = 0; n < 4; n++) {
            assert_int_equal(rc_results_column(results, column, firsts[index], counts[n], values, &err), RC_OK);
            for (int64_t row = 0; row < counts[n]; row++) {
                const double wanted = made_value(firsts[index] + row, 3);
                assert_memory_equal(&values[row], &wanted, sizeof wanted);
            }
        }
    }
    /* What was open stays whole while the writer folds and ends. */
    assert_int_equal(rc_store_close(store, &err), RC_OK);
    assert_int_equal(rc_results_column(results, column, 0, ALL, values, &err), RC_OK);
    for (int64_t row = 0; row < ALL; row++) {
        const double wanted = made_value(row, 3);
        assert_memory_equal(&values[row], &wanted, sizeof wanted);
    }
    rc_results_close(results);
    made_check(path, ALL);
}

static void test_results__rows_and_columns_that_are_not_there_are_refused(void **state)
{
    (void)state;
    const char *path = made_path("absent_rows.h5");
    rc_results *results = NULL;
    struct rc_error err = {0};
    double value[4];
    double curve[RC_N_PERCENTILES * MADE_TIMES];
    made_complete(path, 10, 4);
    assert_int_equal(rc_results_open(&results, path, &err), RC_OK);
    assert_int_equal(rc_results_column(results, "measures/none", 0, 1, value, &err), RC_BAD_INPUT);
    assert_non_null(strstr(err.what, "measures/none"));
    assert_int_equal(rc_results_column(results, "end", -1, 1, value, &err), RC_BAD_INPUT);
    assert_int_equal(rc_results_column(results, "end", 9, 2, value, &err), RC_BAD_INPUT);
    assert_int_equal(rc_results_column(results, "end", 11, 0, value, &err), RC_BAD_INPUT);
    assert_int_equal(rc_results_column(results, "end", 1, INT64_MAX, value, &err), RC_BAD_INPUT);
    assert_int_equal(rc_results_column(results, "end", 9, 1, value, &err), RC_OK);
    assert_int_equal(rc_results_band(results, MADE_SIGNALS, value, curve, NULL, &err), RC_BAD_INPUT);
    assert_int_equal(rc_results_band(results, -1, value, curve, NULL, &err), RC_BAD_INPUT);
    assert_string_equal(rc_results_column_view(results, MADE_COLUMNS).name, "");
    assert_string_equal(rc_results_signal(results, -1).name, "");
    rc_results_close(results);
}

static void test_results__what_is_no_store_is_said(void **state)
{
    (void)state;
    const char *path = made_path("not.h5");
    struct rc_error err = {0};
    made_remove(path);
    assert_int_equal(open_status(path, &err), RC_IO);
    made_write(path, "just some text\n", 15);
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    assert_non_null(strstr(err.what, "is not a store"));
    assert_string_equal(err.where, path);
    made_write(path, "\n  {\"name\": 1}", 14);
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    assert_string_equal(err.what, "is JSON, as a campaign is, not a store; fly the campaign first (rollcast fly) and name its store");
    made_write(path, "", 0);
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(mkdir(path, 0777), 0);
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    assert_int_equal(rmdir(path), 0);
    assert_int_equal(mkfifo(path, 0666), 0); /* must not wait for a writer */
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    assert_int_equal(unlink(path), 0);
    const hid_t file = H5Fcreate(path, H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT); /* HDF5, but another program's */
    assert_true(file >= 0);
    assert_true(H5Fclose(file) >= 0);
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    assert_non_null(strstr(err.what, "is an HDF5 file but not a store"));
    assert_null(strchr(err.what, '\n'));
    made_remove(path);
}

static void test_results__later_format_is_refused_with_its_number(void **state)
{
    (void)state;
    const char *path = made_path("later.h5");
    struct rc_error err = {0};
    const int64_t later = 2;
    made_complete(path, 10, 4);
    const hid_t file = H5Fopen(path, H5F_ACC_RDWR, H5P_DEFAULT);
    const hid_t version = H5Aopen(file, "format_version", H5P_DEFAULT);
    assert_true(H5Awrite(version, H5T_NATIVE_INT64, &later) >= 0);
    assert_true(H5Aclose(version) >= 0 && H5Fclose(file) >= 0);
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    assert_non_null(strstr(err.what, "another program has changed it"));
    assert_int_equal(rc_seal_write(path, &err), RC_OK);
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    assert_non_null(strstr(err.what, "format 2"));
}

/* A store cut short at many lengths is refused, never taken for a smaller one. */
static void test_results__truncated_store_is_refused(void **state)
{
    (void)state;
    const char *path = made_path("cut.h5");
    struct rc_error err = {0};
    size_t n_bytes = 0;
    made_complete(path, 300, 50);
    char *bytes = made_file(path, &n_bytes);
    for (size_t n = 0; n < n_bytes; n += n < 600 || n + 600 > n_bytes ? 7 : 997) {
        made_write(path, bytes, n);
        assert_int_equal(open_status(path, &err), RC_NOT_STORE);
        assert_null(strchr(err.what, '\n'));
        if (n > 64)
            assert_non_null(strstr(err.what, "was cut short"));
    }
    made_write(path, bytes, n_bytes);
    made_check(path, 300);
    free(bytes);
}

/* Any changed byte is seen before HDF5 sees the file: on some of them it would crash or hang. */
static void test_results__any_changed_byte_is_seen(void **state)
{
    (void)state;
    const char *path = made_path("damage.h5");
    struct rc_error err = {0};
    size_t n_bytes = 0;
    made_complete(path, 300, 50);
    char *bytes = made_file(path, &n_bytes);
    for (size_t at = 0; at < n_bytes; at += at < 600 || at + 600 > n_bytes ? 1 : 13) {
        bytes[at] ^= 0x10;
        made_write(path, bytes, n_bytes);
        assert_int_equal(open_status(path, &err), RC_NOT_STORE);
        bytes[at] ^= 0x10;
    }
    made_write(path, bytes, n_bytes);
    made_check(path, 300);
    char *longer = realloc(bytes, n_bytes + 1);
    assert_non_null(longer);
    longer[n_bytes] = 0;
    made_write(path, longer, n_bytes + 1);
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    free(longer);
}

static void test_results__journal_of_another_store_is_said(void **state)
{
    (void)state;
    const char *path = made_path("mixed.h5");
    char journal[600];
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    size_t n_bytes = 0;
    const struct rc_store_plan plan = made_plan(100);
    (void)snprintf(journal, sizeof journal, "%s.journal", path);
    made_remove(path);
    assert_int_equal(rc_store_create(&store, path, &plan, &err), RC_OK);
    assert_int_equal(made_append(store, 50, 10, &err), RC_OK);
    assert_int_equal(rc_store_fold(store, &err), RC_OK);
    assert_int_equal(made_append(store, 80, 10, &err), RC_OK);
    char *bytes = made_file(journal, &n_bytes); /* flights 50 to 79 */
    assert_int_equal(rc_store_close(store, &err), RC_OK);

    made_complete(path, 20, 10); /* ends before the journal begins */
    made_write(journal, bytes, n_bytes);
    assert_int_equal(open_status(path, &err), RC_OTHER_STORE);
    assert_string_equal(err.where, journal);
    assert_int_equal(rc_store_resume(&store, path, &plan, &err), RC_OTHER_STORE);

    made_complete(path, 60, 10); /* overlaps it: rows that are there twice count once */
    made_write(journal, bytes, n_bytes);
    made_check(path, 80);
    assert_int_equal(rc_store_resume(&store, path, &plan, &err), RC_OK);
    assert_int_equal(made_append(store, 100, 10, &err), RC_OK);
    assert_int_equal(rc_store_close(store, &err), RC_OK);
    made_check(path, 100);

    bytes[20] ^= 1; /* a damaged head: the store goes on from what it has itself */
    made_write(journal, bytes, n_bytes);
    made_check(path, 100);

    made_remove(path); /* and a journal whose store is gone is not taken over silently */
    made_write(journal, bytes, n_bytes);
    assert_int_equal(rc_store_create(&store, path, &plan, &err), RC_EXISTS);
    made_remove(path);
    free(bytes);
}

/* HDF5's own error printing is the caller's as before. */
static void test_results__error_printing_of_hdf5_is_left_as_it_was(void **state)
{
    (void)state;
    H5E_auto2_t before = NULL;
    H5E_auto2_t after = NULL;
    void *user = NULL;
    struct rc_error err = {0};
    const char *path = made_path("quiet.h5");
    made_write(path, "\211HDF\r\n\032\n and then nothing", 25);
    assert_true(H5Eget_auto2(H5E_DEFAULT, &before, &user) >= 0);
    assert_int_equal(open_status(path, &err), RC_NOT_STORE);
    assert_true(H5Eget_auto2(H5E_DEFAULT, &after, &user) >= 0);
    assert_true(before == after);
    made_remove(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_results__windows_across_file_and_journal_are_right),
        cmocka_unit_test(test_results__rows_and_columns_that_are_not_there_are_refused),
        cmocka_unit_test(test_results__what_is_no_store_is_said),
        cmocka_unit_test(test_results__later_format_is_refused_with_its_number),
        cmocka_unit_test(test_results__truncated_store_is_refused),
        cmocka_unit_test(test_results__any_changed_byte_is_seen),
        cmocka_unit_test(test_results__journal_of_another_store_is_said),
        cmocka_unit_test(test_results__error_printing_of_hdf5_is_left_as_it_was),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
