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

/* The gyro's lagged rate and its angle at a place in the span just run, exact for the course of every lane: standstill, ramp and
 * hold, or the pieces of a track.
 * in  track  NULL, or of the lanes it is of; with_platform  1 where the gyro is on it, 0 on the vehicle
 * out lagged, angle  (lanes) rate behind the lag [rad/s], the gyro's own rate's integral [rad] */
void rc_senses_lag(const struct rc_platform_lanes *platform, const struct rc_tick *tick, const struct rc_spans_track *track,
                   double place, double with_platform, double *lagged, double *angle);

/* A sample of the gyro.
 * in  sample  its number, from 0; fresh  samples since the last one taken, itself included
 * in  place   in the span just run; before_it  constant: 1 for the beginning of one that is not run yet
 * in  has_extras  constant: lag, cross-axis pick-up, drift and load count */
RC_INLINE void rc_senses_take(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                              const struct rc_spans_track *track, int64_t sample, int64_t fresh, double place, int before_it,
                              int has_extras)
{
    const double with_platform = clock->gyro_mount == RC_GYRO_ON_PLATFORM ? 1.0 : 0.0;
    const double period = clock->dt * clock->gyro_every, time = period * (double)sample;
    const double theta = tick->theta + place * (tick->theta_end - tick->theta);
    const int64_t slot = sample % RC_MAX_LATENCY;
    rc_lane lagged, angle;
    memcpy(lagged, p->gyro_lagged, sizeof lagged);
    memcpy(angle, p->gyro_angle, sizeof angle);
    rc_spans_skip(p, fresh - 1);
    if (has_extras && !before_it)
        rc_senses_lag(p, tick, track, place, with_platform, lagged, angle);
    if (track != NULL)
        rc_spans_aim(p, track, place);
    RC_FOR_LANES(lane)
    {
        const double rate = before_it ? p->rate[lane] : rc_spans_rate(p, lane, place);
        const double roll = before_it ? rc_stages_roll(p, lane, tick->theta) + rc_stages_yield(p, lane, rate)
                                      : rc_spans_roll(p, lane, tick, place, rate);
        double truth = roll + with_platform * rate, beside = 0.0;
        if (has_extras) {
            truth = p->gyro_per_lag[lane] > 0.0 ? lagged[lane] : truth;
            /* About its own transverse axes, which turn with it. */
            double sine, cosine;
            rc_lane_sincos(angle[lane], &sine, &cosine);
            const struct rc_tilt tilt = rc_stages_tilt(p, lane, theta);
            const double about_y = cosine * tilt.pitch + sine * tilt.yaw;
            const double about_z = cosine * tilt.yaw - sine * tilt.pitch;
            beside = p->gyro_cross[0][lane] * about_y + p->gyro_cross[1][lane] * about_z +
                     p->gyro_per_load[lane] * rc_stages_load(p, lane, theta) + p->gyro_drift[lane] * time;
        }
        rc_stages_read(p, lane, truth, beside, period * (double)fresh);
        p->heard[slot][lane] = p->reading[lane];
    }
}

/* Take the samples between two ticks of a span that some command hears. in from, to  ticks since lift-off, without the last */
RC_INLINE void rc_senses_samples(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                                 const struct rc_spans_track *track, int64_t from, int64_t to, int before_it)
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
            rc_senses_take(p, clock, tick, track, sample, fresh, place, before_it, 1);
        else
            rc_senses_take(p, clock, tick, track, sample, fresh, place, before_it, 0);
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
                               const struct rc_spans_track *track, int64_t from)
{
    const int64_t every = clock->encoder_every, command = (tick->first / clock->control_every + 1) * clock->control_every;
    const int64_t first = (from + every - 1) / every, heard = command / every - 1;
    for (int64_t sample = first > heard ? first : heard; sample * every < tick->first + tick->n; sample++) {
        const double place = (double)(sample * every - tick->first) / tick->n;
        rc_lane turned;
        if (track != NULL)
            rc_spans_aim(p, track, place);
        RC_FOR_LANES(lane)
        turned[lane] = p->ran_turned[lane] + tick->dt * rc_spans_travelled(p, lane, place, rc_spans_rate(p, lane, place));
        if (track != NULL)
            rc_spans_jump(track, place, turned);
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
        rc_senses_samples(p, clock, tick, NULL, tick->first, tick->first + 1, 1);
        rc_senses_hear(p, clock, tick->first / clock->control_every);
        if (clock->has_encoder && tick->first % clock->encoder_every == 0)
            rc_senses_encode(p, clock, p->turned);
    } else if (clock->span > 1) {
        rc_spans_sense(p, clock, tick);
    } else {
        rc_stages_sense(p, clock, tick->first, tick->theta);
    }
}

/* What falls into the span or tick just run. in track  NULL, or of the lanes it is of */
RC_INLINE void rc_senses_end(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                             const struct rc_spans_track *track)
{
    if (!rc_senses_has_extras(clock)) {
        if (clock->span > 1)
            rc_spans_listen(p, clock, tick, track);
        return;
    }
    const int64_t from = tick->first + (tick->first % clock->control_every == 0 ? 1 : 0);
    rc_senses_samples(p, clock, tick, track, from, tick->first + tick->n, 0);
    if (clock->has_encoder) {
        rc_senses_turns(p, clock, tick, track, from);
        memcpy(p->ran_turned, p->turned, sizeof p->ran_turned);
    }
    if (clock->has_gyro_extras) {
        const double with_platform = clock->gyro_mount == RC_GYRO_ON_PLATFORM ? 1.0 : 0.0;
        rc_lane lagged, angle;
        rc_senses_lag(p, tick, track, 1.0, with_platform, lagged, angle);
        memcpy(p->gyro_lagged, lagged, sizeof lagged);
        memcpy(p->gyro_angle, angle, sizeof angle);
    }
}

#endif
