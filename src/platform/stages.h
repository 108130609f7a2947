/* The stages of one tick that every drive shares: sense, control, count, take a frame. Each is one loop over lanes; static
 * inline, so that every drive's run function contains them in its own instruction set. */
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

/* What is the same for all lanes in one tick. */
struct rc_tick {
    double dt, per_dt;         /* [s], [1/s]          */
    double theta, theta_end;   /* place in the step   */
    int64_t first;             /* its number since lift-off, or that of the first tick of a span */
    int n;                     /* 1, or the ticks of a span (spans.h)                            */
};

/* How the vehicle's roll rate changes in a tick, the platform's reaction left out [rad/s]. */
RC_INLINE double rc_stages_roll_change(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick)
{
    return rc_stages_roll(p, lane, tick->theta_end) - rc_stages_roll(p, lane, tick->theta);
}

/* How that change bends: the roll rate at both ends less twice that in the middle [rad/s]. */
RC_INLINE double rc_stages_roll_bend(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick)
{
    const double width = tick->theta_end - tick->theta, middle = 0.5 * (tick->theta + tick->theta_end);
    return 0.5 * width * width * (p->roll[2][lane] + 3.0 * middle * p->roll[3][lane]);
}

/* What the gyro makes of a rate: scale, then bias and noise, then clamp to the range.
 * in  truth, beside  the rate about its axis, and what else it picks up [rad/s]; period  that the sample stands for [s] */
RC_INLINE void rc_stages_read(struct rc_platform_lanes *p, int lane, double truth, double beside, double period)
{
    uint64_t state = p->noise_state[lane];
    const double noise = rc_noise_deviate(&state, p->noise_increment[lane]);
    p->noise_state[lane] = state;
    const double raw = truth * p->gyro_gain[lane] + p->gyro_bias[lane] + p->gyro_noise[lane] * noise + beside;
    p->reading[lane] = rc_lane_clamp(raw, p->gyro_range[lane]);
    p->tally.saturated[lane] += rc_lane_abs(raw) >= p->gyro_range[lane] ? period : 0.0;
}

/* The gyro takes a sample. in theta place in the step */
RC_INLINE void rc_stages_sample(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, double theta)
{
    const double with_platform = clock->gyro_mount == RC_GYRO_ON_PLATFORM ? 1.0 : 0.0;
    const double period = clock->dt * clock->gyro_every;
    RC_FOR_LANES(lane)
    {
        const double rate = p->rate[lane];
        const double truth = rc_stages_roll(p, lane, theta) + rc_stages_yield(p, lane, rate) + with_platform * rate;
        rc_stages_read(p, lane, truth, 0.0, period);
    }
}

/* What a plain gyro does in this tick; others: senses.h. in tick number since lift-off, theta place in the step */
RC_INLINE void rc_stages_sense(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int64_t tick, double theta)
{
    if (tick % clock->gyro_every == 0)
        rc_stages_sample(p, clock, theta);
}

/* Platform's rate in the ground frame as far as gyro and encoder know it, and the vehicle's roll rate. */
RC_INLINE double rc_stages_known(const struct rc_platform_lanes *p, int lane, double gyro_on_vehicle, double *roll)
{
    const double reading = p->reading[lane], relative = p->encoder_rate[lane];
    *roll = reading - (1.0 - gyro_on_vehicle) * relative;
    return reading + gyro_on_vehicle * relative;
}

/* The controller takes its tick: gather first, clamp the gathered part, then command.
 * in  has_extras  constant: encoder, feed-forward, stillness and command steps count
 * in  on_angle    constant: it acts on the angle, else on the rate */
RC_INLINE void rc_stages_command(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int has_extras, int on_angle)
{
    const double period = clock->dt * clock->control_every;
    const double nearest = clock->turns_mode == RC_TURNS_NEAREST ? 1.0 : 0.0;
    const double on_vehicle = clock->gyro_mount == RC_GYRO_ON_VEHICLE ? 1.0 : 0.0;
    /* A drive that turns one way only takes a command the other way as zero. */
    const double unheard = clock->turning == RC_TURNING_BOTH ? 0.0 : clock->turning == RC_TURNING_POSITIVE ? 1.0 : -1.0;
    RC_FOR_LANES(lane)
    {
        double roll = 0.0, rate = p->reading[lane];
        if (has_extras) {
            rate = rc_stages_known(p, lane, on_vehicle, &roll);
            rate = !on_angle && rc_lane_abs(rate) <= p->still[lane] ? 0.0 : rate;
        }
        double angle = p->gathered[lane] + period * rate;
        if (on_angle)
            angle -= nearest * 2.0 * RC_PI * rc_lane_round(angle * (0.5 / RC_PI));
        angle = rc_lane_clamp(angle, p->gathered_limit[lane]);
        p->gathered[lane] = angle;
        double proportional = rate, gathered = angle;
        if (on_angle) {
            proportional = has_extras && rc_lane_abs(angle) <= p->still[lane] ? 0.0 : angle;
            gathered = rc_lane_clamp(p->gathered_twice[lane] + period * proportional, p->integral_limit[lane]);
            p->gathered_twice[lane] = gathered;
        }
        double command = -(p->gain[lane] * proportional + p->integral[lane] * gathered);
        if (has_extras) {
            command -= p->feed_forward[lane] * roll;
            const double step = p->command_step[lane];
            const double steps = rc_lane_round(command / (step > 0.0 ? step : 1.0));
            command = step > 0.0 ? steps * step : command;
            command = command * unheard < 0.0 ? 0.0 : command;
        }
        p->command[lane] = command;
        p->tally.gathered_peak[lane] = rc_lane_max(p->tally.gathered_peak[lane], rc_lane_abs(angle));
    }
}

/* Axial specific force at a place in the step [m/s2]. */
RC_INLINE double rc_stages_load(const struct rc_platform_lanes *p, int lane, double theta)
{
    return p->load[lane] + theta * (p->load_change[0][lane] + theta * p->load_change[1][lane]);
}

/* What the bearing carries in a tick or span. */
RC_INLINE void rc_stages_weigh(struct rc_platform_lanes *p, const struct rc_tick *tick)
{
    RC_FOR_LANES(lane)
    {
        const double begin = rc_stages_load(p, lane, tick->theta), end = rc_stages_load(p, lane, tick->theta_end);
        p->load_now[lane] = 0.5 * (begin + end);
        p->load_rate[lane] = (end - begin) * tick->per_dt;
    }
}

/* Running friction of bearing and gear under the present load [N m]. */
RC_INLINE double rc_stages_friction(const struct rc_platform_lanes *p, int lane)
{
    return p->friction[lane] + p->friction_per_accel[lane] * rc_lane_abs(p->load_now[lane]);
}

/* The battery gives what the drive took since the controller's last tick; its voltage under that load sets the top rate, or a
 * stepper's supply. Empty, it leaves the drive for good.
 * in  by_friction  constant: 1, the motor takes current while it runs, whatever its platform does meanwhile in the gear's play or
 *                  while the drive wakes, and its load is bearing and gear; else the servo's torque, a stepper's none */
RC_INLINE void rc_stages_drain(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int by_friction)
{
    const double period = clock->dt * clock->control_every;
    struct rc_battery_lanes *const b = &p->battery;
    RC_FOR_LANES(lane)
    {
        const double is_on = p->mode[lane] == RC_DRIVE_ASLEEP ? 0.0 : 1.0;
        const double moves = rc_lane_abs(p->rate[lane]) > 0.0 ? is_on : 0.0;
        const double turns = by_friction ? (p->mode[lane] == RC_DRIVE_RUNNING ? 1.0 : 0.0) : moves;
        const double drag = turns * (rc_stages_friction(p, lane) + p->viscous[lane] * rc_lane_abs(p->rate[lane]));
        const double torque = by_friction ? drag : rc_lane_abs(p->servo.torque[lane]);
        const double runs = rc_lane_either(turns, is_on * (p->stepper.holding[lane] > 0.0 ? 1.0 : 0.0));
        const double current = (1.0 - b->is_empty[lane]) * (b->quiet[lane] + runs * b->run[lane] + torque * b->per_torque[lane]);
        const double used = b->used[lane] + period * current;
        const double share = used * b->per_capacity[lane];
        const double is_empty = share >= 1.0 ? 1.0 : 0.0;
        const double volts = rc_lane_max(b->full[lane] - b->span[lane] * share - b->resistance[lane] * current, 0.0);
        p->tally.unpowered[lane] += is_empty * period;
        b->used[lane] = used;
        b->volts[lane] = volts;
        b->least[lane] = is_empty > 0.5 ? b->least[lane] : rc_lane_min(b->least[lane], volts);
        b->is_empty[lane] = is_empty;
        p->top[lane] = b->top[lane] * (b->per_rated[lane] > 0.0 ? volts * b->per_rated[lane] : 1.0);
        p->stepper.supply[lane] = volts;
        p->mode[lane] = is_empty > 0.5 ? RC_DRIVE_ASLEEP : p->mode[lane];
        p->wake_command[lane] = is_empty > 0.5 ? 1e300 : p->wake_command[lane];
    }
}

/* What the controller does in this tick. */
RC_INLINE void rc_stages_control(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int64_t tick)
{
    if (tick % clock->control_every != 0)
        return;
    const int on_angle = clock->control_mode == RC_CONTROL_ANGLE;
    if (clock->has_control_extras && on_angle)
        rc_stages_command(p, clock, 1, 1);
    else if (clock->has_control_extras)
        rc_stages_command(p, clock, 1, 0);
    else if (on_angle)
        rc_stages_command(p, clock, 0, 1);
    else
        rc_stages_command(p, clock, 0, 0);
}

/* How one tick of a lane went: the platform stood for `wait` of it, went straight from `start` to `ramped` in `ramp_share` of
 * it, and was at `end` for the rest. Rates against the vehicle. */
struct rc_course {
    double roll_start, roll_end;   /* the vehicle's roll rate, the platform's reaction left out [rad/s] */
    double start, ramped, end;     /* [rad/s]                                                           */
    double ramp_share;             /* [1]                                                               */
    double target;                 /* [rad/s]                                                           */
    double wait;                   /* share of the tick before the ramp, counted elsewhere [1]            */
    int is_straight;               /* constant: after the wait there is nothing but the ramp              */
    int has_floor;                 /* constant: the vehicle's roll below p->floor is counted              */
    double bend;                   /* of the vehicle's roll rate, rc_stages_roll_bend's [rad/s]            */
    double bulge;                  /* of a ramp that is all there is: its mean less that of its ends [rad/s] */
};

/* The limit below which the vehicle's roll is counted; a drive without a floor has none [rad/s]. */
RC_INLINE double rc_stages_floor(const struct rc_platform_lanes *p, int lane)
{
    return p->floor[lane] > 0.0 ? p->floor[lane] : -1.0;
}

/* The vehicle's roll damping wears away what it has given way, as it does with any roll rate: what is left of it after the tick,
 * by the mean rate in it; of a ramp that is all there is, by its slope too, which is fourth order in the tick.
 * ends the rate up to which the vehicle's roll has it in it then [rad/s] */
RC_INLINE double rc_stages_fade(const struct rc_platform_lanes *p, int lane, const struct rc_course *c)
{
    const double rest = (1.0 - c->wait) - c->ramp_share;
    const double ramped = 0.5 * c->ramp_share * (c->start + (c->is_straight ? c->end : c->ramped));
    const double mean = c->is_straight ? ramped + c->bulge : ramped + rest * c->end, lost = 1.0 - p->keep[lane];
    const double sloping = c->is_straight ? (c->end - c->start) * (lost * lost * (1.0 / 12.0)) : 0.0;
    const double worn = mean + (p->rate_before[lane] - mean) * p->keep[lane];
    return c->is_straight ? worn + sloping : worn;
}

/* A platform that starts inside the tick has stood up to there: count that. */
RC_INLINE void rc_stages_wait(struct rc_platform_lanes *p, int lane, const struct rc_course *c, double dt)
{
    const double before = p->rate_before[lane], worn = c->wait * (rc_stages_fade(p, lane, c) - before);
    const double start = c->roll_start + p->reaction[lane] * before;
    const double end = c->roll_start + c->wait * (c->roll_end - c->roll_start) + p->reaction[lane] * (before + worn);
    const double waits = c->wait > 0.0 ? 1.0 : 0.0;
    rc_tally_tick(&p->tally, lane, rc_lane_pick(waits, start, 0.0), rc_lane_pick(waits, end, 0.0), c->target, c->wait * dt);
    if (c->has_floor)
        p->tally.below_floor[lane] += c->wait * dt * rc_tally_share_within(start, end, rc_stages_floor(p, lane));
}

/* Count one tick of a lane. in p->target */
RC_INLINE void rc_stages_count(struct rc_platform_lanes *p, int lane, struct rc_course c, double dt)
{
    const double yielding = p->reaction[lane], before = p->rate_before[lane], after = rc_stages_fade(p, lane, &c);
    const double roll_at_end = c.roll_end + yielding * (after - c.end);
    p->residual[lane] = roll_at_end + c.end;
    const double change = c.roll_end - c.roll_start, part = c.wait + c.ramp_share;
    const double roll_at_start = c.roll_start + c.wait * change + yielding * (before + c.wait * (after - before) - c.start);
    const double roll_peak = rc_lane_max(rc_lane_abs(roll_at_start), rc_lane_abs(roll_at_end));
    p->tally.roll_peak[lane] = rc_lane_max(p->tally.roll_peak[lane], roll_peak);
    if (c.is_straight) {
        rc_tally_tick(&p->tally, lane, roll_at_start + c.start, p->residual[lane], c.target, c.ramp_share * dt);
    } else {
        const double roll_middle = c.roll_start + part * change, faded = before + part * (after - before);
        const double roll_ramped = roll_middle + yielding * (faded - c.ramped);
        const double roll_held = roll_middle + yielding * (faded - c.end);
        const double rest = (1.0 - c.wait) - c.ramp_share, ramp = c.ramp_share * dt, hold = rest * dt;
        const struct rc_piece ramping = { roll_at_start + c.start, roll_ramped + c.ramped, ramp };
        const struct rc_piece holding = { roll_held + c.end, p->residual[lane], hold };
        const struct rc_piece roll_ramping = { roll_at_start, roll_ramped, ramp };
        const struct rc_piece roll_holding = { roll_held, roll_at_end, hold };
        const struct rc_within none = { 0.0, 1.0 };
        rc_tally_times(&p->tally, lane, rc_tally_time_within(ramping, holding, c.target),
                       c.has_floor ? rc_tally_time_within(roll_ramping, roll_holding, rc_stages_floor(p, lane)) : none);
        rc_tally_piece(&p->tally, lane, ramping);
        rc_tally_piece(&p->tally, lane, holding);
        /* The roll may jump as the ramp ends, and a span is long enough to turn inside: looked at in mid-piece too. */
        const double in_ramp = rc_lane_abs(0.5 * (roll_at_start + roll_ramped - c.ramp_share * c.ramp_share * c.bend));
        const double in_hold = rc_lane_abs(0.5 * (roll_held + roll_at_end - rest * rest * c.bend));
        const double at_corner = rc_lane_max(rc_lane_abs(roll_ramped), rc_lane_abs(roll_held));
        p->tally.roll_peak[lane] = rc_lane_max(p->tally.roll_peak[lane], rc_lane_max(at_corner, rc_lane_max(in_ramp, in_hold)));
    }
    p->rate_before[lane] = after;
}

/* What a camera sees at a rate: how its picture pans and turns, and how single steps sway it. */
struct rc_frame {
    double smeared_squared;   /* [px2]   */
    double swayed;            /* [px]    */
    double roll;              /* [rad/s] */
};

/* Square of a picture's smear by roll and the rate across it [px2], the worst over all directions that the latter may have about
 * the roll axis. A picture smears most by a rate on a certain cone about its lens; the whole rate is somewhere on a cone about
 * the roll axis. Where these cross it may be the most; else one is inside or outside of the other, and the gap counts.
 * in  roll, tilt  the rate about the roll axis and across it [rad/s]
 * source docs/theory.md, "Footage" */
RC_INLINE double rc_stages_smear_squared(const struct rc_platform_lanes *p, int camera, int lane, double roll, double tilt)
{
    const double spin = rc_lane_abs(roll);
    const double of_spin = p->smear_per_rate[camera][lane], of_tilt = p->smear_per_tilt[camera][lane];
    const double wide_of_spin = p->wide_per_rate[camera][lane], wide_of_tilt = p->wide_per_tilt[camera][lane];
    const double narrow = of_spin * spin + of_tilt * tilt, wide = wide_of_spin * spin + wide_of_tilt * tilt;
    const double most = p->most_per_square[camera][lane] * (spin * spin + tilt * tilt);
    const double reached = wide_of_spin * tilt > wide_of_tilt * spin ? wide * wide : most;
    return of_spin * tilt < of_tilt * spin ? narrow * narrow : reached;
}

/* The vehicle's pitch and yaw rate at a place in the step, on axes that do not roll: straight from start to end [rad/s]. */
struct rc_tilt {
    double pitch, yaw;
};
RC_INLINE struct rc_tilt rc_stages_tilt(const struct rc_platform_lanes *p, int lane, double theta)
{
    return (struct rc_tilt){ p->pitch[lane] + theta * p->pitch_change[lane], p->yaw[lane] + theta * p->yaw_change[lane] };
}

/* What a camera sees. The sway of single steps comes on top as a roll of its own: both at once are never more than the sum.
 * in residual, rate  of the platform, in the ground frame and against the vehicle; tilt  the rate across the axis [rad/s] */
RC_INLINE struct rc_frame rc_stages_look(const struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int camera,
                                         int lane, double residual, double rate, double tilt)
{
    const double on_vehicle = clock->camera_mount[camera] == RC_CAMERA_ON_VEHICLE ? 1.0 : 0.0;
    const double roll = residual - on_vehicle * rate;
    const double swayed = rc_lane_min(p->ripple[lane] * p->smear_per_rate[camera][lane],
                                      p->ripple_sway[lane] * p->lever[camera][lane]);
    return (struct rc_frame){ rc_stages_smear_squared(p, camera, lane, roll, tilt), (1.0 - on_vehicle) * swayed, roll };
}

/* Is a frame usable? 1 or 0 */
RC_INLINE double rc_stages_verdict(const struct rc_platform_lanes *p, int camera, int lane, struct rc_frame frame)
{
    const double room = p->smear_limit[camera][lane] - frame.swayed;
    return ((frame.smeared_squared <= room * room) & (room >= 0.0) &
            (rc_lane_abs(frame.roll) <= p->rate_limit[camera][lane])) ? 1.0 : 0.0;
}

/* One camera takes one frame. in residual, rate, tilt  as rc_stages_look (lanes) */
RC_INLINE void rc_stages_frame(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int camera,
                               const double *residual, const double *rate, const double *tilt)
{
    RC_FOR_LANES(lane)
    {
        const struct rc_frame frame = rc_stages_look(p, clock, camera, lane, residual[lane], rate[lane], tilt[lane]);
        rc_tally_frame(&p->tally, camera, lane, rc_stages_verdict(p, camera, lane, frame));
    }
}

/* The rolling shutter's skew of one frame: the smear that the time between first and last line would give. */
RC_INLINE void rc_stages_skew(struct rc_platform_lanes *p, const struct rc_platform_clock *clock, int camera,
                              const double *residual, const double *rate, const double *tilt)
{
    RC_FOR_LANES(lane)
    {
        const struct rc_frame frame = rc_stages_look(p, clock, camera, lane, residual[lane], rate[lane], tilt[lane]);
        const double skew = p->skew_ratio[camera][lane] * __builtin_sqrt(frame.smeared_squared);
        p->tally.skewed[camera][lane] += skew > p->skew_limit[camera][lane] ? 1.0 : 0.0;
        p->tally.skew_peak[camera][lane] = rc_lane_max(p->tally.skew_peak[camera][lane], skew);
    }
}

#endif
