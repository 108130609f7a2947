/* Runge-Kutta steps in lanes. Each lane may take its own step length, which only the rail's end makes use of. */
#include "advance.h"

#include <string.h>

#include "derive.h"
#include "numeric/lane_math.h"

/* Thrust [N] and delivered table impulse [N s] at a time after lift-off, and what follows from them. */
RC_KERNEL static void look_up_motor(const struct rc_vehicle_lanes *v, const rc_lane table_time, double end, rc_lane *impulse,
                                    struct rc_moment_lanes *at)
{
    RC_FOR_LANES(lane)
    {
        const double ds = table_time[lane] - v->motor_cell.knot[lane];
        const double delivered = v->motor[0][lane] + ds * (v->motor[1][lane] + ds * v->motor[2][lane]);
        const double burnt = delivered * v->per_impulse[lane];
        (*impulse)[lane] = delivered;
        at->thrust[lane] = v->thrust_scale[lane] * (v->motor[1][lane] + 2.0 * ds * v->motor[2][lane]);
        const double mass = v->mass_loaded[lane] + burnt * v->mass_gain[lane];
        const double ix = v->ix_loaded[lane] + burnt * v->ix_gain[lane], iy = v->iy_loaded[lane] + burnt * v->iy_gain[lane];
        const double both = ix * iy, per_all = 1.0 / (mass * both); /* one division for three */
        at->mass[lane] = mass;
        at->cm[lane] = v->cm_loaded[lane] + burnt * v->cm_gain[lane];
        at->ix[lane] = ix;
        at->iy[lane] = iy;
        at->per_mass[lane] = per_all * both;
        at->per_ix[lane] = per_all * (mass * iy);
        at->per_iy[lane] = per_all * (mass * ix);
        at->burn_rate[lane] = (v->motor[1][lane] + 2.0 * ds * v->motor[2][lane]) * v->per_impulse[lane] * v->table_rate[lane];
        at->is_burning[lane] = table_time[lane] < end ? 1.0 : 0.0;
    }
}

/* The moment `later` seconds after `since`. in since, later [s] lanes */
RC_KERNEL static void moment_at(struct rc_block *block, const rc_lane since, const rc_lane later, double share, rc_lane *impulse,
                      struct rc_moment_lanes *at)
{
    struct rc_vehicle_lanes *const v = &block->v;
    rc_lane table_time;
    RC_FOR_LANES(lane)
    table_time[lane] = v->table_start[lane] + v->table_rate[lane] * (since[lane] + share * later[lane]);
    rc_derive_fetch_motor(block, table_time);
    look_up_motor(v, table_time, block->model->motor.end, impulse, at);
    const double per_interval = 1.0 / block->model->gust_interval;
    for (int axis = 0; axis < 3; axis++)
        RC_FOR_LANES(lane)
        {
            const double place = (since[lane] + share * later[lane] - block->gust_time) * per_interval;
            at->gust[axis][lane] = v->gust[axis][lane] + place * v->gust_change[axis][lane];
        }
}

/* Thrust and burning at mid-step such that Simpson's rule, which the Runge-Kutta step amounts to here, gives the table's exact
 * impulse and the exact time of burning: kinks and burn-out inside a step then cost no accuracy in speed. */
RC_KERNEL static void exact_middle(struct rc_vehicle_lanes *v, const rc_lane since, const rc_lane h, double end,
                                   const rc_lane impulse)
{
    RC_FOR_LANES(lane)
    {
        const double left = end - (v->table_start[lane] + v->table_rate[lane] * since[lane]);
        const double per_span = 1.0 / (v->table_rate[lane] * rc_lane_max(h[lane], 1e-12));
        const double share = rc_lane_min(rc_lane_max(left * per_span, 0.0), 1.0);
        v->middle.is_burning[lane] = 1.5 * share - 0.25 * (v->now.is_burning[lane] + v->then.is_burning[lane]);
        const double mean = (impulse[lane] - v->impulse[lane]) * v->thrust_scale[lane] * per_span;
        const double middle = 1.5 * mean - 0.25 * (v->now.thrust[lane] + v->then.thrust[lane]);
        v->middle.thrust[lane] = h[lane] > 1e-12 ? middle : v->now.thrust[lane];
        v->impulse[lane] = impulse[lane];
    }
}

RC_KERNEL static void stage_state(struct rc_vehicle_lanes *v, const rc_lane *slope, const rc_lane h, double share)
{
    for (int state = 0; state < RC_N_STATE; state++)
        RC_FOR_LANES(lane)
        v->stage[state][lane] = v->y[state][lane] + share * h[lane] * slope[state][lane];
}

RC_KERNEL static void stage_sum(struct rc_vehicle_lanes *v, const rc_lane h)
{
    for (int state = 0; state < RC_N_STATE; state++)
        RC_FOR_LANES(lane)
        {
            v->start[state][lane] = v->y[state][lane];
            v->y[state][lane] += h[lane] * (1.0 / 6.0) *
                ((v->k[0][state][lane] + v->k[3][state][lane]) + 2.0 * (v->k[1][state][lane] + v->k[2][state][lane]));
        }
}

/* The incidence last looked at, for its peak: a swing may turn between two steps, and it is greatest as the rail ends. */
RC_KERNEL static void see_sine(const struct rc_vehicle_lanes *v, rc_lane of_incidence)
{
    RC_FOR_LANES(lane)
    {
        const double sine = v->seen.cross[lane] * v->seen.per_speed[lane];
        of_incidence[lane] = v->is_free[lane] * (v->seen.along[lane] > 0.0 ? sine : 1.0);
    }
}

/* What has its peak inside a step, in its middle: the mean of both stages there. The first lacks half of what the change of
 * acceleration does to the speed, the second has it once too often. in kept  of what is there already, 0 or 1 */
RC_KERNEL static void see_middle(struct rc_vehicle_lanes *v, double kept)
{
    RC_FOR_LANES(lane)
    {
        double square = 0.0;
        for (int axis = 0; axis < 3; axis++)
            square += v->stage[RC_STATE_V_EAST + axis][lane] * v->stage[RC_STATE_V_EAST + axis][lane];
        v->peak_middle[RC_PEAK_Q][lane] = kept * v->peak_middle[RC_PEAK_Q][lane] + 0.5 * v->seen.q[lane];
        v->peak_middle[RC_PEAK_MACH][lane] = kept * v->peak_middle[RC_PEAK_MACH][lane] + 0.5 * v->seen.mach[lane];
        v->peak_middle[RC_PEAK_SPEED_SQUARED][lane] = kept * v->peak_middle[RC_PEAK_SPEED_SQUARED][lane] + 0.5 * square;
    }
}

/* The specific force along the axis that a stage has seen. in share  of it that counts, kept  of what is there already */
RC_KERNEL static void see_force(const struct rc_vehicle_lanes *v, rc_lane force, double kept, double share)
{
    RC_FOR_LANES(lane)
    force[lane] = kept * force[lane] + share * v->seen.specific_force[lane];
}

/* One Runge-Kutta step from v->now, whose slope k[0] is known. in since = start of the step after lift-off [s], h [s] */
static void runge_kutta(struct rc_block *block, const rc_lane since, const rc_lane h)
{
    struct rc_vehicle_lanes *const v = &block->v;
    rc_lane middle_impulse, impulse;
    moment_at(block, since, h, 0.5, &middle_impulse, &v->middle);
    moment_at(block, since, h, 1.0, &impulse, &v->then);
    exact_middle(v, since, h, block->model->motor.end, impulse);
    stage_state(v, v->k[0], h, 0.5);
    rc_derive_slope(block, v->stage, &v->middle, v->k[1]);
    see_middle(v, 0.0);
    see_force(v, v->force_middle, 0.0, 0.5);
    stage_state(v, v->k[1], h, 0.5);
    rc_derive_slope(block, v->stage, &v->middle, v->k[2]);
    see_middle(v, 1.0);
    see_force(v, v->force_middle, 1.0, 0.5);
    see_sine(v, v->middle_sine);
    stage_state(v, v->k[2], h, 1.0);
    rc_derive_slope(block, v->stage, &v->then, v->k[3]);
    see_force(v, v->force_end, 0.0, 1.0);
    stage_sum(v, h);
    v->now = v->then;
}

void rc_advance_begin(struct rc_block *block)
{
    struct rc_vehicle_lanes *const v = &block->v;
    rc_lane zero;
    RC_FOR_LANES(lane)
    zero[lane] = 0.0;
    moment_at(block, zero, zero, 0.0, &v->impulse, &v->now);
}

void rc_advance_look(struct rc_block *block)
{
    rc_derive_state(block, block->v.y, &block->v.now, block->v.k[0]);
}

/* Time until the end of the rail at the present speed and acceleration, or the whole step; [s] lanes. */
RC_KERNEL static void time_on_rail(const struct rc_vehicle_lanes *v, double step, rc_lane h)
{
    RC_FOR_LANES(lane)
    {
        double speed = 0.0, acceleration = 0.0, travelled = 0.0;
        for (int axis = 0; axis < 3; axis++) {
            travelled += v->rail_axis[axis][lane] * v->y[RC_STATE_EAST + axis][lane];
            speed += v->rail_axis[axis][lane] * v->y[RC_STATE_V_EAST + axis][lane];
            acceleration += v->rail_axis[axis][lane] * v->k[0][RC_STATE_V_EAST + axis][lane];
        }
        const double left = rc_lane_max(v->rail_length[lane] - travelled, 0.0);
        const double square = speed * speed + 2.0 * acceleration * left;
        const double denominator = speed + __builtin_sqrt(rc_lane_max(square, 0.0));
        const double time = ((square > 0.0) & (denominator > 0.0)) ? 2.0 * left / rc_lane_max(denominator, 1e-9) : step;
        h[lane] = v->is_free[lane] > 0.5 ? step : rc_lane_min(time, step);
    }
}

/* Set free the lanes whose first part of the step ended at the rail's end. Scalar: it happens once a flight. */
static void leave_rail(struct rc_block *block, const rc_lane h)
{
    struct rc_vehicle_lanes *const v = &block->v;
    for (int lane = 0; lane < RC_LANES; lane++) {
        if (v->is_free[lane] > 0.5 || !(h[lane] < block->step))
            continue;
        v->is_free[lane] = 1.0;
        v->rail_exit[lane] = 0.0;
        for (int axis = 0; axis < 3; axis++)
            v->rail_exit[lane] += v->rail_axis[axis][lane] * v->y[RC_STATE_V_EAST + axis][lane];
        block->n_on_rail--;
    }
}

/* Cubic in theta of the roll rate over the step, parabola of the force along the axis, and the rates across the axis straight
 * from its start to its end, for the platform's ticks. */
RC_KERNEL static void lay_out_roll(struct rc_block *block)
{
    struct rc_vehicle_lanes *const v = &block->v;
    struct rc_platform_lanes *const p = &block->p;
    const double h = block->step;
    RC_FOR_LANES(lane)
    {
        const double k1 = h * v->k[0][RC_STATE_ROLL_RATE][lane], k4 = h * v->k[3][RC_STATE_ROLL_RATE][lane];
        const double k23 = h * (v->k[1][RC_STATE_ROLL_RATE][lane] + v->k[2][RC_STATE_ROLL_RATE][lane]);
        p->roll[0][lane] = v->start[RC_STATE_ROLL_RATE][lane];
        p->roll[1][lane] = k1;
        p->roll[2][lane] = -1.5 * k1 + k23 - 0.5 * k4;
        p->roll[3][lane] = (2.0 / 3.0) * (k1 - k23 + k4);
        const double force = p->load[lane], force_middle = v->force_middle[lane], force_end = v->force_end[lane];
        p->load_change[0][lane] = -3.0 * force + 4.0 * force_middle - force_end;
        p->load_change[1][lane] = 2.0 * force - 4.0 * force_middle + 2.0 * force_end;
        p->pitch[lane] = v->start[RC_STATE_PITCH_RATE][lane];
        p->yaw[lane] = v->start[RC_STATE_YAW_RATE][lane];
        p->pitch_change[lane] = v->y[RC_STATE_PITCH_RATE][lane] - p->pitch[lane];
        p->yaw_change[lane] = v->y[RC_STATE_YAW_RATE][lane] - p->yaw[lane];
    }
}

/* What a lane that left the rail inside the step looks like over the whole of it: straight from start to end, by slopes that make
 * rc_advance_inside and the roll's cubic straight too. */
static void straighten(struct rc_block *block, int lane)
{
    struct rc_vehicle_lanes *const v = &block->v;
    for (int state = 0; state < RC_N_STATE; state++)
        for (int stage = 0; stage < 4; stage++)
            v->k[stage][state][lane] = (v->y[state][lane] - v->start[state][lane]) / block->step;
}

/* A step with lanes on the rail is two: up to the rail's end, and the rest. For other lanes the second has no length and changes
 * nothing, not even the slopes they are seen through: a lane must not notice that a block-mate is still on the rail. */
static void step_on_rail(struct rc_block *block, const rc_lane since)
{
    struct rc_vehicle_lanes *const v = &block->v;
    rc_lane start[RC_N_STATE], slope[4][RC_N_STATE], peak_middle[RC_N_PEAKS], first, rest, after, middle_sine, exit_sine;
    rc_lane force_middle, force_end;
    time_on_rail(v, block->step, first);
    runge_kutta(block, since, first);
    leave_rail(block, first);
    memcpy(start, v->start, sizeof start);
    memcpy(slope, v->k, sizeof slope);
    memcpy(middle_sine, v->middle_sine, sizeof middle_sine);
    memcpy(peak_middle, v->peak_middle, sizeof peak_middle);
    memcpy(force_middle, v->force_middle, sizeof force_middle);
    memcpy(force_end, v->force_end, sizeof force_end);
    RC_FOR_LANES(lane)
    {
        rest[lane] = block->step - first[lane];
        after[lane] = since[lane] + first[lane];
    }
    rc_advance_look(block);
    see_sine(v, exit_sine);
    runge_kutta(block, after, rest);
    memcpy(v->start, start, sizeof start);
    memcpy(v->k, slope, sizeof slope);
    memcpy(v->middle_sine, middle_sine, sizeof middle_sine);
    memcpy(v->peak_middle, peak_middle, sizeof peak_middle);
    for (int lane = 0; lane < RC_LANES; lane++) {
        if (!(first[lane] < block->step)) {
            v->force_middle[lane] = force_middle[lane];
            v->force_end[lane] = force_end[lane];
            continue;
        }
        v->force_middle[lane] = 0.5 * (block->p.load[lane] + v->force_end[lane]);
        straighten(block, lane);
        v->middle_sine[lane] = exit_sine[lane];
        for (int which = 0; which < RC_N_PEAKS; which++) /* two parts have no one middle, and no peak: still speeding up */
            v->peak_middle[which][lane] = v->peak_start[which][lane];
    }
}

RC_KERNEL static void tidy_attitude(struct rc_vehicle_lanes *v)
{
    RC_FOR_LANES(lane)
    {
        double square = 0.0;
        for (int i = RC_STATE_QW; i <= RC_STATE_QZ; i++)
            square += v->y[i][lane] * v->y[i][lane];
        /* A step leaves the square within 1e-6 of one: Newton's step for the root's reciprocal is exact to 1e-12 there. */
        const double scale = 1.5 - 0.5 * square;
        for (int i = RC_STATE_QW; i <= RC_STATE_QZ; i++)
            v->y[i][lane] *= scale;
    }
}

void rc_advance_step(struct rc_block *block)
{
    struct rc_vehicle_lanes *const v = &block->v;
    rc_lane since, h;
    RC_FOR_LANES(lane)
    {
        since[lane] = block->time;
        h[lane] = block->step;
        block->p.fading[lane] = v->seen.roll_fading[lane];
        block->p.load[lane] = v->seen.specific_force[lane];
    }
    if (block->n_on_rail > 0) {
        step_on_rail(block, since);
    } else {
        runge_kutta(block, since, h);
    }
    lay_out_roll(block);
    tidy_attitude(v);
}

double rc_advance_inside(const struct rc_block *block, int state, int lane, double theta)
{
    const struct rc_vehicle_lanes *const v = &block->v;
    const double k1 = v->k[0][state][lane], k23 = v->k[1][state][lane] + v->k[2][state][lane], k4 = v->k[3][state][lane];
    const double square = theta * theta;
    const double cube = square * theta;
    return v->start[state][lane] + block->step * (k1 * (theta - 1.5 * square + (2.0 / 3.0) * cube) +
        k23 * (square - (2.0 / 3.0) * cube) + k4 * (-0.5 * square + (2.0 / 3.0) * cube));
}
