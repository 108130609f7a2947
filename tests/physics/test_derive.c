/* The right-hand side against closed forms: roll spin-up, torque-free precession, the linear epicycle, coning through resonance;
 * and the coefficients that fly against those that are printed. */
#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "flight/aero.h"
#include "flight/body.h"
#include "flight/derive.h"
#include "flight/drag.h"
#include "near.h"
#include "numeric/lane_math.h"
#include "support/reference.h"
#include "support_vehicle.h"

/* Masks for support_vehicle_rk4: roll alone, and attitude with everything that turns it. */
static const double ROLL_ONLY[RC_N_STATE] = {[RC_STATE_ROLL_RATE] = 1.0, [RC_STATE_ROLL] = 1.0};
static const double TURNING[RC_N_STATE] = {
    [RC_STATE_QW] = 1.0, [RC_STATE_QX] = 1.0, [RC_STATE_QY] = 1.0, [RC_STATE_QZ] = 1.0,
    [RC_STATE_PITCH_RATE] = 1.0, [RC_STATE_YAW_RATE] = 1.0, [RC_STATE_ROLL_RATE] = 1.0, [RC_STATE_ROLL] = 1.0,
};

/* A row of a reference table of quantity and value. */
static double quoted(const struct reference *table, const char *quantity)
{
    for (int row = 0; row < reference_rows(table); row++)
        if (strcmp(reference_text(table, row, "quantity"), quantity) == 0)
            return reference_number(table, row, "value");
    fail_msg("no row '%s'", quantity);
    return NAN;
}

/* A vehicle at sea level in still standard air with constant coefficients; the platform adds nothing. */
static void still_vehicle(struct support_vehicle *vehicle, const double coefficient[RC_N_FLAT_COLUMNS])
{
    support_vehicle_demo(vehicle);
    support_vehicle_lock(vehicle);
    support_vehicle_flatten(vehicle, coefficient);
    struct rc_design *const design = &vehicle->design;
    design->vehicle.diameter = 0.1;
    design->platform.inertia = 0.0;
    design->site.elevation = 0.0;
    design->site.temperature_offset = 0.0;
    design->wind.speed = 0.0;
}

struct rig {
    struct rc_model *model;
    struct rc_block *block;
    struct rc_moment_lanes at; /* burnt out */
};

static void rig_up(struct rig *rig, const struct support_vehicle *vehicle)
{
    rig->model = support_vehicle_model(vehicle, NULL, 0);
    rig->block = support_vehicle_block(rig->model, &vehicle->design);
    support_vehicle_moment(vehicle, 30.0, &rig->at);
}

static void take_down(struct rig *rig)
{
    rc_block_free(rig->block);
    rc_model_free(rig->model);
}

/* source fin_roll_worked_example.csv (closed forms computed there): p = p_steady (1 - exp(-t/tau)) at 200 m/s, mean cant 0.1 degree,
 * tau = 2 V Ix / (q S d^2 |Clp|), both coefficients from the strip sums of four fins at Mach 0.3 */
static void test_derive__roll_spins_up_at_the_worked_rate_and_time(void **state)
{
    (void)state;
    struct reference *const table = reference_open("fin_roll_worked_example.csv");
    const double steady = quoted(table, "example_p_steady");
    const double tau = quoted(table, "example_roll_time_constant_strip_-26.430934");
    const double reach = quoted(table, "example_roll_spin_up_distance_strip_-26.430934");
    double coefficient[RC_N_FLAT_COLUMNS] = {0.5, 0.5, 10.0, 1.9, -300.0, 0.0, 0.0};
    coefficient[RC_AERO_CL_DELTA] = quoted(table, "M0.3_N4_Cldelta_strip");
    coefficient[RC_AERO_CL_P] = quoted(table, "M0.3_N4_Clp_strip_same_slope");
    reference_close(table);
    struct support_vehicle vehicle;
    struct rig rig;
    still_vehicle(&vehicle, coefficient);
    vehicle.layout.n_fin_sets = 1;
    vehicle.design.vehicle.fins[0].cant = 0.1 * RC_DEGREE;
    vehicle.design.vehicle.ix_loaded = vehicle.design.vehicle.ix_burnt = 0.045;
    rig_up(&rig, &vehicle);
    double y[RC_N_STATE];
    support_vehicle_upright(0.0, 200.0, y);
    const int n_per_tau = 100;
    for (int i = 1; i <= 12 * n_per_tau; i++) {
        support_vehicle_rk4(rig.block, &rig.at, ROLL_ONLY, tau / n_per_tau, y);
        const double t = i * tau / n_per_tau;
        assert_near(y[RC_STATE_ROLL_RATE], steady * -expm1(-t / tau), 1e-6 * steady);
        if (i == n_per_tau)
            print_message("rate at tau over steady rate %.8f (closed form %.8f); X = V tau %.5f m (quoted %.5f)\n",
                          y[RC_STATE_ROLL_RATE] / steady, -expm1(-1.0), 200.0 * t, reach);
    }
    assert_ratio(200.0 * tau, reach, 1e-6);
    /* Roll angle: steady (t - tau (1 - exp(-t/tau))). */
    assert_ratio(y[RC_STATE_ROLL], steady * tau * (12.0 + expm1(-12.0)), 1e-6);
    take_down(&rig);
}

static double dot(const double *a, const double *b)
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Angular momentum in east, north, up. */
static void momentum(const double y[RC_N_STATE], double ix, double iy, double h[3])
{
    double axis[3][3];
    for (int i = 0; i < 3; i++)
        support_vehicle_axis(y, i, axis[i]);
    for (int i = 0; i < 3; i++)
        h[i] = ix * y[RC_STATE_ROLL_RATE] * axis[0][i] + iy * (y[RC_STATE_PITCH_RATE] * axis[1][i] + y[RC_STATE_YAW_RATE] * axis[2][i]);
}

static void state_of(const struct rc_block *block, double y[RC_N_STATE])
{
    for (int i = 0; i < RC_N_STATE; i++)
        y[i] = block->v.y[i][0];
}

/* What the body's cross-flow force changes in the derivatives of a vehicle that flies upright and slips sideways.
 * out change  acceleration [m/s2] and turning [rad/s2], greatest of the components; at the moment they belong to */
static void change_by_lift(double side_speed, double change[2], struct rc_moment_lanes *at, double *force_at)
{
    double slope[2][RC_N_STATE], y[RC_N_STATE], axis[3];
    const double coefficient[RC_N_FLAT_COLUMNS] = {0.5, 0.5, 10.0, 1.9, -300.0, 0.0, 0.0};
    for (int with = 0; with < 2; with++) {
        struct support_vehicle vehicle;
        struct rig rig;
        still_vehicle(&vehicle, coefficient);
        vehicle.design.aero.body_lift_factor = with;
        rig_up(&rig, &vehicle);
        support_vehicle_upright(0.0, 100.0, y);
        support_vehicle_axis(y, 1, axis);
        for (int i = 0; i < 3; i++)
            y[RC_STATE_V_EAST + i] += side_speed * axis[i];
        support_vehicle_slope(rig.block, &rig.at, y, slope[with]);
        const struct rc_body_measure body = rc_body_measure_of(&vehicle.design.vehicle, &vehicle.layout);
        const struct rc_body_force lift = rc_body_lift(&body, &vehicle.design.vehicle);
        *at = rig.at;
        force_at[0] = lift.slope;
        force_at[1] = lift.station;
        take_down(&rig);
    }
    change[0] = change[1] = 0.0;
    for (int i = 0; i < 3; i++) {
        change[0] = fmax(change[0], fabs(slope[1][RC_STATE_V_EAST + i] - slope[0][RC_STATE_V_EAST + i]));
        change[1] = fmax(change[1], fabs(slope[1][RC_STATE_ROLL_RATE + i] - slope[0][RC_STATE_ROLL_RATE + i]));
    }
}

/* source Allen and Perkins, NACA Report 1048 [memory]: a force C S rho v^2/2 of the speed v across, at its own station; standard sea-level
 * density 1.225 */
static void test_derive__cross_flow_force_grows_with_the_square(void **state)
{
    (void)state;
    const double area = 0.25 * 3.14159265358979323846 * 0.01;
    for (double side = 5.0; side < 50.0; side += 10.0) {
        struct rc_moment_lanes at;
        double change[2], force_at[2];
        change_by_lift(side, change, &at, force_at);
        const double force = 0.5 * 1.225 * side * side * area * force_at[0];
        assert_ratio(change[0], force / at.mass[0], 1e-5);
        assert_ratio(change[1], force * fabs(force_at[1] - at.cm[0]) / at.iy[0], 1e-5);
    }
}

/* closed form (Euler's equations of a symmetric body): transverse rates turn at (Ix/Iy) p in the non-rolling frame, the nose goes
 * round the fixed angular momentum at |H|/Iy at a constant angle. By the project's own steps, in a vacuum, under gravity. */
static void test_derive__torque_free_body_precesses(void **state)
{
    (void)state;
    static const double nothing[RC_N_FLAT_COLUMNS] = {[RC_AERO_XCP] = 1.9};
    struct support_vehicle vehicle;
    struct rig rig;
    still_vehicle(&vehicle, nothing);
    rig_up(&rig, &vehicle);
    const double ix = rig.at.ix[0], iy = rig.at.iy[0], p = 40.0, across = 0.8;
    double y[RC_N_STATE], h0[3], h[3], nose[3];
    support_vehicle_upright(2000.0, 100.0, y);
    y[RC_STATE_ROLL_RATE] = p;
    y[RC_STATE_PITCH_RATE] = across;
    support_vehicle_place(rig.block, y);
    momentum(y, ix, iy, h0);
    const double size = sqrt(dot(h0, h0));
    support_vehicle_axis(y, 0, nose);
    const double cone = acos(dot(nose, h0) / size);
    double nose0[3], worst_cone = 0.0, worst_momentum = 0.0, worst_turn = 0.0, worst_round = 0.0;
    memcpy(nose0, nose, sizeof nose);
    for (int i = 1; i <= 10000; i++) {
        support_vehicle_step(rig.block, 0.001);
        state_of(rig.block, y);
        const double t = 0.001 * i;
        momentum(y, ix, iy, h);
        for (int axis = 0; axis < 3; axis++)
            worst_momentum = fmax(worst_momentum, fabs(h[axis] - h0[axis]) / size);
        const double complex rate = y[RC_STATE_PITCH_RATE] + I * y[RC_STATE_YAW_RATE];
        worst_turn = fmax(worst_turn, cabs(rate - across * cexp(I * ix / iy * p * t)));
        support_vehicle_axis(y, 0, nose);
        worst_cone = fmax(worst_cone, fabs(acos(dot(nose, h0) / size) - cone));
        /* Rodrigues: the first nose turned about H by |H| t / Iy. */
        const double u[3] = {h0[0] / size, h0[1] / size, h0[2] / size}, angle = size / iy * t, along = dot(u, nose0);
        for (int axis = 0; axis < 3; axis++) {
            const int b = (axis + 1) % 3, c = (axis + 2) % 3;
            const double turned = nose0[axis] * cos(angle) + (u[b] * nose0[c] - u[c] * nose0[b]) * sin(angle) + u[axis] * along * (1.0 - cos(angle));
            worst_round = fmax(worst_round, fabs(nose[axis] - turned));
        }
    }
    print_message("10 s, p = 40 rad/s, cone %.3f deg: momentum %.1e (relative), transverse rates %.1e rad/s, cone %.1e rad, nose %.1e\n",
                  cone / RC_DEGREE, worst_momentum, worst_turn, worst_cone, worst_round);
    assert_near(worst_momentum, 0.0, 1e-9);
    assert_near(worst_turn, 0.0, 1e-9);
    assert_near(worst_cone, 0.0, 1e-9);
    assert_near(worst_round, 0.0, 1e-9);
    assert_near(y[RC_STATE_ROLL_RATE], p, 0.0);
    take_down(&rig);
}

/* A stable vehicle by resonance_worked_example.csv: slope 10, margin 0.2 m, Ix 0.045, Iy 6, at 300 m/s in standard air. */
static void resonant_vehicle(struct support_vehicle *vehicle, double damping_ratio, double pitch_frequency)
{
    const double speed = 300.0, q = 0.5 * 1.225 * speed * speed, area = 0.25 * RC_PI * 0.01;
    const double damping = -2.0 * damping_ratio * pitch_frequency * 6.0 / (q * area * 0.1) * (2.0 * speed / 0.1);
    const double coefficient[RC_N_FLAT_COLUMNS] = {0.5, 0.5, 10.0, 1.7, damping, 0.0, 0.0};
    still_vehicle(vehicle, coefficient);
    struct rc_vehicle_design *const v = &vehicle->design.vehicle;
    v->cm_burnt = v->cm_loaded = 1.5;
    v->ix_loaded = v->ix_burnt = 0.045;
    v->iy_loaded = v->iy_burnt = 6.0;
}

/* Where the nose is off the direction of flight (up), as a complex number: east + i north, for a vehicle that stood upright. */
static double complex tilt(const double y[RC_N_STATE])
{
    double nose[3];
    support_vehicle_axis(y, 0, nose);
    return nose[0] + I * nose[1];
}

/* closed form (linear theory of a spinning symmetric missile; Murphy 1963 [memory]): without damping the nose is the sum of two arms
 * that turn at (P +- sqrt(P^2 - 4 M)) / 2, P = Ix p / Iy, M = -(pitch frequency)^2; started on one arm it stays on it. */
static void test_derive__epicycle_arms_turn_at_their_rates(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    struct rig rig;
    resonant_vehicle(&vehicle, 0.0, 12.0);
    rig_up(&rig, &vehicle);
    double y[RC_N_STATE], slope[RC_N_STATE];
    support_vehicle_upright(0.0, 300.0, y);
    support_vehicle_slope(rig.block, &rig.at, y, slope);
    const double square = 0.5 * rig.block->v.air[RC_AIR_DENSITY][0] * 300.0 * 300.0 * 0.25 * RC_PI * 0.01 * 10.0 * 0.2 / 6.0;
    const double p = 600.0, gyro = 0.045 / 6.0 * p;
    const double arm_rate[2] = {0.5 * (gyro + sqrt(gyro * gyro + 4.0 * square)), 0.5 * (gyro - sqrt(gyro * gyro + 4.0 * square))};
    for (int arm = 0; arm < 2; arm++) {
        const double small = 1e-5;
        support_vehicle_upright(0.0, 300.0, y);
        /* Nose east by `small` (about the y axis), moving north at rate times small: about the z axis. */
        const double half = 0.5 * (0.5 * RC_PI - small);
        y[RC_STATE_QW] = cos(half);
        y[RC_STATE_QY] = -sin(half);
        double across[3];
        support_vehicle_axis(y, 1, across);
        y[RC_STATE_ROLL_RATE] = p;
        y[RC_STATE_YAW_RATE] = arm_rate[arm] * small * across[1]; /* nose' = r y - q z */
        const double h = 0.001;
        double worst = 0.0;
        for (int i = 1; i <= 5000; i++) {
            support_vehicle_rk4(rig.block, &rig.at, TURNING, h, y);
            /* The body's roll turns about the nose as seen from above: counter-clockwise, as east + i north counts. */
            worst = fmax(worst, cabs(tilt(y) / small - cexp(I * arm_rate[arm] * h * i)));
        }
        print_message("arm %+.6f rad/s: after 5 s off by %.1e of its length\n", arm_rate[arm], worst);
        assert_near(worst, 0.0, 1e-6);
    }
    take_down(&rig);
}

/* closed form (linear theory with damping and lift, without Magnus moment; Murphy 1963 [memory]): incidence is the sum of two arms whose
 * exponents s are the roots of s^2 + (c + L - i P) s + M + L (c - i P) = 0; c pitch damping over Iy, L = q A CN/(m V), M the squared pitch
 * frequency. Started on one arm, with the flight path where it belongs, it stays on it and dies away at that arm's rate. */
static void test_derive__epicycle_arms_die_away_at_their_rates(void **state)
{
    (void)state;
    double mask[RC_N_STATE];
    memcpy(mask, TURNING, sizeof mask);
    mask[RC_STATE_V_EAST] = mask[RC_STATE_V_NORTH] = 1.0;
    struct support_vehicle vehicle;
    struct rig rig;
    resonant_vehicle(&vehicle, 0.05, 12.0);
    vehicle.flat[RC_AERO_CA_OFF][0] = vehicle.flat[RC_AERO_CA_ON][0] = 0.0;
    rig_up(&rig, &vehicle);
    double ground[RC_N_STATE], slope[RC_N_STATE];
    support_vehicle_upright(0.0, 300.0, ground);
    support_vehicle_slope(rig.block, &rig.at, ground, slope); /* fetches the air there */
    const double density = rig.block->v.air[RC_AIR_DENSITY][0], speed = 300.0, p = 600.0, small = 1e-5, h = 0.001;
    const double qs = 0.5 * density * speed * speed * 0.25 * RC_PI * 0.01;
    const double square = qs * 10.0 * 0.2 / 6.0, c = -qs * 0.01 * vehicle.flat[RC_AERO_CMQ][0] / (2.0 * speed * 6.0);
    const double lift = qs * 10.0 / (rig.at.mass[0] * speed);
    const double complex spin = I * (0.045 / 6.0 * p), sum = c + lift - spin, root = csqrt(sum * sum - 4.0 * (square + lift * (c - spin)));
    for (int arm = 0; arm < 2; arm++) {
        const double complex exponent = 0.5 * (-sum + (arm == 0 ? root : -root));
        /* Incidence a, path w' = L a, nose n = a + w. At the start a = 1, w = L/s. */
        const double complex path = lift / exponent, nose = 1.0 + path, turn = exponent * nose;
        double y[RC_N_STATE], across[2][3], axis[3];
        support_vehicle_upright(0.0, speed, y);
        /* From up to the nose's place about a level axis, after the quarter turn that stands it up. */
        const double complex half = 0.5 * small * nose;
        const double w = sqrt(0.5), dx = -cimag(half), dy = creal(half);
        y[RC_STATE_QW] = w + dy * w;
        y[RC_STATE_QX] = dx * w;
        y[RC_STATE_QY] = -w + dy * w;
        y[RC_STATE_QZ] = -dx * w;
        y[RC_STATE_V_EAST] = speed * small * creal(path);
        y[RC_STATE_V_NORTH] = speed * small * cimag(path);
        for (int i = 0; i < 2; i++)
            support_vehicle_axis(y, i + 1, across[i]);
        support_vehicle_axis(y, 0, axis);
        assert_near(cabs(axis[0] + I * axis[1] - small * nose), 0.0, 1e-5 * small);
        y[RC_STATE_ROLL_RATE] = p;
        y[RC_STATE_YAW_RATE] = small * (creal(turn) * across[0][0] + cimag(turn) * across[0][1]);    /* nose' = r y - q z */
        y[RC_STATE_PITCH_RATE] = -small * (creal(turn) * across[1][0] + cimag(turn) * across[1][1]);
        double worst = 0.0;
        for (int i = 1; i <= 2000; i++) {
            support_vehicle_rk4(rig.block, &rig.at, mask, h, y);
            const double complex incidence = (tilt(y) - (y[RC_STATE_V_EAST] + I * y[RC_STATE_V_NORTH]) / speed) / small;
            worst = fmax(worst, cabs(incidence - cexp(exponent * h * i)));
        }
        print_message("arm %+.4f rad/s dying at %.4f 1/s: after 2 s off by %.1e of its length\n", cimag(exponent), -creal(exponent), worst);
        assert_true(creal(exponent) < -0.3);
        assert_near(worst, 0.0, 1e-5);
    }
    take_down(&rig);
}

/* source resonance_worked_example.csv (closed form, computed): amplification of trim against roll rate, damping ratio 0.05. One
 * uneven fin, 1e-4 degree, so that the motion is linear; steady coning after the transient has died away, over that at no roll. */
static void test_derive__coning_amplifies_as_linear_theory_says(void **state)
{
    (void)state;
    static const char *const name[6] = {NULL, "AF_zeta0.05_p/omega=0.5", "AF_zeta0.05_p/omega=0.8", "AF_zeta0.05_p/omega=1.0",
                                        "AF_zeta0.05_p/omega=1.25", "AF_zeta0.05_p/omega=2.0"};
    static const double ratio[6] = {0.0, 0.5, 0.8, 1.0, 1.25, 2.0};
    struct reference *const table = reference_open("resonance_worked_example.csv");
    const double frequency = quoted(table, "omega_pitch");
    struct support_vehicle vehicle;
    struct rig rig;
    resonant_vehicle(&vehicle, 0.05, frequency);
    vehicle.layout.n_fin_sets = 1;
    vehicle.design.vehicle.fins[0].cant = 0.0;
    vehicle.design.vehicle.fins[0].misalignment[0] = 1e-4 * RC_DEGREE;
    rig_up(&rig, &vehicle);
    double still = 0.0;
    for (int which = 0; which < 6; which++) {
        double y[RC_N_STATE];
        support_vehicle_upright(0.0, 300.0, y);
        y[RC_STATE_ROLL_RATE] = ratio[which] * frequency;
        for (int i = 0; i < 12000; i++)
            support_vehicle_rk4(rig.block, &rig.at, TURNING, 0.0025, y);
        const double cone = cabs(tilt(y));
        if (which == 0) {
            still = cone;
            continue;
        }
        const double wanted = quoted(table, name[which]);
        print_message("p/omega %.2f: amplification %.6f, quoted %.6f\n", ratio[which], cone / still, wanted);
        assert_ratio(cone / still, wanted, 1e-4);
    }
    reference_close(table);
    take_down(&rig);
}

/* A canted two-set vehicle with a boat-tail, all of whose coefficients come from its geometry: no part of them is zero at Mach 1.5. */
static void estimated_vehicle(struct support_vehicle *vehicle)
{
    static const double mach[2] = {0.0, 3.0}, induced[2] = {1.0, 4.0};
    support_vehicle_demo(vehicle);
    struct rc_vehicle_design *const v = &vehicle->design.vehicle;
    vehicle->layout.aero = (struct rc_aero_points){.n = 2, .mach = mach, .column = {[RC_AERO_INDUCED_ROLL] = induced}};
    vehicle->layout.n_fin_sets = 2;
    vehicle->layout.n_fins[1] = 4;
    vehicle->layout.n_sections = 1;
    v->sections[0] = (struct rc_body_section){.station = 2.34, .length = 0.01, .fore_diameter = 0.098, .aft_diameter = 0.096};
    v->fins[1] = (struct rc_fin_set){.root_chord = 0.08, .tip_chord = 0.05, .span = 0.04, .sweep = 0.02, .thickness = 0.002,
                                     .station = 1.7, .root_radius = 0.049};
    v->fins[1].cant = 0.03 * RC_DEGREE;
    v->fins[0].misalignment[0] = 0.2 * RC_DEGREE;
    v->fins[0].misalignment[1] = 0.1 * RC_DEGREE;
    v->fins[1].misalignment[1] = -0.05 * RC_DEGREE;
    v->fins[0].front_share = v->fins[0].back_share = v->fins[1].front_share = v->fins[1].back_share = 0.3;
    vehicle->design.motor.exit_area = 0.3 * 0.25 * RC_PI * 0.096 * 0.096;
    vehicle->design.motor.stand_pressure = 101325.0;
    vehicle->design.aero = (struct rc_aero_design){
        .axial_factor = 1.0, .normal_factor = 1.0, .pitch_damping_factor = 1.0, .roll_forcing_factor = 1.0,
        .roll_damping_factor = 1.0, .body_lift_factor = 1.0, .friction_factor = 1.0, .base_factor = 1.0, .wave_factor = 1.0,
        .fin_drag_factor = 1.0, .induced_roll = 0.5, .induced_roll_factor = 1.0,
    };
}

/* What lane 0 should fly with, from the printed coefficients of the same design and its factors. The trim vectors are sums over the
 * fins of deflection times the normal to the fin; a fin's own share of a set's force is fin_slope. */
static void flown_from_point(const struct rc_block *block, const struct rc_design *design, const struct rc_layout *layout, double mach,
                             double *wanted)
{
    const struct rc_aero_design *const by = &design->aero;
    struct rc_aero_point at;
    rc_aero_point_at(&design->vehicle, layout, mach, &at);
    const double left = rc_drag_base_left(&design->vehicle, layout, design->motor.exit_area);
    assert_true(left > 0.1 && left < 0.9);
    at.ca_friction *= by->friction_factor;
    at.ca_base *= by->base_factor;
    at.ca_wave *= by->wave_factor;
    at.ca_fin *= by->fin_drag_factor;
    wanted[RC_C_AXIAL_ON] = by->axial_factor * rc_aero_axial(&at, 1, left);
    wanted[RC_C_AXIAL_OFF] = by->axial_factor * rc_aero_axial(&at, 0, 1.0);
    wanted[RC_C_NORMAL] = by->normal_factor * at.cn;
    wanted[RC_C_NORMAL_X] = wanted[RC_C_NORMAL] * (at.cn_x / at.cn + by->cp_shift);
    for (int power = 0; power < 3; power++)
        wanted[RC_C_DAMP_0 + power] = by->pitch_damping_factor * at.damp[power];
    wanted[RC_C_ROLL_DAMPING] = by->roll_damping_factor * at.cl_p;
    wanted[RC_C_BODY_LIFT] = by->body_lift_factor * at.body_lift;
    wanted[RC_C_BODY_LIFT_X] = by->body_lift_factor * at.body_lift_x;
    wanted[RC_C_INDUCED_ROLL] = by->induced_roll + by->induced_roll_factor * at.induced_roll;
    wanted[RC_C_ROLL_FORCING] = wanted[RC_C_TRIM_Y] = wanted[RC_C_TRIM_Z] = wanted[RC_C_TRIM_YX] = wanted[RC_C_TRIM_ZX] = 0.0;
    for (int set = 0; set < layout->n_fin_sets; set++) {
        wanted[RC_C_ROLL_FORCING] += by->roll_forcing_factor * at.cl_delta[set] * block->mean_deflection[0][set];
        for (int axis = 0; axis < 2; axis++) {
            wanted[RC_C_TRIM_Y + axis] += by->normal_factor * at.fin_slope[set] * block->trim[0][set][axis];
            wanted[RC_C_TRIM_YX + axis] += by->normal_factor * at.fin_moment[set] * block->trim[0][set][axis];
        }
    }
}

/* The coefficients that a vehicle flies with in the cell around Mach 1.5, held against the printed ones at both of the cell's ends. */
static void flies_as_printed(const struct support_vehicle *vehicle, const char *what)
{
    struct rig rig;
    rig_up(&rig, vehicle);
    const struct rc_vehicle_lanes *const v = &rig.block->v;
    rc_lane mach;
    for (int lane = 0; lane < RC_LANES; lane++)
        mach[lane] = 1.51;
    rc_derive_fetch_coefficients(rig.block, mach);
    const double end[2] = {v->mach_cell.knot[0], v->mach_cell.high[0]};
    assert_true(end[0] <= 1.51 && end[1] > 1.51);
    for (int which = 0; which < 2; which++) {
        double wanted[RC_N_COEFFICIENTS];
        flown_from_point(rig.block, &vehicle->design, &vehicle->layout, end[which], wanted);
        for (int i = 0; i < RC_N_COEFFICIENTS; i++) {
            const double got = v->coefficient[2 * i][0] + (end[which] - end[0]) * v->coefficient[2 * i + 1][0];
            if (!(fabs(got - wanted[i]) <= 1e-12 * fabs(wanted[i])) || wanted[i] == 0.0)
                fail_msg("%s: coefficient %d at Mach %g: flown %.12g, printed %.12g", what, i, end[which], got, wanted[i]);
        }
    }
    take_down(&rig);
}

/* out flown  (2 RC_N_COEFFICIENTS) of lane 0 at Mach 1.51, each with its slope */
static void flown_values(const struct support_vehicle *vehicle, double *flown)
{
    struct rig rig;
    rc_lane mach;
    rig_up(&rig, vehicle);
    for (int lane = 0; lane < RC_LANES; lane++)
        mach[lane] = 1.51;
    rc_derive_fetch_coefficients(rig.block, mach);
    for (int i = 0; i < 2 * RC_N_COEFFICIENTS; i++)
        flown[i] = rig.block->v.coefficient[i][0];
    take_down(&rig);
}

/* Each factor set apart, alone: what flies is what is printed times the factor, and the factor acts on something. */
static void test_derive__every_factor_acts_on_its_coefficient(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        size_t offset;
        double value;
    } factor[] = {
#define FACTOR(name, value) {#name, offsetof(struct rc_aero_design, name), value}
        FACTOR(axial_factor, 1.3),        FACTOR(normal_factor, 1.3),       FACTOR(cp_shift, 0.05),
        FACTOR(pitch_damping_factor, 1.3), FACTOR(roll_forcing_factor, 1.3), FACTOR(roll_damping_factor, 1.3),
        FACTOR(body_lift_factor, 1.3),    FACTOR(friction_factor, 1.3),     FACTOR(base_factor, 1.3),
        FACTOR(wave_factor, 1.3),         FACTOR(fin_drag_factor, 1.3),     FACTOR(induced_roll, 0.9),
        FACTOR(induced_roll_factor, 1.3),
#undef FACTOR
    };
    struct support_vehicle vehicle;
    estimated_vehicle(&vehicle);
    flies_as_printed(&vehicle, "no factor");
    double plain[2 * RC_N_COEFFICIENTS], changed[2 * RC_N_COEFFICIENTS];
    flown_values(&vehicle, plain);
    for (size_t which = 0; which < sizeof factor / sizeof factor[0]; which++) {
        estimated_vehicle(&vehicle);
        memcpy((char *)&vehicle.design.aero + factor[which].offset, &factor[which].value, sizeof factor[which].value);
        flown_values(&vehicle, changed);
        assert_memory_not_equal(plain, changed, sizeof plain);
        flies_as_printed(&vehicle, factor[which].name);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_derive__roll_spins_up_at_the_worked_rate_and_time),
        cmocka_unit_test(test_derive__cross_flow_force_grows_with_the_square),
        cmocka_unit_test(test_derive__torque_free_body_precesses),
        cmocka_unit_test(test_derive__epicycle_arms_turn_at_their_rates),
        cmocka_unit_test(test_derive__epicycle_arms_die_away_at_their_rates),
        cmocka_unit_test(test_derive__coning_amplifies_as_linear_theory_says),
        cmocka_unit_test(test_derive__every_factor_acts_on_its_coefficient),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
