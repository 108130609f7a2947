/* Files in and out: every way of not being readable ends in one clear message and leaves the outputs alone. */
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/base.h"

#define FOLDER RC_TEST_SCRATCH "/file"

static void write_file(const char *path, const char *bytes, size_t n_bytes)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, n_bytes, file), n_bytes);
    assert_int_equal(fclose(file), 0);
}

static void expect_refusal(const char *path, size_t n_max, rc_status wanted, const char *part_of_message)
{
    char *bytes = NULL;
    size_t n_bytes = 99;
    struct rc_error err;
    assert_int_equal(rc_file_read(&bytes, &n_bytes, path, n_max, &err), wanted);
    assert_null(bytes);
    assert_int_equal(n_bytes, 99);
    assert_non_null(strstr(err.what, part_of_message));
    assert_string_equal(err.where, strcmp(path, "-") == 0 ? "standard input" : path);
}

static void test_file__read_gives_all_bytes_and_a_terminator(void **state)
{
    (void)state;
    const char text[] = "line\r\nnul\0inside\n";
    write_file(FOLDER "/plain", text, sizeof text - 1);
    char *bytes = NULL;
    size_t n_bytes = 0;
    assert_int_equal(rc_file_read(&bytes, &n_bytes, FOLDER "/plain", sizeof text - 1, NULL), RC_OK);
    assert_int_equal(n_bytes, sizeof text - 1);
    assert_memory_equal(bytes, text, sizeof text);
    free(bytes);
    write_file(FOLDER "/empty", "", 0);
    assert_int_equal(rc_file_read(&bytes, &n_bytes, FOLDER "/empty", 10, NULL), RC_OK);
    assert_int_equal(n_bytes, 0);
    assert_string_equal(bytes, "");
    free(bytes);
}

static void test_file__read_refuses_what_is_no_readable_file(void **state)
{
    (void)state;
    write_file(FOLDER "/ten", "0123456789", 10);
    expect_refusal(FOLDER "/ten", 9, RC_BAD_INPUT, "at most 9");
    expect_refusal(FOLDER, 100, RC_BAD_INPUT, "directory");
    expect_refusal(FOLDER "/nothing", 100, RC_NO_FILE, "No such file");
    expect_refusal(FOLDER "/ten/eleven", 100, RC_NO_FILE, "Not a directory");
    expect_refusal("", 100, RC_NO_FILE, "check the path");
}

/* A pipe that nobody writes to: opening it must not wait. */
static void test_file__read_refuses_pipes_and_devices_at_once(void **state)
{
    (void)state;
    (void)unlink(FOLDER "/pipe");
    assert_int_equal(mkfifo(FOLDER "/pipe", 0600), 0);
    expect_refusal(FOLDER "/pipe", 100, RC_BAD_INPUT, "is not a regular file; use - for standard input");
    assert_int_equal(unlink(FOLDER "/pipe"), 0);
    expect_refusal("/dev/zero", 100000, RC_BAD_INPUT, "is not a regular file");
}

/* Standard input has no size beforehand and may have no end: the limit must hold while reading. */
static void test_file__read_stops_an_endless_input(void **state)
{
    (void)state;
    const int kept = dup(STDIN_FILENO);
    const int endless = open("/dev/zero", O_RDONLY);
    assert_true(endless >= 0);
    assert_int_equal(dup2(endless, STDIN_FILENO), STDIN_FILENO);
    expect_refusal("-", 100000, RC_BAD_INPUT, "larger than");
    if (kept >= 0) {
        (void)dup2(kept, STDIN_FILENO);
        (void)close(kept);
    }
    (void)close(endless);
}

static void test_file__dash_is_standard_input(void **state)
{
    (void)state;
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    const int kept = dup(STDIN_FILENO);
    assert_int_equal(dup2(ends[0], STDIN_FILENO), STDIN_FILENO);
    assert_int_equal(write(ends[1], "{}", 2), 2);
    assert_int_equal(close(ends[1]), 0);
    char *bytes = NULL;
    size_t n_bytes = 0;
    const rc_status status = rc_file_read(&bytes, &n_bytes, "-", 10, NULL);
    if (kept >= 0) {
        (void)dup2(kept, STDIN_FILENO);
        (void)close(kept);
    }
    (void)close(ends[0]);
    assert_int_equal(status, RC_OK);
    assert_string_equal(bytes, "{}");
    free(bytes);
}

static void test_file__exists_sees_files_folders_and_dangling_links(void **state)
{
    (void)state;
    (void)unlink(FOLDER "/dangling");
    assert_false(rc_file_exists(FOLDER "/dangling"));
    assert_int_equal(symlink(FOLDER "/nowhere", FOLDER "/dangling"), 0);
    assert_true(rc_file_exists(FOLDER "/dangling"));
    assert_true(rc_file_exists(FOLDER));
    assert_int_equal(unlink(FOLDER "/dangling"), 0);
}

static void test_file__replace_swaps_whole_files(void **state)
{
    (void)state;
    write_file(FOLDER "/old", "old", 3);
    write_file(FOLDER "/new", "newer", 5);
    assert_int_equal(rc_file_sync(FOLDER "/new", NULL), RC_OK);
    assert_int_equal(rc_file_replace(FOLDER "/new", FOLDER "/old", NULL), RC_OK);
    assert_false(rc_file_exists(FOLDER "/new"));
    char *bytes = NULL;
    size_t n_bytes = 0;
    assert_int_equal(rc_file_read(&bytes, &n_bytes, FOLDER "/old", 10, NULL), RC_OK);
    assert_string_equal(bytes, "newer");
    free(bytes);
    struct rc_error err;
    assert_int_equal(rc_file_replace(FOLDER "/new", FOLDER "/old", &err), RC_IO);
    assert_string_equal(err.where, FOLDER "/old");
    assert_int_equal(rc_file_sync(FOLDER "/new", &err), RC_IO);
    assert_true(rc_file_exists(FOLDER "/old"));
}

static int make_folder(void **state)
{
    (void)state;
    (void)mkdir(FOLDER, 0777);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_file__read_gives_all_bytes_and_a_terminator),
        cmocka_unit_test(test_file__read_refuses_what_is_no_readable_file),
        cmocka_unit_test(test_file__read_refuses_pipes_and_devices_at_once),
        cmocka_unit_test(test_file__read_stops_an_endless_input),
        cmocka_unit_test(test_file__dash_is_standard_input),
        cmocka_unit_test(test_file__exists_sees_files_folders_and_dangling_links),
        cmocka_unit_test(test_file__replace_swaps_whole_files),
    };
    return cmocka_run_group_tests(tests, make_folder, NULL);
}
