/* When something happens between two moments: a bracketing secant, lane by lane. Most steps gain more than a digit each where
 * nothing bends sharply. What is sought is left to whoever asks.
 * source Illinois method: M. Dowell, P. Jarratt, BIT 11 (1971) 168 [memory] */
#ifndef RC_BRACKET_H
#define RC_BRACKET_H

#include "numeric/lane.h"
#include "numeric/lane_math.h"

/* Most steps to a moment. */
enum { RC_BRACKET_STEPS = 30 };

/* Moments between which something happens. */
struct rc_bracket {
    rc_lane before, after;   /* it has not yet, it has [s]                               */
    rc_lane low, high;       /* what decides, there: at most 0, above 0                  */
    rc_lane aim;             /* so little above 0 is sought, for the moment to be after  */
    rc_lane side;            /* the last moment tried: 1 after, -1 before, 0 none yet    */
    rc_lane guess, per_slope; /* where it may be; one over how fast what decides grows there, 0 for no guess */
    rc_lane is_wanted;       /* 1 where there is something to be found                   */
    rc_lane is_open;         /* 1 until it is                                            */
};

/* Begin a lane's bracket, a harmless one where nothing is wanted.
 * in is_wanted 1 or 0; before, after [s]; low, high  what decides, there */
RC_INLINE void rc_bracket_open(struct rc_bracket *b, int lane, double is_wanted, double before, double after, double low,
                               double high)
{
    b->before[lane] = before;
    b->after[lane] = after;
    b->guess[lane] = b->per_slope[lane] = 0.0;
    b->low[lane] = rc_lane_pick(is_wanted, low, -1.0);
    b->high[lane] = rc_lane_pick(is_wanted, high, 1.0);
    b->aim[lane] = 1e-9 * b->high[lane];
    b->side[lane] = 0.0;
    b->is_wanted[lane] = b->is_open[lane] = is_wanted;
}

/* The next moment to try: a guess, where there is one, and what its slope makes of it; then the secant.
 * in i  number of the step: every third halves, for what bends sharply */
RC_INLINE double rc_bracket_try(const struct rc_bracket *b, int lane, int i)
{
    const double halves = i > 1 && i % 3 == 1 ? 1.0 : 0.0, is_early = i < 3 ? 1.0 : 0.0;
    const double secant = (b->high[lane] - b->aim[lane]) / (b->high[lane] - b->low[lane]);
    const double share = halves * 0.5 + (1.0 - halves) * secant, guess = b->guess[lane];
    const double is_guessed = is_early * (((guess > b->before[lane]) & (guess < b->after[lane])) ? 1.0 : 0.0);
    return rc_lane_pick(is_guessed, guess, b->after[lane] - share * (b->after[lane] - b->before[lane]));
}

/* Take a moment that was tried into the bracket; one that is as little after as is sought ends the search of its lane.
 * ends 1 where it goes on */
RC_INLINE double rc_bracket_narrow(struct rc_bracket *b, int lane, double t, double value)
{
    const double is_open = b->is_open[lane];
    const double is_after = is_open * (value > 0.0 ? 1.0 : 0.0), is_before = is_open * (value > 0.0 ? 0.0 : 1.0);
    const double side = is_after - is_before, again = side == b->side[lane] ? 0.5 : 1.0;
    b->after[lane] = rc_lane_pick(is_after, t, b->after[lane]);
    b->before[lane] = rc_lane_pick(is_before, t, b->before[lane]);
    b->high[lane] = rc_lane_pick(is_after, value, rc_lane_pick(is_before, again, 1.0) * b->high[lane]);
    b->low[lane] = rc_lane_pick(is_before, value, rc_lane_pick(is_after, again, 1.0) * b->low[lane]);
    b->side[lane] = side;
    b->guess[lane] = t - (value - b->aim[lane]) * b->per_slope[lane];
    const double goes_on = is_open * (1.0 - is_after * (value <= 2.0 * b->aim[lane] ? 1.0 : 0.0));
    b->is_open[lane] = goes_on;
    return goes_on;
}

#endif
