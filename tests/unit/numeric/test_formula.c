/* Formulas: values against the same arithmetic written in C, and what is refused, with the place. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/base.h"
#include "numeric/formula.h"

static const char *const names[] = {"x", "y", "x1", "Rate_2"};
static const double inputs[] = {1.5, -2.25, 0.7, 3.0};

static double value_of(const char *text)
{
    struct rc_formula *formula = NULL;
    struct rc_error err = {.what = ""};
    if (rc_formula_create(&formula, text, names, 4, &err) != RC_OK)
        fail_msg("%s: %s", text, err.what);
    const double value = rc_formula_value(formula, inputs);
    rc_formula_free(formula);
    return value;
}

static void test_formula__arithmetic_is_that_of_c(void **state)
{
    (void)state;
    const double x = 1.5, y = -2.25, x1 = 0.7, rate = 3.0;
    const struct {
        const char *text;
        double wanted;
    } cases[] = {
        {"x", x}, {" x1+Rate_2 ", x1 + rate}, {"x - y - x1", x - y - x1}, {"x / y / x1", x / y / x1}, {"x + y * x1", x + y * x1},
        {"(x + y) * x1", (x + y) * x1}, {"-x^2", -pow(x, 2.0)}, {"(-x)^2", pow(-x, 2.0)}, {"x^-2", pow(x, -2.0)},
        {"2^Rate_2^2", pow(2.0, 9.0)}, {"--x", x}, {"2*-x", 2.0 * -x}, {"x - -y", x + y}, {"1e-3 + .5 + 2.", 1e-3 + 0.5 + 2.0},
        {"pi", acos(-1.0)}, {"abs(y)", 2.25}, {"sqrt(x)", sqrt(x)}, {"exp(y)", exp(y)}, {"log(x)", log(x)}, {"sin(x)", sin(x)},
        {"cos(x)", cos(x)}, {"tan(x)", tan(x)}, {"asin(x1)", asin(x1)}, {"acos(x1)", acos(x1)}, {"atan(x)", atan(x)},
        {"floor(y)", -3.0}, {"min(x, y)", y}, {"max(x, y)", x}, {"min(max(x, y), x1) * 2", 2.0 * x1}, {"1E2", 100.0},
    };
    for (size_t index = 0; index < sizeof cases / sizeof cases[0]; index++)
        if (value_of(cases[index].text) != cases[index].wanted)
            fail_msg("%s gives %.17g, wanted %.17g", cases[index].text, value_of(cases[index].text), cases[index].wanted);
}

static void test_formula__no_value_is_not_finite(void **state)
{
    (void)state;
    const char *const texts[] = {"1/0", "log(y)", "sqrt(y)", "min(log(y), 1)", "min(1, log(y))", "max(log(y), 1)", "max(1, log(y))",
                                 "1e300 * 1e300", "asin(x)", "y^0.5"};
    for (size_t index = 0; index < sizeof texts / sizeof texts[0]; index++)
        if (isfinite(value_of(texts[index])))
            fail_msg("%s gives %g", texts[index], value_of(texts[index]));
}

static void test_formula__mistakes_are_refused_with_their_place(void **state)
{
    (void)state;
    const struct {
        const char *text, *place;
    } cases[] = {
        {"", "at character 1, the end"}, {"   ", "the end"}, {"x +", "at character 4, the end"}, {"x y", "at character 3, `y`"},
        {"x + z", "at character 5, `z`"}, {"X", "at character 1"}, {"2x", "at character 1"}, {"1..2", "at character 1"},
        {"0x1p3", "at character 1"}, {"1e999", "at character 1"}, {"inf", "`inf`"}, {"nan", "`nan`"}, {"sin x", "at character 5"},
        {"sin()", "at character 5"}, {"sin(x, y)", "at character 6"}, {"min(x)", "at character 6"}, {"(x", "the end"},
        {"x)", "at character 2"}, {"x ** 2", "at character 4"}, {"+x", "at character 1"}, {"x = 2", "at character 3"},
        {"system(x)", "`system(x)`"}, {"x; y", "at character 2"}, {"pi()", "at character 3"}, {"1,5", "at character 2"},
    };
    for (size_t index = 0; index < sizeof cases / sizeof cases[0]; index++) {
        struct rc_formula *formula = NULL;
        struct rc_error err = {.what = ""};
        const rc_status status = rc_formula_create(&formula, cases[index].text, names, 4, &err);
        if (status != RC_BAD_INPUT || formula != NULL || strstr(err.what, cases[index].place) == NULL)
            fail_msg("\"%s\": status %d, \"%s\", wanted \"%s\"", cases[index].text, (int)status, err.what, cases[index].place);
    }
}

/* A text of `n` times `part` with `last` behind it. ends the caller frees it */
static char *repeated(const char *part, int n, const char *last)
{
    char *text = calloc((size_t)n * strlen(part) + strlen(last) + 1, 1);
    assert_non_null(text);
    for (int index = 0; index < n; index++)
        strcat(text, part);
    return strcat(text, last);
}

static void expect_status(char *text, rc_status wanted, const char *said)
{
    struct rc_formula *formula = NULL;
    struct rc_error err = {.what = ""};
    assert_non_null(text);
    assert_int_equal(rc_formula_create(&formula, text, names, 4, &err), wanted);
    assert_non_null(strstr(err.what, said));
    rc_formula_free(formula);
    free(text);
}

static void test_formula__depth_and_length_are_bounded(void **state)
{
    (void)state;
    expect_status(repeated("(", 40, "x))))))))))))))))))))))))))))))))))))))))"), RC_OK, "");
    expect_status(repeated("(", 1900, "x"), RC_BAD_INPUT, "inside each other");
    expect_status(repeated("-", 1900, "x"), RC_BAD_INPUT, "inside each other");
    expect_status(repeated("x^", 900, "x"), RC_BAD_INPUT, "inside each other");
    expect_status(repeated("sin(", 400, "x"), RC_BAD_INPUT, "inside each other");
    expect_status(repeated("x+", 1023, "x"), RC_OK, "");
    expect_status(repeated("x+", 1024, "x"), RC_BAD_INPUT, "2049 characters");
    expect_status(repeated("1+2*(3-4*(", 23, "x"), RC_BAD_INPUT, "wanted )");
    expect_status(repeated("1+2*(3-4*(", 30, "x"), RC_BAD_INPUT, "inside each other");
}

static void test_formula__names_are_plain_and_free(void **state)
{
    (void)state;
    const char *const good[] = {"x", "_", "x_1", "Sin", "e", "i2"};
    const char *const bad[] = {"", "1x", "x-1", "x y", "pi", "sin", "max", "x.", "\xc3\xa4"};
    for (size_t index = 0; index < sizeof good / sizeof good[0]; index++)
        assert_true(rc_formula_is_name(good[index]));
    for (size_t index = 0; index < sizeof bad / sizeof bad[0]; index++)
        assert_false(rc_formula_is_name(bad[index]));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_formula__arithmetic_is_that_of_c),
        cmocka_unit_test(test_formula__no_value_is_not_finite),
        cmocka_unit_test(test_formula__mistakes_are_refused_with_their_place),
        cmocka_unit_test(test_formula__depth_and_length_are_bounded),
        cmocka_unit_test(test_formula__names_are_plain_and_free),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
