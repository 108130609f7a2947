/* Can the masses be so? Relations between masses, centres, inertias and the vehicle's extent. Not a front header. */
#ifndef RC_MASSES_H
#define RC_MASSES_H

#include <stdbool.h>

#include "read.h"
#include "values.h"

/* The first fault of a design's inertias: what no body of revolution of that mass, length and radius has. Every flight is held to
 * it.
 * out  path  entry to complain about; static text, untouched without a fault
 * ends what is wanted there, static text; NULL if all is well */
const char *rc_masses_fault(const struct rc_design *design, const struct rc_settings *settings, const char **path);

/* Report a middle design whose propellant cannot be: what burns, by the differences between loaded and burnt, would lie outside
 * the vehicle or have an inertia that nothing has, by more than rounded entries explain. Drawn flights are only
 * warned of: their masses and centres scatter one by one. */
void rc_masses_check_propellant(const struct rc_reader *reader, const struct rc_settings *settings,
                                const struct rc_design *middle);

/* Does what burns lie in the vehicle, to within the rounding of its centres of mass? */
bool rc_masses_is_propellant_inside(const struct rc_design *design, const struct rc_settings *settings);

#endif
