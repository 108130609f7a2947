/* A platform that its drive does not simply lead: it goes from flank to flank in the play of a gear whose output stands, starts
 * by a jump, ramps, stops by a jump and holds; or the drive has let go of it and its bearing alone moves it. Each change is at
 * its moment. Where the output goes and which lanes it is asked for is left to drives/. */
#ifndef RC_GLIDING_H
#define RC_GLIDING_H

#include "spans.h"

/* What a drive asks for in a tick or span, beside the output's course that it has noted of all lanes (rc_spans_note). */
struct rc_gliding {
    rc_lane is_strained;     /* 1 for the lanes that are asked for                                   */
    rc_lane from, until;     /* the drive lets go of the platform then and takes hold again [s]      */
    rc_lane led;             /* the output's rate at the end, where it has hold [rad/s]              */
};

/* Take the strained lanes over a tick or span, piece by piece. Rate, angle, place in the play and tallies of the motion are
 * brought to its end; other lanes keep their bits.
 * in/out platform  ran_* as noted, the rest as the tick begins
 * in     tick      one tick, or a span
 * in     gliding
 * out    track     how they went
 * cost   per piece about what a span without play takes; there are one to four of them, at most RC_SPANS_PIECES */
void rc_gliding_run(struct rc_platform_lanes *platform, const struct rc_tick *tick, const struct rc_gliding *gliding,
                    struct rc_spans_track *track);

#endif
