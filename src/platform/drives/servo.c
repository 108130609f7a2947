/* Torque-controlled servo behind a gear: the command becomes a torque through deadband, clamp and the current loop's lag;
 * bearing, gear and vehicle then decide how the platform moves. It has no floor rate and no standstill of its own. */
#include <math.h>
#include <stddef.h>

#include "platform/bearing.h"
#include "platform/senses.h"

/* What a drive's loop is made for. */
struct made_for {
    int cogging, play;
    int standing;    /* some lane stands and may be torn loose inside the tick */
};

/* Torque on platform and rotor over a tick, friction apart: what it tends to, and what the current's lag leaves of the torque
 * before at its beginning, falling exponentially [N m]. */
struct pull {
    double steady, lagging;
};

/* in/out p->servo.torque  that of the tick's ends [N m] */
RC_INLINE struct pull take_pull(struct rc_platform_lanes *p, int lane, double dt, const struct made_for of)
{
    struct rc_servo_lanes *const s = &p->servo;
    const double command = p->command[lane];
    const double has_power = p->mode[lane] == RC_DRIVE_ASLEEP ? 0.0 : 1.0;
    const double is_wanted = has_power * (rc_lane_abs(command) > p->deadband[lane] ? 1.0 : 0.0);
    const double wanted = is_wanted * rc_lane_clamp(s->stiffness[lane] * command, s->limit[lane]);
    const double off = s->torque[lane] - wanted;
    s->torque[lane] = wanted + off * s->lag_decay[lane];
    /* The cogging is that of the angle half a tick on. */
    const double angle = s->cogs[lane] * (p->turned[lane] + 0.5 * dt * p->rate[lane]);
    const double steady = of.cogging ? wanted - s->cogging[lane] * rc_lane_sine(angle) : wanted;
    return (struct pull){ steady, s->lag[lane] > 0.0 ? off : 0.0 };
}

/* Rates of platform and rotor after a tick with play: each on its own between the flanks; on a flank as one; where they meet, the
 * rate that keeps their angular momentum.
 * in  torque on the rotor; one = rate after the tick as one body [rad/s]
 * in/out p->gap, p->motor_rate; ends the platform's rate [rad/s] */
RC_INLINE double play_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double torque, double one)
{
    const double before = p->rate[lane], rotor_before = p->motor_rate[lane], play = p->play[lane];
    const double alone = rc_bearing_alone(p, lane, tick);
    const double per_rotor = 1.0 / p->rotor_inertia[lane];
    const double carried = (p->coupling[lane] - p->inertia[lane]) * rc_stages_roll_change(p, lane, tick) * tick->per_dt;
    const struct rc_slide free = { torque - carried, p->gear_friction[lane], per_rotor, 1.0, tick->dt };
    const double rotor = rc_bearing_slide(rotor_before, free, p->starting_ratio[lane], tick->dt);
    const double gap = p->gap[lane] + 0.5 * tick->dt * ((rotor_before + rotor) - (before + alone));
    const double held = rc_lane_min(rc_lane_max(gap, 0.0), play);
    const double was_one = ((before == rotor_before) & ((p->gap[lane] <= 0.0) | (p->gap[lane] >= play))) ? 1.0 : 0.0;
    const double share = p->inertia[lane] / (p->inertia[lane] + p->rotor_inertia[lane]);
    const double met = rc_lane_pick(was_one, one, share * alone + (1.0 - share) * rotor);
    const double is_free = gap == held ? 1.0 : 0.0;
    p->gap[lane] = held;
    p->motor_rate[lane] = rc_lane_pick(is_free, rotor, met);
    return rc_lane_pick(is_free, alone, met);
}

/* How a tick ended. */
struct swung {
    double rate;    /* [rad/s]                                         */
    double wait;    /* share of the tick in which it still stood [1]   */
};

/* A tick that begins at standstill: it sticks until the torque exceeds the friction there, and slides from that moment. Viscous
 * friction is left out in that tick. */
RC_INLINE struct swung tear_loose(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct pull pull)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double dt = tick->dt, friction = rc_bearing_friction(p, lane), holds = friction * p->starting_ratio[lane];
    const double steady = pull.steady - p->coupling[lane] * rc_stages_roll_change(p, lane, tick) * tick->per_dt;
    const double first = steady + pull.lagging, last = steady + pull.lagging * s->lag_decay[lane];
    const double at_once = rc_lane_abs(first) > holds ? 1.0 : 0.0;
    const double later = rc_lane_abs(last) > holds ? 1.0 - at_once : 0.0;
    const double sense = rc_lane_sense(rc_lane_pick(at_once, first, last));
    const double left = rc_lane_pick(later, (sense * holds - steady) / pull.lagging, 1.0);
    const double wait = rc_lane_pick(later, -s->lag[lane] * rc_lane_log(left), 0.0);
    const double slid = ((steady - sense * friction) * (dt - wait) + pull.lagging * s->lag[lane] * (left - s->lag_decay[lane])) *
                        p->per_own_inertia[lane];
    const double moves = rc_lane_either(at_once, later) * (slid * sense > 0.0 ? 1.0 : 0.0);
    return (struct swung){ rc_lane_pick(moves, slid, 0.0), rc_lane_pick(moves, wait * tick->per_dt, 0.0) };
}

/* The platform's rate after the tick. */
RC_INLINE struct swung servo_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct pull pull,
                                  const struct made_for of)
{
    const double torque = pull.steady + pull.lagging * p->servo.lag_share[lane], before = p->rate[lane];
    struct swung swung = { rc_bearing_driven(p, lane, tick, torque, 0.0), 0.0 };
    if (of.play)
        swung.rate = play_tick(p, lane, tick, torque, swung.rate);
    if (of.standing) {
        const struct swung torn = tear_loose(p, lane, tick, pull);
        swung.rate = before != 0.0 ? swung.rate : torn.rate;
        swung.wait = before != 0.0 ? 0.0 : torn.wait;
    }
    /* The motor drives it no faster than its top rate; what is faster already, it only slows. */
    const double fastest = rc_lane_max(p->top[lane], rc_lane_abs(before));
    swung.rate = torque * swung.rate > 0.0 ? rc_lane_clamp(swung.rate, fastest) : swung.rate;
    return swung;
}

/* The bulge of the rate over a tick that went one way throughout: the lag bends it. Counted on top of the straight course.
 * in  size  of it [rad/s]; before, after  residual rates at the tick's ends [rad/s] */
RC_INLINE void count_bulge(struct rc_platform_lanes *p, int lane, double dt, double size, double before, double after)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double felt = size * (1.0 - p->reaction[lane]);
    const double mean = s->bulge_mean[lane], moment = s->bulge_moment[lane];
    const double crossed = before * (mean - moment) + after * moment;
    p->turned[lane] += dt * size * mean;
    p->tally.drift[lane] += dt * felt * mean;
    p->tally.square[lane] += dt * felt * (2.0 * crossed + felt * s->bulge_square[lane]);
    p->tally.residual_peak[lane] = rc_lane_max(p->tally.residual_peak[lane],
                                               rc_lane_abs(0.5 * (before + after) + felt * s->bulge_middle[lane]));
}

/* Take over a tick, and count it. */
RC_INLINE void count_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct swung swung, double lagging,
                          const struct made_for of)
{
    const double dt = tick->dt, before = p->rate[lane], end = swung.rate, residual = p->residual[lane];
    const double is_awake = p->mode[lane] == RC_DRIVE_ASLEEP ? 0.0 : 1.0;
    const double sense = rc_lane_sense(end), direction = p->direction[lane];
    const double starts = before == 0.0 ? is_awake * rc_lane_abs(sense) : 0.0;
    const double turns_round = sense * direction < 0.0 ? is_awake : 0.0;
    const double led = sense != 0.0 ? RC_DRIVE_RUNNING : RC_DRIVE_STANDING;
    const struct rc_course course = { rc_stages_roll(p, lane, tick->theta), rc_stages_roll(p, lane, tick->theta_end), before, end,
                                      end, 1.0 - swung.wait, p->target[lane], swung.wait, 1, 0, 0.0 };
    p->direction[lane] = sense != 0.0 ? sense : direction;
    p->rate[lane] = end;
    p->turned[lane] += 0.5 * dt * (1.0 - swung.wait) * (before + end);
    p->mode[lane] = rc_lane_pick(is_awake, led, RC_DRIVE_ASLEEP);
    p->tally.starts[lane] += starts;
    p->tally.reversals[lane] += turns_round;
    p->tally.asleep[lane] += (1.0 - is_awake) * dt;
    rc_spans_note(p, lane, &course);
    if (of.standing)
        rc_stages_wait(p, lane, &course, dt);
    rc_stages_count(p, lane, course, dt);
    const double is_one_way = before * end > 0.0 ? 1.0 : 0.0;
    count_bulge(p, lane, dt, is_one_way * lagging * p->servo.lag[lane] * p->per_own_inertia[lane], residual, p->residual[lane]);
}

/* In three loops: each is short enough for the processor to work at several vectors of lanes at a time. */
RC_INLINE void servo_lanes(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct made_for of)
{
    rc_lane steady, lagging, end, wait;
    RC_FOR_LANES(lane)
    {
        const struct pull pull = take_pull(p, lane, tick->dt, of);
        steady[lane] = pull.steady;
        lagging[lane] = pull.lagging;
    }
    RC_FOR_LANES(lane)
    {
        const struct swung swung = servo_tick(p, lane, tick, (struct pull){ steady[lane], lagging[lane] }, of);
        end[lane] = swung.rate;
        wait[lane] = swung.wait;
    }
    RC_FOR_LANES(lane)
    count_tick(p, lane, tick, (struct swung){ end[lane], wait[lane] }, lagging[lane], of);
}

/* How many lanes stand? */
RC_INLINE double standing_lanes(const struct rc_platform_lanes *p)
{
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++)
        n += p->rate[lane] == 0.0 ? 1.0 : 0.0;
    return n;
}

RC_KERNEL static void servo_run(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                const struct rc_platform_stretch *stretch)
{
    struct rc_spans_reel reel = rc_spans_reel_at(clock, stretch->first);
    for (int done = 0; done < stretch->n_ticks; done++) {
        const struct rc_tick tick = rc_spans_next(clock, stretch, done);
        rc_stages_weigh(p, &tick);
        rc_senses_begin(p, clock, &tick);
        if (clock->has_battery && tick.first % clock->control_every == 0)
            rc_stages_drain(p, clock, 0);
        rc_stages_control(p, clock, tick.first);
        if (clock->has_play)
            servo_lanes(p, &tick, (struct made_for){ 1, 1, 0 });
        else if (standing_lanes(p) > 0.0)
            servo_lanes(p, &tick, (struct made_for){ 1, 0, 1 });
        else if (clock->has_cogging)
            servo_lanes(p, &tick, (struct made_for){ 1, 0, 0 });
        else
            servo_lanes(p, &tick, (struct made_for){ 0, 0, 0 });
        rc_senses_end(p, clock, &tick, NULL);
        rc_spans_frames(p, clock, &tick, NULL, &reel);
        if (stretch->watch != NULL)
            rc_spans_watch(p, clock, stretch, &tick, NULL);
    }
}

/* The bulge that a lag makes in the rate over a tick of x lags, b(s) = 1 - exp(-x s) - s (1 - exp(-x)), s from 0 to 1. */
static void fill_bulge(struct rc_servo_lanes *s, int lane, double x)
{
    const double full = -expm1(-x);
    const double first = 0.5 - (1.0 - exp(-x) * (1.0 + x)) / (x * x); /* the mean of s (1 - exp(-x s)) */
    s->bulge_mean[lane] = 1.0 - full / x - 0.5 * full;
    s->bulge_moment[lane] = first - full / 3.0;
    s->bulge_square[lane] = 1.0 - 2.0 * full / x - 0.5 * expm1(-2.0 * x) / x - 2.0 * full * first + full * full / 3.0;
    s->bulge_middle[lane] = -expm1(-0.5 * x) - 0.5 * full;
}

static void servo_begin(struct rc_platform_lanes *p, int lane, const struct rc_platform_clock *clock,
                        const struct rc_platform_setup *setup)
{
    const double dt = clock->dt;
    const struct rc_servo_design *const d = &setup->drive->servo;
    const double scale = rc_platform_geared(setup->parts);
    struct rc_servo_lanes *const s = &p->servo;
    s->stiffness[lane] = scale * d->stiffness;
    s->limit[lane] = scale * d->torque;
    s->lag_decay[lane] = d->lag > 0.0 ? exp(-dt / d->lag) : 0.0;
    s->lag_share[lane] = d->lag > 0.0 ? (1.0 - s->lag_decay[lane]) * d->lag / dt : 0.0;
    s->lag[lane] = d->lag;
    if (d->lag > 0.0)
        fill_bulge(s, lane, dt / d->lag);
    s->cogging[lane] = setup->parts->gear_ratio * d->cogging;
    s->cogs[lane] = setup->parts->gear_ratio * d->cogs;
}

/* Its limit, or what it gives for a command of the top rate; from the deepest notch of its cogging. */
static double greatest_torque(const struct rc_burden *burden)
{
    const struct rc_servo_design *const servo = &burden->drive->servo;
    const double driven = fmin(servo->torque, servo->stiffness * burden->drive->top);
    return driven * rc_platform_geared(burden->parts) - burden->parts->gear_ratio * servo->cogging;
}

static const struct rc_drive_rule rules[] = {
    { "drive.torque_Nm", "greatest torque", NULL, greatest_torque, 0 },
};

const struct rc_drive_kind rc_servo_kind = {
    .name = "servo",
    .summary = "torque-controlled servo: deadband, torque limit and current lag in that order, cogging, a top rate",
    .begin = servo_begin,
    .draws_by_load = true,
    .run = servo_run,
    .n_rules = sizeof rules / sizeof rules[0],
    .rules = rules,
    .needs_rotor = 1,
};
