/* The right-hand side: time derivatives of the vehicle's state in all lanes. */
#ifndef RC_DERIVE_H
#define RC_DERIVE_H

#include "lanes.h"

/* Fetch the table cells of lanes that have left theirs.
 * in  height [m], mach, table_time [s]: where each lane is now */
void rc_derive_fetch_air(struct rc_block *block, const rc_lane height);
void rc_derive_fetch_coefficients(struct rc_block *block, const rc_lane mach);
void rc_derive_fetch_motor(struct rc_block *block, const rc_lane table_time);

/* The coefficients of a lane's air cell, which is made with those below it where the flight has air of its own.
 * in   cell  0 .. height.n_knots - 1
 * ends (RC_N_AIR_COEFFICIENTS), its wind of unit strength from north */
const double *rc_derive_air_cell(struct rc_block *block, int lane, int cell);

/* Derivatives of a state.
 * in   y      (RC_N_STATE) state, units as in enum rc_state
 * in   at     thrust, mass and inertias at this moment
 * out  slope  (RC_N_STATE) per second; may not overlap y
 * out  block->v.seen  airspeed, Mach number and the like
 * source docs/theory.md "Equations of motion" */
void rc_derive_state(struct rc_block *block, const rc_lane *y, const struct rc_moment_lanes *at, rc_lane *slope);

/* The same within a step: of block->v.seen only what the air alone gives, and the specific force. */
void rc_derive_slope(struct rc_block *block, const rc_lane *y, const struct rc_moment_lanes *at, rc_lane *slope);

#endif
