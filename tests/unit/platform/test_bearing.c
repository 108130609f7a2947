/* The bearing under a sleeping drive, against closed forms: I w' = -(J + N Jr) p' - sign(w) (friction + 0.5 mu F d) - c w with
 * I = J + N^2 Jr, p the vehicle's roll rate and w the platform's rate against it; friction at standstill starting_ratio times as
 * large. Values of the load's share: tests/reference/bearing_worked_example.csv (0.5 mu F d; source named there). */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "physics/near.h"
#include "rig.h"
#include "support/reference.h"

static const double g0 = 9.80665;

/* Closed form: a body under constant friction slows linearly and then stands. */
static void test_bearing__coulomb_slows_linearly_and_then_rests_exactly(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig.parts.coulomb = 3e-3;
    rig.parts.gear_friction = 1e-3;
    const double start = 5.0, slowing = 4e-3 / 1e-3;
    for (int sense = -1; sense <= 1; sense += 2) {
        rig_begin(&rig);
        rig_spin(&rig, sense * start);
        for (int tick = 1; tick <= 640; tick++) {
            rig_run(&rig, 0.0, 1);
            const double wanted = start - slowing * tick * rig.clock.dt;
            assert_near(rig_rate(&rig), sense * fmax(wanted, 0.0), 1e-12);
        }
        for (int tick = 0; tick < 5000; tick++) {
            rig_run(&rig, 0.0, 1);
            assert_true(rig_rate(&rig) == 0.0);
        }
    }
}

/* Closed form: exp(-c t / I), which never stands. */
static void test_bearing__viscous_friction_slows_exponentially(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig.parts.viscous = 2.5e-3;
    rig_begin(&rig);
    rig_spin(&rig, -7.0);
    for (int tick = 1; tick <= 2000; tick++) {
        rig_run(&rig, 0.0, 1);
        assert_ratio(rig_rate(&rig), -7.0 * exp(-2.5 * tick * rig.clock.dt), 1e-12);
    }
}

/* Closed form: w + T/c decays exponentially until w = 0 at t = ln(1 + c w0 / T) I / c. */
static void test_bearing__coulomb_and_viscous_together_follow_the_closed_form(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig.parts.viscous = 2e-3;
    rig.parts.coulomb = 3e-3;
    rig_begin(&rig);
    rig_spin(&rig, 9.0);
    const double k = 2.0, ratio = 3e-3 / 2e-3;
    const double stop = log1p(9.0 / ratio) / k;
    for (int tick = 1; tick <= 700; tick++) {
        rig_run(&rig, 0.0, 1);
        const double time = tick * rig.clock.dt;
        if (time < stop)
            assert_near(rig_rate(&rig), (9.0 + ratio) * exp(-k * time) - ratio, 1e-12);
        else
            assert_true(rig_rate(&rig) == 0.0);
    }
    assert_true(stop > 0.5 && stop < 1.2); /* both branches were seen */
}

/* source tests/reference/bearing_worked_example.csv: ring of 0.30 kg on 50 mm, mu 0.0015. */
static void test_bearing__load_adds_half_mu_force_diameter(void **state)
{
    (void)state;
    struct reference *table = reference_open("bearing_worked_example.csv");
    int n_checked = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        double load = 0.0;
        if (sscanf(reference_text(table, row, "quantity"), "load_torque_%lfg", &load) != 1)
            continue;
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            rig_reset(&rig);
            rig_lull(&rig);
            rig.parts.mass = 0.30;
            rig.parts.load_mu = 0.0015;
            rig.parts.bearing_diameter = 0.050;
            rig_begin(&rig);
            rig_spin(&rig, 100.0);
            for (int lane = 0; lane < RC_LANES; lane++)
                rig.p.load[lane] = sense * load * g0;
            rig_run(&rig, 0.0, 512);
            const double torque = (100.0 - rig_rate(&rig)) * rig.parts.inertia; /* over one second */
            assert_ratio(torque * 1e3, reference_number(table, row, "value"), 1e-7);
        }
        n_checked++;
    }
    assert_int_equal(n_checked, 4);
    reference_close(table);
}

/* Closed form: stuck until inertia times roll acceleration exceeds the friction at standstill; then the running one counts. */
static void test_bearing__sticks_up_to_the_starting_friction(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        rig_reset(&rig);
        rig_lull(&rig);
        rig.parts.coulomb = 2e-3;
        rig.parts.starting_ratio = 1.6;
        rig.parts.gear_ratio = 20.0;
        rig.parts.rotor_inertia = 2e-6;
        const double coupling = 1e-3 + 20.0 * 2e-6, own = 1e-3 + 400.0 * 2e-6;
        const double threshold = 1.6 * 2e-3 / coupling;
        rig_begin(&rig);
        rig_run_ramp(&rig, 0.0, sense * 0.9999 * threshold * 4.0, 2048);
        assert_true(rig_rate(&rig) == 0.0);
        rig_begin(&rig);
        rig_run_ramp(&rig, 0.0, sense * 1.0001 * threshold * 4.0, 2048);
        const double acceleration = (2e-3 - coupling * 1.0001 * threshold) / own;
        assert_near(rig_rate(&rig), sense * acceleration * 4.0, 1e-11);
        /* Once it slides, a pull between running and starting friction keeps it going: the ratio counts at standstill only. */
        const double before = rig_rate(&rig);
        rig_run_ramp(&rig, 0.0, sense * 0.8 * threshold, 512);
        assert_near(rig_rate(&rig) - before, sense * (2e-3 - coupling * 0.8 * threshold) / own, 1e-11);
        /* Without a pull it comes to rest and stays. */
        rig_run(&rig, 0.0, 4096);
        assert_true(rig_rate(&rig) == 0.0);
        rig_run_ramp(&rig, 0.0, sense * 0.9999 * threshold, 512);
        assert_true(rig_rate(&rig) == 0.0);
    }
}

/* The load raises what holds it at standstill as well. */
static void test_bearing__starting_ratio_acts_on_the_sum_of_frictions(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig.parts.coulomb = 1e-4;
    rig.parts.starting_ratio = 2.0;
    rig.parts.load_mu = 0.01;
    rig.parts.bearing_diameter = 0.04;
    rig_begin(&rig);
    for (int lane = 0; lane < RC_LANES; lane++)
        rig.p.load[lane] = 50.0;
    const double threshold = 2.0 * (1e-4 + 0.5 * 0.01 * 0.3 * 50.0 * 0.04) / 1e-3;
    rig_run_ramp(&rig, 0.0, 0.9999 * threshold, 512);
    assert_true(rig_rate(&rig) == 0.0);
    rig_run_ramp(&rig, 0.0, 1.0001 * threshold, 512);
    assert_true(rig_rate(&rig) < 0.0);
}

/* A load that falls from 50 to 10 m/s2 over half a second: 0.5 x 0.01 x 0.3 kg x 0.04 m, 6e-5 N m per m/s2. */
static void begin_unloading(struct rig *rig, double coulomb, double starting_ratio)
{
    rig_reset(rig);
    rig_lull(rig);
    rig->parts.coulomb = coulomb;
    rig->parts.starting_ratio = starting_ratio;
    rig->parts.load_mu = 0.01;
    rig->parts.bearing_diameter = 0.04;
    rig->clock.control_every = rig->clock.gyro_every = 8;
    rig->clock.span = 8;
    rig_begin(rig);
    rc_platform_relength(&rig->p, 8 * rig->clock.dt);
    for (int lane = 0; lane < RC_LANES; lane++) {
        rig->p.load[lane] = 50.0;
        rig->p.load_change[0][lane] = -40.0;
    }
}

/* Closed form: what friction takes is its mean over the half second, of a load that falls evenly its mean load's. */
static void test_bearing__a_falling_load_brakes_by_its_mean(void **state)
{
    (void)state;
    struct rig rig;
    begin_unloading(&rig, 1e-4, 1.0);
    rig_spin(&rig, 3.0);
    rig_run_ramp(&rig, 0.0, 0.0, 256);
    assert_near(rig_rate(&rig), 3.0 - 0.5 * (1e-4 + 6e-5 * 30.0) / 1e-3, 1e-12);
}

/* Closed form: pulled by 1e-3 kg m2 x 3 rad/s2 it is held as long as 2 (1e-4 + 6e-5 F) exceeds that, to F = 70/3 m/s2, a third of
 * a second; from there on it slides under a friction that falls on. */
static void test_bearing__a_falling_load_lets_go_at_its_moment(void **state)
{
    (void)state;
    struct rig rig;
    begin_unloading(&rig, 1e-4, 2.0);
    rig_run_ramp(&rig, 0.0, 1.5, 256);
    const double moment = (50.0 - 70.0 / 3.0) / 80.0, left = 0.5 - moment, mean = 0.5 * (70.0 / 3.0 + 10.0);
    assert_near(rig_rate(&rig), -left * (3.0 - (1e-4 + 6e-5 * mean) / 1e-3), 1e-10);
}

/* Closed form: friction turns round with the motion, (|pull| + T) / I before the turn and (|pull| - T) / I after it. */
static void test_bearing__a_strong_pull_carries_it_through_zero_exactly(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig.parts.coulomb = 2e-3;
    rig_begin(&rig);
    rig_spin(&rig, 3.0);
    const double roll_acceleration = 5.0, turn = 3.0 / 7.0; /* 1e-3 * 5 pulls, 2e-3 rubs, inertia 1e-3 */
    for (int tick = 1; tick <= 512; tick++) {
        const double time = tick * rig.clock.dt;
        rig_run_ramp(&rig, roll_acceleration * (time - rig.clock.dt), roll_acceleration * time, 1);
        assert_near(rig_rate(&rig), time < turn ? 3.0 - 7.0 * time : -3.0 * (time - turn), 1e-12);
    }
}

/* One second of everything at once, at two tick rates. in  n ticks a second */
static double rate_after_a_second(int n, double start, double ramp)
{
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig.clock.tick_rate = n;
    rig.clock.dt = 1.0 / n;
    rig.parts.coulomb = 1.3e-3;
    rig.parts.viscous = 7e-4;
    rig.parts.load_mu = 0.002;
    rig.parts.bearing_diameter = 0.05;
    rig.parts.starting_ratio = 1.4;
    rig.parts.gear_ratio = 12.0;
    rig.parts.rotor_inertia = 1e-6;
    rig_begin(&rig);
    rig_spin(&rig, start);
    for (int lane = 0; lane < RC_LANES; lane++)
        rig.p.load[lane] = 45.0;
    rig_run_ramp(&rig, 1.0, 1.0 + ramp, n);
    return rig_rate(&rig);
}

static void test_bearing__result_does_not_depend_on_the_tick(void **state)
{
    (void)state;
    static const double start[] = { 6.0, 6.0, -6.0, 0.0, 0.8 };
    static const double ramp[] = { 0.0, -3.0, 2.5, 8.0, 0.0 };
    for (int run = 0; run < 5; run++) {
        const double coarse = rate_after_a_second(400, start[run], ramp[run]);
        assert_near(rate_after_a_second(800, start[run], ramp[run]), coarse, 1e-9);
        assert_near(rate_after_a_second(4000, start[run], ramp[run]), coarse, 1e-9);
    }
    assert_true(rate_after_a_second(400, 0.8, 0.0) == 0.0);
}

/* Energy: what friction takes is torque times angle slid. The start is chosen so that it stands at the end of a tick. */
static void test_bearing__friction_takes_torque_times_angle(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig.parts.inertia = 1.0 / 1024.0;
    rig.parts.coulomb = 1.0 / 256.0;
    rig_begin(&rig);
    const double start = 256 * 4.0 / 512.0; /* 256 ticks at 4 rad/s2, all of it exact in binary */
    rig_spin(&rig, start);
    rig_run(&rig, 0.0, 300);
    assert_true(rig_rate(&rig) == 0.0);
    assert_ratio(rig.p.tally.drift[rig.lane] * rig.parts.coulomb, 0.5 * rig.parts.inertia * start * start, 1e-12);
}

/* Without friction and from rest, work the vehicle does on ring and rotor is what they hold: the torque along the vehicle's axis
 * is the rate of J (p + w) + Jr (p + N w), so that work is the integral of p over it, and both energies follow from p and w. */
static void test_bearing__geared_rotor_keeps_the_energy_balance(void **state)
{
    (void)state;
    static const double ratio[] = { 1.0, 5.0, 30.0, 0.5, 100.0 };
    for (int i = 0; i < 5; i++) {
        struct rig rig;
        rig_reset(&rig);
        rig_lull(&rig);
        const double j = rig.parts.inertia, jr = rig.parts.rotor_inertia = 3e-6, n = rig.parts.gear_ratio = ratio[i];
        rig_begin(&rig);
        rig_run_ramp(&rig, 0.0, 12.0, 700);
        const double p = 12.0, w = rig_rate(&rig);
        const double energy = 0.5 * j * (p + w) * (p + w) + 0.5 * jr * (p + n * w) * (p + n * w);
        const double momentum = j * (p + w) + jr * (p + n * w);
        assert_near(energy, 0.5 * p * momentum, 1e-12); /* p and w rise in proportion, so the integral is half the product */
        assert_ratio(w, -p * (j + n * jr) / (j + n * n * jr), 1e-12);
    }
}

/* Closed form: a ring without friction and without rotor does not feel the vehicle at all. */
static void test_bearing__free_ring_stays_at_rest_against_the_ground(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig_begin(&rig);
    const double roll[4] = { 0.0, 3.0, -8.0, 6.0 };
    rig_run_cubic(&rig, roll, 777);
    assert_near(rig.p.residual[rig.lane], 0.0, 1e-12);
    assert_near(rig.p.tally.drift[rig.lane], 0.0, 1e-12);
}

/* Nothing from outside: momentum about the axis stays, and the energy lost is what friction takes. Energies from the bodies' own
 * rates, vehicle without ring and rotor, ring, rotor; ix holds the ring, and leaves the rotor's own inertia out. */
static void test_bearing__vehicle_gives_way_and_momentum_stays(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    const double j = rig.parts.inertia, jr = rig.parts.rotor_inertia = 2e-6, n = rig.parts.gear_ratio = 15.0;
    const double torque = rig.parts.coulomb = 1.5e-3, p0 = 2.0, w0 = 9.0, vehicle = 6e-3;
    rig_begin(&rig);
    rig_spin(&rig, w0);
    rc_lane ix, is_free;
    for (int lane = 0; lane < RC_LANES; lane++) {
        ix[lane] = vehicle + j;
        is_free[lane] = 1.0;
    }
    rc_platform_meet(&rig.p, rig.clock.dt, ix, is_free);
    rig_run(&rig, p0, 512);
    const double w = rig_rate(&rig), p = rig.p.residual[rig.lane] - w;
    assert_true(w > 1.0 && w < 8.5 && p > p0 + 0.1);
    const double momentum = (vehicle + j) * (p - p0) + (j + n * jr) * (w - w0);
    assert_near(momentum, 0.0, 1e-15);
    const double before = vehicle * p0 * p0 + j * (p0 + w0) * (p0 + w0) + jr * (2.0 * p0 * n * w0 + n * n * w0 * w0);
    const double after = vehicle * p * p + j * (p + w) * (p + w) + jr * (2.0 * p * n * w + n * n * w * w);
    const double angle = 0.5 * (w0 + w) * 1.0; /* constant friction over one second */
    assert_ratio(0.5 * (before - after), torque * angle, 1e-11);
    /* The tallies see the vehicle give way: the residual rate, too, goes straight from start to end. */
    assert_near(rig.p.tally.drift[rig.lane], 0.5 * (p0 + w0 + p + w), 1e-12);
}

/* In the play of a servo's gear the platform has its bearing alone. Closed form: at 9 rad/s the bearing's 1e-3 and 2e-4 w N m
 * slow 1e-3 kg m2, and a roll that grows by 2 rad/s2 does by that more; the gear's friction and the rotor do not. The rotor has
 * these, and 10 times the roll's acceleration. */
static void test_bearing__platform_alone_in_the_play_is_without_the_gear(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_silence(&rig);
    rig.kind = "servo";
    rig.clock.has_play = 1;
    rig.parts.backlash = 10.0;
    rig.parts.coulomb = 1e-3;
    rig.parts.gear_friction = 5e-4;
    rig.parts.viscous = 2e-4;
    rig.parts.gear_ratio = 10.0;
    rig.parts.rotor_inertia = 2e-6;
    rig_begin(&rig);
    rig_spin(&rig, 9.0);
    for (int lane = 0; lane < RC_LANES; lane++)
        rig.p.motor_rate[lane] = 7.0;
    rig_run_ramp(&rig, 0.0, 2.0 / 512.0, 1);
    const double limit = -(1e-3 + 2e-3) / 2e-4;
    assert_near(rig_rate(&rig), limit + (9.0 - limit) * exp(-0.2 / 512.0), 1e-12);
    const double rotor = 100.0 * 2e-6, carried = 10.0 * 2e-6;
    assert_near(rig.p.motor_rate[rig.lane], 7.0 - (5e-4 + carried * 2.0) / rotor / 512.0, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bearing__coulomb_slows_linearly_and_then_rests_exactly),
        cmocka_unit_test(test_bearing__viscous_friction_slows_exponentially),
        cmocka_unit_test(test_bearing__coulomb_and_viscous_together_follow_the_closed_form),
        cmocka_unit_test(test_bearing__load_adds_half_mu_force_diameter),
        cmocka_unit_test(test_bearing__sticks_up_to_the_starting_friction),
        cmocka_unit_test(test_bearing__starting_ratio_acts_on_the_sum_of_frictions),
        cmocka_unit_test(test_bearing__a_falling_load_brakes_by_its_mean),
        cmocka_unit_test(test_bearing__a_falling_load_lets_go_at_its_moment),
        cmocka_unit_test(test_bearing__a_strong_pull_carries_it_through_zero_exactly),
        cmocka_unit_test(test_bearing__result_does_not_depend_on_the_tick),
        cmocka_unit_test(test_bearing__friction_takes_torque_times_angle),
        cmocka_unit_test(test_bearing__geared_rotor_keeps_the_energy_balance),
        cmocka_unit_test(test_bearing__free_ring_stays_at_rest_against_the_ground),
        cmocka_unit_test(test_bearing__vehicle_gives_way_and_momentum_stays),
        cmocka_unit_test(test_bearing__platform_alone_in_the_play_is_without_the_gear),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
