/* Motion in closed form: a body whose acceleration goes as a parabola of time beside a part that decays with a motor's lag,
 * against viscous friction. Lane functions; which torques these are, and what ends a motion, is left to a servo (drives/servo.c,
 * swinging.c). */
#ifndef RC_MOTION_H
#define RC_MOTION_H

#include "numeric/lane_math.h"

/* How a body moves from a moment on: w' = now + t (slope + t bend) + lagging exp(-t/lag) - fade w. */
struct rc_motion {
    double rate;                /* at first [rad/s]                 */
    double now, slope, bend;    /* [rad/s2], [rad/s3], [rad/s4]     */
    double lagging;             /* [rad/s2]                         */
};

/* What a time makes of a rate, and of each part of the acceleration. */
struct rc_motion_terms {
    double decay;               /* left of a rate, exp(-k t) [1]                                                         */
    double q1, q2, q3, q4;      /* t phi1, t^2 phi2, t^3 phi3, t^4 phi4, phi(n) = (1/(n-1)! - phi(n-1))/(k t) [s] .. [s4] */
    double left;                /* of what lags, exp(-t/lag) [1]                                                         */
    double lagged, lagged_angle; /* what of it is in the rate [s], in the angle [s2]                                     */
};

/* Up to here series serve where differences would lose digits. */
#define RC_MOTION_CLOSE 0.1

/* (1 - exp(-y))/y for y from 0 to that. */
RC_INLINE double rc_motion_mean_decay(double y)
{
    return 1.0 - y * (1.0 / 2.0) * (1.0 - y * (1.0 / 3.0) * (1.0 - y * (1.0 / 4.0) * (1.0 - y * (1.0 / 5.0) *
        (1.0 - y * (1.0 / 6.0) * (1.0 - y * (1.0 / 7.0) * (1.0 - y * (1.0 / 8.0) * (1.0 - y * (1.0 / 9.0))))))));
}

/* What is common to two decays: integral of exp(-a (t - s)) exp(-b s) over s from 0 to t, by their exponentials or, where they
 * are close, by a series. in a, b [1/s] >= 0; exp_a, exp_b  exp(-a t), exp(-b t). ends [s] */
RC_INLINE double rc_motion_two_decays(double a, double b, double exp_a, double exp_b, double t)
{
    const double apart = rc_lane_abs(b - a), y = apart * t, is_close = y < RC_MOTION_CLOSE ? 1.0 : 0.0;
    const double near = t * rc_lane_max(exp_a, exp_b) * rc_motion_mean_decay(rc_lane_pick(is_close, y, 0.0));
    return rc_lane_pick(is_close, near, rc_lane_abs(exp_b - exp_a) / rc_lane_pick(is_close, 1.0, apart));
}

/* source the phi functions of exponential integrators: M. Hochbruck, A. Ostermann, Acta Numerica 19 (2010) 209 [memory]
 * in fade  k, of viscous friction [1/s]; lag [s], per_lag [1/s]: 0 and 0 for none; t >= 0 [s]; decay, left  as they come out */
RC_INLINE struct rc_motion_terms rc_motion_terms_by(double fade, double lag, double per_lag, double t, double decay, double left)
{
    const double x = fade * t, is_small = x < RC_MOTION_CLOSE ? 1.0 : 0.0;
    /* Downwards from a series where the differences would lose digits, else upwards. */
    const double y = rc_lane_pick(is_small, x, 0.0), per_x = 1.0 / rc_lane_pick(is_small, 1.0, x);
    const double series = 1.0 / 24.0 - y * (1.0 / 120.0 - y * (1.0 / 720.0 - y * (1.0 / 5040.0 - y * (1.0 / 40320.0 -
        y * (1.0 / 362880.0 - y * (1.0 / 3628800.0 - y * (1.0 / 39916800.0)))))));
    const double low3 = 1.0 / 6.0 - y * series, low2 = 0.5 - y * low3, low1 = 1.0 - y * low2;
    const double high1 = (1.0 - decay) * per_x, high2 = (1.0 - high1) * per_x, high3 = (0.5 - high2) * per_x;
    const double q1 = t * rc_lane_pick(is_small, low1, high1), square = t * t;
    const double lagged = rc_motion_two_decays(fade, per_lag, decay, left, t);
    return (struct rc_motion_terms){
        .decay = decay, .q1 = q1, .q2 = square * rc_lane_pick(is_small, low2, high2),
        .q3 = square * t * rc_lane_pick(is_small, low3, high3),
        .q4 = square * square * rc_lane_pick(is_small, series, (1.0 / 6.0 - high3) * per_x),
        .left = left, .lagged = lagged, .lagged_angle = lag * (q1 - lagged),
    };
}
RC_INLINE struct rc_motion_terms rc_motion_terms(double fade, double lag, double per_lag, double t)
{
    return rc_motion_terms_by(fade, lag, per_lag, t, rc_lane_exp(-fade * t), rc_lane_exp(-per_lag * t));
}

/* The rate at the terms' time [rad/s]. */
RC_INLINE double rc_motion_rate(struct rc_motion m, struct rc_motion_terms e)
{
    return m.rate * e.decay + m.now * e.q1 + m.slope * e.q2 + 2.0 * m.bend * e.q3 + m.lagging * e.lagged;
}

/* The angle turned up to then [rad]. */
RC_INLINE double rc_motion_angle(struct rc_motion m, struct rc_motion_terms e)
{
    return m.rate * e.q1 + m.now * e.q2 + m.slope * e.q3 + 2.0 * m.bend * e.q4 + m.lagging * e.lagged_angle;
}

/* A torque over a length of time: the parabola through its values in three of Gauss's points, per inertia. */
struct rc_motion_parabola {
    double now, slope, bend;   /* [rad/s2], [rad/s3], [rad/s4] */
};

/* Where these lie: in the middle, and so far to either side, as a share of the length: sqrt(3/5)/2. */
#define RC_MOTION_GAUSS 0.38729833462074168852

/* The parabola through values in these. in per_length  one over the length [1/s] */
RC_INLINE struct rc_motion_parabola rc_motion_fit(double first, double middle, double last, double per_length)
{
    const double per_arm = per_length * (1.0 / RC_MOTION_GAUSS), slope = 0.5 * (last - first) * per_arm;
    const double bend = 0.5 * ((first - middle) + (last - middle)) * per_arm * per_arm, half = 0.5 / per_length;
    return (struct rc_motion_parabola){ middle - half * (slope - half * bend), slope - 2.0 * half * bend, bend };
}

/* Sine and cosine of a small angle. in |d| < 0.7; error below d^10/3.6e6 */
RC_INLINE void rc_motion_small(double d, double *sine, double *cosine)
{
    const double z = d * d;
    *sine = d * (1.0 - z * (1.0 / 6.0) * (1.0 - z * (1.0 / 20.0) * (1.0 - z * (1.0 / 42.0) * (1.0 - z * (1.0 / 72.0)))));
    *cosine = 1.0 - z * 0.5 * (1.0 - z * (1.0 / 12.0) * (1.0 - z * (1.0 / 30.0) * (1.0 - z * (1.0 / 56.0))));
}

/* Three of something, in Gauss's points. */
struct rc_motion_three {
    double first, middle, last;
};

/* A cog's torque per inertia in a point, and how much more it would be for an angle more. */
struct rc_motion_cog {
    double value, slope;   /* [rad/s2], [1/s2] */
};

/* in sine, cosine  of the phase in the middle; beyond  the phase from there on; cogs, size  as below */
RC_INLINE struct rc_motion_cog rc_motion_cog(double sine, double cosine, double beyond, double cogs, double size)
{
    double sine_d, cosine_d;
    rc_motion_small(beyond, &sine_d, &cosine_d);
    return (struct rc_motion_cog){ -size * (sine * cosine_d + cosine * sine_d),
                                   -size * cogs * (cosine * cosine_d - sine * sine_d) };
}

/* The angle that a parabola has turned a body by a time [rad]. */
RC_INLINE double rc_motion_turned(struct rc_motion_parabola p, double t)
{
    return t * t * (0.5 * p.now + t * ((1.0 / 6.0) * p.slope + t * ((1.0 / 12.0) * p.bend)));
}

/* Cogging of a motor over a length of time in which its phase goes on by no more than RC_MOTION_PHASE and its own push turns the
 * phase by less than RC_MOTION_PUSHED: torque in Gauss's points, with what it has turned itself by then; sixth order in the
 * length.
 * in  without  angles that it would turn without it [rad]; phase  at the beginning [rad]; cogs  periods per angle [1]
 *     size     amplitude per inertia [rad/s2]; length, per_length [s], [1/s] */
#define RC_MOTION_PHASE 1.0
#define RC_MOTION_PUSHED 0.01
RC_INLINE struct rc_motion_parabola rc_motion_cogging(struct rc_motion_three without, double phase, double cogs, double size,
                                                      double length, double per_length)
{
    double sine, cosine;
    rc_lane_sincos(phase + cogs * without.middle, &sine, &cosine);
    const struct rc_motion_cog first = rc_motion_cog(sine, cosine, cogs * (without.first - without.middle), cogs, size);
    const struct rc_motion_cog last = rc_motion_cog(sine, cosine, cogs * (without.last - without.middle), cogs, size);
    const double middle = -size * sine, slope = -size * cogs * cosine, half = 0.5 * length, arm = RC_MOTION_GAUSS * length;
    const struct rc_motion_parabola p = rc_motion_fit(first.value, middle, last.value, per_length);
    return rc_motion_fit(first.value + first.slope * rc_motion_turned(p, half - arm), middle + slope * rc_motion_turned(p, half),
                         last.value + last.slope * rc_motion_turned(p, half + arm), per_length);
}

/* Sine and cosine of a cog's phase, near enough for a torque; error below 1e-9 for |x| < 1e6. Reduction by pi in two parts, then
 * Taylor polynomials on [-pi/2, pi/2], by pairs. */
RC_INLINE void rc_motion_phase(double x, double *sine, double *cosine)
{
    const double half = rc_lane_round(x * (1.0 / RC_PI));
    const double r = (x - half * 3.14159265346825122834e+00) - half * 1.21542010126079319132e-10;
    const double z = r * r, z2 = z * z, z4 = z2 * z2;
    const double s = (1.0 - z * (1.0 / 6.0)) + z2 * (1.0 / 120.0 - z * (1.0 / 5040.0)) +
                     z4 * ((1.0 / 362880.0 - z * (1.0 / 39916800.0)) + z2 * (1.0 / 6227020800.0));
    const double c = (1.0 - z * 0.5) + z2 * (1.0 / 24.0 - z * (1.0 / 720.0)) +
                     z4 * ((1.0 / 40320.0 - z * (1.0 / 3628800.0)) + z2 * (1.0 / 479001600.0 - z * (1.0 / 87178291200.0)));
    const double parity = half * 0.5 - rc_lane_round(half * 0.5); /* 0, or a half either way */
    const double sign = 1.0 - 4.0 * rc_lane_abs(parity);
    *sine = sign * (r * s);
    *cosine = sign * c;
}

/* The same by one point, for a length of time that its phase goes through in one go: mean and slope of the torque from the phase
 * in the middle and at the end, which are all that rate and angle hang on there; fourth order in the length.
 * in sine, cosine  of a phase at most RC_MOTION_BESIDE beside that in the middle
 *    beside        the middle's phase less that one
 *    passed, ahead  phase from beginning to end, and that of the middle of these less the middle's, without what the cogs turn
 *                  themselves */
#define RC_MOTION_BESIDE 0.05
RC_INLINE struct rc_motion_parabola rc_motion_cogging_at_once(double sine, double cosine, double beside, double passed,
                                                              double ahead, double cogs, double size, double length,
                                                              double per_length)
{
    const double cosine_d = 1.0 - 0.5 * beside * beside, sine_d = beside;
    const double up = size * (sine * cosine_d + cosine * sine_d), aside = size * (cosine * cosine_d - sine * sine_d);
    /* Means of cos(s passed) and, times 12 s, of sin(s passed), s from -1/2 to 1/2; what the phase curves and what the cogs turn
     * it themselves goes with it a third and a sixth. */
    const double square = passed * passed, even = 1.0 - square * (1.0 / 24.0 - square * (1.0 / 1920.0));
    const double odd = passed * (1.0 - square * (1.0 / 40.0 - square * (1.0 / 4480.0)));
    const double turn = cogs * length * length, own = turn * up;
    const double drawn = (1.0 / 24.0) * turn * size * size * passed;
    const double mean = aside * ((1.0 / 6.0) * own - (1.0 / 3.0) * ahead) - up * even - drawn;
    const double rise = aside * (0.5 * own - odd);
    return (struct rc_motion_parabola){ mean - 0.5 * rise, rise * per_length, 0.0 };
}

/* The bulge that a lag makes in a rate over a length of x lags, per size: b(s) = 1 - exp(-x s) - s (1 - exp(-x)), s from 0
 * to 1. */
struct rc_motion_bulge {
    double mean, moment, square;   /* of b, s b and b^2 [1] */
};

/* in x >= 0, decay = exp(-x) */
RC_INLINE struct rc_motion_bulge rc_motion_bulge(double x, double decay)
{
    const double is_small = x < 1e-2 ? 1.0 : 0.0, per_x = 1.0 / rc_lane_pick(is_small, 1.0, x), full = 1.0 - decay;
    const double first = 0.5 - (1.0 - decay * (1.0 + x)) * per_x * per_x; /* the mean of s (1 - exp(-x s)) */
    const double square = 1.0 - 2.0 * full * per_x + 0.5 * (1.0 - decay * decay) * per_x - 2.0 * full * first +
                          full * full * (1.0 / 3.0);
    /* A lag that is long against the length leaves a parabola. */
    const double low = x * x * (1.0 / 12.0);
    return (struct rc_motion_bulge){ rc_lane_pick(is_small, low, 1.0 - full * per_x - 0.5 * full),
                                     rc_lane_pick(is_small, 0.5 * low, first - full * (1.0 / 3.0)),
                                     rc_lane_pick(is_small, 1.2 * low * low, square) };
}

/* How far a rate is off its straight course in a piece, and the mean of that from the piece's beginning times the place. */
struct rc_motion_hump {
    double rate, travelled;   /* [rad/s] */
};

/* in place  in the piece, 0 .. 1; x  its length in lags [1]; lagging  size of the bulge that the lag makes [rad/s]
 *    bulge  mean of a parabola on top [rad/s] */
RC_INLINE struct rc_motion_hump rc_motion_hump(double place, double x, double lagging, double bulge)
{
    const double gone = 1.0 - rc_lane_exp(-x * place), full = 1.0 - rc_lane_exp(-x), half = 0.5 * place * place;
    return (struct rc_motion_hump){
        lagging * (gone - place * full) + 6.0 * bulge * place * (1.0 - place),
        lagging * ((place - gone / rc_lane_max(x, 1e-300)) - half * full) + bulge * (6.0 * half - 2.0 * place * place * place),
    };
}

#endif
