/* Supersonic linear theory solved numerically: referee for the closed-form fin estimate. */
#ifndef RC_TEST_MACH_BOX_H
#define RC_TEST_MACH_BOX_H

#include "flight/fins.h"

/* Loads of one panel on a reflection plane, over dynamic pressure. */
struct mach_box {
    double lift;    /* at unit incidence [m2]                                      */
    double first;   /* roll moment about the body's axis at unit incidence [m3]    */
    double second;  /* the same at an incidence equal to the radius [m4]           */
};

/* Moments of the load about the root's leading edge and what pitching adds, x from there; both over dynamic pressure. Rates are slow, on
 * one over the airspeed: a rate q about the root's leading edge gives the incidence q x, a growing incidence the rate a. */
struct mach_box_pitch {
    double lift, moment;             /* at unit incidence [m2], [m3]                   */
    double lift_rate, moment_rate;   /* at an incidence x, that of unit q [m3], [m4]   */
    double lift_grow, moment_grow;   /* while the incidence, now 0, grows at unit a [m3], [m4] */
};

/* The same boxes. Growing incidence by the low-frequency form of unsteady linear theory: with phi_1 and phi_x the steady potentials at unit
 * incidence and at an incidence x, its potential is M^2/beta^2 (phi_x - x phi_1), its pressure has phi_1 besides (our derivation: L[x phi] =
 * 2 beta^2 phi_x cancels the cross term 2 M^2 phi_xt; for a strip it gives the known -4/beta^3 c^2/2 of force). */
struct mach_box_pitch mach_box_pitching(const struct rc_fin_set *set, double mach, int n);

/* Solve the panel and its mirror image with n x n boxes cut along the Mach lines. Own method after Etkin's Mach boxes
 * [memory]: the potential off the planform vanishes, which gives the upwash there. The trailing edge must be unswept or swept
 * back and supersonic. cost n^3; 120 takes some milliseconds and errs by about 1 % */
struct mach_box mach_box_solve(const struct rc_fin_set *set, double mach, int n);

#endif
