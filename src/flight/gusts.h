/* Continuous gusts with Dryden spectra, each flight with its own. */
#ifndef RC_GUSTS_H
#define RC_GUSTS_H

#include "lanes.h"

/* Gusts are made this far apart and straight in between, whatever the step: so they are the same when steps are halved. */
#define RC_GUST_INTERVAL 0.05 /* [s] */
#define RC_GUST_FOOT 0.3048   /* [m] */

/* Scale lengths and intensities of gusts at a height.
 * source MIL-F-8785C low-altitude model and 1750 ft above 2000 ft, straight in between (tests/reference/dryden_check.csv) */
struct rc_gust_scale {
    double vertical_length;    /* [m]                                     */
    double horizontal_length;  /* [m]                                     */
    double ratio;              /* horizontal over vertical intensity      */
    double low_weight;         /* 1 near the ground, 0 from 2000 ft up    */
};

/* in  height  above the ground [m]; below 10 ft the values there are held */
struct rc_gust_scale rc_gusts_scale(double height);

/* Start every lane's gusts in their steady statistics, and make the first change.
 * in  flights  (n) numbers: keys of the streams */
void rc_gusts_begin(struct rc_block *block, uint64_t seed, const uint64_t *flights, int n);

/* At a gust time: where the air has got to, and how it changes until the next. Otherwise nothing. To be called after
 * rc_advance_look: the airspeed and the air of the moment are those it saw, whatever company the flight keeps. */
void rc_gusts_advance(struct rc_block *block);

#endif
