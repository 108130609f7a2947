/* Flying a block: lanes set up at lift-off, the loop of steps, and the events that end a flight. */
#include "flight.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "advance.h"
#include "atmosphere.h"
#include "base/base.h"
#include "descent.h"
#include "gusts.h"
#include "lanes.h"
#include "numeric/lane_math.h"
#include "observe.h"

int rc_block_lanes(void)
{
    return RC_LANES;
}

rc_status rc_block_create(struct rc_block **block, const struct rc_model *model, struct rc_error *err)
{
    struct rc_block *made = aligned_alloc(64, (sizeof *made + 63) / 64 * 64);
    if (made == NULL)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a block of %d flights", RC_LANES);
    memset(made, 0, sizeof *made);
    made->model = model;
    for (int lane = 0; lane < RC_LANES; lane++) {
        made->own_air[lane] = malloc((size_t)model->height.n_knots * RC_N_AIR_COEFFICIENTS * sizeof(double));
        made->own_aero[lane] = malloc((size_t)model->mach.n_knots * sizeof *made->own_aero[lane]);
        if (made->own_air[lane] == NULL || made->own_aero[lane] == NULL) {
            rc_block_free(made);
            return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the tables of a block of %d flights", RC_LANES);
        }
    }
    *block = made;
    return RC_OK;
}

void rc_block_free(struct rc_block *block)
{
    if (block == NULL)
        return;
    for (int lane = 0; lane < RC_LANES; lane++) {
        free(block->own_air[lane]);
        free(block->own_aero[lane]);
    }
    free(block);
}

/* A lane flies with the shared tables, or with its own where its numbers differ from the base design. Those are made on the
 * way, as far as the flight gets. */
static void begin_tables(struct rc_block *block, int lane)
{
    const struct rc_model *const model = block->model;
    const struct rc_design *const design = block->design[lane];
    const bool same_air = rc_model_same_air(design, &model->base);
    const bool same_aero = rc_model_same_aero(design, &model->base);
    block->n_air[lane] = same_air ? model->height.n_knots : 0;
    block->n_aero[lane] = same_aero ? model->mach.n_knots : 0;
    block->air_table[lane] = same_air ? model->air : block->own_air[lane];
    block->aero_table[lane] = same_aero ? model->aero : block->own_aero[lane];
    struct rc_kept_cell *const cells[] = { &block->v.air_cell, &block->v.mach_cell, &block->v.motor_cell };
    for (int i = 0; i < 3; i++) { /* no cell is kept yet: every value lies outside an empty range */
        cells[i]->low[lane] = INFINITY;
        cells[i]->high[lane] = -INFINITY;
        cells[i]->knot[lane] = 0.0;
    }
}

/* Deflections: their mean rolls the vehicle, their sum as vectors trims it sideways. */
static void begin_fins(struct rc_block *block, int lane)
{
    const struct rc_layout *const layout = block->model->layout;
    for (int set = 0; set < layout->n_fin_sets; set++) {
        const struct rc_fin_set *const fins = &block->design[lane]->vehicle.fins[set];
        const int n = layout->n_fins[set];
        double sum = 0.0, side_y = 0.0, side_z = 0.0;
        for (int fin = 0; fin < n; fin++) {
            const double deflection = fins->cant + fins->misalignment[fin];
            const double angle = fins->first_angle + 2.0 * RC_PI * fin / n;
            sum += deflection;
            side_y -= deflection * sin(angle);
            side_z += deflection * cos(angle);
        }
        block->mean_deflection[lane][set] = sum / n;
        block->trim[lane][set][0] = side_y;
        block->trim[lane][set][1] = side_z;
    }
}

static void begin_masses(struct rc_block *block, int lane, double liftoff)
{
    struct rc_vehicle_lanes *const v = &block->v;
    const struct rc_design *const design = block->design[lane];
    const struct rc_vehicle_design *const vehicle = &design->vehicle;
    v->area[lane] = 0.25 * RC_PI * vehicle->diameter * vehicle->diameter;
    v->diameter[lane] = vehicle->diameter;
    v->mass_loaded[lane] = vehicle->mass_loaded;
    v->mass_gain[lane] = vehicle->mass_burnt - vehicle->mass_loaded;
    v->cm_loaded[lane] = vehicle->cm_loaded;
    v->cm_gain[lane] = vehicle->cm_burnt - vehicle->cm_loaded;
    v->ix_loaded[lane] = vehicle->ix_loaded + design->platform.inertia;
    v->ix_gain[lane] = vehicle->ix_burnt - vehicle->ix_loaded;
    v->iy_loaded[lane] = vehicle->iy_loaded;
    v->iy_gain[lane] = vehicle->iy_burnt - vehicle->iy_loaded;
    v->per_impulse[lane] = 1.0 / block->model->motor.total_impulse;
    v->table_start[lane] = liftoff;
    v->table_rate[lane] = 1.0 / design->motor.burn_time_factor;
    v->thrust_scale[lane] = design->motor.impulse_factor / design->motor.burn_time_factor;
}

/* The thrust line and the centre of mass beside the axis, on axes that roll with the body. */
static void begin_thrust_line(struct rc_block *block, int lane)
{
    struct rc_vehicle_lanes *const v = &block->v;
    const struct rc_vehicle_design *const vehicle = &block->design[lane]->vehicle;
    const struct rc_motor_design *const motor = &block->design[lane]->motor;
    v->thrust_cosine[lane] = cos(motor->tilt);
    v->thrust_side[0][lane] = sin(motor->tilt) * cos(motor->tilt_angle);
    v->thrust_side[1][lane] = sin(motor->tilt) * sin(motor->tilt_angle);
    v->thrust_offset[0][lane] = motor->offset * cos(motor->offset_angle);
    v->thrust_offset[1][lane] = motor->offset * sin(motor->offset_angle);
    v->nozzle[lane] = motor->nozzle_station;
    v->swirl[lane] = motor->swirl;
    v->exit_area[lane] = motor->exit_area;
    v->stand_pressure[lane] = motor->stand_pressure;
    v->exit_gyration[lane] = motor->exit_area / (2.0 * RC_PI); /* a disc's mean square radius is half its radius squared */
    v->cm_offset[0][lane] = vehicle->cm_offset * cos(vehicle->cm_offset_angle);
    v->cm_offset[1][lane] = vehicle->cm_offset * sin(vehicle->cm_offset_angle);
    v->fin_axis[0][lane] = cos(vehicle->fins[0].first_angle);
    v->fin_axis[1][lane] = sin(vehicle->fins[0].first_angle);
}

/* At rest on the rail, nose along it; the non-rolling frame's y axis starts horizontal. */
static void begin_state(struct rc_block *block, int lane)
{
    struct rc_vehicle_lanes *const v = &block->v;
    const struct rc_site_design *const site = &block->design[lane]->site;
    const double azimuth = site->rail_azimuth, elevation = site->rail_elevation;
    v->rail_axis[0][lane] = cos(elevation) * sin(azimuth);
    v->rail_axis[1][lane] = cos(elevation) * cos(azimuth);
    v->rail_axis[2][lane] = sin(elevation);
    v->rail_length[lane] = site->rail_length;
    v->elevation[lane] = site->elevation;
    for (int state = 0; state < RC_N_STATE; state++)
        v->y[state][lane] = 0.0;
    /* Turn east about the vertical by (90 degrees - azimuth), then about the new y axis by -elevation. */
    const double half_turn = 0.5 * (0.5 * RC_PI - azimuth), half_lift = -0.5 * elevation;
    v->y[RC_STATE_QW][lane] = cos(half_turn) * cos(half_lift);
    v->y[RC_STATE_QX][lane] = -sin(half_turn) * sin(half_lift);
    v->y[RC_STATE_QY][lane] = cos(half_turn) * sin(half_lift);
    v->y[RC_STATE_QZ][lane] = sin(half_turn) * cos(half_lift);
    v->is_free[lane] = 0.0;
    v->platform_momentum[lane] = 0.0;
    v->seen.speed[lane] = v->seen.per_speed[lane] = v->middle_sine[lane] = 0.0;
    v->force_middle[lane] = v->force_end[lane] = 0.0;
    for (int which = 0; which < RC_N_PEAKS; which++)
        v->peak[which][lane] = v->peak_start[which][lane] = v->peak_middle[which][lane] = 0.0;
    v->q_max_time[lane] = v->rail_exit[lane] = v->alpha_max[lane] = 0.0;
    v->lateral_squared_max[lane] = v->step_phase_squared_max[lane] = v->pace_squared[lane] = 0.0;
    v->margin_min[0][lane] = v->arm_damping_min[lane] = v->gyro_min[0][lane] = v->pitch_damping_min[0][lane] = INFINITY;
    v->margin_min[1][lane] = v->gyro_min[1][lane] = v->pitch_damping_min[1][lane] = v->spin_max[1][lane] = 1.0;
    v->spin_max[0][lane] = 0.0;
    v->resonance_side[lane] = v->resonance_crossings[lane] = v->resonance_dwell[lane] = 0.0;
    v->resonance_alpha[lane] = 0.0;
}

/* End a lane's flight. The lane flies on unseen until the block is done; off the rail, so that it does not hold up the others. */
static void end_lane(struct rc_block *block, int lane, enum rc_end end, double theta)
{
    const double time = block->time + theta * block->step;
    rc_observe_finish(block, lane, end, time, rc_advance_inside(block, RC_STATE_UP, lane, theta),
                      rc_advance_inside(block, RC_STATE_ROLL_RATE, lane, theta));
    for (int i = 0; i < 6; i++)
        block->v.apogee[i][lane] = rc_advance_inside(block, RC_STATE_EAST + i, lane, theta);
    block->has_ended[lane] = true;
    block->n_live--;
    if (block->v.is_free[lane] < 0.5) {
        block->v.is_free[lane] = 1.0;
        block->n_on_rail--;
    }
}

static void begin_lane(struct rc_block *block, int lane, uint64_t seed, uint64_t flight)
{
    const struct rc_model *const model = block->model;
    const struct rc_design *const design = block->design[lane];
    const double liftoff = rc_motor_liftoff(&model->motor, design);
    const struct rc_platform_setup setup = {
        .kind = model->drive,
        .parts = &design->platform, .drive = &design->drive, .gyro = &design->gyro, .controller = &design->controller,
        .camera = design->camera, .footage = &design->footage, .width_px = model->layout->width_px,
        .powered = design->site.pad_wait + design->motor.ignition_delay + fmax(liftoff, 0.0) * design->motor.burn_time_factor,
        .seed = seed, .flight = flight,
    };
    begin_tables(block, lane);
    begin_fins(block, lane);
    begin_masses(block, lane, fmax(liftoff, 0.0));
    begin_thrust_line(block, lane);
    begin_state(block, lane);
    rc_platform_begin(&block->p, lane, &model->clock, &setup);
    if (liftoff < 0.0 && !block->has_ended[lane])
        end_lane(block, lane, RC_END_NO_LIFTOFF, 0.0);
}

static void begin_block(struct rc_block *block, const struct rc_design *designs, uint64_t seed, const uint64_t *flights, int n,
                        struct rc_record *records)
{
    const int n_bins = RC_N_SIGNALS * block->model->layout->n_band_times;
    block->n_live = n;
    block->n_on_rail = RC_LANES;
    block->tick = 0;
    block->time = block->step = 0.0;
    for (int lane = 0; lane < RC_LANES; lane++) {
        const int which = lane < n ? lane : 0; /* spare lanes repeat the first flight, unseen */
        block->design[lane] = &designs[which];
        block->record[lane] = &records[which];
        block->is_spare[lane] = block->has_ended[lane] = lane >= n;
        for (int i = 0; lane < n && records[lane].bin != NULL && i < n_bins; i++)
            records[lane].bin[i] = RC_BAND_NONE;
        begin_lane(block, lane, seed, flights[which]);
    }
    rc_gusts_begin(block, seed, flights, n);
    rc_advance_begin(block);
}

/* Where in the step just taken the vertical speed fell to zero, 0 .. 1. in it is positive at the start and not at the end */
static double apogee_theta(const struct rc_block *block, int lane)
{
    double low = 0.0, high = 1.0;
    for (int halving = 0; halving < 50; halving++) {
        const double middle = 0.5 * (low + high);
        if (rc_advance_inside(block, RC_STATE_V_UP, lane, middle) > 0.0)
            low = middle;
        else
            high = middle;
    }
    return high;
}

/* Did this lane's flight end in the step just taken? out theta where in the step; ends true with *end set */
static bool has_event(const struct rc_block *block, int lane, enum rc_end *end, double *theta)
{
    const struct rc_vehicle_lanes *const v = &block->v;
    const double up = v->y[RC_STATE_UP][lane], climb = v->y[RC_STATE_V_UP][lane];
    const double turning = v->y[RC_STATE_ROLL_RATE][lane] + v->y[RC_STATE_PITCH_RATE][lane] + v->y[RC_STATE_QW][lane];
    *theta = 1.0;
    if (!(fabs(up) < 1e8) || !(fabs(climb) < 1e6) || !(fabs(turning) < 1e6))
        *end = RC_END_DIVERGED;
    else if (climb <= 0.0 && v->is_free[lane] > 0.5)
        *end = RC_END_APOGEE;
    else if (climb < 0.0)
        *end = RC_END_ON_RAIL;
    else if (up + v->elevation[lane] > RC_ATMOSPHERE_TOP)
        *end = RC_END_CEILING;
    else if (block->time + block->step >= block->model->layout->time_limit)
        *end = RC_END_TIME;
    else
        return false;
    if (*end == RC_END_APOGEE)
        *theta = apogee_theta(block, lane);
    return true;
}

/* Lanes that may have an event, cheaply: most steps have none. ends how many */
RC_KERNEL static int suspect_events(const struct rc_vehicle_lanes *v, int is_late)
{
    int n = 0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double up = v->y[RC_STATE_UP][lane], climb = v->y[RC_STATE_V_UP][lane];
        const double turning = v->y[RC_STATE_ROLL_RATE][lane] + v->y[RC_STATE_PITCH_RATE][lane] + v->y[RC_STATE_QW][lane];
        const double far = rc_lane_abs(up), fast = rc_lane_abs(turning);
        const int is_sound = (far < 1e8) & (climb < 1e6) & (fast < 1e6);
        const int is_climbing = (climb > 0.0) & (up + v->elevation[lane] <= RC_ATMOSPHERE_TOP);
        n += 1 - (is_sound & is_climbing) + is_late;
    }
    return n;
}

static void watch_tick(void *user, int tick)
{
    struct rc_block *const block = user;
    struct rc_moment moment;
    if (block->has_ended[0])
        return;
    rc_observe_moment(block, tick, &moment);
    block->sink(block->user, &moment);
}

/* Run n of the platform's ticks of the step, from one on. in watched  whoever looks on is shown them */
static void run_ticks(struct rc_block *block, int from, int n, bool watched)
{
    const struct rc_platform_stretch stretch = {
        .first = block->tick + from, .n_ticks = n, .n_of_step = block->step_ticks, .offset = from,
        .watch = block->sink != NULL && watched ? watch_tick : NULL, .user = block,
    };
    if (n > 0)
        block->model->drive->run(&block->p, &block->model->clock, &stretch);
}

/* Bring to its end a flight that ends inside the step: all lanes run up to there, the record is finished, and all are put back.
 * So no flight's tallies hold anything after its end, and no other flight's step is cut. Whoever looks on sees the first lane's
 * ticks, and each once. */
static void end_inside(struct rc_block *block, int lane, enum rc_end end, double theta)
{
    const int whole = (int)floor(theta * block->step_ticks + 1e-9);
    const double share = theta * block->step_ticks - whole;
    memcpy(&block->kept, &block->p, sizeof block->p);
    run_ticks(block, 0, whole, lane == 0);
    if (share > 1e-9) {
        struct rc_tally tally = block->p.tally;
        run_ticks(block, whole, 1, false);
        rc_tally_end(&tally, &block->p.tally, lane, share);
        block->p.tally = tally;
    }
    end_lane(block, lane, end, theta);
    memcpy(&block->p, &block->kept, sizeof block->p);
}

/* The platform's share of the step. */
static void step_platform(struct rc_block *block)
{
    const struct rc_platform_clock *const clock = &block->model->clock;
    rc_platform_meet(&block->p, clock->dt * clock->span, block->v.now.ix, block->v.is_free);
    const int is_late = block->time + block->step >= block->model->layout->time_limit;
    const int n_suspect = suspect_events(&block->v, is_late);
    for (int lane = 0; n_suspect > 0 && lane < RC_LANES; lane++) {
        enum rc_end end = RC_END_APOGEE;
        double theta = 0.0;
        if (!block->has_ended[lane] && has_event(block, lane, &end, &theta))
            end_inside(block, lane, end, theta);
    }
    if (block->n_live > 0)
        run_ticks(block, 0, block->step_ticks, true);
}

/* What the platform gained in angular momentum against the vehicle, the vehicle's roll has lost: exact over the step. */
RC_KERNEL static void couple_roll(struct rc_block *block)
{
    struct rc_vehicle_lanes *const v = &block->v;
    const struct rc_platform_lanes *const p = &block->p;
    RC_FOR_LANES(lane)
    {
        v->y[RC_STATE_ROLL_RATE][lane] += p->reaction[lane] * (p->rate_before[lane] - p->rate[lane]);
        v->platform_momentum[lane] = p->coupling[lane] * p->rate[lane];
    }
}

void rc_block_fly(struct rc_block *block, const struct rc_design *designs, uint64_t seed, const uint64_t *flights, int n,
                  struct rc_record *records, rc_moment_sink *sink, void *user)
{
    const struct rc_model *const model = block->model;
    block->sink = sink;
    block->user = user;
    begin_block(block, designs, seed, flights, n, records);
    while (block->n_live > 0) {
        block->step_ticks = rc_model_step_ticks(model, block->time, block->tick);
        block->step_before = block->step;
        block->step = block->step_ticks * model->clock.dt;
        rc_advance_look(block);
        rc_gusts_advance(block);
        rc_observe_peaks(block);
        if (block->tick % model->band_ticks == 0)
            rc_observe_bands(block, (int)(block->tick / model->band_ticks));
        rc_advance_step(block);
        step_platform(block);
        couple_roll(block);
        block->tick += block->step_ticks;
        block->time = (double)block->tick * model->clock.dt;
    }
    if (model->layout->has_descent)
        rc_descent_fly(block);
}
