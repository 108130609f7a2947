/* Spans: all ticks from one command to the next at once. For drives whose motion between two commands is exact however long it
 * takes, so that gyro and cameras can be shown any moment inside. Of the gyro's samples only the last before each command is
 * taken, since nobody hears the others. What a single tick does is left to stages.h. */
#ifndef RC_SPANS_H
#define RC_SPANS_H

#include <string.h>

#include "stages.h"

/* The span, or the part of one, that begins `done` ticks after the stretch does. */
RC_INLINE struct rc_tick rc_spans_next(const struct rc_platform_clock *clock, const struct rc_platform_stretch *stretch, int done)
{
    const int64_t first = stretch->first + done;
    const int left = stretch->n_ticks - done;
    const int whole = clock->span > 1 ? clock->span - (int)(first % clock->span) : 1;
    const int n = whole < left ? whole : left;
    const double theta_step = 1.0 / stretch->n_of_step;
    const struct rc_tick tick = {
        .dt = n * clock->dt, .per_dt = n > 1 ? 1.0 / (n * clock->dt) : clock->tick_rate, .first = first, .n = n,
        .theta = (stretch->offset + done) * theta_step, .theta_end = (stretch->offset + done + n) * theta_step,
    };
    return tick;
}

/* Note how a lane's span went, for what is looked at inside it; before it is counted. */
RC_INLINE void rc_spans_note(struct rc_platform_lanes *p, int lane, const struct rc_course *c)
{
    p->ran_start[lane] = c->start;
    p->ran_ramped[lane] = c->ramped;
    p->ran_wait[lane] = c->wait;
    p->ran_share[lane] = c->ramp_share;
    p->ran_before[lane] = p->rate_before[lane];
}

/* The platform's rate against the vehicle at a place in the span just run, 0 .. 1 [rad/s]. */
RC_INLINE double rc_spans_rate(const struct rc_platform_lanes *p, int lane, double place)
{
    const double share = p->ran_share[lane], into = place - p->ran_wait[lane];
    const double ramp = p->ran_start[lane] + (p->ran_ramped[lane] - p->ran_start[lane]) * (into / share);
    return into < 0.0 ? 0.0 : (into < share ? ramp : p->rate[lane]);
}

/* The vehicle's roll rate there, when the platform turns at `rate` [rad/s]. */
RC_INLINE double rc_spans_roll(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double place, double rate)
{
    const double theta = tick->theta + place * (tick->theta_end - tick->theta);
    const double before = p->ran_before[lane] + place * (p->rate_before[lane] - p->ran_before[lane]);
    return rc_stages_roll(p, lane, theta) + p->reaction[lane] * (before - rate);
}

/* The gyro's samples since the command before the one at a tick. in tick  number of a tick with a command */
RC_INLINE int64_t rc_spans_fresh(const struct rc_platform_clock *clock, int64_t tick)
{
    return tick == 0 ? 1 : tick / clock->gyro_every - (tick - clock->control_every) / clock->gyro_every;
}

/* Pass the samples that nobody hears. in n >= 0 */
RC_INLINE void rc_spans_skip(struct rc_platform_lanes *p, int64_t n)
{
    const struct rc_noise_jump jump = rc_noise_jump_over(n);
    if (n > 0)
        RC_FOR_LANES(lane)
        p->noise_state[lane] = p->noise_state[lane] * jump.multiplier + p->noise_increment[lane] * jump.addend;
}

/* A sample that falls on the tick of a command, before the span is run. */
RC_INLINE void rc_spans_sense(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick)
{
    if (tick->first % clock->control_every != 0 || tick->first % clock->gyro_every != 0)
        return;
    const double with_platform = clock->gyro_mount == RC_GYRO_ON_PLATFORM ? 1.0 : 0.0;
    const int64_t fresh = rc_spans_fresh(clock, tick->first);
    const double period = clock->dt * clock->gyro_every * (double)fresh;
    rc_spans_skip(p, fresh - 1);
    RC_FOR_LANES(lane)
    {
        const double rate = p->rate[lane];
        const double roll = rc_stages_roll(p, lane, tick->theta) + rc_stages_yield(p, lane, rate);
        rc_stages_read(p, lane, roll + with_platform * rate, 0.0, period);
    }
}

/* The sample that the next command hears, where it falls into the span just run. */
RC_INLINE void rc_spans_listen(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick)
{
    const int64_t command = (tick->first / clock->control_every + 1) * clock->control_every;
    const int64_t heard = command - command % clock->gyro_every;
    const int64_t fresh = rc_spans_fresh(clock, command);
    if (heard == command || heard < tick->first || heard >= tick->first + tick->n || fresh == 0)
        return;
    const double with_platform = clock->gyro_mount == RC_GYRO_ON_PLATFORM ? 1.0 : 0.0;
    const double period = clock->dt * clock->gyro_every * (double)fresh;
    const double place = (double)(heard - tick->first) / tick->n;
    rc_spans_skip(p, fresh - 1);
    RC_FOR_LANES(lane)
    {
        const double rate = rc_spans_rate(p, lane, place);
        rc_stages_read(p, lane, rc_spans_roll(p, lane, tick, place, rate) + with_platform * rate, 0.0, period);
    }
}

/* One frame of a camera at a place in the span just run, 0 .. 1. */
RC_INLINE void rc_spans_frame(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                              int camera, double place)
{
    rc_lane residual, rate;
    RC_FOR_LANES(lane)
    {
        rate[lane] = rc_spans_rate(p, lane, place);
        residual[lane] = rc_spans_roll(p, lane, tick, place, rate[lane]) + rate[lane];
    }
    rc_stages_frame(p, clock, camera, residual, rate);
    if (clock->has_line_time[camera])
        rc_stages_skew(p, clock, camera, residual, rate);
}

/* Every camera takes the frames that fall into the span just run, each at the end of its tick as rc_stages_frames does. */
RC_INLINE void rc_spans_frames(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick)
{
    for (int camera = 0; camera < clock->n_cameras; camera++) {
        const int64_t frame_rate = clock->frame_rate[camera], tick_rate = clock->tick_rate;
        const int64_t before = tick->first * frame_rate / tick_rate, after = (tick->first + tick->n) * frame_rate / tick_rate;
        for (int64_t frame = before + 1; frame <= after; frame++) {
            const int64_t at = (frame * tick_rate + frame_rate - 1) / frame_rate; /* the first tick that ends with or after it */
            rc_spans_frame(p, clock, tick, camera, (double)(at - tick->first) / tick->n);
        }
    }
}

/* Show a span tick by tick to whoever watches the stretch. */
static inline void rc_spans_watch(struct rc_platform_lanes *p, const struct rc_platform_stretch *stretch,
                                  const struct rc_tick *tick)
{
    rc_lane residual, rate;
    memcpy(residual, p->residual, sizeof residual);
    memcpy(rate, p->rate, sizeof rate);
    for (int i = 1; i <= tick->n; i++) {
        const double place = (double)i / tick->n;
        for (int lane = 0; lane < RC_LANES; lane++) {
            const double there = rc_spans_rate(p, lane, place);
            p->residual[lane] = i < tick->n ? rc_spans_roll(p, lane, tick, place, there) + there : residual[lane];
        }
        for (int lane = 0; lane < RC_LANES; lane++)
            p->rate[lane] = i < tick->n ? rc_spans_rate(p, lane, place) : rate[lane];
        stretch->watch(stretch->user, stretch->offset + (int)(tick->first - stretch->first) + i);
        memcpy(p->rate, rate, sizeof rate);
    }
}

#endif
