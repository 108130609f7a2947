/* How the platform moves in its bearing for a tick when nothing holds it. Lane functions; how it goes by pieces is left to
 * pieces.h, what drives it to drives/. */
#ifndef RC_BEARING_H
#define RC_BEARING_H

#include "stages.h"

/* What slides, for one tick. */
struct rc_slide {
    double push;           /* torque other than friction, constant over the tick [N m]                  */
    double friction;       /* running friction torque [N m]                                             */
    double per_inertia;    /* [1/(kg m2)]                                                               */
    double decay, decay_time; /* of viscous friction over the tick: exp(-k dt) [1], (1-exp(-k dt))/k [s] */
};

/* Relative rate after one tick of sliding or sticking. Exact for constant friction and push over the tick: linear under Coulomb,
 * exponential under viscous friction; a rate that reaches zero sticks unless the push tears it loose.
 * in  rate [rad/s], starting_ratio = friction at standstill over running */
RC_INLINE double rc_bearing_slide(double rate, struct rc_slide of, double starting_ratio, double dt)
{
    const double loose = rc_lane_abs(of.push) > of.friction * starting_ratio ? __builtin_copysign(1.0, of.push) : 0.0;
    const double sense = rate != 0.0 ? __builtin_copysign(1.0, rate) : loose;
    const double end = rate * of.decay + (of.push - sense * of.friction) * of.per_inertia * of.decay_time;
    /* Past zero: the time left after the crossing is slid the other way, or it sticks. */
    const double left = dt * rc_lane_abs(end) / rc_lane_max(rc_lane_abs(rate) + rc_lane_abs(end), 1e-300);
    const double back = left * (loose != 0.0 ? of.push - loose * of.friction : 0.0) * of.per_inertia;
    const double slid = end * sense < 0.0 ? back : end;
    return sense != 0.0 ? slid : 0.0;
}

/* Running friction of bearing and gear under the present load [N m]. */
RC_INLINE double rc_bearing_friction(const struct rc_platform_lanes *p, int lane)
{
    return rc_stages_friction(p, lane);
}

/* The same at a time from the tick's middle on [s]. */
RC_INLINE double rc_bearing_friction_at(const struct rc_platform_lanes *p, int lane, double since_middle)
{
    return p->friction[lane] + p->friction_per_accel[lane] * rc_lane_abs(p->load_now[lane] + since_middle * p->load_rate[lane]);
}

/* Relative rate after one tick in which a torque drives platform and rotor as one.
 * in  rate [rad/s]; torque at the platform besides friction and the vehicle's own acceleration; extra friction [N m] */
RC_INLINE double rc_bearing_driven(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, double torque,
                                   double extra_friction)
{
    const struct rc_slide one = { torque - p->coupling[lane] * rc_stages_roll_change(p, lane, tick) * tick->per_dt,
                                  rc_bearing_friction(p, lane) + extra_friction, p->per_own_inertia[lane], p->decay[lane],
                                  p->decay_time[lane] };
    return rc_bearing_slide(p->rate[lane], one, p->starting_ratio[lane], tick->dt);
}

/* Relative rate after one tick in which the platform is on its own in the gear's play: without rotor and gear friction. The
 * viscous torque is that of the tick's start. */
RC_INLINE double rc_bearing_alone(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick)
{
    const double given_way = p->inertia[lane] * (p->reaction[lane] * p->inertia[lane] / p->coupling[lane]);
    const double viscous = p->viscous[lane] * p->rate[lane];
    const struct rc_slide alone = { -p->inertia[lane] * rc_stages_roll_change(p, lane, tick) * tick->per_dt - viscous,
                                    rc_bearing_friction(p, lane) - p->gear_friction[lane],
                                    1.0 / (p->inertia[lane] - given_way), 1.0, tick->dt };
    return rc_bearing_slide(p->rate[lane], alone, p->starting_ratio[lane], tick->dt);
}

#endif
