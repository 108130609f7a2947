/* Percentiles from counts, worked by hand: with m samples of k spread evenly over a bin, the value with share p below it
 * lies at the bin's lower edge plus (p k - below) / m of its width. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "store/bands.h"

static const double edges[5] = {0.0, 1.0, 2.0, 4.0, 8.0};

static void test_bands__percentiles_are_linear_within_a_bin(void **state)
{
    (void)state;
    const struct rc_bands_grid grid = {3, 4, edges};
    const uint64_t counts[12] = {0, 0, 10, 0,   /* one bin: 2 + 2 p              */
                                 1, 1, 1, 1,    /* quarters: edges at 25, 50, 75 % */
                                 0, 0, 0, 0};   /* nothing                        */
    double curve[RC_N_PERCENTILES * 3];
    int64_t alive[3];
    rc_bands_percentiles(&grid, counts, curve, alive);
    const double one[RC_N_PERCENTILES] = {2.1, 2.5, 3.0, 3.5, 3.9};
    const double quarters[RC_N_PERCENTILES] = {0.2, 1.0, 2.0, 4.0, 7.2};
    for (int index = 0; index < RC_N_PERCENTILES; index++) {
        assert_true(fabs(curve[index * 3] - one[index]) < 1e-14);
        assert_true(fabs(curve[index * 3 + 1] - quarters[index]) < 1e-14);
        assert_true(isnan(curve[index * 3 + 2]));
    }
    assert_int_equal(alive[0], 10);
    assert_int_equal(alive[1], 4);
    assert_int_equal(alive[2], 0);
}

static void test_bands__missing_samples_are_not_counted(void **state)
{
    (void)state;
    const struct rc_bands_grid grid = {2, 4, edges};
    const uint16_t bins[3 * 2] = {0, 3, 0, 0xffff, 3, 4}; /* three flights, two times; 4 is beyond the bins */
    const uint64_t wanted[8] = {2, 0, 0, 1, 0, 0, 0, 1};
    uint64_t counts[8] = {0};
    rc_bands_count(&grid, counts, 3, bins, 2);
    assert_memory_equal(counts, wanted, sizeof counts);
}

static void test_bands__percent_beyond_the_curves_is_nan(void **state)
{
    (void)state;
    assert_true(rc_results_percentile(0) == 5.0 && rc_results_percentile(2) == 50.0 && rc_results_percentile(4) == 95.0);
    assert_true(isnan(rc_results_percentile(-1)) && isnan(rc_results_percentile(RC_N_PERCENTILES)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bands__percentiles_are_linear_within_a_bin),
        cmocka_unit_test(test_bands__missing_samples_are_not_counted),
        cmocka_unit_test(test_bands__percent_beyond_the_curves_is_nan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
