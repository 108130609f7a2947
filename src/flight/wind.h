/* Mean wind over height: a power law or a measured table. Gusts are not made here. */
#ifndef RC_WIND_H
#define RC_WIND_H

#include "design.h"

/* Velocity of the air at heights above the pad. Without a table: speed (z/reference_height)^exponent, zero on the ground and
 * below. With a table: its rows times wind->speed, turned by wind->from, the components linear between rows, end rows held.
 * in   wind    a wind from the north (from = 0) moves the air to the south
 * in   layout  only layout->wind is read
 * in   height  above the pad [m]  (n), any order
 * in   n       0 .. any
 * out  east, north  [m/s]  (n) each
 * source power law: common practice (1/7 in open country); see docs/theory.md "Wind" */
void rc_wind_profile(const struct rc_wind_design *wind, const struct rc_layout *layout, const double *height, int n,
                     double *east, double *north);

#endif
