/* Which keys a campaign may hold and must hold, from the tables of quantities and settings. */
#ifndef RC_WALK_H
#define RC_WALK_H

#include "read.h"

/* Report every unknown key (with the nearest known one), doubled key, missing key, and every object or list that is none,
 * in the whole tree. What stands at the ends of the tree is left to setup.c and values.c. */
void rc_walk_keys(const struct rc_reader *reader);

#endif
