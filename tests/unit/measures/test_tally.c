/* Running tallies against closed forms and against dense sampling done here. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "measures/tally.h"
#include "physics/near.h"

/* The next of a row of numbers in [low, high). */
static double draw(uint64_t *state, double low, double high)
{
    *state = *state * 6364136223846793005ULL + 1442695040888963407ULL;
    return low + (high - low) * (double)(*state >> 11) * 0x1p-53;
}

/* Closed form: similar triangles. */
static void test_tally__share_within_is_exact_for_linear_crossings(void **state)
{
    (void)state;
    static const struct {
        double start, end, target, share;
    } cases[] = {
        { 0.0, 2.0, 1.0, 0.5 },     { -2.0, 2.0, 1.0, 0.5 },  { 0.5, -0.5, 1.0, 1.0 },   { 2.0, 3.0, 1.0, 0.0 },
        { -2.0, -3.0, 1.0, 0.0 },   { 3.0, -1.0, 1.0, 0.5 },  { -4.0, 4.0, 1.0, 0.25 },  { 1.0, 5.0, 1.0, 0.0 },
        { 0.75, 1.25, 1.0, 0.5 },   { 1.0, 1.0, 1.0, 1.0 },   { -1.0, -1.0, 1.0, 1.0 },  { 1.5, 1.5, 1.0, 0.0 },
        { 0.0, 0.0, 0.0, 1.0 },     { -1.0, 1.0, 0.0, 0.0 },  { 8.0, 0.0, 2.0, 0.25 },
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        assert_near(rc_tally_share_within(cases[i].start, cases[i].end, cases[i].target), cases[i].share, 1e-15);
        assert_near(rc_tally_share_within(cases[i].end, cases[i].start, cases[i].target), cases[i].share, 1e-15);
        assert_near(rc_tally_share_within(-cases[i].start, -cases[i].end, cases[i].target), cases[i].share, 1e-15);
    }
}

static void test_tally__share_within_agrees_with_dense_sampling(void **state)
{
    (void)state;
    enum { N_SAMPLES = 20000 };
    uint64_t row = 5;
    for (int i = 0; i < 300; i++) {
        const double start = draw(&row, -3.0, 3.0), end = draw(&row, -3.0, 3.0), target = draw(&row, 0.0, 2.0);
        int n_inside = 0;
        for (int sample = 0; sample < N_SAMPLES; sample++)
            n_inside += fabs(start + (end - start) * (sample + 0.5) / N_SAMPLES) <= target;
        /* each of at most two crossings costs at most half a sample */
        assert_near(rc_tally_share_within(start, end, target), n_inside / (double)N_SAMPLES, 1.0 / N_SAMPLES + 1e-12);
    }
}

/* A change too small to divide by is taken as none; the share stays within 0 and 1 around it. */
static void test_tally__share_within_is_safe_for_tiny_changes(void **state)
{
    (void)state;
    for (double change = 1e-9; change > 1e-18; change *= 0.5) {
        assert_near(rc_tally_share_within(0.3, 0.3 + change, 1.0), 1.0, 0.0);
        assert_near(rc_tally_share_within(1.3, 1.3 + change, 1.0), 0.0, 0.0);
        const double share = rc_tally_share_within(1.0 - change, 1.0 + change, 1.0);
        assert_true(share >= 0.0 && share <= 1.0);
    }
}

/* Simpson's rule is exact for the square of a linear rate, the midpoint rule for the rate itself: neither is what is tested. */
static void test_tally__square_drift_and_peak_are_exact(void **state)
{
    (void)state;
    struct rc_tally tally;
    memset(&tally, 0, sizeof tally);
    const int lane = RC_LANES - 1;
    uint64_t row = 9;
    double square = 0.0, drift = 0.0, peak = 0.0, held = 0.0;
    for (int i = 0; i < 1000; i++) {
        const double start = draw(&row, -4.0, 4.0), end = draw(&row, -4.0, 4.0), dt = draw(&row, 0.001, 0.01);
        const double middle = 0.5 * (start + end);
        rc_tally_tick(&tally, lane, start, end, 1.0, dt);
        square += dt / 6.0 * (start * start + 4.0 * middle * middle + end * end);
        drift += dt * middle;
        held += dt * rc_tally_share_within(start, end, 1.0);
        peak = fmax(peak, fmax(fabs(start), fabs(end)));
    }
    assert_ratio(tally.square[lane], square, 1e-12);
    assert_near(tally.drift[lane], drift, 1e-12);
    assert_ratio(tally.held[lane], held, 1e-12);
    assert_true(tally.residual_peak[lane] == peak);
    for (int other = 0; other < lane; other++)
        assert_true(tally.square[other] == 0.0 && tally.drift[other] == 0.0 && tally.residual_peak[other] == 0.0);
}

/* Closed form over ten periods of a sine of amplitude 2: rms sqrt(2), no drift, within 1 for a third of the time. */
static void test_tally__sine_gives_its_rms_and_its_share(void **state)
{
    (void)state;
    struct rc_tally tally;
    memset(&tally, 0, sizeof tally);
    enum { N_TICKS = 50000 };
    const double dt = 10.0 / N_TICKS;
    for (int tick = 0; tick < N_TICKS; tick++) {
        const double start = 2.0 * sin(2.0 * RC_PI * tick * dt), end = 2.0 * sin(2.0 * RC_PI * (tick + 1) * dt);
        rc_tally_tick(&tally, 0, start, end, 1.0, dt);
    }
    /* the chords' error: (2 pi dt)^2 / 12 of each value, 1.3e-7 */
    assert_ratio(sqrt(tally.square[0] / 10.0), sqrt(2.0), 2e-7);
    assert_near(tally.drift[0], 0.0, 1e-9);
    assert_ratio(tally.held[0] / 10.0, 1.0 / 3.0, 2e-7);
    assert_ratio(tally.residual_peak[0], 2.0, 1e-9);
}

static void test_tally__frames_count_runs(void **state)
{
    (void)state;
    struct rc_tally tally;
    memset(&tally, 0, sizeof tally);
    static const double usable[] = { 1, 1, 0, 1, 1, 1, 0, 0, 1 };
    static const double run[] = { 1, 2, 0, 1, 2, 3, 0, 0, 1 };
    for (int frame = 0; frame < 9; frame++) {
        rc_tally_frame(&tally, 1, 0, usable[frame]);
        assert_true(tally.run[1][0] == run[frame]);
    }
    assert_true(tally.frames[1][0] == 9.0 && tally.usable[1][0] == 6.0 && tally.longest[1][0] == 3.0);
    assert_true(tally.frames[0][0] == 0.0);
}

/* A flight that ends at a third of a tick has a third of what the tick adds to its integrals, the tick's start, and no more of
 * the rest; of a start and a reversal inside the tick it has those that come before. */
static void test_tally__ends_inside_a_tick(void **state)
{
    (void)state;
    static struct rc_tally before, after, ended;
    memset(&before, 0, sizeof before);
    rc_tally_tick(&before, 0, 1.0, 3.0, 2.0, 0.6);
    after = before;
    rc_tally_tick(&after, 0, 1.0, 1.0, 2.0, 0.3);
    after.starts[0] = 1.0;
    after.asleep[0] = after.slipping[0] = 0.3;
    after.residual_peak[0] = 9.0;
    rc_tally_frame(&after, 0, 0, 1.0);
    ended = before;
    rc_tally_end(&ended, &after, 0, 1.0 / 3.0);
    assert_near(ended.held[0], 0.3 + 0.1, 1e-15);
    assert_near(ended.drift[0], 1.2 + 0.1, 1e-15);
    assert_near(ended.square[0], 0.6 * 13.0 / 3.0 + 0.1, 1e-15);
    assert_near(ended.asleep[0], 0.1, 1e-15);
    assert_near(ended.slipping[0], 0.1, 1e-15);
    assert_true(ended.starts[0] == 1.0 && ended.residual_peak[0] == 3.0 && ended.frames[0][0] == 0.0);
    after.reversals[0] = 2.0;
    for (int late = 0; late <= 1; late++) {
        ended = before;
        after.changed_at[0] = late ? 0.34 : 0.33;
        rc_tally_end(&ended, &after, 0, 1.0 / 3.0);
        assert_true(ended.starts[0] == (late ? 0.0 : 1.0) && ended.reversals[0] == (late ? 0.0 : 2.0));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tally__share_within_is_exact_for_linear_crossings),
        cmocka_unit_test(test_tally__share_within_agrees_with_dense_sampling),
        cmocka_unit_test(test_tally__share_within_is_safe_for_tiny_changes),
        cmocka_unit_test(test_tally__square_drift_and_peak_are_exact),
        cmocka_unit_test(test_tally__sine_gives_its_rms_and_its_share),
        cmocka_unit_test(test_tally__frames_count_runs),
        cmocka_unit_test(test_tally__ends_inside_a_tick),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
