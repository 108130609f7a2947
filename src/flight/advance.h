/* One step of the vehicle: Runge-Kutta of fourth order with the exact impulse of the thrust table, the way off the rail
 * included. */
#ifndef RC_ADVANCE_H
#define RC_ADVANCE_H

#include "lanes.h"

/* Set `now` to the moment of lift-off. */
void rc_advance_begin(struct rc_block *block);

/* First half of a step: the slope at the state now and what the right-hand side saw there.
 * out  block->v.k[0], block->v.seen */
void rc_advance_look(struct rc_block *block);

/* Take the step of block->step seconds that rc_advance_look began; lanes that reach the end of the rail on the way are set free
 * there. Leaves the vehicle's roll rate over the step in block->p.roll and the axial load in block->p.load and load_change.
 * out  block->v.y, start, k, is_free, rail_exit */
void rc_advance_step(struct rc_block *block);

/* Value of a state component inside the step just taken.
 * in   theta  0 at its start, 1 at its end
 * source dense output of third order of the classical Runge-Kutta method; Hairer, Norsett, Wanner, Solving Ordinary
 *       Differential Equations I, II.6 [memory] */
double rc_advance_inside(const struct rc_block *block, int state, int lane, double theta);

#endif
