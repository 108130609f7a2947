/* Rising order, and quantiles of type 7. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>

#include <cmocka.h>

#include "numeric/sorted.h"

static void test_sorted__numbers_end_in_rising_order(void **state)
{
    (void)state;
    double value[] = {3, -1, 1e300, -0.0, 2.5, -1e300, 2.5};
    const double wanted[] = {-1e300, -1, 0, 2.5, 2.5, 3, 1e300};
    qsort(value, 7, sizeof *value, rc_sorted_rising);
    for (int at = 0; at < 7; at++)
        assert_true(value[at] == wanted[at]);
}

/* Linear between order statistics at (n - 1) p. source Hyndman and Fan 1996, definition 7; the numbers are by hand */
static void test_sorted__quantiles_lie_between_order_statistics(void **state)
{
    (void)state;
    const double value[] = {1, 2, 3, 10};
    assert_true(rc_sorted_quantile(value, 4, 0) == 1);
    assert_true(rc_sorted_quantile(value, 4, 0.25) == 1.75);
    assert_true(rc_sorted_quantile(value, 4, 0.5) == 2.5);
    assert_true(rc_sorted_quantile(value, 4, 0.75) == 4.75);
    assert_true(rc_sorted_quantile(value, 4, 1) == 10);
    assert_true(rc_sorted_quantile(value, 1, 0.3) == 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sorted__numbers_end_in_rising_order),
        cmocka_unit_test(test_sorted__quantiles_lie_between_order_statistics),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
