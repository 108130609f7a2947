/* Nose and damping against slender-body theory integrated numerically (GSL) and the textbook's rounded figures. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <gsl/gsl_integration.h>

#include "flight/body.h"
#include "near.h"

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

/* source Barrowman 1967 (rounded 0.466 of the length for an ogive, 2/3 for a cone) [memory] */
static void test_body__long_noses_have_the_textbook_centre(void **state)
{
    (void)state;
    const struct rc_vehicle_design vehicle = {.diameter = 0.1, .nose_length = 1.0};
    assert_near(rc_body_nose(&vehicle, RC_NOSE_OGIVE).station, 0.466, 1.5e-3);
    assert_near(rc_body_nose(&vehicle, RC_NOSE_CONE).station, 2.0 / 3.0, 1e-15);
}

/* source quasi-steady: a component a distance l behind the centre of mass meets q l / V more incidence, so the moment is
 * -slope l^2 q / (V d) = [-2 slope l^2/d^2] q d/(2V) [computed] */
static void test_body__damping_is_the_quasi_steady_sum(void **state)
{
    (void)state;
    double damp[3] = {0.0, 0.0, 0.0};
    const struct rc_body_force nose = {.slope = 2.0, .station = 0.2}, fins = {.slope = 9.0, .station = 1.9};
    rc_body_damping(nose, 0.1, damp);
    rc_body_damping(fins, 0.1, damp);
    for (double cm = 0.8; cm < 1.6; cm += 0.1) {
        const double wanted = -2.0 * (2.0 * (0.2 - cm) * (0.2 - cm) + 9.0 * (1.9 - cm) * (1.9 - cm)) / 0.01;
        assert_near(damp[0] + cm * (damp[1] + cm * damp[2]), wanted, 1e-9);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_body__ogive_centre_follows_its_volume),
        cmocka_unit_test(test_body__long_noses_have_the_textbook_centre),
        cmocka_unit_test(test_body__damping_is_the_quasi_steady_sum),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
