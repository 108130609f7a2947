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

/* Solve the panel and its mirror image with n x n boxes cut along the Mach lines. Own method after Etkin's Mach boxes
 * [memory]: the potential off the planform vanishes, which gives the upwash there. The trailing edge must be unswept or swept
 * back and supersonic. cost n^3; 120 takes some milliseconds and errs by about 1 % */
struct mach_box mach_box_solve(const struct rc_fin_set *set, double mach, int n);

#endif
