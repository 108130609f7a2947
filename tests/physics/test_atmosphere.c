/* The atmosphere against the published digits of the 1976 standard, and the site's offsets against an integration of the
 * hydrostatic equation by a general-purpose integrator (GSL). */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include "flight/atmosphere.h"
#include "near.h"
#include "support/reference.h"

/* source U.S. Standard Atmosphere 1976, NOAA-S/T 76-1562: tables to five digits [memory], defining constants [computed] */
static void test_atmosphere__standard_meets_published_digits(void **state)
{
    (void)state;
    struct reference *table = reference_open("atmosphere_1976.csv");
    int n_published = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        const struct rc_air air = rc_atmosphere_standard(reference_number(table, row, "Z_m"));
        assert_ratio(air.temperature, reference_number(table, row, "T_K"), 1e-8);
        assert_ratio(air.pressure, reference_number(table, row, "p_Pa"), 1e-6);
        assert_ratio(air.density, reference_number(table, row, "rho_kg_m3"), 1e-6);
        assert_ratio(air.sound_speed, reference_number(table, row, "a_m_s"), 1e-7);
        if (reference_text(table, row, "pub_T_K")[0] == '\0')
            continue;
        n_published++;
        assert_ratio(air.temperature, reference_number(table, row, "pub_T_K"), 1e-4);
        assert_ratio(air.pressure, reference_number(table, row, "pub_p_Pa"), 1e-4);
        assert_ratio(air.density, reference_number(table, row, "pub_rho_kg_m3"), 1e-4);
    }
    reference_close(table);
    assert_int_equal(n_published, 17);
}

/* source USSA 1976 table 4: pressures at the layers' geopotential bases; geopotential to geometric by eq. 19 */
static void test_atmosphere__layer_bases_have_published_pressure(void **state)
{
    (void)state;
    static const double base[][2] = {{11000, 22632.064}, {20000, 5474.8887}, {32000, 868.01868},
                                     {47000, 110.90631}, {51000, 66.938873}, {71000, 3.9564204}};
    for (int layer = 0; layer < 6; layer++) {
        const double h = base[layer][0], z = 6356766.0 * h / (6356766.0 - h);
        assert_ratio(rc_atmosphere_standard(z).pressure, base[layer][1], 1e-7);
    }
}

/* source USSA 1976, eq. 17; 9.7759 m/s2 at 10 km and 9.5730 at 80 km hold to the last digit [computed] */
static void test_atmosphere__gravity_falls_with_the_square(void **state)
{
    (void)state;
    assert_near(rc_atmosphere_gravity(0.0), 9.80665, 0.0);
    assert_near(rc_atmosphere_gravity(10000.0), 9.80665 * 6356766.0 * 6356766.0 / (6366766.0 * 6366766.0), 1e-12);
    assert_near(rc_atmosphere_gravity(10000.0), 9.7759, 5e-5);
}

static void test_atmosphere__profile_without_offsets_is_the_standard(void **state)
{
    (void)state;
    const struct rc_site_design site = {.elevation = 1234.0};
    for (double height = 0.0; height <= 80000.0; height += 1777.0) {
        struct rc_air air;
        rc_atmosphere_profile(&site, &height, 1, &air);
        const struct rc_air standard = rc_atmosphere_standard(1234.0 + height);
        assert_ratio(air.pressure, standard.pressure, 1e-13);
        assert_ratio(air.density, standard.density, 1e-13);
        assert_ratio(air.temperature, standard.temperature, 1e-15);
    }
}

/* The standard's temperature, written down again so that the referee shares nothing with the code under test. */
static double referee_temperature(double z)
{
    const double h = 6356766.0 * z / (6356766.0 + z);
    if (h < 11000.0)
        return 288.15 - 0.0065 * h;
    if (h < 20000.0)
        return 216.65;
    return 216.65 + 0.001 * (h - 20000.0);
}

static int hydrostatic(double z, const double *log_pressure, double *slope, void *offset)
{
    (void)log_pressure;
    const double g = 9.80665 * pow(6356766.0 / (6356766.0 + z), 2.0);
    slope[0] = -g * 28.9644 / (8314.32 * (referee_temperature(z) + *(const double *)offset));
    return GSL_SUCCESS;
}

/* source hydrostatic equation dp/dz = -rho g integrated by GSL's Runge-Kutta Prince-Dormand (8, 9) through the pad's pressure */
static void test_atmosphere__offset_profile_is_hydrostatic(void **state)
{
    (void)state;
    static const double offsets[] = {-35.0, -8.0, 12.0, 25.0};
    for (int which = 0; which < 4; which++) {
        double offset = offsets[which];
        const struct rc_site_design site = {.elevation = 1400.0, .temperature_offset = offset, .pressure_offset = -730.0};
        gsl_odeiv2_system system = {.function = hydrostatic, .dimension = 1, .params = &offset};
        gsl_odeiv2_driver *driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1.0, 1e-12, 0.0);
        double z = 1400.0, log_pressure = log(rc_atmosphere_standard(1400.0).pressure - 730.0);
        for (double height = 0.0; height <= 24000.0; height += 400.0) {
            assert_int_equal(gsl_odeiv2_driver_apply(driver, &z, fmax(1400.0 + height, z), &log_pressure), GSL_SUCCESS);
            struct rc_air air;
            rc_atmosphere_profile(&site, &height, 1, &air);
            assert_ratio(air.pressure, exp(log_pressure), 1e-8);
            assert_ratio(air.temperature, referee_temperature(1400.0 + height) + offset, 1e-9);
            assert_ratio(air.density, air.pressure * 28.9644 / (8314.32 * air.temperature), 1e-12);
            assert_ratio(air.sound_speed, sqrt(1.4 * 8314.32 / 28.9644 * air.temperature), 1e-12);
        }
        gsl_odeiv2_driver_free(driver);
    }
}

/* Why it is integrated: scaling the standard pressure by the pad's ratio is wrong by tens of metres of pressure height. */
static void test_atmosphere__plain_scaling_would_be_metres_off(void **state)
{
    (void)state;
    const struct rc_site_design site = {.temperature_offset = 15.0};
    const double height = 4000.0;
    struct rc_air air;
    rc_atmosphere_profile(&site, &height, 1, &air);
    const double scaled = rc_atmosphere_standard(4000.0).pressure;
    const double metres = (air.pressure - scaled) / (air.density * rc_atmosphere_gravity(4000.0));
    assert_true(metres > 150.0 && metres < 300.0);
}

static void test_atmosphere__outside_the_range_the_ends_hold(void **state)
{
    (void)state;
    assert_near(rc_atmosphere_standard(2e5).pressure, rc_atmosphere_standard(86000.0).pressure, 0.0);
    assert_near(rc_atmosphere_standard(-9e3).pressure, rc_atmosphere_standard(-5000.0).pressure, 0.0);
    /* source USSA 1976 main table: 1.7776e5 Pa, 320.68 K at -5000 m [memory] */
    assert_ratio(rc_atmosphere_standard(-5000.0).pressure, 1.7776e5, 1e-4);
    assert_ratio(rc_atmosphere_standard(-5000.0).temperature, 320.676, 1e-4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_atmosphere__standard_meets_published_digits),
        cmocka_unit_test(test_atmosphere__layer_bases_have_published_pressure),
        cmocka_unit_test(test_atmosphere__gravity_falls_with_the_square),
        cmocka_unit_test(test_atmosphere__profile_without_offsets_is_the_standard),
        cmocka_unit_test(test_atmosphere__offset_profile_is_hydrostatic),
        cmocka_unit_test(test_atmosphere__plain_scaling_would_be_metres_off),
        cmocka_unit_test(test_atmosphere__outside_the_range_the_ends_hold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
