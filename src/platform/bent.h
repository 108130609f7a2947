/* What the bend of a residual rate's course adds to the tallies of its straight one, and its peaks between the ends. */
#ifndef RC_BENT_H
#define RC_BENT_H

#include "measures/tally.h"
#include "motion.h"

/* How the residual rate is off its straight course in a piece: the bulge of the motor's lag, and a parabola on top. */
struct rc_bent_piece {
    double length;                /* [s]                                             */
    double start, end;            /* residual rates [rad/s]                          */
    double lagging, lags, left;   /* size of the bulge [rad/s]; lags in the length, exp(-lags) [1] */
    double bulge;                 /* mean of the parabola [rad/s]                    */
};

/* Count the bend of a piece whose straight course is counted; its peak is left to rc_bent_crest. in b  of the bulge */
RC_INLINE void rc_bent_count(struct rc_tally *tally, int lane, struct rc_bent_piece bend, struct rc_motion_bulge b)
{
    const double mean = bend.lagging * b.mean, crossed = bend.start * (b.mean - b.moment) + bend.end * b.moment;
    tally->drift[lane] += bend.length * (mean + bend.bulge);
    tally->square[lane] += bend.length * (bend.lagging * (2.0 * crossed + bend.lagging * b.square) +
                                          bend.bulge * (bend.start + bend.end + 1.2 * bend.bulge + 2.4 * mean));
}

/* Slope of the residual rate over the place in a piece, in its beginning and end [rad/s]. */
RC_INLINE double rc_bent_slope(struct rc_bent_piece bend, double place, double left)
{
    return bend.end - bend.start + bend.lagging * (bend.lags * left - (1.0 - bend.left)) + 6.0 * bend.bulge * (1.0 - 2.0 * place);
}

/* May the residual rate have its peak so far inside a piece? 1 or 0 */
RC_INLINE double rc_bent_peaks(const struct rc_tally *tally, int lane, struct rc_bent_piece bend, struct rc_motion_bulge b)
{
    const double ends = rc_lane_max(rc_lane_abs(bend.start), rc_lane_abs(bend.end));
    /* A bulge is nowhere more than twice its mean off. */
    const double most = ends + 2.0 * rc_lane_abs(bend.lagging) * b.mean + 1.5 * rc_lane_abs(bend.bulge);
    return most > tally->residual_peak[lane] ? 1.0 : 0.0;
}

/* Pieces in which the residual rate may have its peak. */
struct rc_bent_crests {
    rc_lane is_wanted;                              /* 1 where it may                          */
    rc_lane start, end, lagging, lags, left, bulge; /* as rc_bent_piece has them            */
};
RC_INLINE void rc_bent_keep(struct rc_bent_crests *crests, int lane, double is_wanted, struct rc_bent_piece bend)
{
    crests->is_wanted[lane] = is_wanted;
    crests->start[lane] = bend.start;
    crests->end[lane] = bend.end;
    crests->lagging[lane] = bend.lagging;
    crests->lags[lane] = bend.lags;
    crests->left[lane] = bend.left;
    crests->bulge[lane] = bend.bulge;
}

/* Find the greatest residual rate inside of pieces that may have one, where its slope turns round. in/out tally residual_peak */
void rc_bent_crest(struct rc_tally *tally, const struct rc_bent_crests *crests);

#endif
