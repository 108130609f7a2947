/* What is counted at every platform tick and every camera frame, in lanes. Signals in, running tallies out. */
#ifndef RC_TALLY_H
#define RC_TALLY_H

#include <stddef.h>

#include "base/limits.h"
#include "numeric/lane.h"
#include "numeric/lane_math.h"

/* Running tallies of a block of flights; zeroed at lift-off. */
struct rc_tally {
    rc_lane held;                        /* time within the target [s]                    */
    rc_lane square;                      /* integral of the residual rate squared [rad2/s] */
    rc_lane residual_peak;               /* [rad/s]                                       */
    rc_lane drift;                       /* integral of the residual rate [rad]           */
    rc_lane below_floor;                 /* [s]                                           */
    rc_lane asleep;                      /* [s]                                           */
    rc_lane starts, reversals;           /* counts                                        */
    rc_lane changed_at;                  /* where these changed last, as a place in the tick 0 .. 1 */
    rc_lane failed_starts;               /* count                                         */
    rc_lane locked_out;                  /* [s]                                           */
    rc_lane stalled;                     /* [s]                                           */
    rc_lane saturated;                   /* [s]                                           */
    rc_lane gathered_peak;               /* [rad]                                         */
    rc_lane roll_peak;                   /* [rad/s]                                       */
    rc_lane lost, slips;                 /* full steps, signed; times it lost its steps   */
    rc_lane slipping;                    /* [s]                                           */
    rc_lane ripple_peak;                 /* [rad/s]                                       */
    rc_lane unpowered;                   /* [s]                                           */
    rc_lane skewed[RC_MAX_CAMERAS];      /* frames with too much skew                     */
    rc_lane skew_peak[RC_MAX_CAMERAS];   /* [px]                                          */
    rc_lane frames[RC_MAX_CAMERAS];      /* frames taken                                  */
    rc_lane usable[RC_MAX_CAMERAS];      /* usable ones                                   */
    rc_lane run[RC_MAX_CAMERAS];         /* usable ones in a row, up to now               */
    rc_lane longest[RC_MAX_CAMERAS];     /* most in a row                                 */
};

/* A piece of time in which a rate goes linearly from one value to another. */
struct rc_piece {
    double start, end;   /* [rad/s] */
    double dt;           /* [s]     */
};

/* Share of a piece in which the rate lies within a limit, as a quotient. */
struct rc_within {
    double inside, change;
};
RC_INLINE struct rc_within rc_tally_within(double start, double end, double target)
{
    const double inside = rc_lane_abs(rc_lane_clamp(end, target) - rc_lane_clamp(start, target));
    const double change = rc_lane_abs(end - start);
    const double still = rc_lane_abs(start) <= target ? 1.0 : 0.0;
    return (struct rc_within){ change > 1e-12 ? inside : still, change > 1e-12 ? change : 1.0 };
}

/* Share of a stretch in which a rate that goes linearly from `start` to `end` lies within +-target: exact, not sampled.
 * in  start, end  [rad/s]; target >= 0 [rad/s]
 * ends 0 .. 1 */
RC_INLINE double rc_tally_share_within(double start, double end, double target)
{
    const struct rc_within within = rc_tally_within(start, end, target);
    return within.inside / within.change;
}

/* Time in two pieces in which a rate lies within +-target [s], as a quotient `inside` over `change`. */
RC_INLINE struct rc_within rc_tally_time_within(struct rc_piece one, struct rc_piece two, double target)
{
    const struct rc_within a = rc_tally_within(one.start, one.end, target), b = rc_tally_within(two.start, two.end, target);
    return (struct rc_within){ one.dt * a.inside * b.change + two.dt * b.inside * a.change, a.change * b.change };
}

/* Everything of a piece of the residual rate but the time within the target. */
RC_INLINE void rc_tally_piece(struct rc_tally *tally, int lane, struct rc_piece piece)
{
    const double start = piece.start, end = piece.end;
    tally->square[lane] += piece.dt * (start * start + start * end + end * end) * (1.0 / 3.0);
    tally->drift[lane] += piece.dt * 0.5 * (start + end);
    tally->residual_peak[lane] = rc_lane_max(tally->residual_peak[lane], rc_lane_max(rc_lane_abs(start), rc_lane_abs(end)));
}

/* Count one tick in which the residual rate goes linearly from start to end.
 * in/out tally      in lane     which lane
 * in     start, end [rad/s], target [rad/s], dt [s] */
RC_INLINE void rc_tally_tick(struct rc_tally *tally, int lane, double start, double end, double target, double dt)
{
    tally->held[lane] += dt * rc_tally_share_within(start, end, target);
    rc_tally_piece(tally, lane, (struct rc_piece){ start, end, dt });
}

/* Count times within limits that are given as quotients: one division for both, which are dear in wide vectors. */
RC_INLINE void rc_tally_times(struct rc_tally *tally, int lane, struct rc_within held, struct rc_within below_floor)
{
    const double per_both = 1.0 / (held.change * below_floor.change);
    tally->held[lane] += held.inside * (below_floor.change * per_both);
    tally->below_floor[lane] += below_floor.inside * (held.change * per_both);
}

/* End a lane's tallies inside a tick: its integrals grow evenly, starts come at their place, what the controller gathers at its
 * beginning; frames and the other greatest values stay those before it.
 * in/out tally   as before the tick
 * in     after   as after it; share of the tick that counts, 0 .. 1 */
static inline void rc_tally_end(struct rc_tally *tally, const struct rc_tally *after, int lane, double share)
{
    double *const integral[] = {
        tally->held, tally->square, tally->drift, tally->below_floor, tally->asleep,
        tally->locked_out, tally->stalled, tally->saturated, tally->slipping, tally->unpowered,
    };
    const double *const then[] = {
        after->held, after->square, after->drift, after->below_floor, after->asleep,
        after->locked_out, after->stalled, after->saturated, after->slipping, after->unpowered,
    };
    for (size_t i = 0; i < sizeof integral / sizeof integral[0]; i++)
        integral[i][lane] += share * (then[i][lane] - integral[i][lane]);
    const double counts = after->changed_at[lane] <= share ? 1.0 : 0.0;
    tally->starts[lane] = rc_lane_pick(counts, after->starts[lane], tally->starts[lane]);
    tally->reversals[lane] = rc_lane_pick(counts, after->reversals[lane], tally->reversals[lane]);
    tally->failed_starts[lane] = after->failed_starts[lane];
    tally->gathered_peak[lane] = after->gathered_peak[lane];
}

/* Count one frame of a camera. in is_usable 0 or 1 */
RC_INLINE void rc_tally_frame(struct rc_tally *tally, int camera, int lane, double is_usable)
{
    const double run = (tally->run[camera][lane] + 1.0) * is_usable;
    tally->frames[camera][lane] += 1.0;
    tally->usable[camera][lane] += is_usable;
    tally->run[camera][lane] = run;
    tally->longest[camera][lane] = rc_lane_max(tally->longest[camera][lane], run);
}

#endif
