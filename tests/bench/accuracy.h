/* How exact a build's flights are against a converged reference. */
#ifndef RC_ACCURACY_H
#define RC_ACCURACY_H

#include "flier.h"

/* What a build must reach to count as equally exact. */
#define ACCURACY_APOGEE 0.020  /* greatest error of apogee [m]                     */
#define ACCURACY_HELD 0.001    /* median error of the held fraction: in a few flights a threshold of the drive flips [1] */

enum { ACCURACY_FLIGHTS = 64 };

/* Errors over ACCURACY_FLIGHTS flights. */
struct accuracy {
    double apogee;       /* greatest [m]                                          */
    double held_mean;    /* of the mean held fraction over the flights [1]          */
    double held_median;  /* median over flights [1]                               */
    double held_worst;   /* greatest [1]                                          */
};

/* Compare flights with the reference's. in rows, reference (ACCURACY_FLIGHTS x FLIER_COLUMNS) */
struct accuracy accuracy_of(const double *rows, const double *reference);

/* Does it count as equally exact? in apogee  greatest error allowed [m] */
int accuracy_is_reached(const struct accuracy *accuracy, double apogee);

#endif
