/* Confidence sequences against computed roots, and the claim that makes them worth their width: they hold at every look. */
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

/* source tests/reference/confidence_sequences.csv: roots of the log mixture likelihood ratio, printed to 12 digits */
static void test_sequence__intervals_are_the_references(void **state)
{
    (void)state;
    struct reference *table = reference_open("confidence_sequences.csv");
    for (int row = 0; row < reference_rows(table); row++) {
        const double prior = reference_number(table, row, "beta_prior_a");
        assert_true(prior == reference_number(table, row, "beta_prior_b"));
        const struct rc_range range =
            rc_sequence_interval((int64_t)reference_number(table, row, "k"), (int64_t)reference_number(table, row, "n"),
                                 1.0 - reference_number(table, row, "alpha"), prior);
        const double low = reference_number(table, row, "cs_lower");
        const double high = reference_number(table, row, "cs_upper");
        if (!(fabs(range.low - low) <= 2e-11 * low + 1e-300 && fabs(range.high - high) <= 2e-11 * high))
            fail_msg("row %d: got %.15g to %.15g, wanted %.12g to %.12g", row + 1, range.low, range.high, low, high);
    }
    assert_int_equal(reference_rows(table), 90);
    reference_close(table);
}

static void test_sequence__no_flights_say_nothing(void **state)
{
    (void)state;
    const struct rc_range range = rc_sequence_interval(0, 0, 0.95, 1.0);
    assert_true(range.low == 0.0 && range.high == 1.0);
    const struct rc_criterion criterion = {.odds = 0.9, .confidence = 0.95};
    assert_int_equal(rc_sequence_verdict(0, 0, &criterion), RC_VERDICT_NOT_YET_KNOWN);
}

/* Flights without a failure that a claim needs at risk 0.05. source sequential.md of the reference set, computed: 43, 88,
 * 449, 1670, 3342 */
static void test_sequence__failure_free_sizes_are_the_references(void **state)
{
    (void)state;
    static const struct {
        double rate;
        int64_t n;
    } size[] = {{0.1, 43}, {0.05, 88}, {0.01, 449}, {0.0027, 1670}, {0.00135, 3342}};
    for (size_t row = 0; row < sizeof size / sizeof size[0]; row++) {
        const struct rc_criterion pass = {.odds = 1.0 - size[row].rate, .confidence = 0.95};
        assert_int_equal(rc_sequence_verdict(size[row].n, size[row].n, &pass), RC_VERDICT_GO);
        assert_int_equal(rc_sequence_verdict(size[row].n - 1, size[row].n - 1, &pass), RC_VERDICT_NOT_YET_KNOWN);
        /* and the other way: no pass at all shows that low odds are not met */
        const struct rc_criterion fail = {.odds = size[row].rate, .confidence = 0.95};
        assert_int_equal(rc_sequence_verdict(0, size[row].n, &fail), RC_VERDICT_NO_GO);
        assert_int_equal(rc_sequence_verdict(0, size[row].n - 1, &fail), RC_VERDICT_NOT_YET_KNOWN);
    }
}

static void test_sequence__certain_odds_are_never_claimed(void **state)
{
    (void)state;
    const struct rc_criterion criterion = {.odds = 1.0, .confidence = 0.95};
    assert_int_equal(rc_sequence_verdict(1000, 1000, &criterion), RC_VERDICT_NOT_YET_KNOWN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sequence__intervals_are_the_references),
        cmocka_unit_test(test_sequence__no_flights_say_nothing),
        cmocka_unit_test(test_sequence__failure_free_sizes_are_the_references),
        cmocka_unit_test(test_sequence__certain_odds_are_never_claimed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
