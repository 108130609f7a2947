/* Ranks that enclose quantiles, and tolerance limits, against computed tables. */
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

static int64_t rank_in(const struct reference *table, int row, const char *column)
{
    const char *text = reference_text(table, row, column);
    return *text ? strtoll(text, NULL, 10) : 0;
}

/* source tests/reference/quantile_ci.csv: David and Nagaraja's rule by SciPy's binomial; blank where there is none */
static void test_order__ranks_are_the_references(void **state)
{
    (void)state;
    struct reference *table = reference_open("quantile_ci.csv");
    for (int row = 0; row < reference_rows(table); row++) {
        const int64_t n = (int64_t)reference_number(table, row, "n");
        const double q = reference_number(table, row, "q");
        const double confidence = reference_number(table, row, "confidence");
        const char *sides = reference_text(table, row, "sides");
        const struct rc_order order = strcmp(sides, "two") == 0     ? rc_order_interval(n, q, confidence)
                                      : strcmp(sides, "lower") == 0 ? rc_order_lower_bound(n, q, confidence)
                                                                    : rc_order_upper_bound(n, q, confidence);
        const int64_t lower = rank_in(table, row, "lower_index_1based");
        const int64_t upper = rank_in(table, row, "upper_index_1based");
        const char *covered = reference_text(table, row, "exact_coverage");
        /* of a two-sided pair the table leaves both blank where one is missing */
        const int is_blank = *covered == '\0';
        if (!is_blank && (order.lower != lower || order.upper != upper || fabs(order.coverage - strtod(covered, NULL)) > 1e-11))
            fail_msg("row %d: got %lld, %lld, %.13g", row + 1, (long long)order.lower, (long long)order.upper, order.coverage);
        if (is_blank && order.coverage != 0.0)
            fail_msg("row %d: got ranks %lld, %lld where there are none", row + 1, (long long)order.lower,
                     (long long)order.upper);
    }
    assert_int_equal(reference_rows(table), 1053);
    reference_close(table);
}

/* source tests/reference/demonstration_sizes.csv; 59, 93, 124 and 93, 153, 208 are Wilks' */
static void test_order__tolerance_sizes_are_wilks(void **state)
{
    (void)state;
    struct reference *table = reference_open("demonstration_sizes.csv");
    int n_checked = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        const char *name = reference_text(table, row, "table");
        const int sides = strncmp(name, "wilks-one", 9) == 0 ? 1 : 2;
        if (strncmp(name, "wilks-", 6) != 0)
            continue;
        const int64_t order = name[strlen(name) - 1] - '0';
        const double coverage = reference_number(table, row, "reliability_R");
        const double confidence = reference_number(table, row, "confidence_C");
        const int64_t n = (int64_t)reference_number(table, row, "n_runs");
        assert_int_equal(rc_order_tolerance_flights(coverage, confidence, sides, order), n);
        assert_int_equal(rc_order_tolerance_order(coverage, confidence, sides, n), order);
        assert_int_equal(rc_order_tolerance_order(coverage, confidence, sides, n - 1), order - 1);
        n_checked++;
    }
    assert_int_equal(n_checked, 126);
    reference_close(table);
    assert_int_equal(rc_order_tolerance_flights(0.95, 0.95, 1, 1), 59);
    assert_int_equal(rc_order_tolerance_flights(0.95, 0.95, 2, 1), 93);
    assert_int_equal(rc_order_tolerance_flights(0.95, 0.95, 2, 3), 208);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_order__ranks_are_the_references),
        cmocka_unit_test(test_order__tolerance_sizes_are_wilks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
