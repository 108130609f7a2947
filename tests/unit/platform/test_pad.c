/* The pad and the battery: nudges against the recursion for runs of failures, the drain in closed form, and what a low or empty
 * battery does to each drive. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "platform/pad.h"
#include "rig.h"

static double idle_of(struct rig *rig, uint64_t flight)
{
    const struct rc_platform_setup setup = { .drive = &rig->drive, .powered = rig->idle, .seed = 4, .flight = flight };
    return rc_pad_idle(&setup);
}

static void test_pad__nudges_that_always_or_never_work(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig.drive.sleep_after = 100.0;
    rig.drive.nudge_interval = 30.0;
    rig.idle = 250.0;
    assert_true(idle_of(&rig, 0) == 250.0);
    rig.drive.nudge_odds = 1.0;
    assert_true(idle_of(&rig, 0) == 10.0);
    rig.drive.nudge_interval = 100.0; /* comes too late: it sleeps at that moment */
    assert_true(idle_of(&rig, 0) == 250.0);
    rig.drive.nudge_interval = 0.0;
    assert_true(idle_of(&rig, 0) == 250.0);
}

/* Odds of no run of m failures in a row among n tries, by recursion on the place of the first success: q(n) = sum over k < m of
 * (1-p)^k p q(n-k-1), and 1 - 0 for n < m. source W. Feller, An Introduction to Probability Theory and Its Applications, vol. 1,
 * chapter XIII, success runs [memory] */
static double odds_awake(double p, int n, int m)
{
    double q[64];
    for (int tries = 0; tries <= n; tries++) {
        q[tries] = tries < m ? 1.0 : 0.0;
        for (int k = 0; tries >= m && k < m; k++)
            q[tries] += pow(1.0 - p, k) * p * q[tries - k - 1];
    }
    return q[n];
}

static void test_pad__asleep_as_often_as_runs_of_failures(void **state)
{
    (void)state;
    static const double odds[] = { 0.2, 0.5, 0.8 };
    enum { N = 20000 };
    for (int i = 0; i < 3; i++) {
        struct rig rig;
        rig_reset(&rig);
        /* Nudges at 40, 80 .. 800 and asleep after 100: after two failures in a row the next nudge comes too late. Lift-off is at 801,
         * so two failures that end with nudge 20 leave it awake, 81 s idle. */
        rig.drive.sleep_after = 100.0;
        rig.drive.nudge_interval = 40.0;
        rig.drive.nudge_odds = odds[i];
        rig.idle = 801.0;
        int n_awake = 0;
        for (uint64_t flight = 0; flight < N; flight++)
            n_awake += idle_of(&rig, flight) < 100.0;
        const double wanted = odds_awake(odds[i], 19, 2);
        assert_near(n_awake / (double)N, wanted, 4.0 * sqrt(wanted * (1.0 - wanted) / N));
    }
}

static void make_fed(struct rig *rig)
{
    rig_reset(rig);
    rig->clock.has_battery = 1;
    rig->clock.control_mode = RC_CONTROL_RATE;
    rig->controller.gain = 0.0;
    rig->drive.top = 10.0;
    rig->drive.battery = (struct rc_battery_design){ .full = 8.0, .low = 6.0, .capacity = 1000.0, .charge = 0.9, .resistance = 0.5,
        .quiet_current = 0.1, .run_current = 0.4, .rated = 8.0 };
    rig->idle = 2000.0;
}

/* Closed form: at lift-off (1 - 0.9) 1000 + 0.1 x 2000 = 300 A s are gone; the voltage is 8 - 2 x 0.3 less R I. */
static void test_pad__battery_sags_with_the_wait_and_the_load(void **state)
{
    (void)state;
    struct rig rig;
    make_fed(&rig);
    rig_begin(&rig);
    rig_run(&rig, 0.0, 1);
    assert_near(rig.p.battery.volts[rig.lane], 8.0 - 0.6 - 0.05, 1e-6);
    assert_near(rig.p.top[rig.lane], 10.0 * 7.35 / 8.0, 1e-6);
    rig_spin(&rig, 5.0);
    for (int lane = 0; lane < RC_LANES; lane++)
        rig.p.mode[lane] = RC_DRIVE_RUNNING;
    rig_run(&rig, 0.0, 1);
    assert_near(rig.p.battery.volts[rig.lane], 8.0 - 0.6 - 0.25, 1e-5);
    assert_near(rig.p.battery.least[rig.lane], 7.15, 1e-5);
}

/* Current by hand, as what one of the battery's ticks takes: 0.1 A always, 0.4 A while it turns, and the load's by 0.02 N m/A, gear 10
 * and efficiency 0.7. Against bearing and gear 0.02 + 0.01, 0.001 per m/s2 at 20 m/s2 and 0.004 N m s at 5 rad/s, 0.07 N m in all,
 * that is 0.5 A, as it is for a servo's 0.07 N m. A stepper takes what it takes, at standstill too. */
static void test_pad__load_adds_to_the_current_of_each_drive(void **state)
{
    (void)state;
    static const struct {
        const char *kind;
        double mode, rate, torque, amperes; /* [rad/s], the servo's [N m] */
    } looks[] = {
        { "geared_sensorless", RC_DRIVE_RUNNING, -5.0, 0.0, 0.1 + 0.4 + 0.5 },
        { "geared_sensorless", RC_DRIVE_STANDING, 0.0, 0.0, 0.1 },
        { "geared_sensorless", RC_DRIVE_STANDING, 5.0, 0.0, 0.1 }, /* its platform is under way in the gear's play */
        { "geared_sensorless", RC_DRIVE_RUNNING, 0.0, 0.0, 0.1 + 0.4 + 0.05 / 0.14 }, /* and not taken along yet */
        { "geared_sensorless", RC_DRIVE_ASLEEP, 5.0, 0.0, 0.1 },
        { "geared_sensorless", RC_DRIVE_WAKING, 5.0, 0.0, 0.1 }, /* its motor has no current */
        { "servo", RC_DRIVE_RUNNING, 5.0, -0.07, 0.1 + 0.4 + 0.5 },
        { "servo", RC_DRIVE_STANDING, 0.0, 0.014, 0.1 + 0.1 }, /* held by its friction */
        { "stepper", RC_DRIVE_RUNNING, 5.0, 0.0, 0.1 + 0.4 },
        { "stepper", RC_DRIVE_STANDING, 0.0, 0.0, 0.1 + 0.4 },
    };
    for (size_t look = 0; look < sizeof looks / sizeof looks[0]; look++) {
        struct rig rig;
        make_fed(&rig);
        rig.kind = looks[look].kind;
        rig.drive.battery.torque_per_current = 0.02;
        rig.drive.stepper = (struct rc_stepper_design){ .steps = 200.0, .microsteps = 16.0, .holding_torque = 1.0, .current = 1.0,
            .resistance = 1.0, .inductance = 1e-4, .torque_factor = 1.0, .damping = 0.1 };
        rig.drive.servo = (struct rc_servo_design){ .stiffness = 0.01, .torque = 0.1, .cogs = 1.0 };
        rig.parts.gear_ratio = 10.0;
        rig.parts.gear_efficiency = 0.7;
        rig.parts.coulomb = 0.02;
        rig.parts.gear_friction = 0.01;
        rig.parts.viscous = 0.004;
        rig.parts.load_mu = 0.1;
        rig.parts.mass = 0.5;
        rig.parts.bearing_diameter = 0.04;
        rig_begin(&rig);
        rig_spin(&rig, looks[look].rate);
        for (int lane = 0; lane < RC_LANES; lane++) {
            rig.p.load[lane] = -20.0;
            rig.p.mode[lane] = looks[look].mode;
            rig.p.servo.torque[lane] = looks[look].torque;
        }
        const double used = rig.p.battery.used[rig.lane], left = 1.0 - (used + looks[look].amperes / 512.0) / 1000.0;
        rig_run(&rig, 0.0, 1);
        assert_near((rig.p.battery.used[rig.lane] - used) * 512.0, looks[look].amperes, 1e-9);
        assert_near(rig.p.battery.volts[rig.lane], 6.0 + 2.0 * left - 0.5 * looks[look].amperes, 1e-9);
    }
}

/* The fastest rate follows the voltage: commanded more, it runs at the sagging top. */
static void test_pad__top_rate_falls_with_the_battery(void **state)
{
    (void)state;
    struct rig rig;
    make_fed(&rig);
    rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
    rig.controller.gain = 1.0;
    rig_begin(&rig);
    rig_run(&rig, -50.0, 10);
    assert_near(rig_rate(&rig), 10.0 * 7.15 / 8.0, 1e-3);
    rig_run(&rig, -50.0, 512 * 100); /* 100 s at 0.5 A: another 0.1 V */
    assert_near(rig_rate(&rig), 10.0 * 7.05 / 8.0, 1e-3);
}

/* For each kind of drive: whether the top rate follows the voltage: a motor's back-EMF does it, the clock of a step generator does not,
 * though the stepper's winding has that voltage. 200 A s of 2000 are gone at lift-off, of a stepper that holds 1000. */
static void test_pad__voltage_slows_no_step_generator(void **state)
{
    (void)state;
    for (int kind = 0; kind < rc_platform_drive_count(); kind++) {
        struct rig rig;
        make_fed(&rig);
        rig.kind = rc_platform_drive_at(kind)->name;
        rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
        rig.controller.gain = 1.0;
        rig.drive.slew = 100.0;
        rig.drive.battery.capacity = 2000.0;
        rig.drive.battery.charge = 1.0;
        rig.drive.battery.resistance = 0.0;
        rig.drive.stepper = (struct rc_stepper_design){ .steps = 200.0, .microsteps = 16.0, .holding_torque = 0.1, .current = 1.0,
            .resistance = 1.0, .inductance = 1e-4, .torque_factor = 1.0, .damping = 0.1 };
        rig.drive.servo = (struct rc_servo_design){ .stiffness = 1.0, .torque = 10.0, .cogs = 1.0 };
        rig_begin(&rig);
        rig_run(&rig, -50.0, 512);
        const int steps = kind == RC_DRIVE_INDEX_stepper;
        const double volts = 8.0 - 2.0 * (steps ? 1000.0 : 200.0) / 2000.0;
        assert_near(rig.p.battery.volts[rig.lane], volts, 1e-3);
        assert_near(rig.p.stepper.supply[rig.lane], volts, 1e-3);
        assert_near(rig_rate(&rig), steps ? 10.0 : 10.0 * volts / 8.0, steps ? 0.0 : 2e-3);
    }
}

/* A battery that sags until the top rate is below the floor stops the drive: there is no rate it could turn at. */
static void test_pad__a_top_rate_below_the_floor_is_a_stop(void **state)
{
    (void)state;
    for (int floor = 8; floor <= 10; floor += 2) { /* the sagging top is 9.2 rad/s */
        struct rig rig;
        make_fed(&rig);
        rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
        rig.controller.gain = 1.0;
        rig.drive.floor = rig.drive.jump = floor;
        rig_begin(&rig);
        rig_run(&rig, -50.0, 512 * 10);
        assert_true(floor < 9 ? fabs(rig_rate(&rig)) > 8.9 : rig_rate(&rig) == 0.0);
    }
}

/* The wait's charge by hand: electronics 0.1 A, and a stepper's 0.4 A as it holds from power-on, over 2000 s; what was full at power-on
 * and is empty at lift-off has been down to the low voltage. */
static void test_pad__a_stepper_drains_the_battery_on_the_pad(void **state)
{
    (void)state;
    for (int holds = 0; holds <= 1; holds++) {
        struct rig rig;
        make_fed(&rig);
        rig.drive.battery.charge = 1.0;
        rig.kind = holds ? "stepper" : "geared_sensorless";
        rig.drive.stepper = (struct rc_stepper_design){ .steps = 200.0, .microsteps = 16.0, .holding_torque = 1.0, .current = 1.0,
            .resistance = 1.0, .inductance = 1e-4, .torque_factor = 1.0, .damping = 0.1 };
        rig_begin(&rig);
        assert_near(rig.p.battery.used[rig.lane], holds ? 1000.0 : 200.0, 1e-9);
        assert_near(rig.p.battery.least[rig.lane], holds ? 6.0 : 8.0 - 2.0 * 0.2, 1e-12);
    }
}

/* Asleep on an empty battery, no command wakes it; on one that has a bit left the same command does. */
static void test_pad__nothing_wakes_a_drive_on_an_empty_battery(void **state)
{
    (void)state;
    for (int is_empty = 0; is_empty <= 1; is_empty++) {
        struct rig rig;
        make_fed(&rig);
        rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
        rig.controller.gain = 1.0;
        rig.drive.sleep_after = 10.0;
        rig.drive.wake_command = 2.0;
        rig.drive.battery.capacity = is_empty ? 200.0 : 300.0; /* 200 A s are gone by lift-off */
        rig.drive.battery.charge = 1.0;
        rig.parts.coulomb = 0.001;
        rig_begin(&rig);
        assert_true(rig.p.mode[rig.lane] == RC_DRIVE_ASLEEP);
        rig_run(&rig, -3.0, 512);
        assert_true((rig.p.mode[rig.lane] == RC_DRIVE_ASLEEP) == is_empty);
        assert_true((rig_rate(&rig) == 0.0) == is_empty);
        assert_near(rig.p.tally.unpowered[rig.lane], is_empty, 1e-12);
    }
}

/* Empty is empty: every kind of drive lets go at that moment, whatever is commanded after. */
static void test_pad__an_empty_battery_stops_every_drive(void **state)
{
    (void)state;
    for (int kind = 0; kind < rc_platform_drive_count(); kind++) {
        struct rig rig;
        make_fed(&rig);
        rig.kind = rc_platform_drive_at(kind)->name;
        rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
        rig.controller.gain = 1.0;
        rig.drive.slew = 100.0;
        rig.drive.stepper = (struct rc_stepper_design){ .steps = 200.0, .microsteps = 16.0, .holding_torque = 1.0, .current = 1.0,
            .resistance = 1.0, .inductance = 1e-4, .torque_factor = 1.0, .damping = 0.1 };
        rig.drive.servo = (struct rc_servo_design){ .stiffness = 0.01, .torque = 0.1, .cogs = 1.0 };
        rig.drive.battery.capacity = kind == RC_DRIVE_INDEX_stepper ? 1101.0 : 301.0;
        rig.drive.battery.charge = 1.0;
        rig.parts.coulomb = 0.001;
        rig_begin(&rig); /* 200 A s are gone, of a stepper, which holds, 1000: 101 are left, 202 s of running */
        rig_run(&rig, -3.0, 512 * 199);
        assert_true(fabs(rig_rate(&rig)) > 2.0 && rig.p.tally.unpowered[rig.lane] == 0.0);
        rig_run(&rig, -3.0, 512 * 21);
        assert_true(rig_rate(&rig) == 0.0);
        assert_near(rig.p.tally.unpowered[rig.lane], 220.0 - 202.0, 0.3);
        assert_true(rig.p.mode[rig.lane] == RC_DRIVE_ASLEEP);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pad__nudges_that_always_or_never_work),
        cmocka_unit_test(test_pad__asleep_as_often_as_runs_of_failures),
        cmocka_unit_test(test_pad__battery_sags_with_the_wait_and_the_load),
        cmocka_unit_test(test_pad__load_adds_to_the_current_of_each_drive),
        cmocka_unit_test(test_pad__top_rate_falls_with_the_battery),
        cmocka_unit_test(test_pad__voltage_slows_no_step_generator),
        cmocka_unit_test(test_pad__a_top_rate_below_the_floor_is_a_stop),
        cmocka_unit_test(test_pad__a_stepper_drains_the_battery_on_the_pad),
        cmocka_unit_test(test_pad__nothing_wakes_a_drive_on_an_empty_battery),
        cmocka_unit_test(test_pad__an_empty_battery_stops_every_drive),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
