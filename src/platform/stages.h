/* The stages of one tick that every drive shares: sense, control, take a frame. Each is one loop over lanes; static inline, so
 * that every drive's run function contains them in its own instruction set. */
#ifndef RC_STAGES_H
#define RC_STAGES_H

#include "numeric/lane_math.h"
#include "numeric/noise.h"
#include "platform.h"

/* Vehicle's roll rate at a place in the step, as it would be if the platform kept the relative rate it began the step with.
 * in  theta  0 at the step's start, 1 at its end */
RC_INLINE double rc_stages_roll(const struct rc_platform_lanes *p, int lane, double theta)
{
    return p->roll[0][lane] + theta * (p->roll[1][lane] + theta * (p->roll[2][lane] + theta * p->roll[3][lane]));
}

/* How far the vehicle's roll rate has given way when the platform turns at `rate` against it [rad/s]. */
RC_INLINE double rc_stages_yield(const struct rc_platform_lanes *p, int lane, double rate)
{
    return p->reaction[lane] * (p->rate_before[lane] - rate);
}

/* The gyro takes a sample: scale, then bias and noise, then clamp to the range.
 * in  theta  place in the step */
RC_INLINE void rc_stages_sense(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, double theta)
{
    const double with_platform = clock->gyro_mount == RC_GYRO_ON_PLATFORM ? 1.0 : 0.0;
    const double period = clock->dt * clock->gyro_every;
    RC_FOR_LANES(lane)
    {
        const double rate = p->rate[lane];
        const double truth = rc_stages_roll(p, lane, theta) + rc_stages_yield(p, lane, rate) + with_platform * rate;
        uint64_t state = p->noise_state[lane];
        const double noise = rc_noise_deviate(&state, p->noise_increment[lane]);
        p->noise_state[lane] = state;
        const double raw = truth * p->gyro_gain[lane] + p->gyro_bias[lane] + p->gyro_noise[lane] * noise;
        p->reading[lane] = rc_lane_clamp(raw, p->gyro_range[lane]);
        p->tally.saturated[lane] += rc_lane_abs(raw) >= p->gyro_range[lane] ? period : 0.0;
    }
}

/* The controller takes its tick: gather first, clamp the gathered part, then command. */
RC_INLINE void rc_stages_control(struct rc_platform_lanes *p, const struct rc_platform_clock *clock)
{
    const double period = clock->dt * clock->control_every;
    const double on_angle = clock->control_mode == RC_CONTROL_ANGLE ? 1.0 : 0.0;
    const double nearest = on_angle * (clock->turns_mode == RC_TURNS_NEAREST ? 1.0 : 0.0);
    RC_FOR_LANES(lane)
    {
        double angle = p->gathered[lane] + period * p->reading[lane];
        angle -= nearest * 2.0 * RC_PI * rc_lane_round(angle * (0.5 / RC_PI));
        angle = rc_lane_clamp(angle, p->gathered_limit[lane]);
        const double twice = on_angle * rc_lane_clamp(p->gathered_twice[lane] + period * angle, p->integral_limit[lane]);
        const double proportional = on_angle * angle + (1.0 - on_angle) * p->reading[lane];
        const double gathered = on_angle * twice + (1.0 - on_angle) * angle;
        p->gathered[lane] = angle;
        p->gathered_twice[lane] = twice;
        p->command[lane] = -(p->gain[lane] * proportional + p->integral[lane] * gathered);
        p->tally.gathered_peak[lane] = rc_lane_max(p->tally.gathered_peak[lane], rc_lane_abs(angle));
    }
}

/* One camera takes one frame, with the residual rate at hand. */
RC_INLINE void rc_stages_frame(struct rc_platform_lanes *p, int camera)
{
    RC_FOR_LANES(lane)
    {
        /* Roll pans an outward camera; the transverse rate is counted in full as tilt, its worst direction. */
        const double roll = p->residual[lane];
        const double across = p->transverse[lane];
        const double smear_squared =
            (roll * roll + across * across) * p->smear_per_rate[camera][lane] * p->smear_per_rate[camera][lane];
        const double limit = p->smear_limit[camera][lane];
        const double is_usable =
            ((smear_squared <= limit * limit) & (rc_lane_abs(roll) <= p->rate_limit[camera][lane])) ? 1.0 : 0.0;
        rc_tally_frame(&p->tally, camera, lane, is_usable);
    }
}

/* Every camera whose frames fall into this tick takes them.
 * in  tick  number since lift-off of the tick just run; frames are taken with the rate at its end */
RC_INLINE void rc_stages_frames(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int64_t tick)
{
    for (int camera = 0; camera < clock->n_cameras; camera++) {
        const int64_t before = tick * clock->frame_rate[camera] / clock->tick_rate;
        const int64_t after = (tick + 1) * clock->frame_rate[camera] / clock->tick_rate;
        /* More than one where the camera is faster than the ticks. */
        for (int64_t frame = before; frame < after; frame++)
            rc_stages_frame(p, camera);
    }
}

#endif
