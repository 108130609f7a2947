/* Fins against published closed forms and tables, a Fourier solution of slender-body theory, and supersonic linear theory solved
 * numerically. Where a value is met only roughly, the test asserts the error reached and says why; nothing was tuned to them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <gsl/gsl_fft_complex.h>

#include "flight/fins.h"
#include "mach_box.h"
#include "near.h"
#include "support/reference.h"

static const double PI = 3.14159265358979323846;

/* The worked set of fin_roll_worked_example.csv, and the Army-Navy Basic Finner's fins with d = 1. */
static const struct rc_fin_set WORKED = {.root_chord = 0.2, .tip_chord = 0.08, .span = 0.1, .sweep = 0.12, .root_radius = 0.05};
static const struct rc_fin_set FINNER = {.root_chord = 1.0, .tip_chord = 1.0, .span = 1.0, .station = 9.0, .root_radius = 0.5};

/* A value of the worked set by name. */
static double worked(const char *quantity)
{
    struct reference *table = reference_open("fin_roll_worked_example.csv");
    double value = NAN;
    for (int row = 0; row < reference_rows(table); row++) {
        if (strcmp(reference_text(table, row, "quantity"), quantity) == 0)
            value = reference_number(table, row, "value");
    }
    reference_close(table);
    if (isnan(value))
        fail_msg("no row %s in fin_roll_worked_example.csv", quantity);
    return value;
}

/* source Barrowman 1967 (integrals exact for a trapezoid) [computed] */
static void test_fins__planform_integrals_are_exact(void **state)
{
    (void)state;
    const struct rc_fins_planform plan = rc_fins_planform_of(&WORKED);
    assert_ratio(plan.area, worked("fin_area"), 1e-7);
    assert_ratio(plan.aspect_ratio, worked("AR_mirrored"), 1e-7);
    assert_ratio(acos(plan.cos_midchord) * 180.0 / PI, worked("midchord_sweep"), 1e-7);
    assert_ratio(plan.first, worked("I1_int_c_r"), 1e-7);
    assert_ratio(plan.second, worked("I2_int_c_r2"), 1e-7);
    assert_ratio(plan.mean_radius, worked("Y_MAC_from_axis"), 1e-7);
    assert_ratio(plan.first / plan.second, worked("steady_p_over_V_delta_strip"), 1e-7);
}

/* source NACA Report 1307, Pitts, Nielsen, Kaattari 1957 [memory; recomputed]: factors at body over tip radius 1/3, their sum
 * rule, and the ends K_W(B) = 1 without body, 2 with a body that is wide against the fins */
static void test_fins__interference_meets_report_1307(void **state)
{
    (void)state;
    const struct rc_fins_interference third = rc_fins_interference_at(1.0 / 3.0);
    assert_ratio(third.fin_incidence, worked("K_W(B)_R1307"), 1e-7);
    assert_ratio(third.body_incidence, worked("K_B(W)_R1307"), 1e-7);
    assert_ratio(third.fin_cant, worked("k_W(B)_R1307"), 1e-7);
    assert_ratio(third.body_cant, worked("k_B(W)_R1307"), 1e-6);
    for (double t = 0.05; t < 0.95; t += 0.05) {
        const struct rc_fins_interference k = rc_fins_interference_at(t);
        assert_ratio(k.fin_incidence + k.body_incidence, (1.0 + t) * (1.0 + t), 1e-12);
        assert_ratio(k.fin_cant + k.body_cant, k.fin_incidence, 1e-12);
        assert_true(k.fin_cant < k.fin_incidence && k.body_cant > 0.0);
    }
    assert_ratio(rc_fins_interference_at(0.0).fin_incidence, 1.0, 1e-3);
    assert_ratio(rc_fins_interference_at(0.0).fin_cant, 1.0, 1e-3);
    assert_ratio(rc_fins_interference_at(0.995).fin_incidence, 2.0, 1e-2);
}

/* source slender_nfin_roll.csv: Fourier solution, which meets planar and cruciform values of NACA TN 2270 [computed]; its own
 * sums are converged to about 4e-5 */
static void test_fins__slender_roll_meets_the_table(void **state)
{
    (void)state;
    struct reference *table = reference_open("slender_nfin_roll.csv");
    for (int row = 0; row < reference_rows(table); row++) {
        const struct rc_fins_slender star =
            rc_fins_slender_at((int)reference_number(table, row, "N"), reference_number(table, row, "a_over_s"));
        assert_ratio(star.damping, reference_number(table, row, "CI"), 1.5e-4);
        assert_ratio(star.forcing, reference_number(table, row, "CD"), 1.5e-4);
    }
    assert_true(reference_rows(table) > 50);
    reference_close(table);
}

/* C_I and C_D of n fins at body radius t anew: cosine coefficients a_k, b_k of r^2/2 and r over one period of the mapped circle,
 * r^(n/2) + t^n r^(-n/2) = (1 + t^n) |cos(n theta/2)|, r = t on the body; pi n times the sums of k a_k^2, k a_k b_k. */
static void fourier_roll(int n, double t, double *damping, double *forcing)
{
    enum { POINTS = 1 << 16 };
    double *wave = malloc(2 * POINTS * sizeof *wave); /* a in the real part, b in the imaginary: both are even */
    for (int point = 0; point < POINTS; point++) {
        const double size = (1.0 + pow(t, n)) * fabs(cos(PI * point / POINTS));
        const double root = sqrt(fmax(size * size - 4.0 * pow(t, n), 0.0));
        const double r = fmax(pow(fmax(0.5 * (size + root), 0.0), 2.0 / n), t);
        wave[2 * point] = 0.5 * r * r;
        wave[2 * point + 1] = r;
    }
    gsl_fft_complex_radix2_forward(wave, 1, POINTS);
    *damping = *forcing = 0.0;
    for (int k = 1; k < POINTS / 4; k++) {
        const double a = 2.0 * wave[2 * k] / POINTS, b = 2.0 * wave[2 * k + 1] / POINTS;
        *damping += PI * n * k * a * a;
        *forcing += PI * n * k * a * b;
    }
    free(wave);
}

static void test_fins__slender_roll_between_knots_meets_the_fourier_solution(void **state)
{
    (void)state;
    for (int n = 1; n <= RC_MAX_FINS; n++) {
        for (double t = 0.125; t < 0.9; t += 0.075) {
            double damping, forcing;
            fourier_roll(n, t, &damping, &forcing);
            const struct rc_fins_slender star = rc_fins_slender_at(n, t);
            assert_ratio(star.damping, damping, 1e-3);
            assert_ratio(star.forcing, forcing, 1e-3);
        }
    }
}

/* Two fins without body as a wing: aspect ratio, and roll damping on its own area and span. */
static double planar_aspect(const struct rc_fin_set *set)
{
    return rc_fins_planform_of(set).aspect_ratio;
}

static double planar_damping(const struct rc_fin_set *set, double mach)
{
    const double area = 2.0 * rc_fins_planform_of(set).area, wingspan = 2.0 * set->span;
    return rc_fins_coefficients_at(set, 2, 1.0, mach).cl_p * (PI / 4.0) / (area * wingspan * wingspan);
}

/* source NACA TN 2270 (Adams 1951): cruciform damping 62 % above planar [abstract]; Jones, NACA Report 835: planar triangle
 * -pi A/32; closed forms pi/8, 2/3, 2/pi [computed] */
static void test_fins__slender_roll_meets_closed_forms(void **state)
{
    (void)state;
    assert_ratio(rc_fins_slender_at(2, 0.0).damping, PI / 8.0, 1e-6);
    assert_ratio(rc_fins_slender_at(2, 0.0).forcing, 2.0 / 3.0, 1e-6);
    assert_ratio(rc_fins_slender_at(4, 0.0).damping, 2.0 / PI, 1e-6);
    assert_ratio(rc_fins_slender_at(4, 0.0).damping / rc_fins_slender_at(2, 0.0).damping, 1.62, 2e-3);

    /* Any planform whose greatest span is at its trailing edge has the triangle's value, from subsonic to supersonic speed. */
    const struct rc_fin_set rectangle = {.root_chord = 40.0, .tip_chord = 40.0, .span = 1.0, .root_radius = 0.0};
    for (double mach = 0.2; mach < 1.5; mach += 0.2)
        assert_ratio(planar_damping(&rectangle, mach), -PI * planar_aspect(&rectangle) / 32.0, 0.01);
    /* The triangle itself has it at Mach 1. Below, Diederich's term in the mid-chord sweep, which for triangles stays finite
     * as the aspect ratio goes to zero, keeps it up to 11 % low at low Mach numbers: a known fault of that form. */
    const struct rc_fin_set triangle = {.root_chord = 20.0, .span = 1.0, .sweep = 20.0, .root_radius = 0.0};
    assert_ratio(planar_damping(&triangle, 1.0), -PI * planar_aspect(&triangle) / 32.0, 1e-4);
    assert_ratio(planar_damping(&triangle, 1.3), -PI * planar_aspect(&triangle) / 32.0, 0.01);
    assert_ratio(planar_damping(&triangle, 0.2), -PI * planar_aspect(&triangle) / 32.0, 0.11);
}

/* source slender-body added mass pi rho (s^2 - a^2)^2/s^2, planar and cruciform alike (Report 1307); six fins without body by the
 * same map of z^n: 2 x 4^(-2/6) of planar [computed] */
static void test_fins__slender_normal_force_knows_the_crowding_of_fins(void **state)
{
    (void)state;
    for (double t = 0.0; t < 0.95; t += 0.1)
        assert_ratio(rc_fins_slender_at(4, t).normal, (1.0 + t) * (1.0 + t), 1e-12);
    assert_ratio(rc_fins_slender_at(3, 0.0).normal, 8.0 / 3.0 * pow(2.0, -4.0 / 3.0), 1e-12); /* by hand 1.058267 */
    assert_ratio(rc_fins_slender_at(6, 0.0).normal, 2.0 * pow(4.0, -2.0 / 6.0) * 4.0 / 6.0, 1e-12);
    assert_ratio(rc_fins_slender_at(8, 0.999).normal, 4.0, 0.01);
    for (int n = 4; n < RC_MAX_FINS; n++) {
        assert_true(rc_fins_slender_at(n + 1, 0.3).normal < rc_fins_slender_at(n, 0.3).normal);
        assert_true((n + 1) * rc_fins_slender_at(n + 1, 0.3).normal > n * rc_fins_slender_at(n, 0.3).normal);
    }
}

/* Free of a body every strip has the same slope a: rolling, a y each, over d squared twice a d/2V. By hand, of four fins of 0.2 m x
 * 0.1 m from 0.05 m on: the area's mean of y is 0.1 m, of y squared 0.0325/3 m2. */
static void test_fins__free_fins_are_strips_of_one_slope(void **state)
{
    (void)state;
    const struct rc_fin_set set = {.root_chord = 0.2, .tip_chord = 0.2, .span = 0.1, .root_radius = 0.05, .station = 1.0, .thickness = 0.002};
    for (double mach = 0.3; mach < 4.0; mach += 0.9) {
        const struct rc_fins_coefficients fins = rc_fins_free_at(&set, 4, 0.1, mach);
        assert_ratio(fins.normal, 2.0 * fins.slope_one, 1e-12);
        assert_ratio(fins.cl_delta, 4.0 * fins.slope_one, 1e-9);
        assert_ratio(fins.cl_p, -8.0 * fins.slope_one * (0.0325 / 3.0) / 0.01, 1e-9);
    }
}

/* Past the joint fins are alone with the body: n/2 panels times Report 1307's (1 + t)^2. */
static void test_fins__parted_fins_do_not_crowd(void **state)
{
    (void)state;
    const struct rc_fins_coefficients eight = rc_fins_coefficients_at(&WORKED, 8, 0.1, 4.5);
    assert_ratio(eight.normal, 4.0 * eight.slope_one * 16.0 / 9.0, 1e-12);
    const struct rc_fins_coefficients sonic = rc_fins_coefficients_at(&WORKED, 8, 0.1, 1.0);
    assert_ratio(sonic.normal, 4.0 * sonic.slope_one * rc_fins_slender_at(8, 1.0 / 3.0).normal, 1e-12);
}

/* source Diederich, NACA TN 2335, on the worked set [memory; computed] */
static void test_fins__subsonic_slope_is_diederichs(void **state)
{
    (void)state;
    assert_ratio(rc_fins_coefficients_at(&WORKED, 4, 0.1, 0.3).slope_one, worked("M0.3_CNalpha_one_fin_Aref"), 1e-7);
    assert_ratio(rc_fins_coefficients_at(&WORKED, 4, 0.1, 0.8).slope_one, worked("M0.8_CNalpha_one_fin_Aref"), 1e-7);
    /* The table's set of four uses Barrowman's K_T(B) = 4/3; ours is Report 1307's (1 + t)^2 = 16/9, as carry-over is
     * included. */
    assert_ratio(rc_fins_coefficients_at(&WORKED, 4, 0.1, 0.3).normal, worked("M0.3_N4_CNalpha_fins_with_KTB") * 4.0 / 3.0, 1e-7);
}

/* source own vortex lattice of fins and body image, 1 to 1.5 % [computed]: met within 3.5 %. Strip theory with the same slope,
 * for comparison in the table, is 1.56 and 1.60 times the lattice and is therefore not what is used. */
static void test_fins__subsonic_roll_meets_the_lattice(void **state)
{
    (void)state;
    const struct rc_fins_coefficients four = rc_fins_coefficients_at(&WORKED, 4, 0.1, 0.3);
    const struct rc_fins_coefficients three = rc_fins_coefficients_at(&WORKED, 3, 0.1, 0.3);
    assert_ratio(four.cl_delta, worked("M0.3_N4_Cldelta_vortex_lattice"), 0.035);
    assert_ratio(four.cl_p, worked("M0.3_N4_Clp_vortex_lattice"), 0.035);
    assert_ratio(three.cl_delta, worked("M0.3_N3_Cldelta_vortex_lattice"), 0.035);
    assert_ratio(three.cl_p, worked("M0.3_N3_Clp_vortex_lattice"), 0.035);
    assert_ratio(four.cl_delta, worked("M0.3_N4_Cldelta_strip") / 1.56, 0.05);
    const struct rc_fins_coefficients sonic = rc_fins_coefficients_at(&WORKED, 4, 0.1, 1.0);
    assert_ratio(sonic.cl_delta, worked("slender_N4_Cldelta"), 2e-4);
    assert_ratio(sonic.cl_p, worked("slender_N4_Clp"), 2e-4);
}

/* source elliptic wing: lifting line -(a0/8) A/(A + 2 a0/pi) as A grows; Swanson and Priddy, NACA ARR L5F23 (1945): -0.410 at
 * A = 6 [found]. A straight-tapered wing of taper 0.4 stands for the ellipse, which costs some percent. */
static void test_fins__planar_wing_damping_approaches_the_lifting_surface(void **state)
{
    (void)state;
    const struct rc_fin_set wing = {.root_chord = 2.0 / 4.2, .tip_chord = 0.8 / 4.2, .span = 1.0, .sweep = 0.6 / 4.2};
    assert_ratio(planar_aspect(&wing), 6.0, 1e-9);
    const double cl_p = planar_damping(&wing, 0.0);
    printf("planar wing A = 6: Clp %.4f against -0.410 (%+.1f %%)\n", cl_p, 100.0 * (cl_p / -0.40997784 - 1.0));
    assert_ratio(cl_p, -0.40997784, 0.06);
}

/* source Harmon, NACA Report 925: rectangular wing in supersonic linear theory [memory; recomputed]. Lift exact from the joint
 * on. Damping by strips takes the tip cone's loss at the local incidence, where the upstream, more inboard one counts: high by
 * 8 % at beta A = 4, less beyond; below 4 two fins without body are not yet past their joint. */
static void test_fins__rectangle_meets_supersonic_linear_theory(void **state)
{
    (void)state;
    struct reference *table = reference_open("roll_linear_theory.csv");
    int n_lift = 0, n_roll = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        double product;
        if (sscanf(reference_text(table, row, "parameter"), "beta*A=%lf", &product) != 1)
            continue;
        const double value = reference_number(table, row, "value"), aspect = 1.0, span = 0.5 * aspect;
        const struct rc_fin_set wing = {.root_chord = 1.0, .tip_chord = 1.0, .span = span, .root_radius = 0.0};
        const double beta = product / aspect;
        const struct rc_fins_coefficients fins = rc_fins_coefficients_at(&wing, 2, 1.0, sqrt(1.0 + beta * beta));
        if (strstr(reference_text(table, row, "case"), "lift")) {
            assert_ratio(beta * fins.slope_one * (PI / 4.0) / span, value, 2e-3);
            n_lift++;
        } else if (product >= 4.0) {
            const double got = beta * planar_damping(&wing, sqrt(1.0 + beta * beta));
            printf("rectangle, beta A = %g: beta Clp %.4f against %.4f (%+.1f %%)\n", product, got, value,
                   100.0 * (got / value - 1.0));
            assert_ratio(got, value, product < 5.0 ? 0.08 : 0.05);
            n_roll++;
        }
    }
    reference_close(table);
    assert_int_equal(n_lift, 3);
    assert_int_equal(n_roll, 3);
}

/* source supersonic linear theory solved with boxes along the Mach lines, here; itself first held to the table's Basic Finner
 * values */
static void test_fins__swept_panels_meet_linear_theory_solved_numerically(void **state)
{
    (void)state;
    const struct mach_box finner = mach_box_solve(&FINNER, 1.5, 140);
    assert_ratio(-8.0 * finner.second / (PI / 4.0), -24.7782, 0.01);
    assert_ratio(4.0 * finner.first / (PI / 4.0), 13.0206, 0.01);

    static const struct rc_fin_set sets[] = {
        {.root_chord = 0.2, .tip_chord = 0.08, .span = 0.1, .sweep = 0.12, .root_radius = 0.05},
        {.root_chord = 0.2, .tip_chord = 0.1, .span = 0.1, .sweep = 0.05, .root_radius = 0.05},
        {.root_chord = 0.25, .tip_chord = 0.1, .span = 0.1, .sweep = 0.15, .root_radius = 0.05},
        {.root_chord = 0.3, .tip_chord = 0.15, .span = 0.1, .sweep = 0.15, .root_radius = 0.05},
        {.root_chord = 0.04, .tip_chord = 0.02, .span = 0.015, .sweep = 0.02, .root_radius = 0.05},
    };
    /* a triangle with subsonic leading edge, where strips alone would give 1.32 times as much */
    const struct rc_fin_set triangle = {.root_chord = 0.2, .span = 0.1, .sweep = 0.2, .root_radius = 0.05};
    const struct rc_fins_coefficients delta = rc_fins_coefficients_at(&triangle, 2, 0.1, 1.6);
    assert_ratio(delta.slope_one * PI * 0.0025, mach_box_solve(&triangle, 1.6, 120).lift, 0.06);
    double worst_lift = 0.0, worst_roll = 0.0;
    for (int which = 0; which < 5; which++) {
        for (double mach = 1.4; mach < 3.1; mach += 0.2) {
            const struct rc_fins_coefficients fins = rc_fins_coefficients_at(&sets[which], 2, 0.1, mach);
            const struct mach_box box = mach_box_solve(&sets[which], mach, 120);
            const double area = PI * 0.0025;
            if (sqrt(mach * mach - 1.0) * rc_fins_planform_of(&sets[which]).aspect_ratio > 1.0)
                worst_lift = fmax(worst_lift, fabs(fins.slope_one * area / box.lift - 1.0));
            if (mach < 1.9) /* two fins: past every joint from here on */
                continue;
            worst_roll = fmax(worst_roll, fabs(fins.cl_delta * area * 0.1 / (2.0 * box.first) - 1.0));
            worst_roll = fmax(worst_roll, fabs(fins.cl_p * area * 0.01 / (-4.0 * box.second) - 1.0));
        }
    }
    printf("swept panels: lift within %.1f %%, roll within %.1f %%\n", 100.0 * worst_lift, 100.0 * worst_roll);
    assert_true(worst_lift < 0.13);
    assert_true(worst_roll < 0.06);
}

/* source basic_finner_roll.csv: own lattice below Mach 1, linear theory of the panel and the same times a wedge-thickness factor
 * above [computed]. Measured tables (NAVORD 6652 and others) were not at hand. Gate: 25 % of the wedge column, 15 % of -16.8. */
static void test_fins__basic_finner_damping_is_within_the_stated_error(void **state)
{
    (void)state;
    struct reference *table = reference_open("basic_finner_roll.csv");
    double subsonic = 0.0, panel = 0.0, wedge = 0.0, forcing = 0.0;
    for (int row = 0; row < reference_rows(table); row++) {
        char *rest;
        const double mach = strtod(reference_text(table, row, "Mach"), &rest);
        if (*rest != '\0' || reference_text(table, row, "Clp_3D")[0] == '\0')
            continue;
        const struct rc_fins_coefficients fins = rc_fins_coefficients_at(&FINNER, 4, 1.0, mach);
        const double clp = reference_number(table, row, "Clp_3D"), error = fins.cl_p / clp - 1.0;
        forcing = fmax(forcing, fabs(fins.cl_delta / reference_number(table, row, "Cldelta_3D") - 1.0));
        printf("Basic Finner, Mach %.2f: Clp %.2f against %.2f (%+.1f %%)\n", mach, fins.cl_p, clp, 100.0 * error);
        if (mach < 1.0) {
            subsonic = fmax(subsonic, fmax(fabs(error), fabs(fins.cl_p / -16.8 - 1.0)));
            continue;
        }
        panel = fmax(panel, fabs(error));
        if (mach <= 4.0)
            wedge = fmax(wedge, fabs(fins.cl_p / reference_number(table, row, "Clp_3D_with_wedge_thickness") - 1.0));
    }
    reference_close(table);
    printf("Basic Finner: subsonic %.1f %%, panel %.1f %%, wedge column %.1f %%, forcing %.1f %%\n", 100.0 * subsonic,
           100.0 * panel, 100.0 * wedge, 100.0 * forcing);
    assert_true(subsonic < 0.055); /* gate 0.15 */
    assert_true(panel < 0.05);
    assert_true(wedge < 0.16);     /* gate 0.25; section thickness is not modelled and is what is missing at Mach 4 */
    assert_true(forcing < 0.035);
}

/* source range and tunnel firings of the Basic Finner (NAVORD Report 6652, AEDC-TR-76-58) as recalled, memory of low confidence: 15 %
 * either way, the rows of basic_finner_roll.csv marked so. A loose check of sign and size by measurement, not of the method's error. */
static void test_fins__basic_finner_damping_is_near_what_was_measured(void **state)
{
    (void)state;
    static const double measured[][2] = {{1.58, -24.0}, {1.96, -20.5}, {2.49, -17.0}};
    for (size_t i = 0; i < sizeof measured / sizeof measured[0]; i++) {
        const struct rc_fins_coefficients fins = rc_fins_coefficients_at(&FINNER, 4, 1.0, measured[i][0]);
        const double error = fins.cl_p / measured[i][1] - 1.0;
        printf("Basic Finner, Mach %.2f: Clp %.2f against %.1f recalled (%+.1f %%)\n", measured[i][0], fins.cl_p, measured[i][1],
               100.0 * error);
        assert_true(fabs(error) < 0.15);
    }
}

/* source Barrowman 1967 and linear theory: the force stands at a quarter of the mean chord below Mach 1, at (B - 0.67)/(2B - 1)
 * of it above, near half at high Mach numbers [memory] */
static void test_fins__centre_of_pressure_moves_from_quarter_to_half_chord(void **state)
{
    (void)state;
    assert_near(rc_fins_coefficients_at(&FINNER, 4, 1.0, 0.5).station, 9.25, 1e-12);
    assert_near(rc_fins_coefficients_at(&FINNER, 4, 1.0, sqrt(2.0)).station, 9.0 + (2.0 - 0.67) / 3.0, 1e-12);
    assert_near(rc_fins_coefficients_at(&FINNER, 4, 1.0, 20.0).station, 9.5, 0.005);
}

/* A set's whole change over a small step of Mach is small everywhere: no jump, no pole at Mach 1 or at any joint. */
static void test_fins__coefficients_have_no_jump_over_mach(void **state)
{
    (void)state;
    const struct rc_fin_set sets[] = {
        WORKED, FINNER,
        {.root_chord = 0.05, .tip_chord = 0.04, .span = 0.012, .sweep = 0.01, .root_radius = 0.05},
        {.root_chord = 0.1, .tip_chord = 0.05, .span = 0.15, .sweep = 0.05, .root_radius = 0.05},
    };
    for (int which = 0; which < 4; which++) {
        for (int n = 1; n <= RC_MAX_FINS; n++) {
            struct rc_fins_coefficients before = rc_fins_coefficients_at(&sets[which], n, 0.1, 0.0);
            for (int step = 1; step < 5000; step++) {
                const struct rc_fins_coefficients fins = rc_fins_coefficients_at(&sets[which], n, 0.1, step * 0.001);
                assert_ratio(fins.slope_one, before.slope_one, 0.008);
                assert_ratio(fins.normal, before.normal, 0.008);
                assert_ratio(fins.cl_p, before.cl_p, 0.008);
                assert_ratio(fins.cl_delta, before.cl_delta, 0.008);
                /* steepest where beta A = 1: 0.34 A^2 mach = 5.6 mean chords per unit of Mach at aspect ratio 4 */
                assert_near(fins.station, before.station, 0.0057 * rc_fins_planform_of(&sets[which]).mean_chord);
                before = fins;
            }
        }
    }
}

/* Whatever trapezoid is asked for, numbers stay finite and of the right sign. */
static void test_fins__any_trapezoid_gives_sane_numbers(void **state)
{
    (void)state;
    /* pointed, swept forward and short: the tip's cone takes more than there is, and a floor must hold */
    const struct rc_fin_set forward = {.root_chord = 0.29, .span = 0.021, .sweep = -0.058, .root_radius = 0.037};
    assert_true(rc_fins_coefficients_at(&forward, 4, 0.074, 3.1).slope_one > 0.0);
    assert_true(rc_fins_coefficients_at(&forward, 4, 0.074, 3.1).cl_p < 0.0);
    uint64_t word = 12345;
    for (int round = 0; round < 20000; round++) {
        double u[6];
        for (int draw = 0; draw < 6; draw++) {
            word = word * 6364136223846793005ULL + 1442695040888963407ULL;
            u[draw] = (double)(word >> 11) / 9007199254740992.0;
        }
        const double root = 0.01 + 0.5 * u[0];
        const struct rc_fin_set set = {.root_chord = root, .tip_chord = round % 5 == 0 ? 0.0 : 1.5 * root * u[1],
                                       .span = 0.005 + 0.4 * u[2], .sweep = root * (2.2 * u[3] - 0.2),
                                       .root_radius = 0.01 + 0.2 * u[4]};
        const double mach = round % 9 == 0 ? 1.0 : 6.0 * u[5];
        const struct rc_fins_coefficients fins = rc_fins_coefficients_at(&set, 1 + round % RC_MAX_FINS, 0.1, mach);
        assert_true(isfinite(fins.station) && isfinite(fins.cl_p) && isfinite(fins.cl_delta));
        assert_true(fins.slope_one > 0.0 && fins.normal > 0.0 && fins.own > 0.0 && fins.cl_delta > 0.0 && fins.cl_p < 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fins__planform_integrals_are_exact),
        cmocka_unit_test(test_fins__interference_meets_report_1307),
        cmocka_unit_test(test_fins__slender_roll_meets_the_table),
        cmocka_unit_test(test_fins__slender_roll_between_knots_meets_the_fourier_solution),
        cmocka_unit_test(test_fins__slender_roll_meets_closed_forms),
        cmocka_unit_test(test_fins__slender_normal_force_knows_the_crowding_of_fins),
        cmocka_unit_test(test_fins__parted_fins_do_not_crowd),
        cmocka_unit_test(test_fins__free_fins_are_strips_of_one_slope),
        cmocka_unit_test(test_fins__subsonic_slope_is_diederichs),
        cmocka_unit_test(test_fins__subsonic_roll_meets_the_lattice),
        cmocka_unit_test(test_fins__planar_wing_damping_approaches_the_lifting_surface),
        cmocka_unit_test(test_fins__rectangle_meets_supersonic_linear_theory),
        cmocka_unit_test(test_fins__swept_panels_meet_linear_theory_solved_numerically),
        cmocka_unit_test(test_fins__basic_finner_damping_is_within_the_stated_error),
        cmocka_unit_test(test_fins__basic_finner_damping_is_near_what_was_measured),
        cmocka_unit_test(test_fins__centre_of_pressure_moves_from_quarter_to_half_chord),
        cmocka_unit_test(test_fins__coefficients_have_no_jump_over_mach),
        cmocka_unit_test(test_fins__any_trapezoid_gives_sane_numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
