/* Demonstration sizes against exact binomial tables, both ways. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "rollcast/analysis.h"
#include "support/reference.h"

/* source tests/reference/demonstration_sizes.csv, table one-sided-success-run: exact binomial, 40 digits */
static void test_demonstration__sizes_are_the_references(void **state)
{
    (void)state;
    struct reference *table = reference_open("demonstration_sizes.csv");
    int n_checked = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        if (strcmp(reference_text(table, row, "table"), "one-sided-success-run") != 0)
            continue;
        const double odds = reference_number(table, row, "reliability_R");
        const double confidence = reference_number(table, row, "confidence_C");
        const int64_t failures = (int64_t)reference_number(table, row, "failures_allowed_f");
        const int64_t n = (int64_t)reference_number(table, row, "n_runs");
        assert_int_equal(rc_demonstration_flights(odds, confidence, failures), n);
        assert_int_equal(rc_demonstration_failures(odds, confidence, n), failures);
        assert_int_equal(rc_demonstration_failures(odds, confidence, n - 1), failures - 1);
        assert_true(rc_demonstration_odds(n, failures, confidence) >= odds);
        assert_true(rc_demonstration_odds(n - 1, failures, confidence) < odds);
        const double risk = reference_number(table, row, "consumer_risk");
        assert_true(fabs(rc_demonstration_chance(odds, n, failures) / risk - 1.0) < 1e-9); /* printed to 10 digits */
        n_checked++;
    }
    assert_int_equal(n_checked, 210);
    reference_close(table);
}

/* source tests/reference/demonstration_oc.csv: chance that a design of true odds passes */
static void test_demonstration__chances_to_pass_are_the_references(void **state)
{
    (void)state;
    struct reference *table = reference_open("demonstration_oc.csv");
    for (int row = 0; row < reference_rows(table); row++) {
        const int64_t n = (int64_t)reference_number(table, row, "n");
        const int64_t failures = (int64_t)reference_number(table, row, "failures_allowed");
        const double chance = rc_demonstration_chance(reference_number(table, row, "true_R"), n, failures);
        const double wanted = reference_number(table, row, "prob_pass");
        if (!(fabs(chance / wanted - 1.0) < 1e-9))
            fail_msg("row %d: %.15g, wanted %.10g", row + 1, chance, wanted);
    }
    reference_close(table);
}

static void test_demonstration__edges_are_handled(void **state)
{
    (void)state;
    assert_true(rc_demonstration_chance(0.9, 5, 5) == 1.0 && rc_demonstration_chance(0.9, 5, -1) == 0.0);
    assert_true(rc_demonstration_odds(0, 0, 0.9) == 0.0 && rc_demonstration_odds(3, 3, 0.9) == 0.0);
    assert_int_equal(rc_demonstration_failures(0.9, 0.9, 21), -1);
    assert_int_equal(rc_demonstration_flights(1.0 - 1e-14, 0.95, 0), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_demonstration__sizes_are_the_references),
        cmocka_unit_test(test_demonstration__chances_to_pass_are_the_references),
        cmocka_unit_test(test_demonstration__edges_are_handled),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
