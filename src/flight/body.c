/* Nose shapes, tubes, transitions and boat-tails: areas and volume, normal force by slender-body theory, cross-flow force at
 * incidence, and by what a body damps pitching. A straight tube adds no normal force to first order. */
#include "body.h"

#include <math.h>

static const double PI = 3.14159265358979323846;

/* Radius, slope and curvature of a nose at a share u of its length. in l  length in base radii; out in base radii */
struct profile {
    double radius, slope, curvature;
};

static struct profile ogive_profile(double l, double u)
{
    const double rho = 0.5 * (1.0 + l * l), back = l * (1.0 - u);
    const double height = sqrt(fmax(rho * rho - back * back, 1e-12));
    return (struct profile){height + 1.0 - rho, back / height, -rho * rho / (height * height * height)};
}

static struct profile power_profile(double l, double u, double n)
{
    return (struct profile){pow(u, n), n / l * pow(u, n - 1.0), n * (n - 1.0) / (l * l) * pow(u, n - 2.0)};
}

/* r^2 = (t - sin(2t)/2)/pi with cos t = 1 - 2u, so (r^2)' = 4 sin t/(pi l). */
static struct profile von_karman_profile(double l, double u)
{
    const double cosine = 1.0 - 2.0 * u, sine = sqrt(fmax(1.0 - cosine * cosine, 1e-12));
    const double radius = sqrt((acos(cosine) - sine * cosine) / PI);
    const double slope = 2.0 * sine / (PI * l * radius);
    return (struct profile){radius, slope, (4.0 * cosine / (PI * l * l * sine) - slope * slope) / radius};
}

static struct profile profile_at(const struct rc_vehicle_design *vehicle, enum rc_nose_shape shape, double u)
{
    const double l = vehicle->nose_length / (0.5 * vehicle->diameter);
    switch (shape) {
    case RC_NOSE_OGIVE:
        return ogive_profile(l, u);
    case RC_NOSE_POWER:
        return power_profile(l, u, vehicle->nose_exponent);
    case RC_NOSE_VON_KARMAN:
        return von_karman_profile(l, u);
    case RC_NOSE_CONE:
        break;
    }
    return (struct profile){u, 1.0 / l, 0.0};
}

void rc_body_nose_slices(const struct rc_vehicle_design *vehicle, enum rc_nose_shape shape, struct rc_body_slice *slice)
{
    /* Gauss-Legendre, 8 points on 0 .. 1/2 and on 1/2 .. 1 of s, x = length s^2. source AS1964 table 25.4 */
    static const double node[4] = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363};
    static const double weight[4] = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763};
    const double radius = 0.5 * vehicle->diameter;
    for (int i = 0; i < RC_BODY_SLICES; i++) {
        const int point = i % 8;
        const double along = point < 4 ? -node[3 - point] : node[point - 4];
        const double s = 0.25 * (1.0 + along) + (i < 8 ? 0.0 : 0.5);
        const struct profile here = profile_at(vehicle, shape, s * s);
        slice[i] = (struct rc_body_slice){
            .station = vehicle->nose_length * s * s,
            .weight = vehicle->nose_length * 2.0 * s * 0.25 * weight[point < 4 ? 3 - point : point - 4],
            .radius = radius * here.radius,
            .slope = here.slope,
            .curvature = here.curvature / radius,
        };
    }
}

/* Volume of a tangent ogive over base area times length, from rho = (r^2 + l^2)/(2r) and
 * V = pi [l rho^2 - l^3/3 - (rho - r) rho^2 asin(l/rho)]. in l  length in base radii */
static double ogive_fullness(double l)
{
    const double rho = 0.5 * (1.0 + l * l);
    const double volume = l * rho * rho - l * l * l / 3.0 - (rho - 1.0) * rho * rho * asin(fmin(l / rho, 1.0));
    return volume / l;
}

double rc_body_nose_fullness(const struct rc_vehicle_design *vehicle, enum rc_nose_shape shape)
{
    switch (shape) {
    case RC_NOSE_OGIVE:
        return ogive_fullness(vehicle->nose_length / (0.5 * vehicle->diameter));
    case RC_NOSE_POWER:
        return 1.0 / (2.0 * vehicle->nose_exponent + 1.0);
    case RC_NOSE_VON_KARMAN:
        return 0.5;
    case RC_NOSE_CONE:
        break;
    }
    return 1.0 / 3.0;
}

/* Add a frustum or tube; planform_station holds the planform's moment until all are in. */
static void add_frustum(struct rc_body_measure *sum, double station, double length, double fore, double aft)
{
    sum->volume += PI / 12.0 * length * (fore * fore + fore * aft + aft * aft);
    sum->wetted += 0.5 * PI * (fore + aft) * hypot(length, 0.5 * (aft - fore));
    sum->planform += 0.5 * (fore + aft) * length;
    sum->planform_station += 0.5 * (fore + aft) * length * station + length * length / 6.0 * (fore + 2.0 * aft);
    sum->widest = fmax(sum->widest, fmax(fore, aft));
    sum->base_diameter = aft;
}

static void add_nose(struct rc_body_measure *sum, const struct rc_vehicle_design *v, enum rc_nose_shape shape)
{
    struct rc_body_slice slice[RC_BODY_SLICES];
    rc_body_nose_slices(v, shape, slice);
    sum->volume = rc_body_nose_fullness(v, shape) * 0.25 * PI * v->diameter * v->diameter * v->nose_length;
    for (int i = 0; i < RC_BODY_SLICES; i++) {
        sum->wetted += 2.0 * PI * slice[i].weight * slice[i].radius * hypot(1.0, slice[i].slope);
        sum->planform += 2.0 * slice[i].weight * slice[i].radius;
        sum->planform_station += 2.0 * slice[i].weight * slice[i].radius * slice[i].station;
    }
}

struct rc_body_measure rc_body_measure_of(const struct rc_vehicle_design *vehicle, const struct rc_layout *layout)
{
    struct rc_body_measure sum = {.base_diameter = vehicle->diameter, .widest = vehicle->diameter};
    add_nose(&sum, vehicle, layout->nose_shape);
    double end = vehicle->nose_length;
    for (int i = 0; i < layout->n_sections; i++) {
        const struct rc_body_section *const part = &vehicle->sections[i];
        add_frustum(&sum, end, fmax(part->station - end, 0.0), sum.base_diameter, sum.base_diameter);
        add_frustum(&sum, part->station, part->length, part->fore_diameter, part->aft_diameter);
        end = part->station + part->length;
    }
    add_frustum(&sum, end, fmax(vehicle->length - end, 0.0), sum.base_diameter, sum.base_diameter);
    sum.planform_station /= sum.planform;
    return sum;
}

double rc_body_radius_at(const struct rc_vehicle_design *vehicle, const struct rc_layout *layout, double station)
{
    double diameter = vehicle->diameter;
    for (int i = 0; i < layout->n_sections; i++) {
        const struct rc_body_section *const part = &vehicle->sections[i];
        const double share = fmin(fmax((station - part->station) / part->length, 0.0), 1.0);
        if (station > part->station)
            diameter = part->fore_diameter + share * (part->aft_diameter - part->fore_diameter);
    }
    return 0.5 * diameter;
}

struct rc_body_force rc_body_nose(const struct rc_vehicle_design *vehicle, enum rc_nose_shape shape)
{
    const double fullness = rc_body_nose_fullness(vehicle, shape);
    return (struct rc_body_force){.slope = 2.0, .station = vehicle->nose_length * (1.0 - fullness)};
}

struct rc_body_force rc_body_section(const struct rc_body_section *section, double diameter)
{
    const double fore = section->fore_diameter, aft = section->aft_diameter;
    /* (length aft area - volume)/(aft area - fore area), the difference divided out */
    const double share = (fore + 2.0 * aft) / (3.0 * (fore + aft));
    return (struct rc_body_force){
        .slope = 2.0 * (aft - fore) * (aft + fore) / (diameter * diameter),
        .station = section->station + section->length * share,
    };
}

/* Drag of a cylinder of finite length across the stream over that of an endless one, by length over diameter. */
static double finite_share(double fineness)
{
    static const double at[6] = {1.0, 2.0, 5.0, 10.0, 20.0, 40.0};
    static const double share[6] = {0.53, 0.57, 0.62, 0.68, 0.75, 0.82};
    const double x = fmin(fmax(fineness, at[0]), at[5]);
    int above = 1;
    while (above < 5 && at[above] < x)
        above++;
    const double weight = log(x / at[above - 1]) / log(at[above] / at[above - 1]);
    return share[above - 1] + weight * (share[above] - share[above - 1]);
}

struct rc_body_force rc_body_lift(const struct rc_body_measure *measure, const struct rc_vehicle_design *vehicle)
{
    const double reference = 0.25 * PI * vehicle->diameter * vehicle->diameter;
    const double drag = 1.2 * finite_share(vehicle->length / measure->widest);
    return (struct rc_body_force){.slope = drag * measure->planform / reference, .station = measure->planform_station};
}

struct rc_body_force rc_body_swing(const struct rc_body_measure *measure, const struct rc_vehicle_design *vehicle)
{
    const double ratio = measure->base_diameter / vehicle->diameter;
    return (struct rc_body_force){.slope = 2.0 * ratio * ratio, .station = vehicle->length};
}
