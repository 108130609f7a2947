/* Looking at a flight without changing it: peaks, percentile-band samples, the finished record, single moments. */
#ifndef RC_OBSERVE_H
#define RC_OBSERVE_H

#include "lanes.h"

/* Take the peaks of all lanes at the start of a step, from what rc_advance_look saw. */
void rc_observe_peaks(struct rc_block *block);

/* Put the signals of all live lanes at band time `index` into their records' bins. */
void rc_observe_bands(struct rc_block *block, int index);

/* Finish a lane's record.
 * in   end   how the flight ended
 * in   time  since lift-off [s], height above the pad [m] and roll rate [rad/s] at its end */
void rc_observe_finish(struct rc_block *block, int lane, enum rc_end end, double time, double height, double roll_rate);

/* The moment of lane 0 after `tick` ticks of the step just taken. in tick 0 .. step_ticks */
void rc_observe_moment(const struct rc_block *block, int tick, struct rc_moment *moment);

#endif
