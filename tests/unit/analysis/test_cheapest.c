/* The cheapest way to odds, against all ways tried one by one and against exact odds: a sum of independent normal numbers stays
 * normal whatever is done to the spread of some of them. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/cheapest.h"
#include "numeric/numeric.h"
#include "support/models.h"

enum { ROWS = 5, FLIGHTS = 20000, LEVELS = 3 };

static const double slope[ROWS] = {0.7, 0.5, 0.4, 0.25, 0.194};
static const double cost[ROWS][LEVELS] = {{0, 50, 120}, {0, 22, 41}, {0, 10, 35}, {0, 4, 9}, {0, 30, 90}};
static const double factor[LEVELS] = {1.0, 0.5, 0.1};

static float weight[2 * ROWS][FLIGHTS];
static unsigned char met[FLIGHTS];
static struct rc_cheapest_item item[2 * ROWS];

/* Ratio of the narrower normal density to the standard one. */
static double ratio(double z, double s)
{
    return exp(-0.5 * z * z * (1.0 / (s * s) - 1.0)) / s;
}

static void fly(uint64_t seed, double limit)
{
    for (int flight = 0; flight < FLIGHTS; flight++) {
        double sum = 0.0;
        for (int row = 0; row < ROWS; row++) {
            const double z = rc_special_normal_quantile(model_uniform(seed, (uint64_t)flight, row));
            sum += slope[row] * z;
            for (int level = 1; level < LEVELS; level++)
                weight[2 * row + level - 1][flight] = (float)ratio(z, factor[level]);
        }
        met[flight] = sum <= limit;
    }
    for (int index = 0; index < 2 * ROWS; index++)
        item[index] = (struct rc_cheapest_item){index / 2, cost[index / 2][index % 2 + 1], weight[index]};
}

static double exact(const int level[ROWS], double limit)
{
    double variance = 0.0;
    for (int row = 0; row < ROWS; row++)
        variance += pow(slope[row] * factor[level[row]], 2.0);
    return rc_special_normal_cdf(limit / sqrt(variance));
}

/* Levels of a way. */
static void levels_of(int level[ROWS], const struct rc_cheapest_way *way)
{
    for (int row = 0; row < ROWS; row++)
        level[row] = 0;
    for (int at = 0; at < way->n; at++)
        level[way->item[at] / 2] = way->item[at] % 2 + 1;
}

static double cost_of(const int level[ROWS])
{
    double sum = 0.0;
    for (int row = 0; row < ROWS; row++)
        sum += cost[row][level[row]];
    return sum;
}

/* Every way by hand: self-normalised estimate, Kong's effective flights. out the cheapest whose estimate reaches */
static double cheapest_by_hand(double need, int *n_supported_below)
{
    double least = INFINITY;
    int n_ways = 0;
    double seen[243];
    for (int way = 0; way < 243; way++) {
        int level[ROWS];
        double w = 0.0, w2 = 0.0, wp = 0.0, most = 0.0;
        for (int row = 0, rest = way; row < ROWS; row++, rest /= LEVELS)
            level[row] = rest % LEVELS;
        for (int flight = 0; flight < FLIGHTS; flight++) {
            double product = 1.0;
            for (int row = 0; row < ROWS; row++)
                product *= level[row] > 0 ? (double)weight[2 * row + level[row] - 1][flight] : 1.0;
            w += product;
            w2 += product * product;
            wp += met[flight] ? product : 0.0;
            most = fmax(most, product);
        }
        const double mean = w / FLIGHTS;
        const double error = sqrt(fmax(w2 / FLIGHTS - mean * mean, 0.0) / FLIGHTS);
        if (w * w / w2 < RC_TIGHTEN_LEAST || most > 0.02 * w || fabs(mean - 1.0) > 5.0 * error + 0.005)
            continue;
        seen[n_ways++] = cost_of(level);
        if (wp / w >= need)
            least = fmin(least, cost_of(level));
    }
    *n_supported_below = 0;
    for (int way = 0; way < n_ways; way++)
        *n_supported_below += seen[way] < least;
    return least;
}

static void test_cheapest__is_that_of_all_ways_tried_one_by_one(void **state)
{
    (void)state;
    static struct rc_cheapest found;
    struct rc_error err;
    const struct rc_cheapest_flights flights = {FLIGHTS, 0, met};
    for (int step = 0; step < 4; step++) {
        const double need = 0.93 + 0.01 * step; /* 0.9 as flown */
        int n_below = 0;
        int level[ROWS];
        fly(31 + (uint64_t)step, 1.2816);
        const double wanted = cheapest_by_hand(need, &n_below);
        assert_int_equal(rc_cheapest_search(&found, item, 2 * ROWS, &flights, need, 0.95, &err), RC_OK);
        levels_of(level, &found.likely);
        if (found.likely.n < 0 || fabs(found.likely.cost - wanted) > 1e-9)
            fail_msg("need %.2f: found cost %g, wanted %g", need, found.likely.cost, wanted);
        assert_true(fabs(cost_of(level) - wanted) < 1e-9);
        assert_true(found.shown.n > 0 && found.shown.cost >= wanted && found.shown.after.low >= need);
        assert_true(found.n_judged > n_below); /* none of the cheaper ones was passed over */
        assert_true(found.is_complete);
        print_message("need %.2f: likely %g, shown %g, %d judged, %d not\n", need, found.likely.cost, found.shown.cost,
                      found.n_judged, found.n_unjudged);
    }
}

/* Bounds of a way that other flights judge hold the exact odds: one-sided 95 % each, and not by being idle. */
static void test_cheapest__other_flights_judge_it_honestly(void **state)
{
    (void)state;
    enum { REPEATS = 100 };
    static struct rc_cheapest found;
    struct rc_error err;
    const struct rc_cheapest_flights flights = {FLIGHTS, 0, met};
    int n_low = 0, n_high = 0;
    double width = 0.0;
    for (uint64_t seed = 0; seed < REPEATS; seed++) {
        struct rc_tightened after;
        int level[ROWS];
        fly(1000 + 2 * seed, 1.2816);
        assert_int_equal(rc_cheapest_search(&found, item, 2 * ROWS, &flights, 0.95, 0.95, &err), RC_OK);
        levels_of(level, &found.shown);
        fly(1001 + 2 * seed, 1.2816);
        assert_int_equal(rc_cheapest_judge(&after, &found.shown, item, &flights, 0.9, &err), RC_OK);
        assert_true(after.is_supported);
        n_low += after.low <= exact(level, 1.2816);
        n_high += exact(level, 1.2816) <= after.high;
        width += (after.high - after.low) / REPEATS;
    }
    print_message("lower bound right in %d, upper in %d of %d, mean width %.4f\n", n_low, n_high, REPEATS, width);
    assert_true(n_low >= 89 && n_high >= 89); /* 95 less three standard errors is 88.5 */
    assert_true(width < 0.05);
}

static void test_cheapest__nothing_is_tightened_where_the_odds_are_there(void **state)
{
    (void)state;
    static struct rc_cheapest found;
    struct rc_error err;
    const struct rc_cheapest_flights flights = {FLIGHTS, 0, met};
    fly(7, 1.2816);
    assert_int_equal(rc_cheapest_search(&found, item, 2 * ROWS, &flights, 0.85, 0.95, &err), RC_OK);
    assert_true(found.shown.n == 0 && found.shown.cost == 0.0 && found.n_judged == 1);
}

/* Odds out of reach: all ways are looked at once, the best is told, those that the flights do not carry are counted. */
static void test_cheapest__odds_out_of_reach_are_said_so(void **state)
{
    (void)state;
    static struct rc_cheapest found;
    struct rc_error err;
    const struct rc_cheapest_flights flights = {FLIGHTS, 0, met};
    fly(8, 0.2);
    assert_int_equal(rc_cheapest_search(&found, item, 2 * ROWS, &flights, 0.999, 0.95, &err), RC_OK);
    assert_true(found.shown.n < 0 && found.likely.n < 0 && found.best.n > 0 && found.n_unjudged > 0);
    assert_true(found.n_judged + found.n_unjudged <= 243 && found.is_complete);
    assert_true(found.best.after.odds > 0.6);
}

/* Very many offers: the search ends, and says that it did. */
static void test_cheapest__a_search_that_gives_up_says_so(void **state)
{
    (void)state;
    enum { MANY = 40, FEW = 2000 };
    static struct rc_cheapest found;
    static float one[FEW];
    struct rc_cheapest_item offer[MANY];
    struct rc_error err;
    const struct rc_cheapest_flights flights = {FEW, 0, met};
    fly(9, 0.0);
    for (int flight = 0; flight < FEW; flight++)
        one[flight] = 1.0F;
    for (int index = 0; index < MANY; index++)
        offer[index] = (struct rc_cheapest_item){index, 1.0 + index, one};
    assert_int_equal(rc_cheapest_search(&found, offer, MANY, &flights, 0.99, 0.95, &err), RC_OK);
    assert_true(!found.is_complete && found.shown.n < 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cheapest__is_that_of_all_ways_tried_one_by_one),
        cmocka_unit_test(test_cheapest__other_flights_judge_it_honestly),
        cmocka_unit_test(test_cheapest__nothing_is_tightened_where_the_odds_are_there),
        cmocka_unit_test(test_cheapest__odds_out_of_reach_are_said_so),
        cmocka_unit_test(test_cheapest__a_search_that_gives_up_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
