/* Messages: always one line, always terminated, never half a character. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/base.h"

static void test_error__fill_keeps_place_sentence_and_status(void **state)
{
    (void)state;
    struct rc_error err;
    assert_int_equal(rc_error_fill(&err, RC_IO, "a.json: /x", "got %d, wanted %s", 7, "less"), RC_IO);
    assert_int_equal(err.status, RC_IO);
    assert_string_equal(err.where, "a.json: /x");
    assert_string_equal(err.what, "got 7, wanted less");
}

static void test_error__null_arguments_are_fine(void **state)
{
    (void)state;
    struct rc_error err;
    assert_int_equal(rc_error_fill(NULL, RC_NO_FILE, "x", "y"), RC_NO_FILE);
    assert_int_equal(rc_error_fill(&err, RC_NO_FILE, NULL, "y"), RC_NO_FILE);
    assert_string_equal(err.where, "");
}

/* A file name or a string of the campaign could move a terminal's cursor or fake a second line. */
static void test_error__control_characters_become_spaces(void **state)
{
    (void)state;
    struct rc_error err;
    (void)rc_error_fill(&err, RC_IO, "a\nb\x1b[2J", "tab\there, delete\x7f, next line\xc2\x85, \xc3\xa9 stays");
    assert_string_equal(err.where, "a b [2J");
    assert_string_equal(err.what, "tab here, delete , next line  , \xc3\xa9 stays");
    /* Bytes that are no UTF-8: alone, too long a form, cut off by the end. */
    (void)rc_error_fill(&err, RC_IO, "\x9b" "2J", "\xff, \xc0\x9b, \xe2\x82\xac stays, \xe2\x82");
    assert_string_equal(err.where, "?2J");
    assert_string_equal(err.what, "?, ??, \xe2\x82\xac stays, ??");
}

static void test_error__long_text_is_cut_between_characters(void **state)
{
    (void)state;
    char text[2 * RC_ERROR_WHAT];
    for (size_t shift = 0; shift < 4; shift++) {
        memset(text, 'a', shift);
        for (size_t at = shift; at + 3 < sizeof text; at += 3)
            memcpy(text + at, "\xe2\x82\xac", 4); /* the euro sign, three bytes */
        struct rc_error err;
        (void)rc_error_fill(&err, RC_IO, text, "%s", text);
        assert_int_equal((strlen(err.what) - shift) % 3, 0);
        assert_int_equal((strlen(err.where) - shift) % 3, 0);
        assert_in_range(strlen(err.what), RC_ERROR_WHAT - 3, RC_ERROR_WHAT - 1);
        assert_in_range(strlen(err.where), RC_ERROR_WHERE - 3, RC_ERROR_WHERE - 1);
        assert_memory_equal(err.what, text, strlen(err.what));
    }
}

static void test_error__text_that_just_fits_is_whole(void **state)
{
    (void)state;
    char text[RC_ERROR_WHAT];
    memset(text, 'x', sizeof text);
    text[RC_ERROR_WHAT - 1] = '\0';
    struct rc_error err;
    (void)rc_error_fill(&err, RC_IO, "", "%s", text);
    assert_string_equal(err.what, text);
}

static void test_error__issues_list_is_capped_but_counts_go_on(void **state)
{
    (void)state;
    static struct rc_issues issues;
    for (int number = 0; number < 3 * RC_MAX_ISSUES; number++)
        rc_issues_add(&issues, "here", "number %d", number);
    rc_issues_warn(&issues, "here", "one too many");
    assert_int_equal(issues.n_errors, 3 * RC_MAX_ISSUES);
    assert_int_equal(issues.n_warnings, 1);
    assert_int_equal(issues.n_kept, RC_MAX_ISSUES);
    for (int item = 0; item < RC_MAX_ISSUES; item++) {
        char wanted[32];
        (void)snprintf(wanted, sizeof wanted, "number %d", item);
        assert_string_equal(issues.item[item].what, wanted);
        assert_int_equal(issues.item[item].status, RC_BAD_INPUT);
    }
}

/* What stops the user is shown even where warnings came first. */
static void test_error__issues_error_takes_the_place_of_a_warning(void **state)
{
    (void)state;
    static struct rc_issues issues;
    for (int number = 0; number < RC_MAX_ISSUES; number++)
        rc_issues_warn(&issues, "here", "suspicious");
    rc_issues_add(&issues, "/fins", "wrong");
    assert_int_equal(issues.n_kept, RC_MAX_ISSUES);
    assert_int_equal(issues.n_errors, 1);
    assert_string_equal(issues.item[RC_MAX_ISSUES - 1].what, "wrong");
    assert_int_equal(issues.item[RC_MAX_ISSUES - 1].status, RC_BAD_INPUT);
    assert_int_equal(issues.item[0].status, RC_OK);
}

static void test_error__issues_know_what_they_hold(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_issues_warn(&issues, "/a", "%d is odd", 3);
    rc_issues_add(&issues, "/b", "is wrong");
    struct rc_error item = issues.item[0];
    assert_true(rc_issues_has(&issues, &item));
    item.status = RC_BAD_INPUT; /* an error of the same words is another */
    assert_false(rc_issues_has(&issues, &item));
    item = issues.item[1];
    assert_true(rc_issues_has(&issues, &item));
    (void)snprintf(item.where, sizeof item.where, "/c");
    assert_false(rc_issues_has(&issues, &item));
    item = issues.item[1];
    (void)snprintf(item.what, sizeof item.what, "is right");
    assert_false(rc_issues_has(&issues, &item));
}

static void test_error__issues_the_first_error_passes_over_warnings(void **state)
{
    (void)state;
    static struct rc_issues issues;
    issues = (struct rc_issues){0};
    struct rc_error err = {.status = RC_OK};
    assert_int_equal(rc_issues_first_error(&issues, RC_NO_MEMORY, &err), RC_NO_MEMORY);
    assert_string_equal(err.what, rc_status_text(RC_NO_MEMORY));
    rc_issues_warn(&issues, "/a", "suspicious");
    rc_issues_add(&issues, "/b", "wrong");
    rc_issues_add(&issues, "/c", "wrong too");
    assert_int_equal(rc_issues_first_error(&issues, RC_BAD_INPUT, &err), RC_BAD_INPUT);
    assert_string_equal(err.what, "wrong");
    assert_string_equal(err.where, "/b");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_error__fill_keeps_place_sentence_and_status),
        cmocka_unit_test(test_error__null_arguments_are_fine),
        cmocka_unit_test(test_error__control_characters_become_spaces),
        cmocka_unit_test(test_error__long_text_is_cut_between_characters),
        cmocka_unit_test(test_error__text_that_just_fits_is_whole),
        cmocka_unit_test(test_error__issues_list_is_capped_but_counts_go_on),
        cmocka_unit_test(test_error__issues_error_takes_the_place_of_a_warning),
        cmocka_unit_test(test_error__issues_know_what_they_hold),
        cmocka_unit_test(test_error__issues_the_first_error_passes_over_warnings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
