/* How a platform moves through a tick or span by pieces, each from one moment to the next at which something changes. It follows
 * the gear's output, with play on a flank of it or alone between the flanks; let go of, the bearing alone moves it. Between two
 * bends of the output's course all torques change smoothly, so that what happens in between shows at the ends, and its moment is
 * found by a bracketing secant. Every lane has its own pieces; a loop takes the next piece of each. Lane functions and loops;
 * where the output goes, when it lets go, and who takes whose pieces is left to slipping.c (stepper) and gliding.c. */
#ifndef RC_PIECES_H
#define RC_PIECES_H

#include "bearing.h"
#include "bracket.h"
#include "spans.h"

/* What ends a piece is sought up to this share of what decides, as it would be at the piece's end; a flank to this one: its angle
 * is passed by some 1e-11 rad then. */
#define RC_PIECES_AIM 1e-12
#define RC_PIECES_MET 1e-7

/* Rates that differ by less are the same [rad/s]. */
#define RC_PIECES_SAME 1e-9

/* Lanes on their way through a tick. */
struct rc_pieces {
    /* The gear's output: stands until it starts, ramps, and takes the rate that it holds, by a jump where that is another one. */
    rc_lane starts;                      /* when it does [s]                                                          */
    rc_lane start, slope;                /* rate on the ramp at first [rad/s], its change [rad/s2]                    */
    rc_lane ramped, end;                 /* time at the ramp's end [s], rate from there on [rad/s]                    */
    rc_lane is_active;                   /* 1 until the lane is at the tick's end                                     */
    rc_lane is_free;                     /* 1: the output does not lead it in the piece, or it is between the flanks  */
    rc_lane now, next;                   /* the piece's ends since the tick began [s]                                 */
    rc_lane base, rising, sense;         /* of the output in the piece: start, end or 0 [rad/s]; slope; -1, 0, 1      */
    rc_lane glide;                       /* the free platform's sense in the piece, 0 where it sticks                 */
    rc_lane carried, per_moved, friction; /* what glides: as coupling [kg m2], per_own_inertia, running friction [N m] */
    rc_lane ratio;                       /* carried over coupling [1]                                                 */
    rc_lane alone_ratio, per_alone;      /* of the platform between the flanks: the same; one over its inertia         */
    rc_lane is_apart, flank;             /* in the gear's play: 1 between the flanks; on which of them, -1, 1, or 0   */
    rc_lane rate;                        /* the free platform's at the piece's end [rad/s]                            */
    rc_lane push, roll;                  /* as the piece begins: rc_pieces_push's [N m], the vehicle's roll [rad/s]   */
    rc_lane rubs, rubbing;               /* friction of bearing and gear as it begins [N m], its change by the load [N m/s] */
};

/* The output's rate at a time in the piece. */
RC_INLINE double rc_pieces_pace(const struct rc_pieces *f, int lane, double t)
{
    return f->base[lane] + f->rising[lane] * (t - f->starts[lane]);
}

/* Place in the step at a time in the tick. */
RC_INLINE double rc_pieces_place(const struct rc_tick *tick, double t)
{
    return tick->theta + t * ((tick->theta_end - tick->theta) * tick->per_dt);
}

/* Torque by the vehicle's own acceleration at a time [N m]. */
RC_INLINE double rc_pieces_push(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double t)
{
    const double theta = rc_pieces_place(tick, t), per_time = (tick->theta_end - tick->theta) * tick->per_dt;
    const double slope = p->roll[1][lane] + theta * (2.0 * p->roll[2][lane] + theta * (3.0 * p->roll[3][lane]));
    return -p->coupling[lane] * (slope * per_time);
}

/* Friction of bearing and gear at a time in the piece [N m]. */
RC_INLINE double rc_pieces_rubs(const struct rc_pieces *f, int lane, double t)
{
    return f->rubs[lane] + f->rubbing[lane] * (t - f->now[lane]);
}

/* A piece's end, and what the output does up to there. */
RC_INLINE void rc_pieces_lead(struct rc_pieces *f, int lane, double next)
{
    const double middle = 0.5 * (f->now[lane] + next), start = f->start[lane], end = f->end[lane];
    const double turns = middle >= f->starts[lane] ? 1.0 : 0.0, ramps = turns * (middle < f->ramped[lane] ? 1.0 : 0.0);
    f->next[lane] = next;
    f->base[lane] = turns * (ramps > 0.5 ? start : end);
    f->rising[lane] = ramps * f->slope[lane];
    f->sense[lane] = rc_lane_sense(rc_pieces_pace(f, lane, middle));
}

/* The gliding platform's rate at a time in the piece; as rc_bearing_slide, with the vehicle's roll as it is there [rad/s].
 * What viscous friction leaves, exp(-x), and the mean of that: by the fourth power of the Pade approximant of second order in
 * x/4, whose error is x^5/184,000; a tick of 10 ms has an x of some thousandths. What it takes of a roll that does not change
 * evenly, beyond what it takes of an even one: to first order in x. */
RC_INLINE double rc_pieces_rate(const struct rc_platform_lanes *p, const struct rc_pieces *f, int lane,
                                const struct rc_tick *tick, double t)
{
    const double since = t - f->now[lane], x = p->viscous[lane] * f->per_moved[lane] * since, y = 0.25 * x;
    const double even = 1.0 + y * y * (1.0 / 12.0), per_below = 1.0 / (even + 0.5 * y);
    const double quarter = (even - 0.5 * y) * per_below, half = quarter * quarter;
    const double left = half * half, mean = 0.25 * per_below * (1.0 + quarter) * (1.0 + half);
    const double first = f->roll[lane], roll = rc_stages_roll(p, lane, rc_pieces_place(tick, t));
    const double middle = rc_stages_roll(p, lane, rc_pieces_place(tick, t - 0.5 * since));
    const double rubs = f->friction[lane] + 0.5 * since * f->rubbing[lane];
    const double driven = -f->carried[lane] * (roll - first) - f->glide[lane] * rubs * since;
    const double uneven = (1.0 / 3.0) * (2.0 * middle - first - roll) * f->carried[lane];
    const double rate = p->rate[lane] * left + (driven * mean + x * uneven) * f->per_moved[lane];
    return f->glide[lane] != 0.0 ? rate : 0.0;
}

/* The angle that the gliding platform has turned in its piece up to a time: the straight mean, and what the change of the
 * acceleration bends it by; exact for the vehicle's cubic [rad]. in rate [rad/s], push [N m]  then */
RC_INLINE double rc_pieces_glided(const struct rc_platform_lanes *p, const struct rc_pieces *f, int lane, double t, double rate,
                                  double push)
{
    const double since = t - f->now[lane], first = p->rate[lane];
    const double eases = (f->push[lane] - push) * f->ratio[lane] - p->viscous[lane] * (first - rate) +
                         f->glide[lane] * f->rubbing[lane] * since;
    const double bent = since * since * (1.0 / 12.0) * eases * f->per_moved[lane];
    return 0.5 * since * (first + rate) + (f->glide[lane] != 0.0 ? bent : 0.0);
}

/* How far the gear's output is ahead of a platform between its flanks then [rad]. */
RC_INLINE double rc_pieces_gap(const struct rc_platform_lanes *p, const struct rc_pieces *f, int lane, double t, double rate,
                               double push)
{
    const double commanded = 0.5 * (t - f->now[lane]) * (rc_pieces_pace(f, lane, f->now[lane]) + rc_pieces_pace(f, lane, t));
    return p->gap[lane] + commanded - rc_pieces_glided(p, f, lane, t, rate, push);
}

/* How much faster than the gear's output, on which it lies, the platform alone would speed up, away from its flank; where both
 * stand, what tears it loose counts [rad/s2].
 * in flank  -1 the output's back, 1 its front; pace [rad/s], push, rubs (rc_pieces_rubs) [N m]  then */
RC_INLINE double rc_pieces_leaving(const struct rc_platform_lanes *p, const struct rc_pieces *f, int lane, double flank,
                                   double pace, double push, double rubs)
{
    const double drives = push * f->alone_ratio[lane], sense = f->sense[lane];
    const double friction = rubs - p->gear_friction[lane];
    const double turning = flank * (drives - sense * friction - p->viscous[lane] * pace);
    const double standing = flank * drives - friction * p->starting_ratio[lane];
    return (sense != 0.0 ? turning : standing) * f->per_alone[lane] - flank * f->rising[lane];
}

/* On which flank, if any, is a platform that the output takes along? Rounding in its rate must not part them.
 * in gains  of the output's rate over the platform's [rad/s] */
struct rc_pieces_flanks {
    double front, back;      /* 1 or 0; both without play */
};
RC_INLINE struct rc_pieces_flanks rc_pieces_flanks(const struct rc_platform_lanes *p, int lane, double gains)
{
    const double gap = p->gap[lane];
    return (struct rc_pieces_flanks){ ((gap >= p->play[lane]) & (gains >= -RC_PIECES_SAME)) ? 1.0 : 0.0,
                                      ((gap <= 0.0) & (gains <= RC_PIECES_SAME)) ? 1.0 : 0.0 };
}

/* Where a platform that is led is in its play as a piece begins: on a flank, whose rate it then has without rebound, or between
 * them. out f->flank, f->is_apart. in is_led 1 or 0; pace, rate [rad/s]. ends its rate */
RC_INLINE double rc_pieces_touch(const struct rc_platform_lanes *p, struct rc_pieces *f, int lane, double is_led, double pace,
                                 double rate)
{
    const struct rc_pieces_flanks on = rc_pieces_flanks(p, lane, pace - rate);
    const double is_tight = p->play[lane] > 0.0 ? 0.0 : 1.0, touches = rc_lane_either(on.front, on.back);
    const double flank = rc_lane_pick(on.front, 1.0, -1.0);
    const double leaves = rc_pieces_leaving(p, f, lane, flank, pace, f->push[lane], f->rubs[lane]) > 0.0 ? 1.0 - is_tight : 0.0;
    f->is_apart[lane] = is_led * rc_lane_either(1.0 - touches, leaves);
    f->flank[lane] = is_led * (1.0 - f->is_apart[lane]) * (1.0 - is_tight) * flank;
    return rc_lane_pick(is_led * touches, pace, rate);
}

/* How a platform that is free in its piece begins to glide, or sticks; between the flanks it is without rotor and gear.
 * in rate  of the platform [rad/s]; dragged  friction added where it is let go [N m] */
RC_INLINE void rc_pieces_free(const struct rc_platform_lanes *p, struct rc_pieces *f, int lane, double rate, double dragged)
{
    const double is_apart = f->is_apart[lane], friction = f->rubs[lane];
    f->carried[lane] = rc_lane_pick(is_apart, p->inertia[lane], p->coupling[lane]);
    f->ratio[lane] = rc_lane_pick(is_apart, f->alone_ratio[lane], 1.0);
    f->per_moved[lane] = rc_lane_pick(is_apart, f->per_alone[lane], p->per_own_inertia[lane]);
    f->friction[lane] = rc_lane_pick(is_apart, friction - p->gear_friction[lane], friction + dragged);
    const double drives = f->push[lane] * f->ratio[lane], holds = f->friction[lane] * p->starting_ratio[lane];
    const double torn = rc_lane_abs(drives) > holds ? rc_lane_sense(drives) : 0.0;
    f->glide[lane] = rate != 0.0 ? rc_lane_sense(rate) : torn;
}

/* A lane before its first piece; the output's course is the caller's to give. in is_active 1 where it goes by pieces */
RC_INLINE void rc_pieces_begin(const struct rc_platform_lanes *p, struct rc_pieces *f, int lane, const struct rc_tick *tick,
                               double is_active)
{
    f->is_active[lane] = is_active;
    f->now[lane] = 0.0;
    f->push[lane] = rc_pieces_push(p, lane, tick, 0.0);
    f->roll[lane] = rc_stages_roll(p, lane, rc_pieces_place(tick, 0.0));
    f->rubs[lane] = rc_bearing_friction_at(p, lane, -0.5 * tick->dt);
    f->rubbing[lane] = (rc_bearing_friction_at(p, lane, 0.5 * tick->dt) - f->rubs[lane]) * tick->per_dt;
    f->is_apart[lane] = 0.0;
    f->flank[lane] = 0.0;
    /* The platform alone is without the rotor, and the vehicle gives way to it as to all that turns. */
    f->alone_ratio[lane] = p->inertia[lane] / p->coupling[lane];
    f->per_alone[lane] = 1.0 / (p->inertia[lane] * (1.0 - p->reaction[lane] * f->alone_ratio[lane]));
}

/* What ends a free platform's piece: above 0 where it has come to rest, or is torn loose from it.
 * in t [s]; rate [rad/s], push [N m]  then; push as f->push */
RC_INLINE double rc_pieces_glide_ends(const struct rc_platform_lanes *p, const struct rc_pieces *f, int lane, double t,
                                      double rate, double push)
{
    const double friction = f->friction[lane] + f->rubbing[lane] * (t - f->now[lane]);
    const double torn = rc_lane_abs(push) * f->ratio[lane] - friction * p->starting_ratio[lane];
    const double ends = f->glide[lane] != 0.0 ? -f->glide[lane] * rate : torn;
    return rc_lane_pick(f->is_free[lane], ends, -1.0);
}

/* By how much a platform between the flanks has passed the nearer one at a time in its piece, or how fast one on a flank leaves
 * it; above 0 where it does. in rate  of the platform [rad/s]; push [N m]  then */
RC_INLINE double rc_pieces_play_ends(const struct rc_platform_lanes *p, const struct rc_pieces *f, int lane, double t,
                                     double rate, double push)
{
    const double pace = rc_pieces_pace(f, lane, t), flank = f->flank[lane], gap = rc_pieces_gap(p, f, lane, t, rate, push);
    const double passed = rc_lane_max(gap - p->play[lane], -gap);
    const double on_flank = flank != 0.0 ? rc_pieces_leaving(p, f, lane, flank, pace, push, rc_pieces_rubs(f, lane, t)) : -1.0;
    return rc_lane_pick(f->is_apart[lane], passed, on_flank);
}

/* How the gap of a platform between its flanks goes on if the accelerations stay as they are in the piece's beginning. */
struct rc_pieces_drifting {
    double gains, eases;     /* of the output over the platform: rate [rad/s], acceleration [rad/s2] */
};
RC_INLINE struct rc_pieces_drifting rc_pieces_drifts(const struct rc_platform_lanes *p, const struct rc_pieces *f, int lane)
{
    const double rate = p->rate[lane], drives = f->push[lane] * f->ratio[lane] - p->viscous[lane] * rate;
    const double glides = f->glide[lane] != 0.0 ? (drives - f->glide[lane] * f->friction[lane]) * f->per_moved[lane] : 0.0;
    return (struct rc_pieces_drifting){ rc_pieces_pace(f, lane, f->now[lane]) - rate, f->rising[lane] - glides };
}

/* What ends a piece: rest, tearing loose, meeting a flank, leaving it; above 0 where it has happened.
 * in has_play  constant for the loop */
RC_INLINE double rc_pieces_ends(const struct rc_platform_lanes *p, const struct rc_pieces *f, int lane, double t, double rate,
                                double push, int has_play)
{
    const double ends = rc_pieces_glide_ends(p, f, lane, t, rate, push);
    return has_play ? rc_lane_max(ends, rc_pieces_play_ends(p, f, lane, t, rate, push)) : ends;
}

/* What is known of a piece's end as if nothing happened before. */
struct rc_pieces_outlook {
    rc_lane rate, gap;       /* [rad/s], [rad]                                                              */
    rc_lane toward;          /* to which flank a platform between them goes, if it meets one: 1 front, -1 back */
    rc_lane is_met;          /* 1 where it does, so far                                                     */
    rc_lane is_turning;      /* 1 where it may, and have come back                                          */
    rc_lane is_ending;       /* 1 where it comes to rest or is torn loose                                   */
};

/* A platform may meet a flank and have come back at the piece's end, where it would turn round against the output in between:
 * then it is sought up to there. in/out b, o. ends how many lanes search */
RC_INLINE double rc_pieces_look_between(const struct rc_platform_lanes *p, const struct rc_pieces *f, const struct rc_tick *tick,
                                        struct rc_pieces_outlook *o, struct rc_bracket *b)
{
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const struct rc_pieces_drifting drifting = rc_pieces_drifts(p, f, lane);
        const double t = f->now[lane] - rc_lane_pick(o->is_turning[lane], drifting.gains / drifting.eases, 0.0);
        const double rate = rc_pieces_rate(p, f, lane, tick, t), push = rc_pieces_push(p, lane, tick, t);
        const double gap = rc_pieces_gap(p, f, lane, t, rate, push), passed = rc_lane_max(gap - p->play[lane], -gap);
        const double is_met = o->is_turning[lane] * (passed > 0.0 ? 1.0 : 0.0);
        b->after[lane] = rc_lane_pick(is_met, t, b->after[lane]);
        b->high[lane] = rc_lane_pick(is_met, passed, b->high[lane]);
        b->low[lane] = rc_lane_pick(is_met, rc_lane_min(b->low[lane], 0.0), b->low[lane]);
        b->aim[lane] = rc_lane_pick(is_met, RC_PIECES_MET * passed, b->aim[lane]);
        b->is_wanted[lane] = b->is_open[lane] = rc_lane_either(b->is_wanted[lane], is_met);
        o->toward[lane] = rc_lane_pick(is_met, gap > 0.0 ? 1.0 : -1.0, o->toward[lane]);
        o->is_met[lane] = rc_lane_either(o->is_met[lane], is_met);
        n += b->is_wanted[lane];
    }
    return n;
}

/* Where a flank is met or rest is come to, if the gap is the cubic, and the rate the parabola, that begin as they do and end as
 * they would. Over the place u in the piece; each of two roots is taken by the quotient whose terms do not cancel.
 * in has_play  constant for the loop. out  b's guesses */
RC_INLINE void rc_pieces_guess(const struct rc_platform_lanes *p, const struct rc_pieces *f, const struct rc_pieces_outlook *o,
                               struct rc_bracket *b, int has_play)
{
    RC_FOR_LANES(lane)
    {
        const double length = f->next[lane] - f->now[lane], glide = f->glide[lane], aim = b->aim[lane];
        const struct rc_pieces_drifting drifting = rc_pieces_drifts(p, f, lane);
        const double first = p->rate[lane] + glide * aim, slows = (f->rising[lane] - drifting.eases) * length;
        const double curve = o->rate[lane] - p->rate[lane] - slows;
        const double root = __builtin_copysign(__builtin_sqrt(rc_lane_max(slows * slows - 4.0 * curve * first, 0.0)), slows);
        double u = -2.0 * first / (slows + root), grows = -glide * (slows + 2.0 * u * curve);
        if (has_play) {
            const double toward = o->toward[lane], side = toward > 0.0 ? p->play[lane] : 0.0;
            const double away = p->gap[lane] - side - toward * aim, gains = drifting.gains * length;
            const double eases = 0.5 * drifting.eases * length * length, bend = o->gap[lane] - p->gap[lane] - gains - eases;
            const double spread = toward * __builtin_sqrt(rc_lane_max(gains * gains - 4.0 * eases * away, 0.0));
            const double comes = gains * toward > 0.0 ? 1.0 : 0.0;
            double v = rc_lane_pick(comes, -2.0 * away, spread - gains) / rc_lane_pick(comes, gains + spread, 2.0 * eases);
            for (int i = 0; i < 2; i++)
                v -= (away + v * (gains + v * (eases + v * bend))) / (gains + v * (2.0 * eases + 3.0 * v * bend));
            /* What comes first. */
            const double is_first = o->is_met[lane] * rc_lane_either(1.0 - o->is_ending[lane], v < u ? 1.0 : 0.0);
            u = rc_lane_pick(is_first, v, u);
            grows = rc_lane_pick(is_first, toward * (gains + v * (2.0 * eases + 3.0 * v * bend)), grows);
        }
        const double is_guessed = f->is_free[lane] * (glide != 0.0 ? 1.0 : o->is_met[lane]);
        b->guess[lane] = rc_lane_pick(is_guessed, f->now[lane] + u * length, 0.0);
        b->per_slope[lane] = rc_lane_pick(is_guessed, length / grows, 0.0);
    }
}

/* Does a gap between its flanks turn round within a piece, within a tenth of the play from one or beyond? 1 or 0.
 * in length  of the piece [s] */
RC_INLINE double rc_pieces_turns(const struct rc_platform_lanes *p, int lane, struct rc_pieces_drifting drifting, double length)
{
    const double gains = drifting.gains, eases = drifting.eases, gap = p->gap[lane], play = p->play[lane];
    const double beyond = gains > 0.0 ? gap - 0.9 * play : 0.1 * play - gap;
    const double steep = rc_lane_abs(eases), fast = rc_lane_abs(gains);
    return ((gains * eases < 0.0) & (fast < steep * length) & (fast * fast + 2.0 * steep * beyond > 0.0)) ? 1.0 : 0.0;
}

/* Look at a piece's end. in is_last  1: nothing more may happen in the tick; has_play  constant for the loop.
 * out o, b, f->rate; ends how many lanes search, how many turn */
struct rc_pieces_counts {
    double searching, turning;
};
RC_INLINE struct rc_pieces_counts rc_pieces_look_ahead(const struct rc_platform_lanes *p, struct rc_pieces *f,
                                                       const struct rc_tick *tick, double is_last, int has_play,
                                                       struct rc_pieces_outlook *o, struct rc_bracket *b)
{
    double n = 0.0, n_turning = 0.0;
#pragma omp simd reduction(+ : n, n_turning)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double now = f->now[lane], next = f->next[lane], rate = rc_pieces_rate(p, f, lane, tick, next);
        const double push = rc_pieces_push(p, lane, tick, next), is_searched = f->is_active[lane] * (1.0 - is_last);
        const double late = rc_pieces_ends(p, f, lane, next, rate, push, has_play);
        const double is_ending = rc_pieces_glide_ends(p, f, lane, next, rate, push) > 0.0 ? 1.0 : 0.0;
        const double early = rc_pieces_ends(p, f, lane, now, p->rate[lane], f->push[lane], has_play);
        const double is_wanted = is_searched * (late > 0.0 ? 1.0 : 0.0);
        rc_bracket_open(b, lane, is_wanted, now, next, rc_lane_min(early, 0.0), late);
        o->rate[lane] = rate;
        o->is_ending[lane] = is_ending;
        double aim = RC_PIECES_AIM, is_turning = 0.0;
        if (has_play) {
            const double gap = rc_pieces_gap(p, f, lane, next, rate, push), is_apart = f->is_apart[lane];
            const double is_met = is_apart * (((gap > p->play[lane]) | (gap < 0.0)) ? 1.0 : 0.0);
            aim = rc_lane_pick(is_met * (1.0 - is_ending), RC_PIECES_MET, RC_PIECES_AIM);
            is_turning = is_searched * is_apart * rc_pieces_turns(p, lane, rc_pieces_drifts(p, f, lane), next - now);
            o->gap[lane] = gap;
            o->toward[lane] = gap > 0.0 ? 1.0 : -1.0;
            o->is_met[lane] = is_met;
            o->is_turning[lane] = is_turning;
        }
        b->aim[lane] = aim * b->high[lane];
        f->rate[lane] = f->glide[lane] * rate < 0.0 ? 0.0 : rate;
        n += is_wanted;
        n_turning += is_turning;
    }
    return (struct rc_pieces_counts){ n, n_turning };
}

/* Where something comes before, the piece ends there. in is_last, has_play  as above. out  f->next, f->rate */
RC_INLINE void rc_pieces_find(const struct rc_platform_lanes *p, struct rc_pieces *f, const struct rc_tick *tick, double is_last,
                              int has_play)
{
    struct rc_bracket b;
    struct rc_pieces_outlook o;
    const struct rc_pieces_counts counts = rc_pieces_look_ahead(p, f, tick, is_last, has_play, &o, &b);
    double n = counts.searching;
    if (has_play && counts.turning > 0.0)
        n = rc_pieces_look_between(p, f, tick, &o, &b);
    if (!(n > 0.0))
        return;
    rc_pieces_guess(p, f, &o, &b, has_play);
    for (int i = 0; i < RC_BRACKET_STEPS && n > 0.0; i++) {
        n = 0.0;
#pragma omp simd reduction(+ : n)
        for (int lane = 0; lane < RC_LANES; lane++) {
            const double t = rc_bracket_try(&b, lane, i), rate = rc_pieces_rate(p, f, lane, tick, t);
            n += rc_bracket_narrow(&b, lane, t, rc_pieces_ends(p, f, lane, t, rate, rc_pieces_push(p, lane, tick, t), has_play));
        }
    }
    RC_FOR_LANES(lane)
    {
        const double next = rc_lane_pick(b.is_wanted[lane], b.after[lane], f->next[lane]);
        const double rate = rc_pieces_rate(p, f, lane, tick, next);
        f->next[lane] = next;
        f->rate[lane] = f->glide[lane] * rate < 0.0 ? 0.0 : rate;
    }
}

/* What a loop over pieces is made for, constants: the gear has play; single steps swing the platform; the vehicle's roll below
 * the drive's floor is counted. */
struct rc_pieces_made_for {
    int has_play, has_ripple, has_floor;
};

/* Count a piece in which the platform went straight.
 * in ripple [rad/s], length [s]; start, end, roll_  at its ends and in its middle, as rc_course's [rad/s] */
struct rc_pieces_straight {
    double is_active, ripple, length, per_dt, start, end, roll_start, roll_middle, roll_end;
};
RC_INLINE void rc_pieces_count(struct rc_platform_lanes *p, int lane, struct rc_pieces_straight c,
                               const struct rc_pieces_made_for of)
{
    const double yielding = p->reaction[lane], before = p->rate_before[lane], mean = 0.5 * (c.start + c.end);
    const double lost = 1.0 - p->keep[lane], share = c.length * c.per_dt;
    /* What the roll's damping leaves, to second order within the tick, as rc_spans_roll. */
    const double after = mean + (before - mean) * (1.0 - share * lost * (1.0 + 0.5 * (1.0 - share) * lost));
    const double roll_first = c.roll_start + yielding * (before - c.start), roll_last = c.roll_end + yielding * (after - c.end);
    const double bend = c.roll_start + c.roll_end - 2.0 * c.roll_middle;
    const double in_middle = rc_lane_abs(0.5 * (roll_first + roll_last - bend));
    const double greatest = rc_lane_max(in_middle, rc_lane_max(rc_lane_abs(roll_first), rc_lane_abs(roll_last)));
    const double room = p->target[lane] - c.ripple;
    const double first = rc_lane_pick(c.is_active, roll_first + c.start, 0.0);
    const double last = rc_lane_pick(c.is_active, roll_last + c.end, 0.0), peak = p->tally.residual_peak[lane];
    p->tally.residual_peak[lane] = 0.0;
    /* Where single steps swing it by more than the target, it is never held. */
    rc_tally_tick(&p->tally, lane, first, last, of.has_ripple ? (room > 0.0 ? room : -1e9) : p->target[lane], c.length);
    p->tally.residual_peak[lane] =
        rc_lane_max(peak, rc_lane_pick(c.is_active, p->tally.residual_peak[lane] + c.ripple, 0.0));
    if (of.has_ripple)
        p->tally.square[lane] += c.length * (c.ripple > 0.0 ? p->ripple_square[lane] : 0.0);
    if (of.has_floor)
        p->tally.below_floor[lane] += c.length * rc_tally_share_within(roll_first, roll_last, rc_stages_floor(p, lane));
    p->tally.roll_peak[lane] = rc_lane_max(p->tally.roll_peak[lane], rc_lane_pick(c.is_active, greatest, 0.0));
    p->residual[lane] = rc_lane_pick(c.is_active, last, p->residual[lane]);
    p->rate_before[lane] = rc_lane_pick(c.is_active, after, before);
}

/* What taking a lane to its piece's end says. */
struct rc_pieces_way {
    double length, commanded, moved; /* [s]; angles of the output's and the platform's turn [rad] */
    double goes_on;                  /* 1 where it is not at the tick's end yet                   */
};

/* Take a lane to its piece's end. in piece  its number; of  constant for the loop */
RC_INLINE struct rc_pieces_way rc_pieces_take(struct rc_platform_lanes *p, struct rc_pieces *f, int lane,
                                              const struct rc_tick *tick, int piece, struct rc_spans_track *track,
                                              const struct rc_pieces_made_for of)
{
    const double is_active = f->is_active[lane], is_free = f->is_free[lane];
    const double now = f->now[lane], next = f->next[lane], length = is_active * (next - now), middle = 0.5 * (now + next);
    const double pace = rc_pieces_pace(f, lane, now), pace_then = rc_pieces_pace(f, lane, next), rate = p->rate[lane];
    const double commanded = 0.5 * length * (pace + pace_then);
    const double start = rc_lane_pick(is_free, rate, pace), end = rc_lane_pick(is_free, f->rate[lane], pace_then);
    const double push = rc_pieces_push(p, lane, tick, next), straight = 0.5 * length * (start + end);
    const double moved = rc_lane_pick(is_free, rc_pieces_glided(p, f, lane, next, end, push), commanded);
    if (of.has_play) {
        const double gap = rc_lane_min(rc_lane_max(p->gap[lane] + commanded - moved, 0.0), p->play[lane]);
        p->gap[lane] = rc_lane_pick(is_active * f->is_apart[lane], gap, p->gap[lane]);
    }
    /* Let go of, it is on no step that could swing it. */
    const double ripple = of.has_ripple ? rc_lane_pick(is_free - f->is_apart[lane], 0.0, p->ripple[lane]) : 0.0;
    const double roll = rc_stages_roll(p, lane, rc_pieces_place(tick, next));
    const double roll_middle = rc_stages_roll(p, lane, rc_pieces_place(tick, middle));
    rc_pieces_count(p, lane, (struct rc_pieces_straight){ is_active, ripple, length, tick->per_dt, start, end, f->roll[lane],
                                                          roll_middle, roll }, of);
    p->turned[lane] += rc_lane_pick(is_active, moved, 0.0);
    /* Of what the vehicle's roll bends the platform's by, nothing is left in the ground frame. */
    const double bent = length * (1.0 / 3.0) * (2.0 * roll_middle - f->roll[lane] - roll);
    p->tally.drift[lane] += rc_lane_pick(is_active * is_free, (moved - straight) + bent, 0.0);
    p->rate[lane] = rc_lane_pick(is_active, end, rate);
    track->until[piece][lane] = rc_lane_pick(is_active, next * tick->per_dt, 1.0);
    track->from[piece][lane] = start;
    track->to[piece][lane] = p->rate[lane];
    track->bulge[piece][lane] = length > 0.0 ? (moved - straight) / length : 0.0;
    f->rubs[lane] = rc_pieces_rubs(f, lane, next);
    f->now[lane] = rc_lane_pick(is_active, next, now);
    f->push[lane] = push;
    f->roll[lane] = roll;
    const double goes_on = is_active * (next < tick->dt ? 1.0 : 0.0);
    f->is_active[lane] = goes_on;
    return (struct rc_pieces_way){ length, commanded, moved, goes_on };
}

#endif
