/* Every kind of distribution: quantiles against reference values, cdf as its inverse, moments, support, refusals.
 * source tests/reference/distributions.csv: exact, or mpmath at 30 to 40 digits. A value for p near 1 is for the exact decimal p,
 * and double(p) is not that number; so the upper tail is asked for through its complement, which is read from the text of p. */
#include <float.h>
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
#include "support/reference.h"

/* 1 - p from the decimal digits of p, without the rounding of p: 10^-n times the complement of its n digits. */
static double complement(const char *p)
{
    if (p[0] != '0' || p[1] != '.')
        return 1.0 - strtod(p, NULL);
    char digits[64];
    size_t n = 0;
    for (const char *c = p + 2; *c; c++)
        digits[n++] = (char)('0' + ('9' - *c));
    digits[n] = '\0';
    char text[80];
    (void)snprintf(text, sizeof text, "1e-%zu", n); /* 0.99..9 - p has the complemented digits; one unit more makes 1 - p */
    const double unit = strtod(text, NULL);
    (void)snprintf(text, sizeof text, "%s.0e-%zu", digits, n);
    return strtod(text, NULL) + unit;
}

/* The same for the kinds whose reference rows are about a centre or unit range that we let the user move. */
static bool read_standard_row(const char *name, const char *text, double *p)
{
    if (strcmp(name, "beta") == 0) {
        p[3] = 1.0;
        return sscanf(text, "alpha=%lf beta=%lf on [0,1]", &p[0], &p[1]) == 2;
    }
    if (strcmp(name, "weibull") == 0)
        return sscanf(text, "shape=%lf scale=%lf", &p[0], &p[1]) == 2;
    if (strcmp(name, "student_t") == 0) {
        p[1] = 1.0;
        return sscanf(text, "nu=%lf", &p[2]) == 1;
    }
    return strcmp(name, "von_mises") == 0 && sscanf(text, "mean_dir=0 rad kappa=%lf", &p[1]) == 1;
}

/* The parameters of a reference row in our terms; false for kinds and parametrisations we do not have. */
static bool read_row(const struct reference *table, int row, struct rc_distribution *distribution)
{
    const char *name = reference_text(table, row, "distribution");
    const char *text = reference_text(table, row, "parameters");
    *distribution = (struct rc_distribution){.kind = rc_distribution_find(name)};
    double *p = distribution->p;
    if (!distribution->kind)
        return false;
    if (read_standard_row(name, text, p))
        return true;
    if (strcmp(name, "normal") == 0)
        return sscanf(text, "mean=%lf sd=%lf", &p[0], &p[1]) == 2;
    if (strcmp(name, "truncated_normal") == 0)
        return sscanf(text, "mean=%lf sd=%lf lo=%lf hi=%lf", &p[0], &p[1], &p[2], &p[3]) == 4;
    if (strcmp(name, "uniform") == 0)
        return sscanf(text, "lo=%lf hi=%lf", &p[0], &p[1]) == 2;
    if (strcmp(name, "triangular") == 0)
        return sscanf(text, "lo=%lf mode=%lf hi=%lf", &p[0], &p[1], &p[2]) == 3;
    const char *of_log = strstr(text, "mu_log=");
    if (!of_log || sscanf(of_log, "mu_log=%lf sigma_log=%lf", &p[0], &p[1]) != 2)
        return false;
    p[0] = exp(p[0]);
    return true;
}

static void test_distribution__quantiles_are_the_references(void **state)
{
    (void)state;
    struct reference *table = reference_open("distributions.csv");
    int n_checked = 0;
    double worst = 0.0;
    for (int row = 0; row < reference_rows(table); row++) {
        struct rc_distribution distribution;
        if (!read_row(table, row, &distribution))
            continue;
        const double in_degrees = strcmp(distribution.kind->name, "von_mises") == 0 ? 180.0 / acos(-1.0) : 1.0;
        const double wanted = reference_number(table, row, "quantile") * in_degrees;
        const double u = reference_number(table, row, "p");
        const double value = distribution.kind->quantile(distribution.p, u, complement(reference_text(table, row, "p")));
        double error = fabs(value - wanted);
        error = wanted == 0.0 ? error : error / fabs(wanted);
        worst = fmax(worst, error);
        if (!(error <= 1e-12))
            fail_msg("%s(%s) at %s: got %.17g, wanted %.17g, off by %.3g", distribution.kind->name,
                     reference_text(table, row, "parameters"), reference_text(table, row, "p"), value, wanted, error);
        n_checked++;
    }
    print_message("%d quantiles, worst relative error %.2g\n", n_checked, worst);
    assert_int_equal(n_checked, 318);
    reference_close(table);
}

/* One or more sets of parameters for each kind, with the awkward ones: narrow, far out, on the edge. */
struct example {
    const char *kind;
    double p[RC_MAX_PARAMETERS];
};
static const struct example examples[] = {
    {"normal", {0.0, 1.0}},
    {"normal", {-40.0, 1e-3}},
    {"uniform", {-3.0, 7.0}},
    {"uniform", {1e6, 1e6 + 1.0}},
    {"triangular", {0.0, 2.0, 10.0}},
    {"triangular", {-1.0, -1.0, 1.0}},
    {"triangular", {-1.0, 1.0, 1.0}},
    {"lognormal", {1.0, 0.25}},
    {"lognormal", {300.0, 0.02}},
    {"truncated_normal", {0.0, 1.0, -2.0, 2.0}},
    {"truncated_normal", {5.0, 2.0, 0.0, 6.0}},
    {"truncated_normal", {0.0, 1.0, 3.0, 8.0}},
    {"truncated_normal", {0.0, 1.0, -8.0, -3.0}},
    {"truncated_normal", {0.0, 1.0, 12.0, 1000.0}},
    {"truncated_normal", {0.0, 1.0, 29.0, 30.0}},
    {"truncated_normal", {10.0, 1000.0, 9.999, 10.001}},
    {"truncated_normal", {10.0, 1.0, -1e9, 1e9}},
    {"beta", {2.0, 5.0, 0.0, 1.0}},
    {"beta", {0.3, 0.7, -3.0, 7.0}},
    {"beta", {4000.0, 30.0, 10.0, 11.0}},
    {"weibull", {2.0, 8.5}},
    {"weibull", {0.8, 1e-3}},
    {"weibull", {500.0, 40.0}},
    {"student_t", {0.0, 1.0, 5.0}},
    {"student_t", {-3.0, 0.01, 30.0}},
    {"student_t", {10.0, 2.0, 1e6}},
    {"von_mises", {0.0, 0.01}},
    {"von_mises", {270.0, 4.0}},
    {"von_mises", {-10.0, 1e7}},
    {"measured", {5.0, 0.1}},
    {"measured_within", {-2.0, 0.25}},
    {"chance", {0.97}},
    {"chance", {1e-9}},
};
enum { N_EXAMPLES = sizeof examples / sizeof examples[0] };

static struct rc_distribution distribution_of(const struct example *example)
{
    struct rc_distribution distribution = {.kind = rc_distribution_find(example->kind)};
    assert_non_null(distribution.kind);
    memcpy(distribution.p, example->p, sizeof distribution.p);
    struct rc_error err;
    if (distribution.kind->check(distribution.p, &err) != RC_OK)
        fail_msg("%s refused: %s: %s", example->kind, err.where, err.what);
    return distribution;
}

static void test_distribution__every_kind_has_an_example_and_a_description(void **state)
{
    (void)state;
    assert_int_equal(rc_distribution_count(), 14);
    assert_null(rc_distribution_at(-1));
    assert_null(rc_distribution_at(rc_distribution_count()));
    assert_null(rc_distribution_find("gaussian"));
    for (int index = 0; index < rc_distribution_count(); index++) {
        const struct rc_distribution_kind *kind = rc_distribution_at(index);
        int n_examples = 0;
        for (int example = 0; example < N_EXAMPLES; example++)
            n_examples += strcmp(examples[example].kind, kind->name) == 0;
        assert_true(n_examples > 0 || kind->n_lists > 0); /* those are in test_distribution_lists.c */
        assert_ptr_equal(rc_distribution_find(kind->name), kind);
        assert_true(strlen(kind->summary) > 0);
        for (int parameter = 0; parameter < kind->n_parameters; parameter++)
            assert_true(strlen(kind->parameter[parameter].key) > 0 && strlen(kind->parameter[parameter].meaning) > 0);
    }
}

/* Rising, inside the support, and u comes back from the cdf as exactly as the place of the value allows. */
static void check_round_trip(const struct rc_distribution *distribution)
{
    const struct rc_distribution_kind *kind = distribution->kind;
    const double *p = distribution->p;
    double low = 0.0;
    double high = 0.0;
    kind->support(p, &low, &high);
    double before = low;
    for (double logit = -36.0; logit <= 36.0; logit += 0.0625) {
        const double u = 1.0 / (1.0 + exp(-logit));
        const double upper = 1.0 / (1.0 + exp(logit));
        const double x = kind->quantile(p, u, upper);
        if (!(x >= before && x <= high))
            fail_msg("%s: quantile(%.17g) = %.17g is below the one before or outside", kind->name, u, x);
        before = x;
        const double few = 8.0 * DBL_EPSILON * (fabs(x) + fabs(kind->mean(p)));
        const double slack = 1e-13 * u + 4.0 * DBL_EPSILON;
        if (kind->cdf(p, x - few) > u + slack || kind->cdf(p, x + few) < u - slack)
            fail_msg("%s: cdf(quantile(%.17g) = %.17g) = %.17g", kind->name, u, x, kind->cdf(p, x));
    }
}

static void test_distribution__cdf_inverts_quantile(void **state)
{
    (void)state;
    for (int example = 0; example < N_EXAMPLES; example++) {
        const struct rc_distribution distribution = distribution_of(&examples[example]);
        check_round_trip(&distribution);
    }
}

/* Moments by integrating the quantile over u = (1 + tanh(pi/2 sinh t)) / 2, which reaches both tails (tanh-sinh rule, Takahasi and
 * Mori 1974), against the stated mean and sd: the two come from different code. */
static void test_distribution__moments_are_those_of_the_quantile(void **state)
{
    (void)state;
    for (int example = 0; example < N_EXAMPLES; example++) {
        const struct rc_distribution distribution = distribution_of(&examples[example]);
        const double *p = distribution.p;
        if (strcmp(distribution.kind->name, "chance") == 0)
            continue; /* a jump: test_distribution__chance_is_one_with_its_odds */
        const double mean = distribution.kind->mean(p);
        const double sd = distribution.kind->sd(p);
        double sum[3] = {0.0, 0.0, 0.0};
        for (double t = -4.5; t <= 4.5; t += 1.0 / 128.0) {
            const double s = acos(-1.0) / 2.0 * sinh(t);
            const double weight = cosh(t) / (cosh(s) * cosh(s));
            const double x = distribution.kind->quantile(p, 1.0 / (1.0 + exp(-2.0 * s)), 1.0 / (1.0 + exp(2.0 * s)));
            sum[0] += weight;
            sum[1] += weight * (x - mean);
            sum[2] += weight * (x - mean) * (x - mean);
        }
        /* a kink of the density at a triangle's mode costs the rule its fast convergence */
        const double tolerance = strcmp(distribution.kind->name, "triangular") == 0 ? 1e-6 : 1e-9;
        if (fabs(sum[1] / sum[0]) > tolerance * sd + 4.0 * DBL_EPSILON * fabs(mean))
            fail_msg("example %d, %s: mean off by %.3g sd", example, examples[example].kind, sum[1] / sum[0] / sd);
        if (fabs(sqrt(sum[2] / sum[0]) / sd - 1.0) > tolerance)
            fail_msg("example %d, %s: sd %.15g, stated %.15g", example, examples[example].kind, sqrt(sum[2] / sum[0]), sd);
    }
}

/* What is_pure says, shown by the law itself: with the parameters that have a unit doubled every value doubles, as it must when the unit
 * is halved; a pure one told to have a unit, or the other way round, breaks it. A direction has its own unit and stays out. */
static void test_distribution__values_scale_with_the_parameters_that_have_a_unit(void **state)
{
    (void)state;
    int n_pure = 0;
    for (int example = 0; example < N_EXAMPLES; example++) {
        const struct rc_distribution distribution = distribution_of(&examples[example]);
        const struct rc_distribution_kind *kind = distribution.kind;
        struct rc_distribution doubled = distribution;
        int n_with_unit = 0;
        for (int parameter = 0; parameter < kind->n_parameters; parameter++) {
            const double factor = kind->parameter[parameter].is_pure ? 1.0 : 2.0;
            doubled.p[parameter] *= factor;
            n_with_unit += factor == 2.0;
            n_pure += factor == 1.0;
        }
        if (strcmp(kind->name, "von_mises") == 0 || strcmp(kind->name, "chance") == 0) {
            assert_int_equal(n_with_unit, kind->n_parameters - 1);
            continue;
        }
        for (double u = 0.01; u < 1.0; u += 0.07) {
            const double once = kind->quantile(distribution.p, u, 1.0 - u), twice = kind->quantile(doubled.p, u, 1.0 - u);
            if (!(fabs(twice - 2.0 * once) <= 1e-12 * (fabs(twice) + kind->sd(doubled.p))))
                fail_msg("example %d, %s at %g: %.15g, doubled %.15g", example, kind->name, u, once, twice);
        }
    }
    assert_true(n_pure > 8);
}

static void test_distribution__chance_is_one_with_its_odds(void **state)
{
    (void)state;
    const struct rc_distribution_kind *kind = rc_distribution_find("chance");
    const double p[] = {0.75};
    assert_true(kind->quantile(p, 0.25, 0.75) == 0.0 && kind->quantile(p, 0.2501, 0.7499) == 1.0);
    assert_true(kind->mean(p) == 0.75 && fabs(kind->sd(p) - sqrt(0.1875)) < 1e-15);
    assert_true(kind->cdf(p, -1e-9) == 0.0 && kind->cdf(p, 0.0) == 0.25 && kind->cdf(p, 0.99) == 0.25 && kind->cdf(p, 1.0) == 1.0);
    const struct rc_distribution chance = {.kind = kind, .p = {0.75}};
    double below = 1.0;
    double above = 1.0;
    rc_distribution_outside(&chance, 0.0, 1.0, &below, &above);
    assert_true(below == 0.0 && above == 0.0);
    rc_distribution_outside(&chance, 0.5, 0.9, &below, &above);
    assert_true(below == 0.25 && above == 0.75);
}

/* Moments of the Student t by hand: none for one degree of freedom, no spread for two. */
static void test_distribution__heavy_tails_have_no_moments(void **state)
{
    (void)state;
    const struct rc_distribution cauchy = {.kind = rc_distribution_find("student_t"), .p = {3.0, 1.0, 1.0}};
    assert_true(isnan(rc_distribution_mean(&cauchy)) && isinf(rc_distribution_sd(&cauchy)));
    const struct rc_distribution two = {.kind = rc_distribution_find("student_t"), .p = {3.0, 1.0, 2.0}};
    assert_true(rc_distribution_mean(&two) == 3.0 && isinf(rc_distribution_sd(&two)));
}

/* The extreme uniform numbers the streams can give must give numbers. */
static void test_distribution__extreme_uniforms_give_finite_values(void **state)
{
    (void)state;
    const double least = 0.5 / 4503599627370496.0;
    for (int example = 0; example < N_EXAMPLES; example++) {
        const struct rc_distribution distribution = distribution_of(&examples[example]);
        const double low = rc_distribution_value(&distribution, least);
        const double high = rc_distribution_value(&distribution, 1.0 - least);
        assert_true(isfinite(low) && isfinite(high) && low < high);
    }
}

static void test_distribution__bad_parameters_are_refused_by_key(void **state)
{
    (void)state;
    const struct {
        const char *kind;
        double p[RC_MAX_PARAMETERS];
        const char *key;
        const char *part;
    } bad[] = {
        {"normal", {0.0, -0.1}, "sd", "negative"},
        {"normal", {0.0, 0.0}, "sd", "plain number"},
        {"normal", {NAN, 1.0}, "mean", "finite"},
        {"normal", {0.0, INFINITY}, "sd", "finite"},
        {"uniform", {1.0, 1.0}, "high", "above low"},
        {"uniform", {2.0, 1.0}, "high", "above low"},
        {"uniform", {-1.5e308, 1.5e308}, "high", "too far"},
        {"uniform", {-INFINITY, 1.0}, "low", "finite"},
        {"triangular", {0.0, 3.0, 2.0}, "mode", "from low"},
        {"triangular", {0.0, -1.0, 2.0}, "mode", "from low"},
        {"triangular", {2.0, 2.0, 2.0}, "high", "above low"},
        {"triangular", {0.0, NAN, 2.0}, "mode", "finite"},
        {"lognormal", {0.0, 0.1}, "median", "positive"},
        {"lognormal", {-3.0, 0.1}, "median", "positive"},
        {"lognormal", {1.0, -0.1}, "spread", "negative"},
        {"lognormal", {1.0, 0.0}, "spread", "plain number"},
        {"lognormal", {1.0, 20.0}, "spread", "logarithm"},
        {"truncated_normal", {0.0, -1.0, -1.0, 1.0}, "sd", "negative"},
        {"truncated_normal", {0.0, 1.0, 1.0, -1.0}, "high", "above low"},
        {"truncated_normal", {0.0, 1.0, 31.0, 32.0}, "mean", "outside"},
        {"truncated_normal", {0.0, 1e-300, 1.0, 2.0}, "mean", "outside"},
        {"truncated_normal", {0.0, 1.0, -1.0, NAN}, "high", "finite"},
        {"beta", {0.0, 1.0, 0.0, 1.0}, "alpha", "from 0.05"},
        {"beta", {1.0, 1e7, 0.0, 1.0}, "beta", "to 1e+06"},
        {"beta", {1.0, 1.0, 1.0, 1.0}, "high", "above low"},
        {"beta", {1.0, 1.0, -1.5e308, 1.5e308}, "high", "too far"},
        {"weibull", {0.0, 1.0}, "shape", "from 0.1"},
        {"weibull", {2.0, 0.0}, "scale", "plain number"},
        {"student_t", {0.0, 1.0, 0.5}, "freedom", "from 1"},
        {"student_t", {0.0, 0.0, 5.0}, "scale", "plain number"},
        {"von_mises", {0.0, 0.0}, "concentration", "above 0"},
        {"von_mises", {NAN, 1.0}, "mean", "finite"},
        {"measured", {1.0, -0.1}, "uncertainty", "negative"},
        {"measured_within", {1.0, 0.0}, "limit", "plain number"},
        {"measured_within", {1.7e308, 1e308}, "limit", "too large"},
        {"chance", {1.5}, "odds", "between 0 and 1"},
        {"chance", {0.0}, "odds", "plain number 0"},
    };
    for (size_t row = 0; row < sizeof bad / sizeof bad[0]; row++) {
        struct rc_error err = {.status = RC_OK};
        assert_int_equal(rc_distribution_find(bad[row].kind)->check(bad[row].p, &err), RC_BAD_INPUT);
        assert_string_equal(err.where, bad[row].key);
        if (!strstr(err.what, bad[row].part))
            fail_msg("%s: \"%s\" does not say \"%s\"", bad[row].kind, err.what, bad[row].part);
    }
}

/* A normal with another spread and place is another normal, in every function; no spread leaves one value. */
static void test_distribution__a_reshaped_normal_is_another_normal(void **state)
{
    (void)state;
    struct rc_distribution one = {.kind = rc_distribution_find("normal"), .p = {5.0, 2.0}};
    const struct rc_distribution other = {.kind = one.kind, .p = {6.5, 0.5}};
    rc_distribution_reshape(&one, 0.25, 1.5);
    assert_true(fabs(rc_distribution_mean(&one) - 6.5) < 1e-14 && fabs(rc_distribution_sd(&one) - 0.5) < 1e-14);
    for (double u = 0.001; u < 1.0; u += 0.0499) {
        double below[2], above[2];
        const double value = rc_distribution_value(&other, u);
        assert_true(fabs(rc_distribution_value(&one, u) - value) < 1e-13);
        rc_distribution_outside(&one, value, value + 0.3, &below[0], &above[0]);
        rc_distribution_outside(&other, value, value + 0.3, &below[1], &above[1]);
        assert_true(fabs(below[0] - below[1]) < 1e-12 && fabs(above[0] - above[1]) < 1e-12);
    }
    struct rc_distribution none = {.kind = one.kind, .p = {5.0, 2.0}};
    double below = 0.0, above = 0.0;
    rc_distribution_reshape(&none, 0.0, -1.0);
    assert_true(rc_distribution_value(&none, 0.99) == 4.0 && rc_distribution_sd(&none) == 0.0);
    rc_distribution_outside(&none, 4.5, 6.0, &below, &above);
    assert_true(below == 1.0 && above == 0.0);
    rc_distribution_outside(&none, 4.0, 6.0, &below, &above);
    assert_true(below == 0.0 && above == 0.0);
}

/* The median stays whatever the kind: the spread shrinks around it (lognormal: median 3, its quartiles move towards it). */
static void test_distribution__a_reshaped_one_keeps_its_median(void **state)
{
    (void)state;
    struct rc_distribution law = {.kind = rc_distribution_find("lognormal"), .p = {3.0, 0.5}};
    const double quartile = rc_distribution_value(&law, 0.75);
    rc_distribution_reshape(&law, 0.5, 0.0);
    assert_true(fabs(rc_distribution_value(&law, 0.5) - 3.0) < 1e-12);
    assert_true(fabs(rc_distribution_value(&law, 0.75) - 0.5 * (3.0 + quartile)) < 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_distribution__quantiles_are_the_references),
        cmocka_unit_test(test_distribution__every_kind_has_an_example_and_a_description),
        cmocka_unit_test(test_distribution__cdf_inverts_quantile),
        cmocka_unit_test(test_distribution__moments_are_those_of_the_quantile),
        cmocka_unit_test(test_distribution__values_scale_with_the_parameters_that_have_a_unit),
        cmocka_unit_test(test_distribution__chance_is_one_with_its_odds),
        cmocka_unit_test(test_distribution__heavy_tails_have_no_moments),
        cmocka_unit_test(test_distribution__extreme_uniforms_give_finite_values),
        cmocka_unit_test(test_distribution__bad_parameters_are_refused_by_key),
        cmocka_unit_test(test_distribution__a_reshaped_normal_is_another_normal),
        cmocka_unit_test(test_distribution__a_reshaped_one_keeps_its_median),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
