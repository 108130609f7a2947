/* Torque-controlled servo behind a gear: the command becomes a torque through deadband, clamp and the current loop's lag;
 * bearing, gear and vehicle then decide how the platform moves. It has no floor rate and no standstill of its own. */
#include <math.h>
#include <stddef.h>

#include "platform/bearing.h"

/* What a drive's loop is made for. */
struct made_for {
    int cogging, play;
};

/* Mean torque of the motor over the tick, at the platform; the lag is exact over it.
 * in/out p->servo.torque  that of the tick's ends [N m] */
RC_INLINE double motor_torque(struct rc_platform_lanes *p, int lane)
{
    struct rc_servo_lanes *const s = &p->servo;
    const double command = p->command[lane];
    const double has_power = p->mode[lane] == RC_DRIVE_ASLEEP ? 0.0 : 1.0;
    const double is_wanted = has_power * (rc_lane_abs(command) > p->deadband[lane] ? 1.0 : 0.0);
    const double wanted = is_wanted * rc_lane_clamp(s->stiffness[lane] * command, s->limit[lane]);
    const double off = s->torque[lane] - wanted;
    s->torque[lane] = wanted + off * s->lag_decay[lane];
    return wanted + off * s->lag_share[lane];
}

/* Rates of platform and rotor after a tick with play: each on its own between the flanks; on a flank as one; where they meet, the
 * rate that keeps their angular momentum.
 * in  torque on the rotor; one = rate after the tick as one body [rad/s]
 * in/out p->gap, p->motor_rate; ends the platform's rate [rad/s] */
RC_INLINE double play_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double torque, double one)
{
    const double before = p->rate[lane], rotor_before = p->motor_rate[lane], play = p->play[lane];
    const double alone = rc_bearing_alone(p, lane, tick);
    const double per_rotor = 1.0 / p->rotor_inertia[lane];
    const double carried = (p->coupling[lane] - p->inertia[lane]) * rc_stages_roll_change(p, lane, tick) * tick->per_dt;
    const struct rc_slide free = { torque - carried, p->gear_friction[lane], per_rotor, 1.0, tick->dt };
    const double rotor = rc_bearing_slide(rotor_before, free, p->starting_ratio[lane], tick->dt);
    const double gap = p->gap[lane] + 0.5 * tick->dt * ((rotor_before + rotor) - (before + alone));
    const double held = rc_lane_min(rc_lane_max(gap, 0.0), play);
    const double was_one = ((before == rotor_before) & ((p->gap[lane] <= 0.0) | (p->gap[lane] >= play))) ? 1.0 : 0.0;
    const double share = p->inertia[lane] / (p->inertia[lane] + p->rotor_inertia[lane]);
    const double met = rc_lane_pick(was_one, one, share * alone + (1.0 - share) * rotor);
    const double is_free = gap == held ? 1.0 : 0.0;
    p->gap[lane] = held;
    p->motor_rate[lane] = rc_lane_pick(is_free, rotor, met);
    return rc_lane_pick(is_free, alone, met);
}

/* Mean torque on platform and rotor over the tick, friction apart: motor and cogging, the latter at the angle half a tick on. */
RC_INLINE double drive_torque(struct rc_platform_lanes *p, int lane, double dt, const struct made_for of)
{
    const double torque = motor_torque(p, lane);
    const double angle = p->servo.cogs[lane] * (p->turned[lane] + 0.5 * dt * p->rate[lane]);
    return of.cogging ? torque - p->servo.cogging[lane] * rc_lane_sine(angle) : torque;
}

/* The platform's rate after the tick. in torque, other than friction [N m] */
RC_INLINE double servo_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double torque,
                            const struct made_for of)
{
    const double one = rc_bearing_driven(p, lane, tick, torque, 0.0);
    const double end = of.play ? play_tick(p, lane, tick, torque, one) : one;
    /* The motor drives it no faster than its top rate; what is faster already, it only slows. */
    const double fastest = rc_lane_max(p->top[lane], rc_lane_abs(p->rate[lane]));
    return torque * end > 0.0 ? rc_lane_clamp(end, fastest) : end;
}

/* Take over a tick that led to a rate, and count it. */
RC_INLINE void count_tick(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double end)
{
    const double dt = tick->dt, before = p->rate[lane];
    const double is_awake = p->mode[lane] == RC_DRIVE_ASLEEP ? 0.0 : 1.0;
    const double sense = rc_lane_sense(end), direction = p->direction[lane];
    const double starts = before == 0.0 ? is_awake * rc_lane_abs(sense) : 0.0;
    const double turns_round = sense * direction < 0.0 ? is_awake : 0.0;
    const double led = sense != 0.0 ? RC_DRIVE_RUNNING : RC_DRIVE_STANDING;
    const struct rc_course course = { rc_stages_roll(p, lane, tick->theta), rc_stages_roll(p, lane, tick->theta_end), before, end,
                                      end, 1.0, p->target[lane], 0.0, 1, 0.0 };
    p->direction[lane] = sense != 0.0 ? sense : direction;
    p->rate[lane] = end;
    p->turned[lane] += 0.5 * dt * (before + end);
    p->mode[lane] = rc_lane_pick(is_awake, led, RC_DRIVE_ASLEEP);
    p->tally.starts[lane] += starts;
    p->tally.reversals[lane] += turns_round;
    p->tally.asleep[lane] += (1.0 - is_awake) * dt;
    rc_stages_count(p, lane, course, dt);
}

/* In three loops: each is short enough for the processor to work at several vectors of lanes at a time. */
RC_INLINE void servo_lanes(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct made_for of)
{
    rc_lane torque, end;
    RC_FOR_LANES(lane)
    torque[lane] = drive_torque(p, lane, tick->dt, of);
    RC_FOR_LANES(lane)
    end[lane] = servo_tick(p, lane, tick, torque[lane], of);
    RC_FOR_LANES(lane)
    count_tick(p, lane, tick, end[lane]);
}

RC_KERNEL static void servo_run(struct rc_platform_lanes *p, const struct rc_platform_clock *clock,
                                const struct rc_platform_stretch *stretch)
{
    const double theta_step = 1.0 / stretch->n_of_step;
    struct rc_tick tick = { .dt = clock->dt, .per_dt = clock->tick_rate };
    for (int i = 0; i < stretch->n_ticks; i++) {
        const int64_t number = stretch->first + i;
        tick.theta = (stretch->offset + i) * theta_step;
        tick.theta_end = (stretch->offset + i + 1) * theta_step;
        rc_stages_sense(p, clock, number, tick.theta);
        if (clock->has_battery && number % clock->control_every == 0)
            rc_stages_drain(p, clock, 0);
        rc_stages_control(p, clock, number);
        if (clock->has_play)
            servo_lanes(p, &tick, (struct made_for){ 1, 1 });
        else if (clock->has_cogging)
            servo_lanes(p, &tick, (struct made_for){ 1, 0 });
        else
            servo_lanes(p, &tick, (struct made_for){ 0, 0 });
        rc_stages_frames(p, clock, number);
        if (stretch->watch != NULL)
            stretch->watch(stretch->user, stretch->offset + i + 1);
    }
}

static void servo_begin(struct rc_platform_lanes *p, int lane, const struct rc_platform_clock *clock,
                        const struct rc_platform_setup *setup)
{
    const double dt = clock->dt;
    const struct rc_servo_design *const d = &setup->drive->servo;
    const double scale = rc_platform_geared(setup->parts);
    struct rc_servo_lanes *const s = &p->servo;
    s->stiffness[lane] = scale * d->stiffness;
    s->limit[lane] = scale * d->torque;
    s->lag_decay[lane] = d->lag > 0.0 ? exp(-dt / d->lag) : 0.0;
    s->lag_share[lane] = d->lag > 0.0 ? (1.0 - s->lag_decay[lane]) * d->lag / dt : 0.0;
    s->cogging[lane] = setup->parts->gear_ratio * d->cogging;
    s->cogs[lane] = setup->parts->gear_ratio * d->cogs;
}

static double greatest_torque(const struct rc_burden *burden)
{
    return burden->drive->servo.torque * rc_platform_geared(burden->parts);
}

static const struct rc_drive_rule rules[] = {
    { "drive.torque_Nm", "greatest torque", NULL, greatest_torque },
};

const struct rc_drive_kind rc_servo_kind = {
    .name = "servo",
    .summary = "torque-controlled servo: deadband, torque limit and current lag in that order, cogging, a top rate",
    .begin = servo_begin,
    .run = servo_run,
    .n_rules = sizeof rules / sizeof rules[0],
    .rules = rules,
    .needs_rotor = 1,
};
