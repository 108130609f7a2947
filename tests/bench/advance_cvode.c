/* SUNDIALS CVODE in the place of the project's own steps: the same functions as src/flight/advance.c, for a build with one lane.
 * Everything around the steps stays the same: set-up, platform ticks and their pull on the roll, measures, bands, events.
 *
 * CVODE starts afresh at the rail's end and at burn-out, where the right-hand side jumps, and runs through else. It is asked for the
 * state at the end of each of the campaign's steps and interpolates there. What the platform does to the roll rate between two steps would force a restart; instead the rate that CVODE
 * integrates leaves the platform's part out, and the right-hand side adds what it was at the last look. */
#include "flier.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

/* The motor's moments and the way off the rail are the kernel's own; its steps go by another name and are not used. */
#define rc_advance_begin kernel_begin
#define rc_advance_look kernel_look
#define rc_advance_step kernel_step
#define rc_advance_inside kernel_inside
#include "flight/advance.c"
#undef rc_advance_begin
#undef rc_advance_look
#undef rc_advance_step
#undef rc_advance_inside

void rc_advance_begin(struct rc_block *block);
void rc_advance_look(struct rc_block *block);
void rc_advance_step(struct rc_block *block);
double rc_advance_inside(const struct rc_block *block, int state, int lane, double theta);

_Static_assert(RC_LANES == 1, "CVODE flies one flight at a time");

/* One solver, used by one thread. */
static struct {
    SUNContext context;
    void *cvode;
    N_Vector y, slope, scale;
    SUNNonlinearSolver fixed_point;
    SUNMatrix matrix;
    SUNLinearSolver dense;
    enum flier_solver solver;
    double tolerance;
    double platform_part;  /* of the roll rate, left out of what CVODE integrates [rad/s] */
    double left_rate;      /* roll rate at the end of the last step, before the platform's pull [rad/s] */
    double burn_out;       /* after lift-off [s] */
    double is_burning;     /* 1 or 0, held between restarts */
    double n_slopes, n_steps;
} run = {.solver = FLIER_ADAMS_FIXED_POINT, .tolerance = 1e-6};

/* Sizes that the relative tolerance is taken of where a component is near zero. */
static const double usual_size[RC_N_STATE] = {
    [RC_STATE_EAST] = 100.0, [RC_STATE_NORTH] = 100.0, [RC_STATE_UP] = 100.0,
    [RC_STATE_V_EAST] = 10.0, [RC_STATE_V_NORTH] = 10.0, [RC_STATE_V_UP] = 10.0,
    [RC_STATE_QW] = 1.0, [RC_STATE_QX] = 1.0, [RC_STATE_QY] = 1.0, [RC_STATE_QZ] = 1.0,
    [RC_STATE_ROLL_RATE] = 1.0, [RC_STATE_PITCH_RATE] = 1.0, [RC_STATE_YAW_RATE] = 1.0, [RC_STATE_ROLL] = 10.0,
};

static void need(int is_fine, const char *what)
{
    if (is_fine)
        return;
    (void)fprintf(stderr, "bench: CVODE: %s failed\n", what);
    exit(1);
}

static void normalise(double *y)
{
    const double square = y[RC_STATE_QW] * y[RC_STATE_QW] + y[RC_STATE_QX] * y[RC_STATE_QX] + y[RC_STATE_QY] * y[RC_STATE_QY] +
                          y[RC_STATE_QZ] * y[RC_STATE_QZ];
    const double scale = 1.0 / sqrt(square);
    for (int i = RC_STATE_QW; i <= RC_STATE_QZ; i++)
        y[i] *= scale;
}

/* As one would write it first: body axes that roll with the vehicle, every table looked up in every right-hand side, a fresh start
 * whenever the platform has had its say. */
static bool is_as_written(void)
{
    return run.solver == FLIER_AS_WRITTEN;
}

/* Turn attitude and transverse rates between body axes and those that do not roll. in roll [rad], negated for the way back */
static void turn_axes(double *y, double roll)
{
    const double c = cos(roll), s = sin(roll), half_c = cos(0.5 * roll), half_s = sin(0.5 * roll);
    const double q = y[RC_STATE_PITCH_RATE], r = y[RC_STATE_YAW_RATE];
    const double w = y[RC_STATE_QW], x = y[RC_STATE_QX], yy = y[RC_STATE_QY], z = y[RC_STATE_QZ];
    y[RC_STATE_PITCH_RATE] = c * q - s * r;
    y[RC_STATE_YAW_RATE] = s * q + c * r;
    y[RC_STATE_QW] = w * half_c + x * half_s;
    y[RC_STATE_QX] = x * half_c - w * half_s;
    y[RC_STATE_QY] = yy * half_c - z * half_s;
    y[RC_STATE_QZ] = z * half_c + yy * half_s;
}

/* The slope of a state on body axes from its slope on those that do not roll. in y  on body axes, rate its roll rate */
static void turn_slope(const double *y, double roll, double rate, double *slope)
{
    const double c = cos(roll), s = sin(roll), q = y[RC_STATE_PITCH_RATE], r = y[RC_STATE_YAW_RATE];
    const double w = y[RC_STATE_QW], x = y[RC_STATE_QX], yy = y[RC_STATE_QY], z = y[RC_STATE_QZ];
    const double dq = slope[RC_STATE_PITCH_RATE], dr = slope[RC_STATE_YAW_RATE];
    slope[RC_STATE_PITCH_RATE] = c * dq + s * dr + rate * r;
    slope[RC_STATE_YAW_RATE] = c * dr - s * dq - rate * q;
    slope[RC_STATE_QW] = -0.5 * (x * rate + yy * q + z * r);
    slope[RC_STATE_QX] = 0.5 * (w * rate + yy * r - z * q);
    slope[RC_STATE_QY] = 0.5 * (w * q - x * r + z * rate);
    slope[RC_STATE_QZ] = 0.5 * (w * r + x * q - yy * rate);
}

/* From what CVODE integrates to the vehicle's state. */
static void put_state(const double *y, rc_lane *state)
{
    double full[RC_N_STATE];
    memcpy(full, y, sizeof full);
    if (is_as_written())
        turn_axes(full, full[RC_STATE_ROLL]);
    full[RC_STATE_ROLL_RATE] += run.platform_part;
    normalise(full);
    for (int i = 0; i < RC_N_STATE; i++)
        state[i][0] = full[i];
}

static int slope_at(realtype t, N_Vector y, N_Vector slope, void *user)
{
    struct rc_block *const block = user;
    rc_lane since, none, impulse, state[RC_N_STATE], rate[RC_N_STATE];
    struct rc_moment_lanes at;
    since[0] = t;
    none[0] = 0.0;
    moment_at(block, since, none, 0.0, &impulse, &at);
    at.is_burning[0] = run.is_burning;
    put_state(NV_DATA_S(y), state);
    if (is_as_written())
        block->v.air_cell.high[0] = block->v.mach_cell.high[0] = -INFINITY;
    rc_derive_slope(block, state, &at, rate);
    for (int i = 0; i < RC_N_STATE; i++)
        NV_Ith_S(slope, i) = rate[i][0];
    if (is_as_written())
        turn_slope(NV_DATA_S(y), NV_Ith_S(y, RC_STATE_ROLL), state[RC_STATE_ROLL_RATE][0], NV_DATA_S(slope));
    return 0;
}

static int way_left(realtype t, N_Vector y, realtype *root, void *user)
{
    (void)t;
    const struct rc_vehicle_lanes *const v = &((const struct rc_block *)user)->v;
    root[0] = -v->rail_length[0];
    for (int axis = 0; axis < 3; axis++)
        root[0] += v->rail_axis[axis][0] * NV_Ith_S(y, RC_STATE_EAST + axis);
    return 0;
}

void flier_solve_with(enum flier_solver solver, double tolerance)
{
    run.solver = solver;
    run.tolerance = tolerance;
    if (run.cvode != NULL)
        CVodeFree(&run.cvode);
    run.cvode = NULL;
}

void flier_counts(double *n_slopes, double *n_steps)
{
    *n_slopes = run.n_slopes;
    *n_steps = run.n_steps;
    run.n_slopes = run.n_steps = 0.0;
}

static void make_vectors(void)
{
    need(SUNContext_Create(NULL, &run.context) == 0, "context");
    run.y = N_VNew_Serial(RC_N_STATE, run.context);
    run.slope = N_VNew_Serial(RC_N_STATE, run.context);
    run.scale = N_VNew_Serial(RC_N_STATE, run.context);
    run.fixed_point = SUNNonlinSol_FixedPoint(run.y, 0, run.context);
    run.matrix = SUNDenseMatrix(RC_N_STATE, RC_N_STATE, run.context);
    run.dense = SUNLinSol_Dense(run.y, run.matrix, run.context);
    need(run.y && run.slope && run.scale && run.fixed_point && run.matrix && run.dense, "memory");
}

static void make_solver(struct rc_block *block)
{
    if (run.context == NULL)
        make_vectors();
    run.cvode = CVodeCreate(run.solver == FLIER_BDF_NEWTON ? CV_BDF : CV_ADAMS, run.context);
    need(run.cvode != NULL && CVodeInit(run.cvode, slope_at, 0.0, run.y) == CV_SUCCESS, "creation");
    for (int i = 0; i < RC_N_STATE; i++)
        NV_Ith_S(run.scale, i) = usual_size[i] * run.tolerance;
    need(CVodeSVtolerances(run.cvode, run.tolerance, run.scale) == CV_SUCCESS, "tolerances");
    if (run.solver == FLIER_ADAMS_FIXED_POINT || is_as_written())
        need(CVodeSetNonlinearSolver(run.cvode, run.fixed_point) == CV_SUCCESS, "fixed point");
    else
        need(CVodeSetLinearSolver(run.cvode, run.dense, run.matrix) == CV_SUCCESS, "Newton");
    need(CVodeSetMaxNumSteps(run.cvode, 1000000) == CV_SUCCESS, "step limit");
    need(CVodeSetUserData(run.cvode, block) == CV_SUCCESS, "user data");
}

static void count_work(void)
{
    long n_steps = 0, n_slopes = 0, n_jacobian = 0;
    need(CVodeGetNumSteps(run.cvode, &n_steps) == CV_SUCCESS && CVodeGetNumRhsEvals(run.cvode, &n_slopes) == CV_SUCCESS, "counts");
    if (run.solver == FLIER_ADAMS_NEWTON || run.solver == FLIER_BDF_NEWTON)
        need(CVodeGetNumLinRhsEvals(run.cvode, &n_jacobian) == CV_SUCCESS, "counts");
    run.n_steps += (double)n_steps;
    run.n_slopes += (double)(n_slopes + n_jacobian);
}

/* At this tolerance and below CVODE starts afresh in each of the campaign's steps: else it has gone past the step's end already when
 * the platform's pull comes, which it then sees late by a part of its own step. Slow, for the reference only. */
static const double restart_tolerance = 1e-10;

static bool starts_afresh(void)
{
    return run.tolerance <= restart_tolerance || is_as_written();
}

/* Start afresh from run.y; with an eye on the rail's end while on the rail, and no step across burn-out. */
static void restart(struct rc_block *block, double t)
{
    count_work();
    need(CVodeReInit(run.cvode, t, run.y) == CV_SUCCESS, "restart");
    need(CVodeRootInit(run.cvode, block->v.is_free[0] > 0.5 ? 0 : 1, way_left) == CV_SUCCESS, "event");
    double stop = starts_afresh() ? block->time + block->step : INFINITY;
    if (t < run.burn_out)
        stop = fmin(stop, run.burn_out);
    if (t < stop && isfinite(stop))
        need(CVodeSetStopTime(run.cvode, stop) == CV_SUCCESS, "stop time");
}

void rc_advance_begin(struct rc_block *block)
{
    kernel_begin(block);
    if (run.cvode == NULL)
        make_solver(block);
    for (int i = 0; i < RC_N_STATE; i++)
        NV_Ith_S(run.y, i) = block->v.y[i][0];
    run.platform_part = 0.0;
    run.left_rate = block->v.y[RC_STATE_ROLL_RATE][0];
    run.burn_out = (block->model->motor.end - block->v.table_start[0]) / block->v.table_rate[0];
    run.is_burning = 1.0;
    need(CVodeSetUserData(run.cvode, block) == CV_SUCCESS, "user data");
    restart(block, 0.0);
}

void rc_advance_look(struct rc_block *block)
{
    kernel_look(block);
}

/* Integrate to the end of the step; ends whether the rail's end was on the way. */
static bool integrate(struct rc_block *block, double end)
{
    double t = block->time;
    bool has_left = false;
    while (t < end) {
        const int status = CVode(run.cvode, end, run.y, &t, CV_NORMAL);
        need(status >= 0, "a step");
        if (status == CV_TSTOP_RETURN && t >= run.burn_out) {
            run.is_burning = 0.0;
            restart(block, t);
        } else if (status == CV_ROOT_RETURN) {
            rc_lane shorter;
            shorter[0] = 0.0; /* shorter than the step: free */
            put_state(NV_DATA_S(run.y), block->v.y);
            leave_rail(block, shorter);
            restart(block, t);
            has_left = true;
        }
    }
    return has_left;
}

/* Roll over the step for the platform's ticks: the cubic through values and slopes at both ends; and the rates across the axis at its
 * middle, as the kernel has them. */
static void lay_out_cubic(struct rc_block *block)
{
    struct rc_platform_lanes *const p = &block->p;
    p->pitch[0] = block->v.start[RC_STATE_PITCH_RATE][0];
    p->yaw[0] = block->v.start[RC_STATE_YAW_RATE][0];
    p->pitch_change[0] = block->v.y[RC_STATE_PITCH_RATE][0] - p->pitch[0];
    p->yaw_change[0] = block->v.y[RC_STATE_YAW_RATE][0] - p->yaw[0];
    const double change = block->v.y[RC_STATE_ROLL_RATE][0] - block->v.start[RC_STATE_ROLL_RATE][0];
    const double first = block->step * block->v.k[0][RC_STATE_ROLL_RATE][0], last = block->step * block->v.k[3][RC_STATE_ROLL_RATE][0];
    p->roll[0][0] = block->v.start[RC_STATE_ROLL_RATE][0];
    p->roll[1][0] = first;
    p->roll[2][0] = 3.0 * change - 2.0 * first - last;
    p->roll[3][0] = first + last - 2.0 * change;
}

void rc_advance_step(struct rc_block *block)
{
    struct rc_vehicle_lanes *const v = &block->v;
    const double end = block->time + block->step;
    rc_lane since, none;
    since[0] = end;
    none[0] = 0.0;
    block->p.load[0] = v->seen.specific_force[0];
    block->p.fading[0] = v->seen.roll_fading[0];
    run.platform_part += v->y[RC_STATE_ROLL_RATE][0] - run.left_rate;
    memcpy(v->start, v->y, sizeof v->start);
    if (starts_afresh())
        restart(block, block->time);
    const bool has_left = integrate(block, end);
    need(CVodeGetDky(run.cvode, end, 1, run.slope) == CV_SUCCESS, "slope");
    put_state(NV_DATA_S(run.y), v->y);
    run.left_rate = v->y[RC_STATE_ROLL_RATE][0];
    for (int i = 0; i < RC_N_STATE; i++)
        v->k[3][i][0] = NV_Ith_S(run.slope, i);
    moment_at(block, since, none, 0.0, &v->impulse, &v->now);
    if (has_left)
        for (int i = 0; i < RC_N_STATE; i++)
            v->k[0][i][0] = v->k[3][i][0] = (v->y[i][0] - v->start[i][0]) / block->step;
    lay_out_cubic(block);
}

double rc_advance_inside(const struct rc_block *block, int state, int lane, double theta)
{
    const struct rc_vehicle_lanes *const v = &block->v;
    const double start = v->start[state][lane], change = v->y[state][lane] - start;
    const double first = block->step * v->k[0][state][lane], last = block->step * v->k[3][state][lane];
    return start + theta * (first + theta * (3.0 * change - 2.0 * first - last + theta * (first + last - 2.0 * change)));
}
