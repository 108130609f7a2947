/* What a geared sensorless drive does to a flight: facts of the trade, common practice, no source. Roll histories are prescribed,
 * a cubic per stretch, so that the turns gathered are known.
 *
 * The controller sums the rates it reads at the beginnings of ticks; the tallies integrate. With s the residual rate where a tick
 * begins and e where it ends, each s is the e before, so that the difference over n ticks telescopes: where rates go straight through
 * a tick it is dt/2 (first s - last e), where a quick drive changes them at the beginning of a tick and they are level through it,
 * dt (first s - last e). Gathered angle and drift can so be compared exactly. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "rig.h"

static const double turn = 2.0 * RC_PI;

/* Asleep at lift-off in a bearing tight enough to carry it round; it wakes on the first large command, after a delay. */
static void make_sleeper(struct rig *rig, enum rc_turns_mode turns, double wake_delay)
{
    rig_reset(rig);
    rig->clock.turns_mode = turns;
    rig->parts.coulomb = 1.0;
    rig->drive = (struct rc_drive_design){
        .floor = 40.0 * RC_DEGREE, .jump = 40.0 * RC_DEGREE, .top = 40.0, .slew = 1e5, .sleep_after = 60.0,
        .wake_command = 2.0, .wake_delay = wake_delay,
    };
    rig->controller = (struct rc_controller_design){ .gain = 8.0, .windup = 1e6 };
    rig->idle = 600.0;
}

/* Roll up to 2 turns a second within 2 s, smoothly (2 turns gathered), then level; stop one tick before the drive obeys. */
static void fly_to_waking(struct rig *rig)
{
    rig_begin(rig);
    const double spin_up[4] = { 0.0, 0.0, 3.0 * 2.0 * turn, -2.0 * 2.0 * turn };
    rig_run_cubic(rig, spin_up, 1024);
    while (rig->p.mode[rig->lane] != RC_DRIVE_WAKING || rig->p.waking[rig->lane] + 2.0 * rig->clock.dt <= rig->drive.wake_delay)
        rig_run(rig, 2.0 * turn, 1);
    assert_true(rig_rate(rig) == 0.0 && rig->p.tally.starts[rig->lane] == 0.0);
}

/* Run until all is steady. ends the furthest drift on the way [rad] */
static double fly_on(struct rig *rig, int n_ticks)
{
    double furthest = rig->p.tally.drift[rig->lane];
    for (int tick = 0; tick < n_ticks; tick++) {
        rig_run(rig, 2.0 * turn, 1);
        furthest = fmax(furthest, rig->p.tally.drift[rig->lane]);
    }
    assert_near(rig->p.residual[rig->lane], 0.0, 1e-9);
    return furthest;
}

/* Common practice, no source: an accumulating controller unwinds afterwards every turn gathered while the drive slept. */
static void test_unwinding__accumulated_turns_are_unwound_to_the_last(void **state)
{
    (void)state;
    struct rig rig;
    make_sleeper(&rig, RC_TURNS_ACCUMULATED, 3.0);
    rig.drive.slew = 1e13; /* rates change at ticks only */
    fly_to_waking(&rig);
    const int lane = rig.lane;
    const double spin = 2.0 * turn, dt = rig.clock.dt;
    const double gathered = rig.p.tally.drift[lane];
    assert_true(gathered > 4.0 * turn); /* several turns */
    /* Carried round without slipping: the controller's angle is the vehicle's, by rectangles. */
    assert_near(rig.p.gathered[lane] - gathered, 0.5 * dt * (0.0 - spin), 1e-9);
    fly_on(&rig, 4096);
    /* One start, no reversal. At the end the angle is the proportional controller's p / gain, exactly; and with it the drift. */
    assert_true(rig.p.tally.starts[lane] == 1.0 && rig.p.tally.reversals[lane] == 0.0);
    assert_near(rig.p.gathered[lane], spin / 8.0, 1e-9);
    /* The drift counts a tick's rate where the controller reads it one tick later: from the start on it is ahead by one reading. */
    const double rest = spin / 8.0 + 0.5 * dt * spin - dt * spin;
    assert_near(rig.p.tally.drift[lane], rest, 1e-9);
    assert_near((gathered - rig.p.tally.drift[lane]) / turn, (gathered - rest) / turn, 1e-9);
    assert_true(gathered - rest > 3.9 * turn);
    assert_true(rig.p.tally.gathered_peak[lane] >= gathered && rig.p.tally.gathered_peak[lane] < gathered + 3.0 * spin * dt);
}

/* Only what the wind-up limit lets it gather is unwound. */
static void test_unwinding__the_windup_limit_bounds_the_turns(void **state)
{
    (void)state;
    static const double limit_turns[] = { 1.0, 2.5 };
    for (int i = 0; i < 2; i++) {
        struct rig rig;
        make_sleeper(&rig, RC_TURNS_ACCUMULATED, 3.0);
        rig.controller.windup = limit_turns[i] * turn * 8.0; /* in units of the command */
        fly_to_waking(&rig);
        const int lane = rig.lane;
        const double gathered = rig.p.tally.drift[lane], spin = 2.0 * turn;
        assert_near(rig.p.gathered[lane], limit_turns[i] * turn, 1e-12);
        /* In the tick in which it starts the controller still adds a reading and is clamped again: s of that tick does not count. */
        fly_on(&rig, 4096);
        assert_true(rig.p.tally.starts[lane] == 1.0);
        assert_near(rig.p.gathered[lane], spin / 8.0, 1e-9);
        const double unwound = gathered - rig.p.tally.drift[lane];
        assert_near(unwound, limit_turns[i] * turn - spin / 8.0, 3.0 * spin * rig.clock.dt);
    }
}

/* Common practice, no source: a controller on the nearest turn has at most half a turn to unwind, whenever the drive wakes. */
static void test_unwinding__nearest_turn_unwinds_at_most_half_a_turn(void **state)
{
    (void)state;
    double most = 0.0;
    for (int i = 0; i < 24; i++) {
        struct rig rig;
        make_sleeper(&rig, RC_TURNS_NEAREST, 2.0 + i / 32.0); /* over more than a turn of the vehicle */
        fly_to_waking(&rig);
        const int lane = rig.lane;
        assert_true(rig.p.tally.drift[lane] > 2.0 * turn); /* turns passed by all the same */
        const double furthest = fly_on(&rig, 4096);
        const double unwound = furthest - rig.p.tally.drift[lane];
        /* a few ticks of the roll pass while it starts and turns round */
        assert_true(unwound <= 0.5 * turn + 4.0 * 2.0 * turn * rig.clock.dt);
        most = fmax(most, unwound);
        assert_near(rig.p.gathered[lane], 2.0 * turn / 8.0, 1e-9);
        /* What is left of whole turns is the angle the controller holds, to the jumps' rectangles. */
        const double jumps = rig.p.tally.starts[lane] * (rig.drive.jump + 40.0) * rig.clock.dt;
        assert_near(remainder(rig.p.tally.drift[lane] - rig.p.gathered[lane], turn), 0.0, jumps);
        assert_true(rig.p.tally.gathered_peak[lane] <= 0.5 * turn);
    }
    assert_true(most > 0.2 * turn);
}

/* Near apogee: a roll of 10 deg/s under a drive with a floor of 40 deg/s. */
static void make_apogee(struct rig *rig)
{
    rig_reset(rig);
    rig->drive = (struct rc_drive_design){
        .floor = 40.0 * RC_DEGREE, .jump = 40.0 * RC_DEGREE, .top = 40.0, .slew = 1e3, .wake_command = 1e9,
    };
}

/* Common practice, no source: below the floor the residual of a rate controller is the roll itself. */
static void test_unwinding__below_the_floor_the_residual_is_the_roll_itself(void **state)
{
    (void)state;
    struct rig rig;
    make_apogee(&rig);
    rig.clock.control_mode = RC_CONTROL_RATE;
    rig.controller.gain = 0.9;
    rig_begin(&rig);
    /* From 400 deg/s down to 40 in 10 s, then down to nothing in 10 s more. */
    rig_run_ramp(&rig, 400.0 * RC_DEGREE, 200.0 * RC_DEGREE, 2560);
    assert_true(fabs(rig_rate(&rig)) > rig.drive.floor);
    rig_run_ramp(&rig, 200.0 * RC_DEGREE, 40.0 * RC_DEGREE, 2560);
    for (int tick = 0; tick < 5120; tick++) {
        const double before = 40.0 * RC_DEGREE * (1.0 - tick / 5120.0), after = 40.0 * RC_DEGREE * (1.0 - (tick + 1) / 5120.0);
        rig_run_ramp(&rig, before, after, 1);
        assert_true(rig_rate(&rig) == 0.0);
        assert_near(rig.p.residual[rig.lane], after, 1e-15);
    }
    assert_near(rig.p.tally.below_floor[rig.lane], 10.0, 2.0 * rig.clock.dt);
}

/* Common practice, no source: an angle controller cycles there. Standing it drifts at 10 deg/s, running it is carried back at
 * 30 deg/s or more, so that it runs a quarter of the time and on the whole does not turn. */
static void test_unwinding__below_the_floor_an_angle_controller_cycles(void **state)
{
    (void)state;
    struct rig rig;
    make_apogee(&rig);
    rig.controller = (struct rc_controller_design){ .gain = 2.0, .windup = 1e6 };
    rig_begin(&rig);
    const double roll = 10.0 * RC_DEGREE;
    /* First it must gather floor / gain, 20 degrees: 2 s. */
    rig_run(&rig, roll, 1020);
    assert_true(rig.p.tally.starts[rig.lane] == 0.0);
    int n_running = 0, n_standing = 0;
    const double drift = rig.p.tally.drift[rig.lane];
    for (int tick = 0; tick < 512 * 40; tick++) {
        rig_run(&rig, roll, 1);
        const double residual = rig.p.residual[rig.lane];
        if (rig_rate(&rig) == 0.0) {
            assert_near(residual, roll, 1e-15);
            n_standing++;
        } else {
            assert_true(residual <= roll - rig.drive.floor + 1e-12);
            n_running++;
        }
    }
    assert_true(rig.p.tally.starts[rig.lane] > 100.0);
    assert_true(rig.p.tally.reversals[rig.lane] == 0.0);
    /* A stop's jump undoes a start's, so that no difference between rectangles and trapezia adds up over hundreds of runs. */
    assert_near(rig.p.tally.drift[rig.lane] - drift, 0.0, (40.0 / 512.0 + 0.1) * RC_DEGREE);
    assert_near(n_running / (double)(n_running + n_standing), 0.25, 0.001);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_unwinding__accumulated_turns_are_unwound_to_the_last),
        cmocka_unit_test(test_unwinding__the_windup_limit_bounds_the_turns),
        cmocka_unit_test(test_unwinding__nearest_turn_unwinds_at_most_half_a_turn),
        cmocka_unit_test(test_unwinding__below_the_floor_the_residual_is_the_roll_itself),
        cmocka_unit_test(test_unwinding__below_the_floor_an_angle_controller_cycles),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
