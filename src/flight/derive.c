/* Forces, moments and the equations of motion in lanes. Symbols: V airspeed, (along, v, w) its components on the non-rolling
 * axes, S reference area, d diameter, x_cm station of the centre of mass. */
#include "derive.h"

#include <math.h>

#include "atmosphere.h"
#include "drag.h"
#include "numeric/lane_math.h"

RC_KERNEL static int any_outside(const struct rc_kept_cell *cell, const rc_lane x)
{
    int n_outside = 0;
#pragma omp simd reduction(+ : n_outside)
    for (int lane = 0; lane < RC_LANES; lane++)
        n_outside += (x[lane] < cell->low[lane]) | (x[lane] >= cell->high[lane]);
    return n_outside;
}

/* Note the cell that x lies in; ends its number. The first cell reaches down without end, the last one up. */
static int keep_cell(struct rc_kept_cell *kept, int lane, const struct rc_grid *grid, double x)
{
    const int cell = rc_table_cell(grid, x);
    kept->knot[lane] = grid->knot[cell];
    kept->low[lane] = cell > 0 ? grid->knot[cell] : -INFINITY;
    kept->high[lane] = cell + 1 < grid->n_knots ? grid->knot[cell + 1] : INFINITY;
    return cell;
}

static bool is_outside(const struct rc_kept_cell *cell, int lane, double x)
{
    return x < cell->low[lane] || x >= cell->high[lane];
}

/* How many cells to make at once where one is missing. */
enum { CELLS_AHEAD = 8 };

/* One beyond the last cell to be made. */
static int cells_until(int cell, int n_knots)
{
    return cell + CELLS_AHEAD < n_knots ? cell + CELLS_AHEAD : n_knots;
}

const double *rc_derive_air_cell(struct rc_block *block, int lane, int cell)
{
    const int n_made = block->n_air[lane], until = cells_until(cell, block->model->height.n_knots);
    if (cell >= n_made) {
        rc_model_fill_air(block->model, block->design[lane], n_made, until - n_made, block->own_air[lane]);
        block->n_air[lane] = until;
    }
    return block->air_table[lane] + cell * RC_N_AIR_COEFFICIENTS;
}

static const struct rc_aero_cell *aero_cell(struct rc_block *block, int lane, int cell)
{
    const int n_made = block->n_aero[lane], until = cells_until(cell, block->model->mach.n_knots);
    if (cell >= n_made) {
        rc_model_fill_aero(block->model, &block->design[lane]->vehicle, n_made, until - n_made, block->own_aero[lane]);
        block->n_aero[lane] = until;
    }
    return block->aero_table[lane] + cell;
}

void rc_derive_fetch_air(struct rc_block *block, const rc_lane height)
{
    struct rc_vehicle_lanes *const v = &block->v;
    if (!any_outside(&v->air_cell, height))
        return;
    for (int lane = 0; lane < RC_LANES; lane++) {
        if (!is_outside(&v->air_cell, lane, height[lane]))
            continue;
        const int cell = keep_cell(&v->air_cell, lane, &block->model->height, height[lane]);
        const double *const c = rc_derive_air_cell(block, lane, cell);
        for (int i = 0; i < RC_AIR_EAST; i++)
            v->air[i][lane] = c[i];
        /* The table's wind blows at 1 m/s from north: scale it and turn it clockwise. */
        const struct rc_wind_design *const wind = &block->design[lane]->wind;
        const double cosine = wind->speed * cos(wind->from);
        const double sine = wind->speed * sin(wind->from);
        for (int i = 0; i < 2; i++) {
            v->air[RC_AIR_EAST + i][lane] = c[RC_AIR_EAST + i] * cosine + c[RC_AIR_NORTH + i] * sine;
            v->air[RC_AIR_NORTH + i][lane] = c[RC_AIR_NORTH + i] * cosine - c[RC_AIR_EAST + i] * sine;
        }
        for (int i = RC_AIR_GUST_LOW; i < RC_N_AIR_COEFFICIENTS; i++)
            v->air[i][lane] = c[i];
    }
}

/* Coefficients of one lane from its table cell. The one place where the flight's factors and deflections go in: once per cell and
 * not in every step. */
static void put_coefficients(struct rc_block *block, int lane, const struct rc_aero_cell *cell)
{
    struct rc_vehicle_lanes *const v = &block->v;
    const struct rc_design *const design = block->design[lane];
    const struct rc_aero_design *const factor = &design->aero;
    const double base_left = rc_drag_base_left(&design->vehicle, block->model->layout, design->motor.exit_area);
    for (int i = 0; i < 2; i++) { /* value, slope */
        const struct rc_aero_point *const c = i == 0 ? &cell->value : &cell->slope;
        const double normal = factor->normal_factor * c->cn;
        const double normal_x = factor->normal_factor * c->cn_x + factor->cp_shift * normal;
        double roll = 0.0;
        double side[2] = { 0.0, 0.0 };
        double side_x[2] = { 0.0, 0.0 };
        for (int set = 0; set < block->model->layout->n_fin_sets; set++) {
            roll += block->mean_deflection[lane][set] * c->cl_delta[set];
            for (int axis = 0; axis < 2; axis++) {
                side[axis] += factor->normal_factor * block->trim[lane][set][axis] * c->fin_slope[set];
                side_x[axis] += factor->normal_factor * block->trim[lane][set][axis] * c->fin_moment[set];
            }
        }
        const double base = factor->base_factor * c->ca_base;
        const double rest = factor->friction_factor * c->ca_friction + factor->wave_factor * c->ca_wave +
                            factor->fin_drag_factor * c->ca_fin;
        const double axial_on = c->ca_on + rest + base_left * base;
        const double axial_off = c->ca_off + rest + base;
        v->coefficient[2 * RC_C_AXIAL_ON + i][lane] = factor->axial_factor * axial_on;
        v->coefficient[2 * RC_C_AXIAL_OFF + i][lane] = factor->axial_factor * axial_off;
        v->coefficient[2 * RC_C_BODY_LIFT + i][lane] = factor->body_lift_factor * c->body_lift;
        v->coefficient[2 * RC_C_BODY_LIFT_X + i][lane] = factor->body_lift_factor * c->body_lift_x;
        v->coefficient[2 * RC_C_NORMAL + i][lane] = normal;
        v->coefficient[2 * RC_C_NORMAL_X + i][lane] = normal_x;
        for (int power = 0; power < 3; power++)
            v->coefficient[2 * (RC_C_DAMP_0 + power) + i][lane] = factor->pitch_damping_factor * c->damp[power];
        v->coefficient[2 * RC_C_ROLL_DAMPING + i][lane] = factor->roll_damping_factor * c->cl_p;
        v->coefficient[2 * RC_C_ROLL_FORCING + i][lane] = factor->roll_forcing_factor * roll;
        v->coefficient[2 * RC_C_INDUCED_ROLL + i][lane] =
            (i == 0 ? factor->induced_roll : 0.0) + factor->induced_roll_factor * c->induced_roll;
        v->coefficient[2 * RC_C_TRIM_Y + i][lane] = side[0];
        v->coefficient[2 * RC_C_TRIM_Z + i][lane] = side[1];
        v->coefficient[2 * RC_C_TRIM_YX + i][lane] = side_x[0];
        v->coefficient[2 * RC_C_TRIM_ZX + i][lane] = side_x[1];
    }
}

void rc_derive_fetch_coefficients(struct rc_block *block, const rc_lane mach)
{
    struct rc_vehicle_lanes *const v = &block->v;
    if (!any_outside(&v->mach_cell, mach))
        return;
    for (int lane = 0; lane < RC_LANES; lane++) {
        if (!is_outside(&v->mach_cell, lane, mach[lane]))
            continue;
        const int cell = keep_cell(&v->mach_cell, lane, &block->model->mach, mach[lane]);
        put_coefficients(block, lane, aero_cell(block, lane, cell));
    }
}

void rc_derive_fetch_motor(struct rc_block *block, const rc_lane table_time)
{
    struct rc_vehicle_lanes *const v = &block->v;
    if (!any_outside(&v->motor_cell, table_time))
        return;
    for (int lane = 0; lane < RC_LANES; lane++) {
        if (!is_outside(&v->motor_cell, lane, table_time[lane]))
            continue;
        const struct rc_motor_table *const motor = &block->model->motor;
        const int cell = keep_cell(&v->motor_cell, lane, &motor->grid, table_time[lane]);
        for (int i = 0; i < RC_MOTOR_COEFFICIENTS; i++)
            v->motor[i][lane] = motor->c[cell * RC_MOTOR_COEFFICIENTS + i];
    }
}

/* Airspeed on the non-rolling axes, gusts included, Mach number, dynamic pressure, gravity. */
RC_KERNEL static void see_air(struct rc_vehicle_lanes *v, const rc_lane *y, const struct rc_moment_lanes *at, rc_lane *cross)
{
    RC_FOR_LANES(lane)
    {
        const double up = y[RC_STATE_UP][lane];
        const double dz = rc_lane_max(up, 0.0) - v->air_cell.knot[lane];
        const double density =
            v->air[RC_AIR_DENSITY][lane] + dz * (v->air[RC_AIR_DENSITY_1][lane] + dz * v->air[RC_AIR_DENSITY_2][lane]);
        const double sound = v->air[RC_AIR_SOUND][lane] + dz * v->air[RC_AIR_SOUND_1][lane];
        const double ve = y[RC_STATE_V_EAST][lane] - (v->air[RC_AIR_EAST][lane] + dz * v->air[RC_AIR_EAST_1][lane]);
        const double vn = y[RC_STATE_V_NORTH][lane] - (v->air[RC_AIR_NORTH][lane] + dz * v->air[RC_AIR_NORTH_1][lane]);
        const double vu = y[RC_STATE_V_UP][lane];
        const double qw = y[RC_STATE_QW][lane], qx = y[RC_STATE_QX][lane], qy = y[RC_STATE_QY][lane], qz = y[RC_STATE_QZ][lane];
        const double along =
            (1.0 - 2.0 * (qy * qy + qz * qz)) * ve + 2.0 * (qx * qy + qw * qz) * vn + 2.0 * (qx * qz - qw * qy) * vu -
            at->gust[0][lane];
        const double side =
            2.0 * (qx * qy - qw * qz) * ve + (1.0 - 2.0 * (qx * qx + qz * qz)) * vn + 2.0 * (qy * qz + qw * qx) * vu -
            at->gust[1][lane];
        const double down =
            2.0 * (qx * qz + qw * qy) * ve + 2.0 * (qy * qz - qw * qx) * vn + (1.0 - 2.0 * (qx * qx + qy * qy)) * vu -
            at->gust[2][lane];
        const double speed = sqrt(along * along + side * side + down * down);
        /* One division for speed, Mach number and gravity. */
        const double moving = rc_lane_max(speed, 1e-3), from_centre = RC_EARTH_RADIUS + v->elevation[lane] + up;
        const double both = moving * sound, per_all = 1.0 / (both * from_centre), per_both = per_all * from_centre;
        const double ratio = RC_EARTH_RADIUS * (per_all * both);
        cross[0][lane] = side;
        cross[1][lane] = down;
        v->seen.along[lane] = along;
        v->seen.cross[lane] = sqrt(side * side + down * down);
        v->seen.speed[lane] = speed;
        v->seen.per_speed[lane] = per_both * sound;
        v->seen.mach[lane] = speed * (per_both * moving);
        v->seen.gravity[lane] = 9.80665 * ratio * ratio;
        v->seen.q[lane] = 0.5 * density * speed * speed;
        v->seen.pressure[lane] = density * sound * sound * (1.0 / 1.4);
    }
}

/* A coefficient at the lane's Mach number. in dm = Mach number less the cell's knot */
RC_INLINE double coefficient(const struct rc_vehicle_lanes *v, int which, int lane, double dm)
{
    return v->coefficient[2 * which][lane] + dm * v->coefficient[2 * which + 1][lane];
}

/* Axial thrust: as measured, plus what the thinner air leaves at the nozzle exit. */
RC_INLINE double thrust_here(const struct rc_vehicle_lanes *v, int lane, const struct rc_moment_lanes *at)
{
    return at->thrust[lane] + at->is_burning[lane] * v->exit_area[lane] * (v->stand_pressure[lane] - v->seen.pressure[lane]);
}

/* Coefficients of the Chebyshev polynomials of the second kind: sin(n x) = sin(x) U_{n-1}(cos x); row n, lowest power first. */
static const double chebyshev[RC_MAX_FINS + 1][RC_MAX_FINS] = {
    {0.0}, {1.0}, {0.0, 2.0}, {-1.0, 0.0, 4.0}, {0.0, -4.0, 0.0, 8.0}, {1.0, 0.0, -12.0, 0.0, 16.0},
    {0.0, 6.0, 0.0, -32.0, 0.0, 32.0}, {-1.0, 0.0, 24.0, 0.0, -80.0, 0.0, 64.0},
    {0.0, -8.0, 0.0, 80.0, 0.0, -192.0, 0.0, 128.0},
};

/* Sine of n times the angle whose sine and cosine are given; c is row n of `chebyshev`, the same for all lanes. No loop: control
 * flow inside a lane loop leaves it scalar. */
RC_INLINE double sine_of_multiple(double sine, double cosine, const double *c)
{
    const double high = c[4] + cosine * (c[5] + cosine * (c[6] + cosine * c[7]));
    return sine * (c[0] + cosine * (c[1] + cosine * (c[2] + cosine * (c[3] + cosine * high))));
}

/* Forces and moments on body axes that roll with the vehicle: y, z across the axis, moments about the centre of mass. */
struct body_load {
    double force_y, force_z;
    double moment_y, moment_z;
    double roll;
};

/* What is fixed to the body: deflected fins and the thrust line. in axial = force along the axis, thrust less drag [N] */
RC_INLINE struct body_load fixed_load(const struct rc_vehicle_lanes *v, int lane, double dm, double qs, double cm,
                                      double thrust, double axial)
{
    const double trim_y = coefficient(v, RC_C_TRIM_Y, lane, dm), trim_z = coefficient(v, RC_C_TRIM_Z, lane, dm);
    const double push_y = thrust * v->thrust_side[0][lane], push_z = thrust * v->thrust_side[1][lane];
    const double lever = cm - v->nozzle[lane];
    const double lever_y = qs * (cm * trim_y - coefficient(v, RC_C_TRIM_YX, lane, dm)) + lever * push_y;
    const double lever_z = qs * (cm * trim_z - coefficient(v, RC_C_TRIM_ZX, lane, dm)) + lever * push_z;
    const double along = thrust * v->thrust_cosine[lane];
    const double offset_y = v->thrust_offset[0][lane], offset_z = v->thrust_offset[1][lane];
    const struct body_load load = {
        .force_y = qs * trim_y + push_y,
        .force_z = qs * trim_z + push_z,
        .moment_y = -lever_z + offset_z * along - v->cm_offset[1][lane] * axial,
        .moment_z = lever_y - offset_y * along + v->cm_offset[0][lane] * axial,
        .roll = v->swirl[lane] * thrust + offset_y * push_z - offset_z * push_y,
    };
    return load;
}

/* The same where the thrust line and the centre of mass lie on the axis. */
RC_INLINE struct body_load trim_load(const struct rc_vehicle_lanes *v, int lane, double dm, double qs, double cm)
{
    const double trim_y = coefficient(v, RC_C_TRIM_Y, lane, dm), trim_z = coefficient(v, RC_C_TRIM_Z, lane, dm);
    const struct body_load load = {
        .force_y = qs * trim_y,
        .force_z = qs * trim_z,
        .moment_y = -qs * (cm * trim_z - coefficient(v, RC_C_TRIM_ZX, lane, dm)),
        .moment_z = qs * (cm * trim_y - coefficient(v, RC_C_TRIM_YX, lane, dm)),
        .roll = 0.0,
    };
    return load;
}

/* A vector in east, north, up: three numbers, not an array, which would leave the lane loop scalar. */
struct ground_vector {
    double east, north, up;
};

/* A vector from the non-rolling axes to east, north, up. */
RC_INLINE struct ground_vector to_ground(const rc_lane *y, int lane, double along, double side, double down)
{
    const double qw = y[RC_STATE_QW][lane], qx = y[RC_STATE_QX][lane], qy = y[RC_STATE_QY][lane], qz = y[RC_STATE_QZ][lane];
    const struct ground_vector ground = {
        (1.0 - 2.0 * (qy * qy + qz * qz)) * along + 2.0 * (qx * qy - qw * qz) * side + 2.0 * (qx * qz + qw * qy) * down,
        2.0 * (qx * qy + qw * qz) * along + (1.0 - 2.0 * (qx * qx + qz * qz)) * side + 2.0 * (qy * qz - qw * qx) * down,
        2.0 * (qx * qz - qw * qy) * along + 2.0 * (qy * qz + qw * qx) * side + (1.0 - 2.0 * (qx * qx + qy * qy)) * down,
    };
    return ground;
}

/* Kinematics: position follows velocity, the axes turn with pitch and yaw rate but do not roll, the roll angle takes the rest. */
RC_INLINE void turn(const rc_lane *y, int lane, rc_lane *slope)
{
    const double qw = y[RC_STATE_QW][lane], qx = y[RC_STATE_QX][lane], qy = y[RC_STATE_QY][lane], qz = y[RC_STATE_QZ][lane];
    const double pitch = y[RC_STATE_PITCH_RATE][lane], yaw = y[RC_STATE_YAW_RATE][lane];
    slope[RC_STATE_EAST][lane] = y[RC_STATE_V_EAST][lane];
    slope[RC_STATE_NORTH][lane] = y[RC_STATE_V_NORTH][lane];
    slope[RC_STATE_UP][lane] = y[RC_STATE_V_UP][lane];
    slope[RC_STATE_QW][lane] = -0.5 * (qy * pitch + qz * yaw);
    slope[RC_STATE_QX][lane] = 0.5 * (qy * yaw - qz * pitch);
    slope[RC_STATE_QY][lane] = 0.5 * (qw * pitch - qx * yaw);
    slope[RC_STATE_QZ][lane] = 0.5 * (qw * yaw + qx * pitch);
    slope[RC_STATE_ROLL][lane] = y[RC_STATE_ROLL_RATE][lane];
}

/* Roll moment over q S d that incidence induces: -C sin^2(alpha) sin(N phi), phi from the first fin to the cross-flow. */
RC_INLINE double induced_roll(const struct rc_vehicle_lanes *v, int lane, double dm, double body_y, double body_z,
                              double sine_alpha, const double *multiple)
{
    const double per_across = 1.0 / rc_lane_max(v->seen.cross[lane], 1e-9);
    const double flow_y = body_y * per_across, flow_z = body_z * per_across;
    const double from_fin_y = flow_y * v->fin_axis[0][lane] + flow_z * v->fin_axis[1][lane];
    const double from_fin_z = flow_z * v->fin_axis[0][lane] - flow_y * v->fin_axis[1][lane];
    const double strength = coefficient(v, RC_C_INDUCED_ROLL, lane, dm);
    return -strength * sine_alpha * sine_alpha * sine_of_multiple(from_fin_z, from_fin_y, multiple);
}

/* Moment about a transverse axis per rate about it [N m s]: by the air, in = q S d [N m] and d/(2V) [s]; by the jet. */
RC_INLINE double pitch_damping_here(const struct rc_vehicle_lanes *v, int lane, double dm, const struct rc_moment_lanes *at,
                                    double qsd, double rate_scale)
{
    const double cm = at->cm[lane], lever = v->nozzle[lane] - cm;
    const double damping = coefficient(v, RC_C_DAMP_0, lane, dm) +
        cm * (coefficient(v, RC_C_DAMP_1, lane, dm) + cm * coefficient(v, RC_C_DAMP_2, lane, dm));
    return qsd * damping * rate_scale - at->burn_rate[lane] * (v->iy_gain[lane] - v->mass_gain[lane] * lever * lever);
}

/* What a loop over the equations of motion is made for. */
struct made_for {
    const double *multiple;   /* row of `chebyshev`                           */
    int looks;                /* constant: what is looked at once a step, too */
    int skewed;               /* constant: thrust line, centre of mass off the axis, swirl and roll by incidence count */
};

RC_INLINE void move_lanes(struct rc_vehicle_lanes *v, const rc_lane *y, const rc_lane *cross, const struct rc_moment_lanes *at,
                          rc_lane *slope, const struct made_for of)
{
    RC_FOR_LANES(lane)
    {
        const double q = v->seen.q[lane];
        const double dm = v->seen.mach[lane] - v->mach_cell.knot[lane];
        const double qs = q * v->area[lane];
        const double d = v->diameter[lane], is_free = v->is_free[lane];
        const double per_speed = v->seen.per_speed[lane], per_mass = at->per_mass[lane];
        const double qs_per_speed = qs * per_speed; /* half density V S */
        const double cm = at->cm[lane];
        const double p = y[RC_STATE_ROLL_RATE][lane], pitch = y[RC_STATE_PITCH_RATE][lane], yaw = y[RC_STATE_YAW_RATE][lane];
        double sine, cosine;
        rc_lane_sincos(y[RC_STATE_ROLL][lane], &sine, &cosine);

        /* Axial force opposes the motion along the axis, also when flying backwards. */
        const double thrust = thrust_here(v, lane, at);
        const double axial_on = coefficient(v, RC_C_AXIAL_ON, lane, dm), axial_off = coefficient(v, RC_C_AXIAL_OFF, lane, dm);
        const double axial = axial_off + at->is_burning[lane] * (axial_on - axial_off);
        const double force_x = thrust * v->thrust_cosine[lane] - (v->seen.along[lane] < 0.0 ? -qs : qs) * axial;
        const struct body_load fixed =
            of.skewed ? fixed_load(v, lane, dm, qs, cm, thrust, force_x) : trim_load(v, lane, dm, qs, cm);

        /* Normal force against the cross-flow, and its moment through the centre of pressure. */
        const double normal = coefficient(v, RC_C_NORMAL, lane, dm);
        const double arm = normal * cm - coefficient(v, RC_C_NORMAL_X, lane, dm); /* negative when stable */
        const double side = cross[0][lane], down = cross[1][lane];
        const double sine_alpha = v->seen.cross[lane] * per_speed;
        const double lift = coefficient(v, RC_C_BODY_LIFT, lane, dm) * sine_alpha; /* the body's cross-flow force */
        const double across = qs_per_speed * (normal + lift);
        const double force_y = fixed.force_y * cosine - fixed.force_z * sine - across * side;
        const double force_z = fixed.force_y * sine + fixed.force_z * cosine - across * down;

        /* Damping by the air, on d/(2V), and by the jet that carries angular momentum away. */
        const double rate_scale = 0.5 * d * per_speed;
        const double pitch_damping = pitch_damping_here(v, lane, dm, at, qs * d, rate_scale);
        const double jet_roll = at->burn_rate[lane] * (v->ix_gain[lane] - v->mass_gain[lane] * v->exit_gyration[lane]);
        const double restoring = qs_per_speed * (arm + cm * lift - coefficient(v, RC_C_BODY_LIFT_X, lane, dm) * sine_alpha);
        const double moment_y = fixed.moment_y * cosine - fixed.moment_z * sine + restoring * down + pitch_damping * pitch;
        const double moment_z = fixed.moment_y * sine + fixed.moment_z * cosine - restoring * side + pitch_damping * yaw;

        /* Roll: fins, damping, the side force beside the centre of mass, and what incidence induces between fins. */
        const double body_y = cosine * force_y + sine * force_z, body_z = cosine * force_z - sine * force_y;
        const double beside = of.skewed ? fixed.roll - v->cm_offset[0][lane] * body_z + v->cm_offset[1][lane] * body_y : 0.0;
        const double flow_y = cosine * side + sine * down, flow_z = cosine * down - sine * side;
        const double induced = of.skewed ? induced_roll(v, lane, dm, flow_y, flow_z, sine_alpha, of.multiple) : 0.0;
        const double roll_moment = qs * d * (coefficient(v, RC_C_ROLL_FORCING, lane, dm) + induced +
            coefficient(v, RC_C_ROLL_DAMPING, lane, dm) * rate_scale * p) - jet_roll * p + beside;

        const double fx = force_x * per_mass, fy = force_y * per_mass, fz = force_z * per_mass;
        const struct ground_vector a = to_ground(y, lane, fx, fy, fz);
        const double climb = a.up - v->seen.gravity[lane];
        /* On the rail only the motion along it remains. */
        const double rail = (1.0 - is_free) *
            (a.east * v->rail_axis[0][lane] + a.north * v->rail_axis[1][lane] + climb * v->rail_axis[2][lane]);
        slope[RC_STATE_V_EAST][lane] = is_free * a.east + rail * v->rail_axis[0][lane];
        slope[RC_STATE_V_NORTH][lane] = is_free * a.north + rail * v->rail_axis[1][lane];
        slope[RC_STATE_V_UP][lane] = is_free * climb + rail * v->rail_axis[2][lane];
        turn(y, lane, slope);
        const double per_iy = is_free * at->per_iy[lane], per_ix = is_free * at->per_ix[lane];
        const double axial_momentum = at->ix[lane] * p + v->platform_momentum[lane];
        slope[RC_STATE_ROLL_RATE][lane] = per_ix * roll_moment;
        slope[RC_STATE_PITCH_RATE][lane] = per_iy * (moment_y - axial_momentum * yaw);
        slope[RC_STATE_YAW_RATE][lane] = per_iy * (moment_z + axial_momentum * pitch);

        v->seen.specific_force[lane] = fx;
        if (!of.looks)
            continue;
        v->seen.lateral_squared[lane] = is_free * (fy * fy + fz * fz);
        v->seen.pitch_stiffness[lane] = -qs * arm * per_iy;
        v->seen.roll_fading[lane] = -qs * d * coefficient(v, RC_C_ROLL_DAMPING, lane, dm) * rate_scale * per_ix;
        v->seen.slenderness[lane] = at->ix[lane] * per_iy;
        v->seen.margin[0][lane] = normal > 1e-9 ? -arm : 0.0;
        v->seen.margin[1][lane] = normal > 1e-9 ? normal : 1.0;
        v->seen.pitch_fading[lane] = -pitch_damping * per_iy;
        v->seen.path_turning[lane] = (qs * normal + force_x) * per_mass * per_speed;
        v->seen.gyroscope[lane] = axial_momentum * per_iy;
    }
}

/* in multiple  row of `chebyshev`; NULL where nothing is skewed */
RC_KERNEL static void move_and_look(struct rc_vehicle_lanes *v, const rc_lane *y, const rc_lane *cross,
                                    const struct rc_moment_lanes *at, rc_lane *slope, const double *multiple)
{
    if (multiple != NULL)
        move_lanes(v, y, cross, at, slope, (struct made_for){ multiple, 1, 1 });
    else
        move_lanes(v, y, cross, at, slope, (struct made_for){ NULL, 1, 0 });
}

RC_KERNEL static void move(struct rc_vehicle_lanes *v, const rc_lane *y, const rc_lane *cross, const struct rc_moment_lanes *at,
                           rc_lane *slope, const double *multiple)
{
    if (multiple != NULL)
        move_lanes(v, y, cross, at, slope, (struct made_for){ multiple, 0, 1 });
    else
        move_lanes(v, y, cross, at, slope, (struct made_for){ NULL, 0, 0 });
}

static const double *multiple_of(const struct rc_layout *layout)
{
    return layout->is_straight ? NULL : chebyshev[layout->n_fins[0]];
}

/* Air and coefficients of a state. out cross  airspeed across the axis, on the non-rolling axes [m/s] */
static void see(struct rc_block *block, const rc_lane *y, const struct rc_moment_lanes *at, rc_lane *cross)
{
    rc_derive_fetch_air(block, y[RC_STATE_UP]);
    see_air(&block->v, y, at, cross);
    rc_derive_fetch_coefficients(block, block->v.seen.mach);
}

void rc_derive_state(struct rc_block *block, const rc_lane *y, const struct rc_moment_lanes *at, rc_lane *slope)
{
    rc_lane cross[2];
    see(block, y, at, cross);
    move_and_look(&block->v, y, cross, at, slope, multiple_of(block->model->layout));
}

void rc_derive_slope(struct rc_block *block, const rc_lane *y, const struct rc_moment_lanes *at, rc_lane *slope)
{
    rc_lane cross[2];
    see(block, y, at, cross);
    move(&block->v, y, cross, at, slope, multiple_of(block->model->layout));
}
