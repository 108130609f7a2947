/* Noses and sections against slender-body theory integrated numerically (GSL) and the textbook's rounded figures. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <gsl/gsl_integration.h>

#include "flight/body.h"
#include "near.h"

static const double PI = 3.14159265358979323846;

struct ogive {
    double length, radius;
};

/* Cross-section area of a tangent ogive at a station. */
static double ogive_area(double x, void *user)
{
    const struct ogive *ogive = user;
    const double rho = (ogive->radius * ogive->radius + ogive->length * ogive->length) / (2.0 * ogive->radius);
    const double back = ogive->length - x;
    const double r = sqrt(rho * rho - back * back) + ogive->radius - rho;
    return 3.14159265358979323846 * r * r;
}

/* source slender-body theory (Munk 1924): force 2 S'(x) per station, so the centre is length - volume / base area; the volume by
 * GSL's adaptive quadrature */
static void test_body__ogive_centre_follows_its_volume(void **state)
{
    (void)state;
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(200);
    static const double lengths[] = {0.06, 0.15, 0.3, 0.5, 0.8};
    for (int which = 0; which < 5; which++) {
        struct ogive ogive = {.length = lengths[which], .radius = 0.05};
        const gsl_function area = {.function = ogive_area, .params = &ogive};
        double volume, error;
        gsl_integration_qags(&area, 0.0, ogive.length, 0.0, 1e-10, 200, space, &volume, &error);
        const struct rc_vehicle_design vehicle = {.diameter = 0.1, .nose_length = ogive.length};
        const struct rc_body_force nose = rc_body_nose(&vehicle, RC_NOSE_OGIVE);
        assert_near(nose.slope, 2.0, 0.0);
        assert_near(nose.station, ogive.length - volume / ogive_area(ogive.length, &ogive), 1e-9);
    }
    gsl_integration_workspace_free(space);
}

/* The radius of each nose by its textbook formula, written apart from the code under test. */
struct nose {
    enum rc_nose_shape shape;
    double length, radius, exponent;
};

static double nose_radius(const struct nose *nose, double x)
{
    const double u = x / nose->length;
    if (nose->shape == RC_NOSE_POWER)
        return nose->radius * pow(u, nose->exponent);
    if (nose->shape == RC_NOSE_VON_KARMAN) {
        const double angle = acos(1.0 - 2.0 * u);
        return nose->radius * sqrt((angle - 0.5 * sin(2.0 * angle)) / PI);
    }
    if (nose->shape == RC_NOSE_CONE)
        return nose->radius * u;
    const struct ogive ogive = {nose->length, nose->radius};
    return sqrt(ogive_area(x, (void *)&ogive) / PI);
}

static double nose_area(double x, void *user)
{
    const double r = nose_radius(user, x);
    return PI * r * r;
}

static double nose_width(double x, void *user)
{
    return 2.0 * nose_radius(user, x);
}

static double nose_moment(double x, void *user)
{
    return x * nose_width(x, user);
}

/* Surface as a function of s, x = length s^2, with the slope by central differences. */
static double nose_surface(double s, void *user)
{
    const struct nose *nose = user;
    const double x = nose->length * s * s, step = 1e-5 * fmin(x, nose->length - x);
    const double slope = (nose_radius(nose, x + step) - nose_radius(nose, x - step)) / (2.0 * step);
    return 2.0 * PI * nose_radius(nose, x) * sqrt(1.0 + slope * slope) * 2.0 * nose->length * s;
}

static double integral(double (*f)(double, void *), void *user, double to)
{
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(500);
    const gsl_function function = {.function = f, .params = user};
    double sum, error;
    gsl_integration_qags(&function, 0.0, to, 0.0, 1e-9, 500, space, &sum, &error);
    gsl_integration_workspace_free(space);
    return sum;
}

static const struct nose NOSES[] = {
    {RC_NOSE_CONE, 0.4, 0.05, 0.0},        {RC_NOSE_OGIVE, 0.3, 0.05, 0.0},      {RC_NOSE_OGIVE, 0.06, 0.05, 0.0},
    {RC_NOSE_POWER, 0.5, 0.05, 0.5},       {RC_NOSE_POWER, 0.3, 0.04, 0.75},     {RC_NOSE_POWER, 0.3, 0.04, 0.3},
    {RC_NOSE_VON_KARMAN, 0.5, 0.05, 0.0},  {RC_NOSE_VON_KARMAN, 0.1, 0.05, 0.0},
};
enum { N_NOSES = sizeof NOSES / sizeof NOSES[0] };

/* source textbook profiles (power series; Haack's with C = 0, by von Karman's condition) [memory]; integrals by GSL. The surface near a
 * blunt tip is the worst: 2e-4 at exponent 0.3. */
static void test_body__noses_have_their_volume_areas_and_centre(void **state)
{
    (void)state;
    for (int which = 0; which < N_NOSES; which++) {
        struct nose nose = NOSES[which];
        const struct rc_vehicle_design vehicle = {
            .diameter = 2.0 * nose.radius, .length = nose.length, .nose_length = nose.length, .nose_exponent = nose.exponent};
        const struct rc_layout layout = {.nose_shape = nose.shape};
        const struct rc_body_measure body = rc_body_measure_of(&vehicle, &layout);
        const double volume = integral(nose_area, &nose, nose.length), planform = integral(nose_width, &nose, nose.length);
        assert_ratio(body.volume, volume, 1e-7);
        assert_ratio(body.planform, planform, 1e-5);
        assert_ratio(body.planform_station, integral(nose_moment, &nose, nose.length) / planform, 1e-5);
        assert_ratio(body.wetted, integral(nose_surface, &nose, 1.0), 5e-4);
        const struct rc_body_force force = rc_body_nose(&vehicle, nose.shape);
        assert_near(force.slope, 2.0, 0.0);
        assert_near(force.station, nose.length - volume / (PI * nose.radius * nose.radius), 1e-8);
    }
}

/* Slices: radius by the formulas above, slope and curvature by differences of it. */
static void test_body__slices_have_slope_and_curvature(void **state)
{
    (void)state;
    for (int which = 0; which < N_NOSES; which++) {
        const struct nose nose = NOSES[which];
        const struct rc_vehicle_design vehicle = {
            .diameter = 2.0 * nose.radius, .nose_length = nose.length, .nose_exponent = nose.exponent};
        struct rc_body_slice slice[RC_BODY_SLICES];
        rc_body_nose_slices(&vehicle, nose.shape, slice);
        double length = 0.0;
        for (int i = 0; i < RC_BODY_SLICES; i++) {
            const double x = slice[i].station, step = 1e-3 * fmin(x, nose.length - x);
            const double here = nose_radius(&nose, x), ahead = nose_radius(&nose, x + step), behind = nose_radius(&nose, x - step);
            length += slice[i].weight;
            assert_ratio(slice[i].radius, here, 1e-9);
            assert_ratio(slice[i].slope, (ahead - behind) / (2.0 * step), 1e-5);
            assert_near(slice[i].curvature * here, (ahead - 2.0 * here + behind) / (step * step) * here, 2e-3);
        }
        assert_ratio(length, nose.length, 1e-12);
    }
}

/* Nose, transition, tube, boat-tail: slender-body theory [Munk 1924] leaves 2 base area / reference for the sum, and its moment is that of
 * the volume, both by integrals over the whole body that know nothing of the parts. */
static void test_body__sections_add_up_to_the_base(void **state)
{
    (void)state;
    const struct rc_vehicle_design vehicle = {
        .diameter = 0.08, .length = 1.8, .nose_length = 0.3,
        .sections = {{.station = 0.7, .length = 0.1, .fore_diameter = 0.08, .aft_diameter = 0.12},
                     {.station = 1.7, .length = 0.1, .fore_diameter = 0.12, .aft_diameter = 0.09}}};
    const struct rc_layout layout = {.nose_shape = RC_NOSE_CONE, .n_sections = 2};
    const struct rc_body_measure body = rc_body_measure_of(&vehicle, &layout);
    double slope = 2.0, moment = 2.0 * 0.2;
    for (int i = 0; i < 2; i++) {
        const struct rc_body_force force = rc_body_section(&vehicle.sections[i], vehicle.diameter);
        slope += force.slope;
        moment += force.slope * force.station;
    }
    const double reference = 0.25 * PI * 0.08 * 0.08, base = 0.25 * PI * 0.09 * 0.09;
    assert_ratio(slope, 2.0 * base / reference, 1e-12);
    assert_ratio(moment, 2.0 * (1.8 * base - body.volume) / reference, 1e-12);
    assert_true(rc_body_section(&vehicle.sections[1], 0.08).slope < 0.0); /* a boat-tail pulls */
    assert_near(body.base_diameter, 0.09, 0.0);
    assert_near(body.widest, 0.12, 0.0);
    double planform = 0.0, planform_moment = 0.0;
    for (double x = 0.3 + 5e-5; x < 1.8; x += 1e-4) {
        planform += 2e-4 * rc_body_radius_at(&vehicle, &layout, x);
        planform_moment += 2e-4 * x * rc_body_radius_at(&vehicle, &layout, x);
    }
    assert_ratio(body.planform, planform + 0.5 * 0.3 * 0.08, 1e-6);
    assert_ratio(body.planform * body.planform_station, planform_moment + 0.5 * 0.3 * 0.08 * 0.2, 1e-6);
    const double wetted = PI * (0.04 * hypot(0.3, 0.04) + 0.08 * 0.4 + 0.1 * hypot(0.1, 0.02) + 0.12 * 0.9
                                  + 0.105 * hypot(0.1, 0.015));
    assert_ratio(body.wetted, wetted, 1e-5);
}

/* source Allen and Perkins, NACA Report 1048, 1951: cross-flow drag times planform; Hoerner's drag of a cylinder of finite length, 0.9 at 20
 * calibres and 1.2 without end [memory] */
static void test_body__cross_flow_force_is_drag_times_planform(void **state)
{
    (void)state;
    struct rc_vehicle_design vehicle = {.diameter = 0.1, .length = 2.0, .nose_length = 0.4};
    const struct rc_layout layout = {.nose_shape = RC_NOSE_CONE};
    const struct rc_body_measure body = rc_body_measure_of(&vehicle, &layout);
    const struct rc_body_force lift = rc_body_lift(&body, &vehicle);
    assert_ratio(lift.slope, 0.9 * (0.5 * 0.4 * 0.1 + 1.6 * 0.1) / (0.25 * PI * 0.01), 1e-6);
    assert_ratio(lift.station, (0.02 * 0.8 / 3.0 + 0.16 * 1.2) / 0.18, 1e-6);
    vehicle.length = 1.0;
    assert_true(rc_body_lift(&body, &vehicle).slope < lift.slope);
}

/* source Wieselsberger's drag of finite cylinders across the stream, on diameter times length, 1.2 without end [memory] */
static void test_body__cross_flow_drag_is_wieselsbergers(void **state)
{
    (void)state;
    static const double calibres[6] = {1.0, 2.0, 5.0, 10.0, 20.0, 40.0}, drag[6] = {0.63, 0.68, 0.74, 0.82, 0.91, 0.98};
    for (int i = 0; i < 6; i++) {
        const struct rc_vehicle_design vehicle = {.diameter = 0.1, .length = 0.1 * calibres[i], .nose_length = 0.02};
        const struct rc_layout layout = {.nose_shape = RC_NOSE_CONE};
        const struct rc_body_measure body = rc_body_measure_of(&vehicle, &layout);
        const double ours = rc_body_lift(&body, &vehicle).slope * 0.25 * PI * 0.01 / body.planform;
        print_message("%g calibres: %.3f, measured %.2f\n", calibres[i], ours, drag[i]);
        assert_ratio(ours, drag[i], 0.012);
    }
    /* Between rows by the logarithm of the length: ten times the root of two lies in the middle of 0.68 and 0.75. */
    const struct rc_vehicle_design between = {.diameter = 0.1, .length = sqrt(2.0), .nose_length = 0.02};
    const struct rc_layout layout = {.nose_shape = RC_NOSE_CONE};
    const struct rc_body_measure body = rc_body_measure_of(&between, &layout);
    assert_ratio(rc_body_lift(&body, &between).slope * 0.25 * PI * 0.01 / body.planform, 1.2 * 0.715, 1e-9);
}

/* source Barrowman 1967 (rounded 0.466 of the length for an ogive, 2/3 for a cone) [memory] */
static void test_body__long_noses_have_the_textbook_centre(void **state)
{
    (void)state;
    const struct rc_vehicle_design vehicle = {.diameter = 0.1, .nose_length = 1.0};
    assert_near(rc_body_nose(&vehicle, RC_NOSE_OGIVE).station, 0.466, 1.5e-3);
    assert_near(rc_body_nose(&vehicle, RC_NOSE_CONE).station, 2.0 / 3.0, 1e-15);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_body__ogive_centre_follows_its_volume),
        cmocka_unit_test(test_body__noses_have_their_volume_areas_and_centre),
        cmocka_unit_test(test_body__slices_have_slope_and_curvature),
        cmocka_unit_test(test_body__sections_add_up_to_the_base),
        cmocka_unit_test(test_body__cross_flow_force_is_drag_times_planform),
        cmocka_unit_test(test_body__cross_flow_drag_is_wieselsbergers),
        cmocka_unit_test(test_body__long_noses_have_the_textbook_centre),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
