/* Geared sensorless motor behind a speed controller. While awake it sets the platform's rate against the vehicle: nothing
 * between zero and its floor, a jump on starting, a slew limit, a top rate, reversal only through a stop and after a delay.
 * Idle for too long it falls asleep; then friction alone carries the platform until a large command has woken it. */
#include <math.h>
#include <stddef.h>

#include "platform/bearing.h"
#include "platform/pad.h"
#include "platform/senses.h"

/* The rate the electronics run for: zero inside the deadband, below the floor either zero or the floor, and zero where a low
 * battery has left a top rate below the floor. */
RC_INLINE double wanted_rate(const struct rc_platform_lanes *p, int lane, double runs_at_floor)
{
    const double command = p->command[lane];
    const double size = rc_lane_abs(command);
    const double is_outside = size > p->deadband[lane] ? 1.0 : 0.0;
    const double is_fast = size >= p->floor[lane] ? 1.0 : 0.0;
    const double held = rc_lane_min(rc_lane_max(size, p->floor[lane]), p->top[lane]);
    const double can_turn = p->top[lane] >= p->floor[lane] ? 1.0 : 0.0;
    return can_turn * is_outside * rc_lane_either(is_fast, runs_at_floor) * (command < 0.0 ? -held : held);
}

/* Moments closer than this to a tick's end are at it: ramps between floor and floor often end there, and rounding must not decide
 * in which tick. [s] */
static const double tie = 1e-9;

/* What a drive's loop is made for: conditions that hold for all lanes, so that nobody pays for what nobody has. */
struct made_for {
    int sliding;             /* some lane sleeps or wakes                          */
    int waiting;             /* some lane may start inside the tick                */
    int play;                /* the gear has play                                  */
    int failing;             /* starts may fail                                    */
    double locks_out;        /* 1: and then lock it out                            */
    double runs_at_floor;    /* 1: a command between deadband and floor runs at it */
    int limited;             /* the motor's torque has a limit                     */
};

/* A start that was due succeeds or fails, by the flight's own draw; a drive that is locked out does not try.
 * in  dt, left   the tick, and what of it is left after the moment of the try [s]
 * in  is_wanted  1 where a command asks for motion; zero ends a lock-out
 * in/out starts  1 where a start is due, then where it succeeds
 * ends 1 where it failed */
RC_INLINE double failed_start(struct rc_platform_lanes *p, int lane, double dt, double left, double is_wanted, double locks,
                              double *starts)
{
    const double is_locked = is_wanted * p->is_locked[lane];
    const double tries = (1.0 - is_locked) * *starts;
    const uint64_t state = p->start_state[lane];
    const double drawn = (double)(int32_t)(rc_pcg_output(state) >> 1) * (1.0 / 2147483648.0);
    const double works = drawn < p->start_odds[lane] ? 1.0 : 0.0;
    const double fails = tries * (1.0 - works);
    p->start_state[lane] = tries > 0.5 ? state * RC_PCG_MULTIPLIER + p->start_increment[lane] : state;
    p->is_locked[lane] = locks * rc_lane_either(is_locked, fails);
    p->tally.failed_starts[lane] += fails;
    p->tally.locked_out[lane] += p->is_locked[lane] * rc_lane_pick(is_locked, dt, left);
    *starts = tries * works;
    return fails;
}

/* May a drive that stands start with the tick: has something been wanted for the start-up's time and, for the other direction,
 * the delay since the stop passed? */
RC_INLINE double starts_at_once(const struct rc_platform_lanes *p, int lane, double is_opposite)
{
    const double may_start = rc_lane_either(1.0 - is_opposite, p->since_stop[lane] >= p->reversal_delay[lane] - tie ? 1.0 : 0.0);
    return may_start * (p->starting[lane] >= p->start_delay[lane] - tie ? 1.0 : 0.0);
}

/* The time until a drive that stands may start: what is left of the delay since the stop and of the start-up's time [s]. */
RC_INLINE double time_to_start(const struct rc_platform_lanes *p, int lane, double is_opposite)
{
    return rc_lane_max(is_opposite * (p->reversal_delay[lane] - p->since_stop[lane]), p->start_delay[lane] - p->starting[lane]);
}

/* Torque against turning one way: friction, and what the vehicle's own acceleration asks [N m].
 * in  rate [rad/s]; sense -1 or 1; ratio  on the friction, the starting one at standstill */
RC_INLINE double torque_against(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double rate,
                                double sense, double ratio)
{
    const double carried = p->coupling[lane] * rc_stages_roll_change(p, lane, tick) * tick->per_dt;
    return ratio * rc_bearing_friction(p, lane) + p->viscous[lane] * rc_lane_abs(rate) + sense * carried;
}

/* Does the motor turn its load from standstill? A start that was due waits until it does, and that time counts as stalled. */
RC_INLINE double strong_start(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double sense, double starts)
{
    const double load = torque_against(p, lane, tick, 0.0, sense, p->starting_ratio[lane]);
    const double is_strong = p->torque_limit[lane] > load ? 1.0 : 0.0;
    p->tally.stalled[lane] += starts * (1.0 - is_strong) * tick->dt;
    return starts * is_strong;
}

/* How far the rate changes in a tick at most: what the motor's torque leaves for the inertia [rad/s].
 * in   faster  1 where it is to turn faster, -1 where slower; load  against its motion [N m] */
RC_INLINE double strong_slew(const struct rc_platform_lanes *p, int lane, double dt, double faster, double load)
{
    const double spare = p->torque_limit[lane] - faster * load;
    return rc_lane_min(p->slew_step[lane], rc_lane_max(spare * p->per_own_inertia[lane] * dt, 1e-12));
}

/* What becomes of a start in a tick: 1 where the drive starts, after a share of the tick that it waits, or fails to, at some
 * moment. After a failure no other try is due within a span: the retry delay is as long as the longest at least. */
struct trial {
    double starts, fails;
    double wait, moment;    /* [1], [s] */
};
RC_INLINE struct trial try_start(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double is_standing,
                                 double sense, double is_opposite, const struct made_for of)
{
    const double dt = tick->dt, at_once = starts_at_once(p, lane, is_opposite);
    const double left = of.waiting ? rc_lane_pick(at_once, 0.0, time_to_start(p, lane, is_opposite)) : 0.0;
    const double later = of.waiting ? (left < dt - tie ? 1.0 : 0.0) : 0.0;
    const double moment = rc_lane_max(left, 0.0);
    double starts = is_standing * sense * sense * rc_lane_either(at_once, later);
    if (of.limited)
        starts = strong_start(p, lane, tick, sense, starts);
    const double fails = of.failing ? failed_start(p, lane, dt, dt - moment, sense * sense, of.locks_out, &starts) : 0.0;
    const double wait = of.waiting ? rc_lane_pick(starts, moment / dt, 0.0) : 0.0;
    return (struct trial){ starts, fails, wait, moment };
}

/* One tick of the drive for one lane. in of  constant for the loop */
RC_INLINE void drive_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, const struct made_for of)
{
    const double dt = tick->dt, mode = p->mode[lane];
    const double wanted = wanted_rate(p, lane, of.runs_at_floor);
    const double was_running = mode == RC_DRIVE_RUNNING ? 1.0 : 0.0;
    const double was_asleep = mode == RC_DRIVE_ASLEEP ? 1.0 : 0.0;
    const double was_waking = mode == RC_DRIVE_WAKING ? 1.0 : 0.0;
    const double waking = was_waking * (p->waking[lane] + dt);
    const double is_woken = was_waking * (waking >= p->wake_delay[lane] - tie ? 1.0 : 0.0);
    const double hears_call = was_asleep * (rc_lane_abs(p->command[lane]) >= p->wake_command[lane] ? 1.0 : 0.0);

    /* Standing: start with a jump, at once or inside the tick. */
    const double is_standing = rc_lane_either(mode == RC_DRIVE_STANDING ? 1.0 : 0.0, is_woken);
    const double sense = wanted < 0.0 ? -1.0 : (wanted > 0.0 ? 1.0 : 0.0);
    const double is_opposite = sense * p->direction[lane] < 0.0 ? 1.0 : 0.0;
    const struct trial trial = try_start(p, lane, tick, is_standing, sense, is_opposite, of);
    const double starts = trial.starts, wait = trial.wait;
    const double runs = rc_lane_either(was_running, starts);
    const double jump = sense * rc_lane_min(p->jump[lane], p->top[lane]);
    const double rate = of.play ? p->motor_rate[lane] : p->rate[lane];
    const double start = rc_lane_pick(starts, jump, rc_lane_pick(is_standing, 0.0, rate));

    /* Running: along the slew limit to the wanted rate, or down to the floor and then to a stop. The ramp ends inside the tick,
     * when it gets there: a tick more or less at each stop would make the held time of a limit cycle depend on the tick. */
    const double run_sense = rc_lane_pick(starts, sense, start < 0.0 ? -1.0 : 1.0);
    const double is_on_course = wanted * run_sense > 0.0 ? 1.0 : 0.0;
    const double goal = rc_lane_pick(is_on_course, wanted, run_sense * p->floor[lane]);
    const double gap = goal - start;
    const double load = of.limited ? torque_against(p, lane, tick, start, run_sense, 1.0) : 0.0;
    const double slew_step = of.limited ? strong_slew(p, lane, dt, gap * run_sense > 0.0 ? 1.0 : -1.0, load)
                                        : p->slew_step[lane] * tick->n;
    const double slew_left = slew_step * (1.0 - wait);
    const double is_there = rc_lane_abs(gap) <= slew_left + slew_step * (tie * tick->per_dt) ? 1.0 : 0.0;
    const double ramp_end = rc_lane_pick(is_there, goal, start + rc_lane_clamp(gap, slew_left));
    const double ramp_share = rc_lane_pick(runs * is_there, rc_lane_min(rc_lane_abs(gap) / slew_step, 1.0 - wait), 1.0 - wait);
    /* Overloaded, such a motor loses its commutation and stands. */
    const double stalls = of.limited ? (load > p->torque_limit[lane] ? 1.0 : 0.0) : 0.0;
    const double stops = runs * rc_lane_either(is_there * (1.0 - is_on_course), stalls);

    const double slides = rc_lane_either(was_asleep, was_waking - is_woken);
    /* Picked, not multiplied: a product with zero could be -0.0, which would show whether a block-mate slides. */
    const double slid = of.sliding ? rc_lane_pick(slides, rc_bearing_driven(p, lane, tick, 0.0, 0.0), 0.0) : 0.0;
    const double led = runs * (1.0 - stops) * ramp_end;
    const double idle = (1.0 - rc_lane_either(runs, slides)) * (p->idle[lane] + dt);
    const double falls_asleep = is_standing * (1.0 - starts) * (idle >= p->sleep_after[lane] ? 1.0 : 0.0);
    const double stand = rc_lane_pick(falls_asleep, RC_DRIVE_ASLEEP, RC_DRIVE_STANDING);
    const double run = rc_lane_pick(stops, RC_DRIVE_STANDING, RC_DRIVE_RUNNING);
    const double sleep = rc_lane_pick(rc_lane_either(hears_call, was_waking), RC_DRIVE_WAKING, RC_DRIVE_ASLEEP);

    /* The ramp, and what is held after it; count_tick sees the vehicle's roll beside it. */
    struct rc_course course = { .start = start, .ramped = rc_lane_pick(runs, ramp_end, slid), .end = led + slid,
                                .ramp_share = ramp_share, .wait = wait };
    const double rest = (1.0 - wait) - ramp_share;
    double turned = dt * (0.5 * ramp_share * (start + course.ramped) + rest * course.end);
    if (of.play) {
        const double before = p->rate[lane], gap_before = p->gap[lane];
        const double end = rc_lane_pick(slides, slid, rc_bearing_led(p, lane, tick, start, led, &turned));
        p->gap[lane] = rc_lane_pick(slides, gap_before, p->gap[lane]);
        turned = rc_lane_pick(slides, 0.5 * dt * (before + slid), turned);
        p->motor_rate[lane] = led + slid;
        course = (struct rc_course){ .start = before, .ramped = end, .end = end, .ramp_share = 1.0 };
    }
    rc_spans_note(p, lane, &course);
    p->rate[lane] = course.end;
    p->turned[lane] += turned;
    p->mode[lane] = rc_lane_pick(runs, run, rc_lane_pick(slides, sleep, stand));
    p->direction[lane] = rc_lane_pick(starts, sense, p->direction[lane]);
    p->since_stop[lane] = rc_lane_pick(stops, rest * dt, p->since_stop[lane] + dt);
    p->idle[lane] = idle;
    p->waking[lane] = waking;
    const double starting = is_standing * sense * sense * (1.0 - starts) * (p->starting[lane] + dt);
    p->starting[lane] = of.failing ? rc_lane_pick(trial.fails, (dt - trial.moment) - p->retry_delay[lane], starting) : starting;
    p->tally.starts[lane] += starts;
    p->tally.reversals[lane] += starts * is_opposite;
    p->tally.asleep[lane] += slides * dt;
}

/* What the tallies see of the tick just run. */
RC_INLINE void count_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, const struct made_for of)
{
    const struct rc_course course = rc_spans_course(p, lane, tick);
    if (of.waiting)
        rc_stages_wait(p, lane, &course, tick->dt);
    rc_stages_count(p, lane, course, tick->dt);
}

/* One tick of all lanes. In two loops: each is short enough for the processor to work at several vectors of lanes at a time. */
RC_INLINE void drive_lanes(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct made_for of)
{
    RC_FOR_LANES(lane)
    drive_tick(p, lane, tick, of);
    RC_FOR_LANES(lane)
    count_tick(p, lane, tick, of);
}

/* How many lanes sleep, wake or may start inside the next tick? */
RC_INLINE double unusual_lanes(const struct rc_platform_lanes *p, double dt)
{
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double mode = p->mode[lane], left = p->reversal_delay[lane] - p->since_stop[lane];
        const double is_off = mode == RC_DRIVE_RUNNING ? 0.0 : 1.0;
        const double slides = mode == RC_DRIVE_STANDING ? 0.0 : is_off;
        const double is_due = (((left > tie) & (left < dt - tie)) | (p->start_delay[lane] > p->starting[lane] + tie)) ? 1.0 : 0.0;
        const double waits = is_due * is_off;
        n += rc_lane_either(slides, waits);
    }
    return n;
}

RC_KERNEL static void geared_sensorless_run(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                            const struct rc_platform_stretch *stretch)
{
    const double at_floor = clock->below_floor == RC_BELOW_FLOOR_RUN ? 1.0 : 0.0;
    const double locks_out = clock->failed_start == RC_FAILED_START_LOCK_OUT ? 1.0 : 0.0;
    int length = clock->span > 1 ? clock->span : 1;
    struct rc_spans_reel reel = rc_spans_reel_at(clock, stretch->first);
    for (int done = 0; done < stretch->n_ticks;) {
        const struct rc_tick tick = rc_spans_next(clock, stretch, done);
        if (tick.n != length)
            rc_platform_relength(p, tick.dt);
        length = tick.n;
        rc_senses_begin(p, clock, &tick);
        if (clock->has_battery && tick.first % clock->control_every == 0)
            rc_stages_drain(p, clock, 1);
        rc_stages_control(p, clock, tick.first);
        if (clock->has_torque_limit && clock->has_play)
            drive_lanes(p, &tick, (struct made_for){ 1, 0, 1, 1, locks_out, at_floor, 1 });
        else if (clock->has_torque_limit)
            drive_lanes(p, &tick, (struct made_for){ 1, 0, 0, 1, locks_out, at_floor, 1 });
        else if (clock->has_failed_starts && clock->has_play)
            drive_lanes(p, &tick, (struct made_for){ 1, 0, 1, 1, locks_out, at_floor, 0 });
        else if (clock->has_failed_starts)
            drive_lanes(p, &tick, (struct made_for){ 1, 1, 0, 1, locks_out, at_floor, 0 });
        else if (clock->has_play)
            drive_lanes(p, &tick, (struct made_for){ 1, 0, 1, 0, 0.0, at_floor, 0 });
        else if (unusual_lanes(p, tick.dt) > 0.0)
            drive_lanes(p, &tick, (struct made_for){ 1, 1, 0, 0, 0.0, at_floor, 0 });
        else
            drive_lanes(p, &tick, (struct made_for){ 0, 0, 0, 0, 0.0, at_floor, 0 });
        rc_senses_end(p, clock, &tick, NULL);
        rc_spans_frames(p, clock, &tick, NULL, &reel);
        if (stretch->watch != NULL)
            rc_spans_watch(p, clock, stretch, &tick, NULL);
        done += tick.n;
    }
}

static int top_is_fastest(const struct rc_burden *burden)
{
    const struct rc_drive_design *const drive = burden->drive;
    return drive->top >= drive->jump && drive->top >= drive->floor;
}

static int can_be_woken(const struct rc_burden *burden)
{
    return burden->drive->wake_command <= burden->drive->top;
}

static int nudges_are_apart(const struct rc_burden *burden)
{
    const double interval = burden->drive->nudge_interval;
    return !(interval > 0.0) || interval >= RC_PAD_NUDGE_LEAST;
}

static double greatest_torque(const struct rc_burden *burden)
{
    const double limit = burden->drive->torque_limit;
    return limit > 0.0 ? limit * rc_platform_geared(burden->parts) : INFINITY;
}

static const struct rc_drive_rule rules[] = {
    { "drive.top_dps", "at least drive.jump_dps and drive.floor_dps", top_is_fastest, NULL, 0 },
    { "drive.wake_command_dps", "at most drive.top_dps", can_be_woken, NULL, 0 },
    { "drive.nudge_interval_s", "0 for none, or at least 0.05 s between nudges", nudges_are_apart, NULL, 0 },
    { "drive.torque_limit_Nm", "greatest torque", NULL, greatest_torque, 1 },
};

const struct rc_drive_kind rc_geared_sensorless_kind = {
    .name = "geared_sensorless",
    .summary = "geared motor without position sensor behind a speed controller: floor rate, start-up jump, sleep",
    .spans = true,
    .run = geared_sensorless_run,
    .n_rules = sizeof rules / sizeof rules[0],
    .rules = rules,
};
