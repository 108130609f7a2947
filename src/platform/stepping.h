/* What a stepper's generator asks of its motor and what that can give: the ramp, pull-out torque and load. Lane functions; what
 * becomes of a motor that cannot is left to slipping.c. */
#ifndef RC_STEPPING_H
#define RC_STEPPING_H

#include "bearing.h"

/* Pull-out torque at the platform from the winding: the phasor model of a hybrid stepper on a voltage source, capped by the
 * current limit. source ACARNLEY2002, chapter on pull-out torque [memory]
 * in  rate  of the steps, as a platform rate, magnitude [rad/s] */
RC_INLINE double rc_stepping_winding(const struct rc_stepper_lanes *s, int lane, double rate)
{
    const double resistance = s->resistance[lane], reactance = rate * s->reactance[lane];
    const double square = resistance * resistance + reactance * reactance;
    const double per_square = 1.0 / square;
    const double driven = s->supply[lane] * (__builtin_sqrt(square) * per_square);
    const double braked = rate * s->back_emf[lane] * resistance * per_square;
    return rc_lane_min(s->holding[lane], s->torque_per_voltage[lane] * (driven - braked));
}

/* Pull-out torque at the platform for every lane, from the table where there is one: straight between its points, held outside.
 * in  table  n = 0: from the winding; pace  of the generator, as a platform rate (lanes) [rad/s]
 * out given  (lanes) [N m] */
RC_INLINE void rc_stepping_give(const struct rc_stepper_lanes *s, const struct rc_pull_out_points *table, const double *pace,
                                double *given)
{
    if (table->n == 0) {
        RC_FOR_LANES(lane)
        given[lane] = rc_stepping_winding(s, lane, rc_lane_abs(pace[lane]));
        return;
    }
    rc_lane step_rate;
    RC_FOR_LANES(lane)
    {
        step_rate[lane] = rc_lane_abs(pace[lane]) * s->steps_per_angle[lane];
        given[lane] = s->table_scale[lane] * table->torque[0];
    }
    for (int row = 1; row < table->n; row++) {
        const double from = table->rate[row - 1], width = table->rate[row] - from;
        const double slope = (table->torque[row] - table->torque[row - 1]) / width;
        RC_FOR_LANES(lane)
        given[lane] += s->table_scale[lane] * (slope * rc_lane_min(rc_lane_max(step_rate[lane] - from, 0.0), width));
    }
}

/* The share of it that is left at a step rate: less within the resonance band [1]. */
RC_INLINE double rc_stepping_share(const struct rc_stepper_lanes *s, int lane, double step_rate)
{
    const double in_band = ((step_rate >= s->resonance_low[lane]) & (step_rate <= s->resonance_high[lane])) ? 1.0 : 0.0;
    return rc_lane_pick(in_band, s->resonance_share[lane], 1.0);
}

/* Torque at the platform that the motor can give. in given  rc_stepping_give's [N m]; share  rc_stepping_share's [1] */
RC_INLINE double rc_stepping_pull_out(const struct rc_stepper_lanes *s, int lane, double given, double share)
{
    return rc_lane_max(s->torque_factor[lane] * given * share, 0.0);
}

/* The generator's part of a tick: along the ramp to the wanted rate. */
struct rc_stepping_ramp {
    double end;     /* [rad/s]                       */
    double share;   /* of the tick that it takes [1] */
    double slope;   /* while it lasts [rad/s2]       */
};
RC_INLINE struct rc_stepping_ramp rc_stepping_ramp(const struct rc_platform_lanes *p, int lane, const struct rc_tick *tick)
{
    const double command = p->command[lane];
    const double is_wanted = ((rc_lane_abs(command) > p->deadband[lane]) & (p->mode[lane] != RC_DRIVE_ASLEEP)) ? 1.0 : 0.0;
    const double wanted = is_wanted * rc_lane_clamp(command, p->top[lane]);
    const double pace = p->stepper.pace[lane];
    const double gap = wanted - pace, step = p->slew_step[lane] * tick->n;
    const double is_there = rc_lane_abs(gap) <= step ? 1.0 : 0.0;
    const double sense = gap > 0.0 ? 1.0 : (gap < 0.0 ? -1.0 : 0.0);
    return (struct rc_stepping_ramp){ rc_lane_pick(is_there, wanted, pace + rc_lane_clamp(gap, step)),
                                      rc_lane_pick(is_there, rc_lane_abs(gap) / step, 1.0), sense * step * tick->per_dt };
}

/* The same for all lanes. */
struct rc_stepping_ramps {
    rc_lane end, share, slope;
};
RC_INLINE void rc_stepping_find_ramps(const struct rc_platform_lanes *p, const struct rc_tick *tick,
                                      struct rc_stepping_ramps *ramps)
{
    RC_FOR_LANES(lane)
    {
        const struct rc_stepping_ramp ramp = rc_stepping_ramp(p, lane, tick);
        ramps->end[lane] = ramp.end;
        ramps->share[lane] = ramp.share;
        ramps->slope[lane] = ramp.slope;
    }
}

/* One lane's of them. */
RC_INLINE struct rc_stepping_ramp rc_stepping_ramp_of(const struct rc_stepping_ramps *ramps, int lane)
{
    return (struct rc_stepping_ramp){ ramps->end[lane], ramps->share[lane], ramps->slope[lane] };
}

/* Torque that the platform asks of the motor at a moment in step [N m].
 * in  friction  of bearing and gear [N m]; pace  of the generator [rad/s]; ramping  what its ramp asks for the inertia [N m];
 *     sense  of its turning: -1, 1, or 0 where it stands; push  by the vehicle's own acceleration [N m]; is_at_rest  1 where the
 *     platform stands, whose friction is then the starting one */
RC_INLINE double rc_stepping_load(const struct rc_platform_lanes *p, int lane, double friction, double pace, double ramping,
                                  double sense, double push, double is_at_rest)
{
    const double starting = friction * p->starting_ratio[lane];
    const double turning = ramping + p->viscous[lane] * pace +
                           sense * rc_lane_pick(is_at_rest, starting, friction) - push;
    const double standing = rc_lane_max(rc_lane_abs(push) - starting, 0.0);
    return sense != 0.0 ? rc_lane_abs(turning) : standing;
}

/* A tick is over for a lane: the generator's rate and counts, and the mode.
 * in  is_meant  1 for the lanes it is over for; pace  at the tick's end [rad/s]; slips  1 where it has lost its steps then */
RC_INLINE void rc_stepping_end(struct rc_platform_lanes *p, int lane, double is_meant, double pace, double slips)
{
    const double before = p->stepper.pace[lane], mode = p->mode[lane], direction = p->direction[lane];
    const double sense = pace < 0.0 ? -1.0 : (pace > 0.0 ? 1.0 : 0.0), turns = is_meant * sense * sense;
    const double in_step = rc_lane_pick(sense * sense, RC_DRIVE_RUNNING, RC_DRIVE_STANDING);
    const double powered = rc_lane_pick(slips, RC_DRIVE_SLIPPING, in_step);
    p->tally.starts[lane] += before == 0.0 ? turns : 0.0;
    p->tally.reversals[lane] += sense * direction < 0.0 ? is_meant : 0.0;
    p->direction[lane] = rc_lane_pick(turns, sense, direction);
    p->mode[lane] = rc_lane_pick(is_meant, mode == RC_DRIVE_ASLEEP ? RC_DRIVE_ASLEEP : powered, mode);
    p->stepper.pace[lane] = rc_lane_pick(is_meant, pace, before);
}

#endif
