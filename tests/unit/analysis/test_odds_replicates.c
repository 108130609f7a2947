/* Odds from replicates: the t interval, its floor while counts are small, verdicts. */
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

static struct rc_replicates replicates_of(const int64_t *passed, int64_t flights)
{
    struct rc_replicates replicates = {.n = 16};
    for (int index = 0; index < 16; index++) {
        replicates.passed[index] = passed[index];
        replicates.flights[index] = flights;
    }
    return replicates;
}

static const struct rc_criterion wanted = {.odds = 0.5, .confidence = 0.95};

/* Shares 0.500, 0.501, ..., 0.515: mean 0.5075, standard error 0.001 sqrt((340/15 + 1/12)/16), the twelfth for the steps of the
 * shares. t(0.975, 15) = 2.131450 and
 * t(0.95, 15) = 1.753050 from tables. */
static void test_odds_replicates__give_the_t_interval(void **state)
{
    (void)state;
    int64_t passed[16];
    for (int index = 0; index < 16; index++)
        passed[index] = 500 + index;
    const struct rc_replicates replicates = replicates_of(passed, 1000);
    const struct rc_odds odds = rc_odds_from_replicates(&replicates, &wanted);
    const double error = 0.001 * sqrt((340.0 / 15.0 + 1.0 / 12.0) / 16.0);
    assert_int_equal(odds.flights, 16000);
    assert_int_equal(odds.passed, 8120);
    assert_true(fabs(odds.estimate - 0.5075) < 1e-15);
    assert_true(fabs(odds.interval_low - (0.5075 - 2.131449545559323 * error)) < 1e-12);
    assert_true(fabs(odds.interval_high - (0.5075 + 2.131449545559323 * error)) < 1e-12);
    assert_true(fabs(odds.bound_low - (0.5075 - 1.7530503556925547 * error)) < 1e-12);
    assert_int_equal(odds.verdict, RC_VERDICT_GO);
    assert_int_equal(odds.more_flights, 0);
}

/* All replicates alike have no spread at all; then the interval must not have none. */
static void test_odds_replicates__few_failures_are_at_least_as_wide_as_independent_flights(void **state)
{
    (void)state;
    int64_t passed[16];
    for (int index = 0; index < 16; index++)
        passed[index] = 100;
    struct rc_replicates replicates = replicates_of(passed, 100);
    struct rc_odds odds = rc_odds_from_replicates(&replicates, &wanted);
    double low = 0.0;
    double high = 0.0;
    rc_odds_interval(1600, 1600, 0.95, 2, &low, &high);
    assert_true(odds.interval_low == low && odds.interval_high == 1.0);
    replicates.passed[3] = 60; /* all failures in one replicate: the spread is wider than independent flights would have it */
    odds = rc_odds_from_replicates(&replicates, &wanted);
    rc_odds_interval(1560, 1600, 0.95, 2, &low, &high);
    assert_true(odds.interval_low < low && odds.interval_high >= high && odds.interval_high <= 1.0);
}

/* One evenly spread quantity decides, and 7.98 of a replicate's 256 flights fail: with odds of 0.98^16 = 0.72 all replicates count
 * eight. The interval still has a width, holds the truth, and gives no false verdict. */
static void test_odds_replicates__that_count_the_same_have_a_width(void **state)
{
    (void)state;
    int64_t passed[16];
    for (int index = 0; index < 16; index++)
        passed[index] = 248;
    const struct rc_replicates replicates = replicates_of(passed, 256);
    const struct rc_criterion criterion = {.odds = 1.0 - 7.98 / 256.0, .confidence = 0.95};
    const struct rc_odds odds = rc_odds_from_replicates(&replicates, &criterion);
    assert_true(odds.interval_low < criterion.odds && criterion.odds < odds.interval_high);
    assert_true(fabs(odds.interval_high - odds.interval_low - 2.0 * 2.131449545559323 * sqrt(1.0 / 12.0 / 16.0) / 256.0) < 1e-12);
    assert_int_equal(odds.verdict, RC_VERDICT_NOT_YET_KNOWN);
}

static void test_odds_replicates__without_flights_say_nothing(void **state)
{
    (void)state;
    struct rc_replicates replicates = {.n = 16};
    struct rc_odds odds = rc_odds_from_replicates(&replicates, &wanted);
    assert_true(isnan(odds.estimate) && odds.interval_low == 0.0 && odds.interval_high == 1.0);
    assert_int_equal(odds.verdict, RC_VERDICT_NOT_YET_KNOWN);
    replicates.flights[0] = 1; /* one replicate has begun: it has no spread yet */
    odds = rc_odds_from_replicates(&replicates, &wanted);
    assert_true(odds.interval_low == 0.0 && odds.interval_high == 1.0);
}

/* The flights still needed, from the width that shrinks with their root: half the distance needs four times. */
static void test_odds_replicates__say_how_many_more(void **state)
{
    (void)state;
    int64_t passed[16];
    for (int index = 0; index < 16; index++)
        passed[index] = 500 + 4 * index;
    const struct rc_replicates replicates = replicates_of(passed, 1000);
    struct rc_criterion criterion = {.odds = 0.529, .confidence = 0.95};
    const struct rc_odds odds = rc_odds_from_replicates(&replicates, &criterion);
    assert_int_equal(odds.verdict, RC_VERDICT_NOT_YET_KNOWN);
    const double half = 1.7530503556925547 * 0.001 * sqrt((16.0 * 340.0 / 15.0 + 1.0 / 12.0) / 16.0);
    assert_int_equal(odds.more_flights, (int64_t)ceil(16000.0 * (half / 0.001) * (half / 0.001)) - 16000);
    criterion.odds = 0.9;
    assert_int_equal(rc_odds_from_replicates(&replicates, &criterion).verdict, RC_VERDICT_NO_GO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_odds_replicates__give_the_t_interval),
        cmocka_unit_test(test_odds_replicates__few_failures_are_at_least_as_wide_as_independent_flights),
        cmocka_unit_test(test_odds_replicates__that_count_the_same_have_a_width),
        cmocka_unit_test(test_odds_replicates__without_flights_say_nothing),
        cmocka_unit_test(test_odds_replicates__say_how_many_more),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
