/* A servo's platform and the rotor of its motor on their way through a tick: what acts on each, how they speed up, and what
 * parts them. Lane functions; in which pieces they go is left to swinging.c. */
#ifndef RC_BODIES_H
#define RC_BODIES_H

#include "bearing.h"
#include "motion.h"

/* One body of every lane in its piece. */
struct rc_body {
    rc_lane rate;                          /* as the piece begins [rad/s]                                       */
    rc_lane sense;                         /* of its motion: -1, 1; 0 where it sticks                           */
    rc_lane now, slope, bend, lagging;     /* its acceleration, rc_motion's; none where it sticks or is held    */
    rc_lane fade, carried, per_moved;      /* viscous friction [1/s]; as coupling [kg m2]; as per_own_inertia   */
    rc_lane viscous;                       /* fade, also where it is held, whose motion has none [1/s]          */
    rc_lane friction, friction_slope;      /* running friction as the piece begins [N m], its change [N m/s]    */
};

/* The lanes on their way through a tick. */
struct rc_bodies {
    rc_lane is_active;                     /* 1 until the lane is at the tick's end                                */
    rc_lane now, next;                     /* the piece's ends since the tick began [s]                            */
    rc_lane wanted, lagging;               /* the motor's torque: tends to, off that as the piece begins [N m]     */
    rc_lane roll, roll_slope, roll_bend;   /* rc_swinging_roll's                                                   */
    rc_lane rubs, rubs_slope;              /* bearing and gear as the tick begins [N m], its change [N m/s]        */
    rc_lane stood;                         /* 1 where the platform stood up to the piece                           */
    rc_lane is_apart, flank;               /* in the play: 1 between the flanks; on which of them, -1, 1, or 0     */
    rc_lane is_held;                       /* 1 where the motor only holds its rate, which is the top one          */
    struct rc_body one, rotor;             /* the platform, with the rotor but where they are apart; the rotor     */
};

/* How a body moves in its piece. */
RC_INLINE struct rc_motion rc_bodies_motion(const struct rc_body *b, int lane)
{
    return (struct rc_motion){ b->rate[lane], b->now[lane], b->slope[lane], b->bend[lane], b->lagging[lane] };
}

/* What acts at a time in a piece: the motor's torque, the same with its cogging [N m], and the vehicle's roll acceleration
 * [rad/s2]. */
struct rc_acting {
    double motor, drive, roll;
    double since;   /* the piece began [s] */
};
/* in t  since the tick began [s]; left  exp(-(t - now)/lag) [1]; turned  angle of the motor's side since then [rad] */
RC_INLINE struct rc_acting rc_bodies_act(const struct rc_platform_lanes *p, const struct rc_bodies *f, int lane, double t,
                                         double left, double turned, int has_play)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double ahead = has_play ? p->gap[lane] - 0.5 * p->play[lane] : 0.0;
    const double motor = f->wanted[lane] + f->lagging[lane] * left;
    return (struct rc_acting){ motor, motor - s->cogging[lane] * rc_lane_sine(s->cogs[lane] * (p->turned[lane] + ahead + turned)),
                               f->roll[lane] + t * (f->roll_slope[lane] + t * f->roll_bend[lane]), t - f->now[lane] };
}

/* Torque on a body, friction apart [N m]. in is_driven 1 where the motor acts on it */
RC_INLINE double rc_bodies_torque(const struct rc_body *b, int lane, struct rc_acting acting, double is_driven)
{
    return rc_lane_pick(is_driven, acting.drive, 0.0) - b->carried[lane] * acting.roll;
}

/* Running friction of a body at a time since its piece began [N m]. */
RC_INLINE double rc_bodies_friction(const struct rc_body *b, int lane, double since)
{
    return b->friction[lane] + since * b->friction_slope[lane];
}

/* What tears a body loose that sticks: above 0 where it does [N m]. in since  its piece began [s] */
RC_INLINE double rc_bodies_torn(const struct rc_platform_lanes *p, const struct rc_body *b, int lane, double torque, double since)
{
    return rc_lane_abs(torque) - rc_bodies_friction(b, lane, since) * p->starting_ratio[lane];
}

/* Acceleration of a body under a torque; from rest it sticks or follows the torque [rad/s2]. */
RC_INLINE double rc_bodies_speed_up(const struct rc_platform_lanes *p, const struct rc_body *b, int lane, double torque,
                                    double rate, double since)
{
    const double rests = rate != 0.0 ? 0.0 : 1.0, sticks = rc_bodies_torn(p, b, lane, torque, since) > 0.0 ? 0.0 : rests;
    const double sense = rate != 0.0 ? rc_lane_sense(rate) : rc_lane_sense(torque);
    const double moves = (torque - sense * rc_bodies_friction(b, lane, since)) * b->per_moved[lane] - b->viscous[lane] * rate;
    return rc_lane_pick(sticks, 0.0, moves);
}

/* Platform and rotor each on its own: what they rub and carry. */
RC_INLINE void rc_bodies_set_alone(const struct rc_platform_lanes *p, const struct rc_bodies *f, struct rc_body *platform,
                                   struct rc_body *rotor, int lane)
{
    /* The vehicle gives way to the platform as to all that turns. */
    const double ratio = p->inertia[lane] / p->coupling[lane], gear = p->gear_friction[lane];
    const double per_alone = 1.0 / (p->inertia[lane] * (1.0 - p->reaction[lane] * ratio));
    platform->fade[lane] = platform->viscous[lane] = p->viscous[lane] * per_alone;
    platform->carried[lane] = p->inertia[lane];
    platform->per_moved[lane] = per_alone;
    platform->friction[lane] = f->rubs[lane] + f->now[lane] * f->rubs_slope[lane] - gear;
    platform->friction_slope[lane] = f->rubs_slope[lane];
    rotor->fade[lane] = rotor->viscous[lane] = 0.0;
    rotor->carried[lane] = p->coupling[lane] - p->inertia[lane];
    rotor->per_moved[lane] = 1.0 / p->rotor_inertia[lane];
    rotor->friction[lane] = gear;
    rotor->friction_slope[lane] = 0.0;
}

/* Both as one. */
RC_INLINE void rc_bodies_set_joined(const struct rc_platform_lanes *p, const struct rc_bodies *f, struct rc_body *b, int lane)
{
    b->fade[lane] = b->viscous[lane] = p->viscous[lane] * p->per_own_inertia[lane];
    b->carried[lane] = p->coupling[lane];
    b->per_moved[lane] = p->per_own_inertia[lane];
    b->friction[lane] = f->rubs[lane] + f->now[lane] * f->rubs_slope[lane];
    b->friction_slope[lane] = f->rubs_slope[lane];
}

/* How much faster the platform would part from the flank on which it lies if both were alone [rad/s2]. in alone, rotor  their
 * numbers */
RC_INLINE double rc_bodies_parting(const struct rc_platform_lanes *p, const struct rc_body *alone, const struct rc_body *rotor,
                                   int lane, double flank, double is_held, struct rc_acting acting, double rate)
{
    const double platform = rc_bodies_speed_up(p, alone, lane, rc_bodies_torque(alone, lane, acting, 0.0), rate, acting.since);
    const double driven = rc_bodies_speed_up(p, rotor, lane, rc_bodies_torque(rotor, lane, acting, 1.0), rate, acting.since);
    const double faster = driven * rate > 0.0 ? is_held : 0.0; /* a motor at its top rate goes no faster alone, either */
    return flank * (platform - rc_lane_pick(faster, 0.0, driven));
}

#endif
