/* Geared sensorless motor behind a speed controller. While awake it sets the platform's rate against the vehicle: nothing
 * between zero and its floor, a jump on starting, a slew limit, a top rate, reversal only through a stop and after a delay.
 * Idle for too long it falls asleep; then friction alone carries the platform until a large command has woken it. */
#include <stddef.h>

#include "platform/platform.h"
#include "platform/stages.h"

/* The rate the electronics run for: zero inside the deadband, and below the floor either zero or the floor. */
RC_INLINE double wanted_rate(const struct rc_platform_lanes *p, int lane, double runs_at_floor)
{
    const double command = p->command[lane];
    const double size = rc_lane_abs(command);
    const double is_outside = size > p->deadband[lane] ? 1.0 : 0.0;
    const double is_fast = size >= p->floor[lane] ? 1.0 : 0.0;
    const double held = rc_lane_min(rc_lane_max(size, p->floor[lane]), p->top[lane]);
    return is_outside * rc_lane_either(is_fast, runs_at_floor) * (command < 0.0 ? -held : held);
}

/* Relative rate after one tick of sliding or sticking in the bearing. Exact for constant friction and load over the tick:
 * linear under Coulomb, exponential under viscous friction; a rate that reaches zero sticks unless the vehicle's own
 * acceleration tears it loose.
 * in  rate [rad/s], push = torque by which the accelerating vehicle drives the relative motion [N m], friction = running [N m] */
RC_INLINE double slide(const struct rc_platform_lanes *p, int lane, double rate, double push, double friction, double dt)
{
    const double is_torn_loose = rc_lane_abs(push) > friction * p->starting_ratio[lane] ? 1.0 : 0.0;
    const double push_sense = push < 0.0 ? -1.0 : 1.0;
    const double own_sense = rate > 0.0 ? 1.0 : (rate < 0.0 ? -1.0 : 0.0);
    const double sense = rc_lane_pick(own_sense * own_sense, own_sense, push_sense * is_torn_loose);
    const double end = rate * p->decay[lane] + (push - sense * friction) * p->per_own_inertia[lane] * p->decay_time[lane];
    /* Past zero: the time left after the crossing is slid the other way, or it sticks. */
    const double is_past = end * sense < 0.0 ? 1.0 : 0.0;
    const double span = rc_lane_abs(rate) + rc_lane_abs(end);
    const double left = dt * rc_lane_abs(end) / (span > 0.0 ? span : 1.0);
    const double back = is_torn_loose * left * (push - push_sense * friction) * p->per_own_inertia[lane];
    return rc_lane_pick(sense * sense, rc_lane_pick(is_past, back, end), 0.0);
}

/* What is the same for all lanes in one tick. */
struct tick {
    double dt, per_dt;         /* [s], [1/s]                                         */
    double runs_at_floor;      /* 1: a command between deadband and floor runs at it */
    double theta, theta_end;   /* place in the step                                  */
};

/* Relative rate of a lane that is asleep or waking after one tick: friction alone. */
RC_INLINE double slid_rate(const struct rc_platform_lanes *p, int lane, const struct tick *tick, double roll_change)
{
    const double friction = p->friction[lane] + p->friction_per_accel[lane] * rc_lane_abs(p->load[lane]);
    const double push = -p->coupling[lane] * roll_change * tick->per_dt;
    return slide(p, lane, p->rate[lane], push, friction, tick->dt);
}

/* One tick of the drive for one lane, and what the tallies see of it.
 * in  someone_slides  constant: 0 where no lane is asleep or waking, so that the friction is not worked out for nobody
 * ends 1 if the lane sleeps or wakes in the next tick, else 0 */
RC_INLINE double drive_tick(struct rc_platform_lanes *p, int lane, const struct tick *tick, const int someone_slides)
{
    const double dt = tick->dt;
    const double roll_start = rc_stages_roll(p, lane, tick->theta), roll_end = rc_stages_roll(p, lane, tick->theta_end);
    const double mode = p->mode[lane];
    const double wanted = wanted_rate(p, lane, tick->runs_at_floor);
    const double was_running = mode == RC_DRIVE_RUNNING ? 1.0 : 0.0;
    const double was_asleep = mode == RC_DRIVE_ASLEEP ? 1.0 : 0.0;
    const double was_waking = mode == RC_DRIVE_WAKING ? 1.0 : 0.0;
    const double waking = was_waking * (p->waking[lane] + dt);
    const double is_woken = was_waking * (waking >= p->wake_delay[lane] ? 1.0 : 0.0);
    const double hears_call = was_asleep * (rc_lane_abs(p->command[lane]) >= p->wake_command[lane] ? 1.0 : 0.0);

    /* Standing: start with a jump once something is wanted and, for the other direction, the delay since the stop has passed. */
    const double is_standing = rc_lane_either(mode == RC_DRIVE_STANDING ? 1.0 : 0.0, is_woken);
    const double sense = wanted < 0.0 ? -1.0 : (wanted > 0.0 ? 1.0 : 0.0);
    const double is_opposite = sense * p->direction[lane] < 0.0 ? 1.0 : 0.0;
    const double may_start = rc_lane_either(1.0 - is_opposite, p->since_stop[lane] >= p->reversal_delay[lane] ? 1.0 : 0.0);
    const double starts = is_standing * sense * sense * may_start;
    const double runs = rc_lane_either(was_running, starts);
    const double jump = sense * rc_lane_min(p->jump[lane], p->top[lane]);
    const double start = rc_lane_pick(starts, jump, rc_lane_pick(is_standing, 0.0, p->rate[lane]));

    /* Running: along the slew limit to the wanted rate, or down to the floor and then to a stop. The ramp ends inside the tick,
     * when it gets there: a tick more or less at each stop would make the held time of a limit cycle depend on the tick. */
    const double run_sense = rc_lane_pick(starts, sense, start < 0.0 ? -1.0 : 1.0);
    const double is_on_course = wanted * run_sense > 0.0 ? 1.0 : 0.0;
    const double goal = rc_lane_pick(is_on_course, wanted, run_sense * p->floor[lane]);
    const double gap = goal - start;
    const double is_there = rc_lane_abs(gap) <= p->slew_step[lane] ? 1.0 : 0.0;
    const double ramp_end = rc_lane_pick(is_there, goal, start + rc_lane_clamp(gap, p->slew_step[lane]));
    const double ramp_share = rc_lane_pick(runs * is_there, rc_lane_abs(gap) / p->slew_step[lane], 1.0);
    const double stops = runs * is_there * (1.0 - is_on_course);

    const double slides = rc_lane_either(was_asleep, was_waking - is_woken);
    /* Picked, not multiplied: a product with zero could be -0.0, which would show whether a block-mate slides. */
    const double slid = someone_slides ? rc_lane_pick(slides, slid_rate(p, lane, tick, roll_end - roll_start), 0.0) : 0.0;
    const double end = runs * (1.0 - stops) * ramp_end + slid;
    const double idle = (1.0 - rc_lane_either(runs, slides)) * (p->idle[lane] + dt);
    const double falls_asleep = is_standing * (1.0 - starts) * (idle >= p->sleep_after[lane] ? 1.0 : 0.0);
    const double stand = rc_lane_pick(falls_asleep, RC_DRIVE_ASLEEP, RC_DRIVE_STANDING);
    const double run = rc_lane_pick(stops, RC_DRIVE_STANDING, RC_DRIVE_RUNNING);
    const double sleep = rc_lane_pick(rc_lane_either(hears_call, was_waking), RC_DRIVE_WAKING, RC_DRIVE_ASLEEP);

    p->rate[lane] = end;
    p->mode[lane] = rc_lane_pick(runs, run, rc_lane_pick(slides, sleep, stand));
    p->direction[lane] = rc_lane_pick(starts, sense, p->direction[lane]);
    p->since_stop[lane] = rc_lane_pick(stops, (1.0 - ramp_share) * dt, p->since_stop[lane] + dt);
    p->idle[lane] = idle;
    p->waking[lane] = waking;
    const double roll_at_end = roll_end + rc_stages_yield(p, lane, end);
    p->residual[lane] = roll_at_end + end;
    p->tally.starts[lane] += starts;
    p->tally.reversals[lane] += starts * is_opposite;
    p->tally.asleep[lane] += slides * dt;
    p->tally.below_floor[lane] += rc_lane_abs(roll_at_end) < p->floor[lane] ? dt : 0.0;
    p->tally.roll_peak[lane] = rc_lane_max(p->tally.roll_peak[lane], rc_lane_abs(roll_at_end));
    /* Two parts: the ramp, and what is held after it. */
    const double ramped = rc_lane_pick(runs, ramp_end, end);
    const double roll_middle = roll_start + ramp_share * (roll_end - roll_start);
    const double at_start = roll_start + start + rc_stages_yield(p, lane, start);
    const double at_ramp_end = roll_middle + ramped + rc_stages_yield(p, lane, ramped);
    const double at_hold = roll_middle + end + rc_stages_yield(p, lane, end);
    rc_tally_tick(&p->tally, lane, at_start, at_ramp_end, p->target[lane], ramp_share * dt);
    rc_tally_tick(&p->tally, lane, at_hold, roll_at_end + end, p->target[lane], (1.0 - ramp_share) * dt);
    return rc_lane_either(slides, falls_asleep);
}

/* One tick of all lanes. ends how many lanes sleep or wake in the next one */
RC_INLINE double drive_lanes(struct rc_platform_lanes *p, const struct tick *tick, const int someone_slides)
{
    double n_sliding = 0.0;
#pragma omp simd reduction(+ : n_sliding)
    for (int lane = 0; lane < RC_LANES; lane++)
        n_sliding += drive_tick(p, lane, tick, someone_slides);
    return n_sliding;
}

RC_KERNEL static void geared_sensorless_run(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                            const struct rc_platform_stretch *stretch)
{
    const double theta_step = 1.0 / stretch->n_of_step;
    const double runs_at_floor = clock->below_floor == RC_BELOW_FLOOR_RUN ? 1.0 : 0.0;
    struct tick tick = { .dt = clock->dt, .per_dt = clock->tick_rate, .runs_at_floor = runs_at_floor };
    double n_sliding = 1.0; /* not known yet */
    for (int i = 0; i < stretch->n_ticks; i++) {
        const int64_t number = stretch->first + i;
        tick.theta = (stretch->offset + i) * theta_step;
        tick.theta_end = (stretch->offset + i + 1) * theta_step;
        if (number % clock->gyro_every == 0)
            rc_stages_sense(p, clock, tick.theta);
        if (number % clock->control_every == 0)
            rc_stages_control(p, clock);
        n_sliding = n_sliding > 0.0 ? drive_lanes(p, &tick, 1) : drive_lanes(p, &tick, 0);
        rc_stages_frames(p, clock, number);
        if (stretch->watch != NULL)
            stretch->watch(stretch->user, stretch->offset + i + 1);
    }
}

const struct rc_drive_kind rc_geared_sensorless_kind = {
    .name = "geared_sensorless",
    .summary = "geared motor without position sensor behind a speed controller: floor rate, start-up jump, sleep",
    .run = geared_sensorless_run,
};
