/* GSL with event location as referee of drives whose platform is at times left to its bearing: the sensorless drive asleep, torn loose
 * and stuck again by a vehicle that rolls to and fro; the stepper that loses its steps and picks up again. (The servo's referee is in
 * test_servo.c.) */
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

enum { TICK_RATE = 4096 };

/* What slides: M w' = -C p'(t) - sense T - c w. */
struct slider {
    double inertia, coupling, friction, starting, viscous, sense;
    double (*roll_slope)(double t);
};

static int slope(double t, const double y[], double dy[], void *user)
{
    const struct slider *const s = user;
    dy[0] = (-s->coupling * s->roll_slope(t) - s->sense * s->friction - s->viscous * y[0]) / s->inertia;
    dy[1] = y[0];
    return GSL_SUCCESS;
}

/* Integrate from t to `until`. ends the state in y */
static void integrate(struct slider *s, double t, double until, double *y)
{
    gsl_odeiv2_system system = { slope, NULL, 2, s };
    gsl_odeiv2_driver *driver = gsl_odeiv2_driver_alloc_y_new(&system, gsl_odeiv2_step_rk8pd, 1e-4, 1e-13, 1e-13);
    if (until > t)
        assert_int_equal(gsl_odeiv2_driver_apply(driver, &t, until, y), GSL_SUCCESS);
    gsl_odeiv2_driver_free(driver);
}

/* Advance rate and angle to `until` through sticking and tearing loose; events are located by halving. */
static void referee(struct slider *s, double t, double until, double *y)
{
    while (t < until - 1e-13) {
        if (y[0] == 0.0) {
            /* stuck until the push passes the starting friction */
            double low = t, high = until;
            if (s->coupling * fabs(s->roll_slope(t)) <= s->starting * s->friction) {
                if (s->coupling * fabs(s->roll_slope(until)) <= s->starting * s->friction)
                    return;
                for (int i = 0; i < 60; i++) {
                    const double middle = 0.5 * (low + high);
                    *(s->coupling * fabs(s->roll_slope(middle)) > s->starting * s->friction ? &high : &low) = middle;
                }
                t = high;
            }
            s->sense = s->roll_slope(t) > 0.0 ? -1.0 : 1.0;
        } else {
            s->sense = y[0] > 0.0 ? 1.0 : -1.0;
        }
        double end[2] = { y[0], y[1] }, low = t, high = until;
        integrate(s, t, until, end);
        if (end[0] * s->sense < 0.0) {
            for (int i = 0; i < 50; i++) {
                const double middle = 0.5 * (low + high);
                double at[2] = { y[0], y[1] };
                integrate(s, t, middle, at);
                *(at[0] * s->sense < 0.0 ? &high : &low) = middle;
            }
            end[0] = y[0];
            end[1] = y[1];
            integrate(s, t, high, end);
            end[0] = 0.0;
        }
        y[0] = end[0];
        y[1] = end[1];
        t = high;
    }
}

static double to_and_fro(double t)
{
    return 9.0 * cos(3.0 * t) + 4.0 * cos(7.0 * t);
}

static double its_roll(double t)
{
    return 3.0 * sin(3.0 * t) + 4.0 / 7.0 * sin(7.0 * t);
}

/* Bounds: acceleration is taken as constant over a tick, and an event inside one is placed linearly: second order in the tick, first
 * order at events. */
static void test_referee__sleeping_platform_slides_and_sticks_as_the_integrator_says(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_lull(&rig);
    rig.clock.dt = 1.0 / TICK_RATE;
    rig.clock.tick_rate = TICK_RATE;
    rig.parts = (struct rc_platform_design){ .inertia = 1e-3, .mass = 0.3, .coulomb = 0.0045, .viscous = 3e-4,
        .starting_ratio = 1.5, .gear_ratio = 10.0, .rotor_inertia = 2e-6, .gear_efficiency = 1.0 };
    rig_begin(&rig);
    struct slider s = { 1e-3 + 100.0 * 2e-6, 1e-3 + 10.0 * 2e-6, 0.0045, 1.5, 3e-4, 1.0, to_and_fro };
    double y[2] = { 0.0, 0.0 }, worst = 0.0, fastest = 0.0;
    int n_stuck = 0;
    for (int i = 0; i < 4 * TICK_RATE / 16; i++) {
        const double t = i * 16.0 / TICK_RATE, after = t + 16.0 / TICK_RATE;
        for (int tick = 0; tick < 16; tick++)
            rig_run_ramp(&rig, its_roll(t + tick / (double)TICK_RATE), its_roll(t + (tick + 1) / (double)TICK_RATE), 1);
        referee(&s, t, after, y);
        worst = fmax(worst, fabs(rig_rate(&rig) - y[0]));
        fastest = fmax(fastest, fabs(y[0]));
        n_stuck += y[0] == 0.0 && rig_rate(&rig) == 0.0;
    }
    assert_true(fastest > 1.0 && n_stuck > 20);
    assert_near(worst, 0.0, 5e-3);
    assert_near(rig.p.turned[rig.lane], y[1], 2e-3);
}

/* The vehicle spins up ever faster until the load passes pull-out, then stops doing so. */
static double spin_up(double t)
{
    return t < 1.0 ? 40.0 * t : 0.0;
}

static double spun_up(double t)
{
    return t < 1.0 ? 20.0 * t * t : 20.0;
}

static void make_stepper(struct rig *rig)
{
    rig_reset(rig);
    rig_silence(rig);
    rig->kind = "stepper";
    rig->clock.dt = 1.0 / TICK_RATE;
    rig->clock.tick_rate = TICK_RATE;
    rig->drive.slew = 16.0;
    rig->drive.stepper = (struct rc_stepper_design){ .steps = 200.0, .microsteps = 16.0, .holding_torque = 0.018, .current = 0.6,
        .resistance = 6.5, .inductance = 0.0017, .supply = 12.0, .torque_factor = 1.0, .damping = 0.1 };
    rig->parts.inertia = 4e-4;
    rig->parts.coulomb = 0.004;
    rig->parts.viscous = 2e-4;
}

static void test_referee__stepper_slips_and_picks_up_as_the_integrator_says(void **state)
{
    (void)state;
    struct rig rig;
    make_stepper(&rig);
    rig_begin(&rig);
    const double pace = 6.0, separatrix = 2.0 * sqrt(0.018 / (4e-4 * 50.0));
    rig_command(&rig, pace);
    rig_spin(&rig, pace);
    for (int lane = 0; lane < RC_LANES; lane++) {
        rig.p.stepper.pace[lane] = pace;
        rig.p.mode[lane] = RC_DRIVE_RUNNING;
    }
    /* Closed form of the event: c w + T + J p' = pull-out. */
    const double slips_at = (0.018 - 2e-4 * pace - 0.004) / (4e-4 * 40.0);
    struct slider s = { 4e-4, 4e-4, 0.004, 1.0, 2e-4, 1.0, spin_up };
    double y[2] = { pace, 0.0 };
    int lost_at = -1, caught_at = -1;
    for (int tick = 0; tick < 2 * TICK_RATE && caught_at < 0; tick++) {
        const double t = tick / (double)TICK_RATE, after = (tick + 1) / (double)TICK_RATE;
        if (tick == TICK_RATE * 5 / 4)
            rig_command(&rig, 0.5); /* the generator slows at 16 rad/s2 */
        rig_run_ramp(&rig, spun_up(t), spun_up(after), 1);
        const int slips = rig.p.mode[rig.lane] == RC_DRIVE_SLIPPING;
        lost_at = lost_at < 0 && slips ? tick : lost_at;
        caught_at = lost_at >= 0 && !slips ? tick : caught_at;
    }
    assert_near(lost_at / (double)TICK_RATE, slips_at, 2.0 / TICK_RATE);
    /* The referee: free from that moment, caught where the generator comes within the separatrix. */
    double t = slips_at, caught = 0.0, at[2];
    for (int i = 0; i < 200; i++) {
        const double next = slips_at + (1.25 - slips_at) * (i + 1) / 200.0;
        referee(&s, t, next, y);
        t = next;
    }
    double low = 1.25, high = 1.25 + 5.5 / 16.0;
    for (int i = 0; i < 40; i++) {
        const double middle = 0.5 * (low + high);
        at[0] = y[0];
        at[1] = y[1];
        referee(&s, 1.25, middle, at);
        *(fabs(pace - 16.0 * (middle - 1.25) - at[0]) <= separatrix ? &high : &low) = middle;
    }
    caught = high;
    assert_near(caught_at / (double)TICK_RATE, caught, 2.0 / TICK_RATE);
    const double slowing = caught - 1.25;
    const double commanded = pace * (caught - slips_at) - 8.0 * slowing * slowing;
    const double slip = (commanded - at[1]) * 200.0 / (2.0 * RC_PI);
    assert_true(slip > 40.0);
    assert_true(rig.p.tally.lost[rig.lane] == 4.0 * round(slip / 4.0));
    assert_near(rig_rate(&rig), pace - 16.0 * slowing, 2.0 * 16.0 / TICK_RATE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_referee__sleeping_platform_slides_and_sticks_as_the_integrator_says),
        cmocka_unit_test(test_referee__stepper_slips_and_picks_up_as_the_integrator_says),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
