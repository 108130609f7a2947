/* One vehicle's coefficients at one Mach number: components summed, the user's tables put over the estimate.
 * How components get their values is in body.c, fins.c and drag.c. */
#include "aero.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "body.h"
#include "drag.h"
#include "fins.h"

/* A column of the user's table at a Mach number: linear between knots, end values held. */
static double column_at(const struct rc_aero_points *table, enum rc_aero_column column, double mach)
{
    const double *value = table->column[column];
    int above = 0;
    while (above < table->n && table->mach[above] <= mach)
        above++;
    if (above == 0 || above == table->n)
        return value[above == 0 ? 0 : table->n - 1];
    const double low = table->mach[above - 1];
    const double weight = (mach - low) / (table->mach[above] - low);
    return value[above - 1] + weight * (value[above] - value[above - 1]);
}

/* The same, or the estimate where the user gave none. */
static double column_or(const struct rc_aero_points *table, enum rc_aero_column column, double mach, double estimate)
{
    return table->n > 0 && table->column[column] ? column_at(table, column, mach) : estimate;
}

static void add_force(struct rc_aero_point *out, double slope, double station)
{
    out->cn += slope;
    out->cn_x += slope * station;
}

/* Pitch damping of a force that meets the swing at one station and acts at another: -2 slope (a - x)(b - x)/d^2 about x.
 * in swing  product and sum of the two */
static void add_damping(struct rc_aero_point *out, double slope, const double swing[2], double diameter)
{
    const double unit = -2.0 * slope / (diameter * diameter);
    out->damp[0] += unit * swing[0];
    out->damp[1] -= unit * swing[1];
    out->damp[2] += unit;
}

int rc_aero_is_free_set(const struct rc_vehicle_design *v, const struct rc_layout *layout, int set)
{
    const struct rc_fin_set *const fins = &v->fins[set];
    return fins->root_radius > 1.05 * rc_body_radius_at(v, layout, fins->station + 0.5 * fins->root_chord);
}

static void add_body(const struct rc_vehicle_design *v, const struct rc_layout *layout, struct rc_aero_point *out)
{
    const struct rc_body_force nose = rc_body_nose(v, layout->nose_shape);
    add_force(out, nose.slope, nose.station);
    for (int i = 0; i < layout->n_sections; i++) {
        const struct rc_body_force section = rc_body_section(&v->sections[i], v->diameter);
        add_force(out, section.slope, section.station);
    }
    const struct rc_body_measure body = rc_body_measure_of(v, layout);
    const struct rc_body_force swing = rc_body_swing(&body, v);
    add_damping(out, swing.slope, (double[]){swing.station * swing.station, 2.0 * swing.station}, v->diameter);
    const struct rc_body_force lift = rc_body_lift(&body, v);
    out->body_lift = lift.slope;
    out->body_lift_x = lift.slope * lift.station;
}

/* Does the user's table hold the axial force? */
static bool has_axial(const struct rc_aero_points *table)
{
    return table->n > 0 && (table->column[RC_AERO_CA_OFF] || table->column[RC_AERO_CA_ON]);
}

/* Everything from geometry alone, no factor applied. */
static void estimate_point(const struct rc_vehicle_design *v, const struct rc_layout *layout, double mach,
                           struct rc_aero_point *out)
{
    memset(out, 0, sizeof *out);
    add_body(v, layout, out);
    for (int set = 0; set < layout->n_fin_sets; set++) {
        const struct rc_fins_coefficients fins = rc_aero_is_free_set(v, layout, set)
            ? rc_fins_free_at(&v->fins[set], layout->n_fins[set], v->diameter, mach)
            : rc_fins_coefficients_at(&v->fins[set], layout->n_fins[set], v->diameter, mach);
        add_force(out, fins.normal, fins.station);
        add_damping(out, fins.normal, fins.swing, v->diameter);
        out->cl_p += fins.cl_p;
        out->cl_delta[set] = fins.cl_delta;
        out->fin_slope[set] = fins.own;
        out->fin_moment[set] = fins.own * fins.station;
    }
    if (has_axial(&layout->aero))
        return;
    const struct rc_drag_parts drag = rc_drag_parts_at(v, layout, mach);
    out->ca_friction = drag.friction;
    out->ca_base = drag.base;
    out->ca_wave = drag.wave;
    out->ca_fin = drag.fin;
}

double rc_aero_axial(const struct rc_aero_point *point, int is_burning, double base_left)
{
    return (is_burning ? point->ca_on : point->ca_off) + point->ca_friction + (is_burning ? base_left : 1.0) * point->ca_base
        + point->ca_wave + point->ca_fin;
}

/* A moment over its force; 0 where there is none. */
static double station_of(double moment, double force)
{
    return force != 0.0 ? moment / force : 0.0;
}

static void put_drag(const struct rc_aero_points *table, double mach, struct rc_aero_point *out)
{
    out->ca_off = column_or(table, RC_AERO_CA_OFF, mach, column_or(table, RC_AERO_CA_ON, mach, 0.0));
    out->ca_on = column_or(table, RC_AERO_CA_ON, mach, out->ca_off);
    out->ca_friction = column_or(table, RC_AERO_CA_FRICTION, mach, out->ca_friction);
    out->ca_base = column_or(table, RC_AERO_CA_BASE, mach, out->ca_base);
    out->ca_wave = column_or(table, RC_AERO_CA_WAVE, mach, out->ca_wave);
    out->ca_fin = column_or(table, RC_AERO_CA_FIN, mach, out->ca_fin);
}

/* Closer than this the two stations of the pitch damping do not tell its slope. [m] */
static const double FAR_ENOUGH = 1e-3;

static void put_damping(const struct rc_aero_points *table, double mach, struct rc_aero_point *out)
{
    if (table->n > 0 && table->column[RC_AERO_CMQ]) {
        out->damp[0] = column_at(table, RC_AERO_CMQ, mach);
        out->damp[1] = out->damp[2] = 0.0;
    } else if (table->n > 0 && table->column[RC_AERO_CMQ_LOADED] && table->column[RC_AERO_CMQ_BURNT]) {
        const double from = table->cm_loaded, to = table->cm_burnt, bend = out->damp[2];
        const double at_from = column_at(table, RC_AERO_CMQ_LOADED, mach), at_to = column_at(table, RC_AERO_CMQ_BURNT, mach);
        const double estimated = out->damp[1] + bend * (from + to);
        const double slope = fabs(to - from) > FAR_ENOUGH ? (at_to - at_from) / (to - from) : estimated;
        out->damp[0] = at_from - slope * from + bend * from * to;
        out->damp[1] = slope - bend * (from + to);
    }
}

static void put_fins(const struct rc_aero_points *table, double mach, struct rc_aero_point *out)
{
    static const enum rc_aero_column forcing[RC_MAX_FIN_SETS] = {RC_AERO_CL_DELTA, RC_AERO_CL_DELTA_2};
    static const enum rc_aero_column slope[RC_MAX_FIN_SETS] = {RC_AERO_FIN_SLOPE, RC_AERO_FIN_SLOPE_2};
    static const enum rc_aero_column place[RC_MAX_FIN_SETS] = {RC_AERO_FIN_STATION, RC_AERO_FIN_STATION_2};
    for (int set = 0; set < RC_MAX_FIN_SETS; set++) {
        out->cl_delta[set] = column_or(table, forcing[set], mach, out->cl_delta[set]);
        if (table->n == 0 || (!table->column[slope[set]] && !table->column[place[set]]))
            continue;
        const double station = column_or(table, place[set], mach, station_of(out->fin_moment[set], out->fin_slope[set]));
        out->fin_slope[set] = column_or(table, slope[set], mach, out->fin_slope[set]);
        out->fin_moment[set] = out->fin_slope[set] * station;
    }
}

static void put_tables(const struct rc_aero_points *table, double mach, struct rc_aero_point *out)
{
    const double station = column_or(table, RC_AERO_XCP, mach, station_of(out->cn_x, out->cn));
    const double lift_station = column_or(table, RC_AERO_BODY_LIFT_STATION, mach, station_of(out->body_lift_x, out->body_lift));
    put_drag(table, mach, out);
    out->cn = column_or(table, RC_AERO_CN_ALPHA, mach, out->cn);
    out->cn_x = out->cn * station;
    put_damping(table, mach, out);
    out->cl_p = column_or(table, RC_AERO_CL_P, mach, out->cl_p);
    out->body_lift = column_or(table, RC_AERO_BODY_LIFT, mach, out->body_lift);
    out->body_lift_x = out->body_lift * lift_station;
    out->induced_roll = column_or(table, RC_AERO_INDUCED_ROLL, mach, 0.0);
    put_fins(table, mach, out);
}

void rc_aero_point_at(const struct rc_vehicle_design *v, const struct rc_layout *layout, double mach, struct rc_aero_point *out)
{
    estimate_point(v, layout, fmin(mach, RC_AERO_MACH_TOP), out);
    put_tables(&layout->aero, mach, out);
}

/* Spacing of the estimate's knots up to a Mach number. */
struct knot_band {
    double end, step;
};
static const struct knot_band BANDS[] = {
    {0.6, 0.1}, {0.8, 0.05}, {0.9, 0.025}, {1.3, 0.02}, {2.0, 0.035}, {3.0, 0.05}, {RC_AERO_MACH_TOP, 0.1}, {1e9, 100.0},
};

/* The estimate's next knot after one. Counted in whole steps, so that rounding does not add up. */
static double next_estimate_knot(double mach)
{
    int band = 0;
    while (BANDS[band].end <= mach + 1e-9)
        band++;
    const double start = band > 0 ? BANDS[band - 1].end : 0.0;
    const double steps = floor((mach - start) / BANDS[band].step + 1e-6) + 1.0;
    return fmin(start + steps * BANDS[band].step, BANDS[band].end);
}

double rc_aero_mach_top(const struct rc_layout *layout)
{
    const int n = layout->aero.n;
    return n > 0 ? fmax(layout->aero.mach[n - 1], RC_AERO_MACH_TOP) : RC_AERO_MACH_TOP;
}

/* Knots closer than this are one, the user's. */
static const double NEAR = 1e-6;

int rc_aero_knots(const struct rc_layout *layout, double mach_max, double *knots, int n_max)
{
    int n = 0, row = 0;
    double estimate = 0.0;
    while (n < n_max && (n == 0 || knots[n - 1] < mach_max)) {
        while (row < layout->aero.n && n > 0 && layout->aero.mach[row] <= knots[n - 1])
            row++;
        const double here = estimate;
        const double user = row < layout->aero.n ? layout->aero.mach[row] : INFINITY;
        const bool is_user = user < estimate + NEAR;
        if (!is_user || user > estimate - NEAR)
            estimate = next_estimate_knot(estimate);
        knots[n] = is_user ? user : here;
        n++;
    }
    return n;
}
