/* Text that is not a campaign at all, and places in a good one. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "campaign/read.h"
#include "fixture.h"

static void refuses(const char *text, size_t n_bytes, const char *place, const char *words)
{
    struct rc_bundle bundle = {0};
    assert_int_equal(rc_bundle_add(&bundle, "test.json", text, n_bytes, NULL), RC_OK);
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_from_bundle(&campaign, &bundle, &issues), RC_BAD_INPUT);
    assert_null(campaign);
    assert_int_equal(issues.n_errors, 1);
    assert_true(fixture_has_issue(&issues, place, words));
    rc_bundle_free(&bundle);
}

static void refuses_text(const char *text, const char *place, const char *words)
{
    refuses(text, strlen(text), place, words);
}

static void test_read__empty_file_is_refused(void **state)
{
    (void)state;
    refuses_text("", "test.json:1:1", "empty|wanted a campaign");
    refuses_text(" \n\t\r\n", "test.json:1:1", "empty");
    refuses_text("\xEF\xBB\xBF", "test.json:1:1", "empty");
}

static void test_read__not_json_is_refused_with_line_and_column(void **state)
{
    (void)state;
    refuses_text("{\n  \"name\": \"a\"\n  \"purpose\": \"b\"\n}\n", "test.json:3:3", "not JSON near `\"purpose\": \"b\"`");
    refuses_text("{\"name\": \"a\",}", "test.json:1:14", "not JSON near `}`");
    refuses_text("{ x: 4}", "test.json:1:3", "not JSON near `x: 4}`");
    refuses_text("{\"a\": [1, 2}", "test.json:1:12", "look for a missing } or ]");
    refuses_text("hello", "test.json:1:1", "not JSON near `hello`");
    refuses_text("{\"name\": \"a\"", "test.json:1:13", "ends too early");
    refuses_text("{\"name\": \"a\"} {", "test.json:1:15", "more text after the end");
    refuses_text("{\"name\": 1 // remark\n}", "test.json:1:12", "comments are not allowed");
    refuses_text("\x89HDF\r\n\x1a\n", "test.json:1:1", "not JSON");
}

static void test_read__files_of_another_kind_are_named(void **state)
{
    (void)state;
    refuses_text("time_s,thrust_N\n0,0\n1,100\n", "test.json:1:1", "is a table, `time_s,thrust_N`|motor.thrust_csv");
    refuses_text("# bench, two firings\r\ntime_s,thrust_N\r\n0,0\r\n", "test.json:1:1", "is a table, `time_s,thrust_N`");
    refuses("rollcast-store\n\0\0\x89HDF", 21, "test.json:1:1", "is a store|rollcast odds");
    refuses_text("# a remark, with a comma\n{\"name\": 1}", "test.json:1:1", "comments are not allowed");
}

static void test_read__words_for_no_number_are_named(void **state)
{
    (void)state;
    refuses_text("{\"a\": NaN}", "test.json:1:7", "got NaN|not a JSON number|finite");
    refuses_text("{\"a\": Infinity}", "test.json:1:7", "got Infinity|not a JSON number");
    refuses_text("{\"a\": -Infinity}", "test.json:1:7", "got -Infinity|not a JSON number");
    refuses_text("{\"a\": +1}", "test.json:1:7", "got +|without a plus sign");
}

static void test_read__other_tops_are_refused(void **state)
{
    (void)state;
    refuses_text("[1, 2]", "test.json:1:1", "wanted a JSON object");
    refuses_text("12", "test.json:1:1", "wanted a JSON object");
}

static void test_read__nul_byte_is_refused(void **state)
{
    (void)state;
    refuses("{\"name\"\0: 1}", 12, "test.json:1:8", "NUL byte");
}

static void test_read__deep_nesting_is_refused(void **state)
{
    (void)state;
    char text[4096];
    memset(text, '[', sizeof text);
    memcpy(text, "{\"a\":", 5);
    text[sizeof text - 1] = '\0';
    refuses_text(text, "test.json:1:21", "nested deeper than 16");
}

static void test_read__too_many_values_are_refused(void **state)
{
    (void)state;
    const size_t n = 2 * RC_MAX_JSON_VALUES + 20;
    char *text = malloc(n);
    assert_non_null(text);
    memcpy(text, "{\"a\":[", 6);
    for (size_t at = 6; at + 2 < n; at += 2)
        memcpy(text + at, "1,", 2);
    text[n - 2] = '1';
    text[n - 1] = '\0';
    refuses_text(text, "test.json:1:40004", "more than 20000 values|CSV");
    free(text);
}

static void test_read__too_large_text_is_refused(void **state)
{
    (void)state;
    const size_t n = (size_t)RC_MAX_FILE_BYTES + 1;
    char *text = malloc(n + 1);
    assert_non_null(text);
    memset(text, ' ', n);
    memcpy(text, "{}", 2);
    text[n] = '\0';
    refuses(text, n, "test.json:1:1", "has 4194305 bytes, at most 4194304");
    free(text);
}

static void test_read__byte_order_mark_and_crlf_are_accepted(void **state)
{
    (void)state;
    struct rc_text text = {0};
    rc_text_add(&text, "\xEF\xBB\xBF");
    for (const char *c = fixture_campaign; *c != '\0'; c++)
        rc_text_add(&text, *c == '\n' ? "\r\n" : "%c", *c);
    assert_false(text.failed);
    struct rc_bundle bundle = fixture_bundle(text.bytes);
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_from_bundle(&campaign, &bundle, &issues), RC_OK);
    assert_int_equal(issues.n_kept, 0);
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
    rc_text_free(&text);
}

static void test_read__no_file_at_all_is_refused(void **state)
{
    (void)state;
    const struct rc_bundle none = {0};
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_from_bundle(&campaign, &none, &issues), RC_BAD_INPUT);
    assert_int_equal(issues.n_errors, 1);
    assert_null(campaign);
}

/* source RFC 6901 section 3: "~" is written "~0" and "/" is written "~1" in a JSON pointer */
static void test_read__pointer_escapes_foreign_keys(void **state)
{
    (void)state;
    fixture_refuses("\"name\": \"Test\"", "\"na/me~x\": 1, \"name\": \"Test\"", "/na~1me~0x", "unknown key \"na/me~x\"");
    fixture_refuses("\"name\": \"Test\"", "\"a\\u001b[31m\": 1, \"name\": \"Test\"", "/a [31m", "unknown key \"a [31m\"");
}

static void test_read__path_is_written_for_members_and_fins(void **state)
{
    (void)state;
    char path[RC_MAX_PATH_TEXT];
    rc_read_path(path, "fins[].misalignment_deg[]", 1, 3);
    assert_string_equal(path, "fins[1].misalignment_deg[3]");
    rc_read_path(path, "fins[].misalignment_deg[]", 1, -1);
    assert_string_equal(path, "fins[1].misalignment_deg");
    rc_read_path(path, "rail.length_m", 0, 0);
    assert_string_equal(path, "rail.length_m");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_read__empty_file_is_refused),
        cmocka_unit_test(test_read__not_json_is_refused_with_line_and_column),
        cmocka_unit_test(test_read__files_of_another_kind_are_named),
        cmocka_unit_test(test_read__words_for_no_number_are_named),
        cmocka_unit_test(test_read__other_tops_are_refused),
        cmocka_unit_test(test_read__nul_byte_is_refused),
        cmocka_unit_test(test_read__deep_nesting_is_refused),
        cmocka_unit_test(test_read__too_many_values_are_refused),
        cmocka_unit_test(test_read__too_large_text_is_refused),
        cmocka_unit_test(test_read__byte_order_mark_and_crlf_are_accepted),
        cmocka_unit_test(test_read__no_file_at_all_is_refused),
        cmocka_unit_test(test_read__pointer_escapes_foreign_keys),
        cmocka_unit_test(test_read__path_is_written_for_members_and_fins),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
