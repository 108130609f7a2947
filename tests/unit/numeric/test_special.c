/* Normal and beta functions. Referee: GSL 2.7 (gsl_cdf_ugaussian_*, gsl_cdf_beta_*, gsl_sf_beta_inc), closed forms, and values
 * computed with mpmath at 60 digits where GSL itself is not exact enough. */
#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_sf_gamma.h>

#include "numeric/numeric.h"

static void check_relative(double value, double wanted, double tolerance, const char *what, double at)
{
    if (!(fabs(value - wanted) <= tolerance * fabs(wanted)))
        fail_msg("%s at %.17g: got %.17g, wanted %.17g, off by %.3g, allowed %.3g", what, at, value, wanted,
                 fabs(value / wanted - 1.0), tolerance);
}

static void test_special__normal_cdf_agrees_with_gsl(void **state)
{
    (void)state;
    for (int step = -370; step <= 90; step++) {
        const double x = 0.1 * step;
        check_relative(rc_special_normal_cdf(x), gsl_cdf_ugaussian_P(x), 2e-13, "normal cdf", x);
    }
}

/* erfc at the rounded argument would be off by x^2 roundings here. source mpmath, 60 digits */
static void test_special__normal_cdf_is_exact_far_out(void **state)
{
    (void)state;
    static const double known[][2] = {
        {-5, 2.86651571879193912e-7},
        {-10.300000000000001, 3.52306507892641259e-25},
        {-20.699999999999999, 1.73185187901973786e-95},
        {-30.100000000000001, 2.42266721798575877e-199},
        {-37.200000000000003, 3.41205434347023897e-303},
    };
    for (size_t row = 0; row < sizeof known / sizeof known[0]; row++)
        check_relative(rc_special_normal_cdf(known[row][0]), known[row][1], 2e-15, "normal cdf", known[row][0]);
}

static void test_special__normal_quantile_agrees_with_gsl(void **state)
{
    (void)state;
    for (double u = 1e-300; u < 0.5; u *= 1.7) {
        check_relative(rc_special_normal_quantile(u), gsl_cdf_ugaussian_Pinv(u), 1e-15 * 8, "normal quantile", u);
        if (u > 1e-10)
            check_relative(rc_special_normal_quantile(1.0 - u), gsl_cdf_ugaussian_Pinv(1.0 - u), 1e-15 * 8, "normal quantile", 1.0 - u);
    }
}

static void test_special__normal_quantile_inverts_cdf(void **state)
{
    (void)state;
    for (double u = 1e-300; u < 0.5; u *= 1.7) {
        const double x = rc_special_normal_quantile(u);
        check_relative(rc_special_normal_cdf(x), u, 1e-15 * (8.0 + x * x), "cdf of quantile", u); /* x^2: conditioning */
    }
    assert_true(rc_special_normal_quantile(0.5) == 0.0);
}

static void test_special__beta_cdf_agrees_with_gsl(void **state)
{
    (void)state;
    const double shapes[] = {0.3, 0.5, 1.0, 1.5, 2.0, 5.0, 9.5, 17.0, 40.0};
    const int n_shapes = (int)(sizeof shapes / sizeof shapes[0]);
    for (int first = 0; first < n_shapes; first++) {
        for (int second = 0; second < n_shapes; second++) {
            for (double x = 0.01; x < 1.0; x += 0.0707) {
                const double wanted = gsl_cdf_beta_P(x, shapes[first], shapes[second]);
                check_relative(rc_special_beta_cdf(shapes[first], shapes[second], x), wanted, 2e-12, "beta cdf", x);
            }
        }
    }
}

static void test_special__beta_cdf_has_its_closed_forms(void **state)
{
    (void)state;
    for (double x = 1e-12; x < 1.0; x *= 3.0) {
        check_relative(rc_special_beta_cdf(1.0, 1.0, x), x, 1e-14, "uniform", x);
        check_relative(rc_special_beta_cdf(7.0, 1.0, x), pow(x, 7.0), 1e-13, "power", x);
        check_relative(rc_special_beta_cdf(1.0, 1e6, x), -expm1(1e6 * log1p(-x)), 1e-13, "exponential", x);
        check_relative(rc_special_beta_cdf(0.5, 0.5, x), asin(sqrt(x)) * 2.0 / acos(-1.0), 1e-13, "arcsine", x);
    }
    assert_true(rc_special_beta_cdf(2.0, 3.0, 0.0) == 0.0);
    assert_true(rc_special_beta_cdf(2.0, 3.0, 1.0) == 1.0);
}

/* Counts as large as a store may hold. source mpmath, 60 digits; beyond 1e6 the rounding of x itself limits what can be had */
static void test_special__beta_cdf_holds_for_large_counts(void **state)
{
    (void)state;
    static const struct {
        double a, b, x, wanted, tolerance;
    } known[] = {
        {15.5, 15.75, 0.40000000000000002, 0.141184367686737348, 1e-14},
        {16, 20, 0.40000000000000002, 0.299739151575494293, 1e-14},
        {17, 1.5, 0.90000000000000002, 0.303813940848072783, 1e-14},
        {1000, 1000, 0.45000000000000001, 3.68319886900757828e-6, 1e-13},
        {9500, 501, 0.93999999999999995, 8.5346688435597997e-6, 1e-13},
        {9500, 501, 0.94999999999999996, 0.511895032956566103, 1e-13},
        {123.5, 560000, 0.00020000000000000001, 0.150028167686200863, 1e-13},
        {300000, 7, 0.99990000000000001, 1.17148989496314623e-7, 1e-13},
        {1000000, 1000000, 0.499, 0.00233884940693150475, 1e-13},
        {1000000, 1000000, 0.49990000000000001, 0.388648717862322042, 1e-13},
        {1000000000, 1000000000, 0.49998999999999999, 0.18554668476708925, 1e-11},
        {1000000000, 500000000, 0.66664999999999996, 0.0854525919896540466, 1e-11},
        {1000000000, 10, 0.99999998999999995, 0.457929696299920671, 1e-11},
    };
    for (size_t row = 0; row < sizeof known / sizeof known[0]; row++)
        check_relative(rc_special_beta_cdf(known[row].a, known[row].b, known[row].x), known[row].wanted, known[row].tolerance, "beta cdf",
                       known[row].x);
}

/* The root lies within four roundings of x; how far u is from I_x then depends on the slope, so u itself is not compared. */
static void test_special__beta_quantile_inverts_cdf(void **state)
{
    (void)state;
    const double few = 4.0 * DBL_EPSILON;
    const double shapes[] = {0.5, 1.0, 3.0, 40.0, 501.0, 9500.0, 1e6};
    const int n_shapes = (int)(sizeof shapes / sizeof shapes[0]);
    for (int first = 0; first < n_shapes; first++) {
        for (int second = 0; second < n_shapes; second++) {
            for (double u = 1e-6; u < 1.0; u += 0.0499) {
                const double a = shapes[first];
                const double b = shapes[second];
                const double x = rc_special_beta_quantile(a, b, u);
                if (rc_special_beta_cdf(a, b, x * (1.0 - few)) > u * (1.0 + 2e-13) ||
                    rc_special_beta_cdf(a, b, fmin(x * (1.0 + few), 1.0)) < u * (1.0 - 2e-13))
                    fail_msg("beta quantile of %.17g for a = %g, b = %g: %.17g is off by more than 4 roundings", u, a, b, x);
            }
        }
    }
    assert_true(rc_special_beta_quantile(2.0, 3.0, 0.0) == 0.0);
    assert_true(rc_special_beta_quantile(2.0, 3.0, 1.0) == 1.0);
}

/* The bound after n failures in none: 1 - (1 - C)^(1/n), tiny for large n. Closed form */
static void test_special__beta_quantile_keeps_digits_of_tiny_bounds(void **state)
{
    (void)state;
    for (double n = 1.0; n < 2e12; n *= 10.0)
        check_relative(rc_special_beta_quantile(1.0, n, 0.95), -expm1(log(0.05) / n), 1e-12, "upper bound without failures", n);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_special__normal_cdf_agrees_with_gsl),
        cmocka_unit_test(test_special__normal_cdf_is_exact_far_out),
        cmocka_unit_test(test_special__normal_quantile_agrees_with_gsl),
        cmocka_unit_test(test_special__normal_quantile_inverts_cdf),
        cmocka_unit_test(test_special__beta_cdf_agrees_with_gsl),
        cmocka_unit_test(test_special__beta_cdf_has_its_closed_forms),
        cmocka_unit_test(test_special__beta_cdf_holds_for_large_counts),
        cmocka_unit_test(test_special__beta_quantile_inverts_cdf),
        cmocka_unit_test(test_special__beta_quantile_keeps_digits_of_tiny_bounds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
