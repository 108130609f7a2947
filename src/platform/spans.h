/* Spans: all ticks from one command to the next at once, or a single tick. For drives whose motion between two commands is exact
 * however long it takes, so that gyro and cameras can be shown any moment inside; cameras take their frames by this in any
 * drive. Of the gyro's samples only the last before each command is taken, since nobody hears the others. What a single tick
 * does is left to stages.h. */
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

/* The course of a lane's span from what was noted of it, for a drive with a floor. */
RC_INLINE struct rc_course rc_spans_course(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick)
{
    return (struct rc_course){ rc_stages_roll(p, lane, tick->theta), rc_stages_roll(p, lane, tick->theta_end), p->ran_start[lane],
                               p->ran_ramped[lane], p->rate[lane], p->ran_share[lane], p->target[lane], p->ran_wait[lane], 0, 1,
                               rc_stages_roll_bend(p, lane, tick), 0.0 };
}

/* The platform's rate against the vehicle at a place in the span just run, 0 .. 1 [rad/s]. */
RC_INLINE double rc_spans_rate(const struct rc_platform_lanes *p, int lane, double place)
{
    const double share = p->ran_share[lane], into = place - p->ran_wait[lane];
    const double ramp = p->ran_start[lane] + (p->ran_ramped[lane] - p->ran_start[lane]) * (into / share);
    return into < 0.0 ? 0.0 : (into < share ? ramp : p->rate[lane]);
}

/* The mean of that rate from the span's beginning to a place, times the place [rad/s]. in rate  there */
RC_INLINE double rc_spans_travelled(const struct rc_platform_lanes *p, int lane, double place, double rate)
{
    const double share = p->ran_share[lane], into = rc_lane_max(place - p->ran_wait[lane], 0.0);
    const double ramping = 0.5 * rc_lane_min(into, share) * (p->ran_start[lane] + (into < share ? rate : p->ran_ramped[lane]));
    return ramping + rc_lane_max(into - share, 0.0) * p->rate[lane];
}

/* The vehicle's roll rate there, when the platform turns at `rate`; what it has given way fades as rc_stages_fade says, to second
 * order within the span [rad/s]. */
RC_INLINE double rc_spans_roll(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double place, double rate)
{
    const double theta = tick->theta + place * (tick->theta_end - tick->theta);
    const double lost = 1.0 - p->keep[lane], mean = rc_spans_travelled(p, lane, place, rate) / rc_lane_max(place, 1e-9);
    const double kept = 1.0 - place * lost * (1.0 + 0.5 * (1.0 - place) * lost);
    const double before = mean + (p->ran_before[lane] - mean) * kept;
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

/* How lanes went that did more than wait, ramp and hold: by pieces, each straight but for a bulge, a parabola that is zero at the
 * piece's ends, and another one where a servo's motor lags. Most pieces of a drive, and of a servo, whose cogs want more. */
enum { RC_SPANS_PIECES = 12, RC_SPANS_COG_PIECES = 48 };
struct rc_spans_track {
    int n;                            /* pieces of the lane that has most                                  */
    rc_lane is_on;                    /* 1 for those lanes; the others are noted (rc_spans_note)           */
    rc_lane until[RC_SPANS_COG_PIECES]; /* a piece's end as a place in the span, rising up to 1            */
    rc_lane from[RC_SPANS_COG_PIECES], to[RC_SPANS_COG_PIECES]; /* the platform's rate at its ends [rad/s] */
    rc_lane bulge[RC_SPANS_COG_PIECES]; /* its mean in the piece over what a straight one would have [rad/s] */
    rc_lane jump[RC_SPANS_COG_PIECES]; /* by which its angle jumps as the piece begins [rad]               */
    int has_lag;                      /* 1: the rest counts, too                                           */
    rc_lane lags, left;               /* the motor's lags in the span, exp(-lags) [1]                      */
    rc_lane lagging[RC_SPANS_COG_PIECES]; /* size of the bulge that the lag makes, as rc_motion_hump [rad/s] */
};

/* Note for the lanes of a track a course that has their rate at a place, and their mean rate up to there. in place  0 .. 1 */
void rc_spans_aim(struct rc_platform_lanes *platform, const struct rc_spans_track *track, double place);

/* What there is to be seen of lanes that all go by pieces of a motor that lags (rc_spans_see). Where one piece is all there is of
 * a lane, its mean rate is taken near enough for what it wears away of the vehicle's roll. */
void rc_spans_see_lagging(struct rc_platform_lanes *platform, const struct rc_tick *tick, const struct rc_spans_track *track,
                          double place, double *residual, double *rate);

/* Add to angles of lanes by which those of a track have jumped up to a place. in/out turned (lanes) [rad] */
void rc_spans_jump(const struct rc_spans_track *track, double place, double *turned);

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

/* The sample that the next command hears, where it falls into the span just run. in track  NULL, or of the lanes it is of */
RC_INLINE void rc_spans_listen(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                               const struct rc_spans_track *track)
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
    if (track != NULL)
        rc_spans_aim(p, track, place);
    RC_FOR_LANES(lane)
    {
        const double rate = rc_spans_rate(p, lane, place);
        rc_stages_read(p, lane, rc_spans_roll(p, lane, tick, place, rate) + with_platform * rate, 0.0, period);
    }
}

/* What there is to be seen at a place in the span just run, 0 .. 1: the platform's rate in the ground frame, and against the
 * vehicle.
 * in  track  NULL, or of the lanes it is of
 * out residual, rate (lanes) [rad/s] */
RC_INLINE void rc_spans_see(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct rc_spans_track *track,
                            double place, double *residual, double *rate)
{
    if (track != NULL && track->has_lag) {
        rc_spans_see_lagging(p, tick, track, place, residual, rate);
        return;
    }
    if (track != NULL)
        rc_spans_aim(p, track, place);
    RC_FOR_LANES(lane)
    {
        rate[lane] = rc_spans_rate(p, lane, place);
        residual[lane] = rc_spans_roll(p, lane, tick, place, rate[lane]) + rate[lane];
    }
}

/* How many frames each camera has taken, from one span to the next. */
struct rc_spans_reel {
    int64_t taken[RC_MAX_CAMERAS];
};

/* Those taken before a tick. in tick  number since lift-off */
RC_INLINE struct rc_spans_reel rc_spans_reel_at(const struct rc_platform_clock *clock, int64_t tick)
{
    struct rc_spans_reel reel = { { 0 } };
    for (int camera = 0; camera < clock->n_cameras; camera++)
        reel.taken[camera] = tick * clock->frame_rate[camera] / clock->tick_rate;
    return reel;
}

/* Where in a span frame k of a camera lies, k/(frame rate) after lift-off, as its place 0 .. 1. */
RC_INLINE double rc_spans_frame_place(const struct rc_platform_clock *clock, const struct rc_tick *tick, int camera,
                                      int64_t frame)
{
    return ((double)(frame * clock->tick_rate) / clock->frame_rate[camera] - (double)tick->first) / tick->n;
}

/* The rate across the axis at a place in a span. out tilt (lanes) [rad/s] */
RC_INLINE void rc_spans_tilt(const struct rc_platform_lanes *p, const struct rc_tick *tick, double place, double *tilt)
{
    RC_FOR_LANES(lane)
    {
        const struct rc_tilt rate = rc_stages_tilt(p, lane, tick->theta + place * (tick->theta_end - tick->theta));
        tilt[lane] = __builtin_sqrt(rate.pitch * rate.pitch + rate.yaw * rate.yaw);
    }
}

/* Every camera takes the frames that fall into the span just run, each at its moment. in track  as rc_spans_listen's */
RC_INLINE void rc_spans_frames(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                               const struct rc_spans_track *track, struct rc_spans_reel *reel)
{
    rc_lane residual, rate, tilt;
    double seen = -1.0; /* cameras often take their frames together */
    for (int camera = 0; camera < clock->n_cameras; camera++) {
        const int64_t until = (tick->first + tick->n) * clock->frame_rate[camera];
        for (int64_t frame = reel->taken[camera] + 1; frame * clock->tick_rate <= until; frame++) {
            const double place = rc_spans_frame_place(clock, tick, camera, frame);
            if (place != seen)
                rc_spans_see(p, tick, track, place, residual, rate);
            seen = place;
            rc_spans_tilt(p, tick, place, tilt);
            rc_stages_frame(p, clock, camera, residual, rate, tilt);
            if (clock->has_line_time[camera])
                rc_stages_skew(p, clock, camera, residual, rate, tilt);
            reel->taken[camera] = frame;
        }
    }
}

/* What is shown of a camera in one tick of a span: the last frame it takes in it, or one at the tick's end.
 * in i  number of the tick in the span, 1 .. */
static inline void rc_spans_show(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                                 const struct rc_spans_track *track, int camera, int i)
{
    const int64_t rate = clock->frame_rate[camera], end = tick->first + i, frame = end * rate / clock->tick_rate;
    const int is_taken = frame * clock->tick_rate > (end - 1) * rate;
    const double place = is_taken ? rc_spans_frame_place(clock, tick, camera, frame) : (double)i / tick->n;
    rc_spans_see(p, tick, track, place, p->shown_residual[camera], p->shown_rate[camera]);
    rc_spans_tilt(p, tick, place, p->shown_tilt[camera]);
}

/* Show a span tick by tick to whoever watches the stretch. in track  as rc_spans_listen's */
static inline void rc_spans_watch(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                  const struct rc_platform_stretch *stretch, const struct rc_tick *tick,
                                  const struct rc_spans_track *track)
{
    rc_lane residual, rate;
    memcpy(residual, p->residual, sizeof residual);
    memcpy(rate, p->rate, sizeof rate);
    for (int i = 1; i <= tick->n; i++) {
        const double place = (double)i / tick->n;
        for (int camera = 0; camera < clock->n_cameras; camera++)
            rc_spans_show(p, clock, tick, track, camera, i);
        if (track != NULL)
            rc_spans_aim(p, track, place);
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
