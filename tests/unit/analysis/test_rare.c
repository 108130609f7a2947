/* Subset simulation on limit states with known odds, how often its interval holds them, and what it refuses to claim. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "numeric/numeric.h"
#include "rollcast/rare.h"

/* A limit state: dimension and one number. */
struct state {
    int n;
    double limit;
};

/* limit less the sum over the root of n: odds Phi(-limit), exact */
static void linear(void *user, const double *scores, int n_flights, double *margins)
{
    const struct state *state = user;
    for (int flight = 0; flight < n_flights; flight++) {
        double sum = 0.0;
        for (int index = 0; index < state->n; index++)
            sum += scores[flight * state->n + index];
        margins[flight] = state->limit - sum / sqrt(state->n);
    }
}

/* The same on both sides: two regions of failure, 2 Phi(-limit) */
static void two_sided(void *user, const double *scores, int n_flights, double *margins)
{
    const struct state *state = user;
    linear(user, scores, n_flights, margins);
    for (int flight = 0; flight < n_flights; flight++)
        margins[flight] = state->limit - fabs(state->limit - margins[flight]);
}

/* Outside a circle: exp(-limit^2/2), exact */
static void circle(void *user, const double *scores, int n_flights, double *margins)
{
    const struct state *state = user;
    for (int flight = 0; flight < n_flights; flight++)
        margins[flight] = state->limit * state->limit - scores[2 * flight] * scores[2 * flight] -
                          scores[2 * flight + 1] * scores[2 * flight + 1];
}

/* RP63: 0.1 sum of squares of x_2 .. x_100, less x_1, less 4.5 */
static void hundred(void *user, const double *scores, int n_flights, double *margins)
{
    (void)user;
    for (int flight = 0; flight < n_flights; flight++) {
        const double *x = scores + (size_t)flight * 100;
        double sum = 0.0;
        for (int index = 1; index < 100; index++)
            sum += x[index] * x[index];
        margins[flight] = 0.1 * sum - x[0] - 4.5;
    }
}

/* Only pass or fail: nothing leads to failure */
static void yes_or_no(void *user, const double *scores, int n_flights, double *margins)
{
    linear(user, scores, n_flights, margins);
    for (int flight = 0; flight < n_flights; flight++)
        margins[flight] = margins[flight] <= 0.0 ? -1.0 : 1.0;
}

static void never(void *user, const double *scores, int n_flights, double *margins)
{
    linear(user, scores, n_flights, margins);
    for (int flight = 0; flight < n_flights; flight++)
        margins[flight] = 1.0 + exp(margins[flight]);
}

static void broken(void *user, const double *scores, int n_flights, double *margins)
{
    linear(user, scores, n_flights, margins);
    margins[n_flights / 2] = NAN;
}

typedef void margins_function(void *user, const double *scores, int n_flights, double *margins);

static struct rc_rare run(margins_function *margins, struct state *state, const struct rc_rare_options *options)
{
    const struct rc_rare_problem problem = {.n = state->n, .user = state, .margins = margins};
    struct rc_rare rare;
    struct rc_error err;
    assert_int_equal(rc_rare_subset(&rare, &problem, options, &err), RC_OK);
    return rare;
}

static struct rc_rare sample(margins_function *margins, struct state *state, const struct rc_rare_options *options)
{
    const struct rc_rare_problem problem = {.n = state->n, .user = state, .margins = margins};
    struct rc_rare rare;
    struct rc_error err;
    assert_int_equal(rc_importance_sample(&rare, &problem, options, &err), RC_OK);
    return rare;
}

static const struct rc_rare_options usual = {.seed = 3, .n_per_level = 1000, .n_repeats = 16, .n_levels = 10, .confidence = 0.95};

/* Exact closed forms, those at 1e-6 with the limit chosen for it; RP63 by quadrature over chi-square(99) (published 3.79e-4, from
 * memory). */
static void test_rare__known_odds_are_found(void **state)
{
    (void)state;
    const struct {
        const char *name;
        margins_function *margins;
        struct state state;
        double odds;
    } cases[] = {
        {"LIN-b1", linear, {10, 1.0}, 0.15865525393145705},
        {"LIN-b3", linear, {10, 3.0}, 1.3498980316300946e-3},
        {"LIN-b4", linear, {100, 4.0}, 3.1671241833119921e-5},
        {"linear at 1e-6", linear, {10, 4.753424308822899}, 1e-6},
        {"two-sided 3.5", two_sided, {2, 3.5}, 4.6525815807105e-4},
        {"SPHERE 3.7", circle, {2, 3.7}, 1.0647662e-3},
        {"circle at 1e-6", circle, {2, 5.256521769756932}, 1e-6},
        {"RP63", hundred, {100, 0.0}, 3.7694361e-4},
    };
    for (size_t row = 0; row < sizeof cases / sizeof cases[0]; row++) {
        struct state limit = cases[row].state;
        const struct rc_rare rare = run(cases[row].margins, &limit, &usual);
        print_message("%s: %.4g in %.4g to %.4g, wanted %.4g; one repeat spreads by %.2f; %lld flights\n", cases[row].name,
                      rare.odds, rare.low, rare.high, cases[row].odds, rare.spread, (long long)rare.flights);
        assert_true(rare.is_supported && rare.why[0] == '\0');
        /* 4 standard errors of the mean of 16, by the spread seen */
        assert_true(fabs(rare.odds - cases[row].odds) < 4.0 * rare.spread * rare.odds / 4.0);
        assert_true(rare.low < rare.odds && rare.odds < rare.high && rare.spread < 0.8);
    }
}

/* Importance sampling on those with few directions of failure. Of the circle and the two-sided one it may also say that it cannot tell;
 * what it says must hold. */
static void test_rare__importance_sampling_finds_known_odds(void **state)
{
    (void)state;
    const struct {
        const char *name;
        margins_function *margins;
        struct state state;
        double odds;
        int is_sure;
    } cases[] = {
        {"LIN-b1", linear, {10, 1.0}, 0.15865525393145705, 1},
        {"LIN-b3", linear, {10, 3.0}, 1.3498980316300946e-3, 1},
        {"LIN-b4 in 40", linear, {40, 4.0}, 3.1671241833119921e-5, 1},
        {"linear at 1e-6", linear, {10, 4.753424308822899}, 1e-6, 1},
        {"two-sided 3.5", two_sided, {2, 3.5}, 4.6525815807105e-4, 0},
        {"circle at 1e-6", circle, {2, 5.256521769756932}, 1e-6, 0},
    };
    for (size_t row = 0; row < sizeof cases / sizeof cases[0]; row++) {
        struct state limit = cases[row].state;
        const struct rc_rare rare = sample(cases[row].margins, &limit, &usual);
        print_message("%s: %.4g in %.4g to %.4g, wanted %.4g; one repeat spreads by %.2f; %lld flights %s\n", cases[row].name,
                      rare.odds, rare.low, rare.high, cases[row].odds, rare.spread, (long long)rare.flights, rare.why);
        assert_true(rare.is_supported || !cases[row].is_sure);
        assert_true(!rare.is_supported || fabs(rare.odds - cases[row].odds) < 4.0 * rare.spread * rare.odds / 4.0);
    }
}

static void test_rare__importance_sampling_refuses_what_it_cannot_show(void **state)
{
    (void)state;
    struct state limit = {4, 4.0};
    struct rc_rare rare = sample(yes_or_no, &limit, &usual);
    assert_true(!rare.is_supported && isnan(rare.odds) && strstr(rare.why, "varies"));
    rare = sample(never, &limit, &usual);
    assert_true(!rare.is_supported && strstr(rare.why, "not reached"));
    rare = sample(broken, &limit, &usual);
    assert_true(!rare.is_supported && strstr(rare.why, "finite"));
    limit = (struct state){200, 5.0}; /* so many scores that the weights fall on few flights */
    rare = sample(linear, &limit, &usual);
    print_message("linear in 200: %.3g, %s\n", rare.odds, rare.why);
    assert_true(!rare.is_supported || (rare.low < 2.866515719e-7 && 2.866515719e-7 < rare.high));
}

/* Flights for the same error against plain ones: at 1e-6 plain flights need (1 - p)/(p cov^2). */
static void test_rare__gains_over_plain_flights(void **state)
{
    (void)state;
    struct state limit = {10, 4.753424308822899};
    const struct rc_rare rare = run(linear, &limit, &usual);
    const double cov = rare.spread / 4.0;
    const double plain = 1.0 / (1e-6 * cov * cov);
    print_message("gain over plain flights at 1e-6: %.0f\n", plain / (double)rare.flights);
    assert_true(plain / (double)rare.flights > 200.0); /* 300 to 2000 expected between 1e-5 and 3e-7 */
}

static void test_rare__same_seed_gives_same_bits(void **state)
{
    (void)state;
    struct state limit = {5, 3.0};
    struct rc_rare_options options = usual;
    const struct rc_rare one = run(linear, &limit, &options);
    const struct rc_rare again = run(linear, &limit, &options);
    assert_true(one.odds == again.odds && one.low == again.low);
    options.seed++;
    assert_true(run(linear, &limit, &options).odds != one.odds);
}

/* 1000 runs of 16 small repeats; a 95 % interval must hold the truth in at least 94 of 100. */
static void check_coverage(struct rc_rare (*method)(margins_function *, struct state *, const struct rc_rare_options *))
{
    struct state limit = {4, 3.719016485455709}; /* 1e-4 */
    struct rc_rare_options options = usual;
    options.n_per_level = 300;
    int n_held = 0;
    double mean = 0.0;
    enum { N_RUNS = 1000 };
    for (int index = 0; index < N_RUNS; index++) {
        options.seed = (uint64_t)index;
        const struct rc_rare rare = method(linear, &limit, &options);
        n_held += rare.low <= 1e-4 && 1e-4 <= rare.high;
        mean += rare.odds / N_RUNS;
    }
    print_message("held in %d of %d runs, mean of estimates %.4g\n", n_held, N_RUNS, mean);
    assert_true(n_held >= 940);
}

static void test_rare__interval_holds_the_truth(void **state)
{
    (void)state;
    check_coverage(run);
    check_coverage(sample);
}

/* The rule of a run and its text; the margin of a flight. */
static void test_rare__rule_and_margin_are_what_stores_and_answers_take(void **state)
{
    (void)state;
    const struct rc_rare_rule rule = {RC_RARE_IMPORTANCE, 3, 500, 16};
    struct rc_rare_rule back;
    char text[RC_STOP_TEXT];
    rc_rare_write(&rule, text);
    assert_true(rc_rare_read(&back, text));
    assert_true(back.method == rule.method && back.criterion == 3 && back.per_level == 500 && back.repeats == 16);
    assert_false(rc_rare_read(&back, ""));
    assert_false(rc_rare_read(&back, "width 0e-6, verdict 1, seconds 0e-3, of 5 flights"));
    assert_false(rc_rare_read(&back, "rare by magic, criterion 3, 500 flights a level, 16 repeats"));
    const struct rc_criterion criterion = {.at_least = 2.0, .at_most = INFINITY};
    assert_true(rc_rare_margin(&criterion, 3.5, 0.0) == 1.5 && rc_rare_margin(&criterion, 1.5, 0.0) == -0.5);
    assert_true(rc_rare_margin(&criterion, 2.0, 0.0) > 0.0); /* it meets its limit */
    assert_true(rc_rare_margin(&criterion, NAN, 0.0) < -1e300 && isfinite(rc_rare_margin(&criterion, 3.5, 3.0)));
    assert_true(rc_rare_margin(&criterion, 3.5, 3.0) < 0.0);
}

static void test_rare__what_cannot_be_shown_is_refused(void **state)
{
    (void)state;
    struct state limit = {4, 4.0};
    struct rc_rare rare = run(yes_or_no, &limit, &usual);
    assert_true(!rare.is_supported && isnan(rare.odds) && strstr(rare.why, "varies"));
    rare = run(never, &limit, &usual);
    assert_true(!rare.is_supported && isnan(rare.odds) && strstr(rare.why, "not reached"));
    rare = run(broken, &limit, &usual);
    assert_true(!rare.is_supported && strstr(rare.why, "finite"));
    struct rc_rare_options few = usual;
    few.n_levels = 3;
    limit.limit = 6.0;
    rare = run(linear, &limit, &few);
    assert_true(!rare.is_supported && strstr(rare.why, "levels allowed") && rare.low == 0.0 && rare.high == 1.0);
}

static void test_rare__options_out_of_range_are_refused(void **state)
{
    (void)state;
    struct state limit = {4, 3.0};
    struct rc_rare_problem problem = {.n = 4, .user = &limit, .margins = linear};
    struct rc_rare rare = {.odds = 7.0};
    struct rc_error err;
    struct rc_rare_options options = usual;
    options.n_per_level = 1005;
    assert_int_equal(rc_rare_subset(&rare, &problem, &options, &err), RC_BAD_INPUT);
    assert_non_null(strstr(err.what, "multiple of 10"));
    options = usual;
    options.n_repeats = 7;
    assert_int_equal(rc_rare_subset(&rare, &problem, &options, &err), RC_BAD_INPUT);
    options = usual;
    options.n_levels = 13;
    assert_int_equal(rc_rare_subset(&rare, &problem, &options, &err), RC_BAD_INPUT);
    problem.n = 0;
    assert_int_equal(rc_rare_subset(&rare, &problem, &usual, &err), RC_BAD_INPUT);
    assert_true(rare.odds == 7.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rare__known_odds_are_found),
        cmocka_unit_test(test_rare__importance_sampling_finds_known_odds),
        cmocka_unit_test(test_rare__importance_sampling_refuses_what_it_cannot_show),
        cmocka_unit_test(test_rare__rule_and_margin_are_what_stores_and_answers_take),
        cmocka_unit_test(test_rare__gains_over_plain_flights),
        cmocka_unit_test(test_rare__same_seed_gives_same_bits),
        cmocka_unit_test(test_rare__interval_holds_the_truth),
        cmocka_unit_test(test_rare__what_cannot_be_shown_is_refused),
        cmocka_unit_test(test_rare__options_out_of_range_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
