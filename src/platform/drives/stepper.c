/* Stepper behind a gear. A generator of steps follows the command along a ramp; the motor follows the generator as long as the
 * load stays within its pull-out torque at that step rate. Beyond, it loses its steps: then it gives no torque, the bearing alone
 * moves the platform, and it picks up again when the generator is slow enough against it. */
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "platform/bearing.h"
#include "platform/senses.h"

/* Pull-out torque at the platform from the winding: the phasor model of a hybrid stepper on a voltage source, capped by the
 * current limit. source P. Acarnley, Stepping Motors: A Guide to Theory and Practice, chapter on pull-out torque [memory]
 * in  rate  of the steps, as a platform rate, magnitude [rad/s] */
RC_INLINE double winding_torque(const struct rc_stepper_lanes *s, int lane, double rate)
{
    const double resistance = s->resistance[lane], reactance = rate * s->reactance[lane];
    const double square = resistance * resistance + reactance * reactance;
    const double per_square = 1.0 / square;
    const double driven = s->supply[lane] * (__builtin_sqrt(square) * per_square);
    const double braked = rate * s->back_emf[lane] * resistance * per_square;
    return rc_lane_min(s->holding[lane], s->torque_per_voltage[lane] * (driven - braked));
}

/* The same from the table: straight between its points, held outside. Every lane walks through all segments. */
RC_INLINE double table_torque(const struct rc_pull_out_points *table, double step_rate)
{
    double torque = table->torque[0];
    for (int row = 1; row < table->n; row++) {
        const double width = table->rate[row] - table->rate[row - 1];
        const double into = rc_lane_min(rc_lane_max(step_rate - table->rate[row - 1], 0.0), width);
        torque += into * ((table->torque[row] - table->torque[row - 1]) / width);
    }
    return torque;
}

/* Torque at the platform that the motor can give at a rate of the generator [N m]. */
RC_INLINE double pull_out(const struct rc_stepper_lanes *s, int lane, const struct rc_pull_out_points *table, double pace)
{
    const double rate = rc_lane_abs(pace), step_rate = rate * s->steps_per_angle[lane];
    const double given = table->n > 0 ? s->table_scale[lane] * table_torque(table, step_rate) : winding_torque(s, lane, rate);
    const double in_band = ((step_rate >= s->resonance_low[lane]) & (step_rate <= s->resonance_high[lane])) ? 1.0 : 0.0;
    return rc_lane_max(s->torque_factor[lane] * given * rc_lane_pick(in_band, s->resonance_share[lane], 1.0), 0.0);
}

/* Torque that keeps the platform at a steady rate, or standing [N m]. in push = by the vehicle's own acceleration */
RC_INLINE double holding_load(const struct rc_platform_lanes *p, int lane, double pace, double push)
{
    const double friction = rc_bearing_friction(p, lane);
    const double sense = pace < 0.0 ? -1.0 : 1.0;
    const double running = rc_lane_abs(p->viscous[lane] * pace + sense * friction - push);
    const double standing = rc_lane_max(rc_lane_abs(push) - friction * p->starting_ratio[lane], 0.0);
    return rc_lane_abs(pace) > 0.0 ? running : standing;
}

/* The generator's part of a tick: along the ramp to the wanted rate. */
struct ramp {
    double end;     /* [rad/s]                       */
    double share;   /* of the tick that it takes [1] */
    double slope;   /* while it lasts [rad/s2]       */
};
RC_INLINE struct ramp take_ramp(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick)
{
    const double command = p->command[lane];
    const double is_wanted = ((rc_lane_abs(command) > p->deadband[lane]) & (p->mode[lane] != RC_DRIVE_ASLEEP)) ? 1.0 : 0.0;
    const double wanted = is_wanted * rc_lane_clamp(command, p->top[lane]);
    const double pace = p->stepper.pace[lane];
    const double gap = wanted - pace, step = p->slew_step[lane] * tick->n;
    const double is_there = rc_lane_abs(gap) <= step ? 1.0 : 0.0;
    const double sense = gap > 0.0 ? 1.0 : (gap < 0.0 ? -1.0 : 0.0);
    return (struct ramp){ rc_lane_pick(is_there, wanted, pace + rc_lane_clamp(gap, step)),
                          rc_lane_pick(is_there, rc_lane_abs(gap) / step, 1.0), sense * step * tick->per_dt };
}

/* Torque that the tick asks of the motor [N m]. */
struct load {
    double steady;     /* at the ramp's end           */
    double greatest;   /* of that and on the ramp     */
};
RC_INLINE struct load take_load(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct ramp ramp)
{
    const double pace = p->stepper.pace[lane];
    const double push = -p->coupling[lane] * rc_stages_roll_change(p, lane, tick) * tick->per_dt;
    const double steady = holding_load(p, lane, ramp.end, push);
    const double way = pace + ramp.end, sense = way < 0.0 ? -1.0 : (way > 0.0 ? 1.0 : 0.0);
    const double friction = rc_bearing_friction(p, lane) * rc_lane_pick(rc_lane_abs(pace) > 0.0 ? 1.0 : 0.0, 1.0,
                                                                        p->starting_ratio[lane]);
    const double ramping = ramp.slope / p->per_own_inertia[lane] + p->viscous[lane] * ramp.end + sense * friction - push;
    return (struct load){ steady, rc_lane_max(steady, ramp.share > 0.0 ? rc_lane_abs(ramping) : 0.0) };
}

/* Whole cycles of four full steps in a slipped angle, as full steps. */
RC_INLINE double cycles(double slip, double steps_per_angle)
{
    return 4.0 * rc_lane_round(slip * steps_per_angle * 0.25);
}

/* What a tick of slipping leaves. */
struct slipped {
    double rate;       /* [rad/s]                                  */
    double catches;    /* 1: the motor has picked up again         */
    double turned;     /* [rad]                                    */
};

/* One tick without motor torque. It picks up again where a pendulum of the motor's torque would be caught: slower against the
 * generator than its separatrix, twice the swing's frequency times its angle, and with the steady load within pull-out.
 * in  ramp; available torque, steady load at the ramp's end [N m] */
RC_INLINE struct slipped slip_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct ramp ramp,
                                   double available, double load)
{
    struct rc_stepper_lanes *const s = &p->stepper;
    const double is_dead = p->mode[lane] == RC_DRIVE_ASLEEP ? 1.0 : 0.0;
    const double is_slipping = p->mode[lane] == RC_DRIVE_SLIPPING ? 1.0 : 0.0;
    const double slid = rc_bearing_driven(p, lane, tick, 0.0, is_dead * s->detent[lane]);
    const double commanded = tick->dt * (ramp.share * 0.5 * (s->pace[lane] + ramp.end) + (1.0 - ramp.share) * ramp.end);
    const double moved = 0.5 * tick->dt * (p->rate[lane] + slid);
    const double slip = is_slipping * (s->slip[lane] + commanded - moved);
    const double electrical = s->steps_per_angle[lane] * (0.5 * RC_PI);
    const double separatrix = 2.0 * __builtin_sqrt(available * p->per_own_inertia[lane] / electrical);
    const double is_slow = rc_lane_abs(slid - ramp.end) <= separatrix ? 1.0 : 0.0;
    const double catches = is_slipping * is_slow * (load <= available ? 1.0 : 0.0);
    const double lost = cycles(slip, s->steps_per_angle[lane]);
    p->tally.lost[lane] += is_slipping * (lost - cycles(s->slip[lane], s->steps_per_angle[lane]));
    s->slip[lane] = rc_lane_pick(catches, 0.0, slip);
    const double jump = catches * (slip - lost / s->steps_per_angle[lane]);
    return (struct slipped){ rc_lane_pick(catches, ramp.end, slid), catches, moved + jump };
}

/* What a drive's loop is made for. */
struct made_for {
    int slipping;    /* some lane slips or has no power */
    int play;
    int calm;        /* no lane can lose its steps in this tick */
};

/* Mode and counts after a tick. in slips in the next one; paces = generator's rates at the tick's ends [rad/s] */
RC_INLINE void change_mode(struct rc_platform_lanes *p, int lane, double slips, double before, double after)
{
    const double was_dead = p->mode[lane] == RC_DRIVE_ASLEEP ? 1.0 : 0.0;
    const double sense = after < 0.0 ? -1.0 : (after > 0.0 ? 1.0 : 0.0);
    const double starts = before == 0.0 ? sense * sense : 0.0;
    const double turns_round = sense * p->direction[lane] < 0.0 ? 1.0 : 0.0;
    p->direction[lane] = rc_lane_pick(sense * sense, sense, p->direction[lane]);
    p->tally.starts[lane] += starts;
    p->tally.reversals[lane] += turns_round;
    const double in_step = rc_lane_pick(sense * sense, RC_DRIVE_RUNNING, RC_DRIVE_STANDING);
    const double moving = rc_lane_pick(slips, RC_DRIVE_SLIPPING, in_step);
    p->mode[lane] = rc_lane_pick(was_dead, RC_DRIVE_ASLEEP, moving);
}

/* One tick of one lane. ends 1 if it slips or has no power in the next one, else 0 */
RC_INLINE double stepper_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick,
                              const struct rc_pull_out_points *table, const struct made_for of)
{
    struct rc_stepper_lanes *const s = &p->stepper;
    const double dt = tick->dt, pace = s->pace[lane], before = p->rate[lane];
    const double is_dead = p->mode[lane] == RC_DRIVE_ASLEEP ? 1.0 : 0.0;
    const double was_slipping = p->mode[lane] == RC_DRIVE_SLIPPING ? 1.0 : 0.0;
    const struct ramp ramp = take_ramp(p, lane, tick);

    const struct load load = of.calm ? (struct load){ 0.0, 0.0 } : take_load(p, lane, tick, ramp);
    const double available = of.calm ? 0.0 : pull_out(&p->stepper, lane, table, ramp.end);
    const double is_synchronous = of.calm ? 1.0 : (1.0 - was_slipping) * (1.0 - is_dead);
    const double loses = of.calm ? 0.0 : is_synchronous * (load.greatest > available ? 1.0 : 0.0);

    struct slipped slipped = { 0.0, 0.0, 0.0 };
    if (of.slipping)
        slipped = slip_tick(p, lane, tick, ramp, available, load.steady);
    const double roll_start = rc_stages_roll(p, lane, tick->theta), roll_end = rc_stages_roll(p, lane, tick->theta_end);
    const double target = p->target[lane] - p->ripple[lane];
    double end = ramp.end, turned = dt * (0.5 * ramp.share * (pace + ramp.end) + (1.0 - ramp.share) * ramp.end);
    if (of.play) {
        const double gap = p->gap[lane];
        end = rc_bearing_led(p, lane, tick, pace, ramp.end, &turned);
        p->gap[lane] = rc_lane_pick(is_synchronous, p->gap[lane], gap);
    }
    end = rc_lane_pick(is_synchronous, end, slipped.rate);
    const double is_straight = of.play ? 1.0 : 1.0 - is_synchronous;
    /* Where single steps swing it by more than the target, it is never held. */
    const struct rc_course course = { roll_start, roll_end, before, end, end, rc_lane_pick(is_straight, 1.0, ramp.share),
                                      target > 0.0 ? target : -1e9, 0.0, 0, 0, rc_stages_roll_bend(p, lane, tick) };
    rc_spans_note(p, lane, &course);
    p->rate[lane] = end;
    p->turned[lane] += rc_lane_pick(is_synchronous, turned, slipped.turned);
    s->pace[lane] = ramp.end;
    const double slips = rc_lane_either(loses, was_slipping * (1.0 - slipped.catches));
    change_mode(p, lane, slips, pace, ramp.end);
    p->tally.slips[lane] += loses;
    p->tally.slipping[lane] += was_slipping * dt;
    p->tally.asleep[lane] += is_dead * dt;
    const double peak = p->tally.residual_peak[lane];
    p->tally.residual_peak[lane] = 0.0;
    rc_stages_count(p, lane, course, dt);
    p->tally.residual_peak[lane] = rc_lane_max(peak, p->tally.residual_peak[lane] + p->ripple[lane]);
    p->tally.square[lane] += 0.5 * dt * p->ripple[lane] * p->ripple[lane];
    p->tally.drift[lane] += rc_lane_pick(is_synchronous, 0.0, slipped.turned - 0.5 * dt * (before + end));
    return rc_lane_either(slips, is_dead);
}

/* The swing of the platform on its steps: what stays the same during a stretch. */
struct swing {
    rc_lane natural, per_natural; /* of the spring that holding torque and inertia make [rad/s], one over it */
    rc_lane cap;                  /* greatest ripple that the damping leaves [rad/s]                         */
};
RC_INLINE void find_swing(const struct rc_platform_lanes *p, struct swing *swing)
{
    const struct rc_stepper_lanes *const s = &p->stepper;
    RC_FOR_LANES(lane)
    {
        const double electrical = s->steps_per_angle[lane] * (0.5 * RC_PI);
        const double natural = __builtin_sqrt(electrical * s->holding[lane] * p->per_own_inertia[lane]);
        swing->natural[lane] = natural;
        swing->per_natural[lane] = 1.0 / natural;
        swing->cap[lane] = s->microstep[lane] * natural / rc_lane_min(rc_lane_max(2.0 * RC_PI * s->damping[lane], 1e-3), 1.0);
    }
}

/* How single steps swing the platform about its mean motion: it hangs on each step by a spring of the holding torque. Slower than
 * that spring's own frequency every step rings by itself; faster, the steady answer to the staircase is left, half its
 * peak-to-peak; the damping caps both.
 * out  p->ripple, p->ripple_sway */
RC_INLINE void find_ripple(struct rc_platform_lanes *p, const struct swing *swing)
{
    const struct rc_stepper_lanes *const s = &p->stepper;
    RC_FOR_LANES(lane)
    {
        const double pace = rc_lane_abs(s->pace[lane]), ring = s->microstep[lane] * swing->natural[lane];
        const double phase = ring / rc_lane_max(pace, 1e-9); /* turned from step to step [rad] */
        const double steady = 0.25 * ring * rc_lane_tangent(0.25 * rc_lane_min(phase, 2.0 * RC_PI));
        const double turning = rc_lane_min(phase < 2.0 * RC_PI ? steady : ring, swing->cap[lane]);
        const double is_led = ((p->mode[lane] == RC_DRIVE_RUNNING) & (pace > 0.0)) ? 1.0 : 0.0;
        const double ripple = rc_lane_pick(is_led, turning, 0.0);
        p->ripple[lane] = ripple;
        p->ripple_sway[lane] = 2.0 * ripple * swing->per_natural[lane];
        p->tally.ripple_peak[lane] = rc_lane_max(p->tally.ripple_peak[lane], ripple);
    }
}

/* One tick of all lanes. ends how many lanes slip or have no power in the next one */
RC_INLINE double stepper_lanes(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct rc_pull_out_points *table,
                               const struct made_for of)
{
    double n_slipping = 0.0;
#pragma omp simd reduction(+ : n_slipping)
    for (int lane = 0; lane < RC_LANES; lane++)
        n_slipping += stepper_tick(p, lane, tick, table, of);
    return n_slipping;
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
RC_INLINE void find_available(const struct rc_platform_lanes *p, const struct rc_tick *tick,
                              const struct rc_pull_out_points *table, double *available)
{
    const struct rc_stepper_lanes *const s = &p->stepper;
    rc_lane fastest, slow, fast, given;
    RC_FOR_LANES(lane)
    {
        const double pace = s->pace[lane], ramp_end = take_ramp(p, lane, tick).end;
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
        RC_FOR_LANES(lane)
        given[lane] = winding_torque(s, lane, fastest[lane]); /* it falls with the rate */
    }
    /* A resonance band anywhere between the two rates counts. */
    RC_FOR_LANES(lane)
    {
        const double in_band = ((fast[lane] >= s->resonance_low[lane]) & (slow[lane] <= s->resonance_high[lane])) ? 1.0 : 0.0;
        available[lane] = s->torque_factor[lane] * given[lane] *
                          rc_lane_pick(in_band, rc_lane_min(s->resonance_share[lane], 1.0), 1.0);
    }
}

/* Which lanes may not be taken over a whole span: they slip, have no power, or their load comes within a tenth of pull-out
 * somewhere on the ramp. ends how many */
RC_INLINE double find_strained(const struct rc_platform_lanes *p, const struct rc_tick *tick,
                               const struct rc_pull_out_points *table, double *is_strained)
{
    rc_lane available;
    find_available(p, tick, table, available);
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const struct ramp ramp = take_ramp(p, lane, tick);
        /* Through a standstill friction turns round. */
        const double both_ways = 2.0 * rc_bearing_friction(p, lane) * p->starting_ratio[lane];
        const double turning = p->stepper.pace[lane] * ramp.end <= 0.0 ? both_ways : 0.0;
        const double load = take_load(p, lane, tick, ramp).greatest + turning;
        const double in_step = ((p->mode[lane] != RC_DRIVE_SLIPPING) & (p->mode[lane] != RC_DRIVE_ASLEEP)) ? 1.0 : 0.0;
        const double strained = load < 0.9 * available[lane] ? 1.0 - in_step : 1.0;
        is_strained[lane] = strained;
        n += strained;
    }
    return n;
}

/* What follows the motion of a span or tick: the sample that the next command hears, frames, and whoever watches. */
RC_KERNEL static void look(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                           const struct rc_platform_stretch *stretch, const struct rc_tick *tick, struct rc_spans_reel *reel,
                           int is_watched)
{
    rc_senses_end(p, clock, tick);
    rc_spans_frames(p, clock, tick, reel);
    if (is_watched && stretch->watch != NULL)
        rc_spans_watch(p, clock, stretch, tick);
}

/* A span in which some lanes lose or catch their steps: those are taken and looked at tick by tick, the others at once, as if
 * alone.
 * ends above 0 if any lane slips or has no power */
RC_KERNEL static double run_strained(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                     const struct rc_platform_stretch *stretch, const struct rc_tick *span,
                                     struct rc_spans_reel *reel, const double *is_strained)
{
    const struct rc_pull_out_points *const table = &clock->pull_out;
    const struct rc_spans_reel before = *reel;
    const int is_first = is_strained[0] > 0.5; /* the one that is watched */
    struct rc_platform_lanes kept, at_once;
    memcpy(&kept, p, sizeof kept);
    double n_slipping = stepper_lanes(p, span, table, (struct made_for){ 0, 0, 1 });
    look(p, clock, stretch, span, reel, !is_first);
    memcpy(&at_once, p, sizeof at_once);
    memcpy(p, &kept, sizeof kept);
    *reel = before;
    rc_platform_relength(p, clock->dt);
    const double theta_step = (span->theta_end - span->theta) / span->n;
    for (int i = 0; i < span->n; i++) {
        const struct rc_tick tick = { .dt = clock->dt, .per_dt = clock->tick_rate, .first = span->first + i, .n = 1,
                                      .theta = span->theta + i * theta_step, .theta_end = span->theta + (i + 1) * theta_step };
        n_slipping += stepper_lanes(p, &tick, table, (struct made_for){ 1, 0, 0 });
        look(p, clock, stretch, &tick, reel, is_first);
    }
    rc_platform_relength(p, span->dt);
    for (size_t field = 0; field < sizeof *p / sizeof(rc_lane_bits); field++)
        for (int lane = 0; lane < RC_LANES; lane++)
            if (!(is_strained[lane] > 0.5))
                memcpy((char *)p + field * sizeof(rc_lane) + (size_t)lane * sizeof(double),
                       (const char *)&at_once + field * sizeof(rc_lane) + (size_t)lane * sizeof(double), sizeof(double));
    return n_slipping;
}

RC_KERNEL static void stepper_run(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                  const struct rc_platform_stretch *stretch)
{
    const struct rc_pull_out_points winding = { .n = 0 }, *const table = &clock->pull_out;
    const int in_spans = clock->span > 1;
    int length = in_spans ? clock->span : 1;
    double n_slipping = 1.0; /* not known yet */
    struct swing swing;
    find_swing(p, &swing);
    struct rc_spans_reel reel = rc_spans_reel_at(clock, stretch->first);
    for (int done = 0; done < stretch->n_ticks;) {
        const struct rc_tick tick = rc_spans_next(clock, stretch, done);
        done += tick.n;
        if (tick.n != length)
            rc_platform_relength(p, tick.dt);
        length = tick.n;
        rc_senses_begin(p, clock, &tick);
        if (clock->has_battery && tick.first % clock->control_every == 0) {
            rc_stages_drain(p, clock, 0);
            n_slipping = 1.0; /* not known any more */
        }
        rc_stages_control(p, clock, tick.first);
        if (tick.first % clock->control_every == 0)
            find_ripple(p, &swing);
        rc_lane is_strained;
        if (in_spans && find_strained(p, &tick, table, is_strained) > 0.0) {
            n_slipping = run_strained(p, clock, stretch, &tick, &reel, is_strained);
            continue;
        }
        if (in_spans)
            n_slipping = stepper_lanes(p, &tick, &winding, (struct made_for){ 0, 0, 1 });
        else if (clock->has_play || table->n > 0)
            n_slipping = stepper_lanes(p, &tick, table, (struct made_for){ 1, clock->has_play, 0 });
        else if (n_slipping > 0.0)
            n_slipping = stepper_lanes(p, &tick, &winding, (struct made_for){ 1, 0, 0 });
        else
            n_slipping = stepper_lanes(p, &tick, &winding, (struct made_for){ 0, 0, 0 });
        look(p, clock, stretch, &tick, &reel, 1);
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
    s->damping[lane] = d->damping;
}

static void stepper_begin(struct rc_platform_lanes *p, int lane, const struct rc_platform_clock *clock,
                          const struct rc_platform_setup *setup)
{
    (void)clock;
    fill_motor(&p->stepper, lane, setup->parts, &setup->drive->stepper);
}

static double holding_torque(const struct rc_burden *burden)
{
    return burden->drive->stepper.holding_torque * rc_platform_geared(burden->parts);
}

/* Slower than the deadband it is told nothing. */
static double slowest_pull_out(const struct rc_burden *burden)
{
    struct rc_stepper_lanes one;
    fill_motor(&one, 0, burden->parts, &burden->drive->stepper);
    if (burden->drive->battery.full > 0.0)
        one.supply[0] = burden->drive->battery.full;
    return pull_out(&one, 0, burden->pull_out, burden->drive->deadband);
}

static int band_is_ordered(const struct rc_burden *burden)
{
    const struct rc_stepper_design *const d = &burden->drive->stepper;
    return d->resonance_high >= d->resonance_low || !(d->resonance_high > 0.0);
}

static const struct rc_drive_rule rules[] = {
    { "drive.resonance_high_hz", "at least drive.resonance_low_hz, or 0", band_is_ordered, NULL },
    { "drive.holding_torque_Nm", "holding torque", NULL, holding_torque },
    { "drive", "pull-out torque at the slowest rate it obeys (deadband_dps)", NULL, slowest_pull_out },
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
