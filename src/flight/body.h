/* Normal force of nose and tube from geometry, by slender-body theory. Fins are in fins.h, the sum in aero.h. */
#ifndef RC_BODY_H
#define RC_BODY_H

#include "design.h"

/* One component's normal force: slope on the reference area and where it acts. */
struct rc_body_force {
    double slope;    /* [1/rad]             */
    double station;  /* from nose tip [m]   */
};

/* Force of the nose, the same at every Mach number: 2 per radian, at nose length minus volume over base area.
 * in     vehicle  diameter, nose_length
 * in     shape    cone (2/3 of the length) or tangent ogive (from its volume)
 * source MUNK1924; BARROWMAN1967 ch. 3; ogive volume: ours, docs/theory.md "Aerodynamics" */
struct rc_body_force rc_body_nose(const struct rc_vehicle_design *vehicle, enum rc_nose_shape shape);

/* Add one component to the pitch damping polynomial Cmq(x_cm) = damp[0] + damp[1] x_cm + damp[2] x_cm^2 (on q d/(2V)).
 * in     force     component; each adds -2 slope (station - x_cm)^2 / diameter^2
 * in     diameter  reference [m]
 * in/out damp      (3) [1], [1/m], [1/m2]
 * source quasi-steady component sum, e.g. BRYSON1953; docs/theory.md "Aerodynamics" */
void rc_body_damping(struct rc_body_force force, double diameter, double damp[3]);

#endif
