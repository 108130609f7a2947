/* Special functions that distributions and intervals need. Scalar, not for the flight's step. */
#ifndef RC_SPECIAL_H
#define RC_SPECIAL_H

/* Standard normal distribution function. source erfc of the C library; relative error below 1e-14 in the lower tail */
double rc_special_normal_cdf(double x);

/* Its inverse. in u in (0,1). source Wichura 1988, Applied Statistics 37:477, algorithm AS 241 (PPND16), about 1e-16 relative */
double rc_special_normal_quantile(double u);

/* Regularised incomplete beta function I_x(a, b). in a, b > 0; x in [0, 1].
 * source continued fraction of Didonato and Morris 1992 (TOMS 708); to 1e-13 relative for a, b up to 1e6. Beyond, the rounding of
 * x alone costs about sqrt(a + b) 1e-16. cost about sqrt(max(a, b)) terms at worst */
double rc_special_beta_cdf(double a, double b, double x);

/* x with I_x(a, b) = u. in a, b > 0; u in [0, 1]. Bracketed Newton in log x on the smaller tail,
 * to 1e-12 relative */
double rc_special_beta_quantile(double a, double b, double u);

/* 1 - I_x(a, b) without the cancellation where I is near 1. Arguments as for rc_special_beta_cdf. */
double rc_special_beta_upper(double a, double b, double x);

/* x with I_x(a, b) = u, to 1e-12 of x in both tails. For 1 - x as exactly, swap: the quantile of (b, a) at upper, u.
 * in   u, upper  in [0, 1], upper = 1 - u to its own precision */
double rc_special_beta_quantile_tails(double a, double b, double u, double upper);

#endif
