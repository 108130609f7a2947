/* Pitch damping against what it is not made of: slender-body theory with its apparent mass integrated along the body, and unsteady
 * supersonic linear theory of the fins solved numerically. All here is the whole damping of a slow plane swing, q and growing incidence. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>
#include <gsl/gsl_integration.h>

#include "flight/aero.h"
#include "flight/body.h"
#include "flight/fins.h"
#include "mach_box.h"
#include "near.h"

static const double PI = 3.14159265358979323846;

struct vehicle {
    const char *name;
    struct rc_vehicle_design design;
    struct rc_layout layout;
    double cm;
};

/* The demonstration campaigns' vehicle half burnt, the Basic Finner about 6.1 diameters, and one whose body changes its width. */
static const struct vehicle VEHICLES[] = {
    {"Lapwing",
     {.diameter = 0.098, .length = 2.35, .nose_length = 0.49,
      .fins = {{.root_chord = 0.2, .tip_chord = 0.08, .span = 0.1, .sweep = 0.12, .station = 2.14, .root_radius = 0.049}}},
     {.n_fin_sets = 1, .n_fins = {4}, .nose_shape = RC_NOSE_OGIVE}, 1.55},
    {"Basic Finner",
     {.diameter = 1.0, .length = 10.0, .nose_length = 2.84,
      .fins = {{.root_chord = 1.0, .tip_chord = 1.0, .span = 1.0, .station = 9.0, .root_radius = 0.5}}},
     {.n_fin_sets = 1, .n_fins = {4}, .nose_shape = RC_NOSE_CONE}, 6.1},
    {"with a transition and a boat-tail",
     {.diameter = 0.08, .length = 2.0, .nose_length = 0.35,
      .sections = {{.station = 0.8, .length = 0.12, .fore_diameter = 0.08, .aft_diameter = 0.1},
                   {.station = 1.85, .length = 0.15, .fore_diameter = 0.1, .aft_diameter = 0.07}},
      .fins = {{.root_chord = 0.2, .tip_chord = 0.08, .span = 0.1, .sweep = 0.12, .station = 1.64, .root_radius = 0.05}}},
     {.n_fin_sets = 1, .n_fins = {4}, .nose_shape = RC_NOSE_VON_KARMAN, .n_sections = 2}, 1.2},
};
enum { N_VEHICLES = sizeof VEHICLES / sizeof VEHICLES[0] };

static double damping_at(const struct rc_aero_point *point, double cm)
{
    return point->damp[0] + cm * (point->damp[1] + cm * point->damp[2]);
}

/* What the model says, body and fins apart. */
static void model_damping(const struct vehicle *vehicle, double mach, double *body, double *fins)
{
    struct rc_aero_point all, bare;
    struct rc_layout no_fins = vehicle->layout;
    no_fins.n_fin_sets = 0;
    rc_aero_point_at(&vehicle->design, &vehicle->layout, mach, &all);
    rc_aero_point_at(&vehicle->design, &no_fins, mach, &bare);
    *body = damping_at(&bare, vehicle->cm);
    *fins = damping_at(&all, vehicle->cm) - *body;
}

/* ---- body ---- */

static double area_at(const struct vehicle *vehicle, double x)
{
    const struct rc_vehicle_design *const v = &vehicle->design;
    double radius = rc_body_radius_at(v, &vehicle->layout, x);
    if (x < v->nose_length) {
        const double l = v->nose_length, r = 0.5 * v->diameter, rho = (r * r + l * l) / (2.0 * r), t = acos(1.0 - 2.0 * x / l);
        radius = vehicle->layout.nose_shape == RC_NOSE_CONE ? r * x / l
            : vehicle->layout.nose_shape == RC_NOSE_OGIVE   ? sqrt(rho * rho - (l - x) * (l - x)) + r - rho
                                                            : r * sqrt((t - 0.5 * sin(2.0 * t)) / PI);
    }
    return PI * radius * radius;
}

/* Moment of the momentum that the air takes up along the body, over density, V and the rate. A cross-section of area A meets the air at w
 * and gives it the momentum A w per length: the force is -d(A w)/dt + V d(A w)/dx. Turning: w = l, l from the centre of mass; by parts
 * the force's moment has A l^2 at the base less the integral of A l. Growing incidence: w is the same everywhere and the moment is
 * that integral. */
static double lever_of_area(double x, void *user)
{
    const struct vehicle *const vehicle = user;
    return area_at(vehicle, x) * (x - vehicle->cm);
}

static double integral_to(const struct vehicle *vehicle, double end)
{
    gsl_integration_workspace *const space = gsl_integration_workspace_alloc(400);
    const gsl_function function = {lever_of_area, (void *)vehicle};
    const struct rc_vehicle_design *const v = &vehicle->design;
    double stops[8] = {0.0, v->nose_length}, sum = 0.0;
    int n = 2;
    for (int i = 0; i < vehicle->layout.n_sections; i++) {
        stops[n++] = v->sections[i].station;
        stops[n++] = v->sections[i].station + v->sections[i].length;
    }
    stops[n++] = end;
    for (int i = 0; i + 1 < n; i++) {
        double part, error;
        if (stops[i + 1] > stops[i])
            gsl_integration_qag(&function, stops[i], stops[i + 1], 0.0, 1e-9, 400, GSL_INTEG_GAUSS21, space, &part, &error);
        sum += stops[i + 1] > stops[i] ? part : 0.0;
    }
    gsl_integration_workspace_free(space);
    return sum;
}

/* source slender-body theory, apparent mass of circles by GSL's quadrature. What the model leaves to the base is the sum of both
 * parts; the quasi-steady nose alone would be up to 2.7 times that. */
static void test_pitch_damping__body_is_its_apparent_mass(void **state)
{
    (void)state;
    for (int i = 0; i < N_VEHICLES; i++) {
        const struct vehicle *const vehicle = &VEHICLES[i];
        const double d = vehicle->design.diameter, end = vehicle->design.length, lever = end - vehicle->cm;
        const double unit = -4.0 / (0.25 * PI * d * d * d * d), along = integral_to(vehicle, end);
        const double turning = unit * (area_at(vehicle, end) * lever * lever - along), growing = unit * along;
        const double nose = (vehicle->cm - rc_body_nose(&vehicle->design, vehicle->layout.nose_shape).station) / d;
        double body, fins;
        model_damping(vehicle, 2.0, &body, &fins);
        print_message("%s: body %.1f, by turning %.1f and by growing incidence %.1f; quasi-steady nose %.1f\n", vehicle->name, body,
                      turning, growing, -4.0 * nose * nose);
        assert_ratio(body, turning + growing, 1e-6);
    }
}

/* ---- fins ---- */

/* source slender-body theory: at Mach 1, where linear theory is that for any thin fin, all of a fin's momentum leaves at its trailing edge */
static void test_pitch_damping__fins_at_mach_one_are_slender(void **state)
{
    (void)state;
    for (int i = 0; i < N_VEHICLES; i++) {
        const struct vehicle *const vehicle = &VEHICLES[i];
        const struct rc_fin_set *const fin = &vehicle->design.fins[0];
        const double lever = (fin->station + fin->root_chord - vehicle->cm) / vehicle->design.diameter;
        double body, fins;
        model_damping(vehicle, 1.0, &body, &fins);
        assert_ratio(fins, -2.0 * rc_fins_coefficients_at(fin, 4, vehicle->design.diameter, 1.0).normal * lever * lever, 1e-9);
    }
}

/* source unsteady supersonic linear theory to first order in the rate, solved by boxes (mach_box.h), on the panel with R1307's carry-over, and
 * slender-body theory for the body */
static void test_pitch_damping__supersonic_fins_meet_unsteady_linear_theory(void **state)
{
    (void)state;
    for (int i = 0; i < 2; i++) {
        const struct vehicle *const vehicle = &VEHICLES[i];
        const struct rc_fin_set *const fin = &vehicle->design.fins[0];
        const double d = vehicle->design.diameter, t = fin->root_radius / (fin->root_radius + fin->span);
        const double unit = -2.0 * 2.0 * (1.0 + t) * (1.0 + t) / (0.25 * PI * d * d * d * d), l = fin->station - vehicle->cm;
        for (double mach = 1.5; mach < 4.1; mach += 0.5) {
            const struct mach_box_pitch box = mach_box_pitching(fin, mach, 140);
            const double turning = unit * (l * l * box.lift + l * (box.moment + box.lift_rate) + box.moment_rate);
            const double growing = unit * (l * box.lift_grow + box.moment_grow);
            double body, fins;
            model_damping(vehicle, mach, &body, &fins);
            print_message("%s, Mach %.1f: %.0f; fins %.0f, %.0f by turning and %+.0f by growing incidence; fins %+.1f %%, whole %+.1f %%\n",
                          vehicle->name, mach, body + fins, fins, turning, growing, 100.0 * (fins / (turning + growing) - 1.0),
                          100.0 * ((body + fins) / (body + turning + growing) - 1.0));
            assert_ratio(fins, turning + growing, 0.05);
            assert_ratio(body + fins, body + turning + growing, 0.04);
        }
    }
}

/* closed form: a strip in supersonic flow, 4/beta at unit incidence, while that grows -4/beta^3 c^2/2 of force and -4/beta^3 c^3/3 of
 * moment [memory; re-derived]: the referee's own check, on a fin so wide that its tips hardly count; its boxes err by up to 4 %. */
static void test_pitch_damping__referee_meets_the_strip(void **state)
{
    (void)state;
    const struct rc_fin_set wide = {.root_chord = 1.0, .tip_chord = 1.0, .span = 12.0};
    for (double mach = 1.5; mach < 3.1; mach += 0.5) {
        const double square = mach * mach - 1.0, strip = 4.0 / sqrt(square);
        const struct mach_box_pitch box = mach_box_pitching(&wide, mach, 600);
        print_message("Mach %.1f: %.4f %.4f %.4f %.4f %.4f %.4f of the strip's\n", mach, box.lift / (12.0 * strip),
                      box.moment / (6.0 * strip), box.lift_rate / (6.0 * strip), box.moment_rate / (4.0 * strip),
                      -box.lift_grow * square / (6.0 * strip), -box.moment_grow * square / (4.0 * strip));
        assert_ratio(box.lift, 12.0 * strip, 0.03);
        assert_ratio(box.moment, 6.0 * strip, 0.04);
        assert_ratio(box.lift_rate, 6.0 * strip, 0.04);
        assert_ratio(box.moment_rate, 4.0 * strip, 0.04);
        /* differences of such potentials: as sure as these, of what turning does */
        assert_near(box.lift_grow / (6.0 * strip), -1.0 / square, 0.04);
        assert_near(box.moment_grow / (4.0 * strip), -1.0 / square, 0.04);
    }
}

/* Glauert's coefficients of a plate that turns about a point l ahead of its leading edge: incidence l + x, chord 1. */
struct glauert {
    double l;
    int order;
};

static double glauert_slope(double angle, void *user)
{
    const struct glauert *const plate = user;
    return (plate->l + 0.5 * (1.0 - cos(angle))) * cos(plate->order * angle);
}

static double glauert_coefficient(double l, int order)
{
    gsl_integration_workspace *const space = gsl_integration_workspace_alloc(100);
    struct glauert plate = {l, order};
    const gsl_function function = {glauert_slope, &plate};
    double sum, error;
    gsl_integration_qag(&function, 0.0, PI, 1e-12, 1e-10, 100, GSL_INTEG_GAUSS21, space, &sum, &error);
    gsl_integration_workspace_free(space);
    return sum * (order == 0 ? 1.0 : 2.0) / PI;
}

/* source thin-airfoil theory: the plate's circulation by Glauert's series, what growing incidence does by the apparent mass of a plate,
 * pi/4 of the chord's square at mid-chord; the wake's memory is left out. A strip at a low Mach number has 2 pi (l + 1/2)(l + 3/4), and so
 * has a fin of great aspect ratio. */
static void test_pitch_damping__subsonic_strips_are_thin_airfoils(void **state)
{
    (void)state;
    const struct rc_fin_set wide = {.root_chord = 1.0, .tip_chord = 1.0, .span = 200.0, .root_radius = 0.001};
    for (double l = 1.0; l < 9.0; l *= 2.0) {
        /* incidence = A0 - sum A_n cos(n angle): lift 2 pi (A0 + A1/2), moment about a quarter chord -pi/4 (A1 - A2), nose up */
        const double a0 = glauert_coefficient(l, 0), a1 = -glauert_coefficient(l, 1), a2 = -glauert_coefficient(l, 2);
        const double lift = 2.0 * PI * (a0 + 0.5 * a1), turning = lift * (l + 0.25) + 0.25 * PI * (a1 - a2);
        const double growing = 0.5 * PI * (l + 0.5);
        assert_ratio(turning + growing, 2.0 * PI * (l + 0.5) * (l + 0.75), 1e-9);
        const struct rc_fins_coefficients c = rc_fins_coefficients_at(&wide, 4, 1.0, 0.01);
        assert_ratio(c.swing[0] + l * (c.swing[1] + l), (l + 0.5) * (l + 0.75), 0.02);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pitch_damping__body_is_its_apparent_mass),
        cmocka_unit_test(test_pitch_damping__fins_at_mach_one_are_slender),
        cmocka_unit_test(test_pitch_damping__supersonic_fins_meet_unsteady_linear_theory),
        cmocka_unit_test(test_pitch_damping__referee_meets_the_strip),
        cmocka_unit_test(test_pitch_damping__subsonic_strips_are_thin_airfoils),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
