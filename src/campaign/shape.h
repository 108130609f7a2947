/* Can the vehicle be built so? Relations between the lengths of body, sections and fins. Not a front header. */
#ifndef RC_SHAPE_H
#define RC_SHAPE_H

#include "settings.h"

/* The first fault of a design's shape: sections out of order, off the vehicle or with a step in diameter; fins off the body,
 * beyond its end, or thicker than half their chord; a nozzle larger than the base or off the
 * vehicle; a thrust line or a centre of mass beside it.
 * out  path  entry to complain about; static text, untouched without a fault
 * ends what is wanted there, static text; NULL if all is well */
const char *rc_shape_fault(const struct rc_design *design, const struct rc_settings *settings, const char **path);

#endif
