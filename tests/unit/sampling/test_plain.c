/* The plain plan: draws that depend on seed, flight and path only, independent, with the right moments, inside the allowed range. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/base.h"
#include "sampling/sampling.h"

static struct rc_uncertain quantity_of(const char *path, const char *kind, double first, double second)
{
    struct rc_uncertain quantity = {.low = -1e9, .high = 1e9};
    (void)snprintf(quantity.path, sizeof quantity.path, "%s", path);
    quantity.path_hash = rc_hash_bytes(RC_FNV_START, path, strlen(path));
    quantity.distribution.kind = rc_distribution_find(kind);
    assert_non_null(quantity.distribution.kind);
    quantity.distribution.p[0] = first;
    quantity.distribution.p[1] = second;
    return quantity;
}

static void draw(struct rc_uncertain *quantity, int n, uint64_t seed, uint64_t flight, double *values)
{
    const struct rc_sampling sampling = {.n = n, .quantity = quantity};
    rc_plan_find("plain")->draw(&sampling, seed, flight, values);
}

static void test_plain__registry_finds_plain(void **state)
{
    (void)state;
    assert_ptr_equal(rc_plan_at(0), rc_plan_find("plain"));
    assert_string_equal(rc_plan_at(0)->name, "plain");
    assert_true(strlen(rc_plan_at(0)->summary) > 0);
    assert_null(rc_plan_at(rc_plan_count()));
    assert_null(rc_plan_at(-1));
    assert_null(rc_plan_find("fancy"));
}

static void test_plain__same_flight_gives_same_bits(void **state)
{
    (void)state;
    struct rc_uncertain quantity[2] = {quantity_of("a", "normal", 0.0, 1.0), quantity_of("b", "uniform", 0.0, 1.0)};
    double first[2];
    double other[2];
    double again[2];
    draw(quantity, 2, 5, 1234, first);
    draw(quantity, 2, 5, 77, other);
    draw(quantity, 2, 5, 1234, again);
    assert_memory_equal(first, again, sizeof first);
    assert_true(first[0] != other[0] && first[1] != other[1]);
    draw(quantity, 2, 6, 1234, other);
    assert_true(first[0] != other[0] && first[1] != other[1]);
}

/* Two designs at one seed are paired only if this holds. */
static void test_plain__adding_or_reordering_quantities_leaves_other_draws(void **state)
{
    (void)state;
    struct rc_uncertain small[2] = {quantity_of("fins[0].cant_deg", "normal", 0.0, 0.05), quantity_of("wind.speed", "lognormal", 4.0, 0.5)};
    struct rc_uncertain large[4] = {quantity_of("motor.impulse", "uniform", 0.9, 1.1), small[1], quantity_of("gyro.bias", "normal", 0, 1),
                                    small[0]};
    for (uint64_t flight = 0; flight < 1000; flight++) {
        double few[2];
        double many[4];
        draw(small, 2, 42, flight, few);
        draw(large, 4, 42, flight, many);
        assert_memory_equal(&few[0], &many[3], sizeof few[0]);
        assert_memory_equal(&few[1], &many[1], sizeof few[1]);
    }
}

/* A changed distribution moves the value but not the uniform number behind it. */
static void test_plain__changed_spread_keeps_the_uniform(void **state)
{
    (void)state;
    for (uint64_t flight = 0; flight < 100; flight++) {
        struct rc_uncertain wide = quantity_of("drive.floor_dps", "uniform", 0.0, 2.0);
        struct rc_uncertain narrow = quantity_of("drive.floor_dps", "uniform", 0.0, 1.0);
        double two = 0.0;
        double one = 0.0;
        draw(&wide, 1, 9, flight, &two);
        draw(&narrow, 1, 9, flight, &one);
        assert_true(two == 2.0 * one);
    }
}

static void test_plain__draws_are_held_in_the_allowed_range(void **state)
{
    (void)state;
    struct rc_uncertain quantity = quantity_of("friction", "normal", 0.0, 1.0);
    quantity.low = -0.5;
    quantity.high = 0.25;
    int n_low = 0;
    int n_high = 0;
    for (uint64_t flight = 0; flight < 4000; flight++) {
        double value = 0.0;
        draw(&quantity, 1, 1, flight, &value);
        assert_true(value >= -0.5 && value <= 0.25);
        n_low += value == -0.5;
        n_high += value == 0.25;
    }
    /* shares 0.3085 and 0.4013 of the normal lie beyond; 5 standard errors of 4000 draws */
    assert_in_range(n_low, 1088, 1380);
    assert_in_range(n_high, 1451, 1760);
}

enum { N_FLIGHTS = 1 << 17 };

static double *many_draws(const struct rc_uncertain *quantity)
{
    double *values = malloc(N_FLIGHTS * sizeof *values);
    assert_non_null(values);
    struct rc_uncertain one = *quantity;
    for (uint64_t flight = 0; flight < N_FLIGHTS; flight++)
        draw(&one, 1, 2024, flight, &values[flight]);
    return values;
}

/* Mean and variance of 131072 draws within 4 standard errors of the exact ones; the error of the variance comes from the draws'
 * fourth moment. */
static void test_plain__moments_are_the_distributions(void **state)
{
    (void)state;
    const struct rc_uncertain cases[] = {quantity_of("a", "normal", 12.5, 0.35), quantity_of("b", "uniform", -3.0, 7.0),
                                         quantity_of("c", "lognormal", 1.0, 0.25)};
    for (size_t index = 0; index < sizeof cases / sizeof cases[0]; index++) {
        const struct rc_distribution *distribution = &cases[index].distribution;
        const double mean = distribution->kind->mean(distribution->p);
        const double sd = distribution->kind->sd(distribution->p);
        double *values = many_draws(&cases[index]);
        double sum[3] = {0.0, 0.0, 0.0};
        for (int flight = 0; flight < N_FLIGHTS; flight++) {
            const double z = (values[flight] - mean) / sd;
            sum[0] += z;
            sum[1] += z * z - 1.0;
            sum[2] += (z * z - 1.0) * (z * z - 1.0);
        }
        free(values);
        assert_true(fabs(sum[0]) < 4.0 * sqrt(N_FLIGHTS));
        assert_true(fabs(sum[1]) < 4.0 * sqrt(sum[2]));
    }
}

/* Correlation of uniforms at a lag in flights, in standard errors. */
static double lag_correlation(const double *one, const double *other, int lag)
{
    double sum = 0.0;
    for (int flight = 0; flight + lag < N_FLIGHTS; flight++)
        sum += (one[flight] - 0.5) * (other[flight + lag] - 0.5);
    return sum * 12.0 / sqrt(N_FLIGHTS - lag);
}

/* Streams numbered by flight fail this at lags 2, 4 and 8 by up to 81 standard errors (docs/theory.md, "Random streams"). */
static void test_plain__neighbouring_flights_and_quantities_are_uncorrelated(void **state)
{
    (void)state;
    const struct rc_uncertain first = quantity_of("fins[0].misalignment_deg[0]", "uniform", 0.0, 1.0);
    const struct rc_uncertain second = quantity_of("fins[0].misalignment_deg[1]", "uniform", 0.0, 1.0);
    double *one = many_draws(&first);
    double *other = many_draws(&second);
    for (int lag = 0; lag <= 64; lag++) {
        const double across = lag_correlation(one, other, lag);
        if (!(fabs(across) < 4.0))
            fail_msg("quantities at lag %d correlate by %.2f standard errors", lag, across);
        const double along = lag > 0 ? lag_correlation(one, one, lag) : 0.0;
        if (!(fabs(along) < 4.0))
            fail_msg("flights at lag %d correlate by %.2f standard errors", lag, along);
    }
    free(one);
    free(other);
}

/* Pairs of neighbouring flights over a 32 x 32 board: chi-square with 1023 degrees of freedom, mean 1023, sd 45.2. Too even is as
 * wrong as too uneven. */
static void test_plain__neighbouring_flights_fill_the_square_evenly(void **state)
{
    (void)state;
    const struct rc_uncertain quantity = quantity_of("wind.direction_deg", "uniform", 0.0, 1.0);
    double *values = many_draws(&quantity);
    static int n_in[32][32];
    for (int flight = 0; flight < N_FLIGHTS; flight += 2)
        n_in[(int)(32.0 * values[flight])][(int)(32.0 * values[flight + 1])]++;
    free(values);
    const double expected = N_FLIGHTS / 2.0 / 1024.0;
    double chi_square = 0.0;
    for (int cell = 0; cell < 1024; cell++)
        chi_square += (n_in[cell / 32][cell % 32] - expected) * (n_in[cell / 32][cell % 32] - expected) / expected;
    assert_true(fabs(chi_square - 1023.0) < 4.0 * sqrt(2.0 * 1023.0));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_plain__registry_finds_plain),
        cmocka_unit_test(test_plain__same_flight_gives_same_bits),
        cmocka_unit_test(test_plain__adding_or_reordering_quantities_leaves_other_draws),
        cmocka_unit_test(test_plain__changed_spread_keeps_the_uniform),
        cmocka_unit_test(test_plain__draws_are_held_in_the_allowed_range),
        cmocka_unit_test(test_plain__moments_are_the_distributions),
        cmocka_unit_test(test_plain__neighbouring_flights_and_quantities_are_uncorrelated),
        cmocka_unit_test(test_plain__neighbouring_flights_fill_the_square_evenly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
