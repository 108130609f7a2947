/* Quantities for tests of sampling, made in one line. */
#ifndef RC_TEST_SAMPLING_CASE_H
#define RC_TEST_SAMPLING_CASE_H

#include "sampling/sampling.h"

/* A quantity of two parameters with a wide allowed range. A kind that does not exist fails the test. */
struct rc_uncertain sampling_quantity(const char *path, const char *kind, double first, double second);

/* n quantities "x[0]", "x[1]", ..., uniform between 0 and 1. out quantity (n) */
void sampling_unit_cube(struct rc_uncertain *quantity, int n);

#endif
