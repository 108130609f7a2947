/* From flank to flank behind a drive that sets its output's rate, and free in the bearing while it lets go. How a platform goes
 * from piece to piece stands in pieces.h; here is what the output does, and when the drive has hold of it. */
#include "gliding.h"

#include "pieces.h"

/* An end of the course this close to the tick's is at it [s]. */
static const double tie = 1e-9;

RC_INLINE void begin_lanes(const struct rc_platform_lanes *p, struct rc_pieces *f, const struct rc_tick *tick,
                           const struct rc_gliding *gliding)
{
    RC_FOR_LANES(lane)
    {
        const double wait = p->ran_wait[lane], share = p->ran_share[lane], ramped = (wait + share) * tick->dt;
        const double slope = (p->ran_ramped[lane] - p->ran_start[lane]) / (share * tick->dt);
        rc_pieces_begin(p, f, lane, tick, gliding->is_strained[lane]);
        f->starts[lane] = wait * tick->dt;
        f->start[lane] = p->ran_start[lane];
        f->slope[lane] = share > 0.0 ? slope : 0.0;
        f->ramped[lane] = ramped > tick->dt - tie ? tick->dt : ramped;
        f->end[lane] = gliding->led[lane];
    }
}

/* A moment, if it comes before the piece's end as it is. */
RC_INLINE double sooner(double moment, double now, double next)
{
    return ((moment > now) & (moment < next)) ? moment : next;
}

/* What is due as a piece begins: the drive lets go or takes hold, the output starts, holds or stops; the platform is on a flank,
 * alone or in its bearing. in is_last  1: the piece goes to the tick's end */
RC_INLINE void change_now(struct rc_platform_lanes *p, struct rc_pieces *f, const struct rc_tick *tick,
                          const struct rc_gliding *gliding, double is_last)
{
    RC_FOR_LANES(lane)
    {
        const double now = f->now[lane], rate = p->rate[lane];
        double next = sooner(f->ramped[lane], now, sooner(f->starts[lane], now, tick->dt));
        next = sooner(gliding->from[lane], now, sooner(gliding->until[lane], now, next));
        rc_pieces_lead(f, lane, rc_lane_pick(is_last, tick->dt, next));
        const double is_loose = (now >= gliding->from[lane] ? 1.0 : 0.0) * (now < gliding->until[lane] ? 1.0 : 0.0);
        const double now_rate = rc_pieces_touch(p, f, lane, 1.0 - is_loose, rc_pieces_pace(f, lane, now), rate);
        p->rate[lane] = rc_lane_pick(f->is_active[lane], now_rate, rate);
        f->is_free[lane] = rc_lane_either(is_loose, f->is_apart[lane]);
        rc_pieces_free(p, f, lane, now_rate, 0.0);
    }
}

RC_INLINE double take_piece(struct rc_platform_lanes *p, struct rc_pieces *f, const struct rc_tick *tick, int piece,
                            struct rc_spans_track *track)
{
    const struct rc_pieces_made_for of = { .has_play = 1, .has_ripple = 0, .has_floor = 1 };
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        n += rc_pieces_take(p, f, lane, tick, piece, track, of).goes_on;
        track->jump[piece][lane] = 0.0;
    }
    return n;
}

/* An output that jumps as the tick ends: whom it takes along has its rate. */
RC_INLINE void end_lanes(struct rc_platform_lanes *p, const struct rc_tick *tick, const struct rc_gliding *gliding,
                         struct rc_spans_track *track)
{
    RC_FOR_LANES(lane)
    {
        const double is_strained = gliding->is_strained[lane], rate = p->rate[lane], led = gliding->led[lane];
        const double is_loose = (gliding->from[lane] < tick->dt ? 1.0 : 0.0) * (gliding->until[lane] >= tick->dt ? 1.0 : 0.0);
        const struct rc_pieces_flanks on = rc_pieces_flanks(p, lane, led - rate);
        const double is_taken = is_strained * (1.0 - is_loose) * rc_lane_either(on.front, on.back);
        p->rate[lane] = rc_lane_pick(is_taken, led, rate);
        track->is_on[lane] = is_strained;
    }
}

RC_KERNEL void rc_gliding_run(struct rc_platform_lanes *platform, const struct rc_tick *tick, const struct rc_gliding *gliding,
                              struct rc_spans_track *track)
{
    struct rc_pieces f;
    begin_lanes(platform, &f, tick, gliding);
    double n_active = 1.0;
    for (track->n = 0; n_active > 0.0 && track->n < RC_SPANS_PIECES; track->n++) {
        const double is_last = track->n == RC_SPANS_PIECES - 1 ? 1.0 : 0.0; /* what is due then waits for the next tick */
        change_now(platform, &f, tick, gliding, is_last);
        rc_pieces_find(platform, &f, tick, is_last, 1);
        n_active = take_piece(platform, &f, tick, track->n, track);
    }
    end_lanes(platform, tick, gliding, track);
}
