/* What gyro, encoder and controller may have beyond the plain ones: lag, latency, cross-axis pick-up, sensitivity to load, drift,
 * encoder steps, feed-forward, stillness, command steps. Closed forms, and GSL for the lag under a changing rate. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "platform/senses.h"
#include "rig.h"

static void make_gyro(struct rig *rig)
{
    rig_reset(rig);
    rig->clock.gyro_mount = RC_GYRO_ON_VEHICLE;
    rig->clock.has_gyro_extras = 1;
}

/* Closed form: a first-order lag answers a ramp a t with a (t - T (1 - exp(-t/T))). */
static void test_sensors__lag_answers_a_ramp_exactly(void **state)
{
    (void)state;
    struct rig rig;
    make_gyro(&rig);
    rig.gyro.bandwidth = 20.0;
    rig_begin(&rig);
    const double lag = 1.0 / (2.0 * RC_PI * 20.0);
    for (int tick = 0; tick < 300; tick++) {
        rig_run_ramp(&rig, tick / 64.0, (tick + 1) / 64.0, 1); /* 8 rad/s2; the sample is of the tick's beginning */
        const double t = tick / 512.0;
        assert_near(rig.p.reading[rig.lane], 8.0 * (t - lag * (1.0 - exp(-t / lag))), 1e-12);
    }
}

/* A ring without friction, asleep, stands still against the ground while the vehicle's roll goes along a parabola: a gyro on it reads
 * nothing at any moment of a span, behind its lag either, and the encoder the roll's integral. */
static void test_sensors__a_free_ring_is_still_at_every_moment_of_a_span(void **state)
{
    (void)state;
    for (int has_extras = 0; has_extras < 2; has_extras++) {
        struct rig rig;
        rig_reset(&rig);
        rig_lull(&rig);
        rig.tick = 0;
        rig.clock.span = rig.clock.control_every = 32;
        rig.clock.gyro_every = rig.clock.encoder_every = 20;
        rig.clock.has_gyro_extras = rig.clock.has_encoder = has_extras;
        rig.gyro.bandwidth = has_extras ? 20.0 : 0.0;
        rig_begin(&rig);
        rc_platform_relength(&rig.p, 32 * rig.clock.dt);
        rig.p.reading[rig.lane] = 1.0;
        const double roll[4] = { 0.0, 3.0, -1.0, 0.0 }, place = 20.0 / 32.0;
        rig_run_cubic(&rig, roll, 32);
        assert_near(rig_rate(&rig), -2.0, 1e-12);
        assert_near(rig.p.reading[rig.lane], 0.0, 1e-12);
        if (has_extras)
            assert_near(rig.p.encoder_rate[rig.lane], -place * (1.5 - place / 3.0), 1e-12);
    }
}

static int lag_slope(double t, const double y[], double dy[], void *user)
{
    dy[0] = (5.0 * sin(30.0 * t) - y[0]) / *(const double *)user;
    return GSL_SUCCESS;
}

/* A drive that is told one rate from the first command on: starts inside a span, ramps and holds. */
enum { SPAN = 8 };
static const double told = 20.0, jump = 3.0, slope = 900.0, offset = -1e3;

static void make_start(struct rig *rig)
{
    rig_reset(rig);
    rig->clock.has_gyro_extras = rig->clock.has_control_extras = 1;
    rig->clock.gyro_every = 3;
    rig->clock.control_every = rig->clock.span = SPAN;
    rig->drive.jump = jump;
    rig->drive.slew = slope;
    rig->drive.start_delay = 0.0217;
    rig->gyro.bias = offset; /* the controller is at its limit at once */
    rig->controller.windup = told;
}

/* The angle it has turned at a time. */
static double led_angle(const struct rig *rig, double t)
{
    const double after = fmax(t - rig->drive.start_delay, 0.0), ramp = fmin(after, (told - jump) / slope);
    return ramp * (jump + 0.5 * slope * ramp) + (after - ramp) * told;
}

/* Closed form: a lag T answers a step s by s (1 - exp(-t/T)), a ramp as above; the second ramp ends the first. */
static double led_lagged(const struct rig *rig, double t)
{
    const double lag = 1.0 / (2.0 * RC_PI * rig->gyro.bandwidth), after = t - rig->drive.start_delay;
    const double over = after - (told - jump) / slope;
    const double step = jump * -expm1(-after / lag), ramp = slope * (after + lag * expm1(-after / lag));
    return after < 0.0 ? 0.0 : step + ramp - (over > 0.0 ? slope * (over + lag * expm1(-over / lag)) : 0.0);
}

/* The jump, and the end of the ramp, lie inside spans, most samples too; the bias has drifted by each sample's own time. */
static void test_sensors__lag_answers_a_step_inside_a_span_exactly(void **state)
{
    (void)state;
    struct rig rig;
    make_start(&rig);
    const double drift = 0.02;
    rig.gyro.bandwidth = 25.0;
    rig.gyro.bias_drift = drift;
    rig_begin(&rig);
    const double at_liftoff = rig.p.gyro_bias[rig.lane];
    for (int command = 0; command < 60; command++) {
        rig_run(&rig, 0.0, 1); /* up to here nothing but what the command hears has been read */
        const double heard = command * SPAN / 3 * 3 / 512.0;
        assert_near(rig.p.reading[rig.lane] - at_liftoff - drift * heard, led_lagged(&rig, heard), 1e-10);
        rig_run(&rig, 0.0, SPAN - 1);
        assert_near(rig.p.gyro_lagged[rig.lane], led_lagged(&rig, (command + 1) * SPAN / 512.0), 1e-10);
        assert_near(rig.p.gyro_angle[rig.lane], led_angle(&rig, (command + 1) * SPAN / 512.0), 1e-10);
    }
    assert_near(rig_rate(&rig), told, 1e-12);
}

/* The encoder's angles are those of its own moments: its rate is the turn over its last period before the command. */
static void test_sensors__encoder_reads_at_its_moments_inside_a_span(void **state)
{
    (void)state;
    for (int every = 3; every <= 13; every += 5) {
        struct rig rig;
        make_start(&rig);
        rig.clock.has_encoder = 1;
        rig.clock.encoder_every = every;
        rig_begin(&rig);
        for (int command = 0; command < 60; command++) {
            rig_run(&rig, 0.0, 1);
            const int last = command * SPAN / every * every;
            const double turn = led_angle(&rig, last / 512.0) - led_angle(&rig, (last - every) / 512.0);
            assert_near(rig.p.encoder_rate[rig.lane], turn * 512.0 / every, 1e-10);
            rig_run(&rig, 0.0, SPAN - 1);
        }
        assert_near(rig_rate(&rig), told, 1e-12);
    }
}

/* GSL as referee for a rate that swings at 4.8 Hz; the rate is taken as straight over a tick: bound 1e-3 of its amplitude. */
static void test_sensors__lag_follows_a_swing_as_the_referee(void **state)
{
    (void)state;
    struct rig rig;
    make_gyro(&rig);
    rig.gyro.bandwidth = 10.0;
    rig_begin(&rig);
    double lag = 1.0 / (2.0 * RC_PI * 10.0), t = 0.0, y[1] = { 0.0 };
    gsl_odeiv2_system system = { lag_slope, NULL, 1, &lag };
    gsl_odeiv2_driver *driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-4, 1e-12, 1e-12);
    for (int tick = 0; tick < 1024; tick++) {
        rig_run_ramp(&rig, 5.0 * sin(30.0 * tick / 512.0), 5.0 * sin(30.0 * (tick + 1) / 512.0), 1);
        if (tick > 0)
            assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, tick / 512.0, y), GSL_SUCCESS);
        assert_near(rig.p.reading[rig.lane], y[0], 5e-3);
    }
    gsl_odeiv2_driver_free(driver);
}

/* The controller hears what was sampled `latency` ago, also where the latency is no whole number of samples or ticks; before the first
 * sample has arrived it hears nothing, not even the gyro's bias. */
static void test_sensors__latency_is_a_pure_delay(void **state)
{
    (void)state;
    static const double latencies[] = { 1.0, 6.4, 7.0, 16.0, 16.01, 61.0, 200.0 };
    for (int i = 0; i < 7; i++) {
        for (int every = 4; every <= 8; every += 4) {
            struct rig rig;
            rig_reset(&rig);
            rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
            rig.clock.gyro_every = every;
            rig.clock.latency = latencies[i] / 512.0;
            rig.clock.control_mode = RC_CONTROL_RATE;
            rig.controller.gain = 1.0;
            rig.gyro.bias = 0.25;
            rig_begin(&rig);
            for (int tick = 0; tick < 900; tick++) {
                rig_run_ramp(&rig, tick, tick + 1.0, 1);
                const int heard = (int)((tick - latencies[i]) / every) * every;
                assert_true(rig.p.command[rig.lane] == (tick < latencies[i] ? 0.0 : -(heard + 0.25)));
            }
        }
    }
}

/* A latency of whole periods of the gyro is one, however its quotient is rounded: the sample that arrives with a command is heard, one
 * that comes a hundred thousandth of a period later is not. Of these rates and numbers some quotients are rounded up. */
static void test_sensors__rounding_hides_no_sample_that_arrives_with_a_command(void **state)
{
    (void)state;
    int n_rounded_up = 0;
    for (int rate = 50; rate <= 1000; rate += 7) {
        for (int periods = 1; periods <= 40; periods++) {
            struct rc_platform_clock clock = { .dt = 1.0 / rate, .gyro_every = 1, .control_every = 1, .latency = periods / (double)rate };
            n_rounded_up += clock.latency / clock.dt > periods;
            assert_int_equal(rc_senses_heard(&clock, periods), 0);
            clock.latency = (periods + 1e-5) / (double)rate;
            assert_int_equal(rc_senses_heard(&clock, periods), -1);
        }
    }
    assert_true(n_rounded_up > 100);
}

/* The gyro turns with the vehicle: of a steady pitch rate it sees the share times the cosine of its roll angle, of yaw the sine. */
static void test_sensors__cross_axis_pick_up_turns_with_the_gyro(void **state)
{
    (void)state;
    struct rig rig;
    make_gyro(&rig);
    rig.gyro.cross[0] = 0.02;
    rig.gyro.cross[1] = -0.01;
    rig_begin(&rig);
    for (int lane = 0; lane < RC_LANES; lane++) {
        rig.p.pitch[lane] = 1.5;
        rig.p.yaw[lane] = -0.5;
    }
    for (int tick = 0; tick < 1000; tick++) {
        rig_run(&rig, 3.0, 1);
        const double angle = 3.0 * tick / 512.0;
        const double about_y = 1.5 * cos(angle) - 0.5 * sin(angle), about_z = -0.5 * cos(angle) - 1.5 * sin(angle);
        assert_near(rig.p.reading[rig.lane], 3.0 + 0.02 * about_y - 0.01 * about_z, 1e-11);
    }
}

/* Published typical figure: 0.1 deg/s per g gives 1.5 deg/s at 15 g (PS-MPU-6000A). */
static void test_sensors__load_shifts_the_reading(void **state)
{
    (void)state;
    struct rig rig;
    make_gyro(&rig);
    rig.gyro.per_load = 0.1 * RC_DEGREE / 9.80665;
    rig_begin(&rig);
    for (int lane = 0; lane < RC_LANES; lane++)
        rig.p.load[lane] = 15.0 * 9.80665;
    rig_run(&rig, 0.0, 2);
    assert_near(rig.p.reading[rig.lane], 1.5 * RC_DEGREE, 1e-12);
}

/* Bias at lift-off is the drift over the wait on the pad, and it goes on in flight. */
static void test_sensors__bias_drifts_from_power_on(void **state)
{
    (void)state;
    struct rig rig;
    make_gyro(&rig);
    rig.gyro.bias = 0.01;
    rig.gyro.bias_drift = 1e-4;
    rig.idle = 600.0;
    rig_begin(&rig);
    assert_near(rig.p.gyro_bias[rig.lane], 0.07, 1e-15);
    rig_run(&rig, 0.0, 5121);
    assert_near(rig.p.reading[rig.lane], 0.07 + 1e-3, 1e-15);
}

/* A platform led at a constant rate: the encoder reads whole steps, its rate is right on average and within a step a period. */
static void test_sensors__encoder_reads_whole_steps(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
    rig.clock.control_mode = RC_CONTROL_RATE;
    rig.clock.has_encoder = 1;
    rig.clock.encoder_every = 8;
    rig.gyro.encoder_step = 0.01;
    rig_begin(&rig);
    double sum = 0.0;
    for (int i = 0; i < 640; i++) {
        rig_run(&rig, -1.7, 8);
        const double angle = rig.p.encoder_angle[rig.lane];
        assert_near(remainder(angle, 0.01), 0.0, 1e-12);
        assert_near(rig.p.encoder_rate[rig.lane], 1.7, 0.01 * 64.0 + 1e-9 + (i == 0 ? 1.7 : 0.0));
        sum += rig.p.encoder_rate[rig.lane] / 64.0;
    }
    assert_near(sum, 1.7 * 640.0 / 64.0, 0.02 + 1.7 / 64.0);
}

/* A gyro on the vehicle with a scale error and feed-forward alone: scale times roll is left (1 % at 720 deg/s is 7.2 deg/s). */
static void test_sensors__feed_forward_leaves_the_scale_error(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
    rig.clock.control_mode = RC_CONTROL_RATE;
    rig.clock.has_control_extras = 1;
    rig.controller = (struct rc_controller_design){ .gain = 0.0, .windup = 1e9, .feed_forward = 1.0 };
    rig.gyro.scale = 0.01;
    rig_begin(&rig);
    rig_run(&rig, 720.0 * RC_DEGREE, 100);
    assert_near(rig.p.residual[rig.lane], -7.2 * RC_DEGREE, 1e-12);
    /* With an encoder on the platform's gyro the vehicle's roll is the difference: a perfect one leaves nothing. */
    rig.clock.gyro_mount = RC_GYRO_ON_PLATFORM;
    rig.clock.has_encoder = 1;
    rig.clock.encoder_every = 1;
    rig.gyro.scale = 0.0;
    rig_begin(&rig);
    rig_run(&rig, 720.0 * RC_DEGREE, 200);
    assert_near(rig.p.residual[rig.lane], 0.0, 1e-9);
}

/* A gyro on the vehicle and an encoder hold the angle as a gyro on the platform does. */
static void test_sensors__encoder_lets_a_vehicles_gyro_hold_the_angle(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
    rig.clock.has_control_extras = rig.clock.has_encoder = rig.clock.encoder_every = 1;
    rig.controller.gain = 8.0;
    rig_begin(&rig);
    rig_run(&rig, 5.0, 4096);
    assert_near(rig.p.residual[rig.lane], 0.0, 1e-9);
    assert_near(rig.p.gathered[rig.lane], 5.0 / 8.0, 1e-9);
}

static void test_sensors__small_errors_and_steps_of_the_command(void **state)
{
    (void)state;
    for (int mode = RC_CONTROL_RATE; mode <= RC_CONTROL_ANGLE; mode++) {
        struct rig rig;
        rig_reset(&rig);
        rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
        rig.clock.control_mode = (enum rc_control_mode)mode;
        rig.clock.has_control_extras = 1;
        rig.controller = (struct rc_controller_design){ .gain = 1.0, .windup = 1e9, .still = 0.5 };
        rig.drive.command_step = 0.25;
        rig_begin(&rig);
        const int n = mode == RC_CONTROL_RATE ? 1 : 512; /* one second gathers the rate as an angle */
        rig_run(&rig, 0.499, n);
        assert_true(rig.p.command[rig.lane] == 0.0);
        rig_begin(&rig);
        rig.tick = 0;
        rig_run(&rig, 0.8, n);
        assert_true(rig.p.command[rig.lane] == -0.75);
        rig_begin(&rig);
        rig.tick = 0;
        rig_run(&rig, -0.9, n);
        assert_true(rig.p.command[rig.lane] == 1.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sensors__lag_answers_a_ramp_exactly),
        cmocka_unit_test(test_sensors__lag_answers_a_step_inside_a_span_exactly),
        cmocka_unit_test(test_sensors__encoder_reads_at_its_moments_inside_a_span),
        cmocka_unit_test(test_sensors__a_free_ring_is_still_at_every_moment_of_a_span),
        cmocka_unit_test(test_sensors__lag_follows_a_swing_as_the_referee),
        cmocka_unit_test(test_sensors__latency_is_a_pure_delay),
        cmocka_unit_test(test_sensors__rounding_hides_no_sample_that_arrives_with_a_command),
        cmocka_unit_test(test_sensors__cross_axis_pick_up_turns_with_the_gyro),
        cmocka_unit_test(test_sensors__load_shifts_the_reading),
        cmocka_unit_test(test_sensors__bias_drifts_from_power_on),
        cmocka_unit_test(test_sensors__encoder_reads_whole_steps),
        cmocka_unit_test(test_sensors__feed_forward_leaves_the_scale_error),
        cmocka_unit_test(test_sensors__encoder_lets_a_vehicles_gyro_hold_the_angle),
        cmocka_unit_test(test_sensors__small_errors_and_steps_of_the_command),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
