/* The limit cycle of a dead zone, a play in the gear and a delay, against its exact solution. A drive that knows one rate f (floor,
 * jump and top are the same) is told to turn back while the angle, as heard L later, is beyond +-d; the vehicle stands. The platform
 * overshoots by what it turns in L, stands while the heard angle crosses the dead zone, waits b/f while the drive crosses the play b,
 * and goes back:
 *
 *     amplitude A = f L - d,     half a period = 2 L + b/f,
 *
 * worked out by hand from the piecewise straight motion; without overshoot beyond the dead zone (f L < 2 d) there is no cycle. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "physics/near.h"
#include "rig.h"

enum { DELAY_TICKS = 60 };

struct cycle {
    double amplitude, half_period;
    int n_turns;                 /* passages of zero seen */
};

static void make(struct rig *rig, double rate, double zone, double play)
{
    rig_reset(rig);
    rig->drive.floor = rig->drive.jump = rig->drive.top = rate;
    rig->drive.deadband = 2.0 * zone;
    rig->controller.gain = 2.0;
    rig->clock.below_floor = RC_BELOW_FLOOR_RUN;
    rig->clock.latency = DELAY_TICKS * rig->clock.dt;
    rig->clock.has_play = play > 0.0;
    rig->parts.backlash = play;
    rig->parts.coulomb = 1.0; /* so much that in the play it stands at once */
    rig_begin(rig);
    for (int lane = 0; lane < RC_LANES; lane++)
        rig->p.gathered[lane] = 0.5;
}

/* Run for 20 s, look at the last half: greatest angle, and mean time from passage to passage of zero. */
static struct cycle watch(struct rig *rig)
{
    struct cycle seen = { 0.0, 0.0, 0 };
    double first = 0.0, last = 0.0, before = 0.5;
    for (int tick = 0; tick < 20 * 512; tick++) {
        rig_run(rig, 0.0, 1);
        const double angle = 0.5 + rig->p.turned[rig->lane];
        if (tick >= 10 * 512) {
            seen.amplitude = fmax(seen.amplitude, fabs(angle));
            if (angle * before < 0.0) {
                last = tick;
                first = seen.n_turns++ == 0 ? last : first;
            }
        }
        before = angle != 0.0 ? angle : before;
    }
    seen.half_period = seen.n_turns > 1 ? (last - first) / (seen.n_turns - 1) / 512.0 : 0.0;
    return seen;
}

/* Bounds: samples and commands come in ticks, so the delay is L or up to two ticks more. A reading stands for the whole tick before it,
 * so that of the time in which the play is crossed the controller sees the whole ticks alone. */
static void test_limit_cycle__of_dead_zone_and_play_is_the_exact_one(void **state)
{
    (void)state;
    static const double rates[] = { 0.7, 1.5 }, zones[] = { 0.0, 0.02, 0.035 }, plays[] = { 0.0, 0.05, 0.15 };
    const double tick = 1.0 / 512.0, delay = DELAY_TICKS * tick;
    for (int i = 0; i < 18; i++) {
        const double f = rates[i % 2], d = zones[i / 2 % 3], b = plays[i / 6];
        struct rig rig;
        make(&rig, f, d, b);
        const struct cycle seen = watch(&rig);
        print_message("rate %.1f zone %.3f play %.2f: amplitude %.4f (%.4f) half period %.4f (%.4f)\n", f, d, b, seen.amplitude,
                      f * delay - d, seen.half_period, 2.0 * delay + b / f);
        assert_true(seen.n_turns > 15);
        assert_near(seen.amplitude, f * (delay + tick) - d, 1.01 * f * tick);
        assert_near(seen.half_period, 2.0 * (delay + tick) + floor(b / f / tick) * tick, 2.01 * tick);
    }
}

/* A dead zone wider than the overshoot ends the cycle, play or not. */
static void test_limit_cycle__a_wide_dead_zone_ends_it(void **state)
{
    (void)state;
    for (int has_play = 0; has_play < 2; has_play++) {
        struct rig rig;
        make(&rig, 0.7, 0.7 * 0.5 * (DELAY_TICKS + 3) / 512.0, has_play * 0.1);
        const struct cycle seen = watch(&rig);
        assert_true(seen.n_turns == 0 && rig_rate(&rig) == 0.0);
        make(&rig, 0.7, 0.7 * 0.5 * (DELAY_TICKS - 3) / 512.0, has_play * 0.1);
        assert_true(watch(&rig).n_turns > 15);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_limit_cycle__of_dead_zone_and_play_is_the_exact_one),
        cmocka_unit_test(test_limit_cycle__a_wide_dead_zone_ends_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
