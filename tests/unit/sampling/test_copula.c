/* Quantities that vary together: rank correlations reached under every plan, marginals and other draws untouched, what cannot be
 * together refused by the pair. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sampling_case.h"

enum { N_FLIGHTS = 1 << 15 };

/* Ranks 0 .. n-1 of a column without ties. */
struct ranked {
    double value;
    int place;
};

static int by_value(const void *one, const void *other)
{
    const double difference = ((const struct ranked *)one)->value - ((const struct ranked *)other)->value;
    return (difference > 0.0) - (difference < 0.0);
}

static void ranks_of(const double *values, double *ranks)
{
    static struct ranked row[N_FLIGHTS];
    for (int flight = 0; flight < N_FLIGHTS; flight++)
        row[flight] = (struct ranked){values[flight], flight};
    qsort(row, N_FLIGHTS, sizeof row[0], by_value);
    for (int rank = 0; rank < N_FLIGHTS; rank++)
        ranks[row[rank].place] = rank;
}

static double spearman(const double *one, const double *other)
{
    static double ranks[2][N_FLIGHTS];
    ranks_of(one, ranks[0]);
    ranks_of(other, ranks[1]);
    const double n = N_FLIGHTS;
    double squares = 0.0;
    for (int flight = 0; flight < N_FLIGHTS; flight++)
        squares += (ranks[0][flight] - ranks[1][flight]) * (ranks[0][flight] - ranks[1][flight]);
    return 1.0 - 6.0 * squares / (n * (n * n - 1.0));
}

static struct rc_copula *copula_of(const struct rc_sampling *sampling, const struct rc_rank_pair *pair, int n_pairs)
{
    struct rc_copula *copula = NULL;
    struct rc_error err;
    if (rc_copula_create(&copula, sampling, pair, n_pairs, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    return copula;
}

/* The standard error of a rank correlation of n flights is at most 1/sqrt(n - 1) = 0.0055 (at no correlation); 4 of them. */
static void test_copula__wanted_ranks_are_reached_under_every_plan(void **state)
{
    (void)state;
    static double column[4][N_FLIGHTS];
    struct rc_uncertain quantity[4] = {sampling_quantity("a", "normal", 3.0, 0.5), sampling_quantity("b", "lognormal", 1.0, 0.8),
                                       sampling_quantity("c", "uniform", -1.0, 4.0), sampling_quantity("d", "weibull", 2.0, 8.5)};
    const struct rc_rank_pair pair[] = {{0, 1, 0.6}, {3, 0, -0.4}};
    struct rc_sampling sampling = {.n = 4, .quantity = quantity, .n_planned = N_FLIGHTS};
    struct rc_copula *copula = copula_of(&sampling, pair, 2);
    sampling.copula = copula;
    for (int index = 0; index < rc_plan_count(); index++) {
        if (rc_plan_at(index)->counts) /* such a plan refuses a copula */
            continue;
        for (int flight = 0; flight < N_FLIGHTS; flight++) {
            double x[4];
            rc_plan_at(index)->draw(&sampling, 99, (uint64_t)flight, x);
            for (int k = 0; k < 4; k++)
                column[k][flight] = x[k];
        }
        assert_true(fabs(spearman(column[0], column[1]) - 0.6) < 4.0 * 0.0055);
        assert_true(fabs(spearman(column[0], column[3]) + 0.4) < 4.0 * 0.0055);
        assert_true(fabs(spearman(column[1], column[3])) < 4.0 * 0.0055); /* not named */
        assert_true(fabs(spearman(column[0], column[2])) < 4.0 * 0.0055); /* no member */
        for (int k = 0; k < 4; k++) {
            double sum = 0.0;
            for (int flight = 0; flight < N_FLIGHTS; flight++)
                sum += column[k][flight];
            const double sd = rc_distribution_sd(&quantity[k].distribution);
            assert_true(fabs(sum / N_FLIGHTS - rc_distribution_mean(&quantity[k].distribution)) < 4.0 * sd / sqrt(N_FLIGHTS));
        }
    }
    rc_copula_free(copula);
}

/* Quantities that are in no pair keep the same bits, and so does the first member of a group but for its way through the
 * score. */
static void test_copula__other_draws_keep_their_bits(void **state)
{
    (void)state;
    struct rc_uncertain quantity[4];
    sampling_unit_cube(quantity, 4);
    const struct rc_rank_pair pair[] = {{1, 3, 0.9}};
    const struct rc_sampling apart = {.n = 4, .quantity = quantity, .n_planned = 1000};
    struct rc_copula *copula = copula_of(&apart, pair, 1);
    struct rc_sampling together = apart;
    together.copula = copula;
    assert_int_equal(rc_copula_count(copula), 2);
    assert_int_equal(rc_copula_member(copula, 1), 3);
    for (int index = 0; index < rc_plan_count(); index++) {
        for (uint64_t flight = 0; flight < 500; flight++) {
            double one[4];
            double other[4];
            rc_plan_at(index)->draw(&apart, 4, flight, one);
            rc_plan_at(index)->draw(&together, 4, flight, other);
            assert_memory_equal(&one[0], &other[0], sizeof one[0]);
            assert_memory_equal(&one[2], &other[2], sizeof one[2]);
            assert_true(fabs(one[1] - other[1]) < 1e-14);
            assert_true(one[3] != other[3]);
        }
    }
    rc_copula_free(copula);
}

/* Independent scores of 5 and 5 under a score correlation of 1/sqrt(2) mix to 5 sqrt(2), whose upper tail is erfc(5)/2: one minus
 * the lower one would keep four digits of it. source erfc(5) = 1.5374597944280349e-12, Abramowitz and Stegun 1964, table 7.3 (from
 * memory; confirmed with SciPy) */
static void test_copula__far_tails_keep_their_digits(void **state)
{
    (void)state;
    struct rc_uncertain quantity[2];
    sampling_unit_cube(quantity, 2);
    const struct rc_sampling sampling = {.n = 2, .quantity = quantity, .n_planned = 1000};
    const struct rc_rank_pair pair = {0, 1, 6.0 / acos(-1.0) * asin(0.5 * sqrt(0.5))};
    struct rc_copula *copula = copula_of(&sampling, &pair, 1);
    const double tail_of_5 = 2.866515718791939e-07, wanted = 0.5 * 1.5374597944280349e-12;
    const double high[2] = {1.0 - tail_of_5, 1.0 - tail_of_5}, low[2] = {tail_of_5, tail_of_5};
    double lower = 0.0, upper = 0.0;
    rc_copula_tails(copula, 1, high, &lower, &upper);
    if (!(fabs(upper / wanted - 1.0) < 1e-7) || !(lower <= 1.0 && lower > 1.0 - 1e-11))
        fail_msg("tails %.17g and %.17g, wanted %.17g above", lower, upper, wanted);
    rc_copula_tails(copula, 1, low, &lower, &upper);
    if (!(fabs(lower / wanted - 1.0) < 1e-7) || !(upper <= 1.0 && upper > 1.0 - 1e-11))
        fail_msg("tails %.17g and %.17g, wanted %.17g below", lower, upper, wanted);
    rc_copula_free(copula);
}

/* A member of the copula is held in its quantity's allowed range as any other quantity is. */
static void test_copula__members_stay_in_their_range(void **state)
{
    (void)state;
    struct rc_uncertain quantity[2] = {sampling_quantity("a", "normal", 0.0, 1.0), sampling_quantity("b", "normal", 0.0, 1.0)};
    quantity[1].low = -0.5;
    quantity[1].high = 0.75;
    const struct rc_rank_pair pair = {0, 1, 0.6};
    struct rc_sampling sampling = {.n = 2, .quantity = quantity, .n_planned = 1000};
    struct rc_copula *copula = copula_of(&sampling, &pair, 1);
    sampling.copula = copula;
    int n_low = 0, n_high = 0;
    for (uint64_t flight = 0; flight < 1000; flight++) {
        double x[2];
        rc_plan_find("plain")->draw(&sampling, 8, flight, x);
        assert_true(x[1] >= -0.5 && x[1] <= 0.75);
        n_low += x[1] == -0.5;
        n_high += x[1] == 0.75;
    }
    assert_true(n_low > 250 && n_high > 180); /* 309 and 227 expected, 15 and 13 their standard deviations */
    rc_copula_free(copula);
}

static rc_status create(const struct rc_rank_pair *pair, int n_pairs, struct rc_error *err)
{
    struct rc_uncertain quantity[4] = {sampling_quantity("motor.impulse_factor", "normal", 1.0, 0.02),
                                       sampling_quantity("motor.burn_time_factor", "normal", 1.0, 0.02),
                                       sampling_quantity("wind.speed_mps", "normal", 5.0, 1.0),
                                       sampling_quantity("wind.from_deg", "uniform", 0.0, 90.0)};
    const struct rc_sampling sampling = {.n = 4, .quantity = quantity};
    struct rc_copula *copula = NULL;
    const rc_status status = rc_copula_create(&copula, &sampling, pair, n_pairs, err);
    assert_true((status == RC_OK) == (copula != NULL));
    rc_copula_free(copula);
    return status;
}

/* For three quantities the limit is known: r23 lies within r12 r13 +- sqrt((1 - r12^2)(1 - r13^2)) of the score correlations. */
static void test_copula__impossible_pair_is_named_with_its_range(void **state)
{
    (void)state;
    const double r = 2.0 * sin(acos(-1.0) / 6.0 * 0.9);
    const double low = 6.0 / acos(-1.0) * asin(0.5 * (r * r - (1.0 - r * r)));
    struct rc_rank_pair pair[] = {{0, 1, 0.9}, {0, 2, 0.9}, {1, 2, low - 0.001}};
    struct rc_error err = {.status = RC_OK};
    assert_int_equal(create(pair, 3, &err), RC_BAD_INPUT);
    assert_string_equal(err.where, "pairs[2]");
    assert_non_null(strstr(err.what, "motor.burn_time_factor and wind.speed_mps"));
    char range[64];
    (void)snprintf(range, sizeof range, "between %.4f and 1.0000", low);
    if (!strstr(err.what, range))
        fail_msg("\"%s\" does not say \"%s\"", err.what, range);
    pair[2].rank = low + 0.001;
    assert_int_equal(create(pair, 3, &err), RC_OK);
    assert_int_equal(create(pair, 2, &err), RC_BAD_INPUT); /* the third, left out, is 0: below the range too */
    assert_string_equal(err.where, "pairs");
    assert_non_null(strstr(err.what, "not named"));
    /* where the range is narrow, as many digits as tell its ends and the correlation apart */
    const struct rc_rank_pair narrow[] = {{0, 1, 0.9}, {0, 2, 0.99999999}, {1, 2, 0.9001}};
    double told = 0.0, from = 0.0, to = 0.0;
    assert_int_equal(create(narrow, 3, &err), RC_BAD_INPUT);
    const char *ends = strstr(err.what, "must lie between ");
    assert_true(ends && sscanf(ends, "must lie between %lf and %lf", &from, &to) == 2);
    assert_int_equal(sscanf(err.what, "the rank correlation of %lf ", &told), 1);
    if (!(from < to && to < told && told == narrow[2].rank))
        fail_msg("%s", err.what);
    const struct rc_rank_pair inside[] = {narrow[0], narrow[1], {1, 2, 0.5 * (from + to)}};
    assert_int_equal(create(inside, 3, &err), RC_OK);
    /* all three at 0.9 are fine together, though the first two alone are not */
    pair[2].rank = 0.9;
    assert_int_equal(create(pair, 3, &err), RC_OK);
}

static void test_copula__bad_pairs_are_refused(void **state)
{
    (void)state;
    const struct {
        struct rc_rank_pair pair[3];
        int n;
        const char *where, *part;
    } bad[] = {
        {{{2, 2, 0.5}}, 1, "pairs[0]", "itself"},
        {{{0, 1, 1.0}}, 1, "pairs[0]", "below 1"},
        {{{0, 1, -1.5}}, 1, "pairs[0]", "below 1"},
        {{{0, 1, NAN}}, 1, "pairs[0]", "below 1"},
        {{{0, 1, 0.5}, {0, 2, 0.1}, {2, 0, 0.5}}, 3, "pairs[2]", "twice: entry 1 of the list"},
    };
    for (size_t row = 0; row < sizeof bad / sizeof bad[0]; row++) {
        struct rc_error err = {.status = RC_OK};
        assert_int_equal(create(bad[row].pair, bad[row].n, &err), RC_BAD_INPUT);
        assert_string_equal(err.where, bad[row].where);
        assert_non_null(strstr(err.what, bad[row].part));
    }
    rc_copula_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_copula__wanted_ranks_are_reached_under_every_plan),
        cmocka_unit_test(test_copula__other_draws_keep_their_bits),
        cmocka_unit_test(test_copula__far_tails_keep_their_digits),
        cmocka_unit_test(test_copula__members_stay_in_their_range),
        cmocka_unit_test(test_copula__impossible_pair_is_named_with_its_range),
        cmocka_unit_test(test_copula__bad_pairs_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
