/* The gyro's lag: what it answers to a course that goes by legs, straight or a bit bent. */
#include "senses.h"

#include "motion.h"

/* Where the gyro's rate and angle have got to. */
struct trail {
    double lagged, angle; /* rate behind the lag [rad/s], the rate's integral [rad] */
};

/* A leg of a span: the platform's rate over the place in it. Places and lengths as shares of the span. */
struct leg {
    double from, length;     /* [1]     */
    double rate, slope, curve; /* rate + place (slope + place curve) [rad/s] */
    double travelled;        /* mean rate up to its beginning times that place [rad/s] */
};

/* What does not depend on the platform's rate in a span: coefficients over the place [rad/s]. */
struct base {
    double c0, c1, c2, c3;
};

/* Go along a leg as far as it lies before a place. There the gyro's own rate is a cubic x; a lag T answers it with x - T x' +
 * T^2 x'' - T^3 x''', and what it is off that at the beginning decays.
 * in  base  what does not depend on the platform's rate within the span */
RC_INLINE struct trail go_along(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct base base,
                                struct leg leg, double place, double with_platform, struct trail trail)
{
    const double a = leg.from, v = leg.rate, m = leg.slope, yield = p->reaction[lane], felt = with_platform - yield;
    const double lost = 1.0 - p->keep[lane], bend = 0.5 * lost * lost, fade = lost + bend - bend * a;
    const double c0 = base.c0 + a * (base.c1 + a * (base.c2 + a * base.c3)) + yield * leg.travelled * fade + felt * v;
    const double c1 = base.c1 + a * (2.0 * base.c2 + 3.0 * a * base.c3) + yield * (v * fade - leg.travelled * bend) + felt * m;
    const double c2 = base.c2 + 3.0 * a * base.c3 + yield * (0.5 * m * fade - v * bend) + felt * leg.curve;
    const double c3 = base.c3 - yield * (0.5 * m * bend - leg.curve * (1.0 / 3.0) * fade);
    const double h = rc_lane_min(rc_lane_max(place - a, 0.0), leg.length);
    const double lag = p->gyro_lag[lane] * tick->per_dt;
    const double is_lagging = p->gyro_per_lag[lane] > 0.0 ? 1.0 : 0.0;
    const double decay = rc_lane_pick(is_lagging, rc_lane_exp(-h * tick->dt * p->gyro_per_lag[lane]), 0.0);
    const double first = c0 - lag * (c1 - lag * (2.0 * c2 - lag * 6.0 * c3));
    const double last = c0 + h * (c1 + h * (c2 + h * c3)) -
                        lag * (c1 + h * (2.0 * c2 + h * 3.0 * c3) - lag * (2.0 * c2 + 6.0 * h * c3 - lag * 6.0 * c3));
    const double is_reached = place >= a ? 1.0 : 0.0;
    return (struct trail){ rc_lane_pick(is_reached, last + (trail.lagged - first) * decay, trail.lagged),
                           trail.angle + tick->dt * h * (c0 + h * (c1 * 0.5 + h * (c2 * (1.0 / 3.0) + h * (c3 * 0.25)))) };
}

/* What the gyro sees of a span that does not depend on the platform's rate in it. */
RC_INLINE struct base find_base(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick)
{
    const double theta = tick->theta, width = tick->theta_end - tick->theta, yielded = p->reaction[lane] * p->ran_before[lane];
    const double lost = 1.0 - p->keep[lane], bend = 0.5 * lost * lost;
    const double second = p->roll[2][lane] + 3.0 * theta * p->roll[3][lane];
    const double first = p->roll[1][lane] + theta * (2.0 * p->roll[2][lane] + 3.0 * theta * p->roll[3][lane]);
    return (struct base){ rc_stages_roll(p, lane, theta) + yielded, width * first - yielded * (lost + bend),
                          width * width * second + yielded * bend, width * width * width * p->roll[3][lane] };
}

/* The gyro's lagged rate and its angle at a place in the span just run, exact for its course as rc_spans_roll and rc_spans_rate
 * tell it: standstill, ramp, hold. */
RC_INLINE struct trail follow_course(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double place,
                                     double with_platform)
{
    const struct base base = find_base(p, lane, tick);
    const double wait = p->ran_wait[lane], share = p->ran_share[lane], start = p->ran_start[lane], ramped = p->ran_ramped[lane];
    const double slope = share > 0.0 ? (ramped - start) / share : 0.0, held = rc_lane_max((1.0 - wait) - share, 0.0);
    const struct leg stood = { 0.0, wait, 0.0, 0.0, 0.0, 0.0 }, ramp = { wait, share, start, slope, 0.0, 0.0 };
    const struct leg hold = { wait + share, held, p->rate[lane], 0.0, 0.0, 0.5 * share * (start + ramped) };
    struct trail trail = { p->gyro_lagged[lane], p->gyro_angle[lane] };
    trail = go_along(p, lane, tick, base, stood, place, with_platform, trail);
    trail = go_along(p, lane, tick, base, ramp, place, with_platform, trail);
    return go_along(p, lane, tick, base, hold, place, with_platform, trail);
}

/* What a motor's lag adds to a leg, as rc_motion_hump has it: its straight part is answered as a ramp, and what decays by what
 * the two decays have in common. in lags  of the motor's in the span [1]; lagging [rad/s] */
RC_INLINE struct trail add_hump(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct leg leg,
                                double place, double felt, double lags, double lagging, struct trail trail)
{
    const double h = rc_lane_min(rc_lane_max(place - leg.from, 0.0), leg.length), x = leg.length * lags;
    const double per_length = 1.0 / rc_lane_max(leg.length, 1e-300), lag = p->gyro_lag[lane] * tick->per_dt;
    const double per_lag = p->gyro_per_lag[lane] * tick->dt, decay = rc_lane_exp(-h * per_lag), left = rc_lane_exp(-h * lags);
    const double slope = -lagging * (1.0 - rc_lane_exp(-x)) * per_length;
    const double first = lagging - lag * slope, last = lagging + slope * (h - lag);
    const double lagged = last - first * decay - lagging * per_lag * rc_motion_two_decays(per_lag, lags, decay, left, h);
    const double travelled = leg.length * rc_motion_hump(h * per_length, x, lagging, 0.0).travelled;
    return (struct trail){ trail.lagged + felt * lagged, trail.angle + felt * tick->dt * travelled };
}

/* The same of the lanes of a track, along their pieces. out lagged, angle  of those (lanes), the others as they were
 * in has_lag  constant for the loop */
RC_INLINE void follow_track(const struct rc_platform_lanes *p, const struct rc_tick *tick, const struct rc_spans_track *track,
                            double place, double with_platform, int has_lag, double *lagged, double *angle)
{
    rc_lane from, travelled, lag, turned;
    RC_FOR_LANES(lane)
    {
        from[lane] = travelled[lane] = 0.0;
        lag[lane] = p->gyro_lagged[lane];
        turned[lane] = p->gyro_angle[lane];
    }
    for (int piece = 0; piece < track->n; piece++)
        RC_FOR_LANES(lane)
        {
            const double rate = track->from[piece][lane], change = track->to[piece][lane] - rate;
            const double begins = from[lane], until = track->until[piece][lane], length = until - begins;
            const double bulge = track->bulge[piece][lane], per_length = 1.0 / rc_lane_max(length, 1e-300);
            const struct leg leg = { begins, length, rate, (change + 6.0 * bulge) * per_length,
                                     -6.0 * bulge * per_length * per_length, travelled[lane] };
            const struct base base = find_base(p, lane, tick);
            const struct trail before = { lag[lane], turned[lane] };
            struct trail after = go_along(p, lane, tick, base, leg, place, with_platform, before);
            if (has_lag)
                after = add_hump(p, lane, tick, leg, place, with_platform - p->reaction[lane], track->lags[lane],
                                 track->lagging[piece][lane], after);
            const double counts = length > 0.0 ? 1.0 : 0.0;
            lag[lane] = rc_lane_pick(counts, after.lagged, before.lagged);
            turned[lane] = rc_lane_pick(counts, after.angle, before.angle);
            travelled[lane] += length * (rate + 0.5 * change + bulge);
            from[lane] = until;
        }
    RC_FOR_LANES(lane)
    {
        lagged[lane] = rc_lane_pick(track->is_on[lane], lag[lane], lagged[lane]);
        angle[lane] = rc_lane_pick(track->is_on[lane], turned[lane], angle[lane]);
    }
}

RC_KERNEL void rc_senses_lag(const struct rc_platform_lanes *platform, const struct rc_tick *tick,
                             const struct rc_spans_track *track, double place, double with_platform, double *lagged,
                             double *angle)
{
    RC_FOR_LANES(lane)
    {
        const struct trail trail = follow_course(platform, lane, tick, place, with_platform);
        lagged[lane] = trail.lagged;
        angle[lane] = trail.angle;
    }
    if (track != NULL && track->has_lag)
        follow_track(platform, tick, track, place, with_platform, 1, lagged, angle);
    else if (track != NULL)
        follow_track(platform, tick, track, place, with_platform, 0, lagged, angle);
}
