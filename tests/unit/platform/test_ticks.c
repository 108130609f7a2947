/* Results do not depend on the length of a tick: a whole made-up ascent for each drive at one tick and at half of it, with friction under
 * load, a gear with rotor and friction of its own, and a gyro's scale, bias, lag and drift; play, cogging, encoder, latency, battery and
 * failed starts are off, which whole campaigns have on (tests/physics/test_halved_ticks.c). Rates of gyro, controller and frames stay; the
 * times at which they act are the same. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "rig.h"

/* The vehicle: up to 9 rad/s in two seconds, down again over 28. */
static double roll_at(double t)
{
    return 9.0 * (1.0 - exp(-t / 0.6)) * exp(-t / 12.0);
}

struct outcome {
    double held, rms, peak, drift, frames, usable, lost, asleep;
};

static void make_all(struct rig *rig, const char *kind, int finer)
{
    rig_reset(rig);
    rig->kind = kind;
    rig->clock.tick_rate = 500 * finer;
    rig->clock.dt = 1.0 / rig->clock.tick_rate;
    rig->clock.gyro_every = 2 * finer;
    rig->clock.control_every = 5 * finer;
    rig->clock.has_gyro_extras = rig->clock.has_control_extras = 1;
    rig->clock.n_cameras = 1;
    rig->clock.frame_rate[0] = 50;
    rig->parts = (struct rc_platform_design){ .inertia = 4.2e-4, .mass = 0.3, .coulomb = 0.004, .viscous = 2e-5,
        .load_mu = 0.0015, .bearing_diameter = 0.05, .starting_ratio = 1.6, .gear_ratio = 6.0, .rotor_inertia = 2e-7,
        .gear_friction = 0.004, .gear_efficiency = 0.9 };
    rig->drive = (struct rc_drive_design){ .floor = 0.7, .jump = 0.7, .deadband = 0.2, .top = 26.0, .slew = 70.0,
        .reversal_delay = 0.25, .wake_command = 1.0, .wake_delay = 1.2,
        .stepper = { .steps = 200.0, .microsteps = 16.0, .holding_torque = 0.018, .current = 0.6, .resistance = 6.5,
            .inductance = 0.0017, .supply = 12.0, .torque_factor = 0.9, .damping = 0.1 },
        .servo = { .stiffness = 0.004, .torque = 0.012, .lag = 0.004, .cogging = 0.0, .cogs = 12.0 } };
    rig->gyro = (struct rc_gyro_design){ .range = 35.0, .bias = 0.01, .scale = 0.01, .bandwidth = 60.0, .bias_drift = 1e-5 };
    rig->controller = (struct rc_controller_design){ .gain = 8.0, .windup = 26.0 };
    if (kind[1] == 'e' && kind[0] == 's') {
        rig->clock.control_mode = RC_CONTROL_RATE;
        rig->controller = (struct rc_controller_design){ .gain = 1.0, .integral = 12.0, .windup = 26.0 };
        rig->drive.deadband = 0.0;
    }
}

/* The ascent with a rig as it is made. */
static struct outcome ascend(struct rig rig, int finer)
{
    rig.tick = 0;
    rig_begin(&rig);
    for (int step = 0; step < 600; step++) { /* 50 ms each */
        const double t = 0.05 * step;
        const double a = roll_at(t), b = roll_at(t + 0.05 / 3.0), c = roll_at(t + 0.1 / 3.0), d = roll_at(t + 0.05);
        /* the cubic through four points of the step */
        const double cubic[4] = { a, -5.5 * a + 9.0 * b - 4.5 * c + d, 9.0 * a - 22.5 * b + 18.0 * c - 4.5 * d,
                                  -4.5 * a + 13.5 * b - 13.5 * c + 4.5 * d };
        rig_run_cubic(&rig, cubic, 25 * finer);
    }
    const struct rc_tally *const tally = &rig.p.tally;
    const int lane = rig.lane;
    return (struct outcome){ tally->held[lane], sqrt(tally->square[lane] / 30.0), tally->residual_peak[lane], tally->drift[lane],
                             tally->frames[0][lane], tally->usable[0][lane], tally->lost[lane], tally->asleep[lane] };
}

static struct outcome fly(const char *kind, int finer)
{
    struct rig rig;
    make_all(&rig, kind, finer);
    return ascend(rig, finer);
}

/* Bounds: 0.1 % of each measure. Frames are usable or not as a whole. */
static void test_ticks__halving_them_moves_no_measure(void **state)
{
    (void)state;
    for (int kind = 0; kind < rc_platform_drive_count(); kind++) {
        const char *name = rc_platform_drive_at(kind)->name;
        const struct outcome one = fly(name, 1), half = fly(name, 2);
        print_message("%s: held %.5f %.5f s, rms %.6f %.6f, peak %.6f %.6f rad/s, drift %.6f %.6f rad, usable %.0f %.0f\n", name,
                      one.held, half.held, one.rms, half.rms, one.peak, half.peak, one.drift, half.drift, one.usable, half.usable);
        assert_true(half.held > 15.0 && half.frames == 1500.0);
        assert_ratio(one.held, half.held, 1e-3);
        assert_ratio(one.rms, half.rms, 1e-3);
        assert_ratio(one.peak, half.peak, 1e-3);
        assert_near(one.drift, half.drift, 1e-3 * fabs(half.drift));
        assert_true(one.frames == half.frames && one.lost == half.lost);
        assert_near(one.usable, half.usable, 2.0);
    }
}

/* A platform that may be run from command to command at once, with noise. in span  ticks at once */
static void make_plain(struct rig *rig, int finer, int span)
{
    make_all(rig, "geared_sensorless", finer);
    rig->clock.has_gyro_extras = rig->clock.has_control_extras = 0;
    rig->clock.span = span;
    rig->gyro.noise = 0.002;
}

/* A command in 10 ms, a sample in 4: spans of five ticks against ticks an eighth as long. Spans start the drive inside, to the moment, so
 * that they come close. Bounds: 0.1 % of each measure, as above. */
static void test_ticks__whole_spans_move_no_measure(void **state)
{
    (void)state;
    struct rig coarse, fine;
    make_plain(&coarse, 1, 5);
    make_plain(&fine, 8, 1);
    const struct outcome span = ascend(coarse, 1), single = ascend(fine, 8);
    print_message("spans: held %.5f %.5f s, rms %.6f %.6f, peak %.6f %.6f rad/s, drift %.6f %.6f rad, usable %.0f %.0f\n", span.held,
                  single.held, span.rms, single.rms, span.peak, single.peak, span.drift, single.drift, span.usable, single.usable);
    assert_true(single.held > 15.0 && single.frames == 1500.0);
    assert_ratio(span.held, single.held, 1e-3);
    assert_ratio(span.rms, single.rms, 1e-3);
    assert_ratio(span.peak, single.peak, 1e-3);
    assert_near(span.drift, single.drift, 1e-3 * fabs(single.drift));
    assert_true(span.frames == single.frames);
    assert_near(span.usable, single.usable, 2.0);
}

/* What the controller hears: the same samples with the same noise, though the others are passed over, plain or with lag, drift and a
 * latency; and a gyro beyond its range is so for all of the time. The drive stands, the roll rises evenly. */
static void test_ticks__commands_hear_the_same_samples(void **state)
{
    (void)state;
    static const int every[4][2] = {{2, 5}, {5, 5}, {3, 4}, {10, 5}};
    for (int which = 0; which < 8; which++) {
        const int *const rates = every[which / 2], has_extras = which % 2;
        struct rig rig[2];
        for (int is_span = 0; is_span < 2; is_span++) {
            make_plain(&rig[is_span], 1, is_span ? rates[1] : 1);
            rig[is_span].clock.gyro_every = rates[0];
            rig[is_span].clock.control_every = rates[1];
            rig[is_span].clock.has_gyro_extras = has_extras;
            rig[is_span].clock.latency = has_extras ? 0.0073 : 0.0;
            rig[is_span].drive.deadband = 1e9;
            rig[is_span].gyro.range = 5.0;
            rig[is_span].controller.windup = 1e9;
            rig[is_span].tick = 0;
            rig_begin(&rig[is_span]);
        }
        double change = 0.0;
        for (int command = 0; command < 120; command++) {
            const double before = rig[0].p.reading[rig[0].lane];
            for (int i = 0; i < 2; i++)
                rig_run_ramp(&rig[i], 0.06 * command, 0.06 * (command + 1), rates[1]);
            assert_near(rig[1].p.gathered[rig[1].lane], rig[0].p.gathered[rig[0].lane], 1e-12);
            change = fmax(change, fabs(rig[0].p.reading[rig[0].lane] - before));
        }
        assert_true(change > 0.065 && rig[0].p.gathered[rig[0].lane] > 1.0); /* noise there was */
        assert_near(rig[1].p.tally.saturated[rig[1].lane], rig[0].p.tally.saturated[rig[0].lane], 0.02);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ticks__halving_them_moves_no_measure),
        cmocka_unit_test(test_ticks__whole_spans_move_no_measure),
        cmocka_unit_test(test_ticks__commands_hear_the_same_samples),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
