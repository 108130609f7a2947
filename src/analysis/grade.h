/* Values to their place among others: a grade between 0 and 1. */
#ifndef RC_GRADE_H
#define RC_GRADE_H

#include "base/base.h"

/* Sorted knots of a column. Zero-initialise; rc_grade_free when done. */
struct rc_grade {
    int n;
    double *knot;  /* (n) rising */
};

/* Take the knots from a sample.
 * in   values  (n), at least one finite; those that are not are left out
 * in   most    keep at most this many, evenly spaced in rank
 * ends RC_NO_MEMORY */
rc_status rc_grade_make(struct rc_grade *grade, const double *values, int n, int most, struct rc_error *err) RC_MUST_CHECK;

/* Release the knots. */
void rc_grade_free(struct rc_grade *grade);

/* The grade of a value: its mid-rank among the knots over their number, in between for values between knots. */
double rc_grade_of(const struct rc_grade *grade, double value);

#endif
