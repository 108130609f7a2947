/* What the vehicle's roll gives way to the platform and how its own damping wears that away; the roll's peak inside a span; what falls due
 * at the border of two spans. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "platform/spans.h"
#include "rig.h"

/* Spans of five ticks, 10 ms, as a campaign has them; one command at the start of the run and then those a test writes. */
static void make_spans(struct rig *rig, int finer)
{
    rig_reset(rig);
    rig->clock.tick_rate = 500 * finer;
    rig->clock.dt = 1.0 / rig->clock.tick_rate;
    rig->clock.span = 5;
    rig_silence(rig);
    rig->tick = 5;
    rig->drive.slew = 70.0;
    rig->drive.top = 100.0;
    rig->drive.floor = rig->drive.jump = 0.7;
    rig->drive.deadband = 0.2;
}

/* The vehicle answers with this share of the platform's rate, which fades at this rate [1/s]. */
static void meet(struct rig *rig, double share, double fading)
{
    rc_lane ix, is_free;
    for (int lane = 0; lane < RC_LANES; lane++) {
        ix[lane] = rig->parts.inertia / share;
        is_free[lane] = 1.0;
        rig->p.fading[lane] = fading;
    }
    rc_platform_meet(&rig->p, rig->clock.dt * rig->clock.span, ix, is_free);
}

/* closed form: y' = -r w' - F y while the drive's rate w jumps to w0 and goes up at a: y = -r (w0 e^-Ft + a (1 - e^-Ft)/F). The error of a
 * span is of second order, some (F dt)^2/12; with the wear taken at the span's end it was of first order, F dt/2, that is 3 %. */
static void test_reaction__wears_away_as_the_damping_says(void **state)
{
    (void)state;
    const double share = 0.02, fading = 6.0, time = 0.2;
    for (int finer = 1; finer <= 4; finer *= 2) {
        struct rig rig;
        make_spans(&rig, finer);
        rig_begin(&rig);
        meet(&rig, share, fading);
        rig_command(&rig, 50.0);
        rig_run(&rig, 10.0, 100 * finer);
        const double way = rig.p.residual[rig.lane] - rig_rate(&rig) - 10.0;
        const double exact = -share * (0.7 * exp(-fading * time) - 70.0 * expm1(-fading * time) / fading);
        const double off = fabs(way / exact - 1.0), step = 0.01 / finer * fading;
        print_message("spans of %.1f ms: gave way %.9f rad/s, exact %.9f, off by %.1e\n", 10.0 / finer, way, exact, off);
        assert_near(rig_rate(&rig), 0.7 + 70.0 * time, 1e-12);
        assert_true(off < 0.2 * step * step);
    }
}

/* closed form: at an even rate w what the vehicle has given way fades as (b - w) e^-Ft, and the roll inside a span is that of its moment, to
 * the third order of what fades in the span: 0.08^3/16 of it at most, where without the second order it were 0.08^2/8. */
static void test_reaction__fades_inside_a_span_as_in_it_all(void **state)
{
    (void)state;
    struct rig rig;
    make_spans(&rig, 1);
    rig_begin(&rig);
    const double share = 0.05, fading = 8.0, gap = 20.0;
    meet(&rig, share, fading);
    const int lane = rig.lane;
    const struct rc_tick tick = { .dt = 0.01, .per_dt = 100.0, .theta_end = 1.0, .n = 5 };
    rig.p.roll[0][lane] = 3.0;
    rig.p.rate[lane] = rig.p.ran_start[lane] = rig.p.ran_ramped[lane] = 5.0;
    rig.p.ran_wait[lane] = 0.0;
    rig.p.ran_share[lane] = 1.0;
    rig.p.ran_before[lane] = 5.0 + gap;
    double worst = 0.0;
    for (int i = 0; i <= 10; i++) {
        const double left = gap * exp(-fading * 0.01 * 0.1 * i);
        const double off = rc_spans_roll(&rig.p, lane, &tick, 0.1 * i, 5.0) - (3.0 + share * left);
        worst = fmax(worst, fabs(off) / (share * gap));
    }
    assert_true(worst < 0.08 * 0.08 * 0.08 / 14.0);
}

/* closed form: a roll rate that turns inside a span, 10 + 4 b x (1 - x) over the span x = 0 .. 1, is greatest at its middle; the same the other
 * way round; and with the platform ramping on it, which adds a straight line -r a t. */
static void test_reaction__the_rolls_peak_inside_a_span_is_seen(void **state)
{
    (void)state;
    for (int sense = -1; sense <= 1; sense += 2) {
        struct rig rig;
        make_spans(&rig, 1);
        rig_begin(&rig);
        meet(&rig, 0.02, 0.0);
        const double bend = 0.3, roll[4] = {sense * 10.0, sense * 4.0 * bend, -sense * 4.0 * bend, 0.0};
        rig_run_cubic(&rig, roll, 5);
        assert_near(rig.p.tally.roll_peak[rig.lane], 10.0 + bend, 1e-12);
        /* Ramping by a t from the jump on: 4 b x (1 - x) - r (w0 + a dt x), whose top is b (1 - s)^2 - r w0 with s = r a dt/(4 b), at
         * x = (1 - s)/2; looked at in the middle it is less by b s^2. */
        rig_begin(&rig);
        meet(&rig, 0.02, 0.0);
        rig_command(&rig, sense * 50.0);
        rig_run_cubic(&rig, roll, 5);
        const double s = 0.02 * 70.0 * 0.01 / (4.0 * bend);
        assert_near(rig.p.tally.roll_peak[rig.lane], 10.0 + bend * (1.0 - s) * (1.0 - s) - 0.02 * 0.7, bend * s * s + 1e-12);
        assert_true(bend * s * s < 1e-3 * bend);
    }
}

/* by hand: a drive at its floor that is told to stop does so at once, and the vehicle's roll jumps by what it takes back; falling fast, it is
 * greatest just then, which is neither end of the span nor of a ramp. */
static void test_reaction__the_jump_at_a_stop_counts_as_the_rolls_peak(void **state)
{
    (void)state;
    struct rig rig;
    make_spans(&rig, 1);
    rig.drive.slew = 1e-3; /* it stays at its floor */
    rig_begin(&rig);
    meet(&rig, 0.02, 0.0);
    rig_command(&rig, 0.7);
    rig_run(&rig, 5.0, 5);
    assert_near(rig.p.tally.roll_peak[rig.lane], 5.0 - 0.02 * 0.7, 1e-12);
    rig_command(&rig, 0.0);
    rig_run_ramp(&rig, 5.0, 4.0, 5);
    assert_true(rig_rate(&rig) == 0.0);
    assert_near(rig.p.tally.roll_peak[rig.lane], 5.0, 1e-12);
}

/* The sum of what the gyro reads through a reversal whose every event falls on the border of two spans, where it takes a sample: down a ramp that ends
 * there, a delay of whole spans from there on. in  slightly  a share that the numbers are off by */
static double heard(double slightly)
{
    struct rig rig;
    make_spans(&rig, 1);
    rig.clock.gyro_every = 5;
    rig.clock.control_every = 5;
    rig.tick = 0;
    rig.drive.slew = 80.0 * (1.0 + slightly); /* 0.8 rad/s in a span */
    rig.drive.floor = rig.drive.jump = 0.7;
    rig.drive.reversal_delay = 0.05 * (1.0 - 3.0 * slightly);
    rig_begin(&rig);
    double sum = 0.0;
    for (int span = 0; span < 30; span++) {
        for (int lane = 0; lane < RC_LANES; lane++)
            rig.p.gathered[lane] = span < 4 ? -50.0 : 50.0; /* up, then the other way */
        rig_run(&rig, 1.0, 5);
        sum += rig.p.reading[rig.lane];
    }
    assert_true(rig_rate(&rig) < -5.0 && rig.p.tally.starts[rig.lane] == 2.0 && rig.p.tally.reversals[rig.lane] == 1.0);
    return sum;
}

static void test_reaction__rounding_does_not_decide_at_the_border_of_spans(void **state)
{
    (void)state;
    const double exact = heard(0.0);
    for (int way = -1; way <= 1; way += 2)
        assert_near(heard(way * 1e-14), exact, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reaction__wears_away_as_the_damping_says),
        cmocka_unit_test(test_reaction__fades_inside_a_span_as_in_it_all),
        cmocka_unit_test(test_reaction__the_rolls_peak_inside_a_span_is_seen),
        cmocka_unit_test(test_reaction__the_jump_at_a_stop_counts_as_the_rolls_peak),
        cmocka_unit_test(test_reaction__rounding_does_not_decide_at_the_border_of_spans),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
