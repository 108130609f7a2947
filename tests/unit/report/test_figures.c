/* Number and line forming. The expected texts follow from the rule in figures.h, worked by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "report/figures.h"

static void test_figures__decimals_follow_the_width(void **state)
{
    (void)state;
    assert_int_equal(rc_figures_decimals(4.0), 1);     /* 59 to 63 %: 61.2 %          */
    assert_int_equal(rc_figures_decimals(0.4), 2);     /* 60.9 to 61.3 %: 61.12 %     */
    assert_int_equal(rc_figures_decimals(30.0), 0);    /* 46 to 76 %: 61 %            */
    assert_int_equal(rc_figures_decimals(2000.0), -2); /* 3,000 to 5,000 m: 4,100 m   */
    assert_int_equal(rc_figures_decimals(0.0), 9);
    assert_int_equal(rc_figures_decimals(NAN), 9);
    assert_int_equal(rc_figures_decimals(INFINITY), 9);
    assert_int_equal(rc_figures_decimals(1e-300), 9);
    assert_int_equal(rc_figures_decimals(1e300), -9);
}

static void test_figures__numbers_are_rounded_as_told(void **state)
{
    (void)state;
    assert_string_equal(rc_figures_number(61.23, 1, RC_ROUND_NEAREST).text, "61.2");
    assert_string_equal(rc_figures_number(59.19, 1, RC_ROUND_DOWN).text, "59.1");
    assert_string_equal(rc_figures_number(63.11, 1, RC_ROUND_UP).text, "63.2");
    assert_string_equal(rc_figures_number(63.2, 1, RC_ROUND_UP).text, "63.2"); /* 63.2 is not a binary number: not pushed on */
    assert_string_equal(rc_figures_number(100.0 * 0.57, 1, RC_ROUND_DOWN).text, "57.0"); /* 56.99999999999999 in binary  */
    assert_string_equal(rc_figures_number(4123.0, -2, RC_ROUND_NEAREST).text, "4,100");
    assert_string_equal(rc_figures_number(1234567.891, 2, RC_ROUND_NEAREST).text, "1,234,567.89");
    assert_string_equal(rc_figures_number(-999.0, 0, RC_ROUND_NEAREST).text, "-999");
    assert_string_equal(rc_figures_number(-1000.0, 0, RC_ROUND_NEAREST).text, "-1,000");
    assert_string_equal(rc_figures_number(-0.001, 1, RC_ROUND_NEAREST).text, "0.0");
    assert_string_equal(rc_figures_number(NAN, 1, RC_ROUND_NEAREST).text, "none");
    assert_string_equal(rc_figures_number(1.5e300, 9, RC_ROUND_NEAREST).text, "1.5e+300");
}

static void test_figures__counts_are_set_off(void **state)
{
    (void)state;
    assert_string_equal(rc_figures_count(0).text, "0");
    assert_string_equal(rc_figures_count(999).text, "999");
    assert_string_equal(rc_figures_count(10000).text, "10,000");
    assert_string_equal(rc_figures_count(INT64_MAX).text, "9,223,372,036,854,775,807");
    assert_string_equal(rc_figures_count(INT64_MIN).text, "-9,223,372,036,854,775,808");
}

static void expect_wrapped(const char *text, int column, int indent, const char *wanted)
{
    char *bytes = NULL;
    size_t n_bytes = 0;
    FILE *out = open_memstream(&bytes, &n_bytes);
    assert_non_null(out);
    rc_figures_wrap(out, text, column, indent);
    assert_int_equal(fclose(out), 0);
    assert_string_equal(bytes, wanted);
    free(bytes);
}

static void test_figures__lines_break_at_blanks(void **state)
{
    (void)state;
    const char *forty = "1234567890123456789012345678901234567890";
    char text[200], wanted[200];
    expect_wrapped("two words", 0, 0, "two words\n");
    expect_wrapped("", 0, 4, "\n");
    (void)snprintf(text, sizeof text, "%s %.39s", forty, forty);
    (void)snprintf(wanted, sizeof wanted, "%s %.39s\n", forty, forty); /* 80 columns fit */
    expect_wrapped(text, 0, 4, wanted);
    (void)snprintf(text, sizeof text, "%s %s", forty, forty);
    (void)snprintf(wanted, sizeof wanted, "%s\n    %s\n", forty, forty); /* 81 do not */
    expect_wrapped(text, 0, 4, wanted);
}

/* A plus-minus sign is three columns where it can only be written as "+/-": a line has the room. */
static void test_figures__lines_have_room_for_a_wider_sign(void **state)
{
    (void)state;
    const char *forty = "1234567890123456789012345678901234567890";
    char text[200], wanted[200];
    (void)snprintf(text, sizeof text, "%s %.34s \u00b13", forty, forty);
    (void)snprintf(wanted, sizeof wanted, "%s %.34s \u00b13\n", forty, forty); /* 78 columns, 80 of them as ASCII */
    expect_wrapped(text, 0, 4, wanted);
    (void)snprintf(text, sizeof text, "%s %.35s \u00b13", forty, forty);
    (void)snprintf(wanted, sizeof wanted, "%s %.35s\n    \u00b13\n", forty, forty);
    expect_wrapped(text, 0, 4, wanted);
}

static void test_figures__long_words_lose_no_letter(void **state)
{
    (void)state;
    char word[601];
    memset(word, 'x', sizeof word - 1);
    word[sizeof word - 1] = '\0';
    char *bytes = NULL;
    size_t n_bytes = 0;
    FILE *out = open_memstream(&bytes, &n_bytes);
    assert_non_null(out);
    rc_figures_wrap(out, word, 0, 0);
    assert_int_equal(fclose(out), 0);
    size_t n_letters = 0;
    for (const char *at = bytes; *at != '\0'; at++) {
        n_letters += *at == 'x';
    }
    assert_int_equal(n_letters, sizeof word - 1);
    free(bytes);
}

static void test_figures__names_cannot_steer_a_terminal(void **state)
{
    (void)state;
    char *bytes = NULL;
    size_t n_bytes = 0;
    FILE *out = open_memstream(&bytes, &n_bytes);
    assert_non_null(out);
    rc_figures_name(out, "a\033[2J\xc2\x9b\xc3\xa9", 9);
    assert_int_equal(fclose(out), 0);
    assert_string_equal(bytes, "a?[2J?\xc3\xa9  "); /* seven columns and two blanks */
    free(bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_figures__decimals_follow_the_width),
        cmocka_unit_test(test_figures__numbers_are_rounded_as_told),
        cmocka_unit_test(test_figures__counts_are_set_off),
        cmocka_unit_test(test_figures__lines_break_at_blanks),
        cmocka_unit_test(test_figures__lines_have_room_for_a_wider_sign),
        cmocka_unit_test(test_figures__long_words_lose_no_letter),
        cmocka_unit_test(test_figures__names_cannot_steer_a_terminal),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
