/* Torque-controlled servo behind a gear: the command becomes a torque through deadband, clamp and the current loop's lag;
 * bearing, gear and vehicle then decide how the platform moves. It has no floor rate and no standstill of its own. */
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "platform/bearing.h"
#include "platform/bent.h"
#include "platform/motion.h"
#include "platform/senses.h"
#include "platform/swinging.h"

/* What a drive's loop is made for. */
struct made_for {
    int cogging;
    int standing;    /* some lane stands */
};

/* What a tick makes of rates and torques: found anew where viscous friction has become another, as it does with the inertia of a
 * vehicle that gives way. */
RC_INLINE void find_pace(struct rc_platform_lanes *p, double dt)
{
    struct rc_servo_lanes *const s = &p->servo;
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++)
        n += s->fade[lane] == p->viscous[lane] * p->per_own_inertia[lane] ? 0.0 : 1.0;
    if (!(n > 0.0))
        return;
    RC_FOR_LANES(lane)
    {
        const double fade = p->viscous[lane] * p->per_own_inertia[lane], left = s->lag_decay[lane];
        const struct rc_motion_terms e = rc_motion_terms_by(fade, s->lag[lane], s->per_lag[lane], dt, p->decay[lane], left);
        s->fade[lane] = fade;
        s->q1[lane] = e.q1;
        s->q2[lane] = e.q2;
        s->q3[lane] = e.q3;
        s->q4[lane] = e.q4;
        s->lagged[lane] = e.lagged;
        s->lagged_angle[lane] = e.lagged_angle;
    }
}

RC_INLINE struct rc_motion_terms pace_terms(const struct rc_platform_lanes *p, int lane)
{
    const struct rc_servo_lanes *const s = &p->servo;
    return (struct rc_motion_terms){ p->decay[lane], s->q1[lane], s->q2[lane], s->q3[lane], s->q4[lane], s->lag_decay[lane],
                                     s->lagged[lane], s->lagged_angle[lane] };
}

/* The motor's torque over a tick.
 * in/out p->servo.torque  that of the tick's ends [N m] */
RC_INLINE void take_pull(struct rc_platform_lanes *p, int lane, struct rc_swinging_pull *pull)
{
    struct rc_servo_lanes *const s = &p->servo;
    const double command = p->command[lane];
    const double has_power = p->mode[lane] == RC_DRIVE_ASLEEP ? 0.0 : 1.0;
    const double is_wanted = has_power * (rc_lane_abs(command) > p->deadband[lane] ? 1.0 : 0.0);
    const double wanted = is_wanted * rc_lane_clamp(s->stiffness[lane] * command, s->limit[lane]);
    const double off = s->torque[lane] - wanted;
    s->torque[lane] = wanted + off * s->lag_decay[lane];
    pull->wanted[lane] = wanted;
    pull->lagging[lane] = s->lag[lane] > 0.0 ? off : 0.0;
}

/* The motor's cogs in mid-tick, as if the rate stayed the same: a sine takes long, and this one waits for nothing. */
struct cogs {
    rc_lane sine, cosine;   /* [1] */
};
RC_INLINE void find_cogs(const struct rc_platform_lanes *p, int lane, double dt, struct cogs *cogs)
{
    const double phase = p->servo.cogs[lane] * (p->turned[lane] + 0.5 * dt * p->rate[lane]);
    rc_motion_phase(phase, &cogs->sine[lane], &cogs->cosine[lane]);
}

/* The cogging over a tick. in turned  angle without it [rad]; out beside  rc_motion_cogging_at_once's */
RC_INLINE struct rc_motion_parabola cog_on(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick,
                                           struct rc_motion m, double turned, const struct cogs *cogs, double *beside)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double half = 0.5 * tick->dt, soon = 0.5 * (m.now - s->fade[lane] * m.rate) + (1.0 / 6.0) * m.slope * half;
    const double curved = s->cogs[lane] * (half * half * soon + m.lagging * s->lagged_middle[lane]);
    const double passed = s->cogs[lane] * turned, ahead = 0.5 * passed - s->cogs[lane] * (half * m.rate) - curved;
    *beside = curved;
    return rc_motion_cogging_at_once(cogs->sine[lane], cogs->cosine[lane], curved, passed, ahead, s->cogs[lane],
                                     s->cogging[lane] * p->per_own_inertia[lane], tick->dt, tick->per_dt);
}

/* How a tick went. */
struct swing {
    double end, turned;   /* rate at its end [rad/s], angle [rad]               */
    double lagging;       /* size of the bulge that the lag makes [rad/s]        */
    double happens;       /* 1 where something may have happened in it instead  */
};

/* A tick that begins at standstill: does it stay so? In the tick what lags goes one way, and the vehicle's part of the push by
 * no more than its slopes say. */
RC_INLINE double is_torn(const struct rc_platform_lanes *p, int lane, double dt, double wanted, double lagging, double left,
                         struct rc_swinging_roll roll)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double steady = wanted - s->cogging[lane] * rc_lane_sine(s->cogs[lane] * p->turned[lane]);
    const double carried = p->coupling[lane], change = dt * (roll.slope + dt * roll.bend);
    const double first = steady + lagging - carried * roll.now, last = steady + lagging * left - carried * (roll.now + change);
    const double slack = carried * dt * (rc_lane_abs(roll.slope) + dt * rc_lane_abs(roll.bend));
    const double most = rc_lane_max(rc_lane_abs(first), rc_lane_abs(last)) + slack;
    const double rubs = rc_lane_min(rc_bearing_friction_at(p, lane, -0.5 * dt), rc_bearing_friction_at(p, lane, 0.5 * dt));
    return most > rubs * p->starting_ratio[lane] ? 1.0 : 0.0;
}

/* One tick in which nothing happens: the platform goes one way, slower than the top rate, or stands. */
RC_INLINE struct swing swing_tick(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick,
                                  const struct rc_swinging_pull *pull, const struct cogs *cogs, const struct made_for of)
{
    const double dt = tick->dt, rate = p->rate[lane], sense = rc_lane_sense(rate), per = p->per_own_inertia[lane];
    const struct rc_servo_lanes *const s = &p->servo;
    const double carried = p->coupling[lane] * per, lagging = pull->lagging[lane];
    const double rubs = rc_bearing_friction_at(p, lane, -0.5 * dt);
    const double rubs_slope = (rc_bearing_friction_at(p, lane, 0.5 * dt) - rubs) * tick->per_dt;
    const struct rc_swinging_roll roll = rc_swinging_roll(p, lane, tick);
    const struct rc_motion_terms e = pace_terms(p, lane);
    struct rc_motion m = { rate, (pull->wanted[lane] - sense * rubs) * per - carried * roll.now,
                           -carried * roll.slope - sense * rubs_slope * per, -carried * roll.bend, lagging * per };
    double turned = rc_motion_angle(m, e), beside = 0.0;
    if (of.cogging) {
        const struct rc_motion_parabola cogging = cog_on(p, lane, tick, m, turned, cogs, &beside);
        m.now += cogging.now;
        m.slope += cogging.slope;
        turned += cogging.now * e.q2 + cogging.slope * e.q3;
    }
    const double end = rc_motion_rate(m, e);
    /* Between its ends a rate is off the straight by no more than a quarter of what its slope changes. */
    const double bends = 0.25 * dt * (rc_lane_abs(m.lagging) + dt * rc_lane_abs(m.slope));
    const double slowest = rc_lane_min(sense * rate, sense * end), fastest = rc_lane_max(sense * rate, sense * end);
    const double most = of.cogging ? rc_lane_min(p->top[lane], s->slow[lane]) : p->top[lane];
    const double is_clear = ((slowest > bends) & (fastest + bends < most)) ? 1.0 : 0.0;
    const double is_fine = of.cogging ? (rc_lane_abs(beside) < RC_MOTION_BESIDE ? 1.0 : 0.0) : 1.0;
    struct swing swing = { end, turned, m.lagging * s->lag[lane], 1.0 - is_clear * is_fine };
    if (of.standing) {
        const double torn = is_torn(p, lane, dt, pull->wanted[lane], lagging, e.left, roll), moves = sense * sense;
        swing = (struct swing){ rc_lane_pick(moves, end, 0.0), rc_lane_pick(moves, swing.turned, 0.0),
                                rc_lane_pick(moves, swing.lagging, 0.0), rc_lane_pick(moves, swing.happens, torn) };
    }
    return swing;
}

/* The bend of a tick in which nothing happened, after it is counted. in start  residual rate at its beginning [rad/s] */
RC_INLINE struct rc_bent_piece bend_of(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double start,
                                          const struct rc_spans_track *track)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double felt = 1.0 - p->reaction[lane];
    return (struct rc_bent_piece){ tick->dt, start, p->residual[lane], felt * track->lagging[0][lane], s->lags[lane],
                                      s->lag_decay[lane], felt * track->bulge[0][lane] -
                                      (1.0 / 3.0) * rc_stages_roll_bend(p, lane, tick) };
}

/* Take over a tick in which nothing happened, and count it. ends 1 where the residual rate may have its peak inside */
RC_INLINE double count_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double turned,
                            struct rc_spans_track *track)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double dt = tick->dt, before = p->rate[lane], end = track->to[0][lane], start = p->residual[lane];
    const double roll_start = rc_stages_roll(p, lane, tick->theta), roll_end = rc_stages_roll(p, lane, tick->theta_end);
    const double off = turned * tick->per_dt - 0.5 * (before + end);
    const struct rc_course course = { roll_start, roll_end, before, end, end, 1.0, p->target[lane], 0.0, 1, 0, 0.0, off };
    const struct rc_motion_bulge b = { s->bulge_mean[lane], s->bulge_moment[lane], s->bulge_square[lane] };
    p->ran_before[lane] = p->rate_before[lane];
    p->rate[lane] = end;
    p->turned[lane] += turned;
    p->tally.asleep[lane] += p->mode[lane] == RC_DRIVE_ASLEEP ? dt : 0.0;
    rc_stages_count(p, lane, course, dt);
    track->from[0][lane] = before;
    track->until[0][lane] = 1.0;
    track->bulge[0][lane] = off - track->lagging[0][lane] * b.mean;
    const struct rc_bent_piece bend = bend_of(p, lane, tick, start, track);
    rc_bent_count(&p->tally, lane, bend, b);
    return rc_bent_peaks(&p->tally, lane, bend, b);
}

/* Look for peaks of the residual rate inside a tick in which nothing happened. in start (lanes)  as bend_of */
RC_INLINE void find_crests(struct rc_platform_lanes *p, const struct rc_tick *tick, const double *start,
                           const struct rc_spans_track *track)
{
    struct rc_bent_crests crests;
    RC_FOR_LANES(lane)
    {
        const struct rc_servo_lanes *const s = &p->servo;
        const struct rc_motion_bulge b = { s->bulge_mean[lane], s->bulge_moment[lane], s->bulge_square[lane] };
        const struct rc_bent_piece bend = bend_of(p, lane, tick, start[lane], track);
        rc_bent_keep(&crests, lane, rc_bent_peaks(&p->tally, lane, bend, b), bend);
    }
    rc_bent_crest(&p->tally, &crests);
}

/* Count a tick of all lanes. */
RC_INLINE void count_lanes(struct rc_platform_lanes *p, const struct rc_tick *tick, const double *turned,
                           struct rc_spans_track *track)
{
    rc_lane start;
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        start[lane] = p->residual[lane];
        n += count_tick(p, lane, tick, turned[lane], track);
    }
    if (n > 0.0)
        find_crests(p, tick, start, track);
}

/* Move the lanes over a tick as if nothing happened in it.
 * out turned, happens (lanes); track  rates at the end. ends in how many something may have happened */
RC_INLINE double swing_lanes(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct rc_swinging_pull *pull,
                             const struct cogs *cogs, const struct made_for of, double *turned, double *happens,
                             struct rc_spans_track *track)
{
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const struct swing swing = swing_tick(p, lane, tick, pull, cogs, of);
        track->to[0][lane] = swing.end;
        track->lagging[0][lane] = swing.lagging;
        turned[lane] = swing.turned;
        happens[lane] = swing.happens;
        n += swing.happens;
    }
    return n;
}

/* A tick in some lanes of which something happens: the others are taken as if alone. */
RC_KERNEL static void run_swinging(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                                   const struct rc_swinging_pull *pull, const double *turned, const double *happens,
                                   struct rc_spans_track *track)
{
    /* All that counting a tick changes. */
    struct rc_tally *const t = &p->tally;
    double *const changed[] = { p->rate, p->turned, p->rate_before, p->residual, t->held, t->square, t->residual_peak, t->drift,
                                t->roll_peak, t->asleep };
    enum { N_CHANGED = sizeof changed / sizeof changed[0] };
    rc_lane kept[N_CHANGED];
    for (int i = 0; i < N_CHANGED; i++)
        memcpy(kept[i], changed[i], sizeof kept[i]);
    count_lanes(p, tick, turned, track);
    for (int i = 0; i < N_CHANGED; i++)
        RC_FOR_LANES(lane)
        changed[i][lane] = rc_lane_pick(happens[lane], kept[i][lane], changed[i][lane]);
    rc_swinging_run(p, clock, tick, pull, happens, track);
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

/* With play every lane goes by pieces: from flank to flank. ends how many */
RC_INLINE double all_lanes(double *happens)
{
    RC_FOR_LANES(lane)
    happens[lane] = 1.0;
    return RC_LANES;
}

/* One tick of all lanes. In several loops: each is short enough for the processor to work at several vectors of lanes at a
 * time. */
RC_INLINE void servo_lanes(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                           struct rc_spans_track *track)
{
    struct rc_swinging_pull pull;
    struct cogs cogs;
    rc_lane turned, happens;
    double n;
    if (clock->has_cogging)
        RC_FOR_LANES(lane)
        {
            find_cogs(p, lane, tick->dt, &cogs);
            take_pull(p, lane, &pull);
        }
    else
        RC_FOR_LANES(lane)
        take_pull(p, lane, &pull);
    if (clock->has_play) {
        (void)all_lanes(happens);
        rc_swinging_run(p, clock, tick, &pull, happens, track);
        return;
    }
    /* A lane that stands is not clear of rest, either. */
    if (clock->has_cogging)
        n = swing_lanes(p, tick, &pull, &cogs, (struct made_for){ 1, 0 }, turned, happens, track);
    else
        n = swing_lanes(p, tick, &pull, &cogs, (struct made_for){ 0, 0 }, turned, happens, track);
    if (n > 0.0 && standing_lanes(p) > 0.0)
        n = swing_lanes(p, tick, &pull, &cogs, (struct made_for){ clock->has_cogging, 1 }, turned, happens, track);
    track->n = 1;
    if (n > 0.0)
        run_swinging(p, clock, tick, &pull, turned, happens, track);
    else
        count_lanes(p, tick, turned, track);
}

/* What of a track is the same for all ticks. */
RC_INLINE void begin_track(const struct rc_platform_lanes *p, struct rc_spans_track *track)
{
    track->has_lag = 1;
    RC_FOR_LANES(lane)
    {
        track->is_on[lane] = 1.0;
        track->jump[0][lane] = 0.0;
        track->lags[lane] = p->servo.lags[lane];
        track->left[lane] = p->servo.lag_decay[lane];
    }
}

RC_KERNEL static void servo_run(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                const struct rc_platform_stretch *stretch)
{
    struct rc_spans_reel reel = rc_spans_reel_at(clock, stretch->first);
    struct rc_spans_track track;
    begin_track(p, &track);
    find_pace(p, clock->dt);
    for (int done = 0; done < stretch->n_ticks; done++) {
        const struct rc_tick tick = rc_spans_next(clock, stretch, done);
        rc_stages_weigh(p, &tick);
        rc_senses_begin(p, clock, &tick);
        if (clock->has_battery && tick.first % clock->control_every == 0)
            rc_stages_drain(p, clock, 0);
        rc_stages_control(p, clock, tick.first);
        servo_lanes(p, clock, &tick, &track);
        rc_senses_end(p, clock, &tick, &track);
        rc_spans_frames(p, clock, &tick, &track, &reel);
        if (stretch->watch != NULL)
            rc_spans_watch(p, clock, stretch, &tick, &track);
    }
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
    s->lag[lane] = d->lag;
    s->per_lag[lane] = d->lag > 0.0 ? 1.0 / d->lag : 0.0;
    s->lags[lane] = dt * s->per_lag[lane];
    s->lag_decay[lane] = d->lag > 0.0 ? exp(-s->lags[lane]) : 0.0;
    const struct rc_motion_bulge bulge = rc_motion_bulge(s->lags[lane], s->lag_decay[lane]);
    s->bulge_mean[lane] = bulge.mean;
    s->bulge_moment[lane] = bulge.moment;
    s->bulge_square[lane] = bulge.square;
    s->lagged_middle[lane] = rc_motion_terms(0.0, d->lag, s->per_lag[lane], 0.5 * dt).lagged_angle;
    s->cogging[lane] = setup->parts->gear_ratio * d->cogging;
    s->cogs[lane] = setup->parts->gear_ratio * d->cogs;
    const double pushed = s->cogs[lane] * s->cogging[lane] / setup->parts->inertia * dt * dt;
    s->slow[lane] = s->cogging[lane] > 0.0 ? RC_MOTION_PHASE / (s->cogs[lane] * dt) : INFINITY;
    s->slow[lane] = pushed < RC_MOTION_PUSHED ? s->slow[lane] : 0.0;
    s->fade[lane] = -1.0;
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
    .slows_by_voltage = true,
    .run = servo_run,
    .n_rules = sizeof rules / sizeof rules[0],
    .rules = rules,
    .needs_rotor = 1,
};
