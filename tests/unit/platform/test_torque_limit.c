/* The geared sensorless drive whose motor's torque has a limit: what it cannot start, how fast it speeds up, what stalls it. Closed
 * forms: a torque against friction and inertia, by docs/theory.md, "Geared sensorless drive". */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "rig.h"

/* A drive with a limited torque on a bearing of 0.01 N m, and 0.02 N m at standstill; M = 1e-3 kg m2. */
static void make_weak(struct rig *rig, double torque)
{
    rig_reset(rig);
    rig_silence(rig);
    rig->drive.floor = 40.0 * RC_DEGREE;
    rig->drive.jump = 60.0 * RC_DEGREE;
    rig->drive.top = 900.0 * RC_DEGREE;
    rig->drive.slew = 16.0;
    rig->drive.start_odds = 1.0;
    rig->clock.has_torque_limit = 1;
    rig->parts.coulomb = 0.01;
    rig->parts.starting_ratio = 2.0;
    rig->drive.torque_limit = torque;
}

/* Run under one command. */
static void obey(struct rig *rig, double command, int n_ticks)
{
    rig_command(rig, command);
    rig_run(rig, 0.0, n_ticks);
}

static void load(struct rig *rig, double load)
{
    for (int lane = 0; lane < RC_LANES; lane++)
        rig->p.load[lane] = load;
}

/* At standstill the starting friction decides, and what the vehicle's own acceleration adds or takes away: 1e-3 kg m2 x 2 rad/s2. */
static void test_torque_limit__a_weak_motor_does_not_start(void **state)
{
    (void)state;
    static const struct {
        double torque, load, roll_per_s, sense;
        int starts;
    } rows[] = {
        { 0.020, 0.0, 0.0, 1.0, 0 },  { 0.0201, 0.0, 0.0, 1.0, 1 },  { 0.0201, 0.0, 0.0, -1.0, 1 },
        { 0.021, 0.0, 2.0, 1.0, 0 },  { 0.021, 0.0, 2.0, -1.0, 1 },  { 0.019, 0.0, -2.0, 1.0, 1 },
        { 0.019, 0.0, -2.0, -1.0, 0 }, { 0.0249, 50.0, 0.0, 1.0, 0 }, { 0.0251, 50.0, 0.0, 1.0, 1 },
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct rig rig;
        make_weak(&rig, rows[i].torque);
        rig.parts.load_mu = 0.01; /* 0.5 x 0.01 x 0.3 kg x 50 m/s2 x 1/30 m = 0.0025 N m, twice that at standstill */
        rig.parts.bearing_diameter = 1.0 / 30.0;
        rig_begin(&rig);
        load(&rig, rows[i].load);
        rig_command(&rig, rows[i].sense * 2.0);
        rig_run_ramp(&rig, 0.0, rows[i].roll_per_s * 8.0 / 512.0, 8);
        assert_int_equal(rig_rate(&rig) * rows[i].sense > 0.0, rows[i].starts);
        assert_true(rig.p.tally.starts[rig.lane] == rows[i].starts);
        assert_near(rig.p.tally.stalled[rig.lane], rows[i].starts ? 0.0 : 8.0 / 512.0, 1e-15);
    }
}

/* What friction leaves of the torque turns the inertia: (0.022 - 0.01 - c w)/M faster, (0.022 + 0.01 + c w)/M slower; never more than
 * the slew limit. A gear's efficiency counts. */
static void test_torque_limit__torque_limits_the_slew(void **state)
{
    (void)state;
    struct rig rig;
    make_weak(&rig, 0.022 / 0.8);
    rig.parts.gear_efficiency = 0.8;
    rig.parts.viscous = 1e-3;
    rig_begin(&rig);
    obey(&rig, 5.0, 1);
    double rate = 0.0;
    for (int tick = 1; tick <= 64; tick++) { /* w' = 12 - w: exact but for (tick)^2/12 */
        rate = 12.0 - (12.0 - rig.drive.jump) * exp(-tick / 512.0);
        assert_near(rig_rate(&rig), rate, 5e-7);
        obey(&rig, 5.0, 1);
    }
    rate = rig_rate(&rig);
    /* Slower: 32 rad/s2 and more would be there, the slew limit is 16. */
    obey(&rig, 1.0, 1);
    assert_near(rig_rate(&rig), rate - 16.0 / 512.0, 1e-12);
    rig.drive.slew = 1e9;
    rig_begin(&rig);
    rig_spin(&rig, 6.0);
    for (int lane = 0; lane < RC_LANES; lane++)
        rig.p.mode[lane] = RC_DRIVE_RUNNING;
    obey(&rig, 1.0, 1);
    assert_near(rig_rate(&rig), -32.0 + (32.0 + 6.0) * exp(-1.0 / 512.0), 3e-8);
}

/* A load beyond its torque stops it at once; it starts again when the load has gone, and only then. */
static void test_torque_limit__an_overload_stalls_it(void **state)
{
    (void)state;
    struct rig rig;
    make_weak(&rig, 0.022);
    rig.parts.load_mu = 0.1;
    rig.parts.bearing_diameter = 1.0 / 15.0; /* 1e-3 N m per m/s2 */
    rig_begin(&rig);
    obey(&rig, 2.0, 300);
    assert_true(rig_rate(&rig) == 2.0);
    load(&rig, 11.9);
    obey(&rig, 2.0, 10);
    assert_true(rig_rate(&rig) == 2.0); /* it runs on where it could not start */
    load(&rig, 12.1);
    obey(&rig, 2.0, 1);
    assert_true(rig_rate(&rig) == 0.0 && rig.p.tally.starts[rig.lane] == 1.0);
    load(&rig, 5.0);
    obey(&rig, 2.0, 10);
    assert_true(rig_rate(&rig) == 0.0);
    assert_near(rig.p.tally.stalled[rig.lane], 10.0 / 512.0, 1e-15);
    load(&rig, 0.0);
    obey(&rig, 2.0, 300);
    assert_true(rig_rate(&rig) == 2.0 && rig.p.tally.starts[rig.lane] == 2.0);
}

/* Roll whose acceleration goes from a on by b t: the motor at 0.022 N m turns its load from standstill while 1e-3 kg m2 times that is
 * below 0.002 N m, and is overloaded, running, beyond 0.012 N m. Both moments lie inside ticks, and inside spans. */
static void run_bent(struct rig *rig, double a, double b)
{
    const double time = 128.0 / 512.0, roll[4] = { 1.0, a * time, 0.5 * b * time * time, 0.0 };
    rig_run_cubic(rig, roll, 128);
}

static void test_torque_limit__starts_and_stalls_come_at_their_moments(void **state)
{
    (void)state;
    for (int span = 1; span <= 8; span += 7) {
        struct rig rig;
        make_weak(&rig, 0.022);
        rig.clock.span = span;
        rig.tick = 8;
        rig.drive.slew = 1e9;
        rig.drive.retry_delay = 0.1;
        rig_begin(&rig);
        rig_command(&rig, rig.drive.jump);
        const double starts = 2.0 / 15.7, stalls = 12.0 / 59.0;
        run_bent(&rig, 4.0, -15.7);
        assert_near(rig.p.tally.stalled[rig.lane], starts, 1e-12);
        assert_near(rig.p.turned[rig.lane], rig.drive.jump * (0.25 - starts), 1e-12);
        run_bent(&rig, 0.0, 59.0);
        assert_true(rig_rate(&rig) == 0.0 && rig.p.tally.starts[rig.lane] == 1.0);
        assert_near(rig.p.turned[rig.lane], rig.drive.jump * (0.25 - starts + stalls), 2e-9); /* overloaded by 1e-9 of it */
        /* The retry delay after the stall it starts again. */
        rig_run(&rig, 0.0, 128);
        assert_true(rig.p.tally.starts[rig.lane] == 2.0);
        assert_near(rig.p.turned[rig.lane], rig.drive.jump * (0.25 - starts + stalls + 0.25 - (0.1 - (0.25 - stalls))), 4e-9);
    }
}

/* Torque to spare, or a limit of 0 in a flight: the bits of a drive without one. */
static void test_torque_limit__torque_to_spare_changes_no_bit(void **state)
{
    (void)state;
    struct rig with[2], without;
    make_weak(&without, 0.0);
    without.clock.has_torque_limit = 0;
    make_weak(&with[0], 0.0);
    make_weak(&with[1], 1e6);
    rig_begin(&without);
    rig_begin(&with[0]);
    rig_begin(&with[1]);
    uint32_t word = 7;
    for (int tick = 0; tick < 4000; tick++) {
        word = word * 1664525U + 1013904223U;
        const double command = ((word >> 8) * (1.0 / 16777216.0) - 0.5) * 8.0;
        for (int of = 0; of < 3; of++)
            obey(of < 2 ? &with[of] : &without, tick % 41 < 20 ? command : 0.0, 1);
        assert_true(rig_rate(&with[0]) == rig_rate(&without) && rig_rate(&with[1]) == rig_rate(&without));
    }
    assert_true(without.p.tally.starts[without.lane] > 20.0);
    assert_true(with[0].p.tally.held[with[0].lane] == without.p.tally.held[without.lane]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_torque_limit__a_weak_motor_does_not_start),
        cmocka_unit_test(test_torque_limit__torque_limits_the_slew),
        cmocka_unit_test(test_torque_limit__an_overload_stalls_it),
        cmocka_unit_test(test_torque_limit__starts_and_stalls_come_at_their_moments),
        cmocka_unit_test(test_torque_limit__torque_to_spare_changes_no_bit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
