/* Peaks of a bent course: where its slope passes zero, by a bracketing secant. */
#include "bent.h"

#include "bracket.h"

/* A lane's piece. */
RC_INLINE struct rc_bent_piece bend_of(const struct rc_bent_crests *c, int lane)
{
    return (struct rc_bent_piece){ 0.0, c->start[lane], c->end[lane], c->lagging[lane], c->lags[lane], c->left[lane],
                                   c->bulge[lane] };
}

RC_KERNEL void rc_bent_crest(struct rc_tally *tally, const struct rc_bent_crests *crests)
{
    struct rc_bracket b;
    rc_lane rises;
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const struct rc_bent_piece bend = bend_of(crests, lane);
        const double first = rc_bent_slope(bend, 0.0, 1.0), last = rc_bent_slope(bend, 1.0, bend.left);
        const double is_wanted = first * last < 0.0 ? crests->is_wanted[lane] : 0.0;
        rises[lane] = rc_lane_sense(first);
        rc_bracket_open(&b, lane, is_wanted, 0.0, 1.0, -rc_lane_abs(first), rc_lane_abs(last));
        n += is_wanted;
    }
    if (!(n > 0.0))
        return;
    for (int i = 0; i < RC_BRACKET_STEPS && n > 0.0; i++) {
        n = 0.0;
#pragma omp simd reduction(+ : n)
        for (int lane = 0; lane < RC_LANES; lane++) {
            const struct rc_bent_piece bend = bend_of(crests, lane);
            const double place = rc_bracket_try(&b, lane, i), left = rc_lane_exp(-bend.lags * place);
            n += rc_bracket_narrow(&b, lane, place, -rises[lane] * rc_bent_slope(bend, place, left));
        }
    }
    RC_FOR_LANES(lane)
    {
        const struct rc_bent_piece bend = bend_of(crests, lane);
        const double place = b.after[lane], off = rc_motion_hump(place, bend.lags, bend.lagging, bend.bulge).rate;
        const double rate = rc_lane_abs(bend.start + place * (bend.end - bend.start) + off);
        tally->residual_peak[lane] =
            rc_lane_max(tally->residual_peak[lane], rc_lane_pick(b.is_wanted[lane], rate, 0.0));
    }
}
