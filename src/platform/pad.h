/* What the wait on the pad does to a drive that falls asleep. */
#ifndef RC_PAD_H
#define RC_PAD_H

#include "platform.h"

/* Nudges closer than this are none that a pad sees; they are refused, and a draw below it is taken as this. [s] */
#define RC_PAD_NUDGE_LEAST 0.05

/* How long the drive has been idle at lift-off: since power-on, or since the last nudge that kept it awake. Nudges come at whole
 * multiples of their interval; each works with its odds, drawn from the flight's own stream "noise/nudges". One that comes to a
 * drive already asleep is too weak to wake it.
 * ends [s], at least the drive's sleep time where it sleeps
 * cost one draw a nudge up to the one that comes too late; at odds of 0 or 1 none */
double rc_pad_idle(const struct rc_platform_setup *setup);

#endif
