/* How single steps swing a stepper's platform about its mean motion, in the steady state at a step rate; what it does to footage
 * is left to stages.h. On each microstep s the platform hangs by the spring of the holding torque: a step kicks its rate by
 * s w0^2 t, and it rings with its damping until long after the next. */
#ifndef RC_RIPPLE_H
#define RC_RIPPLE_H

#include "stepping.h"

/* Steps that follow each other within so many radians of the swing; slower ones have died out whatever the damping. */
static const double slowest_phase = 1e5;

/* What stays the same during a stretch. */
struct rc_ripple_swing {
    rc_lane full, per_full; /* rate of one undamped step's ring, s w0 [rad/s], and one over it [s/rad] */
};
RC_INLINE void rc_ripple_find_swing(const struct rc_platform_lanes *p, struct rc_ripple_swing *swing)
{
    const struct rc_stepper_lanes *const s = &p->stepper;
    RC_FOR_LANES(lane)
    {
        const double electrical = s->steps_per_angle[lane] * (0.5 * RC_PI);
        const double natural = __builtin_sqrt(electrical * s->holding[lane] * p->per_own_inertia[lane]);
        swing->full[lane] = s->microstep[lane] * natural;
        swing->per_full[lane] = 1.0 / swing->full[lane];
    }
}

/* What a decay leaves, exp(-x): the 32nd power of Taylor's polynomial; off by at most 2e-10, and beyond x = 20 what it is there.
 * in x >= 0 */
RC_INLINE double rc_ripple_left(double x)
{
    const double y = rc_lane_min(x, 20.0) * (-1.0 / 32.0), y2 = y * y;
    const double late = (1.0 / 24.0 + y * (1.0 / 120.0)) + y2 * (1.0 / 720.0);
    const double series = (1.0 + y) + y2 * ((0.5 + y * (1.0 / 6.0)) + y2 * late);
    const double p2 = series * series, p4 = p2 * p2, p8 = p4 * p4, p16 = p8 * p8;
    return p16 * p16;
}

/* Sine and cosine of half an angle, but for a sign that both share: what is asked for are their products. By Taylor's
 * polynomials, off by at most 6e-8, at a small angle by far less. in 0 <= angle <= 1e5 [rad] */
RC_INLINE void rc_ripple_half(double angle, double *sine, double *cosine)
{
    const double turns = rc_lane_round(angle * (0.5 / RC_PI));
    const double h = (0.5 * angle - turns * 3.14159265346825122834e+00) - turns * 1.21542010126079319132e-10;
    const double z = h * h, z2 = z * z, z4 = z2 * z2;
    *sine = h * ((1.0 - z * (1.0 / 6.0)) + z2 * (1.0 / 120.0 - z * (1.0 / 5040.0)) +
                 z4 * (1.0 / 362880.0 - z * (1.0 / 39916800.0)));
    *cosine = (1.0 - z * 0.5) + z2 * (1.0 / 24.0 - z * (1.0 / 720.0)) +
              z4 * ((1.0 / 40320.0 - z * (1.0 / 3628800.0)) + z2 * (1.0 / 479001600.0));
}

/* A ring of unit steps with w0 = 1, kick upon kick. Each is z = exp((-zeta + i sqrt(1 - zeta^2)) phase) of the one before, so
 * that they add up to 1/(1 - z): from step to step the rate is Im of a decaying spiral that begins with that number. */
struct rc_ripple_ring {
    rc_lane per_phase;     /* one over the phase w0 T, T the time from step to step [1/rad]   */
    rc_lane turn;          /* of the damped swing from step to step [rad]                     */
    rc_lane left, across;  /* of z: its size, Im                                              */
    rc_lane size;          /* of 1/(1 - z)                                                    */
    rc_lane to_crest;      /* angle from the step to the first crest of the rate [rad]        */
};
RC_INLINE void rc_ripple_find_ring(const struct rc_stepper_lanes *s, const double *pace, const double *per_full,
                                   struct rc_ripple_ring *ring)
{
    RC_FOR_LANES(lane)
    {
        ring->per_phase[lane] = rc_lane_max(rc_lane_abs(pace[lane]) * per_full[lane], 1.0 / slowest_phase);
        ring->turn[lane] = s->swing_share[lane] / ring->per_phase[lane];
    }
    rc_lane faded, along;
    RC_FOR_LANES(lane)
    {
        const double turn = ring->turn[lane], left = rc_ripple_left(s->wear[lane] * turn);
        double sine, cosine; /* of half the angle, but for their common sign */
        rc_ripple_half(turn, &sine, &cosine);
        const double rest = 1.0 - left, bow = 2.0 * left * sine;
        ring->left[lane] = left;
        ring->across[lane] = bow * cosine;
        along[lane] = rest + bow * sine;
        faded[lane] = rest * rest + 2.0 * bow * sine;
    }
    /* The angle's tangent is (along - wear across)/(across + wear along); that of its half, from 0 to 1, by Lambert's continued
     * fraction to its eighth term: relative error below 2e-6 there, below 1e-12 at 0.3. All of it with one division.
     * source M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 4.4.43 [memory] */
    RC_FOR_LANES(lane)
    {
        const double wear = s->wear[lane], across = ring->across[lane], far = __builtin_sqrt(faded[lane]);
        const double beside = across + wear * along[lane], a = along[lane] - wear * across;
        const double b = rc_lane_abs(beside) + far * s->per_swing_share[lane], aa = a * a, bb = b * b, a4 = aa * aa, b4 = bb * bb;
        const double above = (225225.0 * bb + 345345.0 * aa) * b4 + (147455.0 * bb + 15159.0 * aa) * a4;
        const double below = ((225225.0 * bb + 420420.0 * aa) * b4 + (242550.0 * bb + 44100.0 * aa) * a4) * bb +
                             1225.0 * (a4 * a4);
        const double per_both = 1.0 / (far * below), angle = 2.0 * (a * b) * above * (far * per_both);
        ring->size[lane] = below * per_both;
        ring->to_crest[lane] = beside < 0.0 ? RC_PI - angle : angle;
    }
}

/* The swing in a span, looked at as it begins: that of the rate its ramp ends with, if the platform is led; none where it comes
 * to rest. Of the rate the first crest is the greatest; the least is the step itself, where it has a corner, or the first trough.
 * So half its peak-to-peak and its mean square are exact. The angle goes furthest in a swing that begins with a step, in one that
 * has a step in its middle, or, with quick steps, from corner to corner of the rate: the greatest of the three, 0.97 to 1.03 of
 * what it does up to a tenth of critical damping, 0.9 to 1.01 up to half of it.
 * in   span  all of it, wherever a stretch ends inside
 * out  p->ripple, p->ripple_square, p->ripple_sway */
RC_INLINE void rc_ripple_find(struct rc_platform_lanes *p, const struct rc_ripple_swing *swing, const struct rc_tick *span)
{
    const struct rc_stepper_lanes *const s = &p->stepper;
    struct rc_ripple_ring ring;
    rc_lane pace;
    RC_FOR_LANES(lane)
    pace[lane] = rc_stepping_ramp(p, lane, span).end;
    rc_ripple_find_ring(s, pace, swing->per_full, &ring);
    rc_lane crests, rates;
    RC_FOR_LANES(lane)
    {
        const double size = ring.size[lane], to_crest = ring.to_crest[lane];
        const double crest = size * rc_ripple_left(s->wear[lane] * to_crest);
        const double corner = ring.across[lane] * size * size * s->per_swing_share[lane];
        const double trough = to_crest + RC_PI < ring.turn[lane] ? -crest * s->half_left[lane] : corner;
        crests[lane] = crest;
        rates[lane] = rc_lane_max(0.5 * (crest - rc_lane_min(corner, trough)), 0.0);
    }
    RC_FOR_LANES(lane)
    {
        const double turn = ring.turn[lane], per_phase = ring.per_phase[lane], per_turn = s->per_swing_share[lane] * per_phase;
        const double left = ring.left[lane], half = s->half_left[lane], wear = s->wear[lane], rate = rates[lane];
        const double square = 0.25 * per_turn * ring.size[lane] * ring.size[lane] *
                              ((1.0 - left * left) * s->per_wear[lane] + 2.0 * ring.across[lane]) - per_phase * per_phase;
        const double reach = crests[lane] * s->per_crest_left[lane], mean = RC_PI * per_turn;
        const double whole = rc_lane_round((turn + s->crest_angle[lane] - ring.to_crest[lane]) * (0.5 / RC_PI) - 0.5);
        const double first = reach * (1.0 + half) - mean;
        const double x = wear * (turn - 2.0 * RC_PI * whole), before = left * (1.0 + x * (1.0 + x * (0.5 + x * (1.0 / 6.0))));
        const double over = reach * (half + before) + (2.0 * whole - 1.0) * mean;
        const double quick = rc_lane_min(turn * s->per_swing_share[lane] * (0.5 / RC_PI), 1.0);
        const double bent = 2.0 * rate * quick * (0.81 + 0.19 * quick * quick);
        const double full = swing->full[lane];
        const double in_step = ((p->mode[lane] != RC_DRIVE_SLIPPING) & (p->mode[lane] != RC_DRIVE_ASLEEP)) ? 1.0 : 0.0;
        const double is_on = pace[lane] != 0.0 ? in_step : 0.0;
        p->ripple[lane] = rc_lane_pick(is_on, full * rate, 0.0);
        p->ripple_square[lane] = rc_lane_pick(is_on, full * full * rc_lane_max(square, 0.0), 0.0);
        p->ripple_sway[lane] = rc_lane_pick(is_on, s->microstep[lane] * rc_lane_max(bent, rc_lane_max(first, over)), 0.0);
    }
}

/* That span is over: what has lost its steps in it is on none that could swing it; what is in step counts. */
RC_INLINE void rc_ripple_settle(struct rc_platform_lanes *p)
{
    RC_FOR_LANES(lane)
    {
        const double slips = p->mode[lane] == RC_DRIVE_SLIPPING ? 1.0 : 0.0;
        p->ripple[lane] = rc_lane_pick(slips, 0.0, p->ripple[lane]);
        p->ripple_sway[lane] = rc_lane_pick(slips, 0.0, p->ripple_sway[lane]);
        p->tally.ripple_peak[lane] = rc_lane_max(p->tally.ripple_peak[lane], p->ripple[lane]);
    }
}

#endif
