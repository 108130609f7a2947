/* Losing, slipping and catching. In step the platform follows the generator; slipping, the bearing alone moves it. Between two
 * bends (the generator's ramp ends, turns round, enters or leaves the resonance band, or passes a point of the pull-out table)
 * load and torque change smoothly, so that what happens in between shows at the ends, and its moment is found by a fixed number
 * of steps of a bracketing secant. Every lane has its own pieces; a loop takes the next piece of each. */
#include "slipping.h"

#include <string.h>

#include "stepping.h"

/* Steps to a moment: the bracketing secant of Illinois gains more than a digit with each.
 * source M. Dowell, P. Jarratt, BIT 11 (1971) 168 [memory] */
enum { N_SEARCH = 12 };

/* The strained lanes on their way through a tick. */
struct flow {
    rc_lane start, slope, per_slope;     /* the generator: rate at first [rad/s], of its ramp [rad/s2], one over it          */
    rc_lane ramped, end;                 /* time at the ramp's end [s], rate from there on [rad/s]                         */
    rc_lane is_active;                   /* 1 until the lane is at the tick's end                                          */
    rc_lane slips, is_free;              /* 1: has lost its steps; 1: that, or without power                               */
    rc_lane now, next;                   /* the piece's ends since the tick began [s]                                      */
    rc_lane sense, rising, share;        /* of the generator in the piece: -1, 0, 1; slope [rad/s2]; torque left [1]       */
    rc_lane glide;                       /* the free platform's sense in the piece, 0 where it sticks                      */
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

/* Running friction of a platform that glides; without power the detent torque is part of it [N m]. */
RC_INLINE double glide_friction(const struct rc_platform_lanes *p, int lane)
{
    return rc_bearing_friction(p, lane) + (p->mode[lane] == RC_DRIVE_ASLEEP ? p->stepper.detent[lane] : 0.0);
}

/* The gliding platform's rate at a time in the piece; as rc_bearing_slide, with the vehicle's roll as it is there [rad/s].
 * What viscous friction leaves, exp(-x), and the mean of that: by the fourth power of the Pade approximant of second order in
 * x/4, whose error is x^5/184,000; a tick of 10 ms has an x of some thousandths. */
RC_INLINE double glide_at(const struct rc_platform_lanes *p, const struct flow *f, int lane, const struct rc_tick *tick, double t)
{
    const double since = t - f->now[lane], y = 0.25 * p->viscous[lane] * p->per_own_inertia[lane] * since;
    const double even = 1.0 + y * y * (1.0 / 12.0), per_below = 1.0 / (even + 0.5 * y);
    const double quarter = (even - 0.5 * y) * per_below, half = quarter * quarter;
    const double left = half * half, mean = 0.25 * per_below * (1.0 + quarter) * (1.0 + half);
    const double roll = rc_stages_roll(p, lane, place_at(tick, t)) - rc_stages_roll(p, lane, place_at(tick, f->now[lane]));
    const double driven = -p->coupling[lane] * roll - f->glide[lane] * glide_friction(p, lane) * since;
    const double rate = p->rate[lane] * left + driven * p->per_own_inertia[lane] * mean;
    return f->glide[lane] != 0.0 ? rate : 0.0;
}

/* What ends a free platform's piece: above 0 where it has come to rest, or is torn loose from it.
 * in rate [rad/s], push [N m]  there */
RC_INLINE double glide_ends(const struct rc_platform_lanes *p, const struct flow *f, int lane, double rate, double push)
{
    const double torn = rc_lane_abs(push) - glide_friction(p, lane) * p->starting_ratio[lane];
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

/* What is due as a piece begins: losing the steps, or catching them with a jump to the nearest angle that is whole cycles
 * away. out jumped (lanes) [rad] */
RC_INLINE void change_now(struct rc_platform_lanes *p, struct flow *f, double *jumped)
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
        const double now_rate = rc_lane_pick(catches, pace, rate);
        s->slip[lane] = rc_lane_pick(changes, 0.0, slip);
        p->rate[lane] = now_rate;
        jumped[lane] = jump;
        p->turned[lane] += jump;
        p->tally.drift[lane] += jump;
        p->tally.slips[lane] += loses;
        f->slips[lane] = now_slips;
        f->is_free[lane] = rc_lane_either(now_slips, is_dead);
        f->early[lane] = rc_lane_pick(changes, now_slips > 0.5 ? is.spare : -is.spare, decides);
        const double holds = glide_friction(p, lane) * p->starting_ratio[lane];
        const double torn = rc_lane_abs(push) > holds ? rc_lane_sense(push) : 0.0;
        f->glide[lane] = now_rate != 0.0 ? rc_lane_sense(now_rate) : torn;
    }
}

/* Moments between which something happens. */
struct bracket {
    rc_lane before, after;   /* it has not yet, it has [s]                               */
    rc_lane low, high;       /* what decides, there: at most 0, above 0                  */
    rc_lane aim;             /* so little above 0 is sought, for the moment to be after  */
    rc_lane side;            /* the last moment tried: 1 after, -1 before, 0 none yet    */
    rc_lane is_wanted;       /* 1 where there is something to be found                   */
};

/* The next moment to try. in i  number of the step: every fourth halves, for what bends sharply */
RC_INLINE double try_at(const struct bracket *b, int lane, int i)
{
    const double secant = (b->high[lane] - b->aim[lane]) / (b->high[lane] - b->low[lane]);
    const double share = rc_lane_pick(i % 4 == 3 ? 1.0 : 0.0, 0.5, secant);
    return b->after[lane] - share * (b->after[lane] - b->before[lane]);
}

RC_INLINE void narrow(struct bracket *b, int lane, double t, double value)
{
    const double is_after = value > 0.0 ? 1.0 : 0.0, side = 2.0 * is_after - 1.0;
    const double again = side == b->side[lane] ? 0.5 : 1.0;
    b->after[lane] = rc_lane_pick(is_after, t, b->after[lane]);
    b->before[lane] = rc_lane_pick(is_after, b->before[lane], t);
    b->high[lane] = rc_lane_pick(is_after, value, again * b->high[lane]);
    b->low[lane] = rc_lane_pick(is_after, again * b->low[lane], value);
    b->side[lane] = side;
}

/* A bracket over a lane's piece; a harmless one where nothing is wanted. */
RC_INLINE void open_bracket(struct bracket *b, const struct flow *f, int lane, double is_wanted, double low, double high)
{
    b->before[lane] = f->now[lane];
    b->after[lane] = f->next[lane];
    b->low[lane] = rc_lane_pick(is_wanted, low, -1.0);
    b->high[lane] = rc_lane_pick(is_wanted, high, 1.0);
    b->aim[lane] = 1e-9 * b->high[lane];
    b->side[lane] = 0.0;
    b->is_wanted[lane] = is_wanted;
}

/* Where a free platform comes to rest or is torn loose, its piece ends. out  f->next, f->rate */
RC_INLINE void find_glide(const struct rc_platform_lanes *p, struct flow *f, const struct rc_tick *tick, double is_last)
{
    struct bracket b;
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double next = f->next[lane], rate = glide_at(p, f, lane, tick, next);
        const double late = glide_ends(p, f, lane, rate, push_at(p, lane, tick, next));
        const double early = glide_ends(p, f, lane, p->rate[lane], f->push[lane]);
        const double ends = late > 0.0 ? 1.0 : 0.0;
        const double is_wanted = f->is_active[lane] * (1.0 - is_last) * ends;
        open_bracket(&b, f, lane, is_wanted, early, late);
        f->rate[lane] = rc_lane_pick(ends, 0.0, rate);
        n += is_wanted;
    }
    if (!(n > 0.0))
        return;
    for (int i = 0; i < N_SEARCH; i++)
        RC_FOR_LANES(lane)
        {
            const double t = try_at(&b, lane, i);
            narrow(&b, lane, t, glide_ends(p, f, lane, glide_at(p, f, lane, tick, t), push_at(p, lane, tick, t)));
        }
    RC_FOR_LANES(lane)
    f->next[lane] = rc_lane_pick(b.is_wanted[lane], b.after[lane], f->next[lane]);
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
    for (int i = 0; i < N_SEARCH; i++) {
        RC_FOR_LANES(lane)
        {
            trial[lane] = try_at(&b, lane, i);
            pace[lane] = pace_at(f, lane, trial[lane]);
        }
        rc_stepping_give(&p->stepper, table, pace, given);
        RC_FOR_LANES(lane)
        {
            const double t = trial[lane];
            narrow(&b, lane, t, change_at(p, f, lane, tick, t, given[lane], glide_at(p, f, lane, tick, t)));
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
RC_INLINE void count_piece(struct rc_platform_lanes *p, int lane, double is_active, double is_free, double length, double per_dt,
                           double start, double end, double roll_start, double roll_middle, double roll_end)
{
    const double yielding = p->reaction[lane], before = p->rate_before[lane], mean = 0.5 * (start + end);
    const double lost = 1.0 - p->keep[lane], share = length * per_dt;
    /* What the roll's damping leaves, to second order within the tick, as rc_spans_roll. */
    const double after = mean + (before - mean) * (1.0 - share * lost * (1.0 + 0.5 * (1.0 - share) * lost));
    const double roll_first = roll_start + yielding * (before - start), roll_last = roll_end + yielding * (after - end);
    const double bend = roll_start + roll_end - 2.0 * roll_middle;
    const double in_middle = rc_lane_abs(0.5 * (roll_first + roll_last - bend));
    const double greatest = rc_lane_max(in_middle, rc_lane_max(rc_lane_abs(roll_first), rc_lane_abs(roll_last)));
    const double ripple = rc_lane_pick(is_free, 0.0, p->ripple[lane]), room = p->target[lane] - ripple;
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

/* Where the play of the gear lets the platform of a lane in step go in its piece. in/out p->gap. out moved  by it [rad]
 * ends its rate at the piece's end [rad/s] */
RC_INLINE double lead(struct rc_platform_lanes *p, const struct flow *f, int lane, const struct rc_tick *tick, double *moved)
{
    const double now = f->now[lane], next = f->next[lane], gap = p->gap[lane];
    const double is_led = f->is_active[lane] * (1.0 - f->is_free[lane]);
    const struct rc_tick piece = { .dt = next - now, .per_dt = 1.0 / rc_lane_max(next - now, 1e-12), .n = 1,
                                   .theta = place_at(tick, now), .theta_end = place_at(tick, next) };
    const double end = rc_bearing_led(p, lane, &piece, pace_at(f, lane, now), pace_at(f, lane, next), moved);
    p->gap[lane] = rc_lane_pick(is_led, p->gap[lane], gap);
    return end;
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
        double led = commanded, led_end = pace_then;
        if (has_play)
            led_end = lead(p, f, lane, tick, &led);
        const double start = has_play ? rate : rc_lane_pick(is_free, rate, pace);
        const double end = rc_lane_pick(is_free, f->rate[lane], led_end);
        /* The straight mean, and what the change of the acceleration bends it by: exact for the vehicle's cubic. */
        const double push = push_at(p, lane, tick, next), slowed = p->viscous[lane] * (start - end);
        const double bent = length * length * (1.0 / 12.0) * (f->push[lane] - push - slowed) * p->per_own_inertia[lane];
        const double straight = 0.5 * length * (start + end), glided = straight + (f->glide[lane] != 0.0 ? bent : 0.0);
        const double moved = rc_lane_pick(is_free, glided, led);
        const double steps = p->stepper.steps_per_angle[lane], slip = p->stepper.slip[lane];
        const double slipped = slip + slips * (commanded - moved);
        count_piece(p, lane, is_active, is_free, length, tick->per_dt, start, end, rc_stages_roll(p, lane, place_at(tick, now)),
                    rc_stages_roll(p, lane, place_at(tick, middle)), rc_stages_roll(p, lane, place_at(tick, next)));
        p->turned[lane] += rc_lane_pick(is_active, moved, 0.0);
        p->tally.drift[lane] += rc_lane_pick(is_active * is_free, moved - straight, 0.0);
        p->tally.slipping[lane] += slips * length;
        p->tally.asleep[lane] += (is_free - slips) * length;
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

RC_KERNEL void rc_slipping_run(struct rc_platform_lanes *platform, const struct rc_platform_clock *clock,
                               const struct rc_tick *tick, const double *is_strained, struct rc_spans_track *track)
{
    struct flow f;
    const struct rc_pull_out_points *const table = &clock->pull_out;
    begin_flow(platform, &f, tick, table, is_strained);
    double n_active = 1.0;
    for (track->n = 0; n_active > 0.0 && track->n < RC_SPANS_PIECES; track->n++) {
        const int is_last = track->n == RC_SPANS_PIECES - 1; /* what is due then waits for the next tick */
        rc_lane given;
        find_bends(platform, &f, tick, table, is_last ? 1.0 : 0.0);
        change_now(platform, &f, track->jump[track->n]);
        find_glide(platform, &f, tick, is_last ? 1.0 : 0.0);
        memcpy(given, f.given, sizeof given);
        if (!is_last)
            find_change(platform, &f, tick, table, given);
        n_active = clock->has_play ? take_piece(platform, &f, tick, given, 1, track->n, track)
                                   : take_piece(platform, &f, tick, given, 0, track->n, track);
    }
    end_flow(platform, &f, is_strained, track);
}
