/* Check cases in the style of NASA/TM-2015-218675 (atmospheric cases of the six-degree-of-freedom check suite), as far as a flat Earth
 * without rotation allows. The cases' set-ups are from memory; their published figures are for a rotating ellipsoid or sphere and are
 * not quoted: each case is held against a closed form or an independent integrator instead. Which case is said at each test. The
 * tumbling body (their cases 2 and 3) is symmetric here, as every vehicle of ours is; theirs is a brick. Cases 4 and 5 (round Earth, rotating
 * or not), 9 and 10 (along Equator and meridian) and from 11 on (aircraft, rocket to orbit) cannot be had. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include "flight/advance.h"
#include "flight/atmosphere.h"
#include "flight/descent.h"
#include "near.h"
#include "numeric/lane_math.h"
#include "support_vehicle.h"

/* The sphere of the suite: 1 slug, 6 inches across, dropped from 30,000 ft [memory]; drag coefficient 0.1 where it has drag. */
static const double SPHERE_MASS = 14.593903, SPHERE_AREA = 0.018241469, DROP_HEIGHT = 9144.0, SPHERE_DRAG = 0.1;

struct drop {
    struct support_vehicle vehicle;
    struct rc_model *model;
    struct rc_block *block;
    struct rc_record record;
};

/* The sphere falls by the project's descent from rest. in profile  wind: speed at 10 m, exponent */
static void drop_sphere(struct drop *drop, double drag_area, double wind, double exponent)
{
    memset(drop, 0, sizeof *drop);
    support_vehicle_demo(&drop->vehicle);
    struct rc_design *const design = &drop->vehicle.design;
    design->site.elevation = design->site.temperature_offset = 0.0;
    design->wind = (struct rc_wind_design){.speed = wind, .from = 270.0 * RC_DEGREE, .reference_height = 10.0, .exponent = exponent};
    design->descent = (struct rc_descent_design){.mass = SPHERE_MASS, .body_area = drag_area};
    drop->vehicle.layout.has_descent = 1;
    drop->model = support_vehicle_model(&drop->vehicle, NULL, 0);
    drop->block = support_vehicle_block(drop->model, design);
    drop->record.end = RC_END_APOGEE;
    drop->block->record[0] = &drop->record;
    drop->block->design[0] = design;
    drop->block->is_spare[0] = false;
    for (int i = 0; i < 6; i++)
        drop->block->v.apogee[i][0] = i == 2 ? DROP_HEIGHT : 0.0;
    rc_descent_fly(drop->block);
}

static void drop_done(struct drop *drop)
{
    rc_block_free(drop->block);
    rc_model_free(drop->model);
}

/* Case 1: dropped sphere without drag. closed form: radial fall under gravity g0 (r0/r)^2 from rest at R to r,
 * t = sqrt(R^3 / (2 mu)) (acos(sqrt(x)) + sqrt(x (1 - x))), x = r/R, v^2 = 2 mu (1/r - 1/R), mu = g0 r0^2 */
static void test_check_cases__a_sphere_without_drag_falls_free(void **state)
{
    (void)state;
    struct drop drop;
    drop_sphere(&drop, 0.0, 0.0, 0.0);
    const double r = 6356766.0, top = r + DROP_HEIGHT, x = r / top, mu = 9.80665 * r * r;
    const double time = sqrt(top * top * top / (2.0 * mu)) * (acos(sqrt(x)) + sqrt(x * (1.0 - x)));
    const double speed = sqrt(2.0 * mu * (1.0 / r - 1.0 / top));
    const double *const m = drop.record.measure;
    print_message("%.6f s (closed form %.6f), %.6f m/s (%.6f)\n", m[RC_MEASURE_descent_s], time, m[RC_MEASURE_landing_speed_mps], speed);
    assert_near(m[RC_MEASURE_descent_s], time, 1e-4);
    assert_near(m[RC_MEASURE_landing_speed_mps], speed, 1e-4);
    drop_done(&drop);
}

/* Case 2: a tumbling body without drag or damping, by the flight's own kernel and steps: dropped from 30,000 ft with roll, pitch and yaw
 * rates of 10, 20 and 30 deg/s, followed for 30 s [set-up memory]. The brick's smallest inertia, 0.0018942 slug ft2, is ours about the axis, the
 * mean of its others, 0.0067028, ours across. closed form: the nose goes round the fixed angular momentum H at |H|/Iy, the roll rate stays,
 * the roll angle grows by it; the fall as in case 1, for a given time by bisection. */
static void test_check_cases__a_tumbling_body_turns_about_its_momentum(void **state)
{
    (void)state;
    static const double none[RC_N_FLAT_COLUMNS] = {[RC_AERO_XCP] = 1.5};
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    support_vehicle_lock(&vehicle);
    support_vehicle_flatten(&vehicle, none);
    vehicle.design.platform.inertia = vehicle.design.platform.mass = 0.0;
    vehicle.design.site.elevation = vehicle.design.site.temperature_offset = vehicle.design.wind.speed = 0.0;
    vehicle.design.vehicle.ix_loaded = vehicle.design.vehicle.ix_burnt = 0.0018942 * 1.3558179;
    vehicle.design.vehicle.iy_loaded = vehicle.design.vehicle.iy_burnt = 0.0067028 * 1.3558179;
    vehicle.layout.time_limit = 300.0;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *const block = support_vehicle_block(model, &vehicle.design);
    const double p = 10.0 * RC_DEGREE, q = 20.0 * RC_DEGREE, r = 30.0 * RC_DEGREE, time = 30.0;
    double y[RC_N_STATE], axis[3][3], momentum[3], nose[3], size = 0.0, along = 0.0;
    support_vehicle_upright(DROP_HEIGHT, 0.0, y);
    y[RC_STATE_ROLL_RATE] = p;
    y[RC_STATE_PITCH_RATE] = q;
    y[RC_STATE_YAW_RATE] = r;
    const double ratio = vehicle.design.vehicle.ix_burnt / vehicle.design.vehicle.iy_burnt;
    for (int i = 0; i < 3; i++)
        support_vehicle_axis(y, i, axis[i]);
    for (int i = 0; i < 3; i++) { /* over Iy */
        momentum[i] = ratio * p * axis[0][i] + q * axis[1][i] + r * axis[2][i];
        size += momentum[i] * momentum[i];
        along += momentum[i] * axis[0][i];
    }
    size = sqrt(size);
    /* Rodrigues' rotation of the nose about H. */
    for (int i = 0; i < 3; i++) {
        const double h = momentum[i] / size, h1 = momentum[(i + 1) % 3] / size, h2 = momentum[(i + 2) % 3] / size;
        const double cross = h1 * axis[0][(i + 2) % 3] - h2 * axis[0][(i + 1) % 3];
        nose[i] = axis[0][i] * cos(size * time) + cross * sin(size * time) + h * along / size * (1.0 - cos(size * time));
    }
    support_vehicle_place(block, y);
    block->time = block->gust_time = 100.0; /* burnt out */
    for (int step = 0; step < 1500; step++)
        support_vehicle_step(block, 0.02);
    double low = 0.0, high = DROP_HEIGHT;
    for (int halving = 0; halving < 80; halving++) {
        const double middle = 0.5 * (low + high), r0 = 6356766.0, top = r0 + DROP_HEIGHT, x = (r0 + middle) / top;
        const double fall = sqrt(top * top * top / (2.0 * 9.80665 * r0 * r0)) * (acos(sqrt(x)) + sqrt(x * (1.0 - x)));
        if (fall > time)
            low = middle;
        else
            high = middle;
    }
    double after[RC_N_STATE], now[3][3], kept = 0.0;
    for (int i = 0; i < RC_N_STATE; i++)
        after[i] = block->v.y[i][0];
    for (int i = 0; i < 3; i++)
        support_vehicle_axis(after, i, now[i]);
    for (int i = 0; i < 3; i++)
        kept = fmax(kept, fabs(ratio * after[RC_STATE_ROLL_RATE] * now[0][i] + after[RC_STATE_PITCH_RATE] * now[1][i]
                               + after[RC_STATE_YAW_RATE] * now[2][i] - momentum[i]));
    print_message("after 30 s: height %.6f m (%.6f), nose (%.9f, %.9f, %.9f), closed form (%.9f, %.9f, %.9f), H kept to %.1e, roll %.9f turns\n",
                  after[RC_STATE_UP], low, now[0][0], now[0][1], now[0][2], nose[0], nose[1], nose[2], kept / size,
                  after[RC_STATE_ROLL] / (2.0 * RC_PI));
    assert_near(after[RC_STATE_UP], low, 1e-4);
    for (int i = 0; i < 3; i++)
        assert_near(now[0][i], nose[i], 1e-7);
    assert_near(kept, 0.0, 1e-7 * size);
    assert_ratio(after[RC_STATE_ROLL_RATE], p, 1e-12);
    assert_ratio(after[RC_STATE_ROLL], p * time, 1e-9);
    rc_block_free(block);
    rc_model_free(model);
}

struct sphere {
    double area, wind, exponent;
};

static int sphere_slope(double t, const double *y, double *slope, void *user)
{
    const struct sphere *const sphere = user;
    static const struct rc_site_design sea_level;
    struct rc_air air;
    (void)t;
    const double height = fmax(y[1], 0.0);
    rc_atmosphere_profile(&sea_level, &height, 1, &air);
    const double wind = height > 0.0 ? sphere->wind * pow(height / 10.0, sphere->exponent) : 0.0;
    const double across = y[2] - wind, speed = hypot(across, y[3]);
    const double drag = 0.5 * air.density * speed * sphere->area / SPHERE_MASS;
    slope[0] = y[2];
    slope[1] = y[3];
    slope[2] = -drag * across;
    slope[3] = -drag * y[3] - rc_atmosphere_gravity(y[1]);
    return GSL_SUCCESS;
}

/* Fall with GSL's Runge-Kutta method of order 8 (Prince and Dormand), the last bit straight. out y  east, up and rates; ends the time */
static double fall_apart(struct sphere sphere, double *y)
{
    gsl_odeiv2_system system = {sphere_slope, NULL, 4, &sphere};
    gsl_odeiv2_driver *const driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-3, 1e-10, 1e-10);
    double t = 0.0;
    y[0] = y[2] = y[3] = 0.0;
    y[1] = DROP_HEIGHT;
    while (y[1] > 0.5)
        assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, t + fmin(0.5, fmax(y[1] / (1.0 - y[3]) * 0.5, 1e-3)), y), GSL_SUCCESS);
    gsl_odeiv2_driver_free(driver);
    /* The last half metre is straight to a micrometre. */
    const double rest = y[1] / -y[3];
    y[0] += rest * y[2];
    return t + rest;
}

/* Cases 6, 7 and 8: sphere with constant drag coefficient; in a steady wind (20 ft/s [memory]); in a wind that grows with height. */
static void test_check_cases__a_sphere_with_drag_falls_in_still_and_moving_air(void **state)
{
    (void)state;
    static const struct sphere cases[3] = {{0.1 * 0.018241469, 0.0, 0.0}, {0.1 * 0.018241469, 6.096, 0.0}, {0.1 * 0.018241469, 3.0, 0.2}};
    assert_near(cases[0].area, SPHERE_DRAG * SPHERE_AREA, 1e-15);
    for (int i = 0; i < 3; i++) {
        struct drop drop;
        double y[4];
        const double time = fall_apart(cases[i], y);
        drop_sphere(&drop, cases[i].area, cases[i].wind, cases[i].exponent);
        const double *const m = drop.record.measure;
        print_message("wind %.2f m/s^%.1f: %.4f s (%.4f), drift %.4f m (%.4f), %.4f m/s (%.4f)\n", cases[i].wind, cases[i].exponent,
                      m[RC_MEASURE_descent_s], time, m[RC_MEASURE_landing_east_m], y[0], m[RC_MEASURE_landing_speed_mps], hypot(y[2], y[3]));
        assert_near(m[RC_MEASURE_descent_s], time, 2e-3);
        assert_near(m[RC_MEASURE_landing_east_m], y[0], 1e-3 * fabs(y[0]) + 1e-6);
        assert_near(m[RC_MEASURE_landing_speed_mps], hypot(y[2], y[3]), 0.01);
        drop_done(&drop);
    }
}

/* In the style of case 3 (tumbling body with damping): a symmetric body spun in a stream at constant speed with roll and pitch damping
 * only. closed form: both rates decay as exp(-t/tau), tau = I / (q S d (d/2V) |C|), while the transverse rates turn at (Ix/Iy) p. */
static void test_check_cases__rates_die_away_under_damping(void **state)
{
    (void)state;
    static const double coefficient[RC_N_FLAT_COLUMNS] = {
        [RC_AERO_XCP] = 1.5, [RC_AERO_CN_ALPHA] = 0.0, [RC_AERO_CMQ] = -400.0, [RC_AERO_CL_P] = -6.0};
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    support_vehicle_lock(&vehicle);
    support_vehicle_flatten(&vehicle, coefficient);
    vehicle.design.platform.inertia = 0.0;
    vehicle.design.site.elevation = vehicle.design.site.temperature_offset = vehicle.design.wind.speed = 0.0;
    vehicle.layout.time_limit = 300.0;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *const block = support_vehicle_block(model, &vehicle.design);
    struct rc_moment_lanes at;
    support_vehicle_moment(&vehicle, 30.0, &at);
    double y[RC_N_STATE], mask[RC_N_STATE] = {0.0};
    mask[RC_STATE_ROLL_RATE] = mask[RC_STATE_PITCH_RATE] = mask[RC_STATE_YAW_RATE] = mask[RC_STATE_ROLL] = 1.0;
    support_vehicle_upright(0.0, 150.0, y);
    y[RC_STATE_ROLL_RATE] = 8.0;
    y[RC_STATE_PITCH_RATE] = 0.4;
    const double ix = at.ix[0], iy = at.iy[0];
    const double q = 0.5 * rc_atmosphere_standard(0.0).density * 150.0 * 150.0, d = 0.098, torque = q * 0.25 * RC_PI * d * d * d * d / 300.0;
    const double roll_rate = torque * 6.0 / ix, pitch_rate = torque * 400.0 / iy;
    for (int i = 1; i <= 3000; i++)
        support_vehicle_rk4(block, &at, mask, 0.001, y);
    const double p = 8.0 * exp(-3.0 * roll_rate), turned = ix / iy * 8.0 * -expm1(-3.0 * roll_rate) / roll_rate;
    const double across = 0.4 * exp(-3.0 * pitch_rate);
    print_message("after 3 s: roll %.8f (%.8f), pitch %.8f (%.8f), yaw %.8f (%.8f) rad/s\n", y[RC_STATE_ROLL_RATE], p,
                  y[RC_STATE_PITCH_RATE], across * cos(turned), y[RC_STATE_YAW_RATE], across * sin(turned));
    assert_ratio(y[RC_STATE_ROLL_RATE], p, 1e-6);
    assert_near(y[RC_STATE_PITCH_RATE], across * cos(turned), 1e-6);
    assert_near(y[RC_STATE_YAW_RATE], across * sin(turned), 1e-6);
    rc_block_free(block);
    rc_model_free(model);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_check_cases__a_sphere_without_drag_falls_free),
        cmocka_unit_test(test_check_cases__a_tumbling_body_turns_about_its_momentum),
        cmocka_unit_test(test_check_cases__a_sphere_with_drag_falls_in_still_and_moving_air),
        cmocka_unit_test(test_check_cases__rates_die_away_under_damping),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
