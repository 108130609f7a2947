/* Nose and tube by slender-body theory, and what any component adds to the pitch damping. A straight tube adds no normal
 * force to first order; body lift at higher incidence is not here. */
#include "body.h"

#include <math.h>

/* Volume of a tangent ogive over base area times length, from rho = (r^2 + l^2)/(2r) and
 * V = pi [l rho^2 - l^3/3 - (rho - r) rho^2 asin(l/rho)]. */
static double ogive_fullness(double length, double radius)
{
    const double l = length / radius; /* in base radii */
    const double rho = 0.5 * (1.0 + l * l);
    const double volume = l * rho * rho - l * l * l / 3.0 - (rho - 1.0) * rho * rho * asin(fmin(l / rho, 1.0));
    return volume / l;
}

struct rc_body_force rc_body_nose(const struct rc_vehicle_design *vehicle, enum rc_nose_shape shape)
{
    const double fullness = shape == RC_NOSE_CONE ? 1.0 / 3.0 : ogive_fullness(vehicle->nose_length, 0.5 * vehicle->diameter);
    return (struct rc_body_force){.slope = 2.0, .station = vehicle->nose_length * (1.0 - fullness)};
}

void rc_body_damping(struct rc_body_force force, double diameter, double damp[3])
{
    const double unit = -2.0 * force.slope / (diameter * diameter);
    damp[0] += unit * force.station * force.station;
    damp[1] -= 2.0 * unit * force.station;
    damp[2] += unit;
}
