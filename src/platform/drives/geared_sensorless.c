/* Geared sensorless motor behind a speed controller. While awake it sets the platform's rate against the vehicle: nothing
 * between zero and its floor, a jump on starting, a slew limit, a top rate, reversal only through a stop and after a delay.
 * Idle for too long it falls asleep; then friction alone carries the platform until a large command has woken it. Where the
 * platform does something else than the drive's output in a span, it is left to gliding.h. */
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "platform/bearing.h"
#include "platform/gliding.h"
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
    int sliding;             /* some lane sleeps, wakes or falls asleep            */
    int waiting;             /* some lane may start inside the tick                */
    int play;                /* the gear has play                                  */
    int failing;             /* starts may fail                                    */
    double locks_out;        /* 1: and then lock it out                            */
    double runs_at_floor;    /* 1: a command between deadband and floor runs at it */
    int limited;             /* the motor's torque has a limit                     */
    double since_look;       /* since a drive that stands has looked at its command anew [s] */
};

/* Who is at the switch in a tick: whether the drive runs, stands, sleeps or wakes, and when that changes. */
struct watch {
    double runs, stands;     /* 1: as the tick begins; stands or takes hold in it                             */
    double slides;           /* 1: asleep or waking throughout                                                */
    double is_called;        /* 1: waking, or called to                                                       */
    double holds_at;         /* when it takes hold; 0 for those that have it [s]                              */
    double sleeps, sleeps_at; /* 1: falls asleep unless it starts before; when, if it does [s]                 */
    double waking;           /* since it was called, as the tick begins [s]                                   */
};
RC_INLINE struct watch find_watch(const struct rc_platform_lanes *p, int lane, double dt, const struct made_for of)
{
    const double mode = p->mode[lane], idle = p->idle[lane], stands = mode == RC_DRIVE_STANDING ? 1.0 : 0.0;
    const double runs = mode == RC_DRIVE_RUNNING ? 1.0 : 0.0, left = p->sleep_after[lane] - idle;
    if (!of.sliding)
        return (struct watch){ .runs = runs, .stands = stands, .sleeps = left <= dt + tie ? stands : 0.0, .sleeps_at = dt };
    const double was_asleep = mode == RC_DRIVE_ASLEEP ? 1.0 : 0.0, was_waking = mode == RC_DRIVE_WAKING ? 1.0 : 0.0;
    const double hears_call = was_asleep * (rc_lane_abs(p->command[lane]) >= p->wake_command[lane] ? 1.0 : 0.0);
    const double is_called = rc_lane_either(was_waking, hears_call), waking = rc_lane_pick(was_waking, p->waking[lane], 0.0);
    const double to_hold = p->wake_delay[lane] - waking;
    const double is_woken = is_called * (to_hold < dt - tie ? 1.0 : 0.0);
    const double holds_at = is_woken * (to_hold > tie ? to_hold : 0.0), holds = rc_lane_either(stands, is_woken);
    const double sleeps_at = rc_lane_pick(is_woken, holds_at + p->sleep_after[lane], rc_lane_max(left, 0.0));
    return (struct watch){ runs, holds, rc_lane_either(was_asleep, was_waking) * (1.0 - is_woken), is_called, holds_at,
                           holds * (sleeps_at <= dt + tie ? 1.0 : 0.0), sleeps_at, waking };
}

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

/* The time until a drive that stands may start: what is left of the delay since the stop and of the start-up's time.
 * in holds_at  when it stands awake, 0 from the beginning [s]; ends [s] */
RC_INLINE double time_to_start(const struct rc_platform_lanes *p, int lane, double is_opposite, double holds_at)
{
    return rc_lane_max(is_opposite * (p->reversal_delay[lane] - p->since_stop[lane]),
                       holds_at + (p->start_delay[lane] - p->starting[lane]));
}

/* Torque that the vehicle's own acceleration asks for when the drive turns one way, over the place 0 .. 1 in a tick: its roll
 * rate is a cubic, so this is now + place (slope + place bend) [N m]. */
struct carried {
    double now, slope, bend;
};
RC_INLINE struct carried find_carried(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double sense)
{
    const double theta = tick->theta, width = tick->theta_end - theta, third = 3.0 * p->roll[3][lane];
    const double scale = sense * p->coupling[lane] * width * tick->per_dt;
    return (struct carried){ scale * (p->roll[1][lane] + theta * (2.0 * p->roll[2][lane] + theta * third)),
                             scale * width * (2.0 * p->roll[2][lane] + 2.0 * theta * third), scale * width * width * third };
}

/* That, and what the load adds to the friction. in ratio  of friction to the running one: 1, or the starting ratio at rest */
RC_INLINE struct carried find_asked(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double sense,
                                    double ratio)
{
    const struct carried carried = find_carried(p, lane, tick, sense);
    const double begin = rc_bearing_friction_at(p, lane, -0.5 * tick->dt), end = rc_bearing_friction_at(p, lane, 0.5 * tick->dt);
    return (struct carried){ carried.now + ratio * (begin - p->friction[lane]), carried.slope + ratio * (end - begin),
                             carried.bend };
}
RC_INLINE double carried_at(struct carried carried, double place)
{
    return carried.now + place * (carried.slope + place * carried.bend);
}

/* The first x from 0 on at which now + x (slope + x bend) is above zero; 2 if there is none before. */
RC_INLINE double first_above(double now, double slope, double bend)
{
    const double under_root = slope * slope - 4.0 * now * bend;
    const double below = slope + __builtin_sqrt(rc_lane_max(under_root, 0.0));
    const double crosses = ((under_root >= 0.0) & (below > 0.0)) ? 1.0 : 0.0;
    const double x = rc_lane_pick(crosses, -2.0 * now / below, 2.0);
    return now > 0.0 ? 0.0 : x;
}

/* Does the motor turn its load from standstill? A start that is due waits for the moment at which it does, and that time counts
 * as stalled.
 * in      until   the end of the tick, or when the drive falls asleep in it [s]
 * in/out  starts  1 where one is due, then where it comes in this tick; moment in it [s] */
RC_INLINE void strong_start(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double sense, double until,
                            double *starts, double *moment)
{
    const struct carried carried = find_asked(p, lane, tick, sense, p->starting_ratio[lane]);
    const double due = *moment * tick->per_dt, last = until < tick->dt ? until * tick->per_dt : 1.0;
    const double spare = p->torque_limit[lane] - p->starting_ratio[lane] * p->friction[lane];
    const double found = due + first_above(spare - carried_at(carried, due), -(carried.slope + 2.0 * due * carried.bend),
                                           -carried.bend);
    const double is_strong = found < last - tie * tick->per_dt ? 1.0 : 0.0;
    p->tally.stalled[lane] += *starts * (rc_lane_min(found, last) - due) * tick->dt;
    *starts *= is_strong;
    *moment = rc_lane_pick(is_strong, found * tick->dt, *moment);
}

/* A drive's run in a tick: from a rate, after a wait, towards another one. */
struct run {
    double start, gap, sense, wait; /* [rad/s], [rad/s], -1 or 1, [1] */
};

/* How far the rate changes in a whole tick at most: what the motor's torque leaves for the inertia in the middle of the ramp,
 * viscous friction at the ramp's mean rate [rad/s]. */
RC_INLINE double strong_slew(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct run run)
{
    const struct carried carried = find_asked(p, lane, tick, run.sense, 1.0);
    const double most = p->slew_step[lane] * tick->n, faster = run.gap * run.sense > 0.0 ? 1.0 : -1.0, rest = 1.0 - run.wait;
    const double against = p->friction[lane] + p->viscous[lane] * rc_lane_abs(run.start);
    double step = most, share = rest;
    for (int round = 0; round < 2; round++) { /* the ramp's length decides where its middle is */
        const double mean = carried_at(carried, run.wait + 0.5 * share) + share * share * (1.0 / 12.0) * carried.bend;
        const double spare = p->torque_limit[lane] - faster * (against + mean);
        const double damped = 1.0 + 0.5 * p->viscous[lane] * p->per_own_inertia[lane] * share * tick->dt;
        step = rc_lane_min(most, rc_lane_max(spare * p->per_own_inertia[lane] * tick->dt / damped, 1e-12));
        share = rc_lane_min(rc_lane_abs(run.gap) / step, rest);
    }
    return step;
}

/* How a run in a tick was cut short. */
struct stall {
    double stalls, place;   /* 1 where it was, [1]                     */
    double rate;            /* from which it stopped at once [rad/s]   */
};

/* Overloaded, such a motor loses its commutation and stands at once: where friction, viscous friction and what the vehicle asks
 * for exceed its torque, by more than rounding, on the ramp or as the rate is held.
 * in  ramp_end [rad/s], share of the ramp [1]; holds  1 where its end is held */
RC_INLINE struct stall find_stall(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct run run,
                                  double ramp_end, double share, double holds)
{
    const struct carried carried = find_asked(p, lane, tick, run.sense, 1.0);
    const double over = p->friction[lane] - p->torque_limit[lane] * (1.0 + 1e-9), c = p->viscous[lane];
    const double slope = share > 0.0 ? (ramp_end - run.start) / share : 0.0, begin = run.wait, end = run.wait + share;
    const double in_ramp = first_above(over + c * rc_lane_abs(run.start) + carried_at(carried, begin),
                                       c * run.sense * slope + carried.slope + 2.0 * begin * carried.bend, carried.bend);
    const double in_hold = first_above(over + c * rc_lane_abs(ramp_end) + carried_at(carried, end),
                                       carried.slope + 2.0 * end * carried.bend, carried.bend);
    const double on_ramp = in_ramp < share ? 1.0 : 0.0;
    const double on_hold = (1.0 - on_ramp) * holds * (in_hold < 1.0 - end ? 1.0 : 0.0);
    return (struct stall){ rc_lane_either(on_ramp, on_hold), rc_lane_pick(on_ramp, begin + in_ramp, end + in_hold),
                           rc_lane_pick(on_ramp, run.start + slope * in_ramp, ramp_end) };
}

/* What becomes of a start in a tick: 1 where the drive starts, after a share of the tick that it waits, or fails to, at some
 * moment. After a failure no other try is due within a span: the retry delay is as long as the longest at least. */
struct trial {
    double starts, fails;
    double wait, moment;    /* [1], [s] */
};
RC_INLINE struct trial try_start(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct watch watch,
                                 double sense, double is_opposite, const struct made_for of)
{
    const double dt = tick->dt, until = of.sliding ? rc_lane_min(dt, watch.sleeps_at) : dt;
    const double is_late = of.sliding ? (watch.holds_at > 0.0 ? 1.0 : 0.0) : 0.0;
    const double at_once = (1.0 - is_late) * starts_at_once(p, lane, is_opposite);
    const double to_wait = of.waiting ? time_to_start(p, lane, is_opposite, watch.holds_at) : 0.0;
    const double left = of.waiting ? rc_lane_pick(at_once, 0.0, to_wait) : 0.0;
    const double later = of.waiting ? (left < until - tie ? 1.0 : 0.0) : 0.0;
    double moment = rc_lane_max(left, 0.0);
    /* Stopped since it has looked, it does not know yet what else is wanted. */
    const double knows = p->since_stop[lane] >= of.since_look - tie ? 1.0 : 0.0;
    double starts = watch.stands * knows * sense * sense * rc_lane_either(at_once, later);
    if (of.limited)
        strong_start(p, lane, tick, sense, until, &starts, &moment);
    const double fails = of.failing ? failed_start(p, lane, dt, dt - moment, sense * sense, of.locks_out, &starts) : 0.0;
    const double wait = of.waiting ? rc_lane_pick(starts, moment / dt, 0.0) : 0.0;
    return (struct trial){ starts, fails, wait, moment };
}

/* What a drive asks for: its output's course, and where that makes it stop or sleep. */
struct order {
    double runs, stops, starts; /* 1 or 0                                            */
    double led, rest;           /* rate at the end [rad/s], share of the tick in which it has that [1] */
};

/* Clocks and mode after a tick. */
RC_INLINE void end_watch(struct rc_platform_lanes *p, int lane, double dt, struct watch watch, struct order order,
                         const struct made_for of)
{
    const double sleeps = watch.sleeps * (1.0 - order.starts), drops = of.sliding ? sleeps : 0.0;
    const double run = rc_lane_pick(order.stops, RC_DRIVE_STANDING, RC_DRIVE_RUNNING);
    const double sleep = rc_lane_pick(watch.is_called, RC_DRIVE_WAKING, RC_DRIVE_ASLEEP);
    /* A command that would wake it wakes it as soon as it sleeps. */
    const double is_roused = drops * (rc_lane_abs(p->command[lane]) >= p->wake_command[lane] ? 1.0 : 0.0);
    const double stood = of.sliding ? rc_lane_pick(watch.is_called, dt - watch.holds_at, p->idle[lane] + dt) : p->idle[lane] + dt;
    const double stand = rc_lane_pick(sleeps, rc_lane_pick(is_roused, RC_DRIVE_WAKING, RC_DRIVE_ASLEEP), RC_DRIVE_STANDING);
    p->mode[lane] = rc_lane_pick(order.runs, run, rc_lane_pick(watch.slides, sleep, stand));
    p->idle[lane] = rc_lane_pick(order.runs, order.stops * (order.rest * dt), rc_lane_pick(watch.slides, 0.0, stood));
    if (of.sliding) {
        const double slept = rc_lane_max(dt - watch.sleeps_at, 0.0);
        p->tally.asleep[lane] += rc_lane_pick(watch.slides, dt, watch.holds_at + drops * slept);
        p->waking[lane] = rc_lane_pick(is_roused, slept, rc_lane_pick(watch.is_called, watch.waking + dt, 0.0));
    }
}

/* Does a span go as the course says, with the platform's rate that of the output throughout? It does at rest as long as nothing
 * could tear it loose, and where it is pushed along. What cannot be ruled out by the greatest push in the span is not easy.
 * in  is_let_go  1 where the drive lets go of the platform in it, slides  throughout; play  constant for the loop */
RC_INLINE double is_easy(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, const struct rc_course *c,
                         struct order order, double is_let_go, double slides, int play)
{
    const struct carried push = find_carried(p, lane, tick, 1.0);
    const double most = rc_lane_max(rc_lane_abs(push.now), rc_lane_abs(push.now + push.slope + push.bend)) +
                        0.25 * rc_lane_abs(push.bend);
    const double half = 0.5 * tick->dt;
    const double friction = rc_lane_min(rc_bearing_friction_at(p, lane, -half), rc_bearing_friction_at(p, lane, half));
    const double rate = p->rate[lane], is_at_rest = rate == 0.0 ? 1.0 : 0.0;
    const double sticks = is_at_rest * (most <= friction * p->starting_ratio[lane] ? 1.0 : 0.0);
    if (!play)
        return rc_lane_either(1.0 - is_let_go, sticks);
    /* Alone it is lighter, and without the gear's friction. */
    const double pushed = most * p->inertia[lane], rubs = (friction - p->gear_friction[lane]) * p->coupling[lane];
    const double gap = p->gap[lane], is_tight = p->play[lane] > 0.0 ? 0.0 : 1.0;
    const double rests = is_at_rest * (pushed <= rubs * p->starting_ratio[lane] ? 1.0 : 0.0);
    const double sense = rc_lane_sense(c->ramped), on_front = gap >= p->play[lane] ? 1.0 : 0.0, on_back = gap <= 0.0 ? 1.0 : 0.0;
    const double on_flank = sense > 0.0 ? on_front : on_back;
    const double begins_so = rc_lane_pick(order.starts, is_at_rest, rate == c->start ? 1.0 : 0.0);
    const double is_pushed = (((c->ramped - c->start) * sense >= 0.0) & (pushed <= rubs)) ? 1.0 : 0.0;
    const double rides = on_flank * begins_so * is_pushed * (1.0 - order.stops);
    const double is_led = rc_lane_either(is_tight, rc_lane_pick(order.runs, rides, rests));
    return rc_lane_either(slides, is_led) * rc_lane_either(1.0 - is_let_go, sticks);
}

/* When a lane's platform is let go of and held again, and whether it does what its output does.
 * out gliding; ends 1 where it does not */
RC_INLINE double find_strained(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, const struct rc_course *c,
                               struct watch watch, struct order order, struct rc_gliding *gliding, const struct made_for of)
{
    const double is_woken = watch.holds_at > 0.0 ? 1.0 : 0.0;
    const double drops = watch.sleeps * (1.0 - order.starts) * (watch.sleeps_at < tick->dt ? 1.0 : 0.0);
    const double is_let_go = of.sliding ? rc_lane_either(watch.slides, rc_lane_either(is_woken, drops)) : 0.0;
    gliding->from[lane] = rc_lane_pick(drops, watch.sleeps_at, rc_lane_pick(is_let_go, 0.0, INFINITY));
    gliding->until[lane] = rc_lane_pick(is_woken, watch.holds_at, INFINITY);
    gliding->led[lane] = order.led;
    return 1.0 - is_easy(p, lane, tick, c, order, is_let_go, watch.slides, of.play);
}

/* One tick of the drive for one lane. in of  constant for the loop. out gliding  where of.play or of.sliding */
RC_INLINE void drive_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct rc_gliding *gliding,
                          const struct made_for of)
{
    const double dt = tick->dt;
    const double wanted = wanted_rate(p, lane, of.runs_at_floor);
    struct watch watch = find_watch(p, lane, dt, of);

    /* Standing: start with a jump, at once or inside the tick. */
    const double sense = wanted < 0.0 ? -1.0 : (wanted > 0.0 ? 1.0 : 0.0);
    const double is_opposite = sense * p->direction[lane] < 0.0 ? 1.0 : 0.0;
    const struct trial trial = try_start(p, lane, tick, watch, sense, is_opposite, of);
    const double starts = trial.starts, wait = trial.wait;
    const double runs = rc_lane_either(watch.runs, starts);
    const double jump = sense * rc_lane_min(p->jump[lane], p->top[lane]);
    const double rate = of.play ? p->motor_rate[lane] : p->rate[lane];
    const double start = rc_lane_pick(starts, jump, rc_lane_pick(watch.runs, rate, 0.0));

    /* Running: along the slew limit to the wanted rate, or down to the floor and then to a stop. The ramp ends inside the tick,
     * when it gets there: a tick more or less at each stop would make the held time of a limit cycle depend on the tick. */
    const double run_sense = rc_lane_pick(starts, sense, start < 0.0 ? -1.0 : 1.0);
    const double is_on_course = wanted * run_sense > 0.0 ? 1.0 : 0.0;
    const double goal = rc_lane_pick(is_on_course, wanted, run_sense * p->floor[lane]);
    const double gap = goal - start;
    const struct run one = { start, gap, run_sense, wait };
    const double slew_step = of.limited ? strong_slew(p, lane, tick, one) : p->slew_step[lane] * tick->n;
    const double slew_left = slew_step * (1.0 - wait);
    const double is_there = rc_lane_abs(gap) <= slew_left + slew_step * (tie * tick->per_dt) ? 1.0 : 0.0;
    double ramp_end = rc_lane_pick(is_there, goal, start + rc_lane_clamp(gap, slew_left)), stalls = 0.0;
    double ramp_share = rc_lane_pick(runs * is_there, rc_lane_min(rc_lane_abs(gap) / slew_step, 1.0 - wait), 1.0 - wait);
    if (of.limited) {
        const struct stall stall = find_stall(p, lane, tick, one, ramp_end, ramp_share, is_there * is_on_course);
        stalls = runs * stall.stalls;
        ramp_end = rc_lane_pick(stalls, stall.rate, ramp_end);
        ramp_share = rc_lane_pick(stalls, stall.place - wait, ramp_share);
    }
    const double stops = runs * rc_lane_either(is_there * (1.0 - is_on_course), stalls);
    const double led = runs * (1.0 - stops) * ramp_end;

    /* The ramp, and what is held after it; count_tick sees the vehicle's roll beside it. */
    const double rest = (1.0 - wait) - ramp_share;
    const struct rc_course course = { .start = start, .ramped = rc_lane_pick(runs, ramp_end, 0.0), .end = led,
                                      .ramp_share = ramp_share, .wait = wait };
    const struct order order = { runs, stops, starts, led, rest };
    rc_spans_note(p, lane, &course);
    const double turned = dt * (0.5 * ramp_share * (start + course.ramped) + rest * course.end);
    if (of.play || of.sliding) {
        const double is_strained = find_strained(p, lane, tick, &course, watch, order, gliding, of);
        gliding->is_strained[lane] = is_strained;
        p->rate[lane] = rc_lane_pick(is_strained, p->rate[lane], course.end);
        p->turned[lane] += rc_lane_pick(is_strained, 0.0, turned);
    } else {
        p->rate[lane] = course.end;
        p->turned[lane] += turned;
    }
    if (of.play)
        p->motor_rate[lane] = led;
    p->direction[lane] = rc_lane_pick(starts, sense, p->direction[lane]);
    p->since_stop[lane] = rc_lane_pick(stops, rest * dt, p->since_stop[lane] + dt);
    const double waited = watch.stands * (1.0 - starts) * (p->starting[lane] + (dt - watch.holds_at));
    const double starting = sense * sense * rc_lane_pick(stops, rest * dt, waited);
    p->starting[lane] = of.failing ? rc_lane_pick(trial.fails, (dt - trial.moment) - p->retry_delay[lane], starting) : starting;
    if (of.limited)
        p->starting[lane] = rc_lane_pick(stalls, rest * dt - p->retry_delay[lane], p->starting[lane]);
    p->tally.starts[lane] += starts;
    p->tally.reversals[lane] += starts * is_opposite;
    end_watch(p, lane, dt, watch, order, of);
}

/* What the tallies see of the tick just run. */
RC_INLINE void count_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, const struct made_for of)
{
    const struct rc_course course = rc_spans_course(p, lane, tick);
    if (of.waiting)
        rc_stages_wait(p, lane, &course, tick->dt);
    rc_stages_count(p, lane, course, tick->dt);
}

/* The same of the lanes that are not strained; the others are left to gliding.h. */
RC_INLINE void count_easy(struct rc_platform_lanes *p, const struct rc_tick *tick, const double *is_strained,
                          const struct made_for of)
{
    /* All that counting a tick changes. */
    struct rc_tally *const t = &p->tally;
    double *const changed[] = {
        p->rate_before, p->residual, t->held, t->square, t->residual_peak, t->drift, t->below_floor, t->roll_peak,
    };
    enum { N_CHANGED = sizeof changed / sizeof changed[0] };
    rc_lane kept[N_CHANGED];
    for (int i = 0; i < N_CHANGED; i++)
        memcpy(kept[i], changed[i], sizeof kept[i]);
    RC_FOR_LANES(lane)
    count_tick(p, lane, tick, of);
    for (int i = 0; i < N_CHANGED; i++)
        RC_FOR_LANES(lane)
        changed[i][lane] = rc_lane_pick(is_strained[lane], kept[i][lane], changed[i][lane]);
}

/* One tick of all lanes. In two loops: each is short enough for the processor to work at several vectors of lanes at a time. */
RC_INLINE void drive_lanes(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct made_for of)
{
    RC_FOR_LANES(lane)
    drive_tick(p, lane, tick, NULL, of);
    RC_FOR_LANES(lane)
    count_tick(p, lane, tick, of);
}

/* The same where some lanes may have to go by pieces. out track; ends whether any did */
RC_INLINE int drive_by_pieces(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct made_for of,
                              struct rc_spans_track *track)
{
    struct rc_gliding gliding;
    RC_FOR_LANES(lane)
    drive_tick(p, lane, tick, &gliding, of);
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++)
        n += gliding.is_strained[lane];
    if (n < RC_LANES)
        count_easy(p, tick, gliding.is_strained, of);
    if (n > 0.0)
        rc_gliding_run(p, tick, &gliding, track);
    return n > 0.0;
}

/* How many lanes sleep, wake, fall asleep or may start inside the next tick? */
RC_INLINE double unusual_lanes(const struct rc_platform_lanes *p, double dt)
{
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double mode = p->mode[lane], left = p->reversal_delay[lane] - p->since_stop[lane];
        const double is_off = mode == RC_DRIVE_RUNNING ? 0.0 : 1.0;
        const double slides = mode == RC_DRIVE_STANDING ? 0.0 : is_off;
        const double is_due = (((left > tie) & (left < dt - tie)) | (p->start_delay[lane] > p->starting[lane] + tie)) ? 1.0 : 0.0;
        const double tires = p->sleep_after[lane] - p->idle[lane] < dt - tie ? 1.0 : 0.0;
        const double waits = rc_lane_either(is_due, tires) * is_off;
        n += rc_lane_either(slides, waits);
    }
    return n;
}

/* Run all lanes' drives over a tick or span. out track; ends whether it is of any lane */
RC_INLINE int drive(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                    struct rc_spans_track *track)
{
    const double at_floor = clock->below_floor == RC_BELOW_FLOOR_RUN ? 1.0 : 0.0;
    const double locks_out = clock->failed_start == RC_FAILED_START_LOCK_OUT ? 1.0 : 0.0;
    const double looked = clock->full_span > 1 ? (double)(tick->first % clock->full_span) * clock->dt : 0.0;
    if (clock->has_torque_limit && clock->has_play)
        return drive_by_pieces(p, tick, (struct made_for){ 1, 1, 1, 1, locks_out, at_floor, 1, looked }, track);
    if (clock->has_torque_limit)
        return drive_by_pieces(p, tick, (struct made_for){ 1, 1, 0, 1, locks_out, at_floor, 1, looked }, track);
    if (clock->has_failed_starts && clock->has_play)
        return drive_by_pieces(p, tick, (struct made_for){ 1, 1, 1, 1, locks_out, at_floor, 0, looked }, track);
    if (clock->has_failed_starts)
        return drive_by_pieces(p, tick, (struct made_for){ 1, 1, 0, 1, locks_out, at_floor, 0, looked }, track);
    if (clock->has_play)
        return drive_by_pieces(p, tick, (struct made_for){ 1, 1, 1, 0, 0.0, at_floor, 0, looked }, track);
    if (unusual_lanes(p, tick->dt) > 0.0)
        return drive_by_pieces(p, tick, (struct made_for){ 1, 1, 0, 0, 0.0, at_floor, 0, looked }, track);
    drive_lanes(p, tick, (struct made_for){ 0, 0, 0, 0, 0.0, at_floor, 0, looked });
    return 0;
}

RC_KERNEL static void geared_sensorless_run(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                            const struct rc_platform_stretch *stretch)
{
    int length = clock->span > 1 ? clock->span : 1;
    struct rc_spans_reel reel = rc_spans_reel_at(clock, stretch->first);
    for (int done = 0; done < stretch->n_ticks;) {
        const struct rc_tick tick = rc_spans_next(clock, stretch, done);
        struct rc_spans_track track;
        track.has_lag = 0;
        if (tick.n != length)
            rc_platform_relength(p, tick.dt);
        length = tick.n;
        rc_stages_weigh(p, &tick);
        rc_senses_begin(p, clock, &tick);
        if (clock->has_battery && tick.first % clock->control_every == 0)
            rc_stages_drain(p, clock, 1);
        rc_stages_control(p, clock, tick.first);
        const struct rc_spans_track *const gone = drive(p, clock, &tick, &track) ? &track : NULL;
        rc_senses_end(p, clock, &tick, gone);
        rc_spans_frames(p, clock, &tick, gone, &reel);
        if (stretch->watch != NULL)
            rc_spans_watch(p, clock, stretch, &tick, gone);
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
    .draws_by_load = true,
    .slows_by_voltage = true,
    .run = geared_sensorless_run,
    .n_rules = sizeof rules / sizeof rules[0],
    .rules = rules,
};
