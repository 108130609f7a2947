/* Rest, tearing loose, the top rate and the play of a servo's gear, each at its moment. Between two of these all torques change
 * smoothly: bearing and gear rub one way, the vehicle's roll speeds up as a parabola of time, the motor's torque decays towards
 * what it tends to, and its cogs go by in short lengths of time each as a parabola; so rate and angle are closed forms
 * (motion.h), and the moment at which something ends them is found by a bracketing secant. Every lane has its own pieces; a loop
 * takes the next piece of each. In the play the platform and the motor's rotor, which carries the gear's output, are two bodies,
 * each with its own friction; on a flank they are one. */
#include "swinging.h"

#include "bent.h"
#include "bodies.h"
#include "bracket.h"

/* Where platform and rotor are in the play as a piece begins: on a flank, where they have one rate that keeps their momentum, or
 * between them. out f->flank, f->is_apart, f->rotor and, where they are apart, f->one. in/out p->rate, p->motor_rate */
RC_INLINE void touch_flank(struct rc_platform_lanes *p, struct rc_bodies *f, struct rc_body *alone, int lane)
{
    const double gap = p->gap[lane], play = p->play[lane], rate = p->rate[lane], rotor = p->motor_rate[lane];
    const double is_tight = play > 0.0 ? 0.0 : 1.0, gains = rotor - rate;
    const double on_front = gap < play ? 0.0 : (gains < 0.0 ? 0.0 : 1.0), on_back = gap > 0.0 ? 0.0 : (gains > 0.0 ? 0.0 : 1.0);
    const double touches = rc_lane_either(is_tight, rc_lane_either(on_front, on_back));
    const double share = p->inertia[lane] / (p->inertia[lane] + p->rotor_inertia[lane]);
    const double met = gains != 0.0 ? share * rate + (1.0 - share) * rotor : rate;
    const double both = rc_lane_pick(touches, met, rate), flank = rc_lane_pick(on_front, 1.0, -1.0);
    rc_bodies_set_alone(p, f, alone, &f->rotor, lane);
    const double is_held = rc_lane_abs(both) >= p->top[lane] ? 1.0 : 0.0;
    const struct rc_acting acting = rc_bodies_act(p, f, lane, f->now[lane], 1.0, 0.0, 1);
    const double parts = rc_bodies_parting(p, alone, &f->rotor, lane, flank, is_held, acting, both);
    const double is_apart = rc_lane_either(1.0 - touches, parts > 0.0 ? 1.0 - is_tight : 0.0), goes = f->is_active[lane];
    f->is_apart[lane] = is_apart;
    f->flank[lane] = (1.0 - is_apart) * (1.0 - is_tight) * flank;
    p->rate[lane] = rc_lane_pick(goes, both, rate);
    p->motor_rate[lane] = rc_lane_pick(goes, rc_lane_pick(touches, both, rotor), rotor);
}

/* How a body sets out under a torque. in rate [rad/s]; driven  1 where the motor acts on it */
RC_INLINE void set_out(const struct rc_platform_lanes *p, const struct rc_bodies *f, struct rc_body *b, int lane, double rate,
                       struct rc_acting acting, double driven)
{
    const double torque = rc_bodies_torque(b, lane, acting, driven), now = f->now[lane];
    const double torn = rc_bodies_torn(p, b, lane, torque, 0.0) > 0.0 ? rc_lane_sense(torque) : 0.0;
    const double sense = rate != 0.0 ? rc_lane_sense(rate) : torn, per = sense * sense * b->per_moved[lane];
    const double pushed = rc_lane_pick(driven, f->wanted[lane], 0.0) - sense * b->friction[lane] - b->carried[lane] * acting.roll;
    b->rate[lane] = rate;
    b->sense[lane] = sense;
    b->now[lane] = pushed * per;
    const double carried = b->carried[lane] * (f->roll_slope[lane] + 2.0 * now * f->roll_bend[lane]);
    b->slope[lane] = -(carried + sense * b->friction_slope[lane]) * per;
    b->bend[lane] = -b->carried[lane] * f->roll_bend[lane] * per;
    b->lagging[lane] = rc_lane_pick(driven, f->lagging[lane], 0.0) * per;
}

/* The motor drives its side no faster than the top rate; what is faster already, it only slows. ends 1 where it holds it */
RC_INLINE double is_held(const struct rc_platform_lanes *p, const struct rc_body *b, int lane, struct rc_acting acting,
                         double rate)
{
    const double faster = rc_bodies_speed_up(p, b, lane, rc_bodies_torque(b, lane, acting, 1.0), rate, 0.0) * rate;
    return ((rc_lane_abs(rate) >= p->top[lane]) & (acting.motor * rate > 0.0) & (faster > 0.0)) ? 1.0 : 0.0;
}

/* A held body's motion has no friction in it; b->viscous stays, for top_ends to see when the motor need no longer hold it. */
RC_INLINE void hold(struct rc_body *b, int lane, double held)
{
    b->now[lane] = rc_lane_pick(held, 0.0, b->now[lane]);
    b->slope[lane] = rc_lane_pick(held, 0.0, b->slope[lane]);
    b->bend[lane] = rc_lane_pick(held, 0.0, b->bend[lane]);
    b->lagging[lane] = rc_lane_pick(held, 0.0, b->lagging[lane]);
    b->fade[lane] = rc_lane_pick(held, 0.0, b->fade[lane]);
}

/* Where the piece that begins ends at the latest: the cogs neither go by too fast nor push too much up to there.
 * in acting [N m], [rad/s2]; rate  of the motor's side [rad/s]; per_moved  of it; least [s] */
RC_INLINE double piece_end(const struct rc_platform_lanes *p, const struct rc_bodies *f, int lane, double dt,
                           struct rc_acting acting, double rate, double per_moved)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double cogs = s->cogging[lane] > 0.0 ? s->cogs[lane] : 0.0;
    const double most = rc_lane_abs(f->wanted[lane]) + rc_lane_abs(f->lagging[lane]) + s->cogging[lane] +
                        f->one.friction[lane] + p->gear_friction[lane] + p->coupling[lane] * rc_lane_abs(acting.roll);
    const double passed = (cogs * rc_lane_abs(rate) + __builtin_sqrt(0.5 * cogs * most * per_moved)) * (1.0 / RC_MOTION_PHASE);
    const double pushed = __builtin_sqrt(cogs * s->cogging[lane] * per_moved * (1.0 / RC_MOTION_PUSHED));
    const double per_length = rc_lane_max(rc_lane_max(passed, pushed), 1.0 / dt);
    const double length = rc_lane_max(1.0 / per_length, dt * (1.0 / (RC_SPANS_COG_PIECES - 12)));
    return f->now[lane] + length * (1.0 + 1e-9) >= dt ? dt : f->now[lane] + length;
}

/* Add the cogging to the motor's side over the piece. */
RC_INLINE void add_cogging(const struct rc_platform_lanes *p, const struct rc_bodies *f, struct rc_body *b, int lane,
                           double is_driven, int has_play)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double length = f->next[lane] - f->now[lane], lag = s->lag[lane], per_lag = s->per_lag[lane], fade = b->fade[lane];
    const double ahead = has_play ? p->gap[lane] - 0.5 * p->play[lane] : 0.0, cogs = s->cogs[lane];
    const struct rc_motion m = rc_bodies_motion(b, lane);
    const struct rc_motion_three without = {
        rc_motion_angle(m, rc_motion_terms(fade, lag, per_lag, length * (0.5 - RC_MOTION_GAUSS))),
        rc_motion_angle(m, rc_motion_terms(fade, lag, per_lag, length * 0.5)),
        rc_motion_angle(m, rc_motion_terms(fade, lag, per_lag, length * (0.5 + RC_MOTION_GAUSS))),
    };
    const struct rc_motion_parabola cogging =
        rc_motion_cogging(without, cogs * (p->turned[lane] + ahead), cogs, s->cogging[lane] * b->per_moved[lane], length,
                          1.0 / rc_lane_max(length, 1e-300));
    /* Cogs that go by too fast even for the shortest piece count by their mean, which is none. */
    const double counts = rc_lane_abs(cogs * (without.last - without.first)) < 1.5 * RC_MOTION_PHASE ? is_driven : 0.0;
    b->now[lane] = rc_lane_pick(counts, b->now[lane] + cogging.now, b->now[lane]);
    b->slope[lane] = rc_lane_pick(counts, b->slope[lane] + cogging.slope, b->slope[lane]);
    b->bend[lane] = rc_lane_pick(counts, b->bend[lane] + cogging.bend, b->bend[lane]);
}

/* Begin the next piece of every lane. in is_last  1: it goes to the tick's end; has_play  constant for the loop */
RC_INLINE void begin_piece(struct rc_platform_lanes *p, struct rc_bodies *f, struct rc_body *alone, const struct rc_tick *tick,
                           int is_last, int has_play)
{
    RC_FOR_LANES(lane)
    {
        f->is_apart[lane] = f->flank[lane] = 0.0;
        if (has_play)
            touch_flank(p, f, alone, lane);
    }
    RC_FOR_LANES(lane)
    {
        const double is_apart = f->is_apart[lane];
        rc_bodies_set_joined(p, f, &f->one, lane);
        if (has_play) {
            f->one.fade[lane] = rc_lane_pick(is_apart, alone->fade[lane], f->one.fade[lane]);
            f->one.viscous[lane] = f->one.fade[lane];
            f->one.carried[lane] = rc_lane_pick(is_apart, alone->carried[lane], f->one.carried[lane]);
            f->one.per_moved[lane] = rc_lane_pick(is_apart, alone->per_moved[lane], f->one.per_moved[lane]);
            f->one.friction[lane] = rc_lane_pick(is_apart, alone->friction[lane], f->one.friction[lane]);
            f->one.friction_slope[lane] = rc_lane_pick(is_apart, alone->friction_slope[lane], f->one.friction_slope[lane]);
        }
        const struct rc_acting acting = rc_bodies_act(p, f, lane, f->now[lane], 1.0, 0.0, has_play);
        set_out(p, f, &f->one, lane, p->rate[lane], acting, 1.0 - is_apart);
        double held = is_held(p, &f->one, lane, acting, p->rate[lane]), motor = p->rate[lane], per_moved = f->one.per_moved[lane];
        hold(&f->one, lane, held * (1.0 - is_apart));
        if (has_play) {
            set_out(p, f, &f->rotor, lane, p->motor_rate[lane], acting, 1.0);
            const double held_alone = is_held(p, &f->rotor, lane, acting, p->motor_rate[lane]);
            hold(&f->rotor, lane, held_alone);
            held = rc_lane_pick(is_apart, held_alone, held);
            motor = rc_lane_pick(is_apart, p->motor_rate[lane], motor);
            per_moved = rc_lane_pick(is_apart, f->rotor.per_moved[lane], per_moved);
        }
        f->is_held[lane] = held;
        f->next[lane] = is_last ? tick->dt : piece_end(p, f, lane, tick->dt, acting, motor, per_moved);
    }
    RC_FOR_LANES(lane)
    {
        const double sense = f->one.sense[lane], moves = sense * sense * (1.0 - f->is_held[lane]);
        add_cogging(p, f, &f->one, lane, moves * (1.0 - f->is_apart[lane]), has_play);
        if (has_play) {
            const double turns = f->rotor.sense[lane] * f->rotor.sense[lane] * (1.0 - f->is_held[lane]);
            add_cogging(p, f, &f->rotor, lane, turns * f->is_apart[lane], 1);
        }
    }
}

RC_KERNEL static void begin_tight(struct rc_platform_lanes *p, struct rc_bodies *f, struct rc_body *alone,
                                  const struct rc_tick *tick, int is_last)
{
    begin_piece(p, f, alone, tick, is_last, 0);
}

RC_KERNEL static void begin_loose(struct rc_platform_lanes *p, struct rc_bodies *f, struct rc_body *alone,
                                  const struct rc_tick *tick, int is_last)
{
    begin_piece(p, f, alone, tick, is_last, 1);
}

/* So far past standstill or a flank is no more than rounding makes it of a body that has just left it [rad/s], [rad]. */
#define NO_RATE 1e-13
#define NO_ANGLE 1e-14

/* What ends a body's piece: above 0 where it has come to rest, or is torn loose from it. */
RC_INLINE double rest_ends(const struct rc_platform_lanes *p, const struct rc_body *b, int lane, double rate, double torque,
                           double since)
{
    return b->sense[lane] != 0.0 ? -b->sense[lane] * rate - NO_RATE : rc_bodies_torn(p, b, lane, torque, since);
}

/* What ends a piece by the top rate: above 0 where the motor begins to hold it there, or need no longer.
 * in b  the motor's side */
RC_INLINE double top_ends(const struct rc_platform_lanes *p, const struct rc_bodies *f, const struct rc_body *b, int lane,
                          struct rc_acting acting, double rate)
{
    const double sense = b->sense[lane], torque = rc_bodies_torque(b, lane, acting, 1.0);
    const double faster = sense * rc_bodies_speed_up(p, b, lane, torque, rate, acting.since);
    const double along = rc_lane_min(sense * acting.motor, faster);
    const double ends = rc_lane_pick(f->is_held[lane], -along, rc_lane_min(sense * rate - p->top[lane], along));
    return sense != 0.0 ? ends : -1.0;
}

/* What may end a piece, to look for no more than that: rest, of lanes that all move far below the top rate; tearing loose, of
 * lanes that all stand; either of them and the top rate; the play's too. */
enum may { REST, TEARING, TIGHT, LOOSE };

/* What may end a piece, each above 0 where it does: the platform's rest or tearing loose, the rotor's, the play, the top rate. */
struct ends {
    double rests, rotor_rests, plays, tops;
};

/* in alone  the platform on its own; may  constant for the loop: what is not asked for stays at -1 */
RC_INLINE struct ends ends_at(const struct rc_platform_lanes *p, const struct rc_bodies *f, const struct rc_body *alone,
                              int lane, double t, enum may may)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const double since = t - f->now[lane], is_apart = f->is_apart[lane];
    const struct rc_motion_terms e = rc_motion_terms(f->one.fade[lane], s->lag[lane], s->per_lag[lane], since);
    const struct rc_motion m = rc_bodies_motion(&f->one, lane);
    const double rate = rc_motion_rate(m, e), turned = rc_motion_angle(m, e);
    struct ends ends = { -1.0, -1.0, -1.0, -1.0 };
    if (may == REST) {
        ends.rests = -f->one.sense[lane] * rate - NO_RATE;
    } else if (may == TEARING) {
        const struct rc_acting acting = rc_bodies_act(p, f, lane, t, e.left, 0.0, 0);
        ends.rests = rc_bodies_torn(p, &f->one, lane, rc_bodies_torque(&f->one, lane, acting, 1.0), since);
    } else if (may == TIGHT) {
        const struct rc_acting acting = rc_bodies_act(p, f, lane, t, e.left, turned, 0);
        ends.rests = rest_ends(p, &f->one, lane, rate, rc_bodies_torque(&f->one, lane, acting, 1.0), since);
        ends.tops = top_ends(p, f, &f->one, lane, acting, rate);
    } else {
        const struct rc_motion_terms free = rc_motion_terms(f->rotor.fade[lane], s->lag[lane], s->per_lag[lane], since);
        const struct rc_motion rotor = rc_bodies_motion(&f->rotor, lane);
        const double motor_rate = rc_motion_rate(rotor, free), motor_turned = rc_motion_angle(rotor, free);
        const double flank = f->flank[lane];
        const struct rc_acting acting = rc_bodies_act(p, f, lane, t, e.left, rc_lane_pick(is_apart, motor_turned, turned), 1);
        const double gap = p->gap[lane] + motor_turned - turned, passed = rc_lane_max(gap - p->play[lane], -gap) - NO_ANGLE;
        const double parts = rc_bodies_parting(p, alone, &f->rotor, lane, flank, f->is_held[lane], acting, rate);
        const double torque = rc_bodies_torque(&f->one, lane, acting, 1.0 - is_apart);
        const double rotor_torque = rc_bodies_torque(&f->rotor, lane, acting, 1.0);
        const double rotor_rests = rest_ends(p, &f->rotor, lane, motor_rate, rotor_torque, since);
        ends.rests = rest_ends(p, &f->one, lane, rate, torque, since);
        ends.rotor_rests = rc_lane_pick(is_apart, rotor_rests, -1.0);
        ends.plays = rc_lane_pick(is_apart, passed, rc_lane_pick(flank * flank, parts, -1.0));
        ends.tops = rc_lane_pick(is_apart, top_ends(p, f, &f->rotor, lane, acting, motor_rate),
                                 top_ends(p, f, &f->one, lane, acting, rate));
    }
    return ends;
}

/* What the search of a lane's end is for: those that have happened at its far end, 1 or 0. The others would only bend it. */
struct sought {
    rc_lane rests, rotor_rests, plays, tops;
};
RC_INLINE double happens(const struct sought *sought, int lane, struct ends ends)
{
    const double rests = rc_lane_pick(sought->rests[lane], ends.rests, -1e300);
    const double rotor_rests = rc_lane_pick(sought->rotor_rests[lane], ends.rotor_rests, -1e300);
    const double plays = rc_lane_pick(sought->plays[lane], ends.plays, -1e300);
    const double tops = rc_lane_pick(sought->tops[lane], ends.tops, -1e300);
    return rc_lane_max(rc_lane_max(rests, rotor_rests), rc_lane_max(plays, tops));
}

/* Set it by what has happened at a time. ends 1 where something has */
RC_INLINE double seek(struct sought *sought, int lane, struct ends ends)
{
    sought->rests[lane] = ends.rests > 0.0 ? 1.0 : 0.0;
    sought->rotor_rests[lane] = ends.rotor_rests > 0.0 ? 1.0 : 0.0;
    sought->plays[lane] = ends.plays > 0.0 ? 1.0 : 0.0;
    sought->tops[lane] = ends.tops > 0.0 ? 1.0 : 0.0;
    return rc_lane_either(rc_lane_either(sought->rests[lane], sought->rotor_rests[lane]),
                          rc_lane_either(sought->plays[lane], sought->tops[lane]));
}

/* A time in the piece at which something may have happened though it has not at the end: where the platform is slowest, if it
 * slows and then speeds up again, by its accelerations at the ends; else the middle. */
RC_INLINE double inner_time(const struct rc_platform_lanes *p, const struct rc_bodies *f, int lane)
{
    const struct rc_servo_lanes *const s = &p->servo;
    const struct rc_body *const b = &f->one;
    const double length = f->next[lane] - f->now[lane], fade = b->fade[lane];
    const struct rc_motion m = rc_bodies_motion(b, lane);
    const struct rc_motion_terms e = rc_motion_terms(fade, s->lag[lane], s->per_lag[lane], length);
    const double first = m.now + m.lagging - fade * m.rate;
    const double last = m.now + length * (m.slope + length * m.bend) + m.lagging * e.left - fade * rc_motion_rate(m, e);
    const double sense = b->sense[lane], turns = ((sense * first < 0.0) & (sense * last > 0.0)) ? 1.0 : 0.0;
    return f->now[lane] + length * rc_lane_pick(turns, first / rc_lane_pick(turns, first - last, 1.0), 0.5);
}

/* Most searches to the first of what happens in a piece: each but the first is for what came before the last one's find. */
enum { N_SEARCHES = 4 };

/* One of two sets of ends. in flag 1 or 0 */
RC_INLINE struct ends pick_ends(double flag, struct ends yes, struct ends no)
{
    return (struct ends){ rc_lane_pick(flag, yes.rests, no.rests), rc_lane_pick(flag, yes.rotor_rests, no.rotor_rests),
                          rc_lane_pick(flag, yes.plays, no.plays), rc_lane_pick(flag, yes.tops, no.tops) };
}

/* A lane's search is over: its piece ends there, but something else may have happened before. out b, sought  of a search for
 * that.
 * ends 1 where there is one */
RC_INLINE double seek_before(const struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_body *alone, int lane,
                             struct rc_bracket *b, struct sought *sought, enum may may)
{
    const double now = f->now[lane], was_wanted = b->is_wanted[lane], before = b->before[lane];
    f->next[lane] = rc_lane_pick(was_wanted, b->after[lane], f->next[lane]);
    const struct ends early = ends_at(p, f, alone, lane, now, may), far = ends_at(p, f, alone, lane, before, may);
    const double is_wanted = was_wanted * seek(sought, lane, far);
    rc_bracket_open(b, lane, is_wanted, now, before, rc_lane_min(happens(sought, lane, early), 0.0), happens(sought, lane, far));
    b->aim[lane] *= 1e-3;
    return is_wanted;
}

/* Where something happens first, the piece ends. out f->next */
RC_INLINE void find_end(const struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_body *alone, enum may may)
{
    struct rc_bracket b;
    struct sought sought;
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double now = f->now[lane], next = f->next[lane], inner = inner_time(p, f, lane);
        const struct ends early = ends_at(p, f, alone, lane, now, may), late = ends_at(p, f, alone, lane, next, may);
        const struct ends within = ends_at(p, f, alone, lane, inner, may);
        const double is_within = seek(&sought, lane, within);
        const struct ends far = pick_ends(is_within, within, late);
        const double is_wanted = f->is_active[lane] * seek(&sought, lane, far);
        rc_bracket_open(&b, lane, is_wanted, now, rc_lane_pick(is_within, inner, next),
                        rc_lane_min(happens(&sought, lane, early), 0.0), happens(&sought, lane, far));
        b.aim[lane] *= 1e-3;
        n += is_wanted;
    }
    for (int round = 0; round < N_SEARCHES && n > 0.0; round++) {
        for (int i = 0; i < RC_BRACKET_STEPS && n > 0.0; i++) {
            n = 0.0;
#pragma omp simd reduction(+ : n)
            for (int lane = 0; lane < RC_LANES; lane++) {
                const double t = rc_bracket_try(&b, lane, i);
                n += rc_bracket_narrow(&b, lane, t, happens(&sought, lane, ends_at(p, f, alone, lane, t, may)));
            }
        }
        n = 0.0;
#pragma omp simd reduction(+ : n)
        for (int lane = 0; lane < RC_LANES; lane++)
            n += seek_before(p, f, alone, lane, &b, &sought, may);
    }
}

RC_KERNEL static void find_rest(const struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_body *alone)
{
    find_end(p, f, alone, REST);
}

RC_KERNEL static void find_tearing(const struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_body *alone)
{
    find_end(p, f, alone, TEARING);
}

RC_KERNEL static void find_tight(const struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_body *alone)
{
    find_end(p, f, alone, TIGHT);
}

RC_KERNEL static void find_loose(const struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_body *alone)
{
    find_end(p, f, alone, LOOSE);
}

/* How many active lanes stand, how many move, and how many of these may come near the top rate. */
struct doing {
    double standing, moving, fast;
};
RC_KERNEL static void see_doing(const struct rc_platform_lanes *p, const struct rc_bodies *f, struct doing *doing)
{
    double standing = 0.0, moving = 0.0, fast = 0.0;
#pragma omp simd reduction(+ : standing)
    for (int lane = 0; lane < RC_LANES; lane++)
        standing += f->one.sense[lane] == 0.0 ? f->is_active[lane] : 0.0;
#pragma omp simd reduction(+ : moving)
    for (int lane = 0; lane < RC_LANES; lane++)
        moving += f->one.sense[lane] != 0.0 ? f->is_active[lane] : 0.0;
#pragma omp simd reduction(+ : fast)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const struct rc_body *const b = &f->one;
        const double length = f->next[lane] - f->now[lane];
        const double bends = length * (rc_lane_abs(b->slope[lane]) + length * rc_lane_abs(b->bend[lane]));
        const double most = rc_lane_abs(b->now[lane]) + rc_lane_abs(b->lagging[lane]) + bends;
        fast += rc_lane_abs(b->rate[lane]) + length * most < 0.5 * p->top[lane] ? 0.0 : f->is_active[lane];
    }
    *doing = (struct doing){ standing, moving, fast };
}

/* Find the piece's end by what the active lanes do: no lane's bits hang on what is looked for in the others. */
static void find_tight_end(const struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_body *alone)
{
    struct doing doing;
    see_doing(p, f, &doing);
    if (!(doing.standing + doing.fast > 0.0))
        find_rest(p, f, alone);
    else if (!(doing.moving > 0.0))
        find_tearing(p, f, alone);
    else
        find_tight(p, f, alone);
}

/* No further past the top rate than this part of it is a body whose piece ended by reaching it: a search comes closer. */
#define NEAR_TOP 1e-9

/* A body's rate at its piece's end, at rest where it has passed zero, at the top rate where the motor has just driven it past
 * that. What the vehicle has taken past it, before the motor's torque turned round, keeps its rate.
 * in first, last  the motor's torque as the piece begins and ends; the last one 0 where it does not act on the body [N m] */
RC_INLINE double rate_at_end(const struct rc_platform_lanes *p, const struct rc_body *b, int lane, double rate, double first,
                             double last)
{
    const double sense = b->sense[lane], top = p->top[lane], past = sense * rate - top;
    const double drove = ((sense * first >= 0.0) | (past <= NEAR_TOP * top)) ? 1.0 : 0.0;
    const double passes = ((sense * b->rate[lane] <= top) & (past > 0.0) & (sense * last > 0.0)) ? drove : 0.0;
    return sense * rate <= 0.0 ? 0.0 : rc_lane_pick(passes, sense * top, rate);
}

/* A piece as it is counted. */
struct piece {
    double is_active, length;    /* 1 or 0, [s]                                   */
    double now, next;            /* since the tick began [s]                      */
    double start, end, turned;   /* the platform's rates [rad/s], its angle [rad] */
    double lagging, lags, left;  /* as rc_bent_piece has them, of its rate        */
};

/* What it was off its straight course: the bulge of the lag, and the mean of what is left. */
struct off {
    struct rc_motion_bulge lag;
    double bulge;   /* [rad/s] */
};
RC_INLINE struct off off_straight(struct piece c)
{
    const struct rc_motion_bulge lag = rc_motion_bulge(c.lags, c.left);
    const double straight = 0.5 * (c.start + c.end), mean = c.turned / rc_lane_max(c.length, 1e-300);
    return (struct off){ lag, c.length > 0.0 ? mean - straight - c.lagging * lag.mean : 0.0 };
}

/* Count a piece. out crests  where the residual rate may have its peak inside */
RC_INLINE void count_piece(struct rc_platform_lanes *p, int lane, const struct rc_tick *tick, struct piece c, struct off off,
                             struct rc_bent_crests *crests)
{
    const double yielding = p->reaction[lane], before = p->rate_before[lane];
    const double mean = 0.5 * (c.start + c.end) + c.lagging * off.lag.mean + off.bulge;
    const double lost = 1.0 - p->keep[lane], share = c.length * tick->per_dt;
    /* What the roll's damping leaves, to third order within the tick, and by the slope as rc_stages_fade. */
    const double rest = 1.0 - share, gone = share * lost * (1.0 + 0.5 * rest * lost * (1.0 + (1.0 / 3.0) * (1.0 + rest) * lost));
    const double after = mean + (before - mean) * (1.0 - gone) + (c.end - c.start) * (share * share * lost * lost * (1.0 / 12.0));
    const double per_time = (tick->theta_end - tick->theta) * tick->per_dt;
    const double from = rc_stages_roll(p, lane, tick->theta + per_time * c.now);
    const double to = rc_stages_roll(p, lane, tick->theta + per_time * c.next);
    const double middle = rc_stages_roll(p, lane, tick->theta + per_time * (0.5 * (c.now + c.next)));
    const double first = from + yielding * (before - c.start), last = to + yielding * (after - c.end);
    const double greatest = rc_lane_max(rc_lane_abs(first), rc_lane_abs(last)), peak = p->tally.roll_peak[lane];
    const double felt = rc_lane_pick(c.is_active, 1.0 - yielding, 0.0);
    const struct rc_bent_piece bend = {
        c.length, rc_lane_pick(c.is_active, first + c.start, 0.0), rc_lane_pick(c.is_active, last + c.end, 0.0), felt * c.lagging,
        c.lags, c.left, felt * off.bulge - rc_lane_pick(c.is_active, (1.0 / 3.0) * (from + to - 2.0 * middle), 0.0),
    };
    rc_tally_tick(&p->tally, lane, bend.start, bend.end, p->target[lane], c.length);
    rc_bent_count(&p->tally, lane, bend, off.lag);
    p->tally.roll_peak[lane] = rc_lane_max(peak, rc_lane_pick(c.is_active, greatest, 0.0));
    p->tally.asleep[lane] += p->mode[lane] == RC_DRIVE_ASLEEP ? c.length : 0.0;
    p->residual[lane] = rc_lane_pick(c.is_active, bend.end, p->residual[lane]);
    p->rate_before[lane] = rc_lane_pick(c.is_active, after, before);
    rc_bent_keep(crests, lane, c.is_active * rc_bent_peaks(&p->tally, lane, bend, off.lag), bend);
}

/* Starts, reversals and mode of a lane whose platform goes a piece. */
RC_INLINE void count_turning(struct rc_platform_lanes *p, struct rc_bodies *f, int lane, double per_dt, double end)
{
    const double is_active = f->is_active[lane], sense = f->one.sense[lane], moves = is_active * sense * sense;
    const double is_awake = p->mode[lane] == RC_DRIVE_ASLEEP ? 0.0 : 1.0, direction = p->direction[lane];
    const double starts = moves * f->stood[lane] * is_awake, reverses = sense * direction < 0.0 ? is_active * is_awake : 0.0;
    p->tally.starts[lane] += starts;
    p->tally.reversals[lane] += reverses;
    p->tally.changed_at[lane] = rc_lane_pick(rc_lane_either(starts, reverses), f->now[lane] * per_dt, p->tally.changed_at[lane]);
    p->direction[lane] = rc_lane_pick(moves, sense, direction);
    f->stood[lane] = rc_lane_pick(is_active, 1.0 - sense * sense, f->stood[lane]);
    const double led = end != 0.0 ? RC_DRIVE_RUNNING : RC_DRIVE_STANDING;
    p->mode[lane] = rc_lane_pick(is_active * is_awake, led, p->mode[lane]);
}

/* Note how a lane went in a piece, for what is looked at inside the tick; the first one of lanes that do not go by pieces is the
 * caller's to note. in rate  the platform's then [rad/s] */
RC_INLINE void note_piece(struct rc_spans_track *track, int number, int lane, double per_dt, struct piece c, double bulge,
                          double rate)
{
    const double is_noted = number == 0 ? 1.0 - c.is_active : 0.0;
    const double from = rc_lane_pick(c.is_active, c.start, rate), until = rc_lane_pick(c.is_active, c.next * per_dt, 1.0);
    track->until[number][lane] = until;
    track->from[number][lane] = rc_lane_pick(is_noted, track->from[number][lane], from);
    track->to[number][lane] = rc_lane_pick(is_noted, track->to[number][lane], rate);
    track->lagging[number][lane] = rc_lane_pick(is_noted, track->lagging[number][lane], c.is_active * c.lagging);
    track->bulge[number][lane] = rc_lane_pick(is_noted, track->bulge[number][lane], c.is_active * bulge);
    track->jump[number][lane] = 0.0;
}

/* Take every active lane to its piece's end. ends how many are not at the tick's end yet */
RC_INLINE double take_piece(struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_tick *tick, int has_play,
                            int number, struct rc_spans_track *track, struct rc_bent_crests *crests)
{
    const struct rc_servo_lanes *const s = &p->servo;
    double n = 0.0;
#pragma omp simd reduction(+ : n)
    for (int lane = 0; lane < RC_LANES; lane++) {
        const double is_active = f->is_active[lane], now = f->now[lane], next = f->next[lane], length = is_active * (next - now);
        const double lag = s->lag[lane], per_lag = s->per_lag[lane], is_apart = f->is_apart[lane];
        const struct rc_motion_terms e = rc_motion_terms(f->one.fade[lane], lag, per_lag, length);
        const struct rc_motion m = rc_bodies_motion(&f->one, lane);
        const double first = f->wanted[lane] + f->lagging[lane], last = f->wanted[lane] + f->lagging[lane] * e.left;
        const double turned = rc_motion_angle(m, e), rate = rc_motion_rate(m, e), driven = rc_lane_pick(is_apart, 0.0, last);
        const double end = rate_at_end(p, &f->one, lane, rate, first, driven);
        if (has_play) {
            const struct rc_motion_terms free = rc_motion_terms(f->rotor.fade[lane], lag, per_lag, length);
            const struct rc_motion rotor = rc_bodies_motion(&f->rotor, lane);
            const double gap = p->gap[lane] + rc_motion_angle(rotor, free) - turned;
            const double alone = rate_at_end(p, &f->rotor, lane, rc_motion_rate(rotor, free), first, last);
            const double is_free = is_active * is_apart;
            p->gap[lane] = rc_lane_pick(is_free, rc_lane_min(rc_lane_max(gap, 0.0), p->play[lane]), p->gap[lane]);
            p->motor_rate[lane] = rc_lane_pick(is_active, rc_lane_pick(is_apart, alone, end), p->motor_rate[lane]);
        }
        const struct piece c = { is_active, length, now, next, f->one.rate[lane], end, turned, m.lagging * lag, length * per_lag,
                                 e.left };
        const struct off off = off_straight(c);
        count_piece(p, lane, tick, c, off, crests);
        count_turning(p, f, lane, tick->per_dt, end);
        p->turned[lane] += rc_lane_pick(is_active, turned, 0.0);
        p->rate[lane] = rc_lane_pick(is_active, end, p->rate[lane]);
        note_piece(track, number, lane, tick->per_dt, c, off.bulge, p->rate[lane]);
        f->lagging[lane] = rc_lane_pick(is_active, f->lagging[lane] * e.left, f->lagging[lane]);
        f->now[lane] = rc_lane_pick(is_active, next, now);
        const double goes_on = is_active * (next < tick->dt ? 1.0 : 0.0);
        f->is_active[lane] = goes_on;
        n += goes_on;
    }
    return n;
}

RC_KERNEL static double take_tight(struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_tick *tick, int number,
                                   struct rc_spans_track *track, struct rc_bent_crests *crests)
{
    return take_piece(p, f, tick, 0, number, track, crests);
}

RC_KERNEL static double take_loose(struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_tick *tick, int number,
                                   struct rc_spans_track *track, struct rc_bent_crests *crests)
{
    return take_piece(p, f, tick, 1, number, track, crests);
}

RC_KERNEL static void begin_flow(struct rc_platform_lanes *p, struct rc_bodies *f, const struct rc_tick *tick,
                                 const struct rc_swinging_pull *pull, const double *is_swinging)
{
    RC_FOR_LANES(lane)
    {
        const struct rc_swinging_roll roll = rc_swinging_roll(p, lane, tick);
        f->is_active[lane] = is_swinging[lane];
        f->now[lane] = 0.0;
        f->wanted[lane] = pull->wanted[lane];
        f->lagging[lane] = pull->lagging[lane];
        f->roll[lane] = roll.now;
        f->roll_slope[lane] = roll.slope;
        f->roll_bend[lane] = roll.bend;
        f->rubs[lane] = rc_bearing_friction_at(p, lane, -0.5 * tick->dt);
        f->rubs_slope[lane] = (rc_bearing_friction_at(p, lane, 0.5 * tick->dt) - f->rubs[lane]) * tick->per_dt;
        f->stood[lane] = p->rate[lane] == 0.0 ? 1.0 : 0.0;
        p->ran_before[lane] = rc_lane_pick(is_swinging[lane], p->rate_before[lane], p->ran_before[lane]);
    }
}

void rc_swinging_run(struct rc_platform_lanes *platform, const struct rc_platform_clock *clock, const struct rc_tick *tick,
                     const struct rc_swinging_pull *pull, const double *is_swinging, struct rc_spans_track *track)
{
    struct rc_bodies f;
    struct rc_body alone;
    struct rc_bent_crests crests;
    begin_flow(platform, &f, tick, pull, is_swinging);
    double n_active = 1.0;
    for (track->n = 0; n_active > 0.0 && track->n < RC_SPANS_COG_PIECES; track->n++) {
        const int is_last = track->n == RC_SPANS_COG_PIECES - 1; /* what is due then waits for the next tick */
        if (clock->has_play) {
            begin_loose(platform, &f, &alone, tick, is_last);
            if (!is_last)
                find_loose(platform, &f, &alone);
            n_active = take_loose(platform, &f, tick, track->n, track, &crests);
        } else {
            begin_tight(platform, &f, &alone, tick, is_last);
            if (!is_last)
                find_tight_end(platform, &f, &alone);
            n_active = take_tight(platform, &f, tick, track->n, track, &crests);
        }
        rc_bent_crest(&platform->tally, &crests);
    }
}
