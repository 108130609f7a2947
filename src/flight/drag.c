/* Drag by build-up. Each part is continuous over Mach; pressure drags rise through the transonic range along a cubic that starts
 * level and meets the supersonic law with its own slope. Junctions of fins and body, rail guides, and drag due to lift are
 * not here. */
#include "drag.h"

#include <math.h>

#include "body.h"
#include "fins.h"

static const double PI = 3.14159265358979323846;

/* Speed of sound over kinematic viscosity 1500 m above sea level [1/m]. source USSA1976, Sutherland's viscosity */
static const double REYNOLDS_PER_MACH = 2.031e7;

/* Transonic range: pressure drag starts to rise, and the supersonic law takes over. */
static const double RISE_START = 0.85, RISE_END = 1.1;

/* Relative step in Mach for the slope at the joint. */
static const double JOINT_STEP = 0.01;

/* ---- skin friction ---- */

double rc_drag_plate(double reynolds, double grains, double mach)
{
    const double smooth = 0.455 * pow(log10(fmax(reynolds, 1e5)), -2.58) * pow(1.0 + 0.15 * mach * mach, -0.58);
    if (grains <= 0.0)
        return smooth;
    return fmax(smooth, pow(1.89 + 1.62 * log10(fmax(grains, 100.0)), -2.5) / (1.0 + 0.18 * mach * mach));
}

static double plate_of(const struct rc_vehicle_design *v, double length, double mach)
{
    return rc_drag_plate(REYNOLDS_PER_MACH * mach * length, v->roughness > 0.0 ? length / v->roughness : 0.0, mach);
}

/* Share of a subsonic effect that is left; none beyond Mach 1.1. */
static double subsonic_share(double mach)
{
    const double x = fmin(fmax((mach - RISE_START) / (RISE_END - RISE_START), 0.0), 1.0);
    return 1.0 - x * x * (3.0 - 2.0 * x);
}

static double friction(const struct rc_vehicle_design *v, const struct rc_layout *layout, const struct rc_body_measure *body,
                       double mach)
{
    const double left = subsonic_share(mach), thin = body->widest / v->length;
    const double form = 1.0 + left * (1.5 * pow(thin, 1.5) + 7.0 * thin * thin * thin);
    double sum = plate_of(v, v->length, mach) * form * body->wetted;
    for (int set = 0; set < layout->n_fin_sets; set++) {
        const struct rc_fins_planform plan = rc_fins_planform_of(&v->fins[set]);
        const double thickness = v->fins[set].thickness / plan.mean_chord;
        sum += 2.0 * layout->n_fins[set] * plan.area * plate_of(v, plan.mean_chord, mach) * (1.0 + 2.0 * left * thickness);
    }
    return sum;
}

/* ---- nose and sections ---- */

/* Between a level start and the supersonic law's value and slope. */
static double rise(double mach, double end, double before, double joint, double beyond)
{
    const double width = end - RISE_START;
    const double x = fmin(fmax((mach - RISE_START) / width, 0.0), 1.0);
    const double slope = (beyond - joint) / (JOINT_STEP * end) * width;
    return before + (joint - before) * x * x * (3.0 - 2.0 * x) + slope * x * x * (x - 1.0);
}

/* Pressure coefficient where the flow comes to rest. source R1135 eq. 100 (Rayleigh's pitot formula) [memory] */
static double pitot(double mach)
{
    const double m = mach * mach;
    const double ratio = pow(1.2 * m, 3.5) * pow(6.0 / (7.0 * m - 1.0), 2.5);
    return (ratio - 1.0) / (0.7 * m);
}

/* The same cone by its sine; most is the pitot pressure. */
static double cone_pressure(double mach, double sine, double most)
{
    const double m = mach * mach, k = (m - 1.0 / m) * sine * sine;
    if (k <= 0.0)
        return 0.0;
    const double pressure = sine * sine * (1.0 + (2.4 * k + 2.0) / (0.4 * k + 2.0) * log(1.2 + 1.0 / k));
    return fmin(pressure, most);
}

double rc_drag_cone(double mach, double slope)
{
    return cone_pressure(mach, slope / hypot(1.0, slope), pitot(mach));
}

/* Tangent cones over the nose. A convex wall turns the flow as a plane one does and settles to the cone's pressure within about
 * beta radii: over that length the pressure lags by the difference of the two slopes over the angle. */
static double supersonic_nose(const struct rc_body_slice *slice, double radius, double mach)
{
    const double beta = sqrt(mach * mach - 1.0), most = pitot(mach);
    double sum = 0.0;
    for (int i = 0; i < RC_BODY_SLICES; i++) {
        const double along = hypot(1.0, slice[i].slope), sine = slice[i].slope / along;
        const double pressure = cone_pressure(mach, sine, most);
        const double step = 1e-3 * sine;
        const double per_angle = (cone_pressure(mach, sine + step, most) - pressure) / (step * along);
        const double turning = slice[i].curvature / (along * along * along);
        const double lag = slice[i].radius * turning * fmax(2.0 - beta * per_angle, 0.0);
        sum += (pressure + lag) * 2.0 * slice[i].radius * slice[i].slope * slice[i].weight;
    }
    return sum / (radius * radius);
}

/* Subsonic pressure drag by the angle at the shoulder. source HOERNER1965 ch. 3, 0.8 sin^2 [memory] */
static double shoulder_drag(double slope)
{
    return 0.8 * slope * slope / (1.0 + slope * slope);
}

static double nose_shoulder(const struct rc_vehicle_design *v, enum rc_nose_shape shape)
{
    const double cone = 0.5 * v->diameter / v->nose_length;
    return shape == RC_NOSE_CONE ? cone : (shape == RC_NOSE_POWER ? v->nose_exponent * cone : 0.0);
}

double rc_drag_nose(const struct rc_vehicle_design *v, enum rc_nose_shape shape, double mach)
{
    const double before = shoulder_drag(nose_shoulder(v, shape)), radius = 0.5 * v->diameter;
    if (mach <= RISE_START)
        return before;
    struct rc_body_slice slice[RC_BODY_SLICES];
    rc_body_nose_slices(v, shape, slice);
    if (mach >= RISE_END)
        return supersonic_nose(slice, radius, mach);
    return rise(mach, RISE_END, before, supersonic_nose(slice, radius, RISE_END),
                supersonic_nose(slice, radius, RISE_END * (1.0 + JOINT_STEP)));
}

/* Boat-tail: the plane expansion at its shoulder, which fades along the surface as behind a bend of a long cylinder
 * (1 - x/2 + 3x^2/16 in beta radii, the start of linear theory's series, carried on by a fraction). */
static double supersonic_boat_tail(const struct rc_body_section *s, double mach)
{
    const double beta = sqrt(mach * mach - 1.0), fore = 0.5 * s->fore_diameter, aft = 0.5 * s->aft_diameter;
    const double slope = (fore - aft) / s->length;
    static const double node[4] = {0.0694318442029737, 0.3300094782075719, 0.6699905217924281, 0.9305681557970263};
    static const double weight[4] = {0.1739274225687269, 0.3260725774312731, 0.3260725774312731, 0.1739274225687269};
    double sum = 0.0;
    for (int i = 0; i < 4; i++) {
        const double x = node[i] * s->length / (beta * fore);
        const double pressure = fmin(2.0 * slope / beta, 1.0 / (mach * mach)) / (1.0 + 0.5 * x + x * x / 16.0);
        sum += weight[i] * pressure * 2.0 * (fore + node[i] * (aft - fore)) * (fore - aft);
    }
    return 4.0 * sum; /* over a quarter of a unit diameter squared */
}

static double supersonic_section(const struct rc_body_section *s, double mach)
{
    const double fore = s->fore_diameter, aft = s->aft_diameter;
    if (aft < fore)
        return supersonic_boat_tail(s, mach);
    return rc_drag_cone(mach, 0.5 * (aft - fore) / s->length) * (aft - fore) * (aft + fore);
}

double rc_drag_section(const struct rc_body_section *section, double diameter, double mach)
{
    const double fore = section->fore_diameter, aft = section->aft_diameter;
    const double before = aft > fore ? shoulder_drag(0.5 * (aft - fore) / section->length) * (aft - fore) * (aft + fore) : 0.0;
    double drag;
    if (mach <= RISE_START)
        drag = before;
    else if (mach >= RISE_END)
        drag = supersonic_section(section, mach);
    else
        drag = rise(mach, RISE_END, before, supersonic_section(section, RISE_END),
                    supersonic_section(section, RISE_END * (1.0 + JOINT_STEP)));
    return drag / (diameter * diameter);
}

/* ---- base ---- */

double rc_drag_base(double mach)
{
    return mach < 1.0 ? 0.12 + 0.13 * mach * mach : 0.25 / mach;
}

/* Behind a boat-tail the base feels less suction: its share is base over greatest diameter. source HOERNER1965 ch. 3 [memory] */
static double base_drag(const struct rc_body_measure *body, double mach)
{
    const double base = body->base_diameter;
    return rc_drag_base(mach) * 0.25 * PI * base * base * base / body->widest;
}

double rc_drag_base_left(const struct rc_vehicle_design *v, const struct rc_layout *layout, double exit_area)
{
    const double base = layout->n_sections > 0 ? v->sections[layout->n_sections - 1].aft_diameter : v->diameter;
    return fmax(1.0 - exit_area / (0.25 * PI * base * base), 0.0);
}

/* ---- fins ---- */

/* Pressure drag of a rounded leading edge on its frontal area. source BARROWMAN1967 ch. 4 [memory]; its pieces join at Mach 1,
 * and at Mach 0.9 once the first is raised by 0.12 %. */
static double round_edge(double mach)
{
    if (mach < 0.9)
        return 1.0012456973 * (pow(1.0 - mach * mach, -0.417) - 1.0);
    if (mach < 1.0)
        return 1.0 - 1.785 * (mach - 0.9);
    const double m = mach * mach;
    return 1.214 - 0.502 / m + 0.1095 / (m * m);
}

/* Wedges ahead and behind of half the chord each, on the fin's area. Unswept: linear theory. Swept: linear theory of the flow
 * across the leading edge where that is well supersonic; else what a finite panel has by the supersonic area rule does,
 * within a third. source Ackeret; JONES1956, the two numbers are ours, chosen against it; docs/theory.md "Drag" */
static double supersonic_wedges(double front, double back, double cosine, double mach)
{
    const double square = mach * mach - 1.0, across = mach * mach * cosine * cosine - 1.0;
    const double tangent_square = 1.0 / (cosine * cosine) - 1.0;
    const double gain = across > 0.0 ? fmin(cosine * sqrt(square / across), 1.4) : 1.4;
    return 2.0 * (front * front + back * back) * gain / sqrt(square + 0.43 * tangent_square);
}

static double wedge_drag(double front, double back, double cosine, double mach)
{
    if (mach <= RISE_START)
        return 0.0;
    if (mach >= RISE_END)
        return supersonic_wedges(front, back, cosine, mach);
    return rise(mach, RISE_END, 0.0, supersonic_wedges(front, back, cosine, RISE_END),
                supersonic_wedges(front, back, cosine, RISE_END * (1.0 + JOINT_STEP)));
}

/* One fin's pressure drag over dynamic pressure [m2]. */
static double fin_drag(const struct rc_fin_set *set, double mach)
{
    const struct rc_fins_planform plan = rc_fins_planform_of(set);
    const double cosine = set->span / hypot(set->span, set->sweep);
    const double front = set->thickness * (1.0 - set->front_share) / plan.mean_chord;
    const double back = set->thickness * (1.0 - set->back_share) / plan.mean_chord;
    const double edge = set->thickness * set->front_share * set->span * cosine * cosine * round_edge(mach);
    const double trailing = set->thickness * set->back_share * set->span * rc_drag_base(mach);
    return edge + trailing + plan.area * wedge_drag(front, back, fmax(cosine, 0.2), mach);
}

struct rc_drag_parts rc_drag_parts_at(const struct rc_vehicle_design *v, const struct rc_layout *layout, double mach)
{
    const struct rc_body_measure body = rc_body_measure_of(v, layout);
    const double per_reference = 1.0 / (0.25 * PI * v->diameter * v->diameter);
    struct rc_drag_parts parts = {
        .friction = per_reference * friction(v, layout, &body, mach),
        .base = per_reference * base_drag(&body, mach),
        .wave = rc_drag_nose(v, layout->nose_shape, mach),
    };
    for (int i = 0; i < layout->n_sections; i++)
        parts.wave += rc_drag_section(&v->sections[i], v->diameter, mach);
    for (int set = 0; set < layout->n_fin_sets; set++)
        parts.fin += per_reference * layout->n_fins[set] * fin_drag(&v->fins[set], mach);
    return parts;
}
