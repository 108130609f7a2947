/* One drive of each kind against SUNDIALS CVODE with its root finding (source SUNDIALS CVODE 6.4, Adams, tolerances 1e-11): the
 * equations of motion and every event (sticking, tearing loose, waking, the end of a ramp, flanks met and left, losing and
 * catching steps) are written here anew from docs/theory.md and located by CVODE; the drives advance by ticks of 1/4096 s, or by
 * spans of them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "rig.h"

enum { TICK_RATE = 4096, N_STATES = 3, N_ROOTS = 3, RATE = 0, ANGLE, TORQUE, GAP = TORQUE };

/* Which equations hold. */
enum motion { STUCK, SLIDING, RAMPING, LED, ON_FLANK };

/* A platform: M w' = push - sense T - c w, push = torque - cogging - C p'. */
struct referee {
    double inertia, coupling, friction, starting, viscous;
    double size;                     /* of the vehicle's roll                                         */
    double wanted, lag;              /* torque commanded, its lag                                     */
    double cogging, cogs;
    double slew, goal;               /* of a ramp                                                     */
    double pace, pace_slope, since;  /* of a stepper's generator                                      */
    double separatrix, torque;       /* of its motor: rate [rad/s], pull-out torque [N m]             */
    int watches_pace;                /* a root where the motor would catch the platform               */
    double play, flank;              /* of a gear; on which flank of it, -1 or 1                      */
    enum motion motion;
    double sense;
    void *cvode;
    N_Vector y;
    SUNNonlinearSolver solver;
    SUNContext context;
    double t;
};

/* The vehicle: its roll rate, and the slope of that. in size 1 is a strong roll */
static double roll(double size, double t)
{
    return size * (8.0 * sin(1.7 * t) + 1.5 * sin(6.0 * t));
}

static double roll_slope(double size, double t)
{
    return size * (8.0 * 1.7 * cos(1.7 * t) + 1.5 * 6.0 * cos(6.0 * t));
}

static double push(const struct referee *r, double t, const double *y)
{
    return y[TORQUE] - r->cogging * sin(r->cogs * y[ANGLE]) - r->coupling * roll_slope(r->size, t);
}

/* How far a slipping stepper is from being caught; 0 where it is: the platform's rate against the generator must be within the
 * separatrix [shares of it], and what it would have to give in step, its ramp's part included, within pull-out [shares of that].
 * */
static double escape(const struct referee *r, double t, double rate)
{
    const double pace = r->pace + r->pace_slope * (t - r->since);
    const double load = r->coupling * roll_slope(r->size, t) + r->friction + r->viscous * pace + r->inertia * r->pace_slope;
    return fmax(fabs(rate - pace) / r->separatrix, fabs(load) / r->torque) - 1.0;
}

static int slopes(realtype t, N_Vector state, N_Vector slope, void *user)
{
    const struct referee *const r = user;
    const double *const y = N_VGetArrayPointer(state);
    double *const dy = N_VGetArrayPointer(slope);
    const double slide = (push(r, t, y) - r->sense * r->friction - r->viscous * y[RATE]) / r->inertia;
    dy[RATE] = r->motion == SLIDING ? slide : r->motion == RAMPING ? r->slew : 0.0;
    dy[ANGLE] = y[RATE];
    dy[TORQUE] = r->lag > 0.0 ? (r->wanted - y[TORQUE]) / r->lag : 0.0;
    return 0;
}

static int roots(realtype t, N_Vector state, realtype *root, void *user)
{
    const struct referee *const r = user;
    const double *const y = N_VGetArrayPointer(state);
    root[0] = r->motion == SLIDING ? y[RATE] : r->motion == RAMPING ? y[RATE] - r->goal : 1.0;
    root[1] = r->motion == STUCK ? fabs(push(r, t, y)) - r->starting * r->friction : 1.0;
    root[2] = r->watches_pace ? escape(r, t, y[RATE]) : 1.0;
    return 0;
}

static void start_with(struct referee *r, double rate, CVRhsFn slope, CVRootFn root)
{
    assert_int_equal(SUNContext_Create(NULL, &r->context), 0);
    r->y = N_VNew_Serial(N_STATES, r->context);
    double *const y = N_VGetArrayPointer(r->y);
    y[RATE] = rate;
    y[ANGLE] = y[TORQUE] = 0.0;
    r->cvode = CVodeCreate(CV_ADAMS, r->context);
    r->solver = SUNNonlinSol_FixedPoint(r->y, 0, r->context);
    assert_int_equal(CVodeInit(r->cvode, slope, 0.0, r->y), CV_SUCCESS);
    assert_int_equal(CVodeSStolerances(r->cvode, 1e-11, 1e-11), CV_SUCCESS);
    assert_int_equal(CVodeSetUserData(r->cvode, r), CV_SUCCESS);
    assert_int_equal(CVodeSetNonlinearSolver(r->cvode, r->solver), CV_SUCCESS);
    assert_int_equal(CVodeRootInit(r->cvode, N_ROOTS, root), CV_SUCCESS);
    assert_int_equal(CVodeSetMaxNumSteps(r->cvode, 100000), CV_SUCCESS);
    assert_int_equal(CVodeSetNoInactiveRootWarn(r->cvode), CV_SUCCESS);
}

static void start(struct referee *r, double rate)
{
    start_with(r, rate, slopes, roots);
}

static void finish(struct referee *r)
{
    CVodeFree(&r->cvode);
    SUNNonlinSolFree(r->solver);
    N_VDestroy(r->y);
    SUNContext_Free(&r->context);
}

/* Let it slide from here the way the push takes it, or rest. */
static void settle(struct referee *r)
{
    double *const y = N_VGetArrayPointer(r->y);
    const double pushed = push(r, r->t, y);
    if (y[RATE] != 0.0) {
        r->motion = SLIDING;
        r->sense = y[RATE] > 0.0 ? 1.0 : -1.0;
    } else if (fabs(pushed) >= r->starting * r->friction * (1.0 - 1e-9)) {
        r->motion = SLIDING;
        r->sense = pushed > 0.0 ? 1.0 : -1.0;
    } else {
        r->motion = STUCK;
    }
}

/* Integrate to `until` through every event. ends 1 where the pace was met on the way: then r->t is that moment */
static int advance(struct referee *r, double until)
{
    double *const y = N_VGetArrayPointer(r->y);
    while (until - r->t > 1e-12) {
        assert_int_equal(CVodeReInit(r->cvode, r->t, r->y), CV_SUCCESS);
        assert_int_equal(CVodeSetStopTime(r->cvode, until), CV_SUCCESS);
        const int status = CVode(r->cvode, until, r->y, &r->t, CV_NORMAL);
        assert_true(status >= 0);
        if (status != CV_ROOT_RETURN)
            continue;
        int found[N_ROOTS] = { 0 };
        assert_int_equal(CVodeGetRootInfo(r->cvode, found), CV_SUCCESS);
        if (found[2] != 0)
            return 1;
        if (r->motion == RAMPING) {
            y[RATE] = r->goal;
            r->motion = LED;
        } else if (r->motion == SLIDING) {
            y[RATE] = 0.0;
            settle(r);
        } else {
            settle(r);
        }
    }
    return 0;
}

/* Ticks of the drive, so many at once; in each lot, the roll is the cubic that has its rates and slopes at both ends. */
static void take_lots(struct rig *rig, double size, int n, int at_once)
{
    const double dt = 1.0 / TICK_RATE, lot = at_once * dt;
    rig->clock.dt = dt;
    for (int i = 0; i < n; i += at_once) {
        const double t = (double)(rig->tick - 1) * dt, from = roll(size, t), to = roll(size, t + lot);
        const double leaves = lot * roll_slope(size, t), arrives = lot * roll_slope(size, t + lot), rise = to - from;
        const double cubic[4] = { from, leaves, 3.0 * rise - 2.0 * leaves - arrives, leaves + arrives - 2.0 * rise };
        rig_run_cubic(rig, cubic, at_once);
    }
}

/* One tick of whatever length, with the cubic over it that has the roll's rates and slopes at both ends. */
static void take_tick(struct rig *rig, double size)
{
    const double dt = rig->clock.dt, t = (double)(rig->tick - 1) * dt, from = roll(size, t), to = roll(size, t + dt);
    const double leaves = dt * roll_slope(size, t), arrives = dt * roll_slope(size, t + dt), rise = to - from;
    const double cubic[4] = { from, leaves, 3.0 * rise - 2.0 * leaves - arrives, leaves + arrives - 2.0 * rise };
    rig_run_cubic(rig, cubic, 1);
}

static void take_ticks(struct rig *rig, double size, int n)
{
    for (int i = 0; i < n; i++)
        take_tick(rig, size);
}

static void make(struct rig *rig, const char *kind)
{
    rig_reset(rig);
    rig_silence(rig);
    rig->kind = kind;
    rig->clock.dt = 1.0 / TICK_RATE;
    rig->clock.tick_rate = TICK_RATE;
    rig->parts.coulomb = 0.0045;
    rig->parts.viscous = 3e-4;
    rig->parts.starting_ratio = 1.5;
    rig->parts.gear_ratio = 10.0;
    rig->parts.rotor_inertia = 2e-6;
}

static struct referee same_parts(const struct rig *rig, double size)
{
    const struct rc_platform_design *const p = &rig->parts;
    return (struct referee){ .inertia = p->inertia + p->gear_ratio * p->gear_ratio * p->rotor_inertia,
        .coupling = p->inertia + p->gear_ratio * p->rotor_inertia, .friction = p->coulomb, .starting = p->starting_ratio,
        .viscous = p->viscous, .size = size, .motion = STUCK };
}

/* Compare every 1/256 s for some seconds. ends the greatest distance of the rates [rad/s] */
static double follow(struct rig *rig, struct referee *r, double seconds, int *n_stuck)
{
    double worst = 0.0;
    for (int i = 0; i < (int)(seconds * 256.0); i++) {
        for (int tick = 0; tick < rig->clock.tick_rate / 256; tick++)
            take_tick(rig, r->size);
        (void)advance(r, (double)(rig->tick - 1) / rig->clock.tick_rate);
        const double rate = N_VGetArrayPointer(r->y)[RATE];
        worst = fmax(worst, fabs(rig_rate(rig) - rate));
        *n_stuck += rate == 0.0 && rig_rate(rig) == 0.0;
    }
    return worst;
}

/* Asleep it slides and sticks in its bearing; called at 3 s it wakes half a second later and ramps to what is commanded. */
static void test_cvode__sensorless_drive_asleep_waking_and_led(void **state)
{
    (void)state;
    struct rig rig;
    make(&rig, "geared_sensorless");
    rig.drive.sleep_after = 1.0;
    rig.drive.wake_command = 3.0;
    rig.drive.wake_delay = 0.5;
    rig.drive.slew = 25.0;
    rig.drive.floor = rig.drive.jump = 0.7;
    rig.idle = 2.0;
    rig_begin(&rig);
    struct referee r = same_parts(&rig, 0.45);
    start(&r, 0.0);
    settle(&r);
    int n_stuck = 0;
    double worst = follow(&rig, &r, 3.0, &n_stuck);
    assert_true(n_stuck > 20);
    rig_command(&rig, -6.0);
    worst = fmax(worst, follow(&rig, &r, 0.5, &n_stuck));
    assert_true(rig.p.mode[rig.lane] == RC_DRIVE_WAKING);
    /* It takes hold with its jump, whatever rate the platform had, and goes on to -6 along its slew. */
    assert_true(fabs(N_VGetArrayPointer(r.y)[RATE]) > 0.1);
    N_VGetArrayPointer(r.y)[RATE] = -0.7;
    r.motion = RAMPING;
    r.goal = -6.0;
    r.slew = -25.0;
    int n_led = 0;
    const double worst_led = follow(&rig, &r, 1.0, &n_led);
    print_message("sensorless: asleep off by %.1e, led by %.1e rad/s, angle by %.1e rad\n", worst, worst_led,
                  fabs(rig.p.turned[rig.lane] - N_VGetArrayPointer(r.y)[ANGLE]));
    assert_true(rig_rate(&rig) == -6.0 && N_VGetArrayPointer(r.y)[RATE] == -6.0);
    assert_near(worst, 0.0, 5e-8);
    assert_near(worst_led, 0.0, 1e-9);
    assert_near(rig.p.turned[rig.lane], N_VGetArrayPointer(r.y)[ANGLE], 5e-9);
    finish(&r);
}

/* Commands that jump every quarter of a second, through lag, cogging and sticking friction.
 * ends how far the rates are off at most [rad/s]; out angle_off [rad] */
static double follow_servo(int tick_rate, double *angle_off)
{
    static const double commands[] = { 0.9, -0.4, 0.25, -1.4, 0.0, 0.7, 0.6, -0.9, 0.3, 0.0, -0.5, 1.2 };
    struct rig rig;
    make(&rig, "servo");
    rig.clock.dt = 1.0 / tick_rate;
    rig.clock.tick_rate = tick_rate;
    rig.clock.has_cogging = 1;
    rig.drive.deadband = 0.28;
    rig.drive.servo = (struct rc_servo_design){ .stiffness = 0.002, .torque = 0.0022, .lag = 0.02, .cogging = 1e-4, .cogs = 7.0 };
    rig.parts.gear_efficiency = 0.8;
    rig.tick = 1;
    rig_begin(&rig);
    struct referee r = same_parts(&rig, 0.1);
    r.lag = 0.02;
    r.cogging = 1e-4 * 10.0;
    r.cogs = 70.0;
    start(&r, 0.0);
    double worst = 0.0;
    int n_stuck = 0;
    for (int i = 0; i < 12; i++) {
        const double command = fabs(commands[i]) > 0.28 ? commands[i] : 0.0;
        r.wanted = 0.8 * 10.0 * fmax(-0.0022, fmin(0.0022, 0.002 * command));
        rig_command(&rig, commands[i]);
        settle(&r);
        worst = fmax(worst, follow(&rig, &r, 0.25, &n_stuck));
    }
    *angle_off = fabs(rig.p.turned[rig.lane] - N_VGetArrayPointer(r.y)[ANGLE]);
    print_message("servo, 1/%d s: off by %.1e rad/s, angle by %.1e rad, stuck at %d looks\n", tick_rate, worst, *angle_off,
                  n_stuck);
    assert_true(n_stuck > 20);
    finish(&r);
    return worst;
}

/* Bounds: short ticks agree to the referee's own tolerance; in long ones, of which each goes over a third of a cog, fourth order
 * in the tick shows: 16 times and more from 1/512 to 1/256 s. */
static void test_cvode__servo_through_lag_cogging_and_sticking(void **state)
{
    (void)state;
    double angle_off = 0.0;
    assert_near(follow_servo(4096, &angle_off), 0.0, 1e-7);
    assert_near(angle_off, 0.0, 5e-8);
    assert_near(follow_servo(512, &angle_off), 0.0, 1.5e-6);
    assert_near(follow_servo(256, &angle_off), 0.0, 2.5e-5);
    assert_near(angle_off, 0.0, 1e-5);
}

/* A stepper loses its steps at the generator's 6 rad/s, slides for 1.25 s, and slows along `slew` until it is caught.
 * ends the moment by CVODE [s] */
static double lose_and_catch(struct rig *rig, struct referee *r, double slew)
{
    make(rig, "stepper");
    rig->parts.gear_ratio = 1.0;
    rig->parts.rotor_inertia = 0.0;
    rig->parts.starting_ratio = 1.0;
    rig->drive.slew = slew;
    rig->drive.stepper = (struct rc_stepper_design){ .steps = 200.0, .microsteps = 16.0, .holding_torque = 0.018, .current = 0.6,
        .resistance = 6.5, .inductance = 0.0017, .supply = 12.0, .torque_factor = 1.0, .damping = 0.1 };
    rig_begin(rig);
    const double pace = 6.0;
    rig_command(rig, pace);
    rig_spin(rig, pace);
    for (int lane = 0; lane < RC_LANES; lane++) {
        rig->p.stepper.pace[lane] = pace;
        rig->p.mode[lane] = RC_DRIVE_RUNNING;
    }
    *r = same_parts(rig, 1.0);
    r->torque = 0.018;
    r->separatrix = 2.0 * sqrt(r->torque / (r->inertia * 50.0));
    /* The load C p' + T + c w passes pull-out at once, as p' begins at 22.6 rad/s2: the steps are lost as the first tick begins.
     * */
    assert_true(r->coupling * roll_slope(r->size, 0.0) + r->friction + r->viscous * pace > r->torque);
    start(r, pace);
    settle(r);
    int n_stuck = 0;
    const double worst = follow(rig, r, 1.25, &n_stuck);
    print_message("stepper: sliding off by %.1e rad/s\n", worst);
    assert_near(worst, 0.0, 1e-7);
    assert_true(rig->p.mode[rig->lane] == RC_DRIVE_SLIPPING);
    rig_command(rig, 0.5);
    r->since = (double)(rig->tick - 1) / TICK_RATE;
    r->pace = pace;
    r->pace_slope = -slew;
    r->watches_pace = 1;
    while (r->t < r->since + (pace - 0.5) / slew) {
        if (advance(r, r->t + 1.0 / 64.0) == 1)
            return r->t;
    }
    fail_msg("not caught on a ramp of %g rad/s2", slew);
    return 0.0;
}

/* In step as long as the load is within pull-out; then it slides in its bearing until the generator, told to slow, comes within
 * the pendulum's separatrix while what it would have to give in step, the ramp's part included, is within pull-out again. On a
 * gentle ramp the separatrix is the last to be met, on a steeper one the load. */
static void test_cvode__stepper_loses_and_catches_its_steps(void **state)
{
    (void)state;
    static const double slews[] = { 2.0, 4.0 };
    for (int i = 0; i < 2; i++) {
        struct rig rig;
        struct referee r;
        const double caught = lose_and_catch(&rig, &r, slews[i]), slowing = caught - r.since;
        const double pace = r.pace - slews[i] * slowing, *const y = N_VGetArrayPointer(r.y);
        const double apart = fabs(y[RATE] - pace) / r.separatrix;
        assert_true(i == 0 ? apart > 0.99 : apart < 0.9);
        for (int ticks = 0; rig.p.mode[rig.lane] == RC_DRIVE_SLIPPING && ticks < 2 * TICK_RATE; ticks++)
            take_ticks(&rig, r.size, 1);
        /* It has slipped from 0 to there. */
        const double slipping = rig.p.tally.slipping[rig.lane], lost = rig.p.tally.lost[rig.lane];
        const double slip = (r.pace * caught - 0.5 * slews[i] * slowing * slowing - y[ANGLE]) * 200.0 / (2.0 * RC_PI);
        print_message("stepper: caught %.1e s from CVODE's %.6f s; %.0f steps lost, slip %.3f\n", slipping - caught, caught, lost,
                      slip);
        assert_near(slipping, caught, 1e-8);
        assert_true(fabs(slip) > 8.0 && lost == 4.0 * round(slip / 4.0));
        finish(&r);
    }
}

/* Behind a gear with play. What its output does from a moment on: a rate, and the slope of that. */
struct course {
    double since, pace, slope;
};

static double pace_at(const struct referee *r, double t)
{
    return r->pace + r->pace_slope * (t - r->since);
}

/* How fast the platform alone would speed up there [rad/s2]; at rest it may stick. */
static double alone(const struct referee *r, double t, double rate, double sense)
{
    const double pushed = -r->inertia * roll_slope(r->size, t);
    if (sense == 0.0)
        return fabs(pushed) > r->starting * r->friction ? (pushed - copysign(r->friction, pushed)) / r->inertia : 0.0;
    return (pushed - sense * r->friction - r->viscous * rate) / r->inertia;
}

static double sense_of(double rate)
{
    return rate != 0.0 ? copysign(1.0, rate) : 0.0;
}

/* What a platform on a flank lacks of leaving it; below zero it does. Resting there, it must be torn loose. */
static double clings(const struct referee *r, double t)
{
    const double pace = pace_at(r, t);
    if (pace == 0.0 && r->pace_slope == 0.0)
        return r->flank * r->inertia * roll_slope(r->size, t) + r->starting * r->friction;
    return r->flank * (r->pace_slope - alone(r, t, pace, sense_of(pace)));
}

static int slopes_in_play(realtype t, N_Vector state, N_Vector slope, void *user)
{
    const struct referee *const r = user;
    const double *const y = N_VGetArrayPointer(state);
    double *const dy = N_VGetArrayPointer(slope);
    dy[RATE] = r->motion == SLIDING ? alone(r, t, y[RATE], r->sense) : r->motion == ON_FLANK ? r->pace_slope : 0.0;
    dy[ANGLE] = y[RATE];
    dy[GAP] = r->motion == ON_FLANK ? 0.0 : pace_at(r, t) - y[RATE];
    return 0;
}

static int roots_in_play(realtype t, N_Vector state, realtype *root, void *user)
{
    const struct referee *const r = user;
    const double *const y = N_VGetArrayPointer(state);
    const double torn = r->inertia * fabs(roll_slope(r->size, t)) - r->starting * r->friction;
    root[0] = r->motion == SLIDING ? y[RATE] : r->motion == STUCK ? torn : clings(r, t);
    root[1] = r->motion == ON_FLANK ? 1.0 : y[GAP];
    root[2] = r->motion == ON_FLANK ? 1.0 : r->play - y[GAP];
    return 0;
}

/* Between the flanks it slides on, is torn loose, or rests. */
static void part(struct referee *r, int is_torn)
{
    const double rate = N_VGetArrayPointer(r->y)[RATE], pushed = -roll_slope(r->size, r->t);
    const int is_loose = is_torn || fabs(pushed) * r->inertia > r->starting * r->friction;
    r->motion = rate != 0.0 || is_loose ? SLIDING : STUCK;
    r->sense = rate != 0.0 ? sense_of(rate) : sense_of(pushed);
}

/* On a flank that comes towards it the platform takes the output's rate; one that goes away leaves it behind. */
static void touch(struct referee *r)
{
    double *const y = N_VGetArrayPointer(r->y);
    if (r->flank * (pace_at(r, r->t) - y[RATE]) < -1e-12) { /* by more than rounding */
        part(r, 0);
        return;
    }
    y[RATE] = pace_at(r, r->t);
    r->motion = ON_FLANK;
    if (clings(r, r->t) < 0.0)
        part(r, 0);
}

/* Integrate to `until`, up to which the output's course does not bend. in/out n  flanks met and left */
static void advance_in_play(struct referee *r, double until, int *n)
{
    double *const y = N_VGetArrayPointer(r->y);
    while (until - r->t > 1e-12) {
        assert_int_equal(CVodeReInit(r->cvode, r->t, r->y), CV_SUCCESS);
        assert_int_equal(CVodeSetStopTime(r->cvode, until), CV_SUCCESS);
        const int status = CVode(r->cvode, until, r->y, &r->t, CV_NORMAL);
        assert_true(status >= 0);
        if (status != CV_ROOT_RETURN)
            continue;
        int found[N_ROOTS] = { 0 };
        assert_int_equal(CVodeGetRootInfo(r->cvode, found), CV_SUCCESS);
        const double flank = found[2] != 0 ? 1.0 : -1.0;
        if (r->motion == ON_FLANK) {
            part(r, 1);
            ++*n;
        } else if (found[0] != 0) {
            y[RATE] = 0.0;
            part(r, r->motion == STUCK);
        } else if (flank * (pace_at(r, r->t) - y[RATE]) > 0.0) { /* not one that it has just left */
            y[GAP] = flank > 0.0 ? r->play : 0.0;
            r->flank = flank;
            touch(r);
            ++*n;
        }
    }
    if (r->motion == ON_FLANK)
        y[RATE] = pace_at(r, r->t);
}

/* What the drive's output does when told to go 3, 1.5, nothing, -6 and nothing again at 0.25, 0.75, 1.25, 1.5 and 2.25 s: floor
 * and jump 0.7 rad/s, slew 25 rad/s2. Worked out by hand; each stop is a jump from the floor. */
static const struct course courses[] = {
    { 0.0, 0.0, 0.0 }, { 0.25, 0.7, 25.0 }, { 0.342, 3.0, 0.0 }, { 0.75, 3.0, -25.0 }, { 0.81, 1.5, 0.0 }, { 1.25, 1.5, -25.0 },
    { 1.282, 0.0, 0.0 }, { 1.5, -0.7, -25.0 }, { 1.712, -6.0, 0.0 }, { 2.25, -6.0, 25.0 }, { 2.462, 0.0, 0.0 }, { 3.0, 0.0, 0.0 },
};

/* CVODE to a moment, along the courses. in/out at  which of them holds */
static void referee_to(struct referee *r, double until, int *at, int *n)
{
    enum { N_COURSES = sizeof courses / sizeof courses[0] };
    while (*at + 1 < N_COURSES && courses[*at + 1].since < until - 1e-12) {
        const struct course next = courses[++*at];
        advance_in_play(r, next.since, n);
        r->t = r->since = next.since;
        r->pace = next.pace;
        r->pace_slope = next.slope;
        if (r->motion == ON_FLANK)
            touch(r);
    }
    advance_in_play(r, until, n);
}

/* Three seconds in which the vehicle's roll shakes the platform in its play.
 * in span  ticks at once; bound  for rates [rad/s] and the angle turned, a tenth of it for the place in the play [rad] */
static void follow_in_play(int span, double bound)
{
    static const double commands[] = { 3.0, 1.5, 0.0, -6.0, 0.0 }, moments[] = { 0.25, 0.75, 1.25, 1.5, 2.25 };
    struct rig rig;
    make(&rig, "geared_sensorless");
    rig.clock.has_play = 1;
    rig.clock.span = span;
    rig.parts.backlash = 0.006;
    rig.parts.coulomb = 0.0015;
    rig.parts.gear_friction = 0.003;
    rig.drive.slew = 25.0;
    rig.drive.floor = rig.drive.jump = 0.7;
    rig_begin(&rig);
    struct referee r = same_parts(&rig, 2.5);
    r.inertia = r.coupling = rig.parts.inertia; /* alone, without the rotor and the gear's friction */

    r.play = 0.006;
    start_with(&r, 0.0, slopes_in_play, roots_in_play);
    N_VGetArrayPointer(r.y)[GAP] = 0.003;
    part(&r, 0);
    double worst = 0.0, worst_gap = 0.0;
    int at = 0, n_flanks = 0, said = 0;
    while (rig.tick <= 3 * TICK_RATE) {
        const double now = (double)(rig.tick - 1) / TICK_RATE;
        if (said < 5 && now >= moments[said])
            rig_command(&rig, commands[said++]);
        take_lots(&rig, r.size, 32, span);
        referee_to(&r, (double)(rig.tick - 1) / TICK_RATE, &at, &n_flanks);
        const double *const y = N_VGetArrayPointer(r.y);
        worst = fmax(worst, fabs(rig_rate(&rig) - y[RATE]));
        worst_gap = fmax(worst_gap, fabs(rig.p.gap[rig.lane] - y[GAP]));
    }
    print_message("sensorless in its play, spans of %d: off by %.1e rad/s, gap by %.1e rad, %d flanks met or left\n", span, worst,
                  worst_gap, n_flanks);
    assert_true(said == 5 && n_flanks > 10);
    assert_near(worst, 0.0, bound);
    assert_near(worst_gap, 0.0, 0.1 * bound);
    assert_near(rig.p.turned[rig.lane], N_VGetArrayPointer(r.y)[ANGLE], bound);
    finish(&r);
}

/* The platform meets and leaves its flanks, rests between and on them and is torn loose, while the output starts and stops by
 * jumps and ramps: by single ticks, and by spans in which all of that falls where it may. Bounds: CVODE's tolerances at 14
 * events; in spans, the cubic that stands for the sines of the roll over 8 ms. */
static void test_cvode__sensorless_drive_through_its_play(void **state)
{
    (void)state;
    follow_in_play(1, 1e-9);
    follow_in_play(32, 2e-7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cvode__sensorless_drive_asleep_waking_and_led),
        cmocka_unit_test(test_cvode__sensorless_drive_through_its_play),
        cmocka_unit_test(test_cvode__servo_through_lag_cogging_and_sticking),
        cmocka_unit_test(test_cvode__stepper_loses_and_catches_its_steps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
