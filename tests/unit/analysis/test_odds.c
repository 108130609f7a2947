/* Odds: exact intervals, what they cover, verdicts and the flights still needed. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <gsl/gsl_randist.h>

#include "rollcast/analysis.h"
#include "support/reference.h"

static struct rc_criterion criterion_of(double odds, double confidence)
{
    return (struct rc_criterion){.name = "held", .at_least = -INFINITY, .at_most = INFINITY, .odds = odds, .confidence = confidence};
}

/* source tests/reference/intervals.csv: mpmath, 30 digits, among them the cases printed in Newcombe 1998, Stat. Med. 17:857.
 * The reference values have 14 digits. */
static void test_odds__intervals_are_the_exact_ones(void **state)
{
    (void)state;
    struct reference *table = reference_open("intervals.csv");
    int n_checked = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        if (strcmp(reference_text(table, row, "method"), "clopper-pearson") != 0)
            continue;
        double low = NAN;
        double high = NAN;
        rc_odds_interval((int64_t)reference_number(table, row, "k"), (int64_t)reference_number(table, row, "n"),
                         reference_number(table, row, "confidence"), (int)reference_number(table, row, "sides"), &low, &high);
        const double wanted_low = reference_number(table, row, "lower");
        const double wanted_high = reference_number(table, row, "upper");
        if (!(fabs(low - wanted_low) <= 1e-10 * wanted_low && fabs(high - wanted_high) <= 1e-10 * wanted_high))
            fail_msg("row %d: got %.15g to %.15g, wanted %.15g to %.15g", row + 1, low, high, wanted_low, wanted_high);
        n_checked++;
    }
    assert_int_equal(n_checked, 168);
    reference_close(table);
}

static const double truths[] = {0.001, 0.02, 0.1, 0.37, 0.5, 0.8, 0.95, 0.99, 0.9995};
enum { N_TRUTHS = sizeof truths / sizeof truths[0] };

/* Chance, for each of the true odds, that the interval, the lower and the upper bound hold it. Exact enumeration over every count. */
static void check_coverage(int flights, double confidence)
{
    double covered[3][N_TRUTHS] = {{0.0}};
    for (int passed = 0; passed <= flights; passed++) {
        double low[3] = {0.0, 0.0, 0.0};
        double high[3] = {1.0, 1.0, 1.0};
        rc_odds_interval(passed, flights, confidence, 2, &low[0], &high[0]);
        rc_odds_interval(passed, flights, confidence, 1, &low[1], &high[2]);
        for (int kind = 0; kind < 3; kind++) {
            for (int truth = 0; truth < N_TRUTHS; truth++) {
                const bool is_held = low[kind] <= truths[truth] && truths[truth] <= high[kind];
                covered[kind][truth] += is_held ? gsl_ran_binomial_pdf((unsigned)passed, truths[truth], (unsigned)flights) : 0.0;
            }
        }
    }
    for (int kind = 0; kind < 3; kind++) {
        for (int truth = 0; truth < N_TRUTHS; truth++)
            assert_true(covered[kind][truth] >= confidence - 1e-9); /* rounding of the summed chances */
    }
}

/* Exactness of Clopper and Pearson 1934: the interval holds the true odds at least as often as it says, each bound too. */
static void test_odds__intervals_cover_at_least_what_they_say(void **state)
{
    (void)state;
    const int flights[] = {1, 5, 20, 59, 200, 1000};
    for (size_t index = 0; index < sizeof flights / sizeof flights[0]; index++) {
        check_coverage(flights[index], 0.8);
        check_coverage(flights[index], 0.9);
        check_coverage(flights[index], 0.95);
        check_coverage(flights[index], 0.99);
    }
}

/* source tests/reference/demonstration_sizes.csv, exact binomial at 40 digits (success runs, and Wilks 1941: 59, 93, 124 ...):
 * n flights with f failures just show the odds, one flight less does not. */
static void test_odds__demonstration_sizes_just_give_go(void **state)
{
    (void)state;
    struct reference *table = reference_open("demonstration_sizes.csv");
    int n_checked = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        if (strncmp(reference_text(table, row, "table"), "wilks-two-sided", 15) == 0)
            continue; /* tolerance intervals for a quantity, not odds */
        const struct rc_criterion criterion =
            criterion_of(reference_number(table, row, "reliability_R"), reference_number(table, row, "confidence_C"));
        const int64_t failures = (int64_t)reference_number(table, row, "failures_allowed_f");
        const int64_t flights = (int64_t)reference_number(table, row, "n_runs");
        const struct rc_odds enough = rc_odds_from_count(flights - failures, flights, &criterion);
        const struct rc_odds short_by_one = rc_odds_from_count(flights - 1 - failures, flights - 1, &criterion);
        assert_int_equal(enough.verdict, RC_VERDICT_GO);
        assert_int_not_equal(short_by_one.verdict, RC_VERDICT_GO);
        if (failures == 0)
            assert_int_equal(short_by_one.verdict == RC_VERDICT_NOT_YET_KNOWN ? short_by_one.more_flights : 1, 1);
        n_checked++;
    }
    assert_int_equal(n_checked, 210 + 90);
    reference_close(table);
}

/* One side of the test at a time: a verdict that is wrong comes up no more often than 1 - confidence. Exact enumeration. */
static void test_odds__wrong_verdicts_are_rare_enough(void **state)
{
    (void)state;
    const struct rc_criterion criterion = criterion_of(0.9, 0.95);
    const int flights[] = {22, 100, 500};
    for (size_t f = 0; f < 3; f++) {
        double falsely_go = 0.0;
        double falsely_no_go = 0.0;
        for (int passed = 0; passed <= flights[f]; passed++) {
            const enum rc_verdict verdict = rc_odds_from_count(passed, flights[f], &criterion).verdict;
            if (verdict == RC_VERDICT_GO)
                falsely_go += gsl_ran_binomial_pdf((unsigned)passed, 0.9 - 1e-12, (unsigned)flights[f]);
            if (verdict == RC_VERDICT_NO_GO)
                falsely_no_go += gsl_ran_binomial_pdf((unsigned)passed, 0.9, (unsigned)flights[f]);
        }
        assert_true(falsely_go <= 0.05 + 1e-9);
        assert_true(falsely_no_go <= 0.05 + 1e-9);
        assert_true(flights[f] < 100 || (falsely_go > 0.01 && falsely_no_go > 0.01)); /* and the test is not idle */
    }
}

static void test_odds__verdicts_by_example(void **state)
{
    (void)state;
    const struct rc_criterion criterion = criterion_of(0.9, 0.95);
    const struct rc_odds go = rc_odds_from_count(950, 1000, &criterion);
    assert_int_equal(go.verdict, RC_VERDICT_GO);
    assert_int_equal(go.more_flights, 0);
    assert_true(go.estimate == 0.95 && go.passed == 950 && go.flights == 1000);
    assert_true(go.interval_low < go.bound_low && go.bound_low < 0.95 && 0.95 < go.bound_high && go.bound_high < go.interval_high);
    assert_int_equal(rc_odds_from_count(850, 1000, &criterion).verdict, RC_VERDICT_NO_GO);
    assert_int_equal(rc_odds_from_count(905, 1000, &criterion).verdict, RC_VERDICT_NOT_YET_KNOWN);
    assert_string_equal(rc_odds_verdict_text(RC_VERDICT_GO), "GO");
    assert_string_equal(rc_odds_verdict_text(RC_VERDICT_NO_GO), "NO-GO");
    assert_string_equal(rc_odds_verdict_text(RC_VERDICT_NOT_YET_KNOWN), "NOT YET KNOWN");
}

static void test_odds__no_flights_say_nothing(void **state)
{
    (void)state;
    const struct rc_criterion criterion = criterion_of(0.9, 0.95);
    const struct rc_odds odds = rc_odds_from_count(0, 0, &criterion);
    assert_true(isnan(odds.estimate));
    assert_true(odds.interval_low == 0.0 && odds.interval_high == 1.0 && odds.bound_low == 0.0 && odds.bound_high == 1.0);
    assert_int_equal(odds.verdict, RC_VERDICT_NOT_YET_KNOWN);
    assert_int_equal(odds.more_flights, -1);
}

/* The number asked for settles it when the share stays, a few flights less do not (a share of whole flights can miss by one). */
static void check_more_flights(int64_t passed, int64_t flights, const struct rc_criterion *criterion, enum rc_verdict wanted)
{
    const struct rc_odds odds = rc_odds_from_count(passed, flights, criterion);
    assert_int_equal(odds.verdict, RC_VERDICT_NOT_YET_KNOWN);
    assert_true(odds.more_flights > 0);
    const int64_t all = flights + odds.more_flights;
    const double least = 1.0 / fabs(odds.estimate - criterion->odds); /* flights that one pass more or less is worth */
    const double share = (double)passed / (double)flights;
    const double later = (double)all + 2.0 * least;
    const double earlier = (double)all - 2.0 * least;
    assert_int_equal(rc_odds_from_count((int64_t)llround(share * later), (int64_t)later, criterion).verdict, wanted);
    if (earlier > (double)flights)
        assert_int_equal(rc_odds_from_count((int64_t)llround(share * earlier), (int64_t)earlier, criterion).verdict,
                         RC_VERDICT_NOT_YET_KNOWN);
}

static void test_odds__more_flights_settle_it(void **state)
{
    (void)state;
    const struct rc_criterion criterion = criterion_of(0.9, 0.95);
    check_more_flights(905, 1000, &criterion, RC_VERDICT_GO);
    check_more_flights(895, 1000, &criterion, RC_VERDICT_NO_GO);
    check_more_flights(9, 9, &criterion, RC_VERDICT_GO);
    check_more_flights(17, 20, &criterion, RC_VERDICT_NO_GO);
    check_more_flights(90002000, 100000000, &criterion, RC_VERDICT_GO);
}

/* Closed form: with all flights passed, R^n falls to 1 - C at n = log(1 - C) / log(R); with none, (1 - R)^n does. */
static void test_odds__more_flights_has_its_closed_forms(void **state)
{
    (void)state;
    const double required[] = {0.1, 0.35, 0.6, 0.9, 0.99};
    for (size_t index = 0; index < sizeof required / sizeof required[0]; index++) {
        const struct rc_criterion criterion = criterion_of(required[index], 0.95);
        const int64_t all_pass = (int64_t)ceil(log(0.05) / log(required[index]));
        const int64_t none_passes = (int64_t)ceil(log(0.05) / log(1.0 - required[index]));
        if (all_pass > 1)
            assert_int_equal(rc_odds_from_count(1, 1, &criterion).more_flights, all_pass - 1);
        if (none_passes > 1)
            assert_int_equal(rc_odds_from_count(0, 1, &criterion).more_flights, none_passes - 1);
    }
}

static void test_odds__estimate_on_the_line_is_never_settled(void **state)
{
    (void)state;
    const struct rc_criterion criterion = criterion_of(0.9, 0.95);
    assert_int_equal(rc_odds_from_count(900, 1000, &criterion).more_flights, -1);
    assert_int_equal(rc_odds_from_count(900000001, 1000000000, &criterion).more_flights, -1); /* 1e18 flights and more */
    const struct rc_criterion certain = criterion_of(1.0, 0.95);
    const struct rc_odds odds = rc_odds_from_count(1000, 1000, &certain); /* no number of flights shows certainty */
    assert_int_equal(odds.verdict, RC_VERDICT_NOT_YET_KNOWN);
    assert_int_equal(odds.more_flights, -1);
    assert_int_equal(rc_odds_from_count(999, 1000, &certain).verdict, RC_VERDICT_NO_GO);
}

static void test_odds__criterion_is_met_inside_its_limits_at_apogee(void **state)
{
    (void)state;
    struct rc_criterion criterion = criterion_of(0.9, 0.95);
    criterion.at_least = 0.5;
    criterion.at_most = 0.75;
    assert_true(rc_odds_is_met(&criterion, 0.5, 0.0));
    assert_true(rc_odds_is_met(&criterion, 0.75, 0.0));
    assert_false(rc_odds_is_met(&criterion, 0.4999, 0.0));
    assert_false(rc_odds_is_met(&criterion, 0.7501, 0.0));
    assert_false(rc_odds_is_met(&criterion, NAN, 0.0));
    assert_false(rc_odds_is_met(&criterion, 0.6, 4.0));
    assert_false(rc_odds_is_met(&criterion, 0.6, NAN));
}

/* The rule of every verdict, at its edges: a bound that just reaches the odds is GO, one that just falls short of them NO-GO. */
static void test_odds__verdict_follows_the_bounds(void **state)
{
    (void)state;
    const double below = nextafter(0.9, 0.0);
    assert_int_equal(rc_odds_verdict(0.9, 0.95, 0.9), RC_VERDICT_GO);
    assert_int_equal(rc_odds_verdict(below, 0.95, 0.9), RC_VERDICT_NOT_YET_KNOWN);
    assert_int_equal(rc_odds_verdict(0.5, 0.9, 0.9), RC_VERDICT_NOT_YET_KNOWN);
    assert_int_equal(rc_odds_verdict(0.5, below, 0.9), RC_VERDICT_NO_GO);
    assert_int_equal(rc_odds_verdict(0.0, 1.0, 0.9), RC_VERDICT_NOT_YET_KNOWN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_odds__intervals_are_the_exact_ones),
        cmocka_unit_test(test_odds__intervals_cover_at_least_what_they_say),
        cmocka_unit_test(test_odds__demonstration_sizes_just_give_go),
        cmocka_unit_test(test_odds__wrong_verdicts_are_rare_enough),
        cmocka_unit_test(test_odds__verdicts_by_example),
        cmocka_unit_test(test_odds__no_flights_say_nothing),
        cmocka_unit_test(test_odds__more_flights_settle_it),
        cmocka_unit_test(test_odds__more_flights_has_its_closed_forms),
        cmocka_unit_test(test_odds__estimate_on_the_line_is_never_settled),
        cmocka_unit_test(test_odds__criterion_is_met_inside_its_limits_at_apogee),
        cmocka_unit_test(test_odds__verdict_follows_the_bounds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
