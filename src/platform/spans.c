/* Where lanes that went by pieces were inside a span. */
#include "spans.h"

#include "motion.h"

/* in has_lag  constant for the loop */
RC_INLINE void aim(struct rc_platform_lanes *platform, const struct rc_spans_track *track, double place, int has_lag)
{
    rc_lane from, rate, travelled;
    RC_FOR_LANES(lane)
    from[lane] = rate[lane] = travelled[lane] = 0.0;
    for (int piece = 0; piece < track->n; piece++)
        RC_FOR_LANES(lane)
        {
            const double first = track->from[piece][lane], until = track->until[piece][lane], length = until - from[lane];
            const double into = rc_lane_min(rc_lane_max(place - from[lane], 0.0), length);
            const double share = into / rc_lane_max(length, 1e-300), bulge = track->bulge[piece][lane] * share;
            const double straight = first + (track->to[piece][lane] - first) * share;
            travelled[lane] += 0.5 * into * (first + straight) + length * bulge * share * (3.0 - 2.0 * share);
            /* A piece without length is a block-mate's. */
            const int is_reached = (place >= from[lane]) & (length > 0.0);
            rate[lane] = is_reached ? straight + 6.0 * bulge * (1.0 - share) : rate[lane];
            if (has_lag) {
                const double lags = length * track->lags[lane];
                const struct rc_motion_hump hump = rc_motion_hump(share, lags, track->lagging[piece][lane], 0.0);
                travelled[lane] += length * hump.travelled;
                rate[lane] += is_reached ? hump.rate : 0.0;
            }
            from[lane] = until;
        }
    const double room = place > 1e-9 ? place : 1e-9;
    RC_FOR_LANES(lane)
    {
        /* Nothing is travelled where it begins. */
        const double mean = place > 1e-9 ? travelled[lane] / room : rate[lane];
        const double is_on = track->is_on[lane], start = 2.0 * mean - rate[lane];
        platform->ran_start[lane] = rc_lane_pick(is_on, start, platform->ran_start[lane]);
        platform->ran_ramped[lane] = rc_lane_pick(is_on, start + (rate[lane] - start) / room, platform->ran_ramped[lane]);
        platform->ran_wait[lane] = rc_lane_pick(is_on, 0.0, platform->ran_wait[lane]);
        platform->ran_share[lane] = rc_lane_pick(is_on, 1.0, platform->ran_share[lane]);
    }
}

RC_KERNEL static void aim_straight(struct rc_platform_lanes *platform, const struct rc_spans_track *track, double place)
{
    aim(platform, track, place, 0);
}

RC_KERNEL static void aim_lagging(struct rc_platform_lanes *platform, const struct rc_spans_track *track, double place)
{
    aim(platform, track, place, 1);
}

void rc_spans_aim(struct rc_platform_lanes *platform, const struct rc_spans_track *track, double place)
{
    if (track->has_lag)
        aim_lagging(platform, track, place);
    else
        aim_straight(platform, track, place);
}

RC_KERNEL static void see_once(const struct rc_platform_lanes *platform, const struct rc_tick *tick,
                               const struct rc_spans_track *track, double place, double *residual, double *rate)
{
    const double theta = tick->theta + place * (tick->theta_end - tick->theta);
    RC_FOR_LANES(lane)
    {
        const double from = track->from[0][lane], full = 1.0 - track->left[lane];
        const double gone = 1.0 - rc_lane_exp(-track->lags[lane] * place);
        const double hump = track->lagging[0][lane] * (gone - place * full) + 6.0 * track->bulge[0][lane] * place * (1.0 - place);
        const double there = from + place * (track->to[0][lane] - from) + hump, mean = 0.5 * (from + there);
        const double lost = 1.0 - platform->keep[lane], kept = 1.0 - place * lost * (1.0 + 0.5 * (1.0 - place) * lost);
        const double before = mean + (platform->ran_before[lane] - mean) * kept;
        rate[lane] = there;
        residual[lane] = rc_stages_roll(platform, lane, theta) + platform->reaction[lane] * (before - there) + there;
    }
}

/* The same of the lanes that go by more than one piece; the others, however many pieces their mates take, stay as they are. */
RC_KERNEL static void see_pieces(struct rc_platform_lanes *platform, const struct rc_tick *tick,
                                 const struct rc_spans_track *track, double place, double *residual, double *rate)
{
    rc_lane there, seen;
    RC_FOR_LANES(lane)
    {
        there[lane] = rc_spans_rate(platform, lane, place);
        seen[lane] = rc_spans_roll(platform, lane, tick, place, there[lane]) + there[lane];
    }
    RC_FOR_LANES(lane)
    {
        const double goes_on = track->until[0][lane] < 1.0 ? 1.0 : 0.0;
        rate[lane] = rc_lane_pick(goes_on, there[lane], rate[lane]);
        residual[lane] = rc_lane_pick(goes_on, seen[lane], residual[lane]);
    }
}

void rc_spans_see_lagging(struct rc_platform_lanes *platform, const struct rc_tick *tick, const struct rc_spans_track *track,
                          double place, double *residual, double *rate)
{
    see_once(platform, tick, track, place, residual, rate);
    if (track->n == 1)
        return;
    rc_spans_aim(platform, track, place);
    see_pieces(platform, tick, track, place, residual, rate);
}

RC_KERNEL void rc_spans_jump(const struct rc_spans_track *track, double place, double *turned)
{
    rc_lane begins;
    RC_FOR_LANES(lane)
    begins[lane] = 0.0;
    for (int piece = 0; piece < track->n; piece++)
        RC_FOR_LANES(lane)
        {
            turned[lane] += begins[lane] <= place ? rc_lane_pick(track->is_on[lane], track->jump[piece][lane], 0.0) : 0.0;
            begins[lane] = track->until[piece][lane];
        }
}
