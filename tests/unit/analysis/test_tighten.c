/* What tightening buys, by reweighting, against exact odds: the sum of independent normal numbers stays normal whatever is done to
 * the spread of one of them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/tighten.h"
#include "numeric/numeric.h"
#include "support/fared.h"
#include "support/models.h"

static const double slope[3] = {0.8, 0.5, 0.3316624790355400}; /* squares add up to 1 */

static struct rc_tighten_table *weights_of_normal; /* mean 5, sd 2 */

static int make_table(void **state)
{
    (void)state;
    const struct rc_distribution normal = {.kind = rc_distribution_find("normal"), .p = {5.0, 2.0}};
    struct rc_error err;
    return rc_tighten_table_create(&weights_of_normal, &normal, &err) != RC_OK || !weights_of_normal;
}

static int free_table(void **state)
{
    (void)state;
    rc_tighten_table_free(weights_of_normal);
    return 0;
}

/* Flights of z . slope <= limit, quantity 0 in its own unit (mean 5, sd 2). */
static void fly(uint64_t seed, int n, double limit, double *values, unsigned char *met)
{
    for (int flight = 0; flight < n; flight++) {
        double sum = 0.0;
        for (int input = 0; input < 3; input++) {
            const double z = rc_special_normal_quantile(model_uniform(seed, (uint64_t)flight, input));
            sum += slope[input] * z;
            if (input == 0)
                values[flight] = 5.0 + 2.0 * z;
        }
        met[flight] = sum <= limit;
    }
}

/* The exact odds after a change of quantity 0. */
static double exact(double limit, enum rc_tighten_change change)
{
    const double scale = change == RC_TIGHTEN_HALF ? 0.5 : change == RC_TIGHTEN_TENTH ? 0.1 : 1.0;
    const double shift = change == RC_TIGHTEN_UP ? 0.5 : change == RC_TIGHTEN_DOWN ? -0.5 : 0.0;
    const double sd = sqrt(1.0 - slope[0] * slope[0] * (1.0 - scale * scale));
    return rc_special_normal_cdf((limit - slope[0] * shift) / sd);
}

/* One campaign's flights. */
struct flights {
    const struct rc_tighten_table *table;
    int n;
    double *values, *weights;
    unsigned char *met;
};

static struct flights flown(uint64_t seed, int n, double limit)
{
    const struct flights flights = {weights_of_normal, n, malloc((size_t)n * sizeof(double)), malloc((size_t)n * sizeof(double)), malloc((size_t)n)};
    fly(seed, n, limit, flights.values, flights.met);
    return flights;
}

static void land(struct flights flights)
{
    free(flights.values);
    free(flights.weights);
    free(flights.met);
}

static struct rc_tightened reweight(const struct flights *flights, enum rc_tighten_change change, int n_groups)
{
    struct rc_tighten_sums sums = {.n_groups = n_groups};
    for (int flight = 0; flight < flights->n; flight++)
        flights->weights[flight] = 1.0;
    rc_tighten_weigh(flights->table, change, flights->values, flights->n, flights->weights);
    rc_tighten_add(&sums, 0, flights->n, flights->met, flights->weights);
    return rc_tighten_odds(&sums, 0.95);
}

static void test_tighten__odds_after_a_change_are_the_exact_ones(void **state)
{
    (void)state;
    const struct flights flights = flown(1, 100000, 0.9);
    for (int change = 0; change < RC_N_TIGHTEN; change++) {
        const struct rc_tightened found = reweight(&flights, (enum rc_tighten_change)change, 0);
        const double wanted = exact(0.9, (enum rc_tighten_change)change);
        if (!found.is_supported || fabs(found.odds - wanted) > 0.006)
            fail_msg("change %d: got %.5f (%s), wanted %.5f", change, found.odds, found.why, wanted);
        /* the gain is surer than its ends: the same flights are on both sides */
        assert_true(found.gain_low <= wanted - rc_special_normal_cdf(0.9) && wanted - rc_special_normal_cdf(0.9) <= found.gain_high);
    }
    land(flights);
}

/* Kong's effective sample size of a normal density held to a share s of its spread: n s sqrt(2 - s^2), by a Gaussian integral. */
static void test_tighten__effective_flights_are_as_theory_says(void **state)
{
    (void)state;
    const struct flights flights = flown(2, 100000, 0.9);
    const struct rc_tightened half = reweight(&flights, RC_TIGHTEN_HALF, 0);
    assert_true(fabs(half.effective / 100000.0 - 0.5 * sqrt(1.75)) < 0.01);
    const struct rc_tightened tenth = reweight(&flights, RC_TIGHTEN_TENTH, 0);
    assert_true(fabs(tenth.effective / 100000.0 - 0.1 * sqrt(1.99)) < 0.005);
    const struct rc_tightened up = reweight(&flights, RC_TIGHTEN_UP, 0);
    assert_true(fabs(up.effective / 100000.0 - exp(-0.25)) < 0.01);
    land(flights);
}

static void test_tighten__intervals_hold_the_truth(void **state)
{
    (void)state;
    enum { REPEATS = 1000 };
    static const char *const name[RC_N_TIGHTEN] = {"odds at half", "odds at a tenth", "odds moved up", "odds moved down"};
    struct fared odds[RC_N_TIGHTEN] = {{.n = 0}}, gains[RC_N_TIGHTEN] = {{.n = 0}};
    for (uint64_t seed = 500; seed < 500 + REPEATS; seed++) {
        const struct flights flights = flown(seed, 2000, 0.9);
        for (int change = 0; change < RC_N_TIGHTEN; change++) {
            const double wanted = exact(0.9, (enum rc_tighten_change)change);
            const struct rc_tightened found = reweight(&flights, (enum rc_tighten_change)change, seed % 2 == 0 ? 0 : 16);
            fared_take(&odds[change], found.odds, found.low, found.high, wanted);
            fared_take(&gains[change], found.gain, found.gain_low, found.gain_high, wanted - rc_special_normal_cdf(0.9));
        }
        land(flights);
    }
    for (int change = 0; change < RC_N_TIGHTEN; change++) {
        print_message("%s: held in %d of %d\n", name[change], odds[change].n_held, REPEATS);
        assert_true(odds[change].n_held >= 0.94 * REPEATS);
        if (change != RC_TIGHTEN_DOWN)
            fared_judge(name[change], &odds[change], 0);
        fared_judge("its gain", &gains[change], 0);
    }
    /* Moved down, failures have small weights and the odds are better known than by Kong's effective flights, n e^(-1/4), to which
     * the interval is held: it is to be the exact one of so many, whose normal stand-in is this wide. */
    const double p = exact(0.9, RC_TIGHTEN_DOWN);
    const double wide = odds[RC_TIGHTEN_DOWN].width / REPEATS / (2.0 * 1.96 * sqrt(p * (1.0 - p) / (2000.0 * exp(-0.25))));
    print_message("odds moved down: %.2f times as wide as the effective flights ask\n", wide);
    assert_true(wide > 0.95 && wide < 1.2);
}

static void test_tighten__too_few_flights_are_refused_with_how_many_more(void **state)
{
    (void)state;
    const struct flights flights = flown(3, 1000, 0.9);
    const struct rc_tightened found = reweight(&flights, RC_TIGHTEN_TENTH, 0);
    land(flights);
    assert_true(!found.is_supported && isnan(found.odds) && found.why[0] != '\0');
    assert_true(found.more_flights > 200 && found.more_flights < 800); /* 1,418 would do in the mean */
}

/* A uniform quantity moved up draws where no flight has been. */
static void test_tighten__values_not_covered_are_refused(void **state)
{
    (void)state;
    enum { N = 5000 };
    const struct rc_distribution uniform = {.kind = rc_distribution_find("uniform"), .p = {2.0, 4.0}};
    struct rc_tighten_table *table = NULL;
    struct rc_error err;
    static double values[N], weights[N];
    static unsigned char met[N];
    assert_int_equal(rc_tighten_table_create(&table, &uniform, &err), RC_OK);
    for (int change = 0; change < RC_N_TIGHTEN; change++) {
        struct rc_tighten_sums sums = {.n_groups = 0};
        for (int flight = 0; flight < N; flight++) {
            values[flight] = 2.0 + 2.0 * model_uniform(4, (uint64_t)flight, 0);
            weights[flight] = 1.0;
            met[flight] = values[flight] < 2.9;
        }
        rc_tighten_weigh(table, (enum rc_tighten_change)change, values, N, weights);
        rc_tighten_add(&sums, 0, N, met, weights);
        const struct rc_tightened found = rc_tighten_odds(&sums, 0.95);
        assert_int_equal(found.is_supported, change == RC_TIGHTEN_HALF || change == RC_TIGHTEN_TENTH);
        if (change == RC_TIGHTEN_HALF) /* uniform 2.5 .. 3.5 then */
            assert_true(fabs(found.odds - 0.4) < 0.03);
        if (change == RC_TIGHTEN_UP)
            assert_int_equal(found.more_flights, -1);
    }
    rc_tighten_table_free(table);
}

static void test_tighten__separate_values_have_no_spread_to_shrink(void **state)
{
    (void)state;
    const struct rc_distribution chance = {.kind = rc_distribution_find("chance"), .p = {0.9, 1.0, 0.0}};
    struct rc_tighten_table *table = NULL;
    struct rc_error err;
    assert_int_equal(rc_tighten_table_create(&table, &chance, &err), RC_OK);
    assert_null(table);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tighten__odds_after_a_change_are_the_exact_ones),
        cmocka_unit_test(test_tighten__effective_flights_are_as_theory_says),
        cmocka_unit_test(test_tighten__intervals_hold_the_truth),
        cmocka_unit_test(test_tighten__too_few_flights_are_refused_with_how_many_more),
        cmocka_unit_test(test_tighten__values_not_covered_are_refused),
        cmocka_unit_test(test_tighten__separate_values_have_no_spread_to_shrink),
    };
    return cmocka_run_group_tests(tests, make_table, free_table);
}
