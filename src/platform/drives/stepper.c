/* Stepper behind a gear. A generator of steps follows the command along a ramp; the motor follows the generator as long as the
 * load stays within its pull-out torque at that step rate. Beyond, it loses its steps: then it gives no torque, the bearing alone
 * moves the platform, and it picks up again when the generator is slow enough against it (slipping.c). */
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "platform/ripple.h"
#include "platform/senses.h"
#include "platform/slipping.h"

/* One tick or span of one lane in step, without play. */
RC_INLINE void stepper_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct rc_stepping_ramp ramp)
{
    const double dt = tick->dt, pace = p->stepper.pace[lane], before = p->rate[lane];
    const double roll_start = rc_stages_roll(p, lane, tick->theta), roll_end = rc_stages_roll(p, lane, tick->theta_end);
    const double target = p->target[lane] - p->ripple[lane];
    const double turned = dt * (0.5 * ramp.share * (pace + ramp.end) + (1.0 - ramp.share) * ramp.end);
    /* Where single steps swing it by more than the target, it is never held. */
    const struct rc_course course = { roll_start, roll_end, before, ramp.end, ramp.end, ramp.share,
                                      target > 0.0 ? target : -1e9, 0.0, 0, 0, rc_stages_roll_bend(p, lane, tick), 0.0 };
    rc_spans_note(p, lane, &course);
    p->rate[lane] = ramp.end;
    p->turned[lane] += turned;
    rc_stepping_end(p, lane, 1.0, ramp.end, 0.0);
    const double peak = p->tally.residual_peak[lane];
    p->tally.residual_peak[lane] = 0.0;
    rc_stages_count(p, lane, course, dt);
    p->tally.residual_peak[lane] = rc_lane_max(peak, p->tally.residual_peak[lane] + p->ripple[lane]);
    p->tally.square[lane] += dt * p->ripple_square[lane];
}

RC_INLINE void stepper_lanes(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct rc_stepping_ramps *ramps)
{
    RC_FOR_LANES(lane)
    stepper_tick(p, lane, tick, rc_stepping_ramp_of(ramps, lane));
}

/* The table's least torque between two step rates: at both, and at the points between, row by row over all lanes.
 * in  slow <= fast [1/s]
 * out least at the motor [N m] */
RC_INLINE void find_least(const struct rc_pull_out_points *table, const double *slow, const double *fast, double *least)
{
    rc_lane at_slow, at_fast;
    RC_FOR_LANES(lane)
    {
        at_slow[lane] = at_fast[lane] = table->torque[0];
        least[lane] = INFINITY;
    }
    for (int row = 1; row < table->n; row++) {
        const double from = table->rate[row - 1], to = table->rate[row], width = to - from, torque = table->torque[row];
        const double slope = (torque - table->torque[row - 1]) / width;
        RC_FOR_LANES(lane)
        {
            at_slow[lane] += slope * rc_lane_min(rc_lane_max(slow[lane] - from, 0.0), width);
            at_fast[lane] += slope * rc_lane_min(rc_lane_max(fast[lane] - from, 0.0), width);
            const double is_between = ((to > slow[lane]) & (to < fast[lane])) ? torque : INFINITY;
            least[lane] = rc_lane_min(least[lane], is_between);
        }
    }
    RC_FOR_LANES(lane)
    least[lane] = rc_lane_min(least[lane], rc_lane_min(at_slow[lane], at_fast[lane]));
}

/* The least torque that the motor has on the ramp of a span, at the platform [N m]. */
RC_INLINE void find_available(const struct rc_platform_lanes *p, const struct rc_stepping_ramps *ramps,
                              const struct rc_pull_out_points *table, double *available)
{
    const struct rc_stepper_lanes *const s = &p->stepper;
    rc_lane fastest, slow, fast, given;
    RC_FOR_LANES(lane)
    {
        const double pace = s->pace[lane], ramp_end = ramps->end[lane];
        const double start = rc_lane_abs(pace), end = rc_lane_abs(ramp_end);
        fastest[lane] = rc_lane_max(start, end);
        fast[lane] = fastest[lane] * s->steps_per_angle[lane];
        slow[lane] = pace * ramp_end < 0.0 ? 0.0 : rc_lane_min(start, end) * s->steps_per_angle[lane];
    }
    if (table->n > 0) {
        find_least(table, slow, fast, given);
        RC_FOR_LANES(lane)
        given[lane] *= s->table_scale[lane];
    } else {
        rc_stepping_give(s, table, fastest, given); /* it falls with the rate */
    }
    /* A resonance band anywhere between the two rates counts. */
    RC_FOR_LANES(lane)
    {
        const double in_band = ((fast[lane] >= s->resonance_low[lane]) & (slow[lane] <= s->resonance_high[lane])) ? 1.0 : 0.0;
        available[lane] = s->torque_factor[lane] * given[lane] *
                          rc_lane_pick(in_band, rc_lane_min(s->resonance_share[lane], 1.0), 1.0);
    }
}

/* The greatest torque that a span asks of the motor, on its ramp or after it, by the vehicle's mean acceleration [N m]. */
RC_INLINE double greatest_load(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick,
                               struct rc_stepping_ramp ramp)
{
    const double pace = p->stepper.pace[lane];
    const double push = -p->coupling[lane] * rc_stages_roll_change(p, lane, tick) * tick->per_dt;
    const double is_at_rest = pace == 0.0 ? 1.0 : 0.0, ends_at_rest = ramp.end == 0.0 ? 1.0 : 0.0;
    const double friction = rc_bearing_friction(p, lane);
    const double steady = rc_stepping_load(p, lane, friction, ramp.end, 0.0, rc_lane_sense(ramp.end), push, ends_at_rest);
    const double ramping = rc_stepping_load(p, lane, friction, ramp.end, ramp.slope / p->per_own_inertia[lane],
                                            rc_lane_sense(pace + ramp.end), push, is_at_rest);
    return rc_lane_max(steady, ramp.share > 0.0 ? ramping : 0.0);
}

/* Which lanes may not be taken as if in step: they slip, have no power, or their load comes within a tenth of pull-out
 * somewhere on the ramp. ends how many */
RC_INLINE double find_strained(const struct rc_platform_lanes *p, const struct rc_tick *tick,
                               const struct rc_stepping_ramps *ramps, const struct rc_pull_out_points *table, double *is_strained)
{
    rc_lane available;
    find_available(p, ramps, table, available);
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const struct rc_stepping_ramp ramp = rc_stepping_ramp_of(ramps, lane);
        /* Through a standstill friction turns round. */
        const double both_ways = 2.0 * rc_stages_friction(p, lane) * p->starting_ratio[lane];
        const double turning = p->stepper.pace[lane] * ramp.end <= 0.0 ? both_ways : 0.0;
        const double load = greatest_load(p, lane, tick, ramp) + turning;
        const double in_step = ((p->mode[lane] != RC_DRIVE_SLIPPING) & (p->mode[lane] != RC_DRIVE_ASLEEP)) ? 1.0 : 0.0;
        const double strained = load < 0.9 * available[lane] ? 1.0 - in_step : 1.0;
        is_strained[lane] = strained;
        n += strained;
    }
    return n;
}

/* With play every lane goes by pieces: from flank to flank. ends how many */
RC_INLINE double all_lanes(double *is_strained)
{
    RC_FOR_LANES(lane)
    is_strained[lane] = 1.0;
    return RC_LANES;
}

/* What follows the motion of a span or tick: the sample that the next command hears, frames, and whoever watches.
 * in track  NULL, or that of strained lanes */
RC_KERNEL static void look(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                           const struct rc_platform_stretch *stretch, const struct rc_tick *tick,
                           const struct rc_spans_track *track, struct rc_spans_reel *reel)
{
    rc_senses_end(p, clock, tick, track);
    rc_spans_frames(p, clock, tick, track, reel);
    if (stretch->watch != NULL)
        rc_spans_watch(p, clock, stretch, tick, track);
}

/* A tick or span in which some lanes are strained: the others are taken as if alone.
 * in  ramps; n_strained  how many are
 * out track       of those */
RC_KERNEL static void run_strained(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                                   const struct rc_stepping_ramps *ramps, const double *is_strained, double n_strained,
                                   struct rc_spans_track *track)
{
    if (n_strained == RC_LANES) {
        rc_slipping_run(p, clock, tick, is_strained, track);
        return;
    }
    /* All that a tick in step changes. */
    struct rc_tally *const t = &p->tally;
    double *const changed[] = {
        p->rate, p->turned, p->rate_before, p->residual, p->mode, p->direction, p->stepper.pace, t->held, t->square,
        t->residual_peak, t->drift, t->roll_peak, t->starts, t->reversals,
    };
    enum { N_CHANGED = sizeof changed / sizeof changed[0] };
    rc_lane kept[N_CHANGED];
    for (int i = 0; i < N_CHANGED; i++)
        memcpy(kept[i], changed[i], sizeof kept[i]);
    stepper_lanes(p, tick, ramps);
    for (int i = 0; i < N_CHANGED; i++)
        RC_FOR_LANES(lane)
        changed[i][lane] = rc_lane_pick(is_strained[lane], kept[i][lane], changed[i][lane]);
    rc_slipping_run(p, clock, tick, is_strained, track);
}

RC_KERNEL static void stepper_run(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                  const struct rc_platform_stretch *stretch)
{
    const int whole = clock->span > 1 ? clock->span : 1, look_every = clock->full_span > 0 ? clock->full_span : whole;
    int length = whole;
    struct rc_ripple_swing swing;
    rc_ripple_find_swing(p, &swing);
    struct rc_spans_reel reel = rc_spans_reel_at(clock, stretch->first);
    for (int done = 0; done < stretch->n_ticks;) {
        const struct rc_tick tick = rc_spans_next(clock, stretch, done);
        done += tick.n;
        if (tick.n != length)
            rc_platform_relength(p, tick.dt);
        length = tick.n;
        rc_stages_weigh(p, &tick);
        rc_senses_begin(p, clock, &tick);
        if (clock->has_battery && tick.first % clock->control_every == 0)
            rc_stages_drain(p, clock, 0);
        rc_stages_control(p, clock, tick.first);
        struct rc_stepping_ramps ramps;
        rc_stepping_find_ramps(p, &tick, &ramps);
        if (tick.first % look_every == 0)
            rc_ripple_find(p, &swing, &(struct rc_tick){ .first = tick.first, .n = look_every });
        rc_lane is_strained;
        struct rc_spans_track track;
        track.has_lag = 0;
        const double n_strained = clock->has_play ? all_lanes(is_strained)
                                                  : find_strained(p, &tick, &ramps, &clock->pull_out, is_strained);
        if (n_strained > 0.0)
            run_strained(p, clock, &tick, &ramps, is_strained, n_strained, &track);
        else
            stepper_lanes(p, &tick, &ramps);
        if ((tick.first + tick.n) % look_every == 0)
            rc_ripple_settle(p);
        look(p, clock, stretch, &tick, n_strained > 0.0 ? &track : NULL, &reel);
    }
}

/* Winding and steps as lanes. source docs/theory.md, "Stepper" */
static void fill_motor(struct rc_stepper_lanes *s, int lane, const struct rc_platform_design *parts,
                       const struct rc_stepper_design *d)
{
    const double ratio = parts->gear_ratio, scale = rc_platform_geared(parts);
    const double teeth = 0.25 * d->steps; /* of a two-phase hybrid motor: four full steps a tooth */
    const double torque_per_current = d->current > 0.0 ? d->holding_torque / d->current : 0.0; /* teeth times flux */
    s->holding[lane] = scale * d->holding_torque;
    s->detent[lane] = ratio * d->detent_torque;
    s->steps_per_angle[lane] = d->steps > 0.0 ? ratio * d->steps / (2.0 * RC_PI) : 1.0;
    s->microstep[lane] = d->microsteps > 0.0 ? 1.0 / (s->steps_per_angle[lane] * d->microsteps) : 0.0;
    s->back_emf[lane] = torque_per_current * ratio;
    s->reactance[lane] = d->inductance * teeth * ratio;
    s->resistance[lane] = d->resistance;
    s->supply[lane] = d->supply;
    s->torque_per_voltage[lane] = scale * torque_per_current;
    s->torque_factor[lane] = d->torque_factor;
    s->table_scale[lane] = scale;
    s->resonance_low[lane] = d->resonance_low;
    s->resonance_high[lane] = d->resonance_high;
    s->resonance_share[lane] = d->resonance_high > 0.0 ? d->resonance_share : 1.0;
}

/* The swing about a step. At critical damping there is none any more: a tenth of a per cent short of it nothing else changes. */
static void fill_swing(struct rc_stepper_lanes *s, int lane, double damping)
{
    const double zeta = fmin(damping, 0.999), share = sqrt(1.0 - zeta * zeta), wear = zeta / share, angle = acos(zeta);
    s->damping[lane] = zeta;
    s->swing_share[lane] = share;
    s->per_swing_share[lane] = 1.0 / share;
    s->wear[lane] = wear;
    s->per_wear[lane] = 1.0 / wear;
    s->crest_angle[lane] = angle;
    s->per_crest_left[lane] = exp(wear * angle);
    s->half_left[lane] = exp(-wear * RC_PI);
}

static void stepper_begin(struct rc_platform_lanes *p, int lane, const struct rc_platform_clock *clock,
                          const struct rc_platform_setup *setup)
{
    (void)clock;
    fill_motor(&p->stepper, lane, setup->parts, &setup->drive->stepper);
    fill_swing(&p->stepper, lane, setup->drive->stepper.damping);
}

static double holding_torque(const struct rc_burden *burden)
{
    return burden->drive->stepper.holding_torque * rc_platform_geared(burden->parts);
}

/* Slower than the deadband it is told nothing. By the winding it has at most the holding torque: where that is too weak, it has
 * been said. */
static double slowest_pull_out(const struct rc_burden *burden)
{
    if (burden->pull_out->n == 0 && !(holding_torque(burden) > rc_platform_friction_at_rest(burden)))
        return INFINITY;
    struct rc_stepper_lanes one; /* in lane 0 */
    memset(&one, 0, sizeof one);
    fill_motor(&one, 0, burden->parts, &burden->drive->stepper);
    if (burden->drive->battery.full > 0.0)
        one.supply[0] = burden->drive->battery.full;
    rc_lane pace, given;
    for (int lane = 0; lane < RC_LANES; lane++)
        pace[lane] = burden->drive->deadband;
    rc_stepping_give(&one, burden->pull_out, pace, given);
    return rc_stepping_pull_out(&one, 0, given[0], rc_stepping_share(&one, 0, pace[0] * one.steps_per_angle[0]));
}

static int band_is_ordered(const struct rc_burden *burden)
{
    const struct rc_stepper_design *const d = &burden->drive->stepper;
    return d->resonance_high >= d->resonance_low || !(d->resonance_high > 0.0);
}

static const struct rc_drive_rule rules[] = {
    { "drive.resonance_high_hz", "at least drive.resonance_low_hz, or 0", band_is_ordered, NULL, 0 },
    { "drive.holding_torque_Nm", "holding torque", NULL, holding_torque, 0 },
    { "drive", "pull-out torque at the slowest rate it obeys (deadband_dps)", NULL, slowest_pull_out, 0 },
};

const struct rc_drive_kind rc_stepper_kind = {
    .name = "stepper",
    .summary = "stepper: holds every step it is told, up to its pull-out torque; beyond, it loses steps and lets go",
    .begin = stepper_begin,
    .takes_pull_out = true,
    .spans = true,
    .run = stepper_run,
    .n_rules = sizeof rules / sizeof rules[0],
    .rules = rules,
};
