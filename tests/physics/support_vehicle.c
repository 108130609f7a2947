/* The demo vehicle in C and the handling of blocks for flight tests. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "flight/advance.h"
#include "flight/derive.h"
#include "numeric/lane_math.h"
#include "support_vehicle.h"

static const double THRUST_TIME[] = {0, 0.03, 0.07, 0.12, 0.25, 0.5, 0.9, 1.3, 1.7, 2.1, 2.5, 2.8, 3.05, 3.2, 3.35, 3.5, 3.7};
static const double THRUST[] = {0, 480, 1560, 1950, 1850, 1790, 1810, 1850, 1860, 1820, 1740, 1610, 1400, 950, 410, 140, 0};
static const double MACH[] = {0, 0.3, 0.6, 0.8, 0.9, 0.95, 1, 1.05, 1.1, 1.2, 1.4, 1.7, 2, 2.5, 3};
static const double AXIAL_OFF[] = {0.492, 0.482, 0.471, 0.492, 0.535, 0.599, 0.706, 0.76,
                                   0.781, 0.77,  0.728, 0.663, 0.61,  0.535, 0.471};
static const double AXIAL_ON[] = {0.396, 0.385, 0.385, 0.407, 0.449, 0.514, 0.621, 0.674,
                                  0.696, 0.696, 0.663, 0.61,  0.567, 0.503, 0.449};
enum { N_THRUST = sizeof THRUST / sizeof THRUST[0], N_MACH = sizeof MACH / sizeof MACH[0] };

static void demo_platform(struct rc_design *design)
{
    design->platform = (struct rc_platform_design){
        .inertia = 0.00042, .mass = 0.31, .coulomb = 0.004, .viscous = 2e-5, .load_mu = 0.0015, .bearing_diameter = 0.05,
        .starting_ratio = 1.6, .gear_ratio = 19.0, .rotor_inertia = 2.5e-7, .gear_friction = 0.006,
    };
    design->drive = (struct rc_drive_design){
        .floor = 40.0 * RC_DEGREE, .jump = 40.0 * RC_DEGREE, .deadband = 12.0 * RC_DEGREE, .top = 1500.0 * RC_DEGREE,
        .slew = 4000.0 * RC_DEGREE, .reversal_delay = 0.25, .sleep_after = 600.0, .wake_command = 90.0 * RC_DEGREE,
        .wake_delay = 1.2,
    };
    design->gyro = (struct rc_gyro_design){.range = 2000.0 * RC_DEGREE};
    design->controller = (struct rc_controller_design){.gain = 8.0, .windup = 1500.0 * RC_DEGREE};
    design->camera[0] = (struct rc_camera_design){
        .field_of_view = 70.0 * RC_DEGREE, .shutter = 0.002, .smear_limit = 1.5, .rate_limit = 45.0 * RC_DEGREE,
        .lens_angle = 0.5 * RC_PI,
    };
    design->footage.target = 10.0 * RC_DEGREE;
}

static void demo_layout(struct rc_layout *layout)
{
    *layout = (struct rc_layout){
        .n_fin_sets = 1, .n_fins = {4}, .nose_shape = RC_NOSE_OGIVE,
        .thrust = {.n = N_THRUST, .time = THRUST_TIME, .thrust = THRUST},
        .aero = {.n = N_MACH, .mach = MACH, .column = {[RC_AERO_CA_ON] = AXIAL_ON, [RC_AERO_CA_OFF] = AXIAL_OFF}},
        .drive_kind = "geared_sensorless", .below_floor = RC_BELOW_FLOOR_STOP, .gyro_mount = RC_GYRO_ON_PLATFORM,
        .gyro_rate = 250, .control_mode = RC_CONTROL_ANGLE, .turns_mode = RC_TURNS_NEAREST, .control_rate = 100,
        .n_cameras = 1, .frame_rate = {60}, .width_px = {1920},
        .band_interval = 0.5, .n_band_times = 181, .time_limit = 90.0, .step_scale = 1.0,
    };
}

void support_vehicle_demo(struct support_vehicle *vehicle)
{
    memset(vehicle, 0, sizeof *vehicle);
    struct rc_design *const design = &vehicle->design;
    design->vehicle = (struct rc_vehicle_design){
        .diameter = 0.098, .length = 2.35, .nose_length = 0.49, .mass_loaded = 12.6, .mass_burnt = 9.8, .cm_loaded = 1.62,
        .cm_burnt = 1.49, .ix_loaded = 0.03, .ix_burnt = 0.026, .iy_loaded = 5.6, .iy_burnt = 4.7,
        .fins = {{.root_chord = 0.2, .tip_chord = 0.08, .span = 0.1, .sweep = 0.12, .thickness = 0.0032, .station = 2.14,
                  .root_radius = 0.049, .cant = 0.08 * RC_DEGREE}},
    };
    design->motor = (struct rc_motor_design){
        .impulse_factor = 1.0, .burn_time_factor = 1.0, .ignition_delay = 0.3, .nozzle_station = 2.35,
    };
    design->aero = (struct rc_aero_design){
        .axial_factor = 1.0, .normal_factor = 1.0, .pitch_damping_factor = 1.0, .roll_forcing_factor = 1.0, .roll_damping_factor = 1.0,
    };
    design->site = (struct rc_site_design){
        .elevation = 210.0, .temperature_offset = 4.0, .rail_length = 5.2, .rail_elevation = 86.0 * RC_DEGREE,
        .rail_azimuth = 290.0 * RC_DEGREE, .pad_wait = 300.0,
    };
    design->wind = (struct rc_wind_design){.speed = 3.2, .from = 280.0 * RC_DEGREE, .reference_height = 10.0, .exponent = 0.16};
    demo_platform(design);
    demo_layout(&vehicle->layout);
}

void support_vehicle_lock(struct support_vehicle *vehicle)
{
    vehicle->design.drive.deadband = 1e9;
    vehicle->design.drive.sleep_after = 0.0;
    vehicle->design.controller.gain = 0.0;
}

void support_vehicle_flatten(struct support_vehicle *vehicle, const double coefficient[RC_N_FLAT_COLUMNS])
{
    vehicle->layout.n_fin_sets = 0;
    vehicle->layout.aero.n = 1;
    vehicle->layout.aero.mach = vehicle->flat_mach;
    for (int column = 0; column < RC_N_FLAT_COLUMNS; column++) {
        vehicle->flat[column][0] = coefficient[column];
        vehicle->layout.aero.column[column] = vehicle->flat[column];
    }
}

struct rc_model *support_vehicle_model(const struct support_vehicle *vehicle, const struct rc_design *samples, int n_samples)
{
    struct rc_model *model = NULL;
    struct rc_error err;
    if (rc_model_create(&model, &vehicle->design, &vehicle->layout, samples, n_samples, &err) != RC_OK)
        fail_msg("no model: %s", err.what);
    return model;
}

struct rc_record support_vehicle_fly(const struct rc_model *model, const struct rc_design *design, rc_moment_sink *sink, void *user)
{
    struct rc_block *block = NULL;
    struct rc_error err;
    struct rc_record record = {.bin = NULL};
    const uint64_t flight = 0;
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    rc_block_fly(block, design, 1, &flight, 1, &record, sink, user);
    rc_block_free(block);
    return record;
}

struct rc_block *support_vehicle_block(const struct rc_model *model, const struct rc_design *design)
{
    struct rc_block *block = NULL;
    struct rc_error err;
    struct rc_record record = {.bin = NULL};
    const uint64_t flight = 0;
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    /* A whole flight leaves every lane (spare ones repeat the first) set up, free and burnt out. */
    rc_block_fly(block, design, 1, &flight, 1, &record, NULL, NULL);
    assert_int_equal(record.end, RC_END_APOGEE);
    assert_int_equal(block->n_on_rail, 0);
    return block;
}

void support_vehicle_place(struct rc_block *block, const double y[RC_N_STATE])
{
    for (int lane = 0; lane < RC_LANES; lane++) {
        for (int state = 0; state < RC_N_STATE; state++)
            block->v.y[state][lane] = y[state];
        block->v.platform_momentum[lane] = 0.0;
    }
}

void support_vehicle_upright(double height, double speed, double y[RC_N_STATE])
{
    memset(y, 0, RC_N_STATE * sizeof *y);
    y[RC_STATE_UP] = height;
    y[RC_STATE_V_UP] = speed;
    y[RC_STATE_QW] = sqrt(0.5);
    y[RC_STATE_QY] = -sqrt(0.5);
}

/* Thrust and impulse of the rows at a table time, row by row. */
static void rows_at(const struct rc_thrust_points *rows, double time, double *thrust, double *impulse)
{
    *thrust = *impulse = 0.0;
    for (int row = 0; row + 1 < rows->n && time > rows->time[row]; row++) {
        const double until = fmin(time, rows->time[row + 1]);
        const double share = (until - rows->time[row]) / (rows->time[row + 1] - rows->time[row]);
        const double here = rows->thrust[row] + share * (rows->thrust[row + 1] - rows->thrust[row]);
        *impulse += 0.5 * (rows->thrust[row] + here) * (until - rows->time[row]);
        *thrust = time <= rows->time[row + 1] ? here : 0.0;
    }
}

/* Table time of lift-off: thrust on a vertical-ish rail first above weight along it, by bisection in the first rising rows. */
static double liftoff_of(const struct support_vehicle *vehicle, double total)
{
    const struct rc_vehicle_design *const v = &vehicle->design.vehicle;
    const struct rc_motor_design *const motor = &vehicle->design.motor;
    double low = vehicle->layout.thrust.time[0], high = vehicle->layout.thrust.time[vehicle->layout.thrust.n - 1];
    for (int row = 0; row < vehicle->layout.thrust.n; row++)
        if (vehicle->layout.thrust.thrust[row] > 20.0 * v->mass_loaded && vehicle->layout.thrust.time[row] < high)
            high = vehicle->layout.thrust.time[row];
    for (int halving = 0; halving < 80; halving++) {
        const double middle = 0.5 * (low + high);
        double thrust, impulse;
        rows_at(&vehicle->layout.thrust, middle, &thrust, &impulse);
        const double mass = v->mass_loaded + impulse / total * (v->mass_burnt - v->mass_loaded);
        const double weight = mass * 9.80665 * sin(vehicle->design.site.rail_elevation);
        if (thrust * motor->impulse_factor / motor->burn_time_factor > weight)
            high = middle;
        else
            low = middle;
    }
    return high;
}

void support_vehicle_moment(const struct support_vehicle *vehicle, double time, struct rc_moment_lanes *at)
{
    const struct rc_vehicle_design *const v = &vehicle->design.vehicle;
    const struct rc_motor_design *const motor = &vehicle->design.motor;
    const double end = vehicle->layout.thrust.time[vehicle->layout.thrust.n - 1];
    double thrust, impulse, total, none;
    rows_at(&vehicle->layout.thrust, end, &none, &total);
    const double table_time = liftoff_of(vehicle, total) + time / motor->burn_time_factor;
    rows_at(&vehicle->layout.thrust, table_time, &thrust, &impulse);
    const double burnt = impulse / total;
    memset(at, 0, sizeof *at);
    for (int lane = 0; lane < RC_LANES; lane++) {
        at->thrust[lane] = thrust * motor->impulse_factor / motor->burn_time_factor;
        at->mass[lane] = v->mass_loaded + burnt * (v->mass_burnt - v->mass_loaded);
        at->cm[lane] = v->cm_loaded + burnt * (v->cm_burnt - v->cm_loaded);
        at->ix[lane] = v->ix_loaded + vehicle->design.platform.inertia + burnt * (v->ix_burnt - v->ix_loaded);
        at->iy[lane] = v->iy_loaded + burnt * (v->iy_burnt - v->iy_loaded);
        at->per_mass[lane] = 1.0 / at->mass[lane];
        at->per_ix[lane] = 1.0 / at->ix[lane];
        at->per_iy[lane] = 1.0 / at->iy[lane];
        at->burn_rate[lane] = thrust / total / motor->burn_time_factor;
        at->is_burning[lane] = table_time < end ? 1.0 : 0.0;
        at->burn_rate[lane] = thrust / (total * motor->burn_time_factor);
    }
}

void support_vehicle_slope(struct rc_block *block, const struct rc_moment_lanes *at, const double y[RC_N_STATE],
                           double slope[RC_N_STATE])
{
    rc_lane state[RC_N_STATE], rate[RC_N_STATE];
    for (int i = 0; i < RC_N_STATE; i++)
        for (int lane = 0; lane < RC_LANES; lane++)
            state[i][lane] = y[i];
    rc_derive_state(block, state, at, rate);
    for (int i = 0; i < RC_N_STATE; i++)
        slope[i] = rate[i][0];
}

void support_vehicle_coefficients(const struct rc_vehicle_lanes *lanes, double coefficient[RC_N_COEFFICIENTS])
{
    const double dm = lanes->seen.mach[0] - lanes->mach_cell.knot[0];
    for (int i = 0; i < RC_N_COEFFICIENTS; i++)
        coefficient[i] = lanes->coefficient[2 * i][0] + dm * lanes->coefficient[2 * i + 1][0];
}

void support_vehicle_rk4(struct rc_block *block, const struct rc_moment_lanes *at, const double mask[RC_N_STATE], double h,
                         double y[RC_N_STATE])
{
    static const double share[4] = {0.0, 0.5, 0.5, 1.0}, weight[4] = {1.0 / 6.0, 1.0 / 3.0, 1.0 / 3.0, 1.0 / 6.0};
    double slope[RC_N_STATE] = {0.0}, stage[RC_N_STATE], sum[RC_N_STATE] = {0.0};
    for (int i = 0; i < 4; i++) {
        for (int state = 0; state < RC_N_STATE; state++)
            stage[state] = y[state] + share[i] * h * mask[state] * slope[state];
        support_vehicle_slope(block, at, stage, slope);
        for (int state = 0; state < RC_N_STATE; state++)
            sum[state] += weight[i] * slope[state];
    }
    for (int state = 0; state < RC_N_STATE; state++)
        y[state] += h * mask[state] * sum[state];
}

void support_vehicle_step(struct rc_block *block, double h)
{
    block->step = h;
    block->step_ticks = 1;
    rc_advance_look(block);
    rc_advance_step(block);
    block->time += h;
}

void support_vehicle_axis(const double y[RC_N_STATE], int axis, double direction[3])
{
    const double w = y[RC_STATE_QW], x = y[RC_STATE_QX], u = y[RC_STATE_QY], z = y[RC_STATE_QZ];
    const double column[3][3] = {
        {1.0 - 2.0 * (u * u + z * z), 2.0 * (x * u + w * z), 2.0 * (x * z - w * u)},
        {2.0 * (x * u - w * z), 1.0 - 2.0 * (x * x + z * z), 2.0 * (u * z + w * x)},
        {2.0 * (x * z + w * u), 2.0 * (u * z - w * x), 1.0 - 2.0 * (x * x + u * u)},
    };
    memcpy(direction, column[axis], sizeof column[axis]);
}
