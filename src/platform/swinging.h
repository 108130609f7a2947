/* A servo's lanes in whose tick something happens, piece by piece. What a tick is in which nothing does is left to
 * drives/servo.c. */
#ifndef RC_SWINGING_H
#define RC_SWINGING_H

#include "spans.h"

/* The vehicle's roll acceleration over the time in a tick, which is a parabola. */
struct rc_swinging_roll {
    double now, slope, bend;   /* [rad/s2], [rad/s3], [rad/s4] */
};
RC_INLINE struct rc_swinging_roll rc_swinging_roll(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick)
{
    const double theta = tick->theta, per_time = (tick->theta_end - theta) * tick->per_dt, square = per_time * per_time;
    const double second = p->roll[2][lane], third = p->roll[3][lane];
    return (struct rc_swinging_roll){
        per_time * p->roll[1][lane] + (2.0 * theta * per_time) * second + (3.0 * theta * theta * per_time) * third,
        (2.0 * square) * second + (6.0 * theta * square) * third, (3.0 * square * per_time) * third };
}

/* The motor's torque at the platform over a tick: what it tends to, and what it is off that as the tick begins (lanes) [N m]. */
struct rc_swinging_pull {
    rc_lane wanted, lagging;
};

/* Take lanes over a tick piece by piece: from one moment to the next at which the platform comes to rest, is torn loose, or
 * reaches or leaves the top rate, or a length of time in which the motor's cogs do not go by too fast for rc_motion_cogging.
 * Rate, angle, tallies and mode are brought to its end; other lanes keep their bits.
 * in/out platform
 * in     tick         a single one
 * in     pull         (lanes)
 * in     is_swinging  (lanes) 1 for those it is asked for
 * out    track        how they went; the first piece of the others is the caller's
 * cost   per piece some ten times what a plain tick takes; there are one to three, and one per radian of the motor's cogs */
void rc_swinging_run(struct rc_platform_lanes *platform, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                     const struct rc_swinging_pull *pull, const double *is_swinging, struct rc_spans_track *track);

#endif
