/* The transcendental functions of the step, in plain arithmetic: one source for every instruction set, since the C library's
 * scalar and vector versions differ in last bits. */
#ifndef RC_LANE_MATH_H
#define RC_LANE_MATH_H

#include <stdint.h>
#include <string.h>

#include "lane.h"

#define RC_PI 3.14159265358979323846
#define RC_DEGREE (RC_PI / 180.0)

/* Magnitude of x. */
RC_INLINE double rc_lane_abs(double x)
{
    return __builtin_fabs(x);
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

/* x held within [-limit, limit]; x where it is not a number. in limit >= 0 */
RC_INLINE double rc_lane_clamp(double x, double limit)
{
    return rc_lane_min(limit, rc_lane_max(-limit, x));
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

/* -1 where x is below zero, 1 where above, 0 at zero. */
RC_INLINE double rc_lane_sense(double x)
{
    return x != 0.0 ? __builtin_copysign(1.0, x) : 0.0;
}

/* The nearest whole number, by adding and taking away 1.5 * 2^52. in |x| < 2^51 */
RC_INLINE double rc_lane_round(double x)
{
    const double shift = 6755399441055744.0;
    return (x + shift) - shift;
}

/* e to the power x; relative error below 4e-16. in -700 <= x <= 700; below it is held at e^-700
 * Reduction by ln 2 in two parts, Taylor polynomial on [-ln 2/2, ln 2/2] with remainder below 1e-17. */
RC_INLINE double rc_lane_exp(double x)
{
    const double held = x < -700.0 ? -700.0 : x;
    const double k = rc_lane_round(held * 1.44269504088896340736);
    const double r = (held - k * 6.93147180369123816490e-01) - k * 1.90821492927058770002e-10;
    const double series = 1.0 + r * (1.0 + r * (1.0 / 2.0 + r * (1.0 / 6.0 + r * (1.0 / 24.0 + r * (1.0 / 120.0 +
        r * (1.0 / 720.0 + r * (1.0 / 5040.0 + r * (1.0 / 40320.0 + r * (1.0 / 362880.0 + r * (1.0 / 3628800.0 +
        r * (1.0 / 39916800.0 + r * (1.0 / 479001600.0 + r * (1.0 / 6227020800.0)))))))))))));
    /* 2^k by writing k + 1023 into the exponent: the low bits of a double beyond 2^52 are its integer part. */
    const double biased = k + (1023.0 + 4503599627370496.0);
    uint64_t bits;
    memcpy(&bits, &biased, sizeof bits);
    bits <<= 52;
    double power;
    memcpy(&power, &bits, sizeof power);
    return series * power;
}

/* Natural logarithm of x; error below 4e-16 of the greater of 1 and its size. in x > 0, not denormal
 * The exponent apart, the rest by the series of the inverse hyperbolic tangent on [1/sqrt 2, sqrt 2], whose remainder is below
 * 1e-16. */
RC_INLINE double rc_lane_log(double x)
{
    uint64_t bits;
    memcpy(&bits, &x, sizeof bits);
    /* As if from 1/sqrt 2 on the next power of two began. */
    const uint64_t shifted = bits + (0x3ff0000000000000U - 0x3fe6a09e667f3bcdU);
    const uint64_t mantissa = (shifted & 0x000fffffffffffffU) + 0x3fe6a09e667f3bcdU;
    const uint64_t power = (shifted >> 52) | 0x4330000000000000U;
    double m, k;
    memcpy(&m, &mantissa, sizeof m);
    memcpy(&k, &power, sizeof k);
    k -= 4503599627370496.0 + 1023.0;
    const double s = (m - 1.0) / (m + 1.0), z = s * s;
    const double series = z * (1.0 / 3.0 + z * (1.0 / 5.0 + z * (1.0 / 7.0 + z * (1.0 / 9.0 + z * (1.0 / 11.0 +
        z * (1.0 / 13.0 + z * (1.0 / 15.0 + z * (1.0 / 17.0 + z * (1.0 / 19.0)))))))));
    return k * 6.93147180369123816490e-01 + (2.0 * (s + s * series) + k * 1.90821492927058770002e-10);
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

/* Sine of x alone [rad], at half the cost; absolute error below 6e-16 for |x| < 1e6. Reduction by pi in three parts, then the
 * Taylor polynomial on [-pi/2, pi/2], whose remainder is below 3e-16. */
RC_INLINE double rc_lane_sine(double x)
{
    const double half = rc_lane_round(x * (1.0 / RC_PI));
    const double r = ((x - half * 3.14159265346825122834e+00) - half * 1.21542010126079319132e-10) -
                     half * 4.04453249759190126308e-21;
    const double z = r * r, z2 = z * z, z4 = z2 * z2;
    /* By pairs: a shorter chain than one term after the other. */
    const double low = (-1.0 / 6.0 + z * (1.0 / 120.0)) + z2 * (-1.0 / 5040.0 + z * (1.0 / 362880.0));
    const double high = (-1.0 / 39916800.0 + z * (1.0 / 6227020800.0)) +
                        z2 * (-1.0 / 1307674368000.0 + z * (1.0 / 355687428096000.0));
    const double s = r + r * z * (low + z4 * (high - z4 * (1.0 / 121645100408832000.0)));
    const double parity = half * 0.5 - rc_lane_round(half * 0.5); /* 0, or a half either way */
    return rc_lane_abs(parity) > 0.25 ? -s : s;
}

#endif
