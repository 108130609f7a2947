/* What bearing and gear rub. Lane functions; how a platform moves against it is left to pieces.h and swinging.c, what drives it
 * to drives/. */
#ifndef RC_BEARING_H
#define RC_BEARING_H

#include "stages.h"

/* Running friction of bearing and gear under the present load [N m]. */
RC_INLINE double rc_bearing_friction(const struct rc_platform_lanes *p, int lane)
{
    return rc_stages_friction(p, lane);
}

/* The same at a time from the tick's middle on [s]. */
RC_INLINE double rc_bearing_friction_at(const struct rc_platform_lanes *p, int lane, double since_middle)
{
    return p->friction[lane] + p->friction_per_accel[lane] * rc_lane_abs(p->load_now[lane] + since_middle * p->load_rate[lane]);
}

#endif
