/* Gyroscopic and aerodynamic stability as a flight reports it: against the eigenvalues of the linearised equations of motion, against Murphy's
 * conditions, and through whole flights. */
#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <gsl/gsl_eigen.h>

#include "flight/advance.h"
#include "flight/observe.h"
#include "near.h"
#include "numeric/lane_math.h"
#include "support_vehicle.h"

/* The vehicle of resonance_worked_example.csv, fatter: slope 10, |margin| 0.2 m, Ix 0.9, Iy 6, at 300 m/s in standard air. */
static const double SPEED = 300.0, IX = 0.9, IY = 6.0, SLOPE = 10.0, FREQUENCY = 12.0131970;

struct rig {
    struct support_vehicle vehicle;
    struct rc_model *model;
    struct rc_block *block;
};

/* in margin [m], negative is unstable; damping ratio of the worked pitch frequency; axial force coefficient */
static void rig_up(struct rig *rig, double margin, double damping_ratio, double axial)
{
    const double qsd = 0.5 * 1.225 * SPEED * SPEED * 0.25 * RC_PI * 0.01 * 0.1;
    const double damping = -2.0 * damping_ratio * FREQUENCY * IY / qsd * (2.0 * SPEED / 0.1);
    const double coefficient[RC_N_FLAT_COLUMNS] = {axial, axial, SLOPE, 1.5 + margin, damping, 0.0, 0.0};
    struct support_vehicle *const vehicle = &rig->vehicle;
    support_vehicle_demo(vehicle);
    support_vehicle_lock(vehicle);
    support_vehicle_flatten(vehicle, coefficient);
    vehicle->design.platform.inertia = 0.0;
    vehicle->design.site.elevation = vehicle->design.site.temperature_offset = vehicle->design.wind.speed = 0.0;
    struct rc_vehicle_design *const v = &vehicle->design.vehicle;
    v->diameter = 0.1;
    v->cm_burnt = v->cm_loaded = 1.5;
    v->ix_loaded = v->ix_burnt = IX;
    v->iy_loaded = v->iy_burnt = IY;
    rig->model = support_vehicle_model(vehicle, NULL, 0);
    rig->block = support_vehicle_block(rig->model, &vehicle->design);
}

static void take_down(struct rig *rig)
{
    rc_block_free(rig->block);
    rc_model_free(rig->model);
}

/* What one look at this roll rate yields. */
struct seen {
    double arms, ratio, gyro, spin;
};

static struct seen look(struct rig *rig, double roll_rate)
{
    struct rc_vehicle_lanes *const v = &rig->block->v;
    double y[RC_N_STATE];
    support_vehicle_upright(0.0, SPEED, y);
    y[RC_STATE_ROLL_RATE] = roll_rate;
    support_vehicle_place(rig->block, y);
    support_vehicle_moment(&rig->vehicle, 30.0, &v->now);
    for (int lane = 0; lane < RC_LANES; lane++) {
        v->peak[RC_PEAK_SPEED_SQUARED][lane] = v->spin_max[0][lane] = 0.0;
        v->arm_damping_min[lane] = v->pitch_damping_min[0][lane] = v->gyro_min[0][lane] = INFINITY;
        v->pitch_damping_min[1][lane] = v->gyro_min[1][lane] = v->spin_max[1][lane] = 1.0;
    }
    rc_advance_look(rig->block);
    rc_observe_peaks(rig->block);
    return (struct seen){v->arm_damping_min[0], sqrt(v->pitch_damping_min[0][0] / v->pitch_damping_min[1][0]),
                         v->gyro_min[0][0] / v->gyro_min[1][0], sqrt(-v->spin_max[0][0] / v->spin_max[1][0])};
}

/* Pitch damping over Iy and turn of the path by incidence [1/s], squared pitch frequency [1/s2], by hand. */
struct by_hand {
    double c, lift, square;
};

static struct by_hand terms(const struct rig *rig, double margin, double damping_ratio, double axial)
{
    const double qs = 0.5 * 1.225 * SPEED * SPEED * 0.25 * RC_PI * 0.01;
    return (struct by_hand){2.0 * damping_ratio * FREQUENCY,
                            qs * (SLOPE - axial) / (rig->vehicle.design.vehicle.mass_burnt * SPEED), qs * SLOPE * margin / IY};
}

enum { N_LINEAR = 8 };

/* How fast the state grows most, from the right-hand side's own derivatives [1/s]: speed and roll held, gravity and the growth of the speed
 * itself left out, as the linear theory has it. The attitude's length and its turn about the nose add two zeros, the direction of flight two more. */
static double fastest_growth(struct rig *rig, double roll_rate)
{
    static const int which[N_LINEAR] = {RC_STATE_V_EAST, RC_STATE_V_NORTH, RC_STATE_QW, RC_STATE_QX,
                                        RC_STATE_QY, RC_STATE_QZ, RC_STATE_PITCH_RATE, RC_STATE_YAW_RATE};
    double y[RC_N_STATE], up[RC_N_STATE], down[RC_N_STATE];
    struct rc_moment_lanes at;
    support_vehicle_moment(&rig->vehicle, 30.0, &at);
    support_vehicle_upright(0.0, SPEED, y);
    y[RC_STATE_ROLL_RATE] = roll_rate;
    support_vehicle_slope(rig->block, &at, y, up);
    const double speeding = (up[RC_STATE_V_UP] + 9.80665) / SPEED;
    gsl_matrix *const jacobian = gsl_matrix_alloc(N_LINEAR, N_LINEAR);
    gsl_vector_complex *const value = gsl_vector_complex_alloc(N_LINEAR);
    gsl_eigen_nonsymm_workspace *const work = gsl_eigen_nonsymm_alloc(N_LINEAR);
    for (size_t column = 0; column < N_LINEAR; column++) {
        const double centre = y[which[column]], reach = column < 2 ? 1e-3 : 1e-6;
        y[which[column]] = centre + reach;
        support_vehicle_slope(rig->block, &at, y, up);
        y[which[column]] = centre - reach;
        support_vehicle_slope(rig->block, &at, y, down);
        y[which[column]] = centre;
        for (size_t row = 0; row < N_LINEAR; row++)
            gsl_matrix_set(jacobian, row, column, (up[which[row]] - down[which[row]]) / (2.0 * reach) - (row == column && row < 2 ? speeding : 0.0));
    }
    assert_int_equal(gsl_eigen_nonsymm(jacobian, value, work), 0);
    double growth = -INFINITY;
    for (size_t i = 0; i < N_LINEAR; i++) {
        const gsl_complex one = gsl_vector_complex_get(value, i);
        if (hypot(GSL_REAL(one), GSL_IMAG(one)) > 0.01)
            growth = fmax(growth, GSL_REAL(one));
    }
    gsl_eigen_nonsymm_free(work);
    gsl_vector_complex_free(value);
    gsl_matrix_free(jacobian);
    return growth;
}

/* against GSL's eigenvalues of the equations of motion as they are coded, by differences; any roll, stable or not, with drag or without */
static void test_stability__least_damping_is_the_linearised_motions(void **state)
{
    (void)state;
    static const double margin[4] = {0.2, 0.02, -0.05, -0.2}, ratio[2] = {0.05, 0.3}, axial[2] = {0.0, 0.7}, rolls[5] = {0.0, 3.0, -25.0, 90.0, 400.0};
    double worst = 0.0;
    int n_growing = 0;
    for (int i = 0; i < 16; i++) {
        struct rig rig;
        rig_up(&rig, margin[i % 4], ratio[i / 4 % 2], axial[i / 8]);
        for (int roll = 0; roll < 5; roll++) {
            const double growth = fastest_growth(&rig, rolls[roll]), seen = look(&rig, rolls[roll]).arms;
            worst = fmax(worst, fabs(seen + growth));
            n_growing += seen < 0.0;
        }
        take_down(&rig);
    }
    print_message("least damping off the eigenvalues by %.1e 1/s at worst; %d of 80 grow\n", worst, n_growing);
    assert_near(worst, 0.0, 1e-8);
    assert_true(n_growing > 10 && n_growing < 40);
}

/* closed form (Murphy, Free Flight Motion of Symmetric Missiles, BRL 1216, 1963; McCoy, Modern Exterior Ballistics, 1999 [both memory]): an
 * unstable vehicle is held by its spin while 1/S_g < S_d (2 - S_d), S_g = (Ix p)^2 / (4 Iy M_alpha), S_d = 2 l/(c + l) without a Magnus moment. The
 * books leave l c out beside M_alpha/Iy; with it the condition is exact. */
static void test_stability__spin_holds_an_unstable_vehicle_as_murphy_says(void **state)
{
    (void)state;
    static const double ratios[3] = {0.02, 0.1, 0.3};
    for (int i = 0; i < 3; i++) {
        struct rig rig;
        rig_up(&rig, -0.2, ratios[i], 0.3);
        const struct by_hand by = terms(&rig, -0.2, ratios[i], 0.3);
        const double s_d = 2.0 * by.lift / (by.c + by.lift), least = 1.0 / (s_d * (2.0 - s_d));
        const double gyroscope = sqrt(-4.0 * (by.square + by.lift * by.c) * least), p = gyroscope * IY / IX;
        const struct seen on = look(&rig, p), faster = look(&rig, 1.01 * p), slower = look(&rig, -0.99 * p);
        print_message("damping ratio %.2f: held from S_g = %.4f (by hand %.4f) on; there %.1e 1/s, faster %+.4f, slower %+.4f\n", ratios[i], on.gyro,
                      gyroscope * gyroscope / (-4.0 * by.square), on.arms, faster.arms, slower.arms);
        assert_near(on.arms, 0.0, 1e-4); /* the air's density differs from 1.225 in the seventh digit */
        assert_true(faster.arms > 1e-3 && slower.arms < -1e-3);
        assert_ratio(on.gyro, gyroscope * gyroscope / (-4.0 * by.square), 2e-6);
        assert_true(look(&rig, 0.0).gyro <= 0.0);
        take_down(&rig);
    }
}

/* by hand: without roll both arms die away at (c + l)/2, and the damping ratio is (c + l)/(2 sqrt(w^2 + c l)); a stable vehicle has no S_g, an unstable
 * one no ratio; the roll over the rate of resonance w/sqrt(1 - Ix/Iy) */
static void test_stability__of_a_vehicle_without_roll_is_its_damping_ratio(void **state)
{
    (void)state;
    struct rig rig;
    rig_up(&rig, 0.2, 0.05, 0.4);
    const struct by_hand by = terms(&rig, 0.2, 0.05, 0.4);
    const struct seen still = look(&rig, 0.0), turning = look(&rig, -20.0);
    assert_ratio(still.arms, 0.5 * (by.c + by.lift), 2e-6);
    assert_ratio(still.ratio, 0.5 * (by.c + by.lift) / sqrt(by.square + by.c * by.lift), 2e-6);
    assert_ratio(turning.ratio, still.ratio, 1e-12);
    assert_true(turning.arms < still.arms && isinf(still.gyro));
    assert_ratio(turning.spin, 20.0 / (FREQUENCY / sqrt(1.0 - IX / IY)), 2e-6);
    take_down(&rig);
    rig_up(&rig, -0.2, 0.0, 0.4);
    const struct seen unstable = look(&rig, 0.0);
    assert_true(isinf(unstable.ratio) && unstable.spin <= 0.0);
    const double lift = terms(&rig, -0.2, 0.0, 0.4).lift;
    assert_ratio(unstable.arms, 0.5 * (lift - sqrt(lift * lift + 4.0 * FREQUENCY * FREQUENCY)), 2e-6);
    take_down(&rig);
}

/* The same again from a flight's moments. */
struct again {
    const struct rc_block *block;
    double arms, ratio, fastest;
};

static void look_again(void *user, const struct rc_moment *moment)
{
    struct again *const again = user;
    const struct rc_vehicle_lanes *const v = &again->block->v;
    const double speed = sqrt(moment->velocity[0] * moment->velocity[0] + moment->velocity[1] * moment->velocity[1] +
                              moment->velocity[2] * moment->velocity[2]);
    again->fastest = fmax(again->fastest, speed);
    if (v->is_free[0] < 0.5 || speed <= 0.25 * again->fastest)
        return;
    const double cm = v->now.cm[0];
    double c[RC_N_COEFFICIENTS];
    support_vehicle_coefficients(v, c);
    const double qs = v->seen.q[0] * v->area[0], d = v->diameter[0], mass = v->now.mass[0], iy = v->now.iy[0];
    const double cmq = c[RC_C_DAMP_0] + cm * (c[RC_C_DAMP_1] + cm * c[RC_C_DAMP_2]), lever = v->nozzle[0] - cm;
    const double jet = v->now.burn_rate[0] * (v->iy_gain[0] - v->mass_gain[0] * lever * lever);
    const double fading = (jet - qs * d * d * cmq / (2.0 * v->seen.speed[0])) / iy;
    const double axial = moment->thrust - qs * (v->now.is_burning[0] > 0.5 ? c[RC_C_AXIAL_ON] : c[RC_C_AXIAL_OFF]);
    const double turning = (qs * c[RC_C_NORMAL] + axial) / (mass * v->seen.speed[0]);
    const double square = qs * (c[RC_C_NORMAL_X] - cm * c[RC_C_NORMAL]) / iy;
    const double complex spin = I * v->now.ix[0] / iy * moment->roll_rate;
    const double complex sum = fading + turning - spin, root = csqrt(sum * sum - 4.0 * (square + turning * (fading - spin)));
    again->arms = fmin(again->arms, 0.5 * (creal(sum) - fabs(creal(root))));
    again->ratio = fmin(again->ratio, 0.5 * (fading + turning) / sqrt(square + fading * turning));
}

/* A flight's least values, of a vehicle that spins through resonance, counted again from its moments. */
static void test_stability__over_a_flight_is_that_of_its_moments(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    support_vehicle_lock(&vehicle);
    vehicle.design.vehicle.cm_loaded = vehicle.design.vehicle.cm_burnt = 1.72;
    static const double cants[2] = {0.02, 0.35};
    for (int i = 0; i < 2; i++) {
        vehicle.design.vehicle.fins[0].cant = cants[i] * RC_DEGREE;
        struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
        struct rc_block *block = NULL;
        struct rc_error err;
        struct rc_record record = {.bin = NULL};
        const uint64_t flight = 0;
        assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
        struct again again = {.block = block, .arms = INFINITY, .ratio = INFINITY};
        rc_block_fly(block, &vehicle.design, 1, &flight, 1, &record, look_again, &again);
        const double *const m = record.measure;
        print_message("cant %.2f deg: arms %.5f 1/s (%.5f), ratio %.5f (%.5f), roll over resonance %.3f\n", cants[i], m[RC_MEASURE_arm_damping_min_per_s],
                      again.arms, m[RC_MEASURE_pitch_damping_min], again.ratio, m[RC_MEASURE_roll_to_resonance_max]);
        assert_int_equal(record.end, RC_END_APOGEE);
        assert_ratio(m[RC_MEASURE_arm_damping_min_per_s], again.arms, 0.02);
        assert_ratio(m[RC_MEASURE_pitch_damping_min], again.ratio, 0.01);
        assert_near(m[RC_MEASURE_gyro_stability_min], 1000.0, 0.0); /* never unstable: a limit on it is met */
        assert_true((m[RC_MEASURE_roll_to_resonance_max] > 1.0) == (m[RC_MEASURE_resonance_crossings] > 0.5));
        assert_true((m[RC_MEASURE_roll_to_resonance_max] > 1.0) == (i == 1));
        rc_block_free(block);
        rc_model_free(model);
    }
}

/* Too heavy a tail: it topples, and says so. */
static void test_stability__of_a_tail_heavy_flight_is_lost(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    support_vehicle_lock(&vehicle);
    vehicle.design.vehicle.cm_loaded = vehicle.design.vehicle.cm_burnt = 2.2;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    const struct rc_record record = support_vehicle_fly(model, &vehicle.design, NULL, NULL);
    const double *const m = record.measure;
    print_message("S_g %.2e, arms %.3f 1/s, margin %.2f\n", m[RC_MEASURE_gyro_stability_min], m[RC_MEASURE_arm_damping_min_per_s],
                  m[RC_MEASURE_static_margin_min_cal]);
    assert_true(m[RC_MEASURE_static_margin_min_cal] < 0.0);
    assert_true(m[RC_MEASURE_gyro_stability_min] >= 0.0 && m[RC_MEASURE_gyro_stability_min] < 1.0);
    assert_true(m[RC_MEASURE_arm_damping_min_per_s] < 0.0);
    rc_model_free(model);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stability__least_damping_is_the_linearised_motions),
        cmocka_unit_test(test_stability__spin_holds_an_unstable_vehicle_as_murphy_says),
        cmocka_unit_test(test_stability__of_a_vehicle_without_roll_is_its_damping_ratio),
        cmocka_unit_test(test_stability__over_a_flight_is_that_of_its_moments),
        cmocka_unit_test(test_stability__of_a_tail_heavy_flight_is_lost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
