/* What intervals from a mean and its spread share. */
#ifndef RC_STUDENT_H
#define RC_STUDENT_H

/* Quantile of the Student t distribution for an upper tail. in tail in (0, 0.5); freedom >= 1 */
double rc_student_quantile(double tail, double freedom);

#endif
