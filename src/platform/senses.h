/* What gyro and encoder tell the controller: the gyro's samples with its lag, what else it picks up and its drift, the latency
 * until a command hears a sample, and the encoder's. All of it in real time, inside a span as in a tick: of the course just run
 * every moment is known in closed form. Where there is more than the plain gyro, samples that no command hears are passed
 * over. */
#ifndef RC_SENSES_H
#define RC_SENSES_H

#include <string.h>

#include "spans.h"

/* Does the controller hear more than a plain gyro at once? */
RC_INLINE int rc_senses_has_extras(const struct rc_platform_clock *clock)
{
    return clock->has_gyro_extras || clock->has_encoder || clock->latency > 0.0;
}

/* A sample that arrives within this share of the gyro's period after a command counts as there: rounding must not decide. [1] */
#define RC_SENSES_TIE 1e-6

/* The sample that a command hears: the newest that has arrived. in command  its number, from 0; ends below 0 for none yet */
RC_INLINE int64_t rc_senses_heard(const struct rc_platform_clock *clock, int64_t command)
{
    const double at = (double)(command * clock->control_every) / clock->gyro_every;
    return (int64_t)__builtin_floor(at - clock->latency / (clock->dt * clock->gyro_every) + RC_SENSES_TIE);
}

/* Where the gyro's rate and angle have got to. */
struct rc_trail {
    double lagged, angle; /* rate behind the lag [rad/s], the rate's integral [rad] */
};

/* A leg of a span in which the platform's rate goes straight. Places and lengths as shares of the span. */
struct rc_leg {
    double from, length;     /* [1]     */
    double rate, slope;      /* at its beginning, and per span [rad/s] */
    double travelled;        /* mean rate up to its beginning times that place [rad/s] */
};

/* Go along a leg as far as it lies before a place. There the gyro's own rate is a cubic x; a lag T answers it with x - T x' +
 * T^2 x'' - T^3 x''', and what it is off that at the beginning decays.
 * in  base (4)  coefficients of what does not depend on the platform's rate within the span, over its place [rad/s] */
RC_INLINE struct rc_trail rc_senses_along(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick,
                                          const double *base, struct rc_leg leg, double place, double with_platform,
                                          struct rc_trail trail)
{
    const double a = leg.from, v = leg.rate, m = leg.slope, yield = p->reaction[lane], felt = with_platform - yield;
    const double lost = 1.0 - p->keep[lane], bend = 0.5 * lost * lost, fade = lost + bend - bend * a;
    const double c0 = base[0] + a * (base[1] + a * (base[2] + a * base[3])) + yield * leg.travelled * fade + felt * v;
    const double c1 = base[1] + a * (2.0 * base[2] + 3.0 * a * base[3]) + yield * (v * fade - leg.travelled * bend) + felt * m;
    const double c2 = base[2] + 3.0 * a * base[3] + yield * (0.5 * m * fade - v * bend);
    const double c3 = base[3] - yield * (0.5 * m * bend);
    const double h = rc_lane_min(rc_lane_max(place - a, 0.0), leg.length);
    const double lag = p->gyro_lag[lane] * tick->per_dt;
    const double is_lagging = p->gyro_per_lag[lane] > 0.0 ? 1.0 : 0.0;
    const double decay = rc_lane_pick(is_lagging, rc_lane_exp(-h * tick->dt * p->gyro_per_lag[lane]), 0.0);
    const double first = c0 - lag * (c1 - lag * (2.0 * c2 - lag * 6.0 * c3));
    const double last = c0 + h * (c1 + h * (c2 + h * c3)) -
                        lag * (c1 + h * (2.0 * c2 + h * 3.0 * c3) - lag * (2.0 * c2 + 6.0 * h * c3 - lag * 6.0 * c3));
    const double is_reached = place >= a ? 1.0 : 0.0;
    return (struct rc_trail){ rc_lane_pick(is_reached, last + (trail.lagged - first) * decay, trail.lagged),
                              trail.angle + tick->dt * h * (c0 + h * (c1 * 0.5 + h * (c2 * (1.0 / 3.0) + h * (c3 * 0.25)))) };
}

/* The gyro's lagged rate and its angle at a place in the span just run, exact for its course as rc_spans_roll and rc_spans_rate
 * tell it: standstill, ramp, hold. */
RC_INLINE struct rc_trail rc_senses_follow(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double place,
                                           double with_platform)
{
    const double theta = tick->theta, width = tick->theta_end - tick->theta, yielded = p->reaction[lane] * p->ran_before[lane];
    const double lost = 1.0 - p->keep[lane], bend = 0.5 * lost * lost;
    const double second = p->roll[2][lane] + 3.0 * theta * p->roll[3][lane];
    const double first = p->roll[1][lane] + theta * (2.0 * p->roll[2][lane] + 3.0 * theta * p->roll[3][lane]);
    const double base[4] = { rc_stages_roll(p, lane, theta) + yielded, width * first - yielded * (lost + bend),
                             width * width * second + yielded * bend, width * width * width * p->roll[3][lane] };
    const double wait = p->ran_wait[lane], share = p->ran_share[lane], start = p->ran_start[lane], ramped = p->ran_ramped[lane];
    const double slope = share > 0.0 ? (ramped - start) / share : 0.0, held = rc_lane_max((1.0 - wait) - share, 0.0);
    const struct rc_leg stood = { 0.0, wait, 0.0, 0.0, 0.0 }, ramp = { wait, share, start, slope, 0.0 };
    const struct rc_leg hold = { wait + share, held, p->rate[lane], 0.0, 0.5 * share * (start + ramped) };
    struct rc_trail trail = { p->gyro_lagged[lane], p->gyro_angle[lane] };
    trail = rc_senses_along(p, lane, tick, base, stood, place, with_platform, trail);
    trail = rc_senses_along(p, lane, tick, base, ramp, place, with_platform, trail);
    return rc_senses_along(p, lane, tick, base, hold, place, with_platform, trail);
}

/* A sample of the gyro.
 * in  sample  its number, from 0; fresh  samples since the last one taken, itself included
 * in  place   in the span just run; before_it  constant: 1 for the beginning of one that is not run yet
 * in  has_extras  constant: lag, cross-axis pick-up, drift and load count */
RC_INLINE void rc_senses_take(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                              int64_t sample, int64_t fresh, double place, int before_it, int has_extras)
{
    const double with_platform = clock->gyro_mount == RC_GYRO_ON_PLATFORM ? 1.0 : 0.0;
    const double period = clock->dt * clock->gyro_every, time = period * (double)sample;
    const int64_t slot = sample % RC_MAX_LATENCY;
    rc_spans_skip(p, fresh - 1);
    RC_FOR_LANES(lane)
    {
        const double rate = before_it ? p->rate[lane] : rc_spans_rate(p, lane, place);
        const double roll = before_it ? rc_stages_roll(p, lane, tick->theta) + rc_stages_yield(p, lane, rate)
                                      : rc_spans_roll(p, lane, tick, place, rate);
        double truth = roll + with_platform * rate, beside = 0.0;
        if (has_extras) {
            struct rc_trail trail = { p->gyro_lagged[lane], p->gyro_angle[lane] };
            if (!before_it)
                trail = rc_senses_follow(p, lane, tick, place, with_platform);
            truth = p->gyro_per_lag[lane] > 0.0 ? trail.lagged : truth;
            /* About its own transverse axes, which turn with it. */
            double sine, cosine;
            rc_lane_sincos(trail.angle, &sine, &cosine);
            const double about_y = cosine * p->pitch[lane] + sine * p->yaw[lane];
            const double about_z = cosine * p->yaw[lane] - sine * p->pitch[lane];
            beside = p->gyro_cross[0][lane] * about_y + p->gyro_cross[1][lane] * about_z +
                     p->gyro_per_load[lane] * p->load[lane] + p->gyro_drift[lane] * time;
        }
        rc_stages_read(p, lane, truth, beside, period * (double)fresh);
        p->heard[slot][lane] = p->reading[lane];
    }
}

/* Take the samples between two ticks of a span that some command hears. in from, to  ticks since lift-off, without the last */
RC_INLINE void rc_senses_samples(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                                 int64_t from, int64_t to, int before_it)
{
    const int64_t early = (int64_t)(((double)from + clock->latency / clock->dt) / clock->control_every) - 1;
    for (int64_t command = early > 0 ? early : 0;; command++) {
        const int64_t sample = rc_senses_heard(clock, command), last = rc_senses_heard(clock, command - 1);
        const int64_t at = sample * clock->gyro_every, fresh = sample - (last > -1 && command > 0 ? last : -1);
        if (at >= to)
            return;
        if (sample < 0 || at < from || fresh <= 0)
            continue;
        const double place = (double)(at - tick->first) / tick->n;
        if (clock->has_gyro_extras)
            rc_senses_take(p, clock, tick, sample, fresh, place, before_it, 1);
        else
            rc_senses_take(p, clock, tick, sample, fresh, place, before_it, 0);
    }
}

/* The encoder reads the angle between platform and vehicle in whole steps; its rate is the difference over its period.
 * in turned  that angle (RC_LANES) [rad] */
RC_INLINE void rc_senses_encode(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const double *turned)
{
    const double per_period = 1.0 / (clock->dt * clock->encoder_every);
    RC_FOR_LANES(lane)
    {
        const double step = p->encoder_step[lane];
        const double steps = rc_lane_round(turned[lane] / (step > 0.0 ? step : 1.0));
        const double angle = step > 0.0 ? steps * step : turned[lane];
        p->encoder_rate[lane] = (angle - p->encoder_angle[lane]) * per_period;
        p->encoder_angle[lane] = angle;
    }
}

/* The encoder's samples from a tick to the end of the span just run: those that make the rate which the next command hears. */
RC_INLINE void rc_senses_turns(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                               int64_t from)
{
    const int64_t every = clock->encoder_every, command = (tick->first / clock->control_every + 1) * clock->control_every;
    const int64_t first = (from + every - 1) / every, heard = command / every - 1;
    for (int64_t sample = first > heard ? first : heard; sample * every < tick->first + tick->n; sample++) {
        const double place = (double)(sample * every - tick->first) / tick->n;
        rc_lane turned;
        RC_FOR_LANES(lane)
        turned[lane] = p->ran_turned[lane] + tick->dt * rc_spans_travelled(p, lane, place, rc_spans_rate(p, lane, place));
        rc_senses_encode(p, clock, turned);
    }
}

/* The newest reading that has arrived: the latency is a pure delay. Before the first one the controller hears zero. */
RC_INLINE void rc_senses_hear(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int64_t command)
{
    const int64_t sample = rc_senses_heard(clock, command), slot = sample < 0 ? 0 : sample % RC_MAX_LATENCY;
    RC_FOR_LANES(lane)
    p->reading[lane] = sample < 0 ? 0.0 : p->heard[slot][lane];
}

/* What the controller is told at the beginning of a span or tick, before it commands and the drive moves. */
RC_INLINE void rc_senses_begin(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick)
{
    if (rc_senses_has_extras(clock)) {
        if (tick->first % clock->control_every != 0)
            return;
        rc_senses_samples(p, clock, tick, tick->first, tick->first + 1, 1);
        rc_senses_hear(p, clock, tick->first / clock->control_every);
        if (clock->has_encoder && tick->first % clock->encoder_every == 0)
            rc_senses_encode(p, clock, p->turned);
    } else if (clock->span > 1) {
        rc_spans_sense(p, clock, tick);
    } else {
        rc_stages_sense(p, clock, tick->first, tick->theta);
    }
}

/* What falls into the span or tick just run. */
RC_INLINE void rc_senses_end(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick)
{
    if (!rc_senses_has_extras(clock)) {
        if (clock->span > 1)
            rc_spans_listen(p, clock, tick);
        return;
    }
    const int64_t from = tick->first + (tick->first % clock->control_every == 0 ? 1 : 0);
    rc_senses_samples(p, clock, tick, from, tick->first + tick->n, 0);
    if (clock->has_encoder) {
        rc_senses_turns(p, clock, tick, from);
        memcpy(p->ran_turned, p->turned, sizeof p->ran_turned);
    }
    if (clock->has_gyro_extras) {
        const double with_platform = clock->gyro_mount == RC_GYRO_ON_PLATFORM ? 1.0 : 0.0;
        RC_FOR_LANES(lane)
        {
            const struct rc_trail trail = rc_senses_follow(p, lane, tick, 1.0, with_platform);
            p->gyro_lagged[lane] = trail.lagged;
            p->gyro_angle[lane] = trail.angle;
        }
    }
}

#endif
