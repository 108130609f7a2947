/* Dispersion ellipses against the bivariate normal distribution: within a Mahalanobis distance r lies 1 - exp(-r^2/2) of it (closed
 * form, any textbook), so 50, 90 and 99 % lie within 1.17741, 2.14597 and 3.03485. Points come from GSL's generator. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "rollcast/analysis.h"

enum { MANY = 200000, SOME = 400, N_ROUNDS = 1000 };

static const double PI = 3.14159265358979323846;

static void assert_within(double got, double wanted, double absolute)
{
    if (!(fabs(got - wanted) <= absolute))
        fail_msg("got %.10g, wanted %.10g within %g", got, wanted, absolute);
}

/* Points whose long axis (sd `major`) bears `azimuth`. */
static void scatter(gsl_rng *rng, double major, double minor, double azimuth, double *east, double *north, int n)
{
    for (int i = 0; i < n; i++) {
        const double u = gsl_ran_gaussian(rng, major), w = gsl_ran_gaussian(rng, minor);
        east[i] = 500.0 + u * sin(azimuth) + w * cos(azimuth);
        north[i] = -200.0 + u * cos(azimuth) - w * sin(azimuth);
    }
}

static void test_ellipse__of_a_normal_scatter_has_the_closed_form(void **state)
{
    (void)state;
    gsl_rng *const rng = gsl_rng_alloc(gsl_rng_mt19937);
    double *const east = malloc(MANY * sizeof *east), *const north = malloc(MANY * sizeof *north);
    assert_true(rng != NULL && east != NULL && north != NULL);
    static const double azimuth[] = {0.3, 1.2, 2.0, 3.0};
    for (int i = 0; i < 4; i++) {
        struct rc_dispersion found;
        scatter(rng, 120.0, 45.0, azimuth[i], east, north, MANY);
        rc_ellipse_dispersion(east, north, MANY, 0.95, &found);
        assert_int_equal(found.n, MANY);
        /* Four standard errors: sd/sqrt(n) of a mean, sd/sqrt(2 n) of a standard deviation, of the axis' bearing
         * major minor / (major^2 - minor^2) / sqrt(n). */
        assert_within(found.centre_east, 500.0, 4.0 * 120.0 / sqrt(MANY));
        assert_within(found.centre_north, -200.0, 4.0 * 120.0 / sqrt(MANY));
        assert_within(found.major_sd, 120.0, 4.0 * 120.0 / sqrt(2.0 * MANY));
        assert_within(found.minor_sd, 45.0, 4.0 * 45.0 / sqrt(2.0 * MANY));
        assert_within(found.azimuth, azimuth[i], 4.0 * 120.0 * 45.0 / (120.0 * 120.0 - 45.0 * 45.0) / sqrt(MANY));
        static const double share[RC_N_ELLIPSES] = {0.5, 0.9, 0.99};
        for (int k = 0; k < RC_N_ELLIPSES; k++) {
            const struct rc_ellipse *const ellipse = &found.ellipse[k];
            const double r = sqrt(-2.0 * log(1.0 - share[k]));
            const double error = sqrt(share[k] * (1.0 - share[k]) / MANY) / (r * (1.0 - share[k]));
            assert_within(ellipse->share, share[k], 0.0);
            assert_within(ellipse->scale, r, 4.0 * error);
            assert_true(ellipse->scale_low < ellipse->scale && ellipse->scale < ellipse->scale_high);
            assert_within(ellipse->scale_high - ellipse->scale_low, 2.0 * 1.96 * error, 0.6 * error);
            assert_within(rc_ellipse_area(&found, ellipse->scale), PI * r * r * 120.0 * 45.0, 0.03 * PI * r * r * 120.0 * 45.0);
        }
    }
    free(east);
    free(north);
    gsl_rng_free(rng);
}

/* The interval's word: 95 % of many small campaigns must hold the true area. 400 points, of which the 99 % ellipse leaves out 4. */
static void test_ellipse__interval_holds_the_true_area_as_often_as_it_says(void **state)
{
    (void)state;
    gsl_rng *const rng = gsl_rng_alloc(gsl_rng_mt19937);
    double east[SOME], north[SOME];
    int n_held[RC_N_ELLIPSES] = {0, 0, 0};
    gsl_rng_set(rng, 7);
    for (int round = 0; round < N_ROUNDS; round++) {
        struct rc_dispersion found;
        scatter(rng, 80.0, 30.0, 0.7, east, north, SOME);
        rc_ellipse_dispersion(east, north, SOME, 0.95, &found);
        for (int k = 0; k < RC_N_ELLIPSES; k++) {
            const double area = -2.0 * log(1.0 - found.ellipse[k].share) * PI * 80.0 * 30.0;
            n_held[k] += rc_ellipse_area(&found, found.ellipse[k].scale_low) <= area &&
                         area <= rc_ellipse_area(&found, found.ellipse[k].scale_high);
        }
    }
    print_message("held in %d, %d, %d of %d campaigns of %d flights\n", n_held[0], n_held[1], n_held[2], N_ROUNDS, SOME);
    /* At least 95 %, less three standard errors (2.1 %). */
    for (int k = 0; k < RC_N_ELLIPSES; k++)
        assert_true(n_held[k] >= 929);
    gsl_rng_free(rng);
}

/* by hand: a cross of points, with holes; the half axes' ratio is that of the standard deviations */
static void test_ellipse__leaves_out_what_is_not_finite(void **state)
{
    (void)state;
    double east[] = {2, -2, 0, 0, NAN, 2, -2, 0, 0, INFINITY, 5}, north[] = {0, 0, 1, -1, 1, 0, 0, 1, -1, 1, NAN};
    struct rc_dispersion found;
    rc_ellipse_dispersion(east, north, 11, 0.9, &found);
    assert_int_equal(found.n, 8);
    assert_within(found.centre_east, 0.0, 1e-15);
    assert_within(found.major_sd, sqrt(16.0 / 7.0), 1e-12);
    assert_within(found.minor_sd, sqrt(4.0 / 7.0), 1e-12);
    assert_within(found.azimuth, 0.5 * PI, 1e-12);
    assert_within(found.ellipse[0].scale, 2.0 / sqrt(16.0 / 7.0), 1e-12);
    assert_true(isinf(found.ellipse[2].scale_high));
}

static void test_ellipse__of_points_in_line_or_in_one_place_is_flat(void **state)
{
    (void)state;
    double east[8], north[8];
    struct rc_dispersion found;
    for (int i = 0; i < 8; i++)
        east[i] = north[i] = i;
    rc_ellipse_dispersion(east, north, 8, 0.95, &found);
    assert_within(found.azimuth, 0.25 * PI, 1e-12);
    assert_within(rc_ellipse_area(&found, found.ellipse[1].scale), 0.0, 1e-6);
    assert_true(found.ellipse[1].scale > 0.0);
    for (int i = 0; i < 8; i++)
        east[i] = north[i] = 3.0;
    rc_ellipse_dispersion(east, north, 8, 0.95, &found);
    assert_true(found.major_sd <= 0.0 && found.ellipse[2].scale <= 0.0);
    rc_ellipse_dispersion(east, north, 7, 0.95, &found);
    assert_true(found.n == 7 && isnan(found.major_sd) && isnan(found.ellipse[0].scale));
    rc_ellipse_dispersion(east, north, 0, 0.95, &found);
    assert_true(found.n == 0 && isnan(found.centre_east));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ellipse__of_a_normal_scatter_has_the_closed_form),
        cmocka_unit_test(test_ellipse__interval_holds_the_true_area_as_often_as_it_says),
        cmocka_unit_test(test_ellipse__leaves_out_what_is_not_finite),
        cmocka_unit_test(test_ellipse__of_points_in_line_or_in_one_place_is_flat),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
