/* The vehicle's aerodynamic coefficients at one Mach number: the user's tables where given, otherwise the estimate from
 * geometry. Set-up code: the step loop reads tables filled from here, and puts the flight's factors on (derive.c). */
#ifndef RC_AERO_H
#define RC_AERO_H

#include "design.h"

/* The highest Mach number for which coefficients are estimated; beyond it they are held, but for what a table gives. */
#define RC_AERO_MACH_TOP 6.0

/* Coefficients on reference area pi d^2/4, length d, rates on d/(2V), angles in radians. Plain doubles only: a column of the
 * tables over Mach is an offset. */
struct rc_aero_point {
    double ca_on, ca_off;                 /* axial force of the user's table, motor burning and coasting; 0 without [1] */
    double ca_friction;                   /* the estimate by parts, all 0 with the table: skin friction [1]           */
    double ca_base;                       /* base drag, motor off (burning: rc_drag_base_left) [1]                    */
    double ca_wave;                       /* pressure drag of nose and sections [1]                                   */
    double ca_fin;                        /* pressure drag of fins [1]                                                */
    double cn;                            /* normal-force slope, whole vehicle [1/rad]                               */
    double cn_x;                          /* the same times the station of the centre of pressure [m/rad]            */
    double damp[3];                       /* Cmq(x_cm) = damp[0] + damp[1] x_cm + damp[2] x_cm^2, x_cm in metres      */
    double cl_p;                          /* roll damping, whole vehicle, negative [1]                               */
    double cl_delta[RC_MAX_FIN_SETS];     /* roll forcing per set on its mean deflection (cant + misalignment) [1/rad] */
    double fin_slope[RC_MAX_FIN_SETS];    /* normal force of one fin on its own deflection, for the trim vector [1/rad] */
    double fin_moment[RC_MAX_FIN_SETS];   /* the same times the station of that force [m/rad]                        */
    double body_lift;                     /* cross-flow force of the body, on sin^2 of the incidence [1]              */
    double body_lift_x;                   /* the same times its station [m]                                          */
    double induced_roll;                  /* the table's roll moment of incidence, 0 without one [1]                 */
};

/* Coefficients at one Mach number. Tables are linear between knots, end values held. Sets beyond n_fin_sets stay zero.
 * A table of roll damping is the whole vehicle's; a table of roll forcing is one fin set's. A set whose root lies outside the
 * body (rc_aero_is_free_set) is taken without a body. A table of ca_off (or ca_on alone) replaces all parts of the drag, a table
 * of a part that part; a table of the normal force leaves the cross-flow force and the pitch damping as they are. Pitch damping
 * given about two stations is the parabola through both with the estimate's curvature (and its slope, where they are one).
 * in   v        geometry
 * in   layout   fin counts, nose shape, tables
 * in   mach     >= 0
 * out  out      all finite for a design that passed the campaign's checks
 * cost a few microseconds */
void rc_aero_point_at(const struct rc_vehicle_design *v, const struct rc_layout *layout, double mach, struct rc_aero_point *out);

/* Axial force of a point, all parts.
 * in   base_left  1 coasting; what a burning motor leaves of the base drag (rc_drag_base_left) */
double rc_aero_axial(const struct rc_aero_point *point, int is_burning, double base_left);

/* Does a set's root lie outside the body, on fins say? More than 5 % of the body's radius at its mid-chord counts. */
int rc_aero_is_free_set(const struct rc_vehicle_design *v, const struct rc_layout *layout, int set);

/* The highest Mach number at which a coefficient may still change: the table's last row or RC_AERO_MACH_TOP. */
double rc_aero_mach_top(const struct rc_layout *layout);

/* Mach numbers between which every coefficient may be taken as linear: the user's knots exactly, the estimate to 0.3 % for
 * usual fins (1 % at the steepest place of unswept ones of high aspect ratio); rising from 0, the last one at least mach_max.
 * in   layout    tables
 * in   mach_max  > 0
 * out  knots     (n_max); of too many only the first n_max are kept
 * in   n_max     room; the estimate alone takes fewer than 100 up to Mach 5
 * ends the number of knots */
int rc_aero_knots(const struct rc_layout *layout, double mach_max, double *knots, int n_max);

#endif
