/* Errors of flights, counted from a reference. */
#include "accuracy.h"

#include <math.h>
#include <stdlib.h>

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

struct accuracy accuracy_of(const double *rows, const double *reference)
{
    struct accuracy accuracy = {0.0, 0.0, 0.0, 0.0};
    double held[ACCURACY_FLIGHTS];
    for (int flight = 0; flight < ACCURACY_FLIGHTS; flight++) {
        const double *const row = rows + flight * FLIER_COLUMNS, *const exact = reference + flight * FLIER_COLUMNS;
        const double difference = row[RC_MEASURE_held_fraction] - exact[RC_MEASURE_held_fraction];
        accuracy.apogee = fmax(accuracy.apogee, fabs(row[RC_MEASURE_apogee_m] - exact[RC_MEASURE_apogee_m]));
        accuracy.held_mean += difference / ACCURACY_FLIGHTS;
        held[flight] = fabs(difference);
    }
    accuracy.held_mean = fabs(accuracy.held_mean);
    qsort(held, ACCURACY_FLIGHTS, sizeof held[0], rising);
    accuracy.held_median = 0.5 * (held[ACCURACY_FLIGHTS / 2 - 1] + held[ACCURACY_FLIGHTS / 2]);
    accuracy.held_worst = held[ACCURACY_FLIGHTS - 1];
    return accuracy;
}

int accuracy_is_reached(const struct accuracy *accuracy, double apogee)
{
    return accuracy->apogee <= apogee && accuracy->held_median <= ACCURACY_HELD;
}
