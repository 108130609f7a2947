/* Starts that fail, the lock-out after them, and drives that turn one way only (PHYSICS: sensorless drives near their commutation
 * floor). Held against the geometric law of tries until the first success (Feller, vol. 1, VI.8 [memory]) and exact times. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "physics/near.h"
#include "rig.h"

/* A drive that starts at 1 rad/s at once, and fails by chance. */
static void make_failing(struct rig *rig, double odds, enum rc_failed_start then)
{
    rig_reset(rig);
    rig_silence(rig);
    rig->drive.floor = rig->drive.jump = 1.0;
    rig->drive.start_odds = odds;
    rig->drive.retry_delay = 0.25;
    rig->clock.has_failed_starts = 1;
    rig->clock.failed_start = then;
}

/* Another flight in each lane, from `first` on. */
static void begin_flights(struct rig *rig, uint64_t first)
{
    for (int lane = 0; lane < RC_LANES; lane++) {
        const struct rc_platform_setup setup = {
            .kind = rc_platform_drive_find(rig->kind), .parts = &rig->parts, .drive = &rig->drive, .gyro = &rig->gyro,
            .controller = &rig->controller, .camera = rig->camera, .footage = &rig->footage, .width_px = rig->width_px,
            .seed = 21, .flight = first + (uint64_t)lane,
        };
        rc_platform_begin(&rig->p, lane, &rig->clock, &setup);
    }
}

static void test_failed_starts__tries_follow_the_geometric_law(void **state)
{
    (void)state;
    enum { N_BLOCKS = 16384 / RC_LANES, N_FLIGHTS = N_BLOCKS * RC_LANES, N_TRIES = 12 };
    const double odds = 0.3;
    int n_with[N_TRIES + 1] = { 0 };
    for (int block = 0; block < N_BLOCKS; block++) {
        struct rig rig;
        make_failing(&rig, odds, RC_FAILED_START_RETRY);
        rig.drive.retry_delay = 8.0 / 512.0;
        begin_flights(&rig, (uint64_t)block * RC_LANES);
        rig_command(&rig, 5.0);
        rig_run(&rig, 0.0, (N_TRIES - 1) * 8 + 4);
        for (int lane = 0; lane < RC_LANES; lane++) {
            const double failed = rig.p.tally.failed_starts[lane];
            const int runs = rig.p.mode[lane] == RC_DRIVE_RUNNING;
            assert_true(failed == floor(failed) && failed <= N_TRIES);
            assert_true(rig.p.tally.starts[lane] == (runs ? 1.0 : 0.0) && (runs || failed == N_TRIES));
            n_with[(int)failed]++;
        }
    }
    for (int failed = 0; failed <= N_TRIES; failed++) {
        const double share = pow(1.0 - odds, failed) * (failed < N_TRIES ? odds : 1.0);
        const double sd = sqrt(N_FLIGHTS * share * (1.0 - share));
        if (fabs(n_with[failed] - N_FLIGHTS * share) > 4.0 * sd)
            fail_msg("%d flights failed %d times, expected %.1f +- %.1f", n_with[failed], failed, N_FLIGHTS * share, sd);
    }
}

/* A try, a quarter of a second's wait, the next try: failures stand at ticks 0, 128, 256, ... */
static void test_failed_starts__waits_before_it_tries_again(void **state)
{
    (void)state;
    struct rig rig;
    make_failing(&rig, 0.0, RC_FAILED_START_RETRY);
    rig_begin(&rig);
    rig_command(&rig, 5.0);
    for (int n = 1; n <= 400; n++) {
        rig_run(&rig, 0.0, 1);
        assert_true(rig.p.tally.failed_starts[rig.lane] == 1.0 + floor((n - 1) / 128.0 + 1e-9));
        assert_true(rig_rate(&rig) == 0.0 && rig.p.tally.locked_out[rig.lane] == 0.0);
    }
}

static void test_failed_starts__is_locked_out_until_the_command_is_zero(void **state)
{
    (void)state;
    struct rig rig;
    make_failing(&rig, 0.0, RC_FAILED_START_LOCK_OUT);
    rig.drive.deadband = 0.5;
    rig_begin(&rig);
    rig_command(&rig, 5.0);
    rig_run(&rig, 0.0, 1024);
    assert_true(rig.p.tally.failed_starts[rig.lane] == 1.0);
    assert_true(rig.p.tally.locked_out[rig.lane] == 2.0);
    /* The other way is no zero; a command inside the deadband is. */
    rig_command(&rig, -5.0);
    rig_run(&rig, 0.0, 512);
    assert_true(rig.p.tally.failed_starts[rig.lane] == 1.0 && rig.p.tally.locked_out[rig.lane] == 3.0);
    rig_command(&rig, 0.5);
    rig_run(&rig, 0.0, 1);
    assert_true(rig.p.tally.locked_out[rig.lane] == 3.0);
    rig_command(&rig, -5.0);
    rig_run(&rig, 0.0, 1);
    assert_true(rig.p.tally.failed_starts[rig.lane] == 2.0);
    /* A start that works after the command's return to zero. */
    rig_command(&rig, 0.0);
    rig_run(&rig, 0.0, 1);
    for (int lane = 0; lane < RC_LANES; lane++)
        rig.p.start_odds[lane] = 1.0;
    rig_command(&rig, 5.0);
    rig_run(&rig, 0.0, 64);
    assert_true(rig_rate(&rig) == 5.0 && rig.p.tally.starts[rig.lane] == 1.0 && rig.p.is_locked[rig.lane] == 0.0);
}

/* In spans and in single ticks alike: a try comes when the start delay has passed, the next one that delay and the retry delay after it,
 * and neither is a whole number of ticks. */
static void test_failed_starts__come_at_their_moments(void **state)
{
    (void)state;
    for (int span = 1; span <= 5; span += 4) {
        struct rig rig;
        make_failing(&rig, 0.0, RC_FAILED_START_RETRY);
        rig.clock.span = span;
        rig.drive.start_delay = 0.0131;
        rig.drive.retry_delay = 0.0217;
        rig_begin(&rig);
        rig_command(&rig, 5.0);
        rig_run(&rig, 0.0, 104); /* 0.2031 s: the sixth try is at 0.1871 s, the seventh would be at 0.2219 s */
        assert_true(rig.p.tally.failed_starts[rig.lane] == 6.0 && rig_rate(&rig) == 0.0);
        for (int lane = 0; lane < RC_LANES; lane++)
            rig.p.start_odds[lane] = 1.0;
        rig_run(&rig, 0.0, 104);
        assert_true(rig.p.tally.starts[rig.lane] == 1.0);
        assert_near(rig.p.turned[rig.lane], 5.0 * (208.0 / 512.0 - 0.0131 - 6.0 * (0.0131 + 0.0217)), 1e-7);
        make_failing(&rig, 0.0, RC_FAILED_START_LOCK_OUT);
        rig.clock.span = span;
        rig.drive.start_delay = 0.0131;
        rig_begin(&rig);
        rig_command(&rig, 5.0);
        rig_run(&rig, 0.0, 104);
        assert_near(rig.p.tally.locked_out[rig.lane], 104.0 / 512.0 - 0.0131, 1e-12);
    }
}

static void test_failed_starts__certain_starts_are_the_bits_of_a_drive_that_cannot_fail(void **state)
{
    (void)state;
    struct rig rig[2];
    for (int fails = 0; fails < 2; fails++) {
        make_failing(&rig[fails], 1.0, RC_FAILED_START_LOCK_OUT);
        rig[fails].clock.has_failed_starts = fails;
        rig[fails].drive.start_delay = 0.1;
        rig[fails].drive.reversal_delay = 0.2;
        rig_begin(&rig[fails]);
        for (int n = 0; n < 40; n++) {
            rig_command(&rig[fails], 4.0 * sin(0.7 * n));
            rig_run_ramp(&rig[fails], 0.1 * n, 0.1 * (n + 1), 50);
        }
    }
    assert_true(rig[1].p.tally.starts[0] > 5.0 && rig[1].p.tally.failed_starts[0] == 0.0);
    rig[1].p.start_odds[0] = rig[0].p.start_odds[0];
    assert_memory_equal(&rig[0].p.tally, &rig[1].p.tally, sizeof rig[0].p.tally);
    assert_memory_equal(rig[0].p.rate, rig[1].p.rate, sizeof(rc_lane));
}

/* A flight's failures are its own, whoever flies beside it. */
static void test_failed_starts__do_not_depend_on_the_lane(void **state)
{
    (void)state;
    struct rig all, one;
    make_failing(&all, 0.4, RC_FAILED_START_RETRY);
    begin_flights(&all, 300);
    rig_command(&all, 5.0);
    rig_run(&all, 0.0, 900);
    for (int lane = 0; lane < RC_LANES; lane++) {
        make_failing(&one, 0.4, RC_FAILED_START_RETRY);
        begin_flights(&one, 300 + (uint64_t)lane); /* now in lane 0, with other mates */
        rig_command(&one, 5.0);
        rig_run(&one, 0.0, 900);
        assert_true(one.p.tally.failed_starts[0] == all.p.tally.failed_starts[lane]);
        assert_true(one.p.turned[0] == all.p.turned[lane]);
    }
}

/* One way only: of a roll that goes both ways it holds one, by the exact bound of a controller that follows; the other it leaves
 * alone. */
static void test_failed_starts__a_one_way_drive_holds_one_sense_of_roll(void **state)
{
    (void)state;
    static const enum rc_turning ways[] = { RC_TURNING_POSITIVE, RC_TURNING_NEGATIVE };
    for (int way = 0; way < 2; way++) {
        const double held = way == 0 ? -3.0 : 3.0; /* the roll against which it can turn */
        struct rig rig;
        rig_reset(&rig);
        rig.clock.turning = ways[way];
        rig.clock.has_control_extras = 1;
        rig.controller.gain = 20.0;
        rig.drive.slew = 1e9;
        rig_begin(&rig);
        rig_run(&rig, held, 2048);
        assert_true(fabs(rig.p.residual[rig.lane]) < 1e-6 && fabs(rig_rate(&rig) + held) < 1e-6);
        rig_begin(&rig);
        rig.tick = 0;
        rig_run(&rig, -held, 2048);
        assert_true(rig_rate(&rig) == 0.0 && rig.p.tally.starts[rig.lane] == 0.0);
        assert_true(fabs(rig.p.residual[rig.lane] + held) < 1e-12);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_failed_starts__tries_follow_the_geometric_law),
        cmocka_unit_test(test_failed_starts__waits_before_it_tries_again),
        cmocka_unit_test(test_failed_starts__is_locked_out_until_the_command_is_zero),
        cmocka_unit_test(test_failed_starts__come_at_their_moments),
        cmocka_unit_test(test_failed_starts__certain_starts_are_the_bits_of_a_drive_that_cannot_fail),
        cmocka_unit_test(test_failed_starts__do_not_depend_on_the_lane),
        cmocka_unit_test(test_failed_starts__a_one_way_drive_holds_one_sense_of_roll),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
