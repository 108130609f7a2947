/* The lanes' own functions against the C library in long double, and rounding against nearbyint. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "numeric/lane_math.h"

/* As the header promises: absolute error below 4e-16. */
static void check_sincos(double x)
{
    double sine = NAN, cosine = NAN;
    rc_lane_sincos(x, &sine, &cosine);
    const long double sine_off = fabsl((long double)sine - sinl((long double)x));
    const long double cosine_off = fabsl((long double)cosine - cosl((long double)x));
    if (!(sine_off <= 4e-16L) || !(cosine_off <= 4e-16L))
        fail_msg("at %.17g: sine %.3Lg off, cosine %.3Lg off", x, sine_off, cosine_off);
    const long double alone_off = fabsl((long double)rc_lane_sine(x) - sinl((long double)x));
    if (!(alone_off <= 6e-16L))
        fail_msg("at %.17g: sine alone %.3Lg off", x, alone_off);
}

static void test_lane_math__sincos_is_within_4e_16_of_long_double(void **state)
{
    (void)state;
    uint64_t row = 1;
    for (int i = 0; i < 300000; i++) {
        row = row * 6364136223846793005ULL + 1442695040888963407ULL;
        const double unit = 2.0 * (double)(row >> 11) * 0x1p-53 - 1.0;
        check_sincos(unit * (i % 3 == 0 ? 1e4 : (i % 3 == 1 ? 10.0 : 1e6)));
    }
    for (double x = 1e-320; x < 1.0; x *= 8.0) {
        check_sincos(x);
        check_sincos(-x);
    }
}

/* At and next to every eighth of a turn, where the quarter or its sign changes. */
static void test_lane_math__sincos_holds_at_the_edges_of_quarters(void **state)
{
    (void)state;
    for (int eighth = -13000; eighth <= 13000; eighth++) {
        const double x = eighth * (RC_PI / 4.0);
        check_sincos(x);
        check_sincos(nextafter(x, 1e9));
        check_sincos(nextafter(x, -1e9));
        check_sincos(x + 1e-7);
        check_sincos(x - 1e-7);
    }
    double sine = NAN, cosine = NAN;
    rc_lane_sincos(0.0, &sine, &cosine);
    assert_true(sine == 0.0 && cosine == 1.0);
}

static void test_lane_math__log_is_within_4e_16_of_long_double(void **state)
{
    (void)state;
    uint64_t row = 3;
    for (int i = 0; i < 200000; i++) {
        row = row * 6364136223846793005ULL + 1442695040888963407ULL;
        const double unit = (double)((row >> 11) + 1) * 0x1p-53;
        const double x = i % 2 == 0 ? unit * 4.0 : exp(unit * 1400.0 - 700.0);
        const long double truth = logl((long double)x);
        assert_true(fabsl((long double)rc_lane_log(x) - truth) <= 4e-16L * fmaxl(1.0L, fabsl(truth)));
    }
    assert_true(rc_lane_log(1.0) == 0.0 && fabs(rc_lane_log(0.5) + 0.69314718055994531) <= 2e-16);
}

static void test_lane_math__clamp_is_the_three_cases(void **state)
{
    (void)state;
    static const double rows[][3] = { { 2.0, 1.0, 1.0 }, { -2.0, 1.0, -1.0 }, { 0.5, 1.0, 0.5 }, { -0.5, 1.0, -0.5 },
                                      { 1.0, INFINITY, 1.0 }, { -1e300, INFINITY, -1e300 }, { 3.0, 0.0, 0.0 } };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_true(rc_lane_clamp(rows[i][0], rows[i][1]) == rows[i][2]);
    assert_true(isnan(rc_lane_clamp(NAN, 1.0)));
    assert_true(signbit(rc_lane_clamp(-0.0, 1.0)) && !signbit(rc_lane_abs(-0.0)) && rc_lane_abs(-3.0) == 3.0);
}

static void test_lane_math__sincos_passes_on_what_is_no_number(void **state)
{
    (void)state;
    static const double odd[] = { NAN, INFINITY, -INFINITY };
    for (int i = 0; i < 3; i++) {
        double sine = 0.0, cosine = 0.0;
        rc_lane_sincos(odd[i], &sine, &cosine);
        assert_true(isnan(sine) && isnan(cosine));
    }
}

/* Halves go to the even neighbour, as nearbyint does in the default rounding. */
static void test_lane_math__round_goes_to_the_nearest_and_halves_to_even(void **state)
{
    (void)state;
    assert_true(rc_lane_round(0.5) == 0.0 && rc_lane_round(1.5) == 2.0 && rc_lane_round(2.5) == 2.0);
    assert_true(rc_lane_round(-0.5) == 0.0 && rc_lane_round(-1.5) == -2.0 && rc_lane_round(-2.5) == -2.0);
    assert_true(rc_lane_round(nextafter(0.5, 0.0)) == 0.0 && rc_lane_round(nextafter(0.5, 1.0)) == 1.0);
    for (double x = -2000.0; x <= 2000.0; x += 0.125)
        assert_true(rc_lane_round(x) == nearbyint(x));
    for (int power = 10; power <= 50; power++) {
        const double x = ldexp(1.0, power);
        const double around[] = { x - 0.5, x, x + 0.5, x + 0.25, x - 0.25 };
        for (int i = 0; i < 5; i++) {
            assert_true(rc_lane_round(around[i]) == nearbyint(around[i]));
            assert_true(rc_lane_round(-around[i]) == nearbyint(-around[i]));
        }
    }
}

static void test_lane_math__clamp_pick_and_extremes_do_what_they_say(void **state)
{
    (void)state;
    assert_true(rc_lane_clamp(3.0, 2.0) == 2.0 && rc_lane_clamp(-3.0, 2.0) == -2.0 && rc_lane_clamp(1.0, 2.0) == 1.0);
    assert_true(rc_lane_clamp(2.0, 2.0) == 2.0 && rc_lane_clamp(5.0, 0.0) == 0.0 && rc_lane_clamp(5.0, INFINITY) == 5.0);
    assert_true(rc_lane_pick(1.0, 7.0, 8.0) == 7.0 && rc_lane_pick(0.0, 7.0, 8.0) == 8.0);
    assert_true(rc_lane_either(0.0, 0.0) == 0.0 && rc_lane_either(1.0, 0.0) == 1.0 && rc_lane_either(0.0, 1.0) == 1.0);
    assert_true(rc_lane_min(1.0, 2.0) == 1.0 && rc_lane_min(2.0, 1.0) == 1.0);
    assert_true(rc_lane_max(1.0, 2.0) == 2.0 && rc_lane_max(2.0, 1.0) == 2.0);
    assert_true(rc_lane_abs(-3.0) == 3.0 && rc_lane_abs(3.0) == 3.0 && rc_lane_abs(0.0) == 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lane_math__sincos_is_within_4e_16_of_long_double),
        cmocka_unit_test(test_lane_math__sincos_holds_at_the_edges_of_quarters),
        cmocka_unit_test(test_lane_math__log_is_within_4e_16_of_long_double),
        cmocka_unit_test(test_lane_math__clamp_is_the_three_cases),
        cmocka_unit_test(test_lane_math__sincos_passes_on_what_is_no_number),
        cmocka_unit_test(test_lane_math__round_goes_to_the_nearest_and_halves_to_even),
        cmocka_unit_test(test_lane_math__clamp_pick_and_extremes_do_what_they_say),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
