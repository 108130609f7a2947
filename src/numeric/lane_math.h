/* The transcendental functions of the step, in plain arithmetic: one source for every instruction set, since the C library's
 * scalar and vector versions differ in last bits. */
#ifndef RC_LANE_MATH_H
#define RC_LANE_MATH_H

#include "lane.h"

#define RC_PI 3.14159265358979323846
#define RC_DEGREE (RC_PI / 180.0)

/* Magnitude of x. */
RC_INLINE double rc_lane_abs(double x)
{
    return x < 0.0 ? -x : x;
}

/* The smaller of two numbers; b where either is not a number. */
RC_INLINE double rc_lane_min(double a, double b)
{
    return a < b ? a : b;
}

/* The greater of two numbers; b where either is not a number. */
RC_INLINE double rc_lane_max(double a, double b)
{
    return a > b ? a : b;
}

/* x held within [-limit, limit]. in limit >= 0 */
RC_INLINE double rc_lane_clamp(double x, double limit)
{
    return x > limit ? limit : (x < -limit ? -limit : x);
}

/* Conditions in lane loops are numbers, 1 for yes and 0 for no: the compiler vectorises selects between numbers, not between
 * truth values. */
RC_INLINE double rc_lane_pick(double flag, double yes, double no)
{
    return flag > 0.5 ? yes : no;
}

/* Is one of two conditions met? in a, b  0 or 1 */
RC_INLINE double rc_lane_either(double a, double b)
{
    return a > b ? a : b;
}

/* The nearest whole number, by adding and taking away 1.5 * 2^52. in |x| < 2^51 */
RC_INLINE double rc_lane_round(double x)
{
    const double shift = 6755399441055744.0;
    return (x + shift) - shift;
}

/* Sine and cosine of x [rad]; absolute error below 4e-16 for |x| < 1e6 (roll angles of whole flights are below 1e4).
 * Reduction by pi/2 in three parts, then Taylor polynomials on [-pi/4, pi/4], whose remainders are below 1e-17.
 * source the reduction is Cody and Waite, Software Manual for the Elementary Functions, 1980 [memory] */
RC_INLINE void rc_lane_sincos(double x, double *sine, double *cosine)
{
    const double quarter = rc_lane_round(x * (2.0 / RC_PI));
    const double r = ((x - quarter * 1.57079632673412561417e+00) - quarter * 6.07710050630396597660e-11) -
                     quarter * 2.02226624879595063154e-21;
    const double z = r * r;
    const double s =
        r + r * z *
                (-1.0 / 6.0 +
                 z * (1.0 / 120.0 +
                      z * (-1.0 / 5040.0 + z * (1.0 / 362880.0 + z * (-1.0 / 39916800.0 + z * (1.0 / 6227020800.0 +
                                                                                               z * (-1.0 / 1307674368000.0)))))));
    const double c =
        1.0 +
        z * (-0.5 + z * (1.0 / 24.0 +
                         z * (-1.0 / 720.0 +
                              z * (1.0 / 40320.0 +
                                   z * (-1.0 / 3628800.0 +
                                        z * (1.0 / 479001600.0 + z * (-1.0 / 87178291200.0 + z * (1.0 / 20922789888000.0))))))));
    /* Which quarter turn: 0, 1, 2 or 3, kept in floating point. */
    const double turn = quarter - 4.0 * rc_lane_round(quarter * 0.25 - 0.375);
    const int is_odd = (turn == 1.0) | (turn == 3.0);
    const double first = is_odd ? c : s;
    const double second = is_odd ? s : c;
    *sine = turn >= 2.0 ? -first : first;
    *cosine = ((turn == 1.0) | (turn == 2.0)) ? -second : second;
}

#endif
