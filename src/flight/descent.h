/* The way down: from apogee to the ground as a point mass under drogue and main, drifting with the wind. */
#ifndef RC_DESCENT_H
#define RC_DESCENT_H

#include "lanes.h"

/* Bring all lanes whose flight reached apogee down and put their landing into their records.
 * in/out block  whose ascents have ended; its vehicle lanes are used up
 * source docs/theory.md "Descent"; steady fall v = sqrt(2 m g / (rho CdS)) */
void rc_descent_fly(struct rc_block *block);

#endif
