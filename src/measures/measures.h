/* Front header of measures: the table of outcomes, how a flight can end, and percentile-band bins.
 * Knows signals over time, not how a vehicle or a drive makes them. */
#ifndef RC_MEASURES_H
#define RC_MEASURES_H

#include <stdbool.h>
#include <stdint.h>

enum rc_measure {
#define RC_MEASURE(name, unit, reduction, needs, meaning) RC_MEASURE_##name,
#include "measures.def"
#undef RC_MEASURE
    RC_N_MEASURES
};

/* Part of a campaign without which a measure stays blank. */
enum rc_needs {
    RC_NEEDS_NOTHING = 0, /* every flight of a vehicle yields it            */
    RC_NEEDS_DESCENT,
    RC_NEEDS_BATTERY,
    RC_NEEDS_FIXED_CAMERA, /* a camera fixed to the vehicle                 */
    RC_NEEDS_FORMULA,      /* which stands in place of the vehicle          */
    RC_N_NEEDS
};

/* One row of the table of outcomes. */
struct rc_measure_row {
    const char *name;      /* key in campaigns, stores and answers */
    const char *unit;      /* as printed; "1" for a plain number    */
    const char *reduction; /* how the signal becomes one number     */
    enum rc_needs needs;   /* without it no flight yields it        */
    const char *meaning;   /* one line                              */
};

/* The row of a measure.
 * in   measure  0 .. RC_N_MEASURES-1
 * ends borrowed constant row */
const struct rc_measure_row *rc_measures_row(int measure);

/* Is it what a formula yields? The others are what a flight of a vehicle yields. */
bool rc_measures_is_formula(int measure);

/* The measure of that name, or -1. */
int rc_measures_find(const char *name);

/* How a flight ended. Only RC_END_APOGEE can meet a criterion. Values are stored: add at the end only. */
enum rc_end {
    RC_END_APOGEE = 0, /* vertical speed fell to zero in free flight                 */
    RC_END_NO_LIFTOFF, /* thrust along the rail never exceeded weight along it       */
    RC_END_ON_RAIL,    /* came to rest on the rail                                   */
    RC_END_TIME,       /* the time limit passed before apogee                        */
    RC_END_DIVERGED,   /* the state stopped being finite                             */
    RC_END_CEILING,    /* left the atmosphere model's height range                   */
    RC_N_ENDS
};

/* One line that says how such a flight ended, for people. in end any value */
const char *rc_measures_end_text(int end);

/* Signals whose percentile bands over time are kept. */
enum rc_signal {
    RC_SIGNAL_HEIGHT = 0, /* height above the pad [m]                     */
    RC_SIGNAL_MACH,       /* Mach number [1]                              */
    RC_SIGNAL_ROLL,       /* vehicle's roll rate [deg/s]                  */
    RC_SIGNAL_RESIDUAL,   /* platform's inertial roll rate [deg/s]        */
    RC_SIGNAL_DRIVE,      /* platform's rate against the vehicle [deg/s]  */
    RC_SIGNAL_ALPHA,      /* total angle of attack [deg]                  */
    RC_N_SIGNALS
};

/* Name, unit and meaning of a signal (reduction is NULL). in signal 0 .. RC_N_SIGNALS-1 */
const struct rc_measure_row *rc_measures_signal_row(int signal);

/* Bands are kept as counts in fixed bins, so that they add up to the same whatever the order of flights: each octave of
 * magnitude from 2^-7 to 2^18 has RC_BAND_SUBBINS bins, mirrored for negative values, with one bin around zero in the middle. */
enum {
    RC_BAND_SUBBINS = 32,
    RC_BAND_OCTAVES = 25,
    RC_BAND_HALF = RC_BAND_SUBBINS * RC_BAND_OCTAVES,
    RC_BAND_BINS = 2 * RC_BAND_HALF + 1,
    RC_BAND_NONE = 0xffff /* the flight had ended: no sample at this time */
};

/* The bin of a value.
 * in   value  any double; non-finite gives RC_BAND_NONE; beyond the range the outermost bin
 * ends 0 .. RC_BAND_BINS-1, or RC_BAND_NONE */
uint16_t rc_measures_bin(double value);

/* Lower edge of a bin; the upper edge is the lower edge of bin + 1.
 * in   bin  0 .. RC_BAND_BINS */
double rc_measures_bin_edge(int bin);

#endif
