/* The torque-controlled servo: the order of its limits, closed forms of its motion, backlash, and GSL with event location as
 * referee of a whole loop. The rules are those of docs/theory.md, "Servo". */
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
#include "rig.h"

static void make_servo(struct rig *rig)
{
    rig_reset(rig);
    rig_silence(rig);
    rig->kind = "servo";
    rig->drive.servo = (struct rc_servo_design){ .stiffness = 0.01, .torque = 0.05, .cogs = 12.0 };
    rig->parts.inertia = 5e-4;
}

static double torque(const struct rig *rig)
{
    return rig->p.servo.torque[rig->lane];
}

/* A million cogs a turn pass too fast to be felt: their mean torque is none, whatever the tick. Closed form: (T - F)/I t. */
static void test_servo__countless_cogs_are_not_felt(void **state)
{
    (void)state;
    struct rig rig;
    make_servo(&rig);
    rig.clock.has_cogging = 1;
    rig.drive.servo.cogs = 1e6;
    rig.drive.servo.cogging = 1e-5;
    rig.parts.coulomb = 0.01;
    rig_begin(&rig);
    rig_command(&rig, 5.0);
    rig_spin(&rig, 1.0);
    rig_run(&rig, 0.0, 128);
    assert_near(rig_rate(&rig), 1.0 + (0.05 - 0.01) / 5e-4 * 0.25, 1e-3);
}

/* Deadband, clamp, lag, in that order: a command within the deadband is none, one beyond counts in full; what the clamp leaves
 * goes through the lag, so the torque creeps up to the clamped value as 1 - exp(-t/lag) and not faster. */
static void test_servo__deadband_then_clamp_then_lag(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_servo(&rig);
        rig.drive.deadband = 0.5;
        rig.drive.servo.lag = 0.004;
        rig.parts.coulomb = 10.0; /* nothing moves */
        rig_begin(&rig);
        rig_command(&rig, sense * 0.5);
        rig_run(&rig, 0.0, 20);
        assert_true(torque(&rig) == 0.0);
        rig_command(&rig, sense * 100.0);
        for (int tick = 1; tick <= 20; tick++) {
            rig_run(&rig, 0.0, 1);
            assert_near(torque(&rig), sense * 0.05 * (1.0 - exp(-tick / 512.0 / 0.004)), 1e-15);
        }
        rig_command(&rig, sense * 0.51);
        rig_run(&rig, 0.0, 512);
        assert_near(torque(&rig), sense * 0.0051, 1e-15);
    }
}

/* Closed form: inertia J + N^2 Jr, torque N eta T; the lag's mean torque over a tick makes the rate exact at every tick. */
static void test_servo__accelerates_the_geared_inertia_exactly(void **state)
{
    (void)state;
    struct rig rig;
    make_servo(&rig);
    rig.parts.gear_ratio = 4.0;
    rig.parts.gear_efficiency = 0.75;
    rig.parts.rotor_inertia = 3e-6;
    rig.drive.servo.lag = 0.003;
    rig_begin(&rig);
    rig_command(&rig, 2.0);
    const double inertia = 5e-4 + 16.0 * 3e-6, push = 4.0 * 0.75 * 0.02;
    for (int tick = 1; tick <= 100; tick++) {
        rig_run(&rig, 0.0, 1);
        const double t = tick / 512.0;
        assert_near(rig_rate(&rig), push / inertia * (t - 0.003 * (1.0 - exp(-t / 0.003))), 1e-12);
    }
}

/* Closed form: at constant torque against Coulomb and viscous friction the rate ends at (T - f)/c; below the starting friction it
 * does not move at all. */
static void test_servo__friction_holds_it_or_sets_its_rate(void **state)
{
    (void)state;
    struct rig rig;
    make_servo(&rig);
    rig.parts.coulomb = 0.01;
    rig.parts.viscous = 1e-3;
    rig.parts.starting_ratio = 1.5;
    rig_begin(&rig);
    rig_command(&rig, 1.5 * 0.9999);
    rig_run(&rig, 0.0, 512);
    assert_true(rig_rate(&rig) == 0.0);
    rig_command(&rig, 1.5 * 1.0001);
    rig_run(&rig, 0.0, 512 * 20);
    assert_near(rig_rate(&rig), (0.015 * 1.0001 - 0.01) / 1e-3, 1e-9);
}

static void test_servo__drives_no_faster_than_its_top_rate(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_servo(&rig);
        rig.drive.top = 7.0;
        rig_begin(&rig);
        rig_command(&rig, sense * 5.0);
        rig_run(&rig, 0.0, 512);
        assert_true(rig_rate(&rig) == sense * 7.0);
        /* Faster already: it slows at its torque. */
        rig_spin(&rig, sense * 9.0);
        rig_command(&rig, sense * -5.0);
        rig_run(&rig, 0.0, 1);
        assert_near(rig_rate(&rig), sense * (9.0 - 0.05 / 5e-4 / 512.0), 1e-12);
        /* Told to go on it is not driven, nor held back to the top rate. */
        rig_spin(&rig, sense * 9.0);
        rig_command(&rig, sense * 5.0);
        rig_run(&rig, 0.0, 64);
        assert_true(rig_rate(&rig) == sense * 9.0);
    }
}

/* Closed form: in a cogging well the platform swings at sqrt(C cogs / J) for small angles. */
static void test_servo__swings_in_a_cog(void **state)
{
    (void)state;
    struct rig rig;
    make_servo(&rig);
    rig.clock.has_cogging = 1;
    rig.clock.dt = 1.0 / 8192.0;
    rig.clock.tick_rate = 8192;
    rig.drive.servo.cogging = 0.002;
    rig_begin(&rig);
    const double natural = sqrt(0.002 * 12.0 / 5e-4), rate = 0.001 * natural / 12.0;
    rig_spin(&rig, rate);
    for (int i = 0; i < 40; i++) {
        rig_run(&rig, 0.0, 256);
        const double t = (i + 1) * 256.0 / 8192.0;
        assert_near(rig_rate(&rig), rate * cos(natural * t), 1e-3 * rate);
    }
}

/* The plant between the controller's ticks, for GSL: rate, angle, torque, with friction as the caller says. */
struct plant {
    double wanted, lag, inertia, friction, viscous, cogging, roll_slope;
};
static int plant_slope(double t, const double y[], double dy[], void *user)
{
    const struct plant *const p = user;
    (void)t;
    const double sense = y[0] > 0.0 ? 1.0 : -1.0;
    dy[0] = (y[2] - p->cogging * sin(12.0 * y[1]) - sense * p->friction - p->viscous * y[0]) / p->inertia - p->roll_slope;
    dy[1] = y[0];
    dy[2] = (p->wanted - y[2]) / p->lag;
    return GSL_SUCCESS;
}

/* Advance by `span`; stops where the rate passes zero, by halving. ends the time advanced */
static double advance(struct plant *plant, double *y, double span)
{
    gsl_odeiv2_system system = { plant_slope, NULL, 3, plant };
    double low = 0.0, high = span, start[3] = { y[0], y[1], y[2] };
    for (int i = 0; i < 60; i++) {
        gsl_odeiv2_driver *driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-5, 1e-13, 1e-13);
        double t = 0.0;
        const double until = i == 0 ? span : 0.5 * (low + high);
        for (int k = 0; k < 3; k++)
            y[k] = start[k];
        assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, until, y), GSL_SUCCESS);
        gsl_odeiv2_driver_free(driver);
        if (i == 0 && y[0] * start[0] > 0.0)
            return span;
        if (i > 0 && y[0] * start[0] <= 0.0)
            high = until;
        else if (i > 0)
            low = until;
    }
    return high;
}

/* A rate loop that reverses through friction: P and I on the rate under a roll that speeds up and slows down, sticking where the
 * torque does not tear it loose. Bound: that of the referee, whose tolerance is 1e-13 a step. */
static void test_servo__follows_the_referees_loop(void **state)
{
    (void)state;
    struct rig rig;
    make_servo(&rig);
    rig.clock.dt = 1.0 / 4096.0;
    rig.clock.tick_rate = 4096;
    rig.clock.gyro_every = rig.clock.control_every = 16;
    rig.clock.control_mode = RC_CONTROL_RATE;
    rig.clock.has_cogging = 1;
    rig.controller = (struct rc_controller_design){ .gain = 1.0, .integral = 10.0, .windup = 1e6 };
    rig.drive.servo.lag = 0.004;
    rig.drive.servo.cogging = 0.0005;
    rig.parts.coulomb = 0.003;
    rig.parts.viscous = 1e-4;
    rig.tick = 0;
    rig_begin(&rig);
    struct plant plant = { 0.0, 0.004, 5e-4, 0.003, 1e-4, 0.0005, 0.0 };
    double y[3] = { 0.0, 0.0, 0.0 }, gathered = 0.0, roll = 0.0, worst = 0.0;
    for (int i = 0; i < 512; i++) { /* 2 s, one controller tick each */
        const double h = 1.0 / 256.0;
        const double after = 12.0 * sin(2.0 * (i + 1) * h);
        plant.roll_slope = (after - roll) / h;
        gathered += h * (roll + y[0]);
        const double command = -(roll + y[0] + 10.0 * gathered);
        plant.wanted = fmax(-0.05, fmin(0.05, 0.01 * command));
        /* Stuck until the torque passes friction: not met once it moves, but through zero. */
        double left = h;
        while (left > 1e-12) {
            if (y[0] == 0.0) {
                const double push = plant.wanted - 5e-4 * plant.roll_slope;
                y[0] = push > 0.0 ? 1e-12 : -1e-12;
            }
            const double taken = advance(&plant, y, left);
            left -= taken;
            if (left > 1e-12)
                y[0] = 0.0;
        }
        rig_run_ramp(&rig, roll, after, 16);
        roll = after;
        worst = fmax(worst, fabs(rig_rate(&rig) - y[0]));
    }
    assert_true(fabs(rig_rate(&rig)) > 5.0);
    assert_near(worst, 0.0, 1e-9);
    assert_near(rig.p.turned[rig.lane], y[1], 1e-10);
}

/* Behind a gear with play the rotor runs free first and takes the platform along with the common momentum. Closed form: torque T
 * on the rotor's inertia crosses half the play in sqrt(play M / T); then the two share the rotor's momentum and go on as one,
 * whatever the tick. */
static void test_servo__play_is_crossed_and_momentum_is_kept(void **state)
{
    (void)state;
    for (int finer = 1; finer <= 16; finer *= 4)
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            make_servo(&rig);
            rig.clock.has_play = 1;
            rig.clock.tick_rate *= finer;
            rig.clock.dt /= finer;
            rig.parts.backlash = 0.02;
            rig.parts.rotor_inertia = 1e-4;
            rig_begin(&rig);
            rig_command(&rig, sense * 1.0);
            const double crossing = sqrt(0.02 * 1e-4 / 0.01), met = 0.01 * crossing / 6e-4;
            for (int tick = 1; tick <= 20 * finer; tick++) {
                rig_run(&rig, 0.0, 1);
                const double since = fmax(tick * rig.clock.dt - crossing, 0.0);
                const double rate = since > 0.0 ? met + 0.01 / 6e-4 * since : 0.0;
                assert_near(rig_rate(&rig), sense * rate, 1e-9);
                assert_near(rig.p.turned[rig.lane], sense * since * (met + 0.5 * 0.01 / 6e-4 * since), 1e-10);
                assert_near(rig.p.motor_rate[rig.lane], sense * (since > 0.0 ? rate : 100.0 * tick * rig.clock.dt), 1e-9);
            }
            assert_true(rig.p.tally.starts[rig.lane] == 1.0);
        }
}

/* Where the motor slows, the platform goes on alone, leaves its flank at once, meets the other one and shares its momentum.
 * Closed form: the rotor's T/Jr against the platform's friction F/J close the play b in sqrt(2 b/(T/Jr - F/J)). */
static void test_servo__a_slowing_motor_is_left_and_met_again(void **state)
{
    (void)state;
    for (int finer = 1; finer <= 16; finer *= 4) {
        struct rig rig;
        make_servo(&rig);
        rig.clock.has_play = 1;
        rig.clock.tick_rate *= finer;
        rig.clock.dt /= finer;
        rig.parts.backlash = 0.03;
        rig.parts.rotor_inertia = 1e-4;
        rig.parts.coulomb = 1e-3;
        rig_begin(&rig);
        rig_spin(&rig, 9.0);
        for (int lane = 0; lane < RC_LANES; lane++) {
            rig.p.motor_rate[lane] = 9.0;
            rig.p.gap[lane] = 0.03;
        }
        rig_command(&rig, -2.0);
        const double brakes = 0.02 / 1e-4, rubs = 1e-3 / 5e-4, meets = sqrt(2.0 * 0.03 / (brakes - rubs));
        const double alone = 9.0 - rubs * meets, rotor = 9.0 - brakes * meets, met = (5.0 * alone + rotor) / 6.0;
        for (int tick = 1; tick <= 12 * finer; tick++) {
            rig_run(&rig, 0.0, 1);
            const double t = tick * rig.clock.dt, since = fmax(t - meets, 0.0);
            assert_near(rig_rate(&rig), t < meets ? 9.0 - rubs * t : met - 0.021 / 6e-4 * since, 1e-8);
            assert_near(rig.p.motor_rate[rig.lane], t < meets ? 9.0 - brakes * t : rig_rate(&rig), 1e-8);
            assert_near(rig.p.gap[rig.lane], fmax(0.03 - 0.5 * (brakes - rubs) * t * t, 0.0), 1e-10);
        }
    }
}

/* A led drive's reversal: the gear's output turns round, the platform stands until the play is crossed, then takes its rate. */
static void test_servo__a_led_drive_loses_its_play_on_reversal(void **state)
{
    (void)state;
    for (int kind = 0; kind < 2; kind++) {
        struct rig rig;
        rig_reset(&rig);
        rig_silence(&rig);
        rig.kind = kind ? "stepper" : "geared_sensorless";
        rig.drive.stepper = (struct rc_stepper_design){ .steps = 200.0, .microsteps = 16.0, .holding_torque = 200.0,
            .current = 1.0, .resistance = 1.0, .supply = 1e6, .torque_factor = 1.0, .damping = 0.1 };
        rig.drive.slew = 1e5; /* which asks for 100 N m, friction apart */
        rig.drive.top = 100.0;
        rig.clock.has_play = 1;
        rig.parts.backlash = 0.05;
        rig.parts.coulomb = 0.5; /* stops at once in the play */
        rig_begin(&rig);
        rig_command(&rig, 2.0);
        rig_run(&rig, 0.0, 100);
        assert_near(rig_rate(&rig), 2.0, 1e-12);
        const double angle = rig.p.turned[rig.lane];
        rig_command(&rig, -2.0);
        int n = 0;
        while (rig_rate(&rig) >= 0.0 && n++ < 512)
            rig_run(&rig, 0.0, 1);
        assert_near(n / 512.0, 0.05 / 2.0, 3.0 / 512.0);
        assert_near(rig_rate(&rig), -2.0, 1e-12);
        assert_near(rig.p.turned[rig.lane], angle, 2.0 * 3.0 / 512.0);
    }
}

/* From rest the torque rises as T (1 - exp(-t/lag)); the platform is torn loose where that meets the friction at standstill,
 * inside a tick, and goes on under what exceeds the running one. Closed form: rate, angle and the mean of the rate's square,
 * whatever the tick. */
static void test_servo__is_torn_loose_inside_a_tick(void **state)
{
    (void)state;
    const double torque_at_end = 0.02, lag = 0.01, friction = 0.008, inertia = 5e-4;
    const double loose = -lag * log(1.0 - 1.5 * friction / torque_at_end);
    for (int finer = 1; finer <= 4; finer *= 4)
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            make_servo(&rig);
            rig.clock.tick_rate *= finer;
            rig.clock.dt /= finer;
            rig.drive.servo.lag = lag;
            rig.parts.coulomb = friction;
            rig.parts.starting_ratio = 1.5;
            rig_begin(&rig);
            rig_command(&rig, sense * torque_at_end / 0.01);
            double angle = 0.0, square = 0.0;
            for (int tick = 1; tick <= 20 * finer; tick++) {
                rig_run(&rig, 0.0, 1);
                double rate = 0.0;
                for (int part = 0; part < 1000; part++) { /* by Simpson's rule: three points each */
                    for (int point = 0; point < 3; point++) {
                        const double t = (tick - 1 + (part + 0.5 * point) / 1000.0) * rig.clock.dt, since = fmax(t - loose, 0.0);
                        rate = t <= loose ? 0.0 : ((torque_at_end - friction) * since -
                                                   torque_at_end * lag * (exp(-loose / lag) - exp(-t / lag))) / inertia;
                        angle += rate * rig.clock.dt / 6000.0 * (point == 1 ? 4.0 : 1.0);
                        square += rate * rate * rig.clock.dt / 6000.0 * (point == 1 ? 4.0 : 1.0);
                    }
                }
                assert_near(rig_rate(&rig), sense * rate, 1e-13);
                assert_near(rig.p.turned[rig.lane], sense * angle, 1e-9);
                assert_near(rig.p.tally.square[rig.lane], square, 1e-9);
            }
            assert_true(rig.p.tally.starts[rig.lane] == 1.0);
        }
}

/* A torque that decays with the lag, on a mass that rubs and drags, under a roll that speeds up evenly. Closed form: M w' = T
 * exp(-t/lag) - F - c w - J p', the lag's part by the divided difference of the two decays, which are one and the same in the
 * second case. */
static void test_servo__a_decaying_torque_meets_viscous_friction(void **state)
{
    (void)state;
    static const double lags[] = { 0.003, 0.01, 0.2 };
    const double viscous = 0.05, inertia = 5e-4, friction = 0.002, torque_first = 0.03, roll = 3.0;
    for (int i = 0; i < 3; i++) {
        struct rig rig;
        make_servo(&rig);
        rig.parts.coulomb = friction;
        rig.parts.viscous = viscous;
        rig.drive.servo.lag = lags[i];
        rig_begin(&rig);
        rig_spin(&rig, 20.0);
        for (int lane = 0; lane < RC_LANES; lane++)
            rig.p.servo.torque[lane] = torque_first;
        rig_command(&rig, 0.0);
        const double k = viscous / inertia, steady = -(friction / inertia + roll), first = torque_first / inertia;
        for (int tick = 1; tick <= 8; tick++) {
            rig_run_ramp(&rig, roll * (tick - 1) / 512.0, roll * tick / 512.0, 1);
            const double t = tick / 512.0, left = exp(-k * t), lagged = exp(-t / lags[i]), apart = k - 1.0 / lags[i];
            const int same = fabs(apart) < 1e-9;
            const double both = same ? t * left : (lagged - left) / apart;
            const double rate = steady / k + (20.0 - steady / k) * left + first * both;
            assert_near(rig_rate(&rig), rate, 1e-11);
            const double turned_lag = same ? (1.0 - left * (1.0 + k * t)) / (k * k)
                                           : (lags[i] * (1.0 - lagged) - (1.0 - left) / k) / apart;
            const double turned = steady / k * t + (20.0 - steady / k) * (1.0 - left) / k + first * turned_lag;
            assert_near(rig.p.turned[rig.lane], turned, 1e-12);
        }
    }
}

/* A motor that brakes harder than friction turns the platform round at its moment, and speeds it up from there with friction
 * against it: rate, angle, drift and square by closed form, whatever the tick. One that brakes less lets it come to rest and
 * stand. */
static void test_servo__turns_round_or_rests_at_its_moment(void **state)
{
    (void)state;
    const double inertia = 5e-4, friction = 0.004, rate = 1.0;
    for (int finer = 1; finer <= 4; finer *= 4)
        for (int weak = 0; weak <= 1; weak++) {
            struct rig rig;
            make_servo(&rig);
            rig.clock.tick_rate *= finer;
            rig.clock.dt /= finer;
            rig.parts.coulomb = friction;
            rig.parts.starting_ratio = 1.5;
            rig_begin(&rig);
            rig_spin(&rig, rate);
            const double pull = weak ? 0.005 : 0.02, slows = (pull + friction) / inertia;
            const double speeds = weak ? 0.0 : (pull - friction) / inertia;
            const double rests = rate / slows;
            rig_command(&rig, -pull / 0.01);
            for (int tick = 1; tick <= 64 * finer; tick++) {
                rig_run(&rig, 0.0, 1);
                const double t = tick * rig.clock.dt, before = fmin(t, rests), since = fmax(t - rests, 0.0);
                const double turned = before * (rate - 0.5 * slows * before) - 0.5 * speeds * since * since;
                const double then = rate - slows * before;
                const double square = (rate * rate * rate - then * then * then) / (3.0 * slows) +
                                      speeds * speeds * since * since * since / 3.0;
                assert_near(rig_rate(&rig), t < rests ? then : -speeds * since, 1e-11);
                assert_near(rig.p.turned[rig.lane], turned, 1e-12);
                assert_near(rig.p.tally.drift[rig.lane], turned, 1e-12);
                assert_near(rig.p.tally.square[rig.lane], square, 1e-12);
            }
            assert_true(rig.p.tally.reversals[rig.lane] == (weak ? 0.0 : 1.0) && rig.p.tally.starts[rig.lane] == 0.0);
            assert_true(rig.p.mode[rig.lane] == (weak ? RC_DRIVE_STANDING : RC_DRIVE_RUNNING));
        }
}

/* The top rate is met inside a tick, and held from there; with the motor's torque gone, friction slows it at once. */
static void test_servo__meets_its_top_rate_at_its_moment(void **state)
{
    (void)state;
    for (int finer = 1; finer <= 4; finer *= 4) {
        struct rig rig;
        make_servo(&rig);
        rig.clock.tick_rate *= finer;
        rig.clock.dt /= finer;
        rig.drive.top = 1.0;
        rig.parts.coulomb = 0.002;
        rig_begin(&rig);
        rig_spin(&rig, 0.5);
        rig_command(&rig, 2.0);
        const double speeds = 0.018 / 5e-4, meets = 0.5 / speeds;
        for (int tick = 1; tick <= 16 * finer; tick++) {
            rig_run(&rig, 0.0, 1);
            const double t = tick * rig.clock.dt, before = fmin(t, meets), since = fmax(t - meets, 0.0);
            assert_near(rig_rate(&rig), t < meets ? 0.5 + speeds * t : 1.0, 1e-12);
            assert_near(rig.p.turned[rig.lane], before * (0.5 + 0.5 * speeds * before) + since, 1e-11);
        }
        assert_true(rig_rate(&rig) == 1.0);
        const double angle = rig.p.turned[rig.lane], slows = 0.002 / 5e-4, t = finer * rig.clock.dt;
        rig_command(&rig, 0.0);
        rig_run(&rig, 0.0, finer);
        assert_near(rig_rate(&rig), 1.0 - slows * t, 1e-12);
        assert_near(rig.p.turned[rig.lane] - angle, t * (1.0 - 0.5 * slows * t), 1e-12);
    }
}

/* Held at its top rate by a torque that decays, it is let go where that no more than meets all friction, the viscous one too; from
 * there it slows as w' = (a + b exp(-t/lag)) / J - k w does by hand. */
static void test_servo__leaves_its_top_rate_where_viscous_friction_is_met(void **state)
{
    (void)state;
    const double inertia = 5e-4, rubs = 0.002, viscous = 0.002, lag = 1e-3, top = 7.0, first = 0.02, last = 0.002;
    const double k = viscous / inertia, needed = rubs + viscous * top;
    const double leaves = lag * log((first - last) / (needed - last));
    for (int finer = 1; finer <= 4; finer *= 4)
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            make_servo(&rig);
            rig.clock.tick_rate *= finer;
            rig.clock.dt /= finer;
            rig.drive.top = top;
            rig.drive.servo.lag = lag;
            rig.parts.coulomb = rubs;
            rig.parts.viscous = viscous;
            rig_begin(&rig);
            rig_spin(&rig, sense * top);
            for (int lane = 0; lane < RC_LANES; lane++)
                rig.p.servo.torque[lane] = sense * first;
            rig_command(&rig, sense * last / 0.01);
            for (int tick = 1; tick <= 2 * finer; tick++) {
                rig_run(&rig, 0.0, 1);
                const double since = fmax(tick * rig.clock.dt - leaves, 0.0), fades = exp(-k * since);
                const double tends = (last - rubs) / viscous, lagging = (needed - last) / inertia;
                const double rate = tends + (top - tends) * fades + lagging * (exp(-since / lag) - fades) / (k - 1.0 / lag);
                assert_near(rig_rate(&rig), sense * rate, 1e-11);
            }
        }
}

/* The vehicle takes it past its top rate while the motor brakes; from the moment at which that drives again it is held at the
 * rate it has then. One that is slower at that moment is held at the top rate. By hand, whatever the tick. */
static void test_servo__is_held_at_the_rate_it_has_when_the_motor_turns_round(void **state)
{
    (void)state;
    const double inertia = 5e-4, lag = 2e-3, top = 7.0, first = -0.005, last = 0.003, roll = -200.0, span = 1.0 / 256.0;
    const double turns = lag * log((last - first) / last), off = (first - last) / inertia;
    const double gains = (last / inertia - roll) * turns + off * lag * (1.0 - exp(-turns / lag));
    for (int finer = 1; finer <= 4; finer *= 2)
        for (int sense = -1; sense <= 1; sense += 2)
            for (int slower = 0; slower <= 1; slower++) {
                const double rate = slower ? 6.5 : 6.9;
                struct rig rig;
                make_servo(&rig);
                rig.clock.tick_rate = 256 * finer;
                rig.clock.dt = span / finer;
                rig.drive.top = top;
                rig.drive.servo.lag = lag;
                rig_begin(&rig);
                rig_spin(&rig, sense * rate);
                for (int lane = 0; lane < RC_LANES; lane++)
                    rig.p.servo.torque[lane] = sense * first;
                rig_command(&rig, sense * last / 0.01);
                rig_run_ramp(&rig, 0.0, sense * roll * span, finer);
                if (slower)
                    assert_true(rate + gains < top && rig_rate(&rig) == sense * top);
                else
                    assert_near(rig_rate(&rig), sense * (rate + gains), 1e-11);
            }
}

/* A torque that rises with the lag has to overcome friction and the cog in whose flank the platform stands. By hand, at a third
 * of a radian of the cog's phase: it is torn loose where T (1 - exp(-t/lag)) = ratio F + C sin(1/3), and the other way past
 * ratio F - that. */
static void test_servo__a_cog_holds_it_back_until_the_torque_is_there(void **state)
{
    (void)state;
    const double friction = 0.004, cogging = 0.003, full = 0.02, lag = 0.02;
    for (int sense = -1; sense <= 1; sense += 2)
        for (int finer = 1; finer <= 4; finer *= 4) {
            struct rig rig;
            make_servo(&rig);
            rig.clock.tick_rate *= finer;
            rig.clock.dt /= finer;
            rig.clock.has_cogging = 1;
            rig.drive.servo.cogging = cogging;
            rig.drive.servo.lag = lag;
            rig.parts.coulomb = friction;
            rig.parts.starting_ratio = 1.5;
            rig_begin(&rig);
            for (int lane = 0; lane < RC_LANES; lane++)
                rig.p.turned[lane] = 1.0 / 3.0 / 12.0;
            rig_command(&rig, sense * full / 0.01);
            const double loose = -lag * log(1.0 - (1.5 * friction + sense * cogging * sin(1.0 / 3.0)) / full);
            const int ticks = (int)floor(loose / rig.clock.dt);
            rig_run(&rig, 0.0, ticks);
            assert_true(rig_rate(&rig) == 0.0);
            rig_run(&rig, 0.0, 1);
            /* So soon after, the cog's torque is that of where it stood, to its share in C cogs^2 of a hundredth of a rad. */
            const double t = (ticks + 1) * rig.clock.dt, since = t - loose;
            const double pushed = full - friction - sense * cogging * sin(1.0 / 3.0);
            const double rate = (pushed * since - full * lag * (exp(-loose / lag) - exp(-t / lag))) / 5e-4;
            assert_near(rig_rate(&rig), sense * rate, 2e-5);
            assert_true(fabs(rate) > 1e-4);
        }
}

/* The residual rate's peak lies inside a tick. Closed form: a torque T exp(-t/lag) against friction F speeds the platform up
 * until lag ln(T/F). */
static void test_servo__peak_inside_a_tick_is_found(void **state)
{
    (void)state;
    const double lag = 0.004, friction = 0.004, torque_first = 0.02, inertia = 5e-4;
    for (int finer = 1; finer <= 4; finer *= 4) {
        struct rig rig;
        make_servo(&rig);
        rig.clock.tick_rate *= finer;
        rig.clock.dt /= finer;
        rig.drive.servo.lag = lag;
        rig.parts.coulomb = friction;
        rig_begin(&rig);
        rig_spin(&rig, 2.0);
        for (int lane = 0; lane < RC_LANES; lane++) {
            rig.p.servo.torque[lane] = torque_first;
            rig.p.residual[lane] = 2.0;
        }
        rig_command(&rig, 0.0);
        rig_run(&rig, 0.0, 10 * finer);
        const double top = lag * log(torque_first / friction);
        const double peak = 2.0 + (torque_first * lag * (1.0 - exp(-top / lag)) - friction * top) / inertia;
        assert_true(fabs(top * 512.0 * finer - round(top * 512.0 * finer)) > 0.1);
        assert_near(rig.p.tally.residual_peak[rig.lane], peak, 1e-9);
    }
}

/* A lane's bits do not depend on mates that stand while it turns. */
static void test_servo__standing_mates_leave_no_trace(void **state)
{
    (void)state;
    struct rig rig[2];
    for (int i = 0; i < 2; i++) {
        make_servo(&rig[i]);
        rig[i].drive.servo.lag = 0.003;
        rig[i].parts.viscous = 1e-4;
        rig[i].parts.coulomb = 1e-3;
        rig_begin(&rig[i]);
        for (int lane = 0; lane < RC_LANES; lane++)
            if (i == 1 && lane != rig[i].lane)
                rig[i].p.friction[lane] = 10.0;
        for (int tick = 0; tick < 2000; tick++) {
            rig_command(&rig[i], 3.0 * sin(0.01 * tick));
            rig_run_ramp(&rig[i], sin(0.02 * tick), sin(0.02 * (tick + 1)), 1);
        }
    }
    const int lane = rig[0].lane;
    assert_true(rig[0].p.turned[lane] == rig[1].p.turned[lane] && rig[0].p.tally.square[lane] == rig[1].p.tally.square[lane]);
    assert_true(rig[0].p.tally.held[lane] == rig[1].p.tally.held[lane] && rig[0].p.tally.reversals[lane] > 5.0);
    assert_true(rig[0].p.tally.drift[lane] == rig[1].p.tally.drift[lane]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_servo__countless_cogs_are_not_felt),
        cmocka_unit_test(test_servo__deadband_then_clamp_then_lag),
        cmocka_unit_test(test_servo__accelerates_the_geared_inertia_exactly),
        cmocka_unit_test(test_servo__friction_holds_it_or_sets_its_rate),
        cmocka_unit_test(test_servo__drives_no_faster_than_its_top_rate),
        cmocka_unit_test(test_servo__swings_in_a_cog),
        cmocka_unit_test(test_servo__follows_the_referees_loop),
        cmocka_unit_test(test_servo__play_is_crossed_and_momentum_is_kept),
        cmocka_unit_test(test_servo__a_led_drive_loses_its_play_on_reversal),
        cmocka_unit_test(test_servo__a_decaying_torque_meets_viscous_friction),
        cmocka_unit_test(test_servo__turns_round_or_rests_at_its_moment),
        cmocka_unit_test(test_servo__meets_its_top_rate_at_its_moment),
        cmocka_unit_test(test_servo__leaves_its_top_rate_where_viscous_friction_is_met),
        cmocka_unit_test(test_servo__is_held_at_the_rate_it_has_when_the_motor_turns_round),
        cmocka_unit_test(test_servo__a_cog_holds_it_back_until_the_torque_is_there),
        cmocka_unit_test(test_servo__peak_inside_a_tick_is_found),
        cmocka_unit_test(test_servo__a_slowing_motor_is_left_and_met_again),
        cmocka_unit_test(test_servo__is_torn_loose_inside_a_tick),
        cmocka_unit_test(test_servo__standing_mates_leave_no_trace),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
