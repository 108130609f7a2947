/* A stepper that loses its steps, slips and catches them again, or goes from flank to flank of its gear's play, each at its
 * moment. Sees the generator's ramp and what the motor
 * can give (stepping.h); which lanes it is asked for, and what the others do, is left to drives/stepper.c. */
#ifndef RC_SLIPPING_H
#define RC_SLIPPING_H

#include "spans.h"

/* Take the strained lanes over a tick or span whose command is given: piece by piece, from one moment to the next at which the
 * motor loses or catches its steps, the platform stops, is torn loose, meets a flank or leaves it, or the generator's ramp bends.
 * Rate, angle, tallies and the generator's rate are brought to its end, and so is the mode; other lanes keep their bits.
 * in/out platform
 * in     tick         one tick, or a span
 * in     is_strained  (lanes) 1 for those
 * out    track        how they went
 * cost   per piece some three times what a span in step takes; there are one to three of them, at most RC_SPANS_PIECES */
void rc_slipping_run(struct rc_platform_lanes *platform, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                     const double *is_strained, struct rc_spans_track *track);

#endif
