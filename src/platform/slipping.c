/* Losing, slipping and catching; flank to flank. In step the platform follows the generator, with play on a flank of the gear or
 * alone between them; slipping, the bearing alone moves it. Between two bends (the generator's ramp ends, turns round, enters or
 * leaves the resonance band, or passes a point of the pull-out table) load and torque change smoothly, so that what happens in
 * between shows at the ends, and its moment is found by a bracketing secant. Every lane has its own pieces; a loop takes the next
 * piece of each. */
#include "slipping.h"

#include <string.h>

#include "stepping.h"

/* Most steps to a moment: the bracketing secant of Illinois gains more than a digit with each where nothing bends sharply.
 * source M. Dowell, P. Jarratt, BIT 11 (1971) 168 [memory] */
enum { N_SEARCH = 30 };

/* The strained lanes on their way through a tick. */
struct flow {
    rc_lane start, slope, per_slope;     /* the generator: rate at first [rad/s], of its ramp [rad/s2], one over it          */
    rc_lane ramped, end;                 /* time at the ramp's end [s], rate from there on [rad/s]                         */
    rc_lane is_active;                   /* 1 until the lane is at the tick's end                                          */
    rc_lane slips, is_free;              /* 1: has lost its steps; 1: that, or without power                               */
    rc_lane now, next;                   /* the piece's ends since the tick began [s]                                      */
    rc_lane sense, rising, share;        /* of the generator in the piece: -1, 0, 1; slope [rad/s2]; torque left [1]       */
    rc_lane glide;                       /* the free platform's sense in the piece, 0 where it sticks                      */
    rc_lane carried, per_moved, friction; /* what glides: as coupling [kg m2], per_own_inertia, running friction [N m]     */
    rc_lane ratio;                       /* carried over coupling [1]                                                      */
    rc_lane alone_ratio, per_alone;      /* of the platform between the flanks: the same; one over its inertia              */
    rc_lane is_apart, flank;             /* in the gear's play: 1 between the flanks; on which of them, -1, 1, or 0        */
    rc_lane rate;                        /* the free platform's at the piece's end [rad/s]                                 */
    rc_lane early;                       /* what decides as the piece begins; at most 0, it has not happened [N m]         */
    rc_lane given;                       /* by the motor as the piece begins, rc_stepping_give's [N m]                     */
    rc_lane push;                        /* by the vehicle's own acceleration then [N m]                                   */
    rc_lane inertia, per_separatrix;     /* of the relative motion [kg m2]; pull-out over the separatrix squared [N m s2]   */
};

/* The generator's rate at a time, on the ramp or off it as the piece is. */
RC_INLINE double pace_at(const struct flow *f, int lane, double t)
{
    return f->rising[lane] != 0.0 ? f->start[lane] + f->slope[lane] * t : f->end[lane];
}

RC_INLINE double place_at(const struct rc_tick *tick, double t)
{
    return tick->theta + t * ((tick->theta_end - tick->theta) * tick->per_dt);
}

/* Torque by the vehicle's own acceleration at a time [N m]. */
RC_INLINE double push_at(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double t)
{
    const double theta = place_at(tick, t), per_time = (tick->theta_end - tick->theta) * tick->per_dt;
    const double slope = p->roll[1][lane] + theta * (2.0 * p->roll[2][lane] + theta * (3.0 * p->roll[3][lane]));
    return -p->coupling[lane] * (slope * per_time);
}

/* The gliding platform's rate at a time in the piece; as rc_bearing_slide, with the vehicle's roll as it is there [rad/s].
 * What viscous friction leaves, exp(-x), and the mean of that: by the fourth power of the Pade approximant of second order in
 * x/4, whose error is x^5/184,000; a tick of 10 ms has an x of some thousandths. */
RC_INLINE double glide_at(const struct rc_platform_lanes *p, const struct flow *f, int lane, const struct rc_tick *tick, double t)
{
    const double since = t - f->now[lane], y = 0.25 * p->viscous[lane] * f->per_moved[lane] * since;
    const double even = 1.0 + y * y * (1.0 / 12.0), per_below = 1.0 / (even + 0.5 * y);
    const double quarter = (even - 0.5 * y) * per_below, half = quarter * quarter;
    const double left = half * half, mean = 0.25 * per_below * (1.0 + quarter) * (1.0 + half);
    const double roll = rc_stages_roll(p, lane, place_at(tick, t)) - rc_stages_roll(p, lane, place_at(tick, f->now[lane]));
    const double driven = -f->carried[lane] * roll - f->glide[lane] * f->friction[lane] * since;
    const double rate = p->rate[lane] * left + driven * f->per_moved[lane] * mean;
    return f->glide[lane] != 0.0 ? rate : 0.0;
}

/* The angle that the gliding platform has turned in its piece up to a time: the straight mean, and what the change of the
 * acceleration bends it by; exact for the vehicle's cubic [rad]. in rate [rad/s], push [N m]  then */
RC_INLINE double glided_to(const struct rc_platform_lanes *p, const struct flow *f, int lane, double t, double rate, double push)
{
    const double since = t - f->now[lane], first = p->rate[lane];
    const double eases = (f->push[lane] - push) * f->ratio[lane] - p->viscous[lane] * (first - rate);
    const double bent = since * since * (1.0 / 12.0) * eases * f->per_moved[lane];
    return 0.5 * since * (first + rate) + (f->glide[lane] != 0.0 ? bent : 0.0);
}

/* How far the gear's output is ahead of a platform between its flanks then [rad]. */
RC_INLINE double gap_at(const struct rc_platform_lanes *p, const struct flow *f, int lane, double t, double rate, double push)
{
    const double commanded = 0.5 * (t - f->now[lane]) * (pace_at(f, lane, f->now[lane]) + pace_at(f, lane, t));
    return p->gap[lane] + commanded - glided_to(p, f, lane, t, rate, push);
}

/* What ends a free platform's piece: above 0 where it has come to rest, or is torn loose from it.
 * in rate [rad/s], push [N m]  there; push as f->push */
RC_INLINE double glide_ends(const struct rc_platform_lanes *p, const struct flow *f, int lane, double rate, double push)
{
    const double torn = rc_lane_abs(push) * f->ratio[lane] - f->friction[lane] * p->starting_ratio[lane];
    const double ends = f->glide[lane] != 0.0 ? -f->glide[lane] * rate : torn;
    return rc_lane_pick(f->is_free[lane], ends, -1.0);
}

/* Torque to spare in step [N m], and whether the motor catches: above 0 where it does. A pendulum of the motor's torque over its
 * angle is caught slower than its separatrix, twice the swing's frequency times its angle. */
struct standing {
    double spare, caught;
};
/* in pace [rad/s], push, given  there [N m]; rate  of the platform [rad/s]; is_at_rest  1 where it stands */
RC_INLINE struct standing stand_of(const struct rc_platform_lanes *p, const struct flow *f, int lane, double pace, double push,
                                   double given, double rate, double is_at_rest)
{
    const double available = rc_stepping_pull_out(&p->stepper, lane, given, f->share[lane]), against = rate - pace;
    const double load = rc_stepping_load(p, lane, pace, f->inertia[lane] * f->rising[lane], f->sense[lane], push, is_at_rest);
    const double spare = available - load;
    return (struct standing){ spare, rc_lane_min(spare, available - against * against * f->per_separatrix[lane]) };
}

/* What decides between in step and slipping at a time: above 0 where it changes.
 * in given  by the motor there, rc_stepping_give's [N m]; rate  of the free platform there [rad/s] */
RC_INLINE double change_at(const struct rc_platform_lanes *p, const struct flow *f, int lane, const struct rc_tick *tick,
                           double t, double given, double rate)
{
    const double is_at_rest = f->is_free[lane] * (rate == 0.0 ? 1.0 : 0.0);
    const struct standing s = stand_of(p, f, lane, pace_at(f, lane, t), push_at(p, lane, tick, t), given, rate, is_at_rest);
    return p->mode[lane] == RC_DRIVE_ASLEEP ? -1.0 : (f->slips[lane] > 0.5 ? s.caught : -s.spare);
}

/* Whole cycles of four full steps in a slipped angle, as full steps. */
RC_INLINE double cycles(double slip, double steps_per_angle)
{
    return 4.0 * rc_lane_round(slip * steps_per_angle * 0.25);
}

RC_INLINE void begin_flow(struct rc_platform_lanes *p, struct flow *f, const struct rc_tick *tick,
                          const struct rc_pull_out_points *table, const double *is_strained)
{
    rc_stepping_give(&p->stepper, table, p->stepper.pace, f->given);
    RC_FOR_LANES(lane)
    {
        const struct rc_stepping_ramp ramp = rc_stepping_ramp(p, lane, tick);
        const double moves = ramp.share > 0.0 ? 1.0 : 0.0;
        f->start[lane] = p->stepper.pace[lane];
        f->slope[lane] = moves * ramp.slope;
        f->per_slope[lane] = 1.0 / ramp.slope; /* not looked at where there is no ramp */
        f->ramped[lane] = ramp.share * tick->dt;
        f->end[lane] = ramp.end;
        f->is_active[lane] = is_strained[lane];
        f->slips[lane] = p->mode[lane] == RC_DRIVE_SLIPPING ? 1.0 : 0.0;
        f->now[lane] = 0.0;
        f->push[lane] = push_at(p, lane, tick, 0.0);
        f->inertia[lane] = 1.0 / p->per_own_inertia[lane];
        /* The platform alone is without the rotor, and the vehicle gives way to it as to all that turns. */
        f->alone_ratio[lane] = p->inertia[lane] / p->coupling[lane];
        f->per_alone[lane] = 1.0 / (p->inertia[lane] * (1.0 - p->reaction[lane] * f->alone_ratio[lane]));
        f->per_separatrix[lane] = 0.25 * f->inertia[lane] * p->stepper.steps_per_angle[lane] * (0.5 * RC_PI);
        p->ran_before[lane] = rc_lane_pick(is_strained[lane], p->rate_before[lane], p->ran_before[lane]);
    }
}

/* The next bend of the ramp where the generator's rate passes `rate`, if it comes before `next`. */
RC_INLINE double bend_at(const struct flow *f, int lane, double rate, double next)
{
    const double t = (rate - f->start[lane]) * f->per_slope[lane];
    return ((t > f->now[lane]) & (t < f->ramped[lane]) & (t < next)) ? t : next;
}

/* Where each lane's piece ends at the latest, and what holds up to there. in is_last  1: nothing more may happen in the tick */
RC_INLINE void find_bends(const struct rc_platform_lanes *p, struct flow *f, const struct rc_tick *tick,
                          const struct rc_pull_out_points *table, double is_last)
{
    RC_FOR_LANES(lane)
    {
        const double now = f->now[lane], per_step = 1.0 / p->stepper.steps_per_angle[lane];
        const double low = p->stepper.resonance_low[lane] * per_step, high = p->stepper.resonance_high[lane] * per_step;
        double next = ((f->ramped[lane] > now) & (f->ramped[lane] < tick->dt)) ? f->ramped[lane] : tick->dt;
        next = bend_at(f, lane, 0.0, next);
        next = bend_at(f, lane, low, next);
        next = bend_at(f, lane, -low, next);
        next = bend_at(f, lane, high, next);
        f->next[lane] = bend_at(f, lane, -high, next);
    }
    for (int row = 0; row < table->n; row++)
        RC_FOR_LANES(lane)
        {
            const double rate = table->rate[row] / p->stepper.steps_per_angle[lane];
            f->next[lane] = bend_at(f, lane, -rate, bend_at(f, lane, rate, f->next[lane]));
        }
    RC_FOR_LANES(lane)
    {
        const double next = rc_lane_pick(is_last, tick->dt, f->next[lane]), middle = 0.5 * (f->now[lane] + next);
        const double rising = middle < f->ramped[lane] ? f->slope[lane] : 0.0;
        const double pace = rising != 0.0 ? f->start[lane] + f->slope[lane] * middle : f->end[lane];
        f->next[lane] = next;
        f->rising[lane] = rising;
        f->sense[lane] = rc_lane_sense(pace);
        f->share[lane] = rc_stepping_share(&p->stepper, lane, rc_lane_abs(pace) * p->stepper.steps_per_angle[lane]);
    }
}

/* How much faster than the gear's output, on which it lies, the platform alone would speed up, away from its flank [rad/s2].
 * in flank  -1 the output's back, 1 its front; pace [rad/s], push [N m]  then */
RC_INLINE double leaving(const struct rc_platform_lanes *p, const struct flow *f, int lane, double flank, double pace,
                         double push)
{
    const double drives = push * f->alone_ratio[lane], sense = f->sense[lane];
    const double friction = rc_bearing_friction(p, lane) - p->gear_friction[lane];
    const double sticks = rc_lane_abs(drives) > friction * p->starting_ratio[lane] ? 0.0 : 1.0;
    const double turning = drives - sense * friction - p->viscous[lane] * pace;
    const double standing = rc_lane_pick(sticks, 0.0, drives - rc_lane_sense(drives) * friction);
    return flank * ((sense != 0.0 ? turning : standing) * f->per_alone[lane] - f->rising[lane]);
}

/* Where a platform in step is in its play as a piece begins: on a flank, whose rate it then has without rebound, or between them.
 * out f->flank, f->is_apart. in is_led  1 in step; pace, rate [rad/s]. ends its rate */
RC_INLINE double touch_flank(const struct rc_platform_lanes *p, struct flow *f, int lane, double is_led, double pace, double rate)
{
    const double gap = p->gap[lane], play = p->play[lane], gains = pace - rate;
    const double on_front = ((gap >= play) & (gains >= 0.0)) ? 1.0 : 0.0, on_back = ((gap <= 0.0) & (gains <= 0.0)) ? 1.0 : 0.0;
    const double is_tight = play > 0.0 ? 0.0 : 1.0, touches = rc_lane_either(is_tight, rc_lane_either(on_front, on_back));
    const double flank = rc_lane_pick(on_front, 1.0, -1.0);
    const double leaves = leaving(p, f, lane, flank, pace, f->push[lane]) > 0.0 ? 1.0 - is_tight : 0.0;
    f->is_apart[lane] = is_led * rc_lane_either(1.0 - touches, leaves);
    f->flank[lane] = is_led * (1.0 - f->is_apart[lane]) * (1.0 - is_tight) * flank;
    return rc_lane_pick(is_led * touches, pace, rate);
}

/* What is due as a piece begins: losing the steps, or catching them with a jump to the nearest angle that is whole cycles
 * away. in has_play  constant for the loop. out jumped (lanes) [rad] */
RC_INLINE void change_now(struct rc_platform_lanes *p, struct flow *f, int has_play, double *jumped)
{
    struct rc_stepper_lanes *const s = &p->stepper;
    RC_FOR_LANES(lane)
    {
        const double now = f->now[lane], rate = p->rate[lane], slips = f->slips[lane], push = f->push[lane];
        const double is_dead = p->mode[lane] == RC_DRIVE_ASLEEP ? 1.0 : 0.0, is_free = rc_lane_either(slips, is_dead);
        const double pace = pace_at(f, lane, now), slip = s->slip[lane], steps = s->steps_per_angle[lane];
        /* In step it starts from rest only as the tick begins. */
        const double stands = rc_lane_pick(is_free, rate, rc_lane_either(now, rc_lane_abs(pace))) == 0.0 ? 1.0 : 0.0;
        const struct standing is = stand_of(p, f, lane, pace, push, f->given[lane], rate, stands);
        const double decides = slips > 0.5 ? is.caught : -is.spare;
        const double changes = f->is_active[lane] * (1.0 - is_dead) * (decides > 0.0 ? 1.0 : 0.0);
        const double loses = changes * (1.0 - slips), catches = changes * slips;
        const double jump = rc_lane_pick(catches, slip - cycles(slip, steps) / steps, 0.0);
        const double now_slips = rc_lane_either(loses, slips * (1.0 - catches));
        double now_rate = rc_lane_pick(catches, pace, rate);
        const double now_free = rc_lane_either(now_slips, is_dead);
        f->is_apart[lane] = 0.0;
        if (has_play)
            now_rate = touch_flank(p, f, lane, 1.0 - now_free, pace, now_rate);
        const double is_apart = f->is_apart[lane];
        s->slip[lane] = rc_lane_pick(changes, 0.0, slip);
        p->rate[lane] = rc_lane_pick(f->is_active[lane], now_rate, rate);
        jumped[lane] = jump;
        p->turned[lane] += jump;
        p->tally.drift[lane] += jump;
        p->tally.slips[lane] += loses;
        f->slips[lane] = now_slips;
        f->is_free[lane] = rc_lane_either(now_free, is_apart);
        f->early[lane] = rc_lane_pick(changes, now_slips > 0.5 ? is.spare : -is.spare, decides);
        /* Between the flanks the platform is without rotor and gear; without power the detent torque is part of the friction. */
        const double friction = rc_bearing_friction(p, lane), dead = rc_lane_pick(is_dead, s->detent[lane], 0.0);
        f->carried[lane] = rc_lane_pick(is_apart, p->inertia[lane], p->coupling[lane]);
        f->ratio[lane] = rc_lane_pick(is_apart, f->alone_ratio[lane], 1.0);
        f->per_moved[lane] = rc_lane_pick(is_apart, f->per_alone[lane], p->per_own_inertia[lane]);
        f->friction[lane] = rc_lane_pick(is_apart, friction - p->gear_friction[lane], friction + dead);
        const double drives = push * f->ratio[lane], holds = f->friction[lane] * p->starting_ratio[lane];
        const double torn = rc_lane_abs(drives) > holds ? rc_lane_sense(drives) : 0.0;
        f->glide[lane] = now_rate != 0.0 ? rc_lane_sense(now_rate) : torn;
    }
}

/* By this share of its time a guess may be off. */
static const double guess_error = 1e-5;

/* Moments between which something happens. */
struct bracket {
    rc_lane before, after;   /* it has not yet, it has [s]                               */
    rc_lane low, high;       /* what decides, there: at most 0, above 0                  */
    rc_lane aim;             /* so little above 0 is sought, for the moment to be after  */
    rc_lane side;            /* the last moment tried: 1 after, -1 before, 0 none yet    */
    rc_lane start, guess;    /* the piece's beginning; where it may be, or 0 [s]         */
    rc_lane is_wanted;       /* 1 where there is something to be found                   */
    rc_lane is_open;         /* 1 until it is                                            */
};

/* The next moment to try: a guess from both sides, where there is one, then the secant. in i  number of the step: every third
 * halves, for what bends sharply */
RC_INLINE double try_at(const struct bracket *b, int lane, int i)
{
    const double secant = (b->high[lane] - b->aim[lane]) / (b->high[lane] - b->low[lane]);
    const double share = rc_lane_pick(((i > 1) & (i % 3 == 1)) ? 1.0 : 0.0, 0.5, secant);
    const double width = b->after[lane] - b->before[lane];
    const double guess = b->guess[lane] + (i == 0 ? guess_error : -guess_error) * (b->guess[lane] - b->start[lane]);
    const double is_guessed = ((i < 2) & (guess > b->before[lane]) & (guess < b->after[lane])) ? 1.0 : 0.0;
    return rc_lane_pick(is_guessed, guess, b->after[lane] - share * width);
}

/* Take a moment that was tried into the bracket; one that is as little after as is sought ends the search of its lane.
 * ends 1 where it goes on */
RC_INLINE double narrow(struct bracket *b, int lane, double t, double value)
{
    const double is_open = b->is_open[lane];
    const double is_after = is_open * (value > 0.0 ? 1.0 : 0.0), is_before = is_open * (value > 0.0 ? 0.0 : 1.0);
    const double side = is_after - is_before, again = side == b->side[lane] ? 0.5 : 1.0;
    b->after[lane] = rc_lane_pick(is_after, t, b->after[lane]);
    b->before[lane] = rc_lane_pick(is_before, t, b->before[lane]);
    b->high[lane] = rc_lane_pick(is_after, value, rc_lane_pick(is_before, again, 1.0) * b->high[lane]);
    b->low[lane] = rc_lane_pick(is_before, value, rc_lane_pick(is_after, again, 1.0) * b->low[lane]);
    b->side[lane] = side;
    const double goes_on = is_open * (1.0 - is_after * (value <= 2.0 * b->aim[lane] ? 1.0 : 0.0));
    b->is_open[lane] = goes_on;
    return goes_on;
}

/* A bracket over a lane's piece; a harmless one where nothing is wanted. */
RC_INLINE void open_bracket(struct bracket *b, const struct flow *f, int lane, double is_wanted, double low, double high)
{
    b->before[lane] = f->now[lane];
    b->after[lane] = f->next[lane];
    b->start[lane] = f->now[lane];
    b->guess[lane] = 0.0;
    b->low[lane] = rc_lane_pick(is_wanted, low, -1.0);
    b->high[lane] = rc_lane_pick(is_wanted, high, 1.0);
    b->aim[lane] = 1e-9 * b->high[lane];
    b->side[lane] = 0.0;
    b->is_wanted[lane] = b->is_open[lane] = is_wanted;
}

/* By how much a platform between the flanks has passed the nearer one at a time in its piece, or how fast one on a flank leaves
 * it; above 0 where it does. in rate  of the platform [rad/s]; push [N m]  then */
RC_INLINE double play_ends(const struct rc_platform_lanes *p, const struct flow *f, int lane, double t, double rate, double push)
{
    const double pace = pace_at(f, lane, t), flank = f->flank[lane], gap = gap_at(p, f, lane, t, rate, push);
    const double passed = rc_lane_max(gap - p->play[lane], -gap);
    const double on_flank = flank != 0.0 ? leaving(p, f, lane, flank, pace, push) : -1.0;
    return rc_lane_pick(f->is_apart[lane], passed, on_flank);
}

/* When a platform that glides between the flanks meets one if the accelerations stay as they are in the beginning; no number
 * where it would not [s]. in gap  at the piece's end [rad] */
RC_INLINE double meeting(const struct rc_platform_lanes *p, const struct flow *f, int lane, double gap)
{
    const double rate = p->rate[lane], gains = pace_at(f, lane, f->now[lane]) - rate;
    const double drives = f->push[lane] * f->ratio[lane] - p->viscous[lane] * rate;
    const double glides = f->glide[lane] != 0.0 ? (drives - f->glide[lane] * f->friction[lane]) * f->per_moved[lane] : 0.0;
    const double side = gap > p->play[lane] ? 1.0 : -1.0, away = p->gap[lane] - (side > 0.0 ? p->play[lane] : 0.0);
    const double eases = f->rising[lane] - glides;
    return f->now[lane] + (side * __builtin_sqrt(gains * gains - 2.0 * eases * away) - gains) / eases;
}

/* What ends a piece that is no matter of steps: rest, tearing loose, meeting a flank, leaving it; above 0 where it has happened.
 * in has_play  constant for the loop */
RC_INLINE double glide_changes(const struct rc_platform_lanes *p, const struct flow *f, int lane, double t, double rate,
                               double push, int has_play)
{
    const double ends = glide_ends(p, f, lane, rate, push);
    return has_play ? rc_lane_max(ends, play_ends(p, f, lane, t, rate, push)) : ends;
}

/* Where that comes the piece ends. out  f->next, f->rate */
RC_INLINE void find_glide(const struct rc_platform_lanes *p, struct flow *f, const struct rc_tick *tick, double is_last,
                          int has_play)
{
    struct bracket b;
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double now = f->now[lane], next = f->next[lane], rate = glide_at(p, f, lane, tick, next);
        const double late = glide_changes(p, f, lane, next, rate, push_at(p, lane, tick, next), has_play);
        const double early = glide_changes(p, f, lane, now, p->rate[lane], f->push[lane], has_play);
        const double is_wanted = f->is_active[lane] * (1.0 - is_last) * (late > 0.0 ? 1.0 : 0.0);
        open_bracket(&b, f, lane, is_wanted, rc_lane_min(early, 0.0), late);
        if (has_play) {
            const double gap = gap_at(p, f, lane, next, rate, push_at(p, lane, tick, next));
            b.guess[lane] = rc_lane_pick(f->is_apart[lane], meeting(p, f, lane, gap), 0.0);
            b.aim[lane] *= rc_lane_pick(f->is_apart[lane], 100.0, 1.0); /* some 1e-10 rad */
        }
        f->rate[lane] = f->glide[lane] * rate < 0.0 ? 0.0 : rate;
        n += is_wanted;
    }
    if (!(n > 0.0))
        return;
    for (int i = 0; i < N_SEARCH && n > 0.0; i++) {
        n = 0.0;
#pragma omp simd reduction(+ : n)
        for (int lane = 0; lane < RC_LANES; lane++) {
            const double t = try_at(&b, lane, i), rate = glide_at(p, f, lane, tick, t);
            n += narrow(&b, lane, t, glide_changes(p, f, lane, t, rate, push_at(p, lane, tick, t), has_play));
        }
    }
    RC_FOR_LANES(lane)
    {
        const double next = rc_lane_pick(b.is_wanted[lane], b.after[lane], f->next[lane]);
        const double rate = glide_at(p, f, lane, tick, next);
        f->next[lane] = next;
        f->rate[lane] = f->glide[lane] * rate < 0.0 ? 0.0 : rate;
    }
}

/* Where the motor loses or catches its steps before that, the piece ends there.
 * out f->next, f->rate; given  by the motor there (lanes) [N m] */
RC_INLINE void find_change(const struct rc_platform_lanes *p, struct flow *f, const struct rc_tick *tick,
                           const struct rc_pull_out_points *table, double *given)
{
    struct bracket b;
    rc_lane pace, trial;
    RC_FOR_LANES(lane)
    pace[lane] = pace_at(f, lane, f->next[lane]);
    rc_stepping_give(&p->stepper, table, pace, given);
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double late = change_at(p, f, lane, tick, f->next[lane], given[lane], f->rate[lane]);
        const double is_wanted = f->is_active[lane] * (late > 0.0 ? 1.0 : 0.0);
        open_bracket(&b, f, lane, is_wanted, f->early[lane], late);
        n += is_wanted;
    }
    if (!(n > 0.0))
        return;
    for (int i = 0; i < N_SEARCH && n > 0.0; i++) {
        RC_FOR_LANES(lane)
        {
            trial[lane] = try_at(&b, lane, i);
            pace[lane] = pace_at(f, lane, trial[lane]);
        }
        rc_stepping_give(&p->stepper, table, pace, given);
        n = 0.0;
#pragma omp simd reduction(+ : n)
        for (int lane = 0; lane < RC_LANES; lane++) {
            const double t = trial[lane];
            n += narrow(&b, lane, t, change_at(p, f, lane, tick, t, given[lane], glide_at(p, f, lane, tick, t)));
        }
    }
    RC_FOR_LANES(lane)
    {
        const double is_sooner = b.is_wanted[lane] * (b.after[lane] < f->next[lane] ? 1.0 : 0.0);
        f->next[lane] = rc_lane_pick(is_sooner, b.after[lane], f->next[lane]);
        f->rate[lane] = rc_lane_pick(is_sooner, glide_at(p, f, lane, tick, f->next[lane]), f->rate[lane]);
        pace[lane] = pace_at(f, lane, f->next[lane]);
    }
    rc_stepping_give(&p->stepper, table, pace, given);
}

/* Count a piece in which the platform went straight.
 * in start, end, roll_  at its ends and in its middle, as rc_course's [rad/s] */
RC_INLINE void count_piece(struct rc_platform_lanes *p, int lane, double is_active, double no_ripple, double length,
                           double per_dt, double start, double end, double roll_start, double roll_middle, double roll_end)
{
    const double yielding = p->reaction[lane], before = p->rate_before[lane], mean = 0.5 * (start + end);
    const double lost = 1.0 - p->keep[lane], share = length * per_dt;
    /* What the roll's damping leaves, to second order within the tick, as rc_spans_roll. */
    const double after = mean + (before - mean) * (1.0 - share * lost * (1.0 + 0.5 * (1.0 - share) * lost));
    const double roll_first = roll_start + yielding * (before - start), roll_last = roll_end + yielding * (after - end);
    const double bend = roll_start + roll_end - 2.0 * roll_middle;
    const double in_middle = rc_lane_abs(0.5 * (roll_first + roll_last - bend));
    const double greatest = rc_lane_max(in_middle, rc_lane_max(rc_lane_abs(roll_first), rc_lane_abs(roll_last)));
    const double ripple = rc_lane_pick(no_ripple, 0.0, p->ripple[lane]), room = p->target[lane] - ripple;
    const double first = rc_lane_pick(is_active, roll_first + start, 0.0), last = rc_lane_pick(is_active, roll_last + end, 0.0);
    const double peak = p->tally.residual_peak[lane];
    p->tally.residual_peak[lane] = 0.0;
    /* Where single steps swing it by more than the target, it is never held. */
    rc_tally_tick(&p->tally, lane, first, last, room > 0.0 ? room : -1e9, length);
    p->tally.residual_peak[lane] =
        rc_lane_max(peak, rc_lane_pick(is_active, p->tally.residual_peak[lane] + ripple, 0.0));
    p->tally.square[lane] += 0.5 * length * ripple * ripple;
    p->tally.roll_peak[lane] = rc_lane_max(p->tally.roll_peak[lane], rc_lane_pick(is_active, greatest, 0.0));
    p->residual[lane] = rc_lane_pick(is_active, last, p->residual[lane]);
    p->rate_before[lane] = rc_lane_pick(is_active, after, before);
}

/* Take every active lane to its piece's end.
 * in   given  by the motor there [N m]; has_play  constant for the loop
 * ends how many are not at the tick's end yet */
RC_INLINE double take_piece(struct rc_platform_lanes *p, struct flow *f, const struct rc_tick *tick, const double *given,
                            int has_play, int piece, struct rc_spans_track *track)
{
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double is_active = f->is_active[lane], is_free = f->is_free[lane], slips = f->slips[lane];
        const double now = f->now[lane], next = f->next[lane], length = is_active * (next - now), middle = 0.5 * (now + next);
        const double pace = pace_at(f, lane, now), pace_then = pace_at(f, lane, next), rate = p->rate[lane];
        const double commanded = 0.5 * length * (pace + pace_then);
        const double start = rc_lane_pick(is_free, rate, pace), end = rc_lane_pick(is_free, f->rate[lane], pace_then);
        const double push = push_at(p, lane, tick, next), straight = 0.5 * length * (start + end);
        const double moved = rc_lane_pick(is_free, glided_to(p, f, lane, next, end, push), commanded);
        if (has_play) {
            const double gap = rc_lane_min(rc_lane_max(p->gap[lane] + commanded - moved, 0.0), p->play[lane]);
            p->gap[lane] = rc_lane_pick(is_active * f->is_apart[lane], gap, p->gap[lane]);
        }
        const double steps = p->stepper.steps_per_angle[lane], slip = p->stepper.slip[lane];
        const double slipped = slip + slips * (commanded - moved);
        count_piece(p, lane, is_active, is_free - f->is_apart[lane], length, tick->per_dt, start, end,
                    rc_stages_roll(p, lane, place_at(tick, now)),
                    rc_stages_roll(p, lane, place_at(tick, middle)), rc_stages_roll(p, lane, place_at(tick, next)));
        p->turned[lane] += rc_lane_pick(is_active, moved, 0.0);
        p->tally.drift[lane] += rc_lane_pick(is_active * is_free, moved - straight, 0.0);
        p->tally.slipping[lane] += slips * length;
        p->tally.asleep[lane] += p->mode[lane] == RC_DRIVE_ASLEEP ? length : 0.0;
        p->tally.lost[lane] += rc_lane_pick(is_active * slips, cycles(slipped, steps) - cycles(slip, steps), 0.0);
        p->stepper.slip[lane] = rc_lane_pick(is_active * slips, slipped, slip);
        p->rate[lane] = rc_lane_pick(is_active, end, rate);
        track->until[piece][lane] = rc_lane_pick(is_active, next * tick->per_dt, 1.0);
        track->from[piece][lane] = start;
        track->to[piece][lane] = p->rate[lane];
        f->now[lane] = rc_lane_pick(is_active, next, now);
        f->push[lane] = push;
        f->given[lane] = given[lane];
        const double goes_on = is_active * (next < tick->dt ? 1.0 : 0.0);
        f->is_active[lane] = goes_on;
        n += goes_on;
    }
    return n;
}

/* What the strained lanes' generators and modes are after the tick. */
RC_INLINE void end_flow(struct rc_platform_lanes *p, const struct flow *f, const double *is_strained,
                        struct rc_spans_track *track)
{
    RC_FOR_LANES(lane)
    {
        rc_stepping_end(p, lane, is_strained[lane], f->end[lane], f->slips[lane]);
        track->is_on[lane] = is_strained[lane];
    }
}

RC_INLINE void take_pieces(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                           const double *is_strained, int has_play, struct rc_spans_track *track)
{
    struct flow f;
    const struct rc_pull_out_points *const table = &clock->pull_out;
    begin_flow(p, &f, tick, table, is_strained);
    double n_active = 1.0;
    for (track->n = 0; n_active > 0.0 && track->n < RC_SPANS_PIECES; track->n++) {
        const int is_last = track->n == RC_SPANS_PIECES - 1; /* what is due then waits for the next tick */
        rc_lane given;
        find_bends(p, &f, tick, table, is_last ? 1.0 : 0.0);
        change_now(p, &f, has_play, track->jump[track->n]);
        find_glide(p, &f, tick, is_last ? 1.0 : 0.0, has_play);
        memcpy(given, f.given, sizeof given);
        if (!is_last)
            find_change(p, &f, tick, table, given);
        n_active = take_piece(p, &f, tick, given, has_play, track->n, track);
    }
    end_flow(p, &f, is_strained, track);
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
