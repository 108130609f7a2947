/* Subset simulation and importance sampling on limit states with known odds, and what they refuse to claim. How often their
 * intervals hold the truth is measured by tests/coverage. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "analysis/repeats.h"
#include "analysis/witness.h"
#include "numeric/numeric.h"
#include "rollcast/rare.h"
#include "support/limit_states.h"

/* Only pass or fail: nothing leads to failure. */
static void yes_or_no(void *user, const double *scores, int n_flights, double *margins)
{
    limit_state_margins(user, scores, n_flights, margins);
    for (int flight = 0; flight < n_flights; flight++)
        margins[flight] = margins[flight] <= 0.0 ? -1.0 : 1.0;
}

static void never(void *user, const double *scores, int n_flights, double *margins)
{
    limit_state_margins(user, scores, n_flights, margins);
    for (int flight = 0; flight < n_flights; flight++)
        margins[flight] = 1.0 + exp(margins[flight]);
}

static void broken(void *user, const double *scores, int n_flights, double *margins)
{
    limit_state_margins(user, scores, n_flights, margins);
    margins[n_flights / 2] = NAN;
}

typedef void margins_function(void *user, const double *scores, int n_flights, double *margins);
typedef rc_status method_function(struct rc_rare *rare, const struct rc_rare_problem *problem,
                                  const struct rc_rare_options *options, struct rc_error *err);

/* A method on the scores of a limit state of that name. */
static struct rc_rare run(method_function *method, margins_function *margins, const char *name,
                          const struct rc_rare_options *options)
{
    struct limit_state state = *limit_state_find(name);
    const struct rc_rare_problem problem = {.n = state.n, .user = &state, .margins = margins};
    struct rc_rare rare;
    struct rc_error err;
    assert_int_equal(method(&rare, &problem, options, &err), RC_OK);
    return rare;
}

static const struct rc_rare_options usual = {.seed = 3, .n_per_level = 1000, .n_repeats = 16, .n_levels = 10, .confidence = 0.95};

/* One run of each method on each limit state. Both are without bias, so that the estimate lies within 4 standard errors of the
 * truth. Where importance sampling cannot support a claim it must say so: RP63, whose failures lie all around in 99 scores, and
 * the ball in ten. What is not rare, from LIN-b1's 0.159 to 0.99997, neither claims. */
static void test_rare__known_odds_are_found(void **state)
{
    struct reference *table = reference_open("rare_event.csv");
    static const char *const refused[] = {"RP63", "ball in 10 at 1e-4"};
    (void)state;
    for (int index = 0; index < limit_states_count; index++) {
        const char *name = limit_states[index].name;
        const double odds = limit_state_odds(&limit_states[index], table);
        const int is_refused = strcmp(name, refused[0]) == 0 || strcmp(name, refused[1]) == 0, is_rare = odds < 0.1;
        const struct rc_rare found[] = {run(rc_subset_simulate, limit_state_margins, name, &usual),
                                        run(rc_importance_sample, limit_state_margins, name, &usual)};
        for (int method = 0; method < 2; method++) {
            const struct rc_rare *rare = &found[method];
            print_message("%s by %s: %.4g in %.4g to %.4g, known %.4g; spread %.2f; %lld flights %s\n", name,
                          method == 0 ? "subset" : "importance", rare->odds, rare->low, rare->high, odds, rare->spread,
                          (long long)rare->flights, rare->why);
            if (!is_rare || (method == 1 && is_refused)) {
                assert_true(!rare->is_supported && isnan(rare->odds) && rare->low == 0.0 && rare->high == 1.0);
                assert_true(rare->bound_low == 0.0 && rare->bound_high == 1.0);
                assert_non_null(strstr(rare->why, is_rare ? "more per level" : "not rare"));
                continue;
            }
            assert_true(rare->is_supported && rare->why[0] == '\0');
            assert_true(fabs(rare->odds - odds) < 4.0 * rare->spread * rare->odds / 4.0);
            assert_true(rare->low < rare->odds && rare->odds < rare->high);
            assert_true(rare->low <= rare->bound_low && rare->bound_high <= rare->high);
        }
    }
    reference_close(table);
}

/* Failure in several directions of unequal distance, which a single shift of the mean answers with a fraction of the odds: of the
 * claims of 60 runs at least as many hold as 94 of 100 would but for one time in a thousand (50), and nearly all are made. */
static void test_rare__directions_of_unequal_distance_are_all_counted(void **state)
{
    struct reference *table = reference_open("rare_event.csv");
    static const char *const names[] = {"SERIES-UNEQUAL", "PARABOLA", "FOUR-BRANCH-k6", "two-sided 3.5 in 2"};
    struct rc_rare_options options = usual;
    (void)state;
    options.n_per_level = 300;
    for (size_t row = 0; row < sizeof names / sizeof names[0]; row++) {
        const double odds = limit_state_odds(limit_state_find(names[row]), table);
        int n_claims = 0, n_held = 0;
        for (options.seed = 0; options.seed < 60; options.seed++) {
            const struct rc_rare rare = run(rc_importance_sample, limit_state_margins, names[row], &options);
            n_claims += rare.is_supported;
            n_held += rare.is_supported && rare.low <= odds && odds <= rare.high;
        }
        print_message("%s: %d claims, %d hold\n", names[row], n_claims, n_held);
        assert_true(n_claims >= 54 && n_held >= 50);
    }
    reference_close(table);
}

/* Failure all around, a circle at 1e-6: the repeats that lead leave gaps in it, which fitting again to the sampling's own flights
 * closes. With it 24 of 60 runs of 16 x 300 make a claim, without it 5. */
static void test_rare__fitting_again_closes_gaps(void **state)
{
    struct rc_rare_options options = usual;
    int n_claims = 0;
    (void)state;
    options.n_per_level = 300;
    for (options.seed = 1000; options.seed < 1060; options.seed++)
        n_claims += run(rc_importance_sample, limit_state_margins, "circle at 1e-6", &options).is_supported;
    print_message("circle: %d of 60 runs make a claim\n", n_claims);
    assert_true(n_claims >= 14);
}

/* Margins that many flights share: the levels go where there are values. Exactly 1e-4. */
static void test_rare__margins_in_steps_are_no_hindrance(void **state)
{
    struct rc_rare_options options = usual;
    double mean = 0.0;
    (void)state;
    for (options.seed = 0; options.seed < 40; options.seed++) {
        const struct rc_rare rare = run(rc_subset_simulate, limit_state_margins, "stepped at 1e-4", &options);
        assert_true(rare.is_supported);
        mean += rare.odds / 40.0;
    }
    print_message("mean of 40 runs: %.4g, exactly 1e-4\n", mean);
    assert_true(fabs(mean / 1e-4 - 1.0) < 4.0 * 0.4 / sqrt(40.0 * 16.0)); /* a repeat spreads by some 0.4 */
}

/* The mean of many runs is the truth: 400 runs of 16 small repeats, each of which spreads by 0.64. Levels that a repeat chose for
 * itself would put it 6 % too high. */
static void test_rare__subset_simulation_has_no_bias(void **state)
{
    struct reference *table = reference_open("rare_event.csv");
    const double odds = limit_state_odds(limit_state_find("LIN-b4 in 10"), table);
    struct rc_rare_options options = usual;
    double mean = 0.0;
    int n_claims = 0;
    (void)state;
    options.n_per_level = 300;
    for (options.seed = 0; options.seed < 400; options.seed++) {
        const struct rc_rare rare = run(rc_subset_simulate, limit_state_margins, "LIN-b4 in 10", &options);
        n_claims += rare.is_supported;
        mean += rare.is_supported ? rare.odds : 0.0;
    }
    mean /= n_claims;
    print_message("mean of %d claims over the truth: %.4f\n", n_claims, mean / odds);
    assert_true(n_claims >= 390);
    assert_true(fabs(mean / odds - 1.0) < 3.5 * 0.64 / sqrt(16.0 * 400.0));
    reference_close(table);
}

/* What importance sampling cannot show. */
static void test_rare__importance_sampling_refuses_what_it_cannot_show(void **state)
{
    struct rc_rare_options few = usual;
    (void)state;
    struct rc_rare rare = run(rc_importance_sample, yes_or_no, "LIN-b4 in 10", &usual);
    assert_true(!rare.is_supported && isnan(rare.odds) && strstr(rare.why, "varies"));
    rare = run(rc_importance_sample, never, "LIN-b4 in 10", &usual);
    assert_true(!rare.is_supported && strstr(rare.why, "not reached"));
    rare = run(rc_importance_sample, broken, "LIN-b4 in 10", &usual);
    assert_true(!rare.is_supported && strstr(rare.why, "finite"));
    few.n_per_level = 100;
    few.n_repeats = 8;
    rare = run(rc_importance_sample, limit_state_margins, "LIN-b4 in 100", &few);
    print_message("few flights, many scores: %s\n", rare.why);
    assert_true(!rare.is_supported && strstr(rare.why, "too few failures for so many scores"));
}

/* Flights for the same error against plain ones: at 1e-6 plain flights need (1 - p)/(p cov^2). Of subset simulation some 300 to
 * 2000 times fewer are expected between 1e-5 and 3e-7 (rare_event.md's measured gains, from memory); importance sampling is
 * sharper. */
static void test_rare__gains_over_plain_flights(void **state)
{
    (void)state;
    static method_function *const methods[] = {rc_subset_simulate, rc_importance_sample};
    double gain[2];
    for (int method = 0; method < 2; method++) {
        const struct rc_rare rare = run(methods[method], limit_state_margins, "linear at 1e-6", &usual);
        const double cov = rare.spread / 4.0;
        gain[method] = 1.0 / (1e-6 * cov * cov) / (double)rare.flights;
    }
    print_message("gain over plain flights at 1e-6: %.0f and %.0f\n", gain[0], gain[1]);
    assert_true(gain[0] > 200.0 && gain[1] > 4.0 * gain[0]);
}

static void test_rare__same_seed_gives_same_bits(void **state)
{
    (void)state;
    static method_function *const methods[] = {rc_subset_simulate, rc_importance_sample};
    for (int method = 0; method < 2; method++) {
        struct rc_rare_options options = usual;
        const struct rc_rare one = run(methods[method], limit_state_margins, "LIN-b3 in 10", &options);
        const struct rc_rare again = run(methods[method], limit_state_margins, "LIN-b3 in 10", &options);
        assert_true(one.odds == again.odds && one.low == again.low);
        options.seed++;
        assert_true(run(methods[method], limit_state_margins, "LIN-b3 in 10", &options).odds != one.odds);
    }
}

/* Odds of 1.5e-10 take all ten levels: the flights are then just the most that a method says. */
static void test_rare__flights_are_within_the_most(void **state)
{
    (void)state;
    for (int method = RC_RARE_NONE + 1; method < RC_RARE_METHODS_END; method++) {
        const struct rc_rare_rule rule = {.method = (enum rc_rare_method)method, .per_level = 1000, .repeats = 8};
        struct limit_state known = *limit_state_find("LIN-b6 in 10");
        known.limit = 6.3;
        const struct rc_rare_problem problem = {.n = known.n, .user = &known, .margins = limit_state_margins};
        const struct rc_rare_options options = {.seed = 1, .confidence = 0.95};
        struct rc_rare rare;
        assert_int_equal(rc_rare_run(&rare, &problem, &rule, &options, NULL), RC_OK);
        print_message("%s: %lld flights\n", rc_rare_label((enum rc_rare_method)method), (long long)rare.flights);
        assert_true(rare.flights == rc_rare_most_flights(&rule));
        assert_int_equal(rc_rare_find(rc_rare_name((enum rc_rare_method)method)), method);
    }
    assert_int_equal(rc_rare_find("none"), RC_RARE_NONE);
}

/* The rule of a run and its text; the margin of a flight. */
static void test_rare__rule_and_margin_are_what_stores_and_answers_take(void **state)
{
    (void)state;
    const struct rc_rare_rule rule = {.method = RC_RARE_IMPORTANCE, .criterion = 3, .per_level = 500, .repeats = 16};
    struct rc_rare_rule back;
    char text[RC_STOP_TEXT];
    rc_rare_write(&rule, text);
    assert_true(rc_rare_read(&back, text));
    assert_true(back.method == rule.method && back.criterion == 3 && back.per_level == 500 && back.repeats == 16);
    assert_false(rc_rare_read(&back, ""));
    /* flights that earlier steps chose: known for what they are, and not gone through by these */
    assert_true(rc_rare_read(&back, "rare by subset, criterion 0, 500 flights a level, 16 repeats"));
    const struct rc_rare_problem none = {.n = 1};
    const struct rc_rare_options options = {.seed = 1, .confidence = 0.95};
    struct rc_rare rare;
    struct rc_error err;
    assert_int_equal(rc_rare_run(&rare, &none, &back, &options, &err), RC_OTHER_STORE);
    assert_non_null(strstr(err.what, "steps 1"));
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
    struct rc_rare rare = run(rc_subset_simulate, yes_or_no, "LIN-b4 in 10", &usual);
    assert_true(!rare.is_supported && isnan(rare.odds) && strstr(rare.why, "varies"));
    rare = run(rc_subset_simulate, never, "LIN-b4 in 10", &usual);
    assert_true(!rare.is_supported && isnan(rare.odds) && strstr(rare.why, "not reached"));
    rare = run(rc_subset_simulate, broken, "LIN-b4 in 10", &usual);
    assert_true(!rare.is_supported && strstr(rare.why, "finite"));
    struct rc_rare_options few = usual;
    few.n_levels = 3;
    rare = run(rc_subset_simulate, limit_state_margins, "LIN-b6 in 10", &few);
    assert_true(!rare.is_supported && strstr(rare.why, "levels allowed") && rare.low == 0.0 && rare.high == 1.0);
    few = usual;
    few.n_per_level = 100;
    few.n_repeats = 8;
    int n_lost = 0;
    for (few.seed = 0; few.seed < 20; few.seed++) { /* a repeat that loses its way in six of twenty runs or so */
        rare = run(rc_subset_simulate, limit_state_margins, "LIN-b4 in 10", &few);
        n_lost += !rare.is_supported && strstr(rare.why, "of 8 repeats met no failure");
    }
    assert_in_range(n_lost, 1, 15);
}

/* Repeats of a known spread, and what comes out of a run of them. */
enum { N_REPEATS = 8 };
static const double even[N_REPEATS] = {9.5e-4, 10.5e-4, 9.8e-4, 10.2e-4, 9.9e-4, 10.1e-4, 9.7e-4, 10.3e-4};
static const double skewed[N_REPEATS] = {1e-4, 2e-4, 4e-4, 8e-4, 1e-4, 2e-4, 4e-4, 16e-4};

static struct rc_rare summary(const double *odds)
{
    const struct rc_rare_options options = {.n_repeats = N_REPEATS, .confidence = 0.95};
    struct rc_rare rare = rc_repeats_nothing();
    rc_repeats_summarise(&rare, odds, &options);
    return rare;
}

static int is_near(double value, double wanted)
{
    return fabs(value / wanted - 1.0) < 1e-8; /* the quantile is good to 1e-10, a low end is a difference */
}

/* Ends by SciPy 1.10: Student's mean -+ t.ppf s/sqrt(8) with seven degrees of freedom, Cox's from mean and variance of the
 * logarithms. Of even repeats the lower ends are Student's, the upper ones Cox's by a hair; of skewed ones Student's are lower on
 * both sides, and Cox's upper end is half as far again from the mean. */
static void test_rare__interval_is_the_wider_of_students_and_coxs(void **state)
{
    (void)state;
    const struct rc_rare rare = summary(even), far = summary(skewed);
    assert_true(rare.is_supported && far.is_supported);
    assert_true(is_near(rare.odds, 1e-3) && is_near(rare.spread, 0.03338091841585121));
    assert_true(is_near(rare.low, 0.000972092853828) && is_near(rare.high, 0.00102840225975));
    assert_true(is_near(rare.bound_low, 0.000977640302876) && is_near(rare.bound_high, 0.00102270710015));
    assert_true(is_near(far.odds, 4.75e-4) && is_near(far.spread, 1.0720022207892703));
    assert_true(is_near(far.low, 4.92972649135e-05) && is_near(far.high, 0.00136856160343));
    assert_true(is_near(far.bound_low, 0.000133919469482) && is_near(far.bound_high, 0.00111877139896));
}

/* Nothing can be claimed, for that reason. */
static void assert_refused(const struct rc_rare *rare, const char *reason)
{
    assert_true(!rare->is_supported && isnan(rare->odds));
    assert_true(rare->low == 0.0 && rare->high == 1.0 && rare->bound_low == 0.0 && rare->bound_high == 1.0);
    if (!strstr(rare->why, reason))
        fail_msg("wanted '%s', it says '%s'", reason, rare->why);
}

/* Repeats that support no claim, each for its own reason: one met no failure; they spread by 1.91 of their mean, and 1.12
 * is still allowed; or they do not spread at all, as where every flight fails. */
static void test_rare__repeats_that_tell_no_error_are_refused(void **state)
{
    static const double lost[N_REPEATS] = {9e-4, 8e-4, 0.0, 7e-4, 9e-4, 8e-4, 6e-4, 7e-4};
    static const double wide[N_REPEATS] = {1e-4, 1e-4, 1e-4, 1e-4, 2e-4, 1e-4, 1e-4, 2e-3};
    static const double less_wide[N_REPEATS] = {1e-4, 1e-4, 1e-4, 1e-4, 2e-4, 1e-4, 1e-4, 7e-4};
    static const double all[N_REPEATS] = {1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0};
    (void)state;
    struct rc_rare rare = summary(lost);
    assert_refused(&rare, "1 of 8 repeats met no failure");
    rare = summary(wide);
    assert_refused(&rare, "the repeats differ by 191 % of their mean");
    rare = summary(less_wide);
    assert_true(rare.is_supported && rare.spread > 1.0);
    rare = summary(all);
    assert_refused(&rare, "all alike");
}

static struct rc_rare judged(const double *led, double effective, double missed)
{
    const struct rc_rare_options options = {.n_repeats = N_REPEATS, .confidence = 0.95};
    const struct rc_witness witness = {.odds = even, .led = led, .effective = effective, .missed = missed};
    struct rc_rare rare = summary(even);
    rc_witness_judge(&rare, &witness, &options);
    return rare;
}

/* Importance sampling whose repeats are the even ones, led by repeats that agree, or lie a fifth higher. The half width is 2.8 %
 * of the odds: half of that may be missed, and twice of what is missed widens the upper side. */
static void test_rare__claims_that_witnesses_do_not_bear_out_are_refused(void **state)
{
    static const double higher[N_REPEATS] = {11.5e-4, 12.5e-4, 11.8e-4, 12.2e-4, 11.9e-4, 12.1e-4, 11.7e-4, 12.3e-4};
    static const double lower[N_REPEATS] = {7.5e-4, 8.5e-4, 7.8e-4, 8.2e-4, 7.9e-4, 8.1e-4, 7.7e-4, 8.3e-4};
    (void)state;
    struct rc_rare rare = judged(even, 399.0, 0.0);
    assert_refused(&rare, "399 flights' worth of failures, wanted 400");
    rare = judged(even, 400.0, 0.0144);
    assert_refused(&rare, "1.4 % of the failures that led here");
    rare = judged(higher, 400.0, 0.0);
    assert_refused(&rare, "sampling gives 0.001, the repeats that led it 0.0012, which is no chance");
    rare = judged(lower, 400.0, 0.0);
    assert_refused(&rare, "which is no chance");
    const struct rc_rare before = summary(even);
    rare = judged(even, 400.0, 0.0);
    assert_true(rare.is_supported && rare.high == before.high && rare.bound_high == before.bound_high);
    rare = judged(even, 400.0, 0.0135);
    assert_true(rare.is_supported && rare.low == before.low && rare.bound_low == before.bound_low);
    assert_true(is_near(rare.high, before.high + 2.7e-5) && is_near(rare.bound_high, before.bound_high + 2.7e-5));
}

static void test_rare__options_out_of_range_are_refused(void **state)
{
    (void)state;
    struct limit_state limit = *limit_state_find("LIN-b3 in 10");
    struct rc_rare rare = {.odds = 7.0};
    struct rc_error err;
    static method_function *const methods[] = {rc_subset_simulate, rc_importance_sample};
    for (int method = 0; method < 2; method++) {
        struct rc_rare_problem problem = {.n = 4, .user = &limit, .margins = limit_state_margins};
        struct rc_rare_options options = usual;
        options.n_per_level = 1005;
        assert_int_equal(methods[method](&rare, &problem, &options, &err), RC_BAD_INPUT);
        assert_non_null(strstr(err.what, "multiple of 10"));
        options = usual;
        options.n_repeats = 7;
        assert_int_equal(methods[method](&rare, &problem, &options, &err), RC_BAD_INPUT);
        options = usual;
        options.n_levels = 13;
        assert_int_equal(methods[method](&rare, &problem, &options, &err), RC_BAD_INPUT);
        problem.n = 0;
        assert_int_equal(methods[method](&rare, &problem, &usual, &err), RC_BAD_INPUT);
    }
    assert_true(rare.odds == 7.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rare__known_odds_are_found),
        cmocka_unit_test(test_rare__directions_of_unequal_distance_are_all_counted),
        cmocka_unit_test(test_rare__fitting_again_closes_gaps),
        cmocka_unit_test(test_rare__margins_in_steps_are_no_hindrance),
        cmocka_unit_test(test_rare__subset_simulation_has_no_bias),
        cmocka_unit_test(test_rare__flights_are_within_the_most),
        cmocka_unit_test(test_rare__importance_sampling_refuses_what_it_cannot_show),
        cmocka_unit_test(test_rare__rule_and_margin_are_what_stores_and_answers_take),
        cmocka_unit_test(test_rare__gains_over_plain_flights),
        cmocka_unit_test(test_rare__same_seed_gives_same_bits),
        cmocka_unit_test(test_rare__what_cannot_be_shown_is_refused),
        cmocka_unit_test(test_rare__interval_is_the_wider_of_students_and_coxs),
        cmocka_unit_test(test_rare__repeats_that_tell_no_error_are_refused),
        cmocka_unit_test(test_rare__claims_that_witnesses_do_not_bear_out_are_refused),
        cmocka_unit_test(test_rare__options_out_of_range_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
