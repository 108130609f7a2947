/* The stepper against its worked example (tests/reference/stepper_worked_example.csv: phasor model after Acarnley, Stepping Motors
 * [memory], numbers computed), the pendulum it is behind its steps, closed forms, and the rules of docs/theory.md, "Stepper". */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "rig.h"
#include "support/reference.h"

static double published(const char *quantity)
{
    struct reference *table = reference_open("stepper_worked_example.csv");
    double value = NAN;
    for (int row = 0; row < reference_rows(table); row++)
        if (strcmp(reference_text(table, row, "quantity"), quantity) == 0)
            value = reference_number(table, row, "value");
    reference_close(table);
    assert_true(isfinite(value));
    return value;
}

/* The worked example's motor on the ring directly, a light ring, commands by hand. */
static void make_stepper(struct rig *rig)
{
    rig_reset(rig);
    rig_silence(rig);
    rig->kind = "stepper";
    rig->drive.stepper = (struct rc_stepper_design){
        .steps = 4.0 * published("rotor_teeth"), .microsteps = 1.0, .holding_torque = published("T_hold"),
        .current = published("I_peak"), .resistance = published("R"), .inductance = published("L"),
        .supply = published("V_bus"), .torque_factor = 1.0, .damping = 0.1,
    };
    rig->drive.top = 2000.0;
    rig->drive.slew = 16.0;
    rig->parts.inertia = 4e-4;
}

/* Is a motor that turns at `rate` under a load torque still in step after one tick? */
static int keeps_step(struct rig *rig, double rate, double load)
{
    rig->parts.coulomb = load;
    rig_begin(rig);
    rig_command(rig, rate);
    rig_spin(rig, rate);
    for (int lane = 0; lane < RC_LANES; lane++) {
        rig->p.stepper.pace[lane] = rate;
        rig->p.mode[lane] = RC_DRIVE_RUNNING;
    }
    rig_run(rig, 0.0, 1);
    return rig->p.mode[rig->lane] == RC_DRIVE_RUNNING;
}

static void test_stepper__pull_out_torque_is_the_published(void **state)
{
    (void)state;
    static const int rpm[] = { 60, 300, 600, 1000, 1500, 2000, 3000, 5000 };
    for (int i = 0; i < 8; i++) {
        char name[32];
        (void)snprintf(name, sizeof name, "T_pullout_%drpm", rpm[i]);
        const double torque = 1e-3 * published(name), rate = rpm[i] * 2.0 * RC_PI / 60.0;
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            make_stepper(&rig);
            /* printed to 1e-9 N m */
            assert_true(keeps_step(&rig, sense * rate, torque - 1e-9));
            assert_false(keeps_step(&rig, sense * rate, torque + 1e-9));
        }
    }
    /* Up to the corner speed the current limit caps it. It caps the formula a little beyond, where the current lags the voltage. */
    struct rig rig;
    make_stepper(&rig);
    const double corner = published("corner_speed") * 2.0 * RC_PI / 60.0;
    assert_true(keeps_step(&rig, corner * 0.999999, published("T_hold") * 0.9999999));
}

/* Gear ratio times efficiency carries the torque, the step rate counts at the motor. */
static void test_stepper__gear_multiplies_torque_and_step_rate(void **state)
{
    (void)state;
    struct rig rig;
    make_stepper(&rig);
    rig.parts.gear_ratio = 10.0;
    rig.parts.gear_efficiency = 0.8;
    const double rate = 2000.0 * 2.0 * RC_PI / 60.0 / 10.0, torque = 8.0 * 1e-3 * published("T_pullout_2000rpm");
    assert_true(keeps_step(&rig, rate, torque * 0.9999999));
    assert_false(keeps_step(&rig, rate, torque * 1.0000001));
}

static void test_stepper__resonance_band_and_table_limit_the_torque(void **state)
{
    (void)state;
    struct rig rig;
    make_stepper(&rig);
    const double per_step = 2.0 * RC_PI / 200.0;
    rig.drive.stepper.resonance_low = 50.0;
    rig.drive.stepper.resonance_high = 250.0;
    rig.drive.stepper.resonance_share = 0.5;
    assert_true(keeps_step(&rig, 49.9 * per_step, 0.0179));
    assert_false(keeps_step(&rig, 50.1 * per_step, 0.00901));
    assert_true(keeps_step(&rig, 50.1 * per_step, 0.00899));
    assert_false(keeps_step(&rig, 249.9 * per_step, 0.00901));
    assert_true(keeps_step(&rig, 250.1 * per_step, 0.0179));
    make_stepper(&rig);
    rig.clock.pull_out = (struct rc_pull_out_points){ .n = 3, .rate = { 100, 300, 1000 }, .torque = { 0.02, 0.016, 0.002 } };
    static const double points[][2] = { { 10, 0.02 }, { 100, 0.02 }, { 200, 0.018 }, { 300, 0.016 }, { 650, 0.009 }, { 5000, 0.002 } };
    for (int i = 0; i < 6; i++) {
        assert_true(keeps_step(&rig, points[i][0] * per_step, points[i][1] * 0.999999));
        assert_false(keeps_step(&rig, points[i][0] * per_step, points[i][1] * 1.000001));
    }
}

/* The ramp costs the torque of everything that turns: (J + N^2 Jr) slew at the platform, and friction. Closed form. */
static void test_stepper__ramp_needs_the_torque_of_the_inertia(void **state)
{
    (void)state;
    for (int over = 0; over <= 1; over++) {
        struct rig rig;
        make_stepper(&rig);
        rig.parts.gear_ratio = 5.0;
        rig.parts.rotor_inertia = 2e-6;
        rig.parts.coulomb = 0.01;
        const double inertia = 4e-4 + 25.0 * 2e-6, torque = 5.0 * 0.018;
        rig.drive.slew = (torque - 0.01) / inertia * (over ? 1.0001 : 0.9999);
        rig_begin(&rig);
        rig_command(&rig, 20.0);
        for (int tick = 1; tick <= 10; tick++) {
            rig_run(&rig, 0.0, 1);
            if (!over)
                assert_near(rig_rate(&rig), tick * rig.drive.slew / 512.0, 1e-12);
        }
        /* Once lost, it is not caught while the ramp still asks for more than it has. */
        assert_true((rig.p.tally.slips[rig.lane] > 0.0) == over);
    }
}

/* One tick in which a motor with microsteps of 1.8/16 deg keeps `rate`, its swing about a step damped by `damping`. */
static void step_evenly(struct rig *rig, double damping, double rate)
{
    rig->drive.stepper.damping = damping;
    rig_begin(rig);
    rig_command(rig, rate);
    rig_spin(rig, rate);
    for (int lane = 0; lane < RC_LANES; lane++) {
        rig->p.stepper.pace[lane] = rate;
        rig->p.mode[lane] = RC_DRIVE_RUNNING;
    }
    rig_run(rig, 0.0, 1);
}

/* Published: the ring on the motor swings at 7.55 Hz, through 10:1 at 73.7 Hz; one full step, undamped, rings it by 85.4 deg/s. Damped a
 * little, and stepped so slowly that nothing is left of the step before, it has its first crest at the angle acos(zeta) of the swing,
 * half a swing later its trough. */
static void test_stepper__a_step_rings_the_ring_as_published(void **state)
{
    (void)state;
    const double zeta = 0.001, wear = zeta / sqrt(1.0 - zeta * zeta);
    const double damped = 0.5 * exp(-wear * acos(zeta)) * (1.0 + exp(-RC_PI * wear));
    struct rig rig;
    make_stepper(&rig);
    rig.parts.rotor_inertia = 2e-7; /* the example counts it */
    step_evenly(&rig, zeta, 5e-5);
    const double ring = rig.p.tally.ripple_peak[rig.lane] / damped;
    assert_near(ring / RC_DEGREE, published("ring_rate_amp_for_1.8deg_at_direct_resonance"), 1e-6);
    assert_near(ring / (1.8 * RC_DEGREE) / (2.0 * RC_PI), published("f_resonance_ring_4e-4_kg_m2_direct"), 1e-7);
    rig.parts.gear_ratio = 10.0;
    step_evenly(&rig, zeta, 5e-5);
    assert_near(rig.p.tally.ripple_peak[rig.lane] / damped / (0.18 * RC_DEGREE) / (2.0 * RC_PI),
                published("f_resonance_ring_via_10:1"), 1e-6);
}

/* The steady state of a swing of frequency 1 that unit steps kick every T, summed up kick by kick and looked at in 4000 places
 * between two of them: half the peak-to-peak rate, its mean square about its mean, the peak-to-peak angle about the mean motion. */
struct steady {
    double half, square, sway;
};
static struct steady sum_of_kicks(double zeta, double period)
{
    enum { N_PLACES = 4000 };
    const double damped = sqrt(1.0 - zeta * zeta);
    double low = INFINITY, high = -INFINITY, behind = INFINITY, ahead = -INFINITY, square = 0.0;
    for (int place = 0; place <= N_PLACES; place++) {
        const double since = period * place / N_PLACES;
        double rate = 0.0, angle = -since / period;
        for (double t = since; t <= since + 40.0 / zeta; t += period) { /* e^-40 is left of older ones */
            rate += exp(-zeta * t) * sin(damped * t) / damped;
            angle -= exp(-zeta * t) * (cos(damped * t) + zeta / damped * sin(damped * t));
        }
        low = fmin(low, rate);
        high = fmax(high, rate);
        behind = fmin(behind, angle);
        ahead = fmax(ahead, angle);
        const double off = rate - 1.0 / period;
        square += (place == 0 || place == N_PLACES ? 0.5 : 1.0) * off * off / N_PLACES;
    }
    return (struct steady){ 0.5 * (high - low), square, ahead - behind };
}

/* From many steps a swing to ten swings a step, at, beside and between the rates of the ring and its sub-harmonics. Places see an
 * extreme up to 2e-5 short, and the mean square as the trapezoid does. The angle's three swings are no exact answer: by the header
 * 0.97 to 1.03 of it up to a damping of 0.1, 0.9 to 1.01 up to 0.5. */
static void test_stepper__single_steps_swing_it_as_the_sum_of_their_kicks(void **state)
{
    (void)state;
    static const double dampings[] = { 0.02, 0.05, 0.1, 0.5 };
    static const double swings[] = { 0.05, 0.3, 0.7, 0.9, 1.0, 1.003, 1.5, 2.0, 2.5, 3.0, 3.5, 10.0 };
    for (int i = 0; i < 4; i++) {
        for (int k = 0; k < 12; k++) {
            struct rig rig;
            make_stepper(&rig);
            rig.drive.stepper.microsteps = 16.0;
            const double natural = sqrt(0.018 * 50.0 / 4e-4), step = 1.8 / 16.0 * RC_DEGREE, full = step * natural;
            step_evenly(&rig, dampings[i], step * natural / (2.0 * RC_PI * swings[k]));
            const struct steady exact = sum_of_kicks(dampings[i], 2.0 * RC_PI * swings[k]);
            const int lane = rig.lane;
            assert_near(rig.p.tally.ripple_peak[lane], full * exact.half, 2e-5 * full * exact.half);
            assert_near(rig.p.ripple[lane], rig.p.tally.ripple_peak[lane], 0.0);
            assert_near(rig.p.ripple_square[lane], full * full * exact.square, 2e-6 * full * full * exact.square);
            const double reach = rig.p.ripple_sway[lane] / (step * exact.sway), spare = dampings[i] > 0.1 ? 0.1 : 0.03;
            if (!(reach >= 1.0 - spare && reach <= 1.03))
                fail_msg("damping %g, %g swings a step: sway %.4f of what it is", dampings[i], swings[k], reach);
        }
    }
}

/* At, above and below critical damping nothing rings; a single step then turns the platform at most by 1/e of s w0 a second. */
static void test_stepper__critical_damping_leaves_a_step_its_creep(void **state)
{
    (void)state;
    struct rig rig;
    make_stepper(&rig);
    step_evenly(&rig, 1.0, 5e-5);
    const double natural = sqrt(0.018 * 50.0 / 4e-4), step = 1.8 * RC_DEGREE;
    assert_near(rig.p.ripple[rig.lane], 0.5 * exp(-1.0) * step * natural, 2e-3 * step * natural);
}

/* The swing is that of the rate which the span's ramp ends with, in every span, be there a command or not; none where it stands. */
static void test_stepper__ripple_follows_the_generator_from_span_to_span(void **state)
{
    (void)state;
    struct rig rig;
    make_stepper(&rig);
    rig.drive.stepper.microsteps = 16.0;
    rig_begin(&rig);
    rig_command(&rig, 0.5);
    rig.drive.slew = 16.0; /* 1/32 rad/s a tick */
    const double natural = sqrt(0.018 * 50.0 / 4e-4), step = 1.8 / 16.0 * RC_DEGREE;
    for (int tick = 1; tick <= 8; tick++) {
        rig_run(&rig, 0.0, 1);
        const struct steady exact = sum_of_kicks(0.1, natural * step / (tick / 32.0));
        assert_near(rig.p.ripple[rig.lane], step * natural * exact.half, 2e-5 * step * natural);
    }
    rig_command(&rig, 0.0);
    for (int tick = 7; tick >= 0; tick--)
        rig_run(&rig, 0.0, 1);
    assert_true(rig_rate(&rig) == 0.0 && rig.p.ripple[rig.lane] == 0.0 && rig.p.ripple_sway[rig.lane] == 0.0);
    assert_true(rig.p.ripple_square[rig.lane] == 0.0);
}

/* A second at an even rate of 0.02 rad/s, with torque to spare or close to pull-out, which goes by pieces. */
static void turn_evenly(struct rig *rig, double friction, double target, double residual)
{
    make_stepper(rig);
    rig->clock.control_every = 512;
    rig->tick = 0;
    rig->controller.gain = 0.0;
    rig->footage.target = target;
    rig->drive.slew = 1e-9; /* keeps its rate */
    rig->parts.coulomb = friction;
    rig_begin(rig);
    for (int lane = 0; lane < RC_LANES; lane++) {
        rig->p.stepper.pace[lane] = 0.02;
        rig->p.mode[lane] = RC_DRIVE_RUNNING;
    }
    rig_spin(rig, 0.02);
    rig_run(rig, residual - 0.02, 512);
}

/* A residual rate counts as held only if the whole ripple stays within the target: by hand, target less ripple on either side. */
static void test_stepper__is_held_with_its_whole_ripple_only(void **state)
{
    (void)state;
    static const double friction[] = { 0.0, 0.017 }; /* of 0.018 N m */
    struct rig rig;
    turn_evenly(&rig, 0.0, 1.0, 0.0);
    const double ripple = rig.p.ripple[rig.lane];
    assert_true(ripple > 0.5);
    for (int which = 0; which < 2; which++) {
        for (int sense = -1; sense <= 1; sense += 2) {
            turn_evenly(&rig, friction[which], ripple + 0.3, sense * 0.299);
            assert_near(rig.p.tally.held[rig.lane], 1.0, 1e-9);
            turn_evenly(&rig, friction[which], ripple + 0.3, sense * 0.301);
            assert_true(rig.p.tally.held[rig.lane] == 0.0);
        }
        /* Where it swings by more than the target it is never held, be the mean at rest. */
        turn_evenly(&rig, friction[which], 1.001 * ripple, 0.0);
        assert_near(rig.p.tally.held[rig.lane], 1.0, 1e-9);
        turn_evenly(&rig, friction[which], 0.999 * ripple, 0.0);
        assert_true(rig.p.tally.held[rig.lane] == 0.0);
    }
}

/* Losing its steps it is on none that could swing it: frames from that span on see no sway, and the greatest ripple is that of spans which
 * it was in step throughout. Friction is there from the third span on. */
static void test_stepper__lost_steps_swing_nothing(void **state)
{
    (void)state;
    struct rig rig;
    make_stepper(&rig);
    rig.drive.slew = 1.0;
    rig_begin(&rig);
    rig_command(&rig, 16.0);
    rig_run(&rig, 0.0, 2);
    const int lane = rig.lane;
    const double before = rig.p.tally.ripple_peak[lane];
    assert_true(before > 0.0 && rig.p.ripple[lane] > 0.0 && rig.p.ripple_sway[lane] > 0.0);
    for (int every = 0; every < RC_LANES; every++)
        rig.p.friction[every] = 0.02;
    rig_run(&rig, 0.0, 1);
    assert_true(rig.p.mode[lane] == RC_DRIVE_SLIPPING);
    assert_true(rig.p.ripple[lane] == 0.0 && rig.p.ripple_sway[lane] == 0.0);
    assert_true(rig.p.tally.ripple_peak[lane] == before);
    rig_run(&rig, 0.0, 8);
    assert_true(rig.p.ripple[lane] == 0.0 && rig.p.tally.ripple_peak[lane] == before);
}

/* Asked for more than its top rate it turns at that, either way; each change of its sense is a reversal, a stop on the way included, and
 * going on the same way is none. */
static void test_stepper__keeps_to_its_top_rate_and_counts_reversals(void **state)
{
    (void)state;
    struct rig rig;
    make_stepper(&rig);
    rig.drive.top = 5.0;
    rig_begin(&rig);
    static const double commands[] = { 1e3, 0.0, 2.0, -1e3, 0.0, -4.0, 0.0, 3.0 };
    static const double rates[] = { 5.0, 0.0, 2.0, -5.0, 0.0, -4.0, 0.0, 3.0 }, reversals[] = { 0, 0, 0, 1, 1, 1, 1, 2 };
    for (int i = 0; i < 8; i++) {
        rig_command(&rig, commands[i]);
        rig_run(&rig, 0.0, 512); /* at 16 rad/s2 */
        assert_true(rig_rate(&rig) == rates[i]);
        assert_true(rig.p.tally.reversals[rig.lane] == reversals[i]);
    }
}

/* From standstill the ramp needs the starting friction: 4e-4 x 2 N m of the inertia and 1.7 x 0.01 N m are within 0.018, with 1.75 they
 * are not; once it turns the running friction counts, whatever the ratio. */
static void test_stepper__starts_against_the_starting_friction(void **state)
{
    (void)state;
    for (int over = 0; over <= 1; over++) {
        struct rig rig;
        make_stepper(&rig);
        rig.drive.slew = 2.0;
        rig.parts.coulomb = 0.01;
        rig.parts.starting_ratio = over ? 1.75 : 1.7;
        rig_begin(&rig);
        rig_command(&rig, 1.0);
        rig_run(&rig, 0.0, 1);
        assert_true((rig.p.tally.slips[rig.lane] > 0.0) == over);
        rig.parts.starting_ratio = 1.75;
        rig_begin(&rig);
        rig_command(&rig, 1.0);
        rig_spin(&rig, 0.5);
        for (int lane = 0; lane < RC_LANES; lane++) {
            rig.p.stepper.pace[lane] = 0.5;
            rig.p.mode[lane] = RC_DRIVE_RUNNING;
        }
        rig_run(&rig, 0.0, 1);
        assert_true(rig.p.tally.slips[rig.lane] == 0.0);
    }
}

/* Standing, friction helps it to hold: the vehicle's acceleration must exceed 0.018 N m of the motor and 1.5 x 0.01 N m of friction on
 * 4e-4 kg m2. */
static void test_stepper__standing_it_holds_with_friction(void **state)
{
    (void)state;
    for (int over = 0; over <= 1; over++) {
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            make_stepper(&rig);
            rig.parts.coulomb = 0.01;
            rig.parts.starting_ratio = 1.5;
            rig_begin(&rig);
            rig_command(&rig, 0.0);
            const double acceleration = sense * (0.018 + 0.015) / 4e-4 * (over ? 1.001 : 0.999);
            rig_run_ramp(&rig, 0.0, acceleration / 512.0, 1);
            assert_true((rig.p.tally.slips[rig.lane] > 0.0) == over);
        }
    }
}

/* Half the torque by its factor, of a winding as of a table. */
static void test_stepper__a_factor_scales_its_pull_out(void **state)
{
    (void)state;
    for (int has_table = 0; has_table <= 1; has_table++) {
        struct rig rig;
        make_stepper(&rig);
        rig.drive.stepper.torque_factor = 0.5;
        if (has_table)
            rig.clock.pull_out = (struct rc_pull_out_points){ .n = 2, .rate = { 0.0, 1e5 }, .torque = { 0.018, 0.018 } };
        assert_true(keeps_step(&rig, 0.1, 0.999 * 0.5 * 0.018));
        assert_false(keeps_step(&rig, 0.1, 1.001 * 0.5 * 0.018));
    }
}

/* What a gear leaves of the motor's torque: the ratio times 0.7 of it, of a winding's as of a table's. */
static void test_stepper__gear_takes_its_share_of_the_torque(void **state)
{
    (void)state;
    for (int has_table = 0; has_table <= 1; has_table++) {
        struct rig rig;
        make_stepper(&rig);
        rig.parts.gear_ratio = 5.0;
        rig.parts.gear_efficiency = 0.7;
        if (has_table)
            rig.clock.pull_out = (struct rc_pull_out_points){ .n = 2, .rate = { 0.0, 1e5 }, .torque = { 0.012, 0.012 } };
        const double torque = has_table ? 0.012 : 0.018; /* of the motor, slow */
        assert_true(keeps_step(&rig, 0.1, 0.999 * 5.0 * 0.7 * torque));
        assert_false(keeps_step(&rig, 0.1, 1.001 * 5.0 * 0.7 * torque));
    }
}

/* A roll that rises and falls again inside one span, 1 + 0.4 s - 0.4 s^2, is at most 1.1 in its middle; nothing else happens there. */
static void test_stepper__roll_that_turns_inside_a_span_is_met(void **state)
{
    (void)state;
    struct rig rig;
    make_stepper(&rig);
    rig.clock.span = rig.clock.control_every = 32;
    rig.controller.gain = 0.0;
    rig.tick = 0;
    rig_begin(&rig);
    rc_platform_relength(&rig.p, 32.0 * rig.clock.dt);
    const double roll[4] = { 1.0, 0.4, -0.4, 0.0 };
    rig_run_cubic(&rig, roll, 32);
    assert_near(rig.p.tally.roll_peak[rig.lane], 1.1, 1e-12);
}

/* Stalled by friction it loses whole cycles of four full steps, counted with the sense of the command. */
static void test_stepper__lost_steps_are_signed_and_come_in_fours(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_stepper(&rig);
        rig.parts.coulomb = 0.02;
        rig_begin(&rig);
        rig_command(&rig, sense * 16.0);
        /* ramps for 1 s: half of 16 rad; it never moves. Then 1 s at 16 rad/s. */
        rig_run(&rig, 0.0, 1024);
        const double steps = (8.0 + 16.0) * 200.0 / (2.0 * RC_PI);
        assert_true(rig.p.tally.slips[rig.lane] == 1.0);
        assert_near(rig.p.tally.lost[rig.lane], sense * 4.0 * round(steps / 4.0), 0.0);
        assert_near(rig.p.tally.slipping[rig.lane], 2.0, 1e-12);
        /* Friction gone: it does not pick up a generator at 16 rad/s from rest, but one slow enough. */
        for (int lane = 0; lane < RC_LANES; lane++)
            rig.p.friction[lane] = 0.0;
        rig_run(&rig, 0.0, 512);
        assert_true(rig_rate(&rig) == 0.0 && rig.p.mode[rig.lane] == RC_DRIVE_SLIPPING);
        const double before = rig.p.tally.lost[rig.lane];
        rig_command(&rig, 0.0);
        const double separatrix = 2.0 * sqrt(0.018 / (4e-4 * 50.0));
        int n = 0;
        while (rig.p.mode[rig.lane] == RC_DRIVE_SLIPPING && n++ < 2000)
            rig_run(&rig, 0.0, 1);
        assert_near(rig.p.stepper.pace[rig.lane], sense * (16.0 - n * 16.0 / 512.0), 1e-9);
        assert_true(fabs(rig.p.stepper.pace[rig.lane]) <= separatrix);
        assert_true(fabs(rig.p.stepper.pace[rig.lane]) > separatrix - 16.0 / 512.0);
        assert_near(rig.p.tally.slipping[rig.lane], 3.0 + (16.0 - separatrix) / 16.0, 1e-9); /* to the moment */
        assert_true(rig_rate(&rig) == rig.p.stepper.pace[rig.lane]);
        assert_true(sense * rig.p.tally.lost[rig.lane] > sense * before);
        assert_near(fmod(fabs(rig.p.tally.lost[rig.lane]), 4.0), 0.0, 0.0);
        /* What it has turned is what was commanded less the lost steps: the jump settles the rest. */
        const double commanded = sense * (8.0 + 16.0 + 16.0 + 16.0 * n / 512.0 - 0.5 * 16.0 * n * n / 512.0 / 512.0);
        const double angle = commanded - rig.p.tally.lost[rig.lane] * 2.0 * RC_PI / 200.0;
        assert_near(rig.p.turned[rig.lane], angle, 1e-9);
        /* The vehicle does not roll: what the camera has turned is that, jumps included. */
        assert_near(rig.p.tally.drift[rig.lane], angle, 1e-9);
    }
}

/* At 2 rad/s against a vehicle whose roll acceleration grows as 50 t rad/s2: closed form of every moment. With 0.01 N m of friction the
 * load is 0.01 + 0.02 t, past the 0.018 N m of the motor at 0.4 s; then the platform slows by 25 (1 + 2 t) rad/s2 until it stands, is
 * torn loose at 0.5 s, where 0.02 t exceeds the friction, and goes by 25 (t - 0.5)^2 the other way. Whatever is taken at once. */
static void test_stepper__loses_stops_and_is_torn_loose_at_their_moments(void **state)
{
    (void)state;
    static const int spans[] = { 1, 8, 32 };
    const double stop = (sqrt(45.0 * 45.0 + 4.0 * 25.0 * 2.0) - 45.0) / 50.0; /* after the loss */
    const double slowing = 2.0 * stop - 12.5 * stop * stop - 25.0 * (0.4 * stop * stop + stop * stop * stop / 3.0);
    const double back = -25.0 * 0.125 / 3.0, turned = 0.8 + slowing + back, roll = 25.0 / 3.0;
    for (int which = 0; which < 3; which++)
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            make_stepper(&rig);
            rig.clock.span = spans[which];
            rig.parts.coulomb = 0.01;
            rig.tick = 32;
            rig_begin(&rig);
            rc_platform_relength(&rig.p, spans[which] * rig.clock.dt);
            rig_command(&rig, sense * 2.0);
            rig_spin(&rig, sense * 2.0);
            for (int lane = 0; lane < RC_LANES; lane++) {
                rig.p.stepper.pace[lane] = sense * 2.0;
                rig.p.mode[lane] = RC_DRIVE_RUNNING;
            }
            const double h = 32.0 / 512.0;
            for (int step = 0; step < 16; step++) {
                const double t = step * h, cubic[4] = { sense * 25.0 * t * t, sense * 50.0 * t * h, sense * 25.0 * h * h, 0.0 };
                rig_run_cubic(&rig, cubic, 32);
            }
            const struct rc_tally *const tally = &rig.p.tally;
            const int lane = rig.lane;
            assert_true(tally->slips[lane] == 1.0);
            assert_near(tally->slipping[lane], 0.6, 1e-9);
            assert_near(rig_rate(&rig), sense * -6.25, 1e-8);
            assert_near(rig.p.turned[lane], sense * turned, 1e-8);
            /* The vehicle's roll is taken as straight within what is taken at once. */
            const double h_once = spans[which] * rig.clock.dt;
            assert_near(tally->drift[lane], sense * (roll + turned), 1e-7 + 50.0 * h_once * h_once / 12.0);
            assert_true(tally->lost[lane] == sense * 4.0 * round((2.0 - turned) * 200.0 / (2.0 * RC_PI) / 4.0));
            assert_near(rig.p.residual[lane], sense * (25.0 - 6.25), 1e-8);
        }
}

/* A platform whose stepper slips turns on under friction and viscous friction, beside a vehicle that does not roll: closed form of rate
 * and angle, w' = -(F + c w)/I. What the camera has drifted is that angle, bend included, whatever is taken at once. */
static void test_stepper__slipping_it_bends_under_viscous_friction(void **state)
{
    (void)state;
    static const int spans[] = { 1, 8, 32 };
    const double friction = 0.002, viscous = 2e-4, inertia = 4e-4, begin = 9.0, time = 0.25;
    const double decay = exp(-viscous * time / inertia), steady = friction / viscous;
    const double rate = (begin + steady) * decay - steady;
    const double angle = (begin + steady) * (1.0 - decay) * inertia / viscous - steady * time;
    assert_true(rate > 0.0);
    for (int which = 0; which < 3; which++)
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            make_stepper(&rig);
            rig.clock.span = spans[which];
            rig.parts.coulomb = friction;
            rig.parts.viscous = viscous;
            rig.tick = 32;
            rig_begin(&rig);
            rc_platform_relength(&rig.p, spans[which] * rig.clock.dt);
            rig_command(&rig, sense * 60.0);
            rig_spin(&rig, sense * begin);
            for (int lane = 0; lane < RC_LANES; lane++) {
                rig.p.stepper.pace[lane] = sense * 60.0; /* far too fast to catch */
                rig.p.mode[lane] = RC_DRIVE_SLIPPING;
            }
            rig_run(&rig, 0.0, (int)(time * 512.0));
            assert_near(rig_rate(&rig), sense * rate, 1e-9);
            assert_near(rig.p.turned[rig.lane], sense * angle, 1e-8);
            assert_near(rig.p.tally.drift[rig.lane], sense * angle, 1e-8);
        }
}

/* In a gear with play, what is taken at once makes no difference: the platform leaves a flank and meets one where it does, its rate
 * and angle with the reaction of the vehicle are the same, and what the output has turned is the platform's angle and the gap. */
static void test_stepper__goes_from_flank_to_flank_at_its_moments(void **state)
{
    (void)state;
    static const int spans[] = { 1, 8, 32 };
    static struct rig rig[3];
    double commanded = 0.0, least = 1.0, most = 0.0;
    for (int which = 0; which < 3; which++) {
        struct rig *const r = &rig[which];
        make_stepper(r);
        r->clock.span = spans[which];
        r->clock.has_play = 1;
        r->drive.stepper.holding_torque = 0.18;
        r->parts = (struct rc_platform_design){ .inertia = 4e-4, .mass = 0.3, .coulomb = 0.004, .viscous = 1e-4, .starting_ratio = 1.5,
                                                .gear_ratio = 1.0, .gear_efficiency = 1.0, .rotor_inertia = 1e-6,
                                                .gear_friction = 0.002, .backlash = 0.01 };
        r->tick = 32;
        rig_begin(r);
        for (int lane = 0; lane < RC_LANES; lane++) {
            r->p.reaction[lane] = 0.015;
            r->p.per_own_inertia[lane] = 1.0 / (r->p.own_inertia[lane] - r->p.coupling[lane] * 0.015);
        }
        rc_platform_relength(&r->p, spans[which] * r->clock.dt);
    }
    const int lane = rig[0].lane;
    for (int step = 0; step < 60; step++) {
        const double wanted = 3.0 * sin(0.4 * step), pace = rig[0].p.stepper.pace[lane], ramp = fabs(wanted - pace) / 16.0;
        for (int which = 0; which < 3; which++) {
            rig_command(&rig[which], wanted);
            rig_run_ramp(&rig[which], 0.6 * sin(0.3 * step), 0.6 * sin(0.3 * (step + 1)), 32);
        }
        const double after = rig[0].p.stepper.pace[lane], on_ramp = fmin(ramp, 0.0625);
        commanded += 0.5 * (pace + after) * on_ramp + after * (0.0625 - on_ramp);
        least = fmin(least, rig[0].p.gap[lane]);
        most = fmax(most, rig[0].p.gap[lane]);
        for (int which = 0; which < 3; which++) {
            assert_near(rig[which].p.turned[lane] + rig[which].p.gap[lane] - 0.005, commanded, 1e-7);
            assert_near(rig[which].p.gap[lane], rig[0].p.gap[lane], 1e-7);
            assert_near(rig_rate(&rig[which]), rig_rate(&rig[0]), 1e-7);
        }
    }
    assert_true(least == 0.0 && most == 0.01); /* on both flanks */
    assert_true(rig[0].p.tally.slips[lane] == 0.0);
}

/* What the camera is shown and the controller hears of a platform that stops inside a span: its rate at that moment. */
static void watch_rate(void *user, int tick)
{
    double *const shown = ((double **)user)[0];
    shown[tick] = rig_rate((const struct rig *)((void **)user)[1]);
}

static void test_stepper__frames_and_samples_see_the_pieces_of_a_span(void **state)
{
    (void)state;
    static const int spans[] = { 1, 32 };
    double shown[2][33], reading[2], usable[2], turned[2];
    for (int which = 0; which < 2; which++) {
        struct rig rig;
        make_stepper(&rig);
        rig.clock.span = spans[which];
        rig.clock.control_every = 32;
        rig.clock.gyro_every = 20; /* the next command hears the sample of tick 20 of its span */
        rig.clock.n_cameras = 1;
        rig.clock.frame_rate[0] = 512;
        rig.camera[0].rate_limit = 1.0;
        rig.camera[0].smear_limit = 1e9;
        rig.controller.gain = 0.0;
        rig.parts.coulomb = 0.01;
        rig.tick = 0;
        rig_begin(&rig);
        rc_platform_relength(&rig.p, spans[which] * rig.clock.dt);
        rig_spin(&rig, 1.5);
        for (int lane = 0; lane < RC_LANES; lane++) {
            rig.p.stepper.pace[lane] = 60.0; /* far too fast to catch */
            rig.p.mode[lane] = RC_DRIVE_SLIPPING;
        }
        void *user[2] = { shown[which], &rig };
        const struct rc_platform_stretch stretch = { .n_ticks = 32, .n_of_step = 32, .watch = watch_rate, .user = user };
        rc_platform_drive_find("stepper")->run(&rig.p, &rig.clock, &stretch);
        reading[which] = rig.p.reading[rig.lane];
        usable[which] = rig.p.tally.usable[0][rig.lane];
        turned[which] = rig.p.turned[rig.lane];
    }
    for (int tick = 1; tick <= 32; tick++) {
        assert_near(shown[0][tick], fmax(1.5 - 25.0 * tick / 512.0, 0.0), 1e-12);
        assert_near(shown[1][tick], shown[0][tick], 1e-9);
    }
    assert_near(turned[1], 1.5 * 1.5 / 50.0, 1e-9);
    assert_near(turned[0], turned[1], 1e-9);
    assert_near(reading[0], 1.5 - 25.0 * 20.0 / 512.0, 1e-12);
    assert_near(reading[1], reading[0], 1e-9);
    assert_true(usable[0] == 22.0 && usable[1] == 22.0); /* below 1 rad/s from tick 10.24 on */
}

/* In step at an even rate the ripple adds to the peak, its mean square to the mean square, and nothing to the drift, with torque to
 * spare or close to pull-out; slipping there is none. */
static void test_stepper__ripple_counts_in_peak_and_rms(void **state)
{
    (void)state;
    static const double friction[] = { 0.0, 0.017, 0.02 }; /* of 0.018 N m */
    const double natural = sqrt(0.018 * 50.0 / 4e-4), step = 2.0 * RC_PI / 200.0, full = step * natural;
    const struct steady exact = sum_of_kicks(0.01, natural * step / 0.02);
    for (int which = 0; which < 3; which++) {
        struct rig rig;
        make_stepper(&rig);
        rig.clock.control_every = 512;
        rig.tick = 0;
        rig.controller.gain = 0.0;
        rig.footage.target = 1e9;
        rig.drive.stepper.damping = 0.01;
        rig.drive.slew = 1e-9; /* keeps its rate */
        rig.parts.coulomb = friction[which];
        rig_begin(&rig);
        for (int lane = 0; lane < RC_LANES; lane++) {
            rig.p.stepper.pace[lane] = 0.02;
            rig.p.mode[lane] = RC_DRIVE_RUNNING;
        }
        const int lane = rig.lane, slips = which == 2;
        rig_spin(&rig, slips ? 0.0 : 0.02);
        rig_run(&rig, 0.3, 512);
        const double residual = slips ? 0.3 : 0.32, is_led = slips ? 0.0 : 1.0;
        assert_near(rig.p.tally.residual_peak[lane], residual + is_led * full * exact.half, 1e-4);
        assert_near(rig.p.tally.square[lane], residual * residual + is_led * full * full * exact.square, 1e-6);
        assert_near(rig.p.tally.drift[lane], residual, 1e-9);
        assert_near(rig.p.tally.slipping[lane], slips, 1e-12);
    }
}

/* Turning round, friction turns with it: what the ramp asks of the inertia is with the friction after standstill, against it before. It
 * loses its steps as it passes standstill, in the middle of a span. */
static void test_stepper__friction_turns_round_at_standstill(void **state)
{
    (void)state;
    for (int over = 0; over <= 1; over++) {
        struct rig rig;
        make_stepper(&rig);
        rig.clock.span = 32;
        rig.drive.stepper.resonance_low = rig.drive.stepper.resonance_high = 1000.0; /* far away */
        rig.drive.stepper.resonance_share = 1.0;
        rig.parts.coulomb = over ? 0.0117 : 0.0115; /* and 4e-4 x 16 N m of the ramp; 0.018 N m there are */
        rig.tick = 32;
        rig_begin(&rig);
        rc_platform_relength(&rig.p, 32.0 * rig.clock.dt);
        rig_command(&rig, -0.6);
        rig_spin(&rig, 0.4);
        for (int lane = 0; lane < RC_LANES; lane++) {
            rig.p.stepper.pace[lane] = 0.4;
            rig.p.mode[lane] = RC_DRIVE_RUNNING;
        }
        rig_run(&rig, 0.0, 32);
        /* 0.4 rad/s at 16 rad/s2 take 0.025 s of 0.0625; then it stands up to the ramp's end. */
        assert_true((rig.p.tally.slips[rig.lane] > 0.0) == over);
        assert_near(rig.p.tally.slipping[rig.lane], over ? 0.0375 : 0.0, 1e-9);
    }
}

static int pendulum(double t, const double y[], double dy[], void *user)
{
    const double *const k = user; /* torque / inertia, electrical */
    (void)t;
    dy[0] = y[1];
    dy[1] = -k[0] * sin(k[1] * y[0]);
    return GSL_SUCCESS;
}

/* The rule for picking up is the pendulum's separatrix: GSL integrates the motor's torque over its angle. */
static void test_stepper__picks_up_below_the_pendulums_separatrix(void **state)
{
    (void)state;
    const double k[2] = { 0.018 / 4e-4, 50.0 }, separatrix = 2.0 * sqrt(k[0] / k[1]);
    for (int over = 0; over <= 1; over++) {
        gsl_odeiv2_system system = { pendulum, NULL, 2, (void *)k };
        gsl_odeiv2_driver *driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-4, 1e-12, 1e-12);
        double t = 0.0, y[2] = { 0.0, separatrix * (over ? 1.001 : 0.999) };
        assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, 2.0, y), GSL_SUCCESS);
        assert_true((fabs(y[0]) * k[1] > RC_PI) == over);
        gsl_odeiv2_driver_free(driver);
        struct rig rig;
        make_stepper(&rig);
        rig_begin(&rig);
        rig_command(&rig, 1.0);
        for (int lane = 0; lane < RC_LANES; lane++) {
            rig.p.stepper.pace[lane] = 1.0;
            rig.p.mode[lane] = RC_DRIVE_SLIPPING;
        }
        rig_spin(&rig, 1.0 + separatrix * (over ? 1.001 : 0.999));
        rig_run(&rig, 0.0, 1);
        assert_true((rig.p.mode[rig.lane] == RC_DRIVE_SLIPPING) == over);
    }
}

/* Without power only the detent torque holds, like friction, the motor's times the gear ratio: a brake that friction in the gear does not
 * weaken. The vehicle's acceleration tears it loose beyond. Closed form. */
static void test_stepper__unpowered_the_detent_torque_holds(void **state)
{
    (void)state;
    for (int over = 0; over <= 1; over++) {
        struct rig rig;
        make_stepper(&rig);
        rig.parts.gear_ratio = 4.0;
        rig.parts.gear_efficiency = 0.5;
        rig.drive.stepper.detent_torque = 0.0005; /* 0.002 N m at the platform */
        rig.clock.has_battery = 1;
        rig.clock.control_every = 1;
        rig.controller.gain = 0.0;
        rig.drive.battery = (struct rc_battery_design){ .full = 12.0, .low = 9.0, .capacity = 1.0, .charge = 0.0, .rated = 12.0 };
        rig_begin(&rig);
        const double acceleration = 0.002 / 4e-4 * (over ? 1.1 : 0.9);
        rig_run_ramp(&rig, 0.0, acceleration, 512);
        assert_near(rig_rate(&rig), over ? -(0.1 * 0.002 / 4e-4) : 0.0, 1e-12);
        assert_near(rig.p.tally.unpowered[rig.lane], 1.0, 1e-12);
        assert_near(rig.p.tally.asleep[rig.lane], 1.0, 1e-12);
        assert_true(rig.p.tally.slipping[rig.lane] == 0.0);
        assert_true(rig.p.tally.lost[rig.lane] == 0.0);
    }
}

/* A lane in step gets the same bits whether its block-mates slip or not. */
static void test_stepper__is_independent_of_slipping_block_mates(void **state)
{
    (void)state;
    struct rig alone, mixed;
    make_stepper(&alone);
    make_stepper(&mixed);
    rig_begin(&alone);
    rig_begin(&mixed);
    for (int lane = 0; lane < RC_LANES; lane++)
        if (lane != mixed.lane)
            mixed.p.friction[lane] = 1.0;
    for (int tick = 0; tick < 400; tick++) {
        const double command = 3.0 * sin(0.02 * tick);
        rig_command(&alone, command);
        rig_command(&mixed, command);
        rig_run(&alone, 0.1 * tick, 1);
        rig_run(&mixed, 0.1 * tick, 1);
        assert_true(rig_rate(&alone) == rig_rate(&mixed));
    }
    assert_true(RC_LANES == 1 || mixed.p.tally.slips[mixed.lane == 0 ? 1 : 0] > 0.0);
    assert_true(mixed.p.tally.slips[mixed.lane] == 0.0 && mixed.p.tally.lost[mixed.lane] == 0.0);
    assert_true(alone.p.tally.held[alone.lane] == mixed.p.tally.held[mixed.lane]);
    assert_true(alone.p.turned[alone.lane] == mixed.p.turned[mixed.lane]);
}

/* Eight ticks at once: what strained mates do leaves no trace, and the lane that loses and catches its steps does it as tick by tick,
 * to rounding. */
static void test_stepper__spans_leave_single_lanes_to_themselves(void **state)
{
    (void)state;
    struct rig rig[3]; /* in spans, in spans with strained mates, tick by tick with the mates */
    for (int i = 0; i < 3; i++) {
        make_stepper(&rig[i]);
        rig[i].clock.span = i < 2 ? 8 : 1;
        rig[i].parts.viscous = 1e-4;
        rig[i].tick = 8;
        rig_begin(&rig[i]);
        rc_platform_relength(&rig[i].p, (i < 2 ? 8.0 : 1.0) * rig[i].clock.dt);
        for (int lane = 0; lane < RC_LANES; lane++)
            if (i > 0 && lane != rig[i].lane)
                rig[i].p.friction[lane] = 0.012 + 0.0005 * lane;
        for (int span = 0; span < 150; span++) {
            rig_command(&rig[i], 6.0 * sin(0.11 * span));
            rig_run_ramp(&rig[i], 0.6 * sin(0.3 * span), 0.6 * sin(0.3 * (span + 1)), 8);
        }
    }
    const int lane = rig[0].lane;
    assert_true(rig[0].p.tally.slips[lane] == 0.0);
    assert_true(rig[0].p.turned[lane] == rig[1].p.turned[lane] && rig[0].p.tally.held[lane] == rig[1].p.tally.held[lane]);
    assert_true(rig[0].p.tally.square[lane] == rig[1].p.tally.square[lane]);
    int n_slipped = 0;
    for (int other = 0; other < RC_LANES; other++) {
        const struct rc_tally *const spans = &rig[1].p.tally, *const ticks = &rig[2].p.tally;
        n_slipped += ticks->slips[other] > 0.0;
        assert_true(spans->slips[other] == ticks->slips[other] && spans->lost[other] == ticks->lost[other]);
        assert_near(spans->slipping[other], ticks->slipping[other], 1e-9);
        assert_near(rig[1].p.turned[other], rig[2].p.turned[other], 1e-9);
    }
    assert_true(RC_LANES == 1 || n_slipped > 0);
}

/* Sixty spans of eight ticks towards 3 rad/s, in the rig's own spans. */
static void run_ramp(struct rig *rig)
{
    rig->tick = 8;
    rig_begin(rig);
    rc_platform_relength(&rig->p, rig->clock.span * rig->clock.dt);
    for (int span = 0; span < 60; span++) {
        rig_command(rig, 3.0);
        rig_run(rig, 0.0, 8);
    }
}

/* A motor in spans, and the same tick by tick: both lose the same steps, or none. */
static void expect_same_losses(const struct rig rig[2], int is_weak)
{
    const int lane = rig[0].lane;
    assert_true((rig[1].p.tally.slips[lane] > 0.0) == is_weak);
    assert_true(rig[0].p.tally.slips[lane] == rig[1].p.tally.slips[lane]);
    assert_true(rig[0].p.tally.lost[lane] == rig[1].p.tally.lost[lane]);
    assert_near(rig[0].p.turned[lane], rig[1].p.turned[lane], 1e-9);
}

/* The same in a resonance band: a ramp through it loses its steps there in spans as it does tick by tick, and where the band leaves
 * enough torque it does not. */
static void test_stepper__spans_see_the_resonance_band(void **state)
{
    (void)state;
    for (int is_weak = 0; is_weak < 2; is_weak++) {
        struct rig rig[2];
        for (int i = 0; i < 2; i++) {
            make_stepper(&rig[i]);
            rig[i].clock.span = i == 0 ? 8 : 1;
            rig[i].parts.coulomb = 0.012;
            rig[i].drive.slew = 4.0;
            rig[i].drive.stepper.resonance_low = 50.0;
            rig[i].drive.stepper.resonance_high = 80.0;
            rig[i].drive.stepper.resonance_share = is_weak ? 0.6 : 0.9; /* of 0.018 N m; the ramp asks for 0.012 and 4 rad/s2 */
            run_ramp(&rig[i]);
        }
        expect_same_losses(rig, is_weak);
    }
}

/* And with a table whose torque dips between two points inside one span's ramp: a span sees the point between, not its ends alone, and
 * a dip beside the ramp leaves it in peace. */
static void test_stepper__spans_see_the_least_torque_of_a_table(void **state)
{
    (void)state;
    for (int is_weak = 0; is_weak < 2; is_weak++) {
        struct rig rig[2];
        for (int i = 0; i < 2; i++) {
            make_stepper(&rig[i]);
            rig[i].clock.span = i == 0 ? 8 : 1;
            rig[i].clock.pull_out = (struct rc_pull_out_points){
                .n = 4, .rate = { 0, 60, 62, 64 }, .torque = { 0.018, 0.018, is_weak ? 0.012 : 0.017, 0.018 },
            };
            rig[i].parts.coulomb = 0.0105;
            rig[i].drive.slew = 8.0; /* 3.98 steps/s in a span; asks for 0.0137 N m */
            run_ramp(&rig[i]);
        }
        expect_same_losses(rig, is_weak);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stepper__pull_out_torque_is_the_published),
        cmocka_unit_test(test_stepper__gear_multiplies_torque_and_step_rate),
        cmocka_unit_test(test_stepper__resonance_band_and_table_limit_the_torque),
        cmocka_unit_test(test_stepper__ramp_needs_the_torque_of_the_inertia),
        cmocka_unit_test(test_stepper__a_step_rings_the_ring_as_published),
        cmocka_unit_test(test_stepper__single_steps_swing_it_as_the_sum_of_their_kicks),
        cmocka_unit_test(test_stepper__critical_damping_leaves_a_step_its_creep),
        cmocka_unit_test(test_stepper__ripple_follows_the_generator_from_span_to_span),
        cmocka_unit_test(test_stepper__is_held_with_its_whole_ripple_only),
        cmocka_unit_test(test_stepper__lost_steps_swing_nothing),
        cmocka_unit_test(test_stepper__keeps_to_its_top_rate_and_counts_reversals),
        cmocka_unit_test(test_stepper__starts_against_the_starting_friction),
        cmocka_unit_test(test_stepper__standing_it_holds_with_friction),
        cmocka_unit_test(test_stepper__a_factor_scales_its_pull_out),
        cmocka_unit_test(test_stepper__gear_takes_its_share_of_the_torque),
        cmocka_unit_test(test_stepper__roll_that_turns_inside_a_span_is_met),
        cmocka_unit_test(test_stepper__lost_steps_are_signed_and_come_in_fours),
        cmocka_unit_test(test_stepper__loses_stops_and_is_torn_loose_at_their_moments),
        cmocka_unit_test(test_stepper__slipping_it_bends_under_viscous_friction),
        cmocka_unit_test(test_stepper__goes_from_flank_to_flank_at_its_moments),
        cmocka_unit_test(test_stepper__frames_and_samples_see_the_pieces_of_a_span),
        cmocka_unit_test(test_stepper__ripple_counts_in_peak_and_rms),
        cmocka_unit_test(test_stepper__friction_turns_round_at_standstill),
        cmocka_unit_test(test_stepper__picks_up_below_the_pendulums_separatrix),
        cmocka_unit_test(test_stepper__unpowered_the_detent_torque_holds),
        cmocka_unit_test(test_stepper__is_independent_of_slipping_block_mates),
        cmocka_unit_test(test_stepper__spans_leave_single_lanes_to_themselves),
        cmocka_unit_test(test_stepper__spans_see_the_resonance_band),
        cmocka_unit_test(test_stepper__spans_see_the_least_torque_of_a_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
