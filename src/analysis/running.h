/* Mean and squared deviations of values that come one by one. */
#ifndef RC_RUNNING_H
#define RC_RUNNING_H

/* Take one more value in.
 * in/out mean     of the values so far; 0 before the first
 * in/out squares  sum of their squared deviations from it; 0 before the first
 * in     n        how many there are with this one, at least 1
 * source Welford 1962, Technometrics 4:419 */
void rc_running_add(double *mean, double *squares, double n, double value);

#endif
