/* The geared sensorless drive under scripted commands: every limit on its own, to the tick. The rules are those of
 * docs/theory.md, "The platform"; they are our conventions, so the expectations are worked out by hand (closed form). The floor
 * near 40 deg/s, the jump, the sleep on the pad: common practice, no source. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "rig.h"

/* A drive with a floor of 40 deg/s that obeys the commands a test writes. */
static void make_drive(struct rig *rig)
{
    rig_reset(rig);
    rig_silence(rig);
    rig->drive.floor = 40.0 * RC_DEGREE;
    rig->drive.jump = 60.0 * RC_DEGREE;
    rig->drive.deadband = 10.0 * RC_DEGREE;
    rig->drive.top = 900.0 * RC_DEGREE;
    rig->drive.slew = 16.0;
    rig->drive.reversal_delay = 0.125;
}

/* Run under one command. */
static void obey(struct rig *rig, double command, int n_ticks)
{
    rig_command(rig, command);
    rig_run(rig, 0.0, n_ticks);
}

/* Common practice, no source: it does not turn slower than about 40 deg/s and starts with a jump. */
static void test_geared_sensorless__never_turns_slower_than_its_floor(void **state)
{
    (void)state;
    for (int below = RC_BELOW_FLOOR_STOP; below <= RC_BELOW_FLOOR_RUN; below++) {
        struct rig rig;
        make_drive(&rig);
        rig.clock.below_floor = (enum rc_below_floor)below;
        rig_begin(&rig);
        uint32_t word = 1;
        int n_running = 0, n_reverse = 0;
        for (int tick = 0; tick < 60000; tick++) {
            word = word * 1664525U + 1013904223U;
            if (tick % 37 == 0)
                rig_command(&rig, ((word >> 8) * (1.0 / 16777216.0) - 0.5) * 6.0);
            rig_run(&rig, 0.0, 1);
            const double speed = fabs(rig_rate(&rig));
            assert_true(speed == 0.0 || speed >= rig.drive.floor);
            assert_true(speed <= rig.drive.top);
            n_running += speed > 0.0;
            n_reverse += rig_rate(&rig) < 0.0;
        }
        assert_true(n_running > 10000 && n_running < 60000 && n_reverse > 2000 && n_reverse < n_running - 2000);
    }
}

static void test_geared_sensorless__starts_with_a_jump(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_drive(&rig);
        rig_begin(&rig);
        obey(&rig, sense * rig.drive.jump, 1);
        assert_true(rig_rate(&rig) == sense * rig.drive.jump);
        obey(&rig, sense * 2.0, 1);
        assert_near(rig_rate(&rig), sense * (rig.drive.jump + 16.0 / 512.0), 1e-15);
        assert_true(rig.p.tally.starts[rig.lane] == 1.0);
        /* A jump beyond what is wanted is slewed back; one below the floor is the floor; one beyond the top is the top. */
        rig_begin(&rig);
        obey(&rig, sense * 45.0 * RC_DEGREE, 1);
        assert_near(rig_rate(&rig), sense * (rig.drive.jump - 16.0 / 512.0), 1e-15);
        obey(&rig, sense * 45.0 * RC_DEGREE, 20);
        assert_true(rig_rate(&rig) == sense * 45.0 * RC_DEGREE);
        rig.drive.jump = 0.0;
        rig_begin(&rig);
        obey(&rig, sense * rig.drive.floor, 1);
        assert_true(rig_rate(&rig) == sense * rig.drive.floor);
        rig.drive.jump = 2.0 * rig.drive.top;
        rig_begin(&rig);
        obey(&rig, sense * 100.0, 1);
        assert_true(rig_rate(&rig) == sense * rig.drive.top);
    }
}

static void test_geared_sensorless__slews_exactly_and_stops_at_the_top(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_drive(&rig);
        rig_begin(&rig);
        for (int tick = 1; tick <= 600; tick++) {
            obey(&rig, sense * 1000.0, 1);
            const double wanted = fmin(rig.drive.jump + 16.0 * tick / 512.0, rig.drive.top);
            assert_near(rig_rate(&rig), sense * wanted, 1e-12);
        }
        assert_true(rig_rate(&rig) == sense * rig.drive.top);
        /* Down again to a rate above the floor, at the same slew. */
        obey(&rig, sense * 3.0, 128);
        assert_near(rig_rate(&rig), sense * (rig.drive.top - 4.0), 1e-12);
        obey(&rig, sense * 3.0, 512);
        assert_true(rig_rate(&rig) == sense * 3.0);
    }
}

static void test_geared_sensorless__stops_through_its_floor(void **state)
{
    (void)state;
    struct rig rig;
    make_drive(&rig);
    rig_begin(&rig);
    obey(&rig, 2.0, 200);
    assert_true(rig_rate(&rig) == 2.0);
    /* 2 - n/32 is at least the floor, 0.698, up to n = 41. */
    for (int tick = 1; tick <= 41; tick++) {
        obey(&rig, 0.0, 1);
        assert_near(rig_rate(&rig), 2.0 - tick / 32.0, 1e-13);
    }
    for (int tick = 0; tick < 100; tick++) {
        obey(&rig, 0.0, 1);
        assert_true(rig_rate(&rig) == 0.0);
    }
    assert_true(rig.p.tally.starts[rig.lane] == 1.0 && rig.p.tally.reversals[rig.lane] == 0.0);
}

/* Ticks at standstill between a run one way and the start the other way, or the same way. */
static int ticks_standing(struct rig *rig, double first, double second)
{
    obey(rig, first, 300);
    assert_true(rig_rate(rig) == first);
    int n = 0;
    for (int tick = 0; tick < 2000; tick++) {
        /* The same way again is asked for only once it stands. */
        const int has_stopped = rig_rate(rig) == 0.0;
        obey(rig, first * second > 0.0 && !has_stopped ? 0.0 : second, 1);
        n += rig_rate(rig) == 0.0;
        if (rig_rate(rig) * second > 0.0 && n > 0)
            break;
    }
    return n;
}

static void test_geared_sensorless__reverses_after_the_delay_counted_from_the_stop(void **state)
{
    (void)state;
    struct rig rig;
    make_drive(&rig);
    rig_begin(&rig);
    /* The tick that stops ends at zero; 0.125 s of 512 ticks a second later, at the same place in its tick, it starts. */
    const double floor_rate = rig.drive.floor;
    assert_int_equal(ticks_standing(&rig, 2.0, -3.0), 64);
    assert_near(rig.p.ran_wait[rig.lane], fmod((2.0 - floor_rate) * 32.0, 1.0), 1e-9);
    assert_int_equal(ticks_standing(&rig, -3.0, 1.0), 64);
    assert_near(rig.p.ran_wait[rig.lane], fmod((3.0 - floor_rate) * 32.0, 1.0), 1e-9);
    assert_true(rig.p.tally.starts[rig.lane] == 3.0 && rig.p.tally.reversals[rig.lane] == 2.0);
    /* The same way it starts at once. */
    assert_int_equal(ticks_standing(&rig, 1.0, 2.0), 1);
    assert_true(rig.p.tally.starts[rig.lane] == 4.0 && rig.p.tally.reversals[rig.lane] == 2.0);
    /* Having stood for long, it starts the other way at once too. */
    obey(&rig, 0.0, 512);
    obey(&rig, -2.0, 1);
    assert_true(rig_rate(&rig) < 0.0 && rig.p.tally.reversals[rig.lane] == 3.0);
    /* The very first start is no reversal and needs no delay. */
    rig_begin(&rig);
    obey(&rig, -2.0, 1);
    assert_true(rig_rate(&rig) < 0.0 && rig.p.tally.reversals[rig.lane] == 0.0);
}

static void test_geared_sensorless__deadband_is_silence(void **state)
{
    (void)state;
    for (int below = RC_BELOW_FLOOR_STOP; below <= RC_BELOW_FLOOR_RUN; below++) {
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            make_drive(&rig);
            rig.clock.below_floor = (enum rc_below_floor)below;
            rig_begin(&rig);
            obey(&rig, sense * rig.drive.deadband, 50);
            assert_true(rig_rate(&rig) == 0.0 && rig.p.tally.starts[rig.lane] == 0.0);
            /* A deadband wider than the floor counts over it. */
            rig.drive.deadband = 2.0 * rig.drive.floor;
            rig_begin(&rig);
            obey(&rig, sense * 1.9 * rig.drive.floor, 50);
            assert_true(rig_rate(&rig) == 0.0 && rig.p.tally.starts[rig.lane] == 0.0);
        }
    }
}

static void test_geared_sensorless__below_its_floor_it_stands_or_runs_at_it(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_drive(&rig);
        rig_begin(&rig);
        obey(&rig, sense * 39.9 * RC_DEGREE, 50);
        assert_true(rig_rate(&rig) == 0.0);
        obey(&rig, sense * 2.0, 100);
        obey(&rig, sense * 39.9 * RC_DEGREE, 100);
        assert_true(rig_rate(&rig) == 0.0);
        rig.clock.below_floor = RC_BELOW_FLOOR_RUN;
        rig_begin(&rig);
        obey(&rig, sense * 10.1 * RC_DEGREE, 50);
        assert_true(rig_rate(&rig) == sense * rig.drive.floor);
        obey(&rig, sense * 2.0, 100);
        obey(&rig, sense * 10.1 * RC_DEGREE, 100);
        assert_true(rig_rate(&rig) == sense * rig.drive.floor);
        obey(&rig, sense * 9.9 * RC_DEGREE, 100);
        assert_true(rig_rate(&rig) == 0.0);
    }
}

/* A drive without floor and jump is a plain slew limit that can turn both ways. */
static void test_geared_sensorless__without_a_floor_it_turns_both_ways(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_drive(&rig);
        rig.drive.floor = rig.drive.jump = rig.drive.deadband = rig.drive.reversal_delay = 0.0;
        rig_begin(&rig);
        obey(&rig, sense * 0.125, 4);
        assert_true(rig_rate(&rig) == sense * 0.125);
        obey(&rig, sense * -0.125, 4);
        assert_true(rig_rate(&rig) == 0.0);
        obey(&rig, sense * -0.125, 4);
        assert_true(rig_rate(&rig) == sense * -0.125);
        obey(&rig, sense * -1e-6, 10);
        assert_true(rig_rate(&rig) == sense * -1e-6);
        obey(&rig, 0.0, 10);
        assert_true(rig_rate(&rig) == 0.0 && rig.p.mode[rig.lane] == RC_DRIVE_STANDING);
    }
}

/* Common practice, no source: the drive falls asleep after an idle time on the pad. */
static void test_geared_sensorless__falls_asleep_after_its_idle_time(void **state)
{
    (void)state;
    struct rig rig;
    make_drive(&rig);
    rig.drive.sleep_after = 60.0;
    rig.idle = 60.0;
    rig_begin(&rig);
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_ASLEEP);
    rig.drive.sleep_after = 0.0; /* never */
    rig.idle = 1e9;
    rig_begin(&rig);
    obey(&rig, 0.0, 5000);
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_STANDING);
    /* In flight: idle on the pad counts on, to the tick. */
    rig.drive.sleep_after = 60.0;
    rig.idle = 59.75;
    rig_begin(&rig);
    obey(&rig, 0.0, 127);
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_STANDING);
    obey(&rig, 0.0, 1);
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_ASLEEP);
    /* A run starts the idle time anew, at the stop. */
    rig.drive.sleep_after = 0.5;
    rig.idle = 0.25;
    rig_begin(&rig);
    obey(&rig, 1.0, 512);
    while (rig_rate(&rig) != 0.0)
        obey(&rig, 0.0, 1);
    const double stood = rig.p.since_stop[rig.lane]; /* of the tick in which it stopped */
    assert_true(stood > 0.1 / 512.0 && stood < 0.9 / 512.0);
    obey(&rig, 0.0, 255);
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_STANDING);
    obey(&rig, 0.0, 1);
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_ASLEEP);
    assert_near(rig.p.tally.asleep[rig.lane], stood, 1e-12);
    obey(&rig, 0.0, 512);
    assert_near(rig.p.tally.asleep[rig.lane], 1.0 + stood, 1e-12);
}

static void make_sleeper(struct rig *rig)
{
    make_drive(rig);
    rig->drive.sleep_after = 10.0;
    rig->drive.wake_command = 3.0;
    rig->drive.wake_delay = 0.25;
    rig->parts.coulomb = 1e-3;
    rig->idle = 20.0;
}

static void test_geared_sensorless__wakes_on_a_large_command_after_the_delay(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_sleeper(&rig);
        rig_begin(&rig);
        obey(&rig, sense * 2.999, 1000);
        assert_true(rig.p.mode[rig.lane] == RC_DRIVE_ASLEEP && rig_rate(&rig) == 0.0);
        /* The call comes with one tick's command; a quarter of a second later the command of that time is obeyed. */
        obey(&rig, sense * 3.0, 1);
        assert_true(rig.p.mode[rig.lane] == RC_DRIVE_WAKING);
        obey(&rig, sense * 1.0, 127);
        assert_true(rig.p.mode[rig.lane] == RC_DRIVE_WAKING && rig_rate(&rig) == 0.0);
        obey(&rig, sense * -1.5, 1);
        assert_true(rig.p.mode[rig.lane] == RC_DRIVE_RUNNING);
        assert_near(rig_rate(&rig), sense * -(rig.drive.jump + 16.0 / 512.0), 1e-15);
        obey(&rig, sense * -1.5, 100);
        assert_true(rig_rate(&rig) == sense * -1.5);
        assert_near(rig.p.tally.asleep[rig.lane], 1128.0 / 512.0, 1e-12);
    }
}

static void test_geared_sensorless__woken_without_a_command_it_stands_and_sleeps_again(void **state)
{
    (void)state;
    struct rig rig;
    make_sleeper(&rig);
    rig.drive.sleep_after = 0.5;
    rig_begin(&rig);
    obey(&rig, 5.0, 1);
    obey(&rig, 0.0, 128);
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_STANDING);
    obey(&rig, 0.0, 254);
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_STANDING);
    obey(&rig, 0.0, 1);
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_ASLEEP);
}

/* Asleep, the vehicle's roll slips past the platform by the bearing's closed form; on waking the drive takes hold at once. */
static void test_geared_sensorless__asleep_it_drags_and_awake_it_holds(void **state)
{
    (void)state;
    struct rig rig;
    make_sleeper(&rig);
    rig_begin(&rig);
    rig_command(&rig, 2.0); /* not enough to wake it: commands do nothing */
    rig_run_ramp(&rig, 0.0, 4.0, 512);
    assert_near(rig_rate(&rig), -(4.0 - 1.0), 1e-12); /* 4 rad/s2 against friction over inertia of 1 */
    rig_command(&rig, 4.0);
    rig_run(&rig, 4.0, 128);
    assert_near(rig_rate(&rig), -(3.0 - 0.25), 1e-12);
    rig_command(&rig, 0.0);
    rig_run(&rig, 4.0, 1);
    assert_true(rig_rate(&rig) == 0.0 && rig.p.mode[rig.lane] == RC_DRIVE_STANDING);
    /* Awake and standing it holds against any pull of the vehicle. */
    rig_run_ramp(&rig, 4.0, 400.0, 100);
    assert_true(rig_rate(&rig) == 0.0);
}

/* From a run at -1 rad/s to the end of the tick in which it stops, in one stretch. ends the rate's bits */
static uint64_t bits_of_a_stop(int n_ticks, int has_sleeper)
{
    struct rig rig;
    make_drive(&rig);
    rig.lane = 0;
    rig_begin(&rig);
    if (has_sleeper)
        rig.p.mode[RC_LANES - 1] = RC_DRIVE_ASLEEP;
    obey(&rig, -1.0, 100);
    assert_true(rig_rate(&rig) == -1.0);
    obey(&rig, 0.0, n_ticks - 1);
    assert_true(n_ticks == 1 || rig_rate(&rig) != 0.0);
    rig_begin(&rig);
    if (has_sleeper)
        rig.p.mode[RC_LANES - 1] = RC_DRIVE_ASLEEP;
    obey(&rig, -1.0, 100);
    obey(&rig, 0.0, n_ticks);
    assert_true(rig_rate(&rig) == 0.0);
    union {
        double number;
        uint64_t word;
    } rate = { rig_rate(&rig) };
    return rate.word;
}

/* The tick in which it stops must not show whether a block-mate slides: all bits alike, the sign of zero too. */
static void test_geared_sensorless__sleeping_mates_leave_no_trace(void **state)
{
    (void)state;
    if (RC_LANES < 2)
        return;
    /* 1 - n/32 falls below the floor, 0.698, with n = 10. */
    assert_true(bits_of_a_stop(10, 0) == bits_of_a_stop(10, 1));
}

/* It falls asleep after 128 ticks of one stretch and slides in all that follow, though no lane slid when the stretch began. */
static void test_geared_sensorless__slides_from_the_tick_after_it_fell_asleep(void **state)
{
    (void)state;
    struct rig rig;
    make_drive(&rig);
    rig.drive.sleep_after = 0.5;
    rig.idle = 0.25;
    rig.parts.coulomb = 1e-3;
    rig_begin(&rig);
    rig_run_ramp(&rig, 0.0, 2.0, 256); /* 4 rad/s2 against friction over inertia of 1 */
    assert_near(rig_rate(&rig), -(4.0 - 1.0) * 0.25, 1e-12);
    assert_true(rig.p.tally.asleep[rig.lane] == 0.25);
}

/* Closed form: a ramp that ends, or a stop, inside a tick counts to the moment it happens. Slew 16 rad/s2, ticks of 1/512 s. */
static void test_geared_sensorless__ramps_and_stops_count_to_the_moment(void **state)
{
    (void)state;
    struct rig rig;
    make_drive(&rig);
    rig.drive.floor = rig.drive.jump = 0.7;
    rig.drive.reversal_delay = 0.0;
    rig_begin(&rig);
    obey(&rig, 1.0, 100); /* from 0.7 to 1 in 0.3/16 s, 9.6 ticks; then level */
    const double up = 0.3 / 16.0;
    const struct rc_tally *const tally = &rig.p.tally;
    assert_near(tally->drift[rig.lane], up * 0.85 + (100.0 / 512.0 - up) * 1.0, 1e-14);
    obey(&rig, 0.0, 100); /* down to 0.7 in the same time, then nothing */
    assert_near(tally->drift[rig.lane], 2.0 * up * 0.85 + (100.0 / 512.0 - up) * 1.0, 1e-14);
    /* the square of a ramp from a to b: (a^2 + ab + b^2)/3 */
    assert_near(tally->square[rig.lane], 2.0 * up * (0.49 + 0.7 + 1.0) / 3.0 + (100.0 / 512.0 - up), 1e-14);
    /* standing is within the target of 0.5, all else is beyond it */
    assert_near(tally->held[rig.lane], 100.0 / 512.0 - up, 1e-14);
}

/* Commands come at the same moments whatever the tick; ramps and stops in between do not show how long it is. */
static void test_geared_sensorless__tallies_do_not_depend_on_the_tick(void **state)
{
    (void)state;
    static const double command[] = { 1.0, 0.0, 0.9, 5.0, 0.71, 0.3, 2.0, 0.0, 17.0, 0.8 };
    double drift[2], held[2], square[2];
    for (int is_fine = 0; is_fine < 2; is_fine++) {
        struct rig rig;
        make_drive(&rig);
        const int per = is_fine ? 16 : 1;
        rig.clock.tick_rate *= per;
        rig.clock.dt /= per;
        rig_begin(&rig);
        for (int i = 0; i < 10; i++)
            obey(&rig, command[i], 100 * per);
        drift[is_fine] = rig.p.tally.drift[rig.lane];
        held[is_fine] = rig.p.tally.held[rig.lane];
        square[is_fine] = rig.p.tally.square[rig.lane];
    }
    assert_near(drift[0], drift[1], 1e-11);
    assert_near(held[0], held[1], 1e-11);
    assert_near(square[0], square[1], 1e-10);
    assert_true(held[0] > 0.3 && held[0] < 1.5);
}

static void test_geared_sensorless__counts_time_below_the_floor_and_the_roll_peak(void **state)
{
    (void)state;
    struct rig rig;
    make_drive(&rig);
    rig_begin(&rig);
    rig_run(&rig, 39.0 * RC_DEGREE, 128);
    rig_run(&rig, -39.0 * RC_DEGREE, 128);
    rig_run(&rig, 41.0 * RC_DEGREE, 256);
    rig_run(&rig, -50.0 * RC_DEGREE, 256);
    assert_true(rig.p.tally.below_floor[rig.lane] == 0.5);
    assert_true(rig.p.tally.roll_peak[rig.lane] == 50.0 * RC_DEGREE);
}

/* The roll is below the floor while the drive waits for its start inside a span, and for a while after: counted straight through. The
 * roll rises from 0 at 24 deg/s in a tick, so that it passes the floor of 40 at 1.667 of 8 ticks, and the start, due after four of
 * them, comes later. */
static void test_geared_sensorless__counts_time_below_the_floor_while_it_waits(void **state)
{
    (void)state;
    for (int late = 0; late <= 1; late++) {
        struct rig rig;
        make_drive(&rig);
        rig.clock.span = 8;
        rig.tick = 8;
        rig.drive.start_delay = (late ? 4.0 : 1.0) / 512.0;
        rig_begin(&rig);
        rc_platform_relength(&rig.p, 8.0 * rig.clock.dt);
        rig_command(&rig, -2.0);
        rig_run_ramp(&rig, 0.0, 8.0 * 24.0 * RC_DEGREE, 8);
        assert_true(rig.p.tally.starts[rig.lane] == 1.0);
        assert_near(rig.p.ran_wait[rig.lane], late ? 0.5 : 0.125, 1e-12);
        assert_near(rig.p.tally.below_floor[rig.lane], 40.0 / 24.0 / 512.0, 1e-12);
    }
}

/* Without a reversal the start-up's delay alone counts, with one the longer of the two: the reversal's from the stop, the start-up's from
 * the wish. Standing since 3/16 s, which the reversal's 1/8 s are within; 1/4 s of start-up from the wish on. */
static void test_geared_sensorless__start_up_and_reversal_delay_together(void **state)
{
    (void)state;
    static const struct {
        double reversal, second;
        int standing; /* ticks from the stop on */
    } rows[] = { { 0.125, 2.0, 96 + 128 }, { 0.125, -2.0, 96 + 128 }, { 0.75, -2.0, 384 }, { 0.75, 2.0, 96 + 128 } };
    for (int row = 0; row < 4; row++) {
        struct rig rig;
        make_drive(&rig);
        rig.drive.floor = rig.drive.jump = 1.0;
        rig.drive.reversal_delay = rows[row].reversal;
        rig.drive.start_delay = 0.25;
        rig_begin(&rig);
        obey(&rig, 1.0, 256);
        assert_true(rig_rate(&rig) == 1.0);
        obey(&rig, 0.0, 96); /* at its floor it stops at once */
        assert_true(rig_rate(&rig) == 0.0 && rig.p.mode[rig.lane] == RC_DRIVE_STANDING);
        obey(&rig, rows[row].second, rows[row].standing - 96);
        assert_true(rig_rate(&rig) == 0.0 && rig.p.tally.starts[rig.lane] == 1.0);
        obey(&rig, rows[row].second, 1);
        assert_true(rig.p.tally.starts[rig.lane] == 2.0);
        assert_true(rig.p.tally.reversals[rig.lane] == (rows[row].second < 0.0 ? 1.0 : 0.0));
    }
}

/* In spans a stop and a start come at their moments inside: from 2 rad/s it slows at 16 rad/s2 to the floor of 40 deg/s, stands for the
 * reversal's 0.125 s, jumps to -60 deg/s and goes on. Closed form. */
static void test_geared_sensorless__starts_inside_a_span(void **state)
{
    (void)state;
    for (int span = 8; span <= 64; span *= 2) {
        struct rig rig;
        make_drive(&rig);
        rig.clock.span = span;
        rig.tick = span;
        rig_begin(&rig);
        rc_platform_relength(&rig.p, span * rig.clock.dt);
        obey(&rig, 2.0, 256);
        assert_true(rig_rate(&rig) == 2.0);
        const double floor = rig.drive.floor, jump = rig.drive.jump, slowing = (2.0 - floor) / 16.0, start = slowing + 0.125;
        const double angle = rig.p.turned[rig.lane], held = rig.p.tally.held[rig.lane];
        obey(&rig, -3.0, 128);
        const double running = 0.25 - start;
        assert_near(rig_rate(&rig), -(jump + 16.0 * running), 1e-12);
        assert_near(rig.p.turned[rig.lane] - angle, 0.5 * slowing * (2.0 + floor) - running * (jump + 8.0 * running), 1e-12);
        assert_near(rig.p.tally.held[rig.lane] - held, 0.125, 1e-12); /* within 0.5 rad/s only while it stands */
        assert_true(rig.p.tally.starts[rig.lane] == 2.0 && rig.p.tally.reversals[rig.lane] == 1.0);
    }
}

/* A platform that the vehicle presses onto the back of the gear's play is stopped with the drive, one that is pushed is left to run into
 * the play: also where the ramp down to the floor takes the whole of a span. From 1.5 to 0.5 rad/s at 16 rad/s2 in 32 ticks. */
static void test_geared_sensorless__stops_with_a_span_and_with_whom_its_play_holds(void **state)
{
    (void)state;
    for (int is_pushed = 0; is_pushed < 2; is_pushed++) {
        struct rig rig;
        make_drive(&rig);
        rig.drive.floor = rig.drive.jump = 0.5;
        rig.clock.has_play = 1;
        rig.tick = rig.clock.span = 32;
        rig.parts.backlash = 0.01;
        rig.parts.coulomb = is_pushed ? 0.05 : 0.0;
        rig_begin(&rig);
        rc_platform_relength(&rig.p, 32 * rig.clock.dt);
        rig_spin(&rig, 1.5);
        for (int lane = 0; lane < RC_LANES; lane++) {
            rig.p.motor_rate[lane] = 1.5;
            rig.p.mode[lane] = RC_DRIVE_RUNNING;
            rig.p.gap[lane] = is_pushed ? 0.01 : 0.0;
        }
        rig_command(&rig, 0.0);
        rig_run_ramp(&rig, 0.0, is_pushed ? 0.0 : -2.0, 32); /* by 32 rad/s2, if at all */
        assert_true(rig.p.mode[rig.lane] == RC_DRIVE_STANDING && rig.p.motor_rate[rig.lane] == 0.0);
        assert_near(rig_rate(&rig), is_pushed ? 0.5 : 0.0, 1e-12);
        assert_near(rig.p.turned[rig.lane], 1.0 / 16.0, 1e-12);
        rig_run(&rig, is_pushed ? 0.0 : -2.0, 32);
        /* Pushed, it comes to rest by itself, 50 rad/s2, before the play of 0.01 rad is crossed. */
        assert_near(rig.p.turned[rig.lane], 1.0 / 16.0 + (is_pushed ? 0.5 * 0.5 * 0.5 / 50.0 : 0.0), 1e-12);
        assert_true(rig_rate(&rig) == 0.0);
    }
}

/* Closed forms: idle for 0.1 s it falls asleep, and a vehicle that speeds up by 4 rad/s2 slips past the platform by 3, friction over inertia
 * being 1; called at 0.5 s it takes hold 0.3 s later, with a jump to the rate that is commanded then. Neither moment is a tick's. */
static void test_geared_sensorless__falls_asleep_and_wakes_inside_a_span(void **state)
{
    (void)state;
    for (int span = 1; span <= 64; span *= 8) {
        struct rig rig;
        make_drive(&rig);
        rig.clock.span = span;
        rig.tick = span;
        rig.drive.sleep_after = 0.1;
        rig.drive.wake_command = 3.0;
        rig.drive.wake_delay = 0.3;
        rig.parts.coulomb = 1e-3;
        rig_begin(&rig);
        rc_platform_relength(&rig.p, span * rig.clock.dt);
        rig_command(&rig, 0.0);
        rig_run_ramp(&rig, 0.0, 2.0, 256);
        assert_near(rig_rate(&rig), -3.0 * 0.4, 1e-12);
        assert_near(rig.p.turned[rig.lane], -1.5 * 0.16, 1e-12);
        assert_near(rig.p.tally.drift[rig.lane], 0.5 - 1.5 * 0.16, 1e-12);
        assert_near(rig.p.tally.asleep[rig.lane], 0.4, 1e-12);
        rig_command(&rig, 5.0);
        rig_run(&rig, 2.0, 128);
        assert_true(rig.p.mode[rig.lane] == RC_DRIVE_WAKING);
        assert_near(rig_rate(&rig), -1.2 + 0.25, 1e-12);
        rig_command(&rig, -2.0);
        rig_run(&rig, 2.0, 128);
        const double slid = 1.2 * 0.3 - 0.5 * 0.09, ramp = (2.0 - rig.drive.jump) / 16.0, held = 0.2 - ramp;
        assert_near(rig.p.turned[rig.lane], -1.5 * 0.16 - slid - 0.5 * ramp * (rig.drive.jump + 2.0) - 2.0 * held, 1e-12);
        assert_near(rig.p.tally.asleep[rig.lane], 0.7, 1e-12);
        assert_true(rig_rate(&rig) == -2.0 && rig.p.tally.starts[rig.lane] == 1.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_geared_sensorless__never_turns_slower_than_its_floor),
        cmocka_unit_test(test_geared_sensorless__starts_with_a_jump),
        cmocka_unit_test(test_geared_sensorless__slews_exactly_and_stops_at_the_top),
        cmocka_unit_test(test_geared_sensorless__stops_through_its_floor),
        cmocka_unit_test(test_geared_sensorless__reverses_after_the_delay_counted_from_the_stop),
        cmocka_unit_test(test_geared_sensorless__deadband_is_silence),
        cmocka_unit_test(test_geared_sensorless__below_its_floor_it_stands_or_runs_at_it),
        cmocka_unit_test(test_geared_sensorless__without_a_floor_it_turns_both_ways),
        cmocka_unit_test(test_geared_sensorless__falls_asleep_after_its_idle_time),
        cmocka_unit_test(test_geared_sensorless__wakes_on_a_large_command_after_the_delay),
        cmocka_unit_test(test_geared_sensorless__woken_without_a_command_it_stands_and_sleeps_again),
        cmocka_unit_test(test_geared_sensorless__asleep_it_drags_and_awake_it_holds),
        cmocka_unit_test(test_geared_sensorless__sleeping_mates_leave_no_trace),
        cmocka_unit_test(test_geared_sensorless__slides_from_the_tick_after_it_fell_asleep),
        cmocka_unit_test(test_geared_sensorless__ramps_and_stops_count_to_the_moment),
        cmocka_unit_test(test_geared_sensorless__tallies_do_not_depend_on_the_tick),
        cmocka_unit_test(test_geared_sensorless__counts_time_below_the_floor_and_the_roll_peak),
        cmocka_unit_test(test_geared_sensorless__counts_time_below_the_floor_while_it_waits),
        cmocka_unit_test(test_geared_sensorless__start_up_and_reversal_delay_together),
        cmocka_unit_test(test_geared_sensorless__starts_inside_a_span),
        cmocka_unit_test(test_geared_sensorless__stops_with_a_span_and_with_whom_its_play_holds),
        cmocka_unit_test(test_geared_sensorless__falls_asleep_and_wakes_inside_a_span),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
