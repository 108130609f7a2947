/* Coefficients of one trapezoidal fin set from geometry: normal force, centre of pressure, roll forcing and damping, from
 * slender-body theory bent to strip theory below Mach 1, linear theory with tip loss above, joined without a jump. */
#ifndef RC_FINS_H
#define RC_FINS_H

#include "design.h"

/* Interference between fins and a circular body, by ratio of body radius to fin tip radius. */
struct rc_fins_interference {
    double fin_incidence;   /* K_W(B): fin force in presence of the body, vehicle at incidence, over fin alone [1] */
    double body_incidence;  /* K_B(W): force carried over to the body, vehicle at incidence, over fin alone [1]     */
    double fin_cant;        /* k_W(B): fin force in presence of the body, fins canted in pairs, over fin alone [1]  */
    double body_cant;       /* k_B(W): carry-over of the same to the body [1]                                       */
};

/* Interference factors.
 * in     ratio  body radius over fin tip radius, 0 .. below 1
 * source R1307 eq. 14, 15, 19, 21: K_W(B) + K_B(W) = (1 + ratio)^2, k_B(W) = K_W(B) - k_W(B) */
struct rc_fins_interference rc_fins_interference_at(double ratio);

/* Planform integrals of one fin, chord c over radius r from the axis. */
struct rc_fins_planform {
    double area;          /* of one panel [m2]                                        */
    double aspect_ratio;  /* of the panel and its mirror image, 2 span^2 / area [1]   */
    double cos_midchord;  /* of the sweep of the half-chord line [1]                  */
    double first;         /* integral of c r dr   [m3]                                */
    double second;        /* integral of c r^2 dr [m4]                                */
    double mean_chord;    /* mean aerodynamic chord [m]                               */
    double mean_edge;     /* its leading edge, aft of the root leading edge [m]       */
    double mean_radius;   /* first / area [m]                                         */
};

/* Planform integrals.
 * source BARROWMAN1967 eq. 3-12 ff.; exact for a trapezoid */
struct rc_fins_planform rc_fins_planform_of(const struct rc_fin_set *set);

/* Slender-body roll of n equal thin fins on a circular body: L = -damping rho V s^4 p + forcing rho V^2 s^3 delta. */
struct rc_fins_slender {
    double damping;  /* C_I [1]                                                       */
    double forcing;  /* C_D [1]                                                       */
    double normal;   /* normal force with carry-over, over (n/2) single panels of the mirrored fin without body [1] */
};

/* Slender-body values for a fin count.
 * in     n      fins, 1 .. RC_MAX_FINS; the normal force of 1 or 2 fins is the mean over the roll angle
 * in     ratio  body radius over fin tip radius, 0 .. below 1
 * source conformal map of a star of n fins on a circle, docs/theory.md "Aerodynamics"; planar and cruciform: R1088, TN2270;
 *        roll values interpolated from a table of that map, within 0.1 % for ratio >= 0.1 */
struct rc_fins_slender rc_fins_slender_at(int n, double ratio);

/* All coefficients of a set at one Mach number. Reference area pi d^2/4, length d, rates on d/(2V), per radian. */
struct rc_fins_coefficients {
    double slope_one;  /* one fin alone (half of it and its mirror image) on its own incidence   */
    double normal;     /* the set at incidence, carry-over to the body included                  */
    double station;    /* where the set's normal force acts, from nose tip [m]                   */
    double swing[2];   /* in a slow plane swing it has two such stations, where it meets the motion and where it acts: product
                        * [m2] and sum [m]                                                       */
    double own;        /* normal force of one fin with carry-over on its own deflection          */
    double cl_delta;   /* roll forcing on the set's mean deflection                              */
    double cl_p;       /* roll damping, negative                                                 */
};

/* Coefficients of a set.
 * in     set       geometry; span > 0, root_chord > 0
 * in     n         fins, 1 .. RC_MAX_FINS
 * in     diameter  reference [m]
 * in     mach      >= 0
 * source DIEDERICH1951, R1307, BARROWMAN1967, HARMON1949, EVVARD1950; swing: slender-body and thin-airfoil theory;
 *        joining through Mach 1 is ours, docs/theory.md "Aerodynamics"
 * cost   some microseconds */
struct rc_fins_coefficients rc_fins_coefficients_at(const struct rc_fin_set *set, int n, double diameter, double mach);

/* Coefficients of a set that stands on fins or on anything else than the body: each panel on its own before a reflection plane
 * at its root, no carry-over, no crowding. Roll moments by the strip's share of the panel's lift.
 * in     as rc_fins_coefficients_at
 * source the panel's lift as in rc_fins_coefficients_at; strip theory for the moments; the wake of what carries it is left out */
struct rc_fins_coefficients rc_fins_free_at(const struct rc_fin_set *set, int n, double diameter, double mach);

#endif
