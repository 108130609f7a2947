/* CSV tables: what is accepted, and every way to be refused. */
#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "campaign/csv.h"
#include "fixture.h"

static const struct rc_csv_form form = {
    "test table", 2, 3, {{"time_s", true, 0, 100, ""}, {"thrust_N", true, 0, 1e4, ""}, {"extra", false, -10, 10, ""}}};

static rc_status read_bytes(struct rc_csv *csv, struct rc_issues *issues, const char *text, size_t n_bytes)
{
    char *exact = malloc(n_bytes + 1); /* so that a sanitizer sees a read beyond the end */
    assert_non_null(exact);
    memcpy(exact, text, n_bytes);
    exact[n_bytes] = '\0';
    const struct rc_bundle_file file = {(char[]){"t.csv"}, exact, n_bytes};
    *issues = (struct rc_issues){0};
    const rc_status status = rc_csv_read(csv, &file, &form, issues);
    free(exact);
    return status;
}

static void accepts(const char *text)
{
    struct rc_csv csv;
    struct rc_issues issues;
    const rc_status status = read_bytes(&csv, &issues, text, strlen(text));
    for (int item = 0; item < issues.n_kept; item++)
        print_error("%s: %s\n", issues.item[item].where, issues.item[item].what);
    assert_int_equal(status, RC_OK);
    assert_int_equal(csv.n_rows, 2);
    assert_true(csv.column[0][0] == 0.5 && csv.column[0][1] == 1.25);
    assert_true(csv.column[1][0] == 1000 && csv.column[1][1] == 0);
    rc_csv_free(&csv);
}

static void refuses_bytes(const char *text, size_t n_bytes, const char *place, const char *words)
{
    struct rc_csv csv;
    struct rc_issues issues;
    assert_int_equal(read_bytes(&csv, &issues, text, n_bytes), RC_BAD_INPUT);
    assert_true(fixture_has_issue(&issues, place, words));
    rc_csv_free(&csv);
}

static void refuses(const char *text, const char *place, const char *words)
{
    refuses_bytes(text, strlen(text), place, words);
}

static void test_csv__plain_table_is_read(void **state)
{
    (void)state;
    accepts("time_s,thrust_N\n0.5,1000\n1.25,0\n");
    accepts("time_s,thrust_N\n0.5,1000\n1.25,0");
    accepts("thrust_N,time_s\n1000,0.5\n0,1.25\n");
}

static void test_csv__byte_order_mark_crlf_remarks_blanks_and_spaces_are_accepted(void **state)
{
    (void)state;
    accepts("\xEF\xBB\xBF"
            "time_s,thrust_N\n0.5,1000\n1.25,0\n");
    accepts("time_s,thrust_N\r\n0.5,1000\r\n1.25,0\r\n");
    accepts("\xEF\xBB\xBF"
            "# measured on the stand\r\n\r\n  time_s ,\tthrust_N  \r\n # row\r\n 0.5 , 1000 \r\n\t\r\n1.25,0\r\n\r\n");
    accepts("time_s,thrust_N\n+5e-1,1.0E+3\n1.25,.0\n");
}

static void test_csv__columns_that_are_not_there_stay_null(void **state)
{
    (void)state;
    struct rc_csv csv;
    struct rc_issues issues;
    const char *text = "extra,thrust_N,time_s\n-3,1,0\n4,2,1\n";
    assert_int_equal(read_bytes(&csv, &issues, text, strlen(text)), RC_OK);
    assert_true(csv.column[2][0] == -3 && csv.column[2][1] == 4);
    rc_csv_free(&csv);
    text = "thrust_N,time_s\n1,0\n2,1\n";
    assert_int_equal(read_bytes(&csv, &issues, text, strlen(text)), RC_OK);
    assert_null(csv.column[2]);
    rc_csv_free(&csv);
}

static void test_csv__empty_table_is_refused(void **state)
{
    (void)state;
    refuses("", "t.csv:1", "test table is empty");
    refuses("\xEF\xBB\xBF\n# nothing\n", "t.csv:2", "is empty|names the columns");
    refuses("time_s,thrust_N\n", "t.csv:1", "0 rows of numbers, wanted at least 2");
    refuses("time_s,thrust_N\n0,1\n", "t.csv:2", "has 1 row of numbers, wanted at least 2");
}

static void test_csv__header_must_name_known_columns(void **state)
{
    (void)state;
    refuses("0,10\n1,20\n2,0\n", "t.csv:1", "column \"time_s\" of the test table is missing|first line");
    refuses("time_s,thurst_N\n0,1\n1,2\n", "t.csv:1", "unknown column \"thurst_N\"|mean \"thrust_N\"");
    refuses("time_s,thurst_N\n0,1\n1,2\n", "t.csv:1", "column \"thrust_N\"|missing");
    refuses("time_s,time_s,thrust_N\n0,0,1\n", "t.csv:1", "\"time_s\" stands here twice");
    refuses("time_s;thrust_N\n0;1\n", "t.csv:1", "separated by \";\", wanted \",\"");
    refuses("time_s,thrust_N,\n0,1,\n", "t.csv:1", "unknown column \"\"");
    refuses("\"time_s\",\"thrust_N\"\n0,1\n1,2\n", "t.csv:1", "first line has quotes|without quotes around texts");
}

static void test_csv__rows_must_rise(void **state)
{
    (void)state;
    refuses("time_s,thrust_N\n0,1\n2,1\n1,1\n", "t.csv:4", "time_s is 1 after 2|sort the rows");
    refuses("time_s,thrust_N\n0,1\n1,1\n\n1,2\n", "t.csv:5", "time_s is 1 after 1|repeated row");
}

static void test_csv__fields_must_be_finite_numbers(void **state)
{
    (void)state;
    refuses("time_s,thrust_N\n0,1\n1,abc\n", "t.csv:3", "got \"abc\" in thrust_N|wanted a number");
    refuses("time_s,thrust_N\n0,1\n1,\n", "t.csv:3", "field of thrust_N is empty");
    refuses("time_s,thrust_N\n0,1\n1\n", "t.csv:3", "got 1 fields, wanted 2");
    refuses("time_s,thrust_N\n0,1\n1,2,3\n", "t.csv:3", "got 3 fields, wanted 2");
    refuses("time_s,thrust_N\n0,1\n1,5,5\n", "t.csv:3", "got 3 fields");
    refuses("time_s,thrust_N\n0,nan\n1,2\n", "t.csv:2", "got nan in thrust_N|finite");
    refuses("time_s,thrust_N\n0,-Inf\n1,2\n", "t.csv:2", "got -Inf in thrust_N|finite");
    refuses("time_s,thrust_N\n0,1e999\n1,2\n", "t.csv:2", "got 1e999|too large for a double");
    refuses("time_s,thrust_N\n0,0x10\n1,2\n", "t.csv:2", "got \"0x10\"");
    refuses("time_s,thrust_N\n0,1e\n1,2\n", "t.csv:2", "got \"1e\"");
    refuses("time_s,thrust_N\n0,.\n1,2\n", "t.csv:2", "got \".\"");
    refuses("time_s,thrust_N\n0,1 2\n1,2\n", "t.csv:2", "got \"1 2\"");
    refuses("time_s,thrust_N\n0,0000000000000000000000000000000000000000000000000001\n1,2\n", "t.csv:2", "wanted a number");
    refuses_bytes("time_s,thrust_N\n0,1\0"
                  "1\n1,2\n",
                  25, "t.csv:2", "got the byte 0x00|wanted a CSV file");
}

static void refuses_once(const char *text, const char *place, const char *words)
{
    struct rc_csv csv;
    struct rc_issues issues;
    assert_int_equal(read_bytes(&csv, &issues, text, strlen(text)), RC_BAD_INPUT);
    assert_int_equal(issues.n_errors, 1);
    assert_true(fixture_has_issue(&issues, place, words));
    rc_csv_free(&csv);
}

/* What makes every line wrong is said once. */
static void test_csv__what_is_no_such_table_is_said_once(void **state)
{
    (void)state;
    refuses_once("time_s;thrust_N\n0;1\n1;2\n", "t.csv:1", "separated by \";\"");
    refuses_once("time_s,thrust_N\n0;1\n1;2\n2;0\n", "t.csv:2", "separated by \";\"");
    refuses_once("\x89PNG,a\n\x01,\x02\n", "t.csv:2", "got the byte 0x01|wanted a CSV file");
    refuses_once("\x1b[31mred\n1,2\n3,4\n", "t.csv:1", "got the byte 0x1B");
}

static void test_csv__values_keep_their_range(void **state)
{
    (void)state;
    refuses("time_s,thrust_N\n0,-5\n1,2\n", "t.csv:2", "got -5 in thrust_N, wanted 0 to 10000");
    refuses("time_s,thrust_N\n-1,5\n1,2\n", "t.csv:2", "got -1 in time_s, wanted 0 to 100");
}

static void test_csv__rows_are_limited(void **state)
{
    (void)state;
    struct rc_text text = {0};
    rc_text_add(&text, "time_s,thrust_N\n");
    for (int row = 0; row < RC_MAX_TABLE_ROWS; row++)
        rc_text_add(&text, "%.17g,1\n", row * 0.01);
    struct rc_csv csv;
    struct rc_issues issues;
    assert_int_equal(read_bytes(&csv, &issues, text.bytes, text.n_bytes), RC_OK);
    assert_int_equal(csv.n_rows, RC_MAX_TABLE_ROWS);
    rc_csv_free(&csv);
    rc_text_add(&text, "99,1\n");
    refuses(text.bytes, "t.csv:4098", "more than 4096 rows");
    rc_text_free(&text);
}

static void test_csv__complaints_about_one_table_are_few(void **state)
{
    (void)state;
    struct rc_text text = {0};
    rc_text_add(&text, "time_s,thrust_N\n");
    for (int row = 0; row < 1000; row++)
        rc_text_add(&text, "x,y\n");
    struct rc_csv csv;
    struct rc_issues issues;
    assert_int_equal(read_bytes(&csv, &issues, text.bytes, text.n_bytes), RC_BAD_INPUT);
    assert_int_equal(issues.n_errors, 5);
    rc_csv_free(&csv);
    rc_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_csv__plain_table_is_read),
        cmocka_unit_test(test_csv__byte_order_mark_crlf_remarks_blanks_and_spaces_are_accepted),
        cmocka_unit_test(test_csv__columns_that_are_not_there_stay_null),
        cmocka_unit_test(test_csv__empty_table_is_refused),
        cmocka_unit_test(test_csv__header_must_name_known_columns),
        cmocka_unit_test(test_csv__rows_must_rise),
        cmocka_unit_test(test_csv__fields_must_be_finite_numbers),
        cmocka_unit_test(test_csv__what_is_no_such_table_is_said_once),
        cmocka_unit_test(test_csv__values_keep_their_range),
        cmocka_unit_test(test_csv__rows_are_limited),
        cmocka_unit_test(test_csv__complaints_about_one_table_are_few),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
