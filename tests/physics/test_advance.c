/* The steps of the vehicle against SUNDIALS CVODE on the same right-hand side, closed forms and their own order. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <cvode/cvode.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <nvector/nvector_serial.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include "flight/advance.h"
#include "flight/atmosphere.h"
#include "near.h"
#include "numeric/lane_math.h"
#include "support_vehicle.h"

enum { N_LOOKS = 6 };
static const double LOOK[N_LOOKS] = {1.0, 3.0, 5.0, 10.0, 20.0, 26.0}; /* after lift-off [s]; multiples of the band interval */

/* States at the times of LOOK, from the project's steps. */
struct looks {
    double y[N_LOOKS][RC_N_STATE];
    int n;
};

static void look(void *user, const struct rc_moment *moment)
{
    struct looks *const looks = user;
    if (looks->n >= N_LOOKS || fabs(moment->time - LOOK[looks->n]) > 1e-9)
        return;
    double *const y = looks->y[looks->n++];
    memcpy(y + RC_STATE_EAST, moment->position, sizeof moment->position);
    memcpy(y + RC_STATE_V_EAST, moment->velocity, sizeof moment->velocity);
    y[RC_STATE_ROLL_RATE] = moment->roll_rate;
    y[RC_STATE_PITCH_RATE] = moment->pitch_rate;
    y[RC_STATE_YAW_RATE] = moment->yaw_rate;
    y[RC_STATE_ROLL] = moment->roll_angle;
}

/* What CVODE integrates: the project's right-hand side at moments made from the design's own numbers. */
struct ascent {
    const struct support_vehicle *vehicle;
    struct rc_block *block;
    double is_burning;
};

static int ascent_slope(realtype t, N_Vector y, N_Vector slope, void *user)
{
    const struct ascent *const ascent = user;
    struct rc_moment_lanes at;
    support_vehicle_moment(ascent->vehicle, t, &at);
    for (int lane = 0; lane < RC_LANES; lane++)
        at.is_burning[lane] = ascent->is_burning;
    support_vehicle_slope(ascent->block, &at, NV_DATA_S(y), NV_DATA_S(slope));
    return 0;
}

/* Roots: the end of the rail while on it, then the top of the flight. */
static int ascent_root(realtype t, N_Vector y, realtype *root, void *user)
{
    (void)t;
    const struct ascent *const ascent = user;
    const struct rc_vehicle_lanes *const v = &ascent->block->v;
    double travelled = 0.0;
    for (int axis = 0; axis < 3; axis++)
        travelled += v->rail_axis[axis][0] * NV_Ith_S(y, RC_STATE_EAST + axis);
    root[0] = v->is_free[0] > 0.5 ? NV_Ith_S(y, RC_STATE_V_UP) : travelled - v->rail_length[0];
    return 0;
}

static void set_free(struct rc_block *block, double is_free)
{
    for (int lane = 0; lane < RC_LANES; lane++)
        block->v.is_free[lane] = is_free;
}

/* On the rail at rest, as the flight starts: nose along the rail, y axis level. */
static void on_rail(const struct rc_site_design *site, double y[RC_N_STATE])
{
    memset(y, 0, RC_N_STATE * sizeof *y);
    const double turn = 0.5 * (0.5 * RC_PI - site->rail_azimuth), lift = -0.5 * site->rail_elevation;
    y[RC_STATE_QW] = cos(turn) * cos(lift);
    y[RC_STATE_QX] = -sin(turn) * sin(lift);
    y[RC_STATE_QY] = cos(turn) * sin(lift);
    y[RC_STATE_QZ] = sin(turn) * cos(lift);
}

/* The next time at which CVODE starts afresh or is looked at. */
static double next_stop(const struct support_vehicle *vehicle, double liftoff, double t, int n_looks)
{
    double stop = n_looks < N_LOOKS ? LOOK[n_looks] : 60.0;
    for (int row = 0; row < vehicle->layout.thrust.n; row++) {
        const double at = (vehicle->layout.thrust.time[row] - liftoff) * vehicle->design.motor.burn_time_factor;
        if (at > t + 1e-9 && at < stop)
            stop = at;
    }
    return stop;
}

/* The whole ascent by CVODE, Adams, started afresh at every thrust row and at the rail's end. out looks; ends height of apogee */
static double ascend(const struct support_vehicle *vehicle, const struct rc_model *model, struct looks *looks, double *exit_speed)
{
    SUNContext context;
    assert_int_equal(SUNContext_Create(NULL, &context), 0);
    struct ascent ascent = {.vehicle = vehicle, .block = support_vehicle_block(model, &vehicle->design), .is_burning = 1.0};
    const double liftoff = rc_motor_liftoff(&model->motor, &vehicle->design);
    N_Vector y = N_VNew_Serial(RC_N_STATE, context);
    on_rail(&vehicle->design.site, NV_DATA_S(y));
    set_free(ascent.block, 0.0);
    void *const cvode = CVodeCreate(CV_ADAMS, context);
    double t = 0.0;
    assert_int_equal(CVodeInit(cvode, ascent_slope, t, y), CV_SUCCESS);
    assert_int_equal(CVodeSStolerances(cvode, 1e-12, 1e-12), CV_SUCCESS);
    assert_int_equal(CVodeSetUserData(cvode, &ascent), CV_SUCCESS);
    SUNNonlinearSolver solver = SUNNonlinSol_FixedPoint(y, 0, context);
    assert_int_equal(CVodeSetNonlinearSolver(cvode, solver), CV_SUCCESS);
    assert_int_equal(CVodeRootInit(cvode, 1, ascent_root), CV_SUCCESS);
    assert_int_equal(CVodeSetMaxNumSteps(cvode, 1000000), CV_SUCCESS);
    bool is_up = false;
    while (!is_up) {
        const double stop = next_stop(vehicle, liftoff, t, looks->n);
        ascent.is_burning = t < (model->motor.end - liftoff) * vehicle->design.motor.burn_time_factor - 1e-9 ? 1.0 : 0.0;
        assert_int_equal(CVodeReInit(cvode, t, y), CV_SUCCESS);
        assert_int_equal(CVodeSetStopTime(cvode, stop), CV_SUCCESS);
        const int status = CVode(cvode, stop, y, &t, CV_NORMAL);
        assert_true(status >= 0);
        if (status == CV_ROOT_RETURN && ascent.block->v.is_free[0] > 0.5)
            is_up = true;
        else if (status == CV_ROOT_RETURN) {
            const double *const v = NV_DATA_S(y) + RC_STATE_V_EAST;
            *exit_speed = sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
            set_free(ascent.block, 1.0);
        } else if (looks->n < N_LOOKS && t == LOOK[looks->n])
            memcpy(looks->y[looks->n++], NV_DATA_S(y), sizeof looks->y[0]);
    }
    const double apogee = NV_Ith_S(y, RC_STATE_UP);
    SUNNonlinSolFree(solver);
    void *gone = cvode;
    CVodeFree(&gone);
    N_VDestroy(y);
    rc_block_free(ascent.block);
    SUNContext_Free(&context);
    return apogee;
}

/* Distance of two states' components first .. first + n - 1 over the size of the second. */
static double distance(const double *a, const double *b, int first, int n)
{
    double difference = 0.0, size = 0.0;
    for (int i = first; i < first + n; i++) {
        difference += (a[i] - b[i]) * (a[i] - b[i]);
        size += b[i] * b[i];
    }
    return sqrt(difference / size);
}

/* The ascent the comparison is about: wind, uneven fins, a motor that burns slower than its table. */
static void windy_vehicle(struct support_vehicle *vehicle)
{
    support_vehicle_demo(vehicle);
    support_vehicle_lock(vehicle);
    static const double misalignment[4] = {0.11, -0.03, 0.06, 0.02};
    for (int fin = 0; fin < 4; fin++)
        vehicle->design.vehicle.fins[0].misalignment[fin] = misalignment[fin] * RC_DEGREE;
    vehicle->design.wind.speed = 6.0;
    vehicle->design.motor.burn_time_factor = 1.04;
}

/* Greatest relative distances from CVODE over all looks: position, velocity, roll rate, roll angle. */
struct reached {
    double position, velocity, roll_rate, roll, apogee, exit_speed;
};

static struct reached compare(double scale, const struct looks *exact, double apogee, double exit_speed)
{
    struct support_vehicle vehicle;
    struct looks ours = {.n = 0};
    windy_vehicle(&vehicle);
    vehicle.layout.step_scale = scale;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    const struct rc_record record = support_vehicle_fly(model, &vehicle.design, look, &ours);
    struct reached far = {.apogee = fabs(record.measure[RC_MEASURE_apogee_m] / apogee - 1.0),
                          .exit_speed = fabs(record.measure[RC_MEASURE_rail_exit_mps] / exit_speed - 1.0)};
    assert_int_equal(record.end, RC_END_APOGEE);
    assert_int_equal(ours.n, N_LOOKS);
    for (int i = 0; i < N_LOOKS; i++) {
        const double *const a = ours.y[i], *const b = exact->y[i];
        far.position = fmax(far.position, distance(a, b, RC_STATE_EAST, 3));
        far.velocity = fmax(far.velocity, distance(a, b, RC_STATE_V_EAST, 3));
        far.roll_rate = fmax(far.roll_rate, distance(a, b, RC_STATE_ROLL_RATE, 1));
        far.roll = fmax(far.roll, distance(a, b, RC_STATE_ROLL, 1));
    }
    print_message("step x %-7g off CVODE by (relative): position %.1e velocity %.1e roll rate %.1e roll angle %.1e apogee %.1e "
                  "(%.4f m) rail exit %.1e\n", scale, far.position, far.velocity, far.roll_rate, far.roll, far.apogee,
                  record.measure[RC_MEASURE_apogee_m] - apogee, far.exit_speed);
    rc_model_free(model);
    return far;
}

/* source SUNDIALS CVODE 6.4, Adams, relative tolerance 1e-12, on the project's right-hand side; the steps themselves, the motor's
 * moments and the events are CVODE's and the test's. Windy ascent with uneven fins, drive standing. */
static void test_advance__whole_ascent_agrees_with_cvode(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    struct looks exact = {.n = 0};
    double exit_speed = 0.0;
    windy_vehicle(&vehicle);
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    const double apogee = ascend(&vehicle, model, &exact, &exit_speed);
    rc_model_free(model);
    assert_int_equal(exact.n, N_LOOKS);
    const struct reached usual = compare(1.0, &exact, apogee, exit_speed);
    compare(0.25, &exact, apogee, exit_speed);
    const struct reached fine = compare(1.0 / 16.0, &exact, apogee, exit_speed);
    const struct reached both[] = {usual, fine};
    const double bound[] = {1e-6, 1e-8};
    for (int i = 0; i < 2; i++) {
        assert_near(both[i].position, 0.0, bound[i]);
        assert_near(both[i].velocity, 0.0, bound[i]);
        assert_near(both[i].roll_rate, 0.0, bound[i]);
        assert_near(both[i].roll, 0.0, bound[i]);
        assert_near(both[i].apogee, 0.0, bound[i]);
        assert_near(both[i].exit_speed, 0.0, bound[i]);
    }
}

/* Nothing but thrust and gravity. */
static void vacuum_vehicle(struct support_vehicle *vehicle)
{
    static const double nothing[RC_N_FLAT_COLUMNS] = {[RC_AERO_XCP] = 1.9};
    support_vehicle_demo(vehicle);
    support_vehicle_lock(vehicle);
    support_vehicle_flatten(vehicle, nothing);
    vehicle->design.site.rail_elevation = 0.5 * RC_PI;
}

struct climb {
    const struct support_vehicle *vehicle;
};

static int climb_slope(double t, const double y[], double slope[], void *user)
{
    const struct climb *const climb = user;
    struct rc_moment_lanes at;
    support_vehicle_moment(climb->vehicle, t, &at);
    const double radius = 6356766.0, distance_to_centre = radius + climb->vehicle->design.site.elevation + y[0];
    slope[0] = y[1];
    slope[1] = at.thrust[0] / at.mass[0] - 9.80665 * (radius / distance_to_centre) * (radius / distance_to_centre);
    return GSL_SUCCESS;
}

/* Height and speed at LOOK[0 .. n_looks) of a vertical flight in a vacuum by GSL's Dormand-Prince 8, started afresh at the rows. */
static void climb_by_gsl(const struct support_vehicle *vehicle, double liftoff, int n_looks, double (*at)[2])
{
    struct climb climb = {.vehicle = vehicle};
    const gsl_odeiv2_system system = {.function = climb_slope, .dimension = 2, .params = &climb};
    gsl_odeiv2_driver *const driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-4, 1e-12, 1e-13);
    double t = 0.0, y[2] = {0.0, 0.0};
    for (int n = 0; n < n_looks;) {
        const double stop = next_stop(vehicle, liftoff, t, n);
        assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, stop, y), GSL_SUCCESS);
        gsl_odeiv2_driver_reset(driver);
        if (stop == LOOK[n])
            memcpy(at[n++], y, sizeof y);
    }
    gsl_odeiv2_driver_free(driver);
}

enum { N_CLIMB = 6000 }; /* milliseconds, past burn-out */

/* Where a parabola through the greatest of equidistant values and its two neighbours has its top. in step  between them; out most */
static double top_of(const double *value, int n, double step, double *most)
{
    int at = 1;
    for (int i = 1; i + 1 < n; i++)
        at = value[i] > value[at] ? i : at;
    const double rise = 0.5 * (value[at + 1] - value[at - 1]), bend = value[at + 1] - 2.0 * value[at] + value[at - 1];
    *most = value[at] - 0.5 * rise * rise / bend;
    return step * (at - rise / bend);
}

/* The same vertical flight looked at each millisecond by GSL: its greatest dynamic pressure, when that is, the greatest Mach number and
 * speed. The usual steps there are 10 ms long; looked at once a step only, the moment would be off by up to 5 ms. */
static void test_advance__peaks_are_met_inside_steps(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    vacuum_vehicle(&vehicle);
    vehicle.design.wind.speed = 0.0;
    static double pressure[N_CLIMB], mach[N_CLIMB], speed[N_CLIMB];
    struct climb climb = {.vehicle = &vehicle};
    const gsl_odeiv2_system system = {.function = climb_slope, .dimension = 2, .params = &climb};
    for (double burn = 0.93; burn < 1.08; burn += 0.02) {
        vehicle.design.motor.burn_time_factor = burn;
        gsl_odeiv2_driver *const driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-4, 1e-11, 1e-12);
        double t = 0.0, y[2] = {0.0, 0.0};
        for (int i = 0; i < N_CLIMB; i++) {
            struct rc_air air;
            assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, 0.001 * i, y), GSL_SUCCESS);
            gsl_odeiv2_driver_reset(driver);
            rc_atmosphere_profile(&vehicle.design.site, &y[0], 1, &air);
            pressure[i] = 0.5 * air.density * y[1] * y[1];
            mach[i] = y[1] / air.sound_speed;
            speed[i] = y[1];
        }
        gsl_odeiv2_driver_free(driver);
        double greatest_pressure, greatest_mach, greatest_speed;
        const double when = top_of(pressure, N_CLIMB, 0.001, &greatest_pressure);
        (void)top_of(mach, N_CLIMB, 0.001, &greatest_mach);
        (void)top_of(speed, N_CLIMB, 0.001, &greatest_speed);
        struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
        const struct rc_record record = support_vehicle_fly(model, &vehicle.design, NULL, NULL);
        rc_model_free(model);
        print_message("burn %.2f: greatest q at %.5f s %+.1e, q %+.1e, Mach %+.1e, speed %+.1e\n", burn, when,
                      record.measure[RC_MEASURE_q_max_time_s] - when, record.measure[RC_MEASURE_q_max_Pa] / greatest_pressure - 1.0,
                      record.measure[RC_MEASURE_mach_max] / greatest_mach - 1.0,
                      record.measure[RC_MEASURE_speed_max_mps] / greatest_speed - 1.0);
        assert_near(record.measure[RC_MEASURE_q_max_time_s], when, 2e-4);
        assert_near(record.measure[RC_MEASURE_q_max_Pa] / greatest_pressure, 1.0, 2e-6);
        assert_near(record.measure[RC_MEASURE_mach_max] / greatest_mach, 1.0, 2e-6);
        assert_near(record.measure[RC_MEASURE_speed_max_mps] / greatest_speed, 1.0, 2e-6);
    }
}

/* closed form: the rocket equation, speed = u ln(m0/m) - gravity's share, with u = impulse per propellant (mass falls with impulse);
 * gravity's share and height by GSL's Dormand-Prince 8 to 1e-13. Usual steps: kinks of the thrust table lie inside them. */
static void test_advance__vacuum_flight_follows_the_rocket_equation(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    struct looks ours = {.n = 0};
    double exact[N_LOOKS][2];
    vacuum_vehicle(&vehicle);
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    const struct rc_record record = support_vehicle_fly(model, &vehicle.design, look, &ours);
    assert_int_equal(record.end, RC_END_APOGEE);
    const double liftoff = rc_motor_liftoff(&model->motor, &vehicle.design);
    climb_by_gsl(&vehicle, liftoff, N_LOOKS, exact);
    for (int i = 0; i < N_LOOKS; i++) {
        print_message("t = %4.1f s: height %+.2e m, speed %+.2e m/s off\n", LOOK[i], ours.y[i][RC_STATE_UP] - exact[i][0],
                      ours.y[i][RC_STATE_V_UP] - exact[i][1]);
        assert_near(ours.y[i][RC_STATE_V_UP], exact[i][1], 1e-5);
        assert_near(ours.y[i][RC_STATE_UP], exact[i][0], 1e-4);
        assert_near(ours.y[i][RC_STATE_EAST], 0.0, 1e-9);
    }
    /* At 5 s the motor has burnt out. Gravity's share lies between g at the pad and g at the height reached by then. */
    double thrust, before;
    rc_motor_at(&model->motor, liftoff, &thrust, &before);
    const struct rc_vehicle_design *const v = &vehicle.design.vehicle;
    const double propellant = v->mass_loaded - v->mass_burnt;
    const double at_liftoff = v->mass_loaded - propellant * before / model->motor.total_impulse;
    const double gain = model->motor.total_impulse / propellant * log(at_liftoff / v->mass_burnt);
    const double lost = gain - ours.y[2][RC_STATE_V_UP];
    print_message("rocket equation: gain %.4f m/s, lost to gravity in 5 s %.4f m/s (g t = %.4f)\n", gain, lost, 5.0 * 9.80665);
    const double far = 6356766.0 / (6356766.0 + vehicle.design.site.elevation + ours.y[2][RC_STATE_UP]);
    const double near = 6356766.0 / (6356766.0 + vehicle.design.site.elevation);
    assert_true(lost < 5.0 * 9.80665 * near * near && lost > 5.0 * 9.80665 * far * far);
    rc_model_free(model);
}

/* closed form: drag quadratic in speed under constant gravity: height ln(1 + k v^2/g) / 2k, time atan(v sqrt(k/g)) / sqrt(k g). With
 * so much drag that the coast is short and the air's density changes by 0.1 %: taken at half height, the rest is second order. */
static void test_advance__coast_under_quadratic_drag_has_the_closed_forms(void **state)
{
    (void)state;
    static const double brake[RC_N_FLAT_COLUMNS] = {[RC_AERO_CA_ON] = 0.5, [RC_AERO_CA_OFF] = 200.0, [RC_AERO_XCP] = 1.9};
    struct support_vehicle vehicle;
    vacuum_vehicle(&vehicle);
    support_vehicle_flatten(&vehicle, brake);
    vehicle.design.wind.speed = 0.0;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *const block = support_vehicle_block(model, &vehicle.design);
    double y[RC_N_STATE];
    const double start = 1000.0, speed = 25.0, step = 0.002;
    support_vehicle_upright(start, speed, y);
    support_vehicle_place(block, y);
    double top = 0.0, time = 0.0;
    while (block->v.y[RC_STATE_V_UP][0] > 0.0) {
        support_vehicle_step(block, step);
        time += step;
    }
    /* Last step: to the zero of the vertical speed by the straight line between its ends. */
    const double before = rc_advance_inside(block, RC_STATE_V_UP, 0, 0.0), after = block->v.y[RC_STATE_V_UP][0];
    time -= step * after / (after - before);
    top = rc_advance_inside(block, RC_STATE_UP, 0, before / (before - after)) - start;
    struct rc_air air;
    const double middle = start + 0.5 * top;
    rc_atmosphere_profile(&vehicle.design.site, &middle, 1, &air);
    const double g = rc_atmosphere_gravity(middle + vehicle.design.site.elevation);
    const double area = 0.25 * RC_PI * 0.098 * 0.098;
    const double k = 0.5 * air.density * area * 200.0 / vehicle.design.vehicle.mass_burnt;
    const double height = log(1.0 + k * speed * speed / g) / (2.0 * k), rise = atan(speed * sqrt(k / g)) / sqrt(k * g);
    print_message("coast %.6f m in %.6f s, closed form %.6f m in %.6f s\n", top, time, height, rise);
    /* Density changes by about 1e-4 per metre over some 12 m, so by 6e-4 on either side of the middle; that acts on a part of
     * the height that the middle's value leaves unbalanced by at most a quarter. */
    assert_ratio(top, height, 1.5e-4);
    assert_ratio(time, rise, 1.5e-4);
    rc_block_free(block);
    rc_model_free(model);
}

/* Where steps of h bring a spinning, swinging vehicle under constant thrust in 1.6 s, inside one cell of the air's table: position
 * and roll rate. */
static void swing(const struct support_vehicle *vehicle, const struct rc_model *model, double h, double end[4])
{
    struct rc_block *const block = support_vehicle_block(model, &vehicle->design);
    double y[RC_N_STATE];
    const int cell = rc_table_cell(&model->height, 6000.0);
    support_vehicle_upright(model->height.knot[cell] + 5.0, 110.0, y);
    y[RC_STATE_V_EAST] = 4.0;
    y[RC_STATE_ROLL_RATE] = 3.0;
    support_vehicle_place(block, y);
    block->time = 0.0;
    rc_advance_begin(block);
    const int n = (int)(1.6 / h + 0.5);
    for (int i = 0; i < n; i++)
        support_vehicle_step(block, h);
    assert_true(block->v.y[RC_STATE_UP][0] < model->height.knot[cell + 1]);
    for (int i = 0; i < 3; i++)
        end[i] = block->v.y[RC_STATE_EAST + i][0];
    end[3] = block->v.y[RC_STATE_ROLL_RATE][0];
    rc_block_free(block);
}

/* closed form: a method of fourth order errs 16 times less at half the step where the motion is smooth (constant coefficients and
 * thrust, standing drive). */
static void test_advance__error_falls_with_the_fourth_power_of_the_step(void **state)
{
    (void)state;
    static const double constant[RC_N_FLAT_COLUMNS] = {0.5, 0.5, 11.0, 1.95, -300.0, 8.0, -16.0};
    static const double time[2] = {0.0, 8.0}, thrust[2] = {400.0, 400.0};
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    support_vehicle_lock(&vehicle);
    support_vehicle_flatten(&vehicle, constant);
    vehicle.layout.n_fin_sets = 1;
    vehicle.design.vehicle.fins[0].misalignment[0] = 0.1 * RC_DEGREE;
    vehicle.layout.thrust = (struct rc_thrust_points){.n = 2, .time = time, .thrust = thrust};
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    double exact[4], end[3][4];
    swing(&vehicle, model, 0.0005, exact);
    static const double step[3] = {0.08, 0.04, 0.02};
    double error[3];
    for (int i = 0; i < 3; i++) {
        swing(&vehicle, model, step[i], end[i]);
        error[i] = distance(end[i], exact, 0, 3) * sqrt(exact[0] * exact[0] + exact[1] * exact[1] + exact[2] * exact[2]);
    }
    const double order[2] = {log2(error[0] / error[1]), log2(error[1] / error[2])};
    const double roll = log2((end[0][3] - exact[3]) / (end[1][3] - exact[3]));
    print_message("errors in position %.2e %.2e %.2e m: orders %.2f %.2f; roll rate's order %.2f\n", error[0], error[1], error[2],
                  order[0], order[1], roll);
    assert_true(order[0] > 3.5 && order[1] > 3.5);
    rc_model_free(model);
}

/* On fins that large roll fades within 0.5 to 3 ms, where a tick would be 2 ms and a pilot's step 10 ms. source: the same flight by
 * steps and ticks an eighth as long; by a Runge-Kutta step of more than 2.78 fadings neither would be finite. */
static void test_advance__roll_that_fades_within_a_tick_is_flown_finely(void **state)
{
    (void)state;
    static const double spans[] = {0.3, 0.4, 0.55, 0.8};
    for (size_t i = 0; i < sizeof spans / sizeof spans[0]; i++) {
        struct rc_record record[2];
        for (int finer = 0; finer < 2; finer++) {
            struct support_vehicle vehicle;
            support_vehicle_demo(&vehicle);
            support_vehicle_lock(&vehicle);
            vehicle.design.vehicle.fins[0].span = spans[i];
            vehicle.layout.step_scale = finer ? 0.125 : 1.0;
            struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
            record[finer] = support_vehicle_fly(model, &vehicle.design, NULL, NULL);
            rc_model_free(model);
            assert_int_equal(record[finer].end, RC_END_APOGEE);
        }
        const double peak = record[1].measure[RC_MEASURE_roll_peak_dps];
        assert_true(peak > 50.0 && peak < 500.0);
        assert_near(record[0].measure[RC_MEASURE_roll_peak_dps], peak, 1e-3 * peak);
        assert_near(record[0].measure[RC_MEASURE_apogee_m], record[1].measure[RC_MEASURE_apogee_m], 0.1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_advance__whole_ascent_agrees_with_cvode),
        cmocka_unit_test(test_advance__vacuum_flight_follows_the_rocket_equation),
        cmocka_unit_test(test_advance__peaks_are_met_inside_steps),
        cmocka_unit_test(test_advance__coast_under_quadratic_drag_has_the_closed_forms),
        cmocka_unit_test(test_advance__error_falls_with_the_fourth_power_of_the_step),
        cmocka_unit_test(test_advance__roll_that_fades_within_a_tick_is_flown_finely),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
