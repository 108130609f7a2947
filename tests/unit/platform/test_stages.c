/* Gyro and controller, each alone and in the loop with a drive without limits, against closed forms. The formulas and their
 * order are our conventions (docs/theory.md, "The platform"). Variance of sampled white noise of one-sided density n: n^2 f/2. */
#include <limits.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/base.h"
#include "numeric/lane_math.h"
#include "numeric/stream.h"
#include "physics/near.h"
#include "platform/stages.h"
#include "rig.h"

static void test_stages__roll_is_the_cubic(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_begin(&rig);
    const double roll[4] = { 1.5, -2.0, 0.25, 7.0 };
    for (int k = 0; k < 4; k++)
        rig.p.roll[k][rig.lane] = roll[k];
    for (double theta = 0.0; theta <= 1.0; theta += 0.125) {
        const double wanted = 1.5 - 2.0 * theta + 0.25 * theta * theta + 7.0 * theta * theta * theta;
        assert_near(rc_stages_roll(&rig.p, rig.lane, theta), wanted, 1e-15);
    }
}

/* One reading without noise. */
static double read_once(struct rig *rig, double roll, double rate)
{
    rig_begin(rig);
    rig_spin(rig, rate);
    for (int lane = 0; lane < RC_LANES; lane++)
        rig->p.roll[0][lane] = roll;
    rc_stages_sample(&rig->p, &rig->clock, 0.0);
    return rig->p.reading[rig->lane];
}

static void test_stages__gyro_scales_then_adds_bias_then_clamps(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.gyro = (struct rc_gyro_design){ .range = 10.0, .bias = 0.5, .scale = 0.25 };
    assert_true(read_once(&rig, 4.0, -2.0) == 2.0 * 1.25 + 0.5);
    assert_true(read_once(&rig, -4.0, 2.0) == -2.0 * 1.25 + 0.5);
    rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
    assert_true(read_once(&rig, 4.0, -2.0) == 4.0 * 1.25 + 0.5);
    assert_true(read_once(&rig, 7.5, 0.0) == 7.5 * 1.25 + 0.5); /* 9.875: just inside */
    assert_true(rig.p.tally.saturated[rig.lane] == 0.0);
    assert_true(read_once(&rig, 7.75, 0.0) == 10.0); /* 10.1875 after the bias, 9.6875 before it */
    assert_true(rig.p.tally.saturated[rig.lane] == rig.clock.dt);
    assert_true(read_once(&rig, -9.0, 0.0) == -10.0);
    assert_true(rig.p.tally.saturated[rig.lane] == rig.clock.dt);
}

static void test_stages__saturated_time_is_counted(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.gyro.range = 2000.0 * RC_DEGREE;
    rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
    rig.clock.gyro_every = 4;
    rig.clock.control_every = INT_MAX;
    rig_begin(&rig);
    rig_run(&rig, 1999.0 * RC_DEGREE, 512);
    assert_true(rig.p.tally.saturated[rig.lane] == 0.0);
    rig_run(&rig, -2001.0 * RC_DEGREE, 768);
    assert_true(rig.p.tally.saturated[rig.lane] == 1.5);
}

/* Samples that no command hears count too: four of them to a command here, all of them at the limit, with a plain gyro or one with a lag
 * and a latency, tick by tick and in spans. Known to one command's period. */
static void test_stages__saturated_time_between_commands_is_counted(void **state)
{
    (void)state;
    for (int which = 0; which < 4; which++) {
        const int has_extras = which % 2, span = which < 2 ? 1 : 8;
        struct rig rig;
        rig_reset(&rig);
        rig.gyro.range = 2000.0 * RC_DEGREE;
        rig.gyro.bandwidth = has_extras ? 200.0 : 0.0;
        rig.clock.has_gyro_extras = has_extras;
        rig.clock.latency = has_extras ? 0.005 : 0.0;
        rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
        rig.clock.gyro_every = 2;
        rig.clock.control_every = 8;
        rig.clock.span = span;
        rig.controller.gain = 0.0;
        rig_begin(&rig);
        rc_platform_relength(&rig.p, span * rig.clock.dt);
        const double settled = has_extras ? 16.0 : 0.0; /* ticks that the lag takes to the limit */
        rig_run(&rig, -2010.0 * RC_DEGREE, 5120);
        assert_near(rig.p.tally.saturated[rig.lane], 10.0 - 0.5 * settled / 512.0, (8.0 + 0.5 * settled) / 512.0);
    }
}

static void test_stages__gyro_samples_at_its_rate_and_holds(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
    rig.clock.gyro_every = 8;
    rig_begin(&rig);
    for (int tick = 0; tick < 200; tick++) {
        rig_run_ramp(&rig, tick, tick + 1.0, 1); /* at the beginning of a tick the roll is its number */
        assert_true(rig.p.reading[rig.lane] == tick / 8 * 8);
    }
}

/* The generator's words are checked elsewhere against published ones; here: that the noise is the sum of their eight bytes, under
 * the flight's own key. */
/* The command of tick 8 hears the sample of tick 5, with which a stretch begins: by the rate there of a platform that slides,
 * 3 rad/s less 2e-3 N m over 1e-3 kg m2 for the ticks up to there. */
static void test_stages__a_sample_where_a_span_is_cut_sees_the_rate_there(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig.parts.coulomb = 2e-3;
    rig.clock.gyro_every = 5;
    rig.clock.control_every = rig.clock.span = 8;
    rig_begin(&rig);
    rig_spin(&rig, 3.0);
    rc_platform_relength(&rig.p, 8 * rig.clock.dt);
    const int n = 5 - (int)rig.tick;
    rig_run(&rig, 0.0, n);
    rig_run(&rig, 0.0, 3);
    assert_near(rig.p.reading[rig.lane], 3.0 - 2.0 * n / 512.0, 1e-12);
}

static void test_stages__noise_is_the_sum_of_eight_bytes_of_the_flights_stream(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.gyro.noise = 0.01;
    rig_begin(&rig);
    struct rc_pcg stream = rc_stream_open(rig.seed, rig.flight, rc_hash_bytes(RC_FNV_START, "noise/gyro", 10));
    for (int sample = 0; sample < 2000; sample++) {
        int sum = 0;
        for (int word = 0; word < 2; word++) {
            const uint32_t bits = rc_pcg_next(&stream);
            for (int byte = 0; byte < 4; byte++)
                sum += (int)((bits >> (8 * byte)) & 255U);
        }
        rc_stages_sample(&rig.p, &rig.clock, 0.0);
        /* variance of a byte (256^2 - 1)/12, eight of them; density 0.01 at 512 Hz */
        const double wanted = 0.01 * sqrt(512.0 / 2.0) * (sum - 1020) / sqrt(8.0 * 65535.0 / 12.0);
        assert_near(rig.p.reading[rig.lane], wanted, 1e-8);
    }
}

enum { N_NOISE = 200000, N_SERIES = 3 };

/* Readings of a gyro at rest, standardised to n sqrt(f/2). in flight whose stream */
static void gather_noise(uint64_t flight, double *series)
{
    struct rig rig;
    rig_reset(&rig);
    rig.flight = flight;
    rig.clock.gyro_every = 2;
    rig.gyro.noise = 0.02;
    rig_begin(&rig);
    const double expected = 0.02 * sqrt(256.0 / 2.0);
    for (int i = 0; i < N_NOISE; i++) {
        rc_stages_sample(&rig.p, &rig.clock, 0.0);
        series[i] = rig.p.reading[rig.lane] / expected;
    }
}

/* Mean product of a series with another one shifted. */
static double correlation(const double *a, const double *b, int lag)
{
    double sum = 0.0;
    for (int i = 0; i + lag < N_NOISE; i++)
        sum += a[i] * b[i + lag];
    return sum / (N_NOISE - lag);
}

/* Bounds are four standard errors of the estimates; the seeds are fixed. */
static void test_stages__noise_is_white_with_the_stated_variance(void **state)
{
    (void)state;
    static double series[N_SERIES][N_NOISE];
    const double error = 1.0 / sqrt(N_NOISE);
    for (int s = 0; s < N_SERIES; s++) {
        gather_noise((uint64_t)s, series[s]);
        double mean = 0.0, square = 0.0, fourth = 0.0, peak = 0.0;
        for (int i = 0; i < N_NOISE; i++) {
            const double x = series[s][i];
            mean += x / N_NOISE;
            square += x * x / N_NOISE;
            fourth += x * x * x * x / N_NOISE;
            peak = fmax(peak, fabs(x));
        }
        assert_near(mean, 0.0, 4.0 * error);
        assert_near(square, 1.0, 4.0 * error * sqrt(2.0 - 0.15));
        assert_near(fourth / (square * square) - 3.0, -0.15, 4.0 * error * sqrt(24.0));
        assert_true(peak > 3.5 && peak <= 4.9);
        for (int lag = 1; lag <= 16; lag++)
            assert_near(correlation(series[s], series[s], lag), 0.0, 4.0 * error);
        for (int lag = 0; lag <= 4 && s > 0; lag++)
            assert_near(correlation(series[0], series[s], lag), 0.0, 4.0 * error);
    }
}

static void test_stages__same_flight_hears_the_same_noise_and_another_not(void **state)
{
    (void)state;
    static double first[N_NOISE], again[N_NOISE], other[N_NOISE];
    gather_noise(7, first);
    gather_noise(7, again);
    gather_noise(8, other);
    int n_equal = 0;
    for (int i = 0; i < N_NOISE; i++) {
        assert_true(first[i] == again[i]);
        n_equal += first[i] == other[i];
    }
    assert_true(n_equal < N_NOISE / 50); /* sums of bytes take about 2041 values: some meet by chance */
}

/* Give the controller a reading and let it take one tick. */
static void control(struct rig *rig, double reading)
{
    for (int lane = 0; lane < RC_LANES; lane++)
        rig->p.reading[lane] = reading;
    rc_stages_command(&rig->p, &rig->clock, 0, rig->clock.control_mode == RC_CONTROL_ANGLE);
}

static void make_controller(struct rig *rig, enum rc_control_mode mode, double gain, double integral, double windup)
{
    rig_reset(rig);
    rig->clock.control_every = 4;
    rig->clock.control_mode = mode;
    rig->controller = (struct rc_controller_design){ .gain = gain, .integral = integral, .windup = windup };
    rig_begin(rig);
}

static void test_stages__integral_is_updated_before_it_is_used(void **state)
{
    (void)state;
    const double period = 4.0 / 512.0;
    struct rig rig;
    make_controller(&rig, RC_CONTROL_RATE, 0.5, 3.0, 1e6);
    control(&rig, 2.0);
    assert_near(rig.p.command[rig.lane], -(0.5 * 2.0 + 3.0 * period * 2.0), 1e-15);
    control(&rig, -1.0);
    assert_near(rig.p.command[rig.lane], -(0.5 * -1.0 + 3.0 * period * (2.0 - 1.0)), 1e-15);
    make_controller(&rig, RC_CONTROL_ANGLE, 5.0, 3.0, 1e6);
    control(&rig, 2.0);
    assert_near(rig.p.command[rig.lane], -(5.0 * period * 2.0 + 3.0 * period * period * 2.0), 1e-15);
    control(&rig, 2.0);
    assert_near(rig.p.command[rig.lane], -(5.0 * period * 4.0 + 3.0 * period * period * 6.0), 1e-15);
}

/* The limit is in units of the command, and there is no hidden anti-wind-up: it leaves the limit with the first reading back. */
static void test_stages__gathered_part_is_clamped_in_units_of_the_command(void **state)
{
    (void)state;
    const double period = 4.0 / 512.0;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_controller(&rig, RC_CONTROL_RATE, 0.5, 4.0, 6.0);
        for (int i = 0; i < 1000; i++)
            control(&rig, sense * 1.0);
        assert_near(rig.p.command[rig.lane], -sense * (0.5 + 6.0), 1e-14);
        control(&rig, -sense * 1.0);
        assert_near(rig.p.command[rig.lane], -sense * (-0.5 + 6.0 - 4.0 * period), 1e-14);
        assert_near(rig.p.tally.gathered_peak[rig.lane], 6.0 / 4.0, 1e-15);
        make_controller(&rig, RC_CONTROL_ANGLE, 2.0, 0.0, 6.0);
        for (int i = 0; i < 1000; i++)
            control(&rig, sense * 1.0);
        assert_near(rig.p.command[rig.lane], -sense * 6.0, 1e-14);
        control(&rig, -sense * 1.0);
        assert_near(rig.p.command[rig.lane], -sense * (6.0 - 2.0 * period), 1e-14);
        make_controller(&rig, RC_CONTROL_ANGLE, 2.0, 3.0, 6.0);
        for (int i = 0; i < 4000; i++)
            control(&rig, sense * 1.0);
        assert_near(rig.p.command[rig.lane], -sense * (6.0 + 6.0), 1e-14);
    }
}

static void test_stages__nearest_turn_wraps_at_half_a_turn(void **state)
{
    (void)state;
    const double period = 4.0 / 512.0;
    for (int sense = -1; sense <= 1; sense += 2) {
        for (int turns = RC_TURNS_ACCUMULATED; turns <= RC_TURNS_NEAREST; turns++) {
            struct rig rig;
            make_controller(&rig, RC_CONTROL_ANGLE, 1.0, 0.0, 1e6);
            rig.clock.turns_mode = (enum rc_turns_mode)turns;
            double angle = 0.0;
            for (int i = 0; i < 2000; i++) {
                control(&rig, sense * 3.0);
                angle += sense * period * 3.0;
                /* independent of the code's rounding: the C library's remainder */
                const double wanted = turns == RC_TURNS_NEAREST ? remainder(angle, 2.0 * RC_PI) : angle;
                assert_near(rig.p.gathered[rig.lane], wanted, 1e-12);
                assert_near(rig.p.command[rig.lane], -wanted, 1e-12);
            }
            assert_true(fabs(angle) > 14.0 * RC_PI);
            const double peak = rig.p.tally.gathered_peak[rig.lane];
            assert_true(turns == RC_TURNS_NEAREST ? peak <= RC_PI && peak > RC_PI - 3.0 * period : peak > 14.0 * RC_PI);
        }
    }
}

static void test_stages__command_is_held_between_ticks_of_the_controller(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.clock.control_every = 16;
    rig.clock.control_mode = RC_CONTROL_RATE;
    rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
    rig.controller.gain = 0.5;
    rig_begin(&rig);
    for (int tick = 0; tick < 100; tick++) {
        rig_run_ramp(&rig, tick, tick + 1.0, 1);
        assert_true(rig.p.command[rig.lane] == -0.5 * (tick / 16 * 16));
    }
}

/* Closed form: at constant roll p the angle settles at p / gain with the platform at rest against the ground. */
static void test_stages__angle_control_leaves_an_angle_of_roll_over_gain(void **state)
{
    (void)state;
    for (int every = 1; every <= 16; every *= 4) {
        struct rig rig;
        rig_reset(&rig);
        rig.controller.gain = 8.0;
        rig.clock.control_every = every;
        rig_begin(&rig);
        rig_run(&rig, -12.0, 20000);
        assert_near(rig.p.residual[rig.lane], 0.0, 1e-12);
        assert_near(rig.p.gathered[rig.lane], -12.0 / 8.0, 1e-12);
    }
}

/* Closed form: on rate alone the residual is p / (1 + gain); a drive that follows at once is stable for gains below 1. */
static void test_stages__rate_control_leaves_roll_over_one_plus_gain(void **state)
{
    (void)state;
    static const double gain[] = { 0.1, 0.5, 0.9 };
    for (int i = 0; i < 3; i++) {
        struct rig rig;
        rig_reset(&rig);
        rig.clock.control_mode = RC_CONTROL_RATE;
        rig.controller.gain = gain[i];
        rig_begin(&rig);
        rig_run(&rig, 12.0, 2000);
        assert_near(rig.p.residual[rig.lane], 12.0 / (1.0 + gain[i]), 1e-12);
        assert_near(rig_rate(&rig), -12.0 * gain[i] / (1.0 + gain[i]), 1e-12);
    }
}

/* Closed form: integral action takes the residual, or the angle, to zero and holds the command by what it has gathered. */
static void test_stages__integral_action_removes_the_rest(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.clock.control_mode = RC_CONTROL_RATE;
    rig.controller = (struct rc_controller_design){ .gain = 0.3, .integral = 4.0, .windup = 1e6 };
    rig_begin(&rig);
    rig_run(&rig, 12.0, 20000);
    assert_near(rig.p.residual[rig.lane], 0.0, 1e-11);
    assert_near(rig.p.gathered[rig.lane], 12.0 / 4.0, 1e-11);
    rig_reset(&rig);
    rig.controller = (struct rc_controller_design){ .gain = 8.0, .integral = 10.0, .windup = 1e6 };
    rig_begin(&rig);
    rig_run(&rig, 12.0, 20000);
    assert_near(rig.p.residual[rig.lane], 0.0, 1e-10);
    assert_near(rig.p.gathered[rig.lane], 0.0, 1e-10);
    assert_near(rig.p.gathered_twice[rig.lane], 12.0 / 10.0, 1e-10);
}

/* Closed form: an angle-holding platform turns so that its own gyro reads zero, at -bias / (1 + scale). */
static void test_stages__bias_makes_a_held_angle_drift(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.controller.gain = 8.0;
    rig.gyro.bias = 0.25;
    rig.gyro.scale = 0.125;
    rig_begin(&rig);
    rig_run(&rig, 12.0, 20000);
    assert_near(rig.p.residual[rig.lane], -0.25 / 1.125, 1e-11);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stages__roll_is_the_cubic),
        cmocka_unit_test(test_stages__gyro_scales_then_adds_bias_then_clamps),
        cmocka_unit_test(test_stages__saturated_time_is_counted),
        cmocka_unit_test(test_stages__saturated_time_between_commands_is_counted),
        cmocka_unit_test(test_stages__gyro_samples_at_its_rate_and_holds),
        cmocka_unit_test(test_stages__a_sample_where_a_span_is_cut_sees_the_rate_there),
        cmocka_unit_test(test_stages__noise_is_the_sum_of_eight_bytes_of_the_flights_stream),
        cmocka_unit_test(test_stages__noise_is_white_with_the_stated_variance),
        cmocka_unit_test(test_stages__same_flight_hears_the_same_noise_and_another_not),
        cmocka_unit_test(test_stages__integral_is_updated_before_it_is_used),
        cmocka_unit_test(test_stages__gathered_part_is_clamped_in_units_of_the_command),
        cmocka_unit_test(test_stages__nearest_turn_wraps_at_half_a_turn),
        cmocka_unit_test(test_stages__command_is_held_between_ticks_of_the_controller),
        cmocka_unit_test(test_stages__angle_control_leaves_an_angle_of_roll_over_gain),
        cmocka_unit_test(test_stages__rate_control_leaves_roll_over_one_plus_gain),
        cmocka_unit_test(test_stages__integral_action_removes_the_rest),
        cmocka_unit_test(test_stages__bias_makes_a_held_angle_drift),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
