/* Running mean and spread. What they are of is left to the callers. */
#include "running.h"

void rc_running_add(double *mean, double *squares, double n, double value)
{
    const double from_old = value - *mean;
    *mean += from_old / n;
    *squares += from_old * (value - *mean);
}
