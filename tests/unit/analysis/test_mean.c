/* Means with intervals. Critical values of the t distribution are from the tables of any textbook: t(0.975, 4) = 2.776445,
 * t(0.975, 15) = 2.131450 (checked with SciPy). */
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

static void test_mean__independent_flights_give_the_textbook_interval(void **state)
{
    (void)state;
    const double values[] = {1.0, 2.0, NAN, 3.0, 4.0, INFINITY, 5.0};
    const struct rc_mean mean = rc_mean_interval(values, 7, 0, 0.95);
    assert_int_equal(mean.n, 5);
    assert_true(mean.mean == 3.0 && fabs(mean.standard_error - sqrt(0.5)) < 1e-15);
    assert_true(fabs(mean.high - (3.0 + 2.7764451051977987 * sqrt(0.5))) < 1e-12);
    assert_true(fabs(mean.low - (3.0 - 2.7764451051977987 * sqrt(0.5))) < 1e-12);
}

/* Within a replicate everything may vary: only the replicates' means count. */
static void test_mean__replicates_count_as_one_value_each(void **state)
{
    (void)state;
    double values[64];
    for (int flight = 0; flight < 64; flight++)
        values[flight] = flight % 16 + (flight / 16 % 2 == 0 ? 100.0 : -100.0);
    const struct rc_mean mean = rc_mean_interval(values, 64, 16, 0.95);
    assert_int_equal(mean.n, 64);
    assert_true(fabs(mean.mean - 7.5) < 1e-12);
    const double error = sqrt(340.0 / 15.0 / 16.0); /* of 0, 1, ..., 15 */
    assert_true(fabs(mean.standard_error - error) < 1e-12);
    assert_true(fabs(mean.high - 7.5 - 2.131449545559323 * error) < 1e-10);
}

static void test_mean__too_few_values_have_no_interval(void **state)
{
    (void)state;
    const double values[] = {4.0, NAN};
    assert_true(isnan(rc_mean_interval(values, 0, 0, 0.95).mean));
    assert_true(rc_mean_interval(values, 2, 0, 0.95).mean == 4.0 && isnan(rc_mean_interval(values, 2, 0, 0.95).low));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_mean__independent_flights_give_the_textbook_interval),
        cmocka_unit_test(test_mean__replicates_count_as_one_value_each),
        cmocka_unit_test(test_mean__too_few_values_have_no_interval),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
