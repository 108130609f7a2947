/* Forces and moments beside the main ones, through the right-hand side: thrust line, swirl, exit pressure, jet damping, a centre of
 * mass beside the axis, roll induced by incidence. Each against a hand formula; vectors are crossed here, not there. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "flight/atmosphere.h"
#include "flight/motor.h"
#include "near.h"
#include "numeric/lane_math.h"
#include "support_vehicle.h"

static const double NOTHING[RC_N_FLAT_COLUMNS] = {[RC_AERO_XCP] = 1.9};
static const double FLAT_TIME[] = {0.0, 3.0}, FLAT_THRUST[] = {1500.0, 1500.0};

struct rig {
    struct rc_model *model;
    struct rc_block *block;
    struct rc_moment_lanes at;
    double ix, iy, mass, cm;
};

/* A vehicle at sea level in still standard air with constant coefficients and constant thrust for 3 s; the platform adds nothing. */
static void plain_vehicle(struct support_vehicle *vehicle, const double coefficient[RC_N_FLAT_COLUMNS])
{
    support_vehicle_demo(vehicle);
    support_vehicle_lock(vehicle);
    support_vehicle_flatten(vehicle, coefficient);
    vehicle->layout.thrust = (struct rc_thrust_points){.n = 2, .time = FLAT_TIME, .thrust = FLAT_THRUST};
    struct rc_design *const design = &vehicle->design;
    design->platform.inertia = 0.0;
    design->site.elevation = 0.0;
    design->site.temperature_offset = 0.0;
    design->wind.speed = 0.0;
    /* Long enough for a flight without air. */
    vehicle->layout.time_limit = 300.0;
}

static void rig_up(struct rig *rig, const struct support_vehicle *vehicle, double time)
{
    rig->model = support_vehicle_model(vehicle, NULL, 0);
    rig->block = support_vehicle_block(rig->model, &vehicle->design);
    support_vehicle_moment(vehicle, time, &rig->at);
    rig->ix = rig->at.ix[0];
    rig->iy = rig->at.iy[0];
    rig->mass = rig->at.mass[0];
    rig->cm = rig->at.cm[0];
}

static void take_down(struct rig *rig)
{
    rc_block_free(rig->block);
    rc_model_free(rig->model);
}

static void cross(const double *a, const double *b, double *out)
{
    for (int i = 0; i < 3; i++)
        out[i] = a[(i + 1) % 3] * b[(i + 2) % 3] - a[(i + 2) % 3] * b[(i + 1) % 3];
}

/* Hold the derivatives of an upright, resting, rolled state against a force and a moment on body axes. */
static void hold_load(struct rig *rig, double height, double roll, const double *force, const double *moment)
{
    double y[RC_N_STATE], slope[RC_N_STATE], axis[3][3];
    support_vehicle_upright(height, 0.0, y);
    y[RC_STATE_ROLL] = roll;
    support_vehicle_slope(rig->block, &rig->at, y, slope);
    for (int i = 0; i < 3; i++)
        support_vehicle_axis(y, i, axis[i]);
    const double c = cos(roll), s = sin(roll);
    const double side = c * force[1] - s * force[2], down = s * force[1] + c * force[2];
    for (int i = 0; i < 3; i++) {
        const double gravity = i == 2 ? rc_atmosphere_gravity(height) : 0.0;
        const double wanted = (force[0] * axis[0][i] + side * axis[1][i] + down * axis[2][i]) / rig->mass - gravity;
        assert_near(slope[RC_STATE_V_EAST + i], wanted, 1e-9);
    }
    assert_near(slope[RC_STATE_ROLL_RATE], moment[0] / rig->ix, 1e-9);
    assert_near(slope[RC_STATE_PITCH_RATE], (c * moment[1] - s * moment[2]) / rig->iy, 1e-9);
    assert_near(slope[RC_STATE_YAW_RATE], (s * moment[1] + c * moment[2]) / rig->iy, 1e-9);
}

/* closed form: a force F that acts at r gives r x F about the centre of mass; at any roll angle. */
static void test_loads__thrust_line_beside_and_against_the_axis(void **state)
{
    (void)state;
    static const struct {
        double tilt, tilt_angle, offset, offset_angle, cm_offset, cm_angle, swirl;
    } cases[] = {
        {0.01, 0.3, 0.0, 0.0, 0.0, 0.0, 0.0},   {0.0, 0.0, 0.004, -1.0, 0.0, 0.0, 0.0}, {0.012, 2.0, 0.003, 0.5, 0.0, 0.0, 0.0},
        {0.0, 0.0, 0.0, 0.0, 0.005, 0.7, 0.0},  {0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.002}, {0.02, -0.4, 0.006, 2.6, 0.003, -2.0, -0.001},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct support_vehicle vehicle;
        struct rig rig;
        plain_vehicle(&vehicle, NOTHING);
        struct rc_motor_design *const motor = &vehicle.design.motor;
        motor->tilt = cases[i].tilt;
        motor->tilt_angle = cases[i].tilt_angle;
        motor->offset = cases[i].offset;
        motor->offset_angle = cases[i].offset_angle;
        motor->swirl = cases[i].swirl;
        vehicle.design.vehicle.cm_offset = cases[i].cm_offset;
        vehicle.design.vehicle.cm_offset_angle = cases[i].cm_angle;
        rig_up(&rig, &vehicle, 1.0);
        const double thrust = rig.at.thrust[0];
        assert_near(thrust, 1500.0, 1e-9);
        const double force[3] = {thrust * cos(cases[i].tilt), thrust * sin(cases[i].tilt) * cos(cases[i].tilt_angle),
                                 thrust * sin(cases[i].tilt) * sin(cases[i].tilt_angle)};
        const double nozzle[3] = {rig.cm - 2.35,
                                  cases[i].offset * cos(cases[i].offset_angle) - cases[i].cm_offset * cos(cases[i].cm_angle),
                                  cases[i].offset * sin(cases[i].offset_angle) - cases[i].cm_offset * sin(cases[i].cm_angle)};
        double moment[3];
        cross(nozzle, force, moment);
        moment[0] += cases[i].swirl * thrust;
        for (int turn = 0; turn < 4; turn++)
            hold_load(&rig, 100.0, 1.3 * turn, force, moment);
        take_down(&rig);
    }
}

/* closed form: F = F_stand + A_e (p_stand - p), while the motor burns; in a near vacuum all of p_stand A_e. source e.g. Sutton,
 * Rocket Propulsion Elements, thrust equation [memory]; pressure from the standard atmosphere */
static void test_loads__thrust_gains_what_the_air_no_longer_presses(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    struct rig rig;
    plain_vehicle(&vehicle, NOTHING);
    const double area = 0.0015, stand = 99000.0;
    vehicle.design.motor.exit_area = area;
    vehicle.design.motor.stand_pressure = stand;
    rig_up(&rig, &vehicle, 1.0);
    static const double height[] = {0.0, 3000.0, 11000.0, 30000.0, 80000.0}, none[3] = {0.0, 0.0, 0.0};
    for (int i = 0; i < 5; i++) {
        const double pressure = rc_atmosphere_standard(height[i]).pressure;
        double y[RC_N_STATE], slope[RC_N_STATE];
        support_vehicle_upright(height[i], 0.0, y);
        support_vehicle_slope(rig.block, &rig.at, y, slope);
        const double got = (slope[RC_STATE_V_UP] + rc_atmosphere_gravity(height[i])) * rig.mass;
        print_message("%6.0f m: %.4f N more, closed form %.4f\n", height[i], got - 1500.0, area * (stand - pressure));
        /* Pressure comes from density and speed of sound, straight in between its knots. */
        assert_near(got, 1500.0 + area * (stand - pressure), 2e-5 * area * 101325.0);
    }
    struct rc_moment_lanes after;
    support_vehicle_moment(&vehicle, 30.0, &after);
    rig.at = after;
    rig.mass = after.mass[0];
    hold_load(&rig, 11000.0, 0.0, none, none);
    take_down(&rig);
}

/* One Runge-Kutta step of the rates alone while the motor burns. */
static void step_rates(struct rig *rig, const struct support_vehicle *vehicle, double time, double h, double *y)
{
    static const int which[3] = {RC_STATE_ROLL_RATE, RC_STATE_PITCH_RATE, RC_STATE_YAW_RATE};
    static const double share[4] = {0.0, 0.5, 0.5, 1.0}, weight[4] = {1.0 / 6.0, 1.0 / 3.0, 1.0 / 3.0, 1.0 / 6.0};
    double slope[RC_N_STATE] = {0.0}, sum[3] = {0.0}, stage[RC_N_STATE];
    struct rc_moment_lanes at;
    for (int i = 0; i < 4; i++) {
        memcpy(stage, y, sizeof stage);
        for (int k = 0; k < 3; k++)
            stage[which[k]] += share[i] * h * slope[which[k]];
        support_vehicle_moment(vehicle, time + share[i] * h, &at);
        support_vehicle_slope(rig->block, &at, stage, slope);
        for (int k = 0; k < 3; k++)
            sum[k] += weight[i] * slope[which[k]];
    }
    for (int k = 0; k < 3; k++)
        y[which[k]] += h * sum[k];
}

/* closed form: with constant thrust and a fixed centre of mass, I = I0 - a t, and I dq/dt = (a - mdot l^2) q, so that
 * q = q0 (I/I0)^(mdot l^2 / a - 1); for roll with the exit's mean square radius in place of l^2. source Thomson, Introduction to Space
 * Dynamics, ch. 7 (jet damping) [memory] */
static void test_loads__the_jet_carries_angular_momentum_away(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    struct rig rig;
    plain_vehicle(&vehicle, NOTHING);
    struct rc_vehicle_design *const v = &vehicle.design.vehicle;
    v->cm_burnt = v->cm_loaded;
    vehicle.design.motor.exit_area = 0.004;
    vehicle.design.motor.stand_pressure = 101325.0;
    vehicle.design.vehicle.ix_burnt = 0.02;
    rig_up(&rig, &vehicle, 0.0);
    double y[RC_N_STATE];
    support_vehicle_upright(100.0, 0.0, y);
    y[RC_STATE_PITCH_RATE] = 0.3;
    y[RC_STATE_ROLL_RATE] = 5.0;
    const double h = 0.01;
    for (int i = 0; i < 200; i++)
        step_rates(&rig, &vehicle, 0.5 + i * h, h, y);
    const double lever = 2.35 - v->cm_loaded, outflow = v->mass_loaded - v->mass_burnt;
    const double drop_y = v->iy_loaded - v->iy_burnt, drop_x = v->ix_loaded - v->ix_burnt;
    /* From 0.5 s to 2.5 s of the 3 s of burning. */
    const double ratio_y = (v->iy_loaded - 2.5 / 3.0 * drop_y) / (v->iy_loaded - 0.5 / 3.0 * drop_y);
    const double ratio_x = (v->ix_loaded - 2.5 / 3.0 * drop_x) / (v->ix_loaded - 0.5 / 3.0 * drop_x);
    const double pitch = 0.3 * pow(ratio_y, outflow * lever * lever / drop_y - 1.0);
    const double roll = 5.0 * pow(ratio_x, outflow * 0.004 / (2.0 * RC_PI) / drop_x - 1.0);
    const double across = hypot(y[RC_STATE_PITCH_RATE], y[RC_STATE_YAW_RATE]); /* the spin turns it on the non-rolling axes */
    print_message("after 2 s: pitch rate %.8f (closed form %.8f), roll rate %.8f (%.8f)\n", across, pitch, y[RC_STATE_ROLL_RATE], roll);
    assert_ratio(across, pitch, 1e-8);
    assert_ratio(y[RC_STATE_ROLL_RATE], roll, 1e-8);
    assert_true(pitch < 0.3 && roll > 5.0);
    take_down(&rig);
}

/* closed form: axial and normal force act on the axis; beside the centre of mass they have a lever. Flying at incidence, coasting. */
static void test_loads__air_pulls_beside_an_offset_centre_of_mass(void **state)
{
    (void)state;
    static const double coefficient[RC_N_FLAT_COLUMNS] = {0.5, 0.5, 9.0, 1.9, 0.0, 0.0, 0.0};
    struct support_vehicle vehicle;
    struct rig rig;
    plain_vehicle(&vehicle, coefficient);
    vehicle.design.vehicle.cm_offset = 0.004;
    vehicle.design.vehicle.cm_offset_angle = 0.9;
    vehicle.design.vehicle.cm_loaded = vehicle.design.vehicle.cm_burnt;
    rig_up(&rig, &vehicle, 30.0);
    const double q = 0.5 * rc_atmosphere_standard(0.0).density * 200.0 * 200.0, qs = q * 0.25 * RC_PI * 0.098 * 0.098;
    for (int turn = 0; turn < 5; turn++) {
        double y[RC_N_STATE], slope[RC_N_STATE], velocity[3], axis[3][3];
        const double roll = 1.1 * turn, alpha = 0.05;
        support_vehicle_upright(0.0, 0.0, y);
        for (int i = 0; i < 3; i++)
            support_vehicle_axis(y, i, axis[i]);
        for (int i = 0; i < 3; i++) {
            velocity[i] = 200.0 * (cos(alpha) * axis[0][i] + sin(alpha) * (0.6 * axis[1][i] + 0.8 * axis[2][i]));
            y[RC_STATE_V_EAST + i] = velocity[i];
        }
        y[RC_STATE_ROLL] = roll;
        support_vehicle_slope(rig.block, &rig.at, y, slope);
        const double normal = qs * 9.0 * sin(alpha), c = cos(roll), s = sin(roll);
        const double force[3] = {-qs * 0.5, -normal * (c * 0.6 + s * 0.8), -normal * (c * 0.8 - s * 0.6)};
        const double on_axis[3] = {rig.cm - 1.9, -0.004 * cos(0.9), -0.004 * sin(0.9)};
        const double drag_at[3] = {0.0, -0.004 * cos(0.9), -0.004 * sin(0.9)};
        const double across[3] = {0.0, force[1], force[2]}, along[3] = {force[0], 0.0, 0.0};
        double moment[3], part[3];
        cross(on_axis, across, moment);
        cross(drag_at, along, part);
        for (int i = 0; i < 3; i++)
            moment[i] += part[i];
        assert_ratio(slope[RC_STATE_ROLL_RATE], moment[0] / rig.ix, 1e-7);
        assert_ratio(slope[RC_STATE_PITCH_RATE], (c * moment[1] - s * moment[2]) / rig.iy, 1e-7);
        assert_ratio(slope[RC_STATE_YAW_RATE], (s * moment[1] + c * moment[2]) / rig.iy, 1e-7);
    }
    take_down(&rig);
}

/* Roll moment over q S d at incidence alpha, the cross-flow `from_fin` past the first fin. */
static double roll_coefficient(struct rig *rig, double alpha, double from_fin, double first_fin)
{
    double y[RC_N_STATE], slope[RC_N_STATE], axis[3][3];
    support_vehicle_upright(0.0, 0.0, y);
    for (int i = 0; i < 3; i++)
        support_vehicle_axis(y, i, axis[i]);
    for (int i = 0; i < 3; i++)
        y[RC_STATE_V_EAST + i] = 150.0 * (cos(alpha) * axis[0][i] + sin(alpha) * axis[1][i]);
    /* The cross-flow stays on the non-rolling y axis: the body's roll puts its first fin `from_fin` before it. */
    y[RC_STATE_ROLL] = -(from_fin + first_fin);
    support_vehicle_slope(rig->block, &rig->at, y, slope);
    const double q = 0.5 * rc_atmosphere_standard(0.0).density * 150.0 * 150.0;
    return slope[RC_STATE_ROLL_RATE] * rig->ix / (q * 0.25 * RC_PI * 0.098 * 0.098 * 0.098);
}

/* definition (docs/theory.md): -C sin^2(alpha) sin(N phi), phi from the first fin to the cross-flow: sign, period of a turn over N,
 * alpha squared. A positive coefficient turns a fin out of the cross-flow, a negative one into it. */
static void test_loads__incidence_rolls_by_its_square_and_a_period_per_fin(void **state)
{
    (void)state;
    static const double coefficient[RC_N_FLAT_COLUMNS] = {0.5, 0.5, 9.0, 1.9, 0.0, 0.0, 0.0};
    for (int n = 2; n <= 6; n++) {
        struct support_vehicle vehicle;
        struct rig rig;
        plain_vehicle(&vehicle, coefficient);
        vehicle.layout.n_fins[0] = n;
        vehicle.design.vehicle.fins[0].first_angle = 0.4;
        vehicle.design.aero.induced_roll = 7.0;
        rig_up(&rig, &vehicle, 30.0);
        for (int i = 0; i < 24; i++) {
            const double phi = i * RC_PI / 12.0, alpha = 0.03 * (1 + i % 3);
            assert_near(roll_coefficient(&rig, alpha, phi, 0.4), -7.0 * sin(alpha) * sin(alpha) * sin(n * phi), 1e-9);
            assert_near(roll_coefficient(&rig, alpha, phi + 2.0 * RC_PI / n, 0.4), roll_coefficient(&rig, alpha, phi, 0.4), 1e-9);
        }
        assert_true(roll_coefficient(&rig, 0.1, 0.1, 0.4) < 0.0 && roll_coefficient(&rig, 0.1, -0.1, 0.4) > 0.0);
        take_down(&rig);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_loads__thrust_line_beside_and_against_the_axis),
        cmocka_unit_test(test_loads__thrust_gains_what_the_air_no_longer_presses),
        cmocka_unit_test(test_loads__the_jet_carries_angular_momentum_away),
        cmocka_unit_test(test_loads__air_pulls_beside_an_offset_centre_of_mass),
        cmocka_unit_test(test_loads__incidence_rolls_by_its_square_and_a_period_per_fin),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
