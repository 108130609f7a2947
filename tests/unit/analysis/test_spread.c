/* Columns in a few numbers: certified means and deviations, quantiles by sorting, what is left out. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics.h>

#include "rollcast/analysis.h"
#include "support/reference.h"

enum { MOST_VALUES = 1100 };

/* Numbers of a reference row: "a b c ...", or "first then N x (p q)" for N pairs. */
static int read_values(const char *text, double *values)
{
    char *end = NULL;
    values[0] = strtod(text, &end);
    int n = 1;
    int n_pairs = 0;
    double p = 0.0;
    double q = 0.0;
    if (sscanf(end, " then %d x (%lf %lf)", &n_pairs, &p, &q) == 3) {
        for (int pair = 0; pair < n_pairs; pair++) {
            values[n++] = p;
            values[n++] = q;
        }
        return n;
    }
    for (const char *at = end; n < MOST_VALUES; n++, at = end) {
        values[n] = strtod(at, &end);
        if (end == at)
            break;
    }
    return n;
}

static int row_of(const struct reference *table, const char *dataset)
{
    for (int row = 0; row < reference_rows(table); row++) {
        if (strcmp(reference_text(table, row, "dataset"), dataset) == 0)
            return row;
    }
    fail_msg("no data set %s", dataset);
    return -1;
}

/* source NIST Statistical Reference Datasets, univariate summary statistics, certified mean and standard deviation. NumAcc3 and 4
 * hold numbers that are not exact in binary next to a spread 1e7 and 1e8 times smaller: their sd cannot come out better than
 * 9 and 8 digits from doubles. */
static void test_spread__certified_mean_and_sd(void **state)
{
    (void)state;
    struct reference *data = reference_open("nist_strd_data.csv");
    struct reference *certified = reference_open("nist_strd_univariate.csv");
    for (int row = 0; row < reference_rows(data); row++) {
        const char *name = reference_text(data, row, "dataset");
        double values[MOST_VALUES];
        const int n = read_values(reference_text(data, row, "values (space separated)"), values);
        const int wanted = row_of(certified, name);
        assert_int_equal(n, (int)reference_number(certified, wanted, "n"));
        const struct rc_spread spread = rc_spread_of(values, n);
        const double mean = reference_number(certified, wanted, "certified_mean");
        const double sd = reference_number(certified, wanted, "certified_sd");
        const double tolerance = strcmp(name, "NumAcc3") == 0 ? 1e-9 : strcmp(name, "NumAcc4") == 0 ? 1e-8 : 1e-12;
        if (!(fabs(spread.mean - mean) <= 2e-15 * fabs(mean) && fabs(spread.sd - sd) <= tolerance * sd))
            fail_msg("%s: mean %.17g, certified %.17g; sd %.17g, certified %.17g", name, spread.mean, mean, spread.sd, sd);
        assert_int_equal(spread.n, n);
    }
    assert_int_equal(reference_rows(data), 7);
    reference_close(certified);
    reference_close(data);
}

static double scramble(int index)
{
    return fmod(sin(12.9898 * (index + 1)) * 43758.5453, 1.0);
}

static void fill(double *values, int n, int shape)
{
    for (int index = 0; index < n; index++) {
        const double shapes[] = {scramble(index), index, -index, index % 7, 3.0, index < n / 2 ? index : n - index};
        values[index] = shapes[shape];
    }
}

/* Referee: GSL's sorted quantiles, which are type 7 too. Sizes and orders that trip a selection: sorted, reversed, many ties, all
 * equal, up and down. */
static void test_spread__quantiles_agree_with_sorting(void **state)
{
    (void)state;
    const int sizes[] = {1, 2, 3, 4, 5, 19, 20, 21, 100, 101, 997, 1001};
    for (size_t size = 0; size < sizeof sizes / sizeof sizes[0]; size++) {
        for (int shape = 0; shape < 6; shape++) {
            const size_t n = (size_t)sizes[size];
            double values[MOST_VALUES];
            double sorted[MOST_VALUES];
            fill(values, sizes[size], shape);
            memcpy(sorted, values, sizeof sorted);
            gsl_sort(sorted, 1, n);
            const struct rc_spread spread = rc_spread_of(values, sizes[size]);
            const double scale = 1e-14 * (1.0 + fabs(sorted[0]) + fabs(sorted[n - 1]));
            assert_true(fabs(spread.p05 - gsl_stats_quantile_from_sorted_data(sorted, 1, n, 0.05)) <= scale);
            assert_true(fabs(spread.median - gsl_stats_quantile_from_sorted_data(sorted, 1, n, 0.5)) <= scale);
            assert_true(fabs(spread.p95 - gsl_stats_quantile_from_sorted_data(sorted, 1, n, 0.95)) <= scale);
            assert_true(spread.least == sorted[0] && spread.greatest == sorted[n - 1]);
            gsl_sort(values, 1, n); /* reordered, not changed */
            assert_memory_equal(values, sorted, n * sizeof values[0]);
        }
    }
}

static void test_spread__non_finite_values_are_left_out(void **state)
{
    (void)state;
    double values[] = {NAN, 3.0, INFINITY, 1.0, -INFINITY, 2.0, NAN};
    const struct rc_spread spread = rc_spread_of(values, 7);
    assert_int_equal(spread.n, 3);
    assert_true(spread.median == 2.0 && spread.mean == 2.0 && spread.least == 1.0 && spread.greatest == 3.0);
    assert_true(fabs(spread.sd - 1.0) < 1e-15);
    assert_true(fabs(spread.p05 - 1.1) < 1e-15 && fabs(spread.p95 - 2.9) < 1e-15);
}

static void test_spread__nothing_gives_nan(void **state)
{
    (void)state;
    double values[] = {NAN, NAN};
    const struct rc_spread spread = rc_spread_of(values, 2);
    assert_int_equal(spread.n, 0);
    assert_true(isnan(spread.median) && isnan(spread.p05) && isnan(spread.p95) && isnan(spread.mean) && isnan(spread.sd));
    assert_true(isnan(spread.least) && isnan(spread.greatest));
    double one[] = {4.0};
    const struct rc_spread single = rc_spread_of(one, 1);
    assert_true(single.median == 4.0 && single.p05 == 4.0 && single.mean == 4.0 && isnan(single.sd));
}

/* A million values in an order that is bad for a naive pivot: the square of n steps would take hours. */
static void test_spread__sorted_millions_are_quick(void **state)
{
    (void)state;
    const int64_t n = 1000000;
    double *values = malloc((size_t)n * sizeof *values);
    assert_non_null(values);
    for (int64_t index = 0; index < n; index++)
        values[index] = (double)index;
    const struct rc_spread spread = rc_spread_of(values, n);
    free(values);
    assert_true(spread.median == 499999.5);
    assert_true(fabs(spread.p05 - 49999.95) < 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_spread__certified_mean_and_sd),
        cmocka_unit_test(test_spread__quantiles_agree_with_sorting),
        cmocka_unit_test(test_spread__non_finite_values_are_left_out),
        cmocka_unit_test(test_spread__nothing_gives_nan),
        cmocka_unit_test(test_spread__sorted_millions_are_quick),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
