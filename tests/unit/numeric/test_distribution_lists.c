/* Kinds whose parameters are lists: values with weights, and measured columns. Expected figures are worked out by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "numeric/numeric.h"

/* A distribution of lists of n entries; its table is freed with free(). A refusal fails the test unless err is given. */
static struct rc_distribution packed(double **table, const char *kind, double first, const struct rc_distribution_lists *lists)
{
    struct rc_distribution distribution = {.kind = rc_distribution_find(kind), .p = {first}};
    assert_non_null(distribution.kind);
    *table = calloc(rc_distribution_table_length(distribution.kind, lists->n), sizeof **table);
    assert_non_null(*table);
    struct rc_error err = {.status = RC_OK};
    if (rc_distribution_pack(&distribution, *table, lists, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    return distribution;
}

static void test_distribution_lists__discrete_draws_values_by_weight(void **state)
{
    (void)state;
    const double values[] = {3.0, -1.0, 2.0, 7.0};
    const double weights[] = {0.25, 0.5, 0.125, 0.125};
    const struct rc_distribution_lists lists = {.n = 4, .list = {values, weights}};
    double *table = NULL;
    const struct rc_distribution d = packed(&table, "discrete", 0.0, &lists);
    static const struct {
        double u, value;
    } draw[] = {{1e-16, -1.0}, {0.5, -1.0}, {0.5000001, 2.0}, {0.625, 2.0}, {0.63, 3.0}, {0.875, 3.0}, {0.8751, 7.0}, {1.0 - 1e-16, 7.0}};
    for (size_t row = 0; row < sizeof draw / sizeof draw[0]; row++)
        assert_true(rc_distribution_value(&d, draw[row].u) == draw[row].value);
    assert_true(fabs(rc_distribution_mean(&d) - 1.375) < 1e-15);
    assert_true(fabs(rc_distribution_sd(&d) - sqrt(9.375 - 1.375 * 1.375)) < 1e-14);
    double low = 0.0;
    double high = 0.0;
    d.kind->support(d.table, &low, &high);
    assert_true(low == -1.0 && high == 7.0);
    rc_distribution_outside(&d, 2.0, 3.0, &low, &high);
    assert_true(low == 0.5 && high == 0.125);
    rc_distribution_outside(&d, -1.0, 7.0, &low, &high);
    assert_true(low == 0.0 && high == 0.0);
    free(table);
}

/* A weight of 1e-13 at either end must be met by tails that small and by no others. */
static void test_distribution_lists__discrete_keeps_tiny_weights_at_both_ends(void **state)
{
    (void)state;
    const double values[] = {0.0, 1.0, 2.0};
    const double weights[] = {1e-13, 1.0 - 2e-13, 1e-13};
    const struct rc_distribution_lists lists = {.n = 3, .list = {values, weights}};
    double *table = NULL;
    const struct rc_distribution d = packed(&table, "discrete", 0.0, &lists);
    assert_true(rc_distribution_value_tails(&d, 0.9e-13, 1.0) == 0.0 && rc_distribution_value_tails(&d, 1.1e-13, 1.0) == 1.0);
    assert_true(rc_distribution_value_tails(&d, 1.0, 0.9e-13) == 2.0 && rc_distribution_value_tails(&d, 1.0, 1.1e-13) == 1.0);
    free(table);
}

static void test_distribution_lists__empirical_draws_the_column(void **state)
{
    (void)state;
    const double values[] = {5.0, 1.0, 3.0, 1.0};
    const struct rc_distribution_lists lists = {.n = 4, .list = {values}};
    double *table = NULL;
    const struct rc_distribution d = packed(&table, "empirical", 0.0, &lists);
    static const struct {
        double u, value;
    } draw[] = {{1e-16, 1.0}, {0.25, 1.0}, {0.49, 1.0}, {0.5, 1.0}, {0.51, 3.0}, {0.74, 3.0}, {0.76, 5.0}, {1.0 - 1e-16, 5.0}};
    for (size_t row = 0; row < sizeof draw / sizeof draw[0]; row++)
        assert_true(rc_distribution_value(&d, draw[row].u) == draw[row].value);
    assert_true(rc_distribution_mean(&d) == 2.5 && fabs(rc_distribution_sd(&d) - sqrt(2.75)) < 1e-15);
    assert_true(d.kind->cdf(d.table, 0.9) == 0.0 && d.kind->cdf(d.table, 1.0) == 0.5 && d.kind->cdf(d.table, 5.0) == 1.0);
    free(table);
}

/* Values 0, 1, 10 smoothed over +-1: the density is 1/6 on [-1, 0], 1/3 on [0, 1], 1/6 on [1, 2], none up to 9, 1/6 on [9, 11]. */
static void test_distribution_lists__smoothed_column_is_the_sum_of_its_boxes(void **state)
{
    (void)state;
    const double values[] = {10.0, 0.0, 1.0};
    const struct rc_distribution_lists lists = {.n = 3, .list = {values}};
    double *table = NULL;
    const struct rc_distribution d = packed(&table, "empirical", 1.0, &lists);
    static const struct {
        double u, value;
    } draw[] = {{6e-12, -1.0 + 3.6e-11}, {1.0 / 12.0, -0.5}, {1.0 / 3.0, 0.5}, {7.0 / 12.0, 1.5}, {0.75, 9.5}, {5.0 / 6.0, 10.0}};
    for (size_t row = 0; row < sizeof draw / sizeof draw[0]; row++) {
        const double value = rc_distribution_value(&d, draw[row].u);
        if (!(fabs(value - draw[row].value) < 1e-14 * fmax(fabs(value), 1.0)))
            fail_msg("at %.17g: %.17g, wanted %.17g", draw[row].u, value, draw[row].value);
        assert_true(fabs(d.kind->cdf(d.table, value) - draw[row].u) < 1e-14);
    }
    assert_true(fabs((11.0 - rc_distribution_value_tails(&d, 1.0, 1e-12)) / 6e-12 - 1.0) < 1e-3); /* the place of 11 rounds to 2e-15 */
    assert_true(fabs(rc_distribution_sd(&d) - sqrt(1.0 / 3.0 + (0.0 + 1.0 + 100.0) / 3.0 - 121.0 / 9.0)) < 1e-13);
    double before = -1.0;
    for (double logit = -36.0; logit <= 36.0; logit += 0.01) {
        const double x = rc_distribution_value_tails(&d, 1.0 / (1.0 + exp(-logit)), 1.0 / (1.0 + exp(logit)));
        assert_true(x >= before && x <= 11.0 && !(x > 2.0 && x < 9.0));
        before = x;
    }
    free(table);
}

/* A long column against the definition: the share of values at most x. */
static void test_distribution_lists__long_columns_are_sorted(void **state)
{
    (void)state;
    enum { N = 4000 };
    static double values[N];
    struct rc_pcg pcg = rc_pcg_init(1, 2);
    for (int index = 0; index < N; index++)
        values[index] = rc_stream_uniform(&pcg);
    const struct rc_distribution_lists lists = {.n = N, .list = {values}};
    double *table = NULL;
    const struct rc_distribution d = packed(&table, "empirical", 0.0, &lists);
    for (double u = 0.0003; u < 1.0; u += 0.013) {
        const double x = rc_distribution_value(&d, u);
        int n_below = 0;
        int n_at_most = 0;
        for (int index = 0; index < N; index++) {
            n_below += values[index] < x;
            n_at_most += values[index] <= x;
        }
        assert_true(n_below < u * N && n_at_most >= u * N);
    }
    free(table);
}

static void test_distribution_lists__bad_lists_are_refused_by_key(void **state)
{
    (void)state;
    const struct {
        const char *kind;
        double first;
        int n;
        double list[2][3];
        const char *key, *part;
    } bad[] = {
        {"discrete", 0.0, 3, {{1.0, 2.0, 3.0}, {0.5, 0.3, 0.3}}, "weights", "sum to 1.1, wanted 1"},
        {"discrete", 0.0, 3, {{1.0, 2.0, 3.0}, {1.2, -0.1, -0.1}}, "weights", "entry 1"},
        {"discrete", 0.0, 3, {{1.0, NAN, 3.0}, {0.5, 0.25, 0.25}}, "values", "finite"},
        {"discrete", 0.0, 0, {{0.0}, {0.0}}, "values", "empty"},
        {"empirical", -0.1, 2, {{1.0, 2.0}, {0.0}}, "smoothing", "0 (none)"},
        {"empirical", NAN, 2, {{1.0, 2.0}, {0.0}}, "smoothing", "finite"},
        {"empirical", 1e-300, 2, {{1.0, 2.0}, {0.0}}, "smoothing", "too small"},
        {"empirical", 1e308, 2, {{1.0, 2.0}, {0.0}}, "smoothing", "too large"},
        {"empirical", 0.0, 2, {{1.0, INFINITY}, {0.0}}, "values", "finite"},
    };
    for (size_t row = 0; row < sizeof bad / sizeof bad[0]; row++) {
        struct rc_distribution distribution = {.kind = rc_distribution_find(bad[row].kind), .p = {bad[row].first}};
        const struct rc_distribution_lists lists = {.n = bad[row].n, .list = {bad[row].list[0], bad[row].list[1]}};
        double table[64];
        assert_true(rc_distribution_table_length(distribution.kind, 3) <= 64);
        struct rc_error err = {.status = RC_OK};
        assert_int_equal(rc_distribution_pack(&distribution, table, &lists, &err), RC_BAD_INPUT);
        assert_null(distribution.table);
        assert_string_equal(err.where, bad[row].key);
        if (!strstr(err.what, bad[row].part))
            fail_msg("\"%s\" does not say \"%s\"", err.what, bad[row].part);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_distribution_lists__discrete_draws_values_by_weight),
        cmocka_unit_test(test_distribution_lists__discrete_keeps_tiny_weights_at_both_ends),
        cmocka_unit_test(test_distribution_lists__empirical_draws_the_column),
        cmocka_unit_test(test_distribution_lists__smoothed_column_is_the_sum_of_its_boxes),
        cmocka_unit_test(test_distribution_lists__long_columns_are_sorted),
        cmocka_unit_test(test_distribution_lists__bad_lists_are_refused_by_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
