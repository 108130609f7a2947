/* The table of outcomes and the bins of percentile bands. */
#include "measures.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

static const struct rc_measure_row measure_rows[RC_N_MEASURES] = {
#define RC_MEASURE(name, unit, reduction, needs, meaning) { #name, unit, reduction, RC_NEEDS_##needs, meaning },
#include "measures.def"
#undef RC_MEASURE
};

static const struct rc_measure_row signal_rows[RC_N_SIGNALS] = {
    [RC_SIGNAL_HEIGHT] = { "height", "m", NULL, RC_NEEDS_NOTHING, "height above the pad" },
    [RC_SIGNAL_MACH] = { "mach", "1", NULL, RC_NEEDS_NOTHING, "Mach number" },
    [RC_SIGNAL_ROLL] = { "roll_rate", "deg/s", NULL, RC_NEEDS_NOTHING, "vehicle's roll rate" },
    [RC_SIGNAL_RESIDUAL] = { "residual_rate", "deg/s", NULL, RC_NEEDS_NOTHING, "platform's inertial roll rate" },
    [RC_SIGNAL_DRIVE] = { "drive_rate", "deg/s", NULL, RC_NEEDS_NOTHING, "platform's rate against the vehicle" },
    [RC_SIGNAL_ALPHA] = { "angle_of_attack", "deg", NULL, RC_NEEDS_NOTHING, "total angle of attack" },
};

static const char *const end_texts[RC_N_ENDS] = {
    [RC_END_APOGEE] = "reached apogee",
    [RC_END_NO_LIFTOFF] = "never lifted off: thrust along the rail stays below weight along it",
    [RC_END_ON_RAIL] = "came to rest on the rail",
    [RC_END_TIME] = "had not reached apogee at the time limit",
    [RC_END_DIVERGED] = "could not be computed to the end (state not finite)",
    [RC_END_CEILING] = "left the modelled atmosphere (86 km)",
};

const struct rc_measure_row *rc_measures_row(int measure)
{
    return &measure_rows[measure];
}

bool rc_measures_is_formula(int measure)
{
    return measure_rows[measure].needs == RC_NEEDS_FORMULA;
}

int rc_measures_find(const char *name)
{
    for (int measure = 0; measure < RC_N_MEASURES; measure++)
        if (strcmp(name, measure_rows[measure].name) == 0)
            return measure;
    return -1;
}

const char *rc_measures_end_text(int end)
{
    return end >= 0 && end < RC_N_ENDS ? end_texts[end] : "ended in an unknown way";
}

const struct rc_measure_row *rc_measures_signal_row(int signal)
{
    return &signal_rows[signal];
}

enum { LEAST_EXPONENT = -7 };

uint16_t rc_measures_bin(double value)
{
    if (!isfinite(value))
        return RC_BAND_NONE;
    int exponent = 0;
    const double fraction = frexp(fabs(value), &exponent); /* in [0.5, 1), value = fraction 2^exponent */
    const int octave = exponent - 1 - LEAST_EXPONENT;
    if (value == 0.0 || octave < 0)
        return RC_BAND_HALF;
    const int sub = (int)((fraction - 0.5) * (2.0 * RC_BAND_SUBBINS));
    const int step = octave >= RC_BAND_OCTAVES ? RC_BAND_HALF : octave * RC_BAND_SUBBINS + sub + 1;
    return (uint16_t)(value > 0.0 ? RC_BAND_HALF + step : RC_BAND_HALF - step);
}

/* Lower limit of the magnitude that is `step` bins away from the middle one, 1 .. RC_BAND_HALF + 1. */
static double magnitude_edge(int step)
{
    const int octave = (step - 1) / RC_BAND_SUBBINS;
    const int sub = (step - 1) % RC_BAND_SUBBINS;
    return ldexp(1.0 + sub / (double)RC_BAND_SUBBINS, octave + LEAST_EXPONENT);
}

double rc_measures_bin_edge(int bin)
{
    return bin > RC_BAND_HALF ? magnitude_edge(bin - RC_BAND_HALF) : -magnitude_edge(RC_BAND_HALF - bin + 1);
}
