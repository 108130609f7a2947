/* The body from geometry: its shape (areas, volume, slices for integrals), its normal force by slender-body theory, its
 * cross-flow force at incidence. Fins are in fins.h, drag in drag.h, the sum in aero.h. */
#ifndef RC_BODY_H
#define RC_BODY_H

#include "design.h"

/* One component's normal force: slope on the reference area and where it acts. */
struct rc_body_force {
    double slope;    /* [1/rad]             */
    double station;  /* from nose tip [m]   */
};

enum { RC_BODY_SLICES = 16 };

/* The nose at one station of a quadrature over its length. */
struct rc_body_slice {
    double station;    /* from nose tip [m]                        */
    double weight;     /* integral over x = sum of weight x f [m]  */
    double radius;     /* [m]                                      */
    double slope;      /* dr/dx [1]                                */
    double curvature;  /* d2r/dx2, negative where convex [1/m]     */
};

/* What the body is as a whole. */
struct rc_body_measure {
    double volume;            /* [m3]                                        */
    double wetted;            /* surface without the base [m2]               */
    double planform;          /* area seen from the side [m2]                */
    double planform_station;  /* its centroid [m]                            */
    double base_diameter;     /* [m]                                         */
    double widest;            /* greatest diameter [m]                       */
};

/* Slices of the nose, close together at the tip. Powers x^p of the station are met to 1e-6 of the integral from p = -1/2 on.
 * out  slice  (RC_BODY_SLICES) */
void rc_body_nose_slices(const struct rc_vehicle_design *vehicle, enum rc_nose_shape shape, struct rc_body_slice *slice);

/* Volume of a nose over base area times length [1].
 * source closed forms: cone 1/3, power series 1/(2n + 1), von Karman 1/2 [memory: Haack 1941], tangent ogive ours; docs/theory.md
 *        "Aerodynamics"; all tested by quadrature */
double rc_body_nose_fullness(const struct rc_vehicle_design *vehicle, enum rc_nose_shape shape);

/* Areas and volume of nose, tubes and sections. Between sections the tube keeps the aft diameter of the one before.
 * in   layout  nose shape, count of sections */
struct rc_body_measure rc_body_measure_of(const struct rc_vehicle_design *vehicle, const struct rc_layout *layout);

/* Radius of the body at a station aft of the nose; half the reference diameter on the nose [m]. */
double rc_body_radius_at(const struct rc_vehicle_design *vehicle, const struct rc_layout *layout, double station);

/* Force of the nose, the same at every Mach number: 2 per radian, at nose length minus volume over base area.
 * source MUNK1924; BARROWMAN1967 ch. 3 */
struct rc_body_force rc_body_nose(const struct rc_vehicle_design *vehicle, enum rc_nose_shape shape);

/* Force of a transition or boat-tail: 2 (aft area - fore area)/reference, negative for a boat-tail, where its volume puts it.
 * in     diameter  reference [m]
 * source MUNK1924; BARROWMAN1967 ch. 3 */
struct rc_body_force rc_body_section(const struct rc_body_section *section, double diameter);

/* Cross-flow force of the body, on sin^2(alpha) and the reference area, at the centroid of the planform: drag 1.2 of a long
 * cylinder across the stream times planform over reference area, less at both ends of a short one.
 * source ALLEN1951; share of the long cylinder's drag after HOERNER1965 ch. 3 (0.53 at one calibre, 0.75 at 20) [memory] */
struct rc_body_force rc_body_lift(const struct rc_body_measure *measure, const struct rc_vehicle_design *vehicle);

/* The force by which the body damps a slow plane swing, what growing incidence does included: all momentum given to the air
 * leaves at the base, so -2 slope (station - x)^2/d^2 about x, whatever lies ahead.
 * in   measure  of this vehicle
 * source slender-body theory with its apparent mass, BRYSON1953; docs/theory.md "Aerodynamics" */
struct rc_body_force rc_body_swing(const struct rc_body_measure *measure, const struct rc_vehicle_design *vehicle);

#endif
