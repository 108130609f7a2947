/* Losing, slipping and catching; flank to flank. In step the platform follows the generator, with play on a flank of the gear or
 * alone between them; slipping, the bearing alone moves it. How it goes from piece to piece stands in pieces.h; here is what
 * bends a generator's course (its ramp ends, turns round, enters or leaves the resonance band, or passes a point of the pull-out
 * table), and when the motor loses or catches its steps between two bends. */
#include "slipping.h"

#include <string.h>

#include "pieces.h"
#include "stepping.h"

/* What a generator and its motor add to the strained lanes on their way through a tick. */
struct strain {
    rc_lane per_slope;                   /* one over the generator's slope [s2/rad]                                  */
    rc_lane slips;                       /* 1: has lost its steps                                                    */
    rc_lane share;                       /* torque left in the piece [1]                                             */
    rc_lane early;                       /* what decides as the piece begins; at most 0, it has not happened [N m]   */
    rc_lane given;                       /* by the motor as the piece begins, rc_stepping_give's [N m]               */
    rc_lane inertia, per_separatrix;     /* of the relative motion [kg m2]; pull-out over the separatrix squared [N m s2] */
};

/* Torque to spare in step [N m], and whether the motor catches: above 0 where it does. A pendulum of the motor's torque over its
 * angle is caught slower than its separatrix, twice the swing's frequency times its angle. */
struct standing {
    double spare, caught;
};
/* in t  in the piece [s]; push, given  then [N m]; rate  of the platform [rad/s]; is_at_rest  1 where it stands */
RC_INLINE struct standing stand_of(const struct rc_platform_lanes *p, const struct rc_pieces *f, const struct strain *s, int lane,
                                   double t, double push, double given, double rate, double is_at_rest)
{
    const double pace = rc_pieces_pace(f, lane, t);
    const double available = rc_stepping_pull_out(&p->stepper, lane, given, s->share[lane]), against = rate - pace;
    const double load = rc_stepping_load(p, lane, rc_pieces_rubs(f, lane, t), pace, s->inertia[lane] * f->rising[lane],
                                         f->sense[lane], push, is_at_rest);
    const double spare = available - load;
    return (struct standing){ spare, rc_lane_min(spare, available - against * against * s->per_separatrix[lane]) };
}

/* What decides between in step and slipping at a time: above 0 where it changes.
 * in given  by the motor there, rc_stepping_give's [N m]; rate  of the free platform there [rad/s] */
RC_INLINE double change_at(const struct rc_platform_lanes *p, const struct rc_pieces *f, const struct strain *s, int lane,
                           const struct rc_tick *tick, double t, double given, double rate)
{
    const double is_at_rest = f->is_free[lane] * (rate == 0.0 ? 1.0 : 0.0);
    const struct standing is = stand_of(p, f, s, lane, t, rc_pieces_push(p, lane, tick, t), given, rate, is_at_rest);
    return p->mode[lane] == RC_DRIVE_ASLEEP ? -1.0 : (s->slips[lane] > 0.5 ? is.caught : -is.spare);
}

/* Whole cycles of four full steps in a slipped angle, as full steps. */
RC_INLINE double cycles(double slip, double steps_per_angle)
{
    return 4.0 * rc_lane_round(slip * steps_per_angle * 0.25);
}

RC_INLINE void begin_strain(struct rc_platform_lanes *p, struct rc_pieces *f, struct strain *s, const struct rc_tick *tick,
                            const struct rc_pull_out_points *table, const double *is_strained)
{
    rc_stepping_give(&p->stepper, table, p->stepper.pace, s->given);
    RC_FOR_LANES(lane)
    {
        const struct rc_stepping_ramp ramp = rc_stepping_ramp(p, lane, tick);
        const double moves = ramp.share > 0.0 ? 1.0 : 0.0;
        rc_pieces_begin(p, f, lane, tick, is_strained[lane]);
        f->starts[lane] = 0.0;
        f->start[lane] = p->stepper.pace[lane];
        f->slope[lane] = moves * ramp.slope;
        f->ramped[lane] = ramp.share * tick->dt;
        f->end[lane] = ramp.end;
        s->per_slope[lane] = 1.0 / ramp.slope; /* not looked at where there is no ramp */
        s->slips[lane] = p->mode[lane] == RC_DRIVE_SLIPPING ? 1.0 : 0.0;
        s->inertia[lane] = 1.0 / p->per_own_inertia[lane];
        s->per_separatrix[lane] = 0.25 * s->inertia[lane] * p->stepper.steps_per_angle[lane] * (0.5 * RC_PI);
        p->ran_before[lane] = rc_lane_pick(is_strained[lane], p->rate_before[lane], p->ran_before[lane]);
    }
}

/* The next bend of the ramp where the generator's rate passes `rate`, if it comes before `next`. */
RC_INLINE double bend_at(const struct rc_pieces *f, const struct strain *s, int lane, double rate, double next)
{
    const double t = (rate - f->start[lane]) * s->per_slope[lane];
    return ((t > f->now[lane]) & (t < f->ramped[lane]) & (t < next)) ? t : next;
}

/* Where each lane's piece ends at the latest, and what holds up to there. in is_last  1: nothing more may happen in the tick */
RC_INLINE void find_bends(const struct rc_platform_lanes *p, struct rc_pieces *f, struct strain *s, const struct rc_tick *tick,
                          const struct rc_pull_out_points *table, double is_last)
{
    RC_FOR_LANES(lane)
    {
        const double now = f->now[lane], per_step = 1.0 / p->stepper.steps_per_angle[lane];
        const double low = p->stepper.resonance_low[lane] * per_step, high = p->stepper.resonance_high[lane] * per_step;
        double next = ((f->ramped[lane] > now) & (f->ramped[lane] < tick->dt)) ? f->ramped[lane] : tick->dt;
        next = bend_at(f, s, lane, 0.0, next);
        next = bend_at(f, s, lane, low, next);
        next = bend_at(f, s, lane, -low, next);
        next = bend_at(f, s, lane, high, next);
        f->next[lane] = bend_at(f, s, lane, -high, next);
    }
    for (int row = 0; row < table->n; row++)
        RC_FOR_LANES(lane)
        {
            const double rate = table->rate[row] / p->stepper.steps_per_angle[lane];
            f->next[lane] = bend_at(f, s, lane, -rate, bend_at(f, s, lane, rate, f->next[lane]));
        }
    RC_FOR_LANES(lane)
    {
        rc_pieces_lead(f, lane, rc_lane_pick(is_last, tick->dt, f->next[lane]));
        const double pace = rc_pieces_pace(f, lane, 0.5 * (f->now[lane] + f->next[lane]));
        s->share[lane] = rc_stepping_share(&p->stepper, lane, rc_lane_abs(pace) * p->stepper.steps_per_angle[lane]);
    }
}

/* What is due as a piece begins: losing the steps, or catching them with a jump to the nearest angle that is whole cycles
 * away. in has_play  constant for the loop. out jumped (lanes) [rad] */
RC_INLINE void change_now(struct rc_platform_lanes *p, struct rc_pieces *f, struct strain *s, int has_play, double *jumped)
{
    RC_FOR_LANES(lane)
    {
        const double now = f->now[lane], rate = p->rate[lane], slips = s->slips[lane], push = f->push[lane];
        const double is_dead = p->mode[lane] == RC_DRIVE_ASLEEP ? 1.0 : 0.0, is_free = rc_lane_either(slips, is_dead);
        const double pace = rc_pieces_pace(f, lane, now), slip = p->stepper.slip[lane];
        const double steps = p->stepper.steps_per_angle[lane];
        /* In step it starts from rest only as the tick begins. */
        const double stands = rc_lane_pick(is_free, rate, rc_lane_either(now, rc_lane_abs(pace))) == 0.0 ? 1.0 : 0.0;
        const struct standing is = stand_of(p, f, s, lane, now, push, s->given[lane], rate, stands);
        const double decides = slips > 0.5 ? is.caught : -is.spare;
        const double changes = f->is_active[lane] * (1.0 - is_dead) * (decides > 0.0 ? 1.0 : 0.0);
        const double loses = changes * (1.0 - slips), catches = changes * slips;
        const double jump = rc_lane_pick(catches, slip - cycles(slip, steps) / steps, 0.0);
        const double now_slips = rc_lane_either(loses, slips * (1.0 - catches));
        double now_rate = rc_lane_pick(catches, pace, rate);
        const double now_free = rc_lane_either(now_slips, is_dead);
        if (has_play)
            now_rate = rc_pieces_touch(p, f, lane, 1.0 - now_free, pace, now_rate);
        p->stepper.slip[lane] = rc_lane_pick(changes, 0.0, slip);
        p->rate[lane] = rc_lane_pick(f->is_active[lane], now_rate, rate);
        jumped[lane] = jump;
        p->turned[lane] += jump;
        p->tally.drift[lane] += jump;
        p->tally.slips[lane] += loses;
        s->slips[lane] = now_slips;
        f->is_free[lane] = rc_lane_either(now_free, f->is_apart[lane]);
        s->early[lane] = rc_lane_pick(changes, now_slips > 0.5 ? is.spare : -is.spare, decides);
        /* Without power the detent torque is part of the friction. */
        rc_pieces_free(p, f, lane, now_rate, rc_lane_pick(is_dead, p->stepper.detent[lane], 0.0));
    }
}

/* Where the motor loses or catches its steps before the piece's end, it ends there.
 * out f->next, f->rate; given  by the motor there (lanes) [N m] */
RC_INLINE void find_change(const struct rc_platform_lanes *p, struct rc_pieces *f, const struct strain *s,
                           const struct rc_tick *tick, const struct rc_pull_out_points *table, double *given)
{
    struct rc_bracket b;
    rc_lane pace, trial;
    RC_FOR_LANES(lane)
    pace[lane] = rc_pieces_pace(f, lane, f->next[lane]);
    rc_stepping_give(&p->stepper, table, pace, given);
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double late = change_at(p, f, s, lane, tick, f->next[lane], given[lane], f->rate[lane]);
        const double is_wanted = f->is_active[lane] * (late > 0.0 ? 1.0 : 0.0);
        rc_bracket_open(&b, lane, is_wanted, f->now[lane], f->next[lane], s->early[lane], late);
        n += is_wanted;
    }
    if (!(n > 0.0))
        return;
    for (int i = 0; i < RC_BRACKET_STEPS && n > 0.0; i++) {
        RC_FOR_LANES(lane)
        {
            trial[lane] = rc_bracket_try(&b, lane, i);
            pace[lane] = rc_pieces_pace(f, lane, trial[lane]);
        }
        rc_stepping_give(&p->stepper, table, pace, given);
        n = 0.0;
#pragma omp simd reduction(+ : n)
        for (int lane = 0; lane < RC_LANES; lane++) {
            const double t = trial[lane], rate = rc_pieces_rate(p, f, lane, tick, t);
            n += rc_bracket_narrow(&b, lane, t, change_at(p, f, s, lane, tick, t, given[lane], rate));
        }
    }
    RC_FOR_LANES(lane)
    {
        const double is_sooner = b.is_wanted[lane] * (b.after[lane] < f->next[lane] ? 1.0 : 0.0);
        f->next[lane] = rc_lane_pick(is_sooner, b.after[lane], f->next[lane]);
        f->rate[lane] = rc_lane_pick(is_sooner, rc_pieces_rate(p, f, lane, tick, f->next[lane]), f->rate[lane]);
        pace[lane] = rc_pieces_pace(f, lane, f->next[lane]);
    }
    rc_stepping_give(&p->stepper, table, pace, given);
}

/* Take every active lane to its piece's end.
 * in   given  by the motor there [N m]; has_play  constant for the loop
 * ends how many are not at the tick's end yet */
RC_INLINE double take_piece(struct rc_platform_lanes *p, struct rc_pieces *f, struct strain *s, const struct rc_tick *tick,
                            const double *given, int has_play, int piece, struct rc_spans_track *track)
{
    const struct rc_pieces_made_for of = { .has_play = has_play, .has_ripple = 1, .has_floor = 0 };
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double slips = f->is_active[lane] * s->slips[lane];
        const struct rc_pieces_way way = rc_pieces_take(p, f, lane, tick, piece, track, of);
        const double steps = p->stepper.steps_per_angle[lane], slip = p->stepper.slip[lane];
        const double slipped = slip + slips * (way.commanded - way.moved);
        p->tally.slipping[lane] += slips * way.length;
        p->tally.asleep[lane] += p->mode[lane] == RC_DRIVE_ASLEEP ? way.length : 0.0;
        p->tally.lost[lane] += rc_lane_pick(slips, cycles(slipped, steps) - cycles(slip, steps), 0.0);
        p->stepper.slip[lane] = rc_lane_pick(slips, slipped, slip);
        s->given[lane] = given[lane];
        n += way.goes_on;
    }
    return n;
}

/* What the strained lanes' generators and modes are after the tick. */
RC_INLINE void end_strain(struct rc_platform_lanes *p, const struct rc_pieces *f, const struct strain *s,
                          const double *is_strained, struct rc_spans_track *track)
{
    RC_FOR_LANES(lane)
    {
        rc_stepping_end(p, lane, is_strained[lane], f->end[lane], s->slips[lane]);
        track->is_on[lane] = is_strained[lane];
    }
}

RC_INLINE void take_pieces(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                           const double *is_strained, int has_play, struct rc_spans_track *track)
{
    struct rc_pieces f;
    struct strain s;
    const struct rc_pull_out_points *const table = &clock->pull_out;
    begin_strain(p, &f, &s, tick, table, is_strained);
    double n_active = 1.0;
    for (track->n = 0; n_active > 0.0 && track->n < RC_SPANS_PIECES; track->n++) {
        const int is_last = track->n == RC_SPANS_PIECES - 1; /* what is due then waits for the next tick */
        rc_lane given;
        find_bends(p, &f, &s, tick, table, is_last ? 1.0 : 0.0);
        change_now(p, &f, &s, has_play, track->jump[track->n]);
        rc_pieces_find(p, &f, tick, is_last ? 1.0 : 0.0, has_play);
        memcpy(given, s.given, sizeof given);
        if (!is_last)
            find_change(p, &f, &s, tick, table, given);
        n_active = take_piece(p, &f, &s, tick, given, has_play, track->n, track);
    }
    end_strain(p, &f, &s, is_strained, track);
}

RC_KERNEL static void take_tight(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                                 const double *is_strained, struct rc_spans_track *track)
{
    take_pieces(p, clock, tick, is_strained, 0, track);
}

RC_KERNEL static void take_loose(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                                 const double *is_strained, struct rc_spans_track *track)
{
    take_pieces(p, clock, tick, is_strained, 1, track);
}

void rc_slipping_run(struct rc_platform_lanes *platform, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                     const double *is_strained, struct rc_spans_track *track)
{
    if (clock->has_play)
        take_loose(platform, clock, tick, is_strained, track);
    else
        take_tight(platform, clock, tick, is_strained, track);
}
