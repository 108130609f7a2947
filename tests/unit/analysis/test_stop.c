/* Stop rules: where they look, what they then say, and that their text gives the same rule back. How often the intervals hold is
 * measured by tests/coverage. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "rollcast/analysis.h"

static struct rc_replicates counts_of(int n, int64_t passed, int64_t flights)
{
    struct rc_replicates counts = {.n = n};
    for (int64_t flight = 0; flight < flights; flight++) {
        counts.flights[flight % n]++;
        counts.passed[flight % n] += flight * passed / flights != (flight + 1) * passed / flights;
    }
    return counts;
}

static void test_stop__text_gives_the_rule_back(void **state)
{
    (void)state;
    const struct rc_stop_rule rules[] = {{.most = 9}, {.width = 0.02, .most = 10000}, {.on_verdict = 1, .most = 1},
                                         {.seconds = 0.25, .most = 4000000000000}, {0.5, 3600.0, 1, 77}};
    const char *const wrong[] = {"x", "width 0e-6, verdict 0, seconds 0e-3, of 10 flights",
                                 "width 2000000e-6, verdict 0, seconds 0e-3, of 1 flights",
                                 "width 1e-6, verdict 0, seconds 0e-3", "width 1e-6, verdict 0, seconds 0e-3, of 0 flights"};
    for (size_t index = 0; index < sizeof rules / sizeof rules[0]; index++) {
        char text[RC_STOP_TEXT];
        struct rc_stop_rule back;
        rc_stop_write(&rules[index], text);
        assert_true(rc_stop_read(&back, text));
        assert_int_equal(rc_stop_is_set(&back), index > 0);
        assert_true(index == 0 || (back.width == rules[index].width && back.seconds == rules[index].seconds &&
                                   back.on_verdict == rules[index].on_verdict && back.most == rules[index].most));
    }
    for (size_t index = 0; index < sizeof wrong / sizeof wrong[0]; index++) {
        struct rc_stop_rule back;
        assert_false(rc_stop_read(&back, wrong[index]));
    }
}

static void test_stop__looks_are_where_the_plan_allows_them(void **state)
{
    (void)state;
    const struct rc_stop_rule verdict = {.on_verdict = 1, .most = 10000}, time = {.seconds = 5.0, .most = 10000};
    const int64_t wanted[] = {1250, 2500, 5000, 10000, -1};
    assert_int_equal(rc_stop_next_look(&verdict, 0, 1), 50);
    assert_int_equal(rc_stop_next_look(&verdict, 0, 50), 50);
    assert_int_equal(rc_stop_next_look(&verdict, 0, 51), 100);
    assert_int_equal(rc_stop_next_look(&time, 0, 1), -1);
    assert_int_equal(rc_stop_next_look(&time, 16, 1), -1);
    int64_t look = 0;
    for (int index = 0; index < 5; index++) {
        look = rc_stop_next_look(&verdict, 16, look + 1);
        assert_int_equal(look, wanted[index]);
    }
    assert_int_equal(rc_stop_look_count(&verdict), 4);
    assert_int_equal(rc_stop_look_count(&time), 0);
    assert_int_equal(rc_stop_next_look(&(struct rc_stop_rule){.width = 0.1, .most = 300}, 16, 1), 300);
    assert_int_equal(rc_stop_next_look(&(struct rc_stop_rule){.width = 0.1, .most = 10001}, 16, 5005), 10001);
}

/* The bound is where the verdict turns, and the plain sequence is what rc_sequence_interval says. */
static void test_stop__bounds_are_where_the_verdict_turns(void **state)
{
    (void)state;
    const struct rc_stop_rule rule = {.on_verdict = 1, .most = 10000};
    const int64_t passes[] = {0, 1, 500, 990, 999, 1000};
    for (size_t index = 0; index < sizeof passes / sizeof passes[0]; index++) {
        const struct rc_replicates counts = counts_of(1, passes[index], 1000);
        const struct rc_criterion criterion = {.odds = 0.5, .confidence = 0.95};
        const struct rc_odds odds = rc_stop_odds(&counts, &rule, &criterion);
        const struct rc_range range = rc_sequence_interval(passes[index], 1000, 0.95, 1.0);
        assert_true(odds.interval_low == range.low && odds.interval_high == range.high);
        assert_true(odds.bound_low >= range.low && odds.bound_high <= range.high); /* one-sided: nearer */
        const struct rc_criterion below = {.odds = odds.bound_low - 1e-9, .confidence = 0.95};
        const struct rc_criterion above = {.odds = odds.bound_low + 1e-9, .confidence = 0.95};
        assert_true(passes[index] == 0 || rc_stop_odds(&counts, &rule, &below).verdict == RC_VERDICT_GO);
        assert_true(rc_stop_odds(&counts, &rule, &above).verdict != RC_VERDICT_GO);
        const struct rc_criterion beyond = {.odds = odds.bound_high + 1e-9, .confidence = 0.95};
        const struct rc_criterion within = {.odds = odds.bound_high - 1e-9, .confidence = 0.95};
        assert_true(passes[index] == 1000 || rc_stop_odds(&counts, &rule, &beyond).verdict == RC_VERDICT_NO_GO);
        assert_true(rc_stop_odds(&counts, &rule, &within).verdict != RC_VERDICT_NO_GO);
    }
}

/* As many more flights with the same share of passes settle the verdict, and far fewer do not. */
static void test_stop__more_flights_are_as_many_as_settle_the_verdict(void **state)
{
    (void)state;
    const struct rc_stop_rule rule = {.on_verdict = 1, .most = 100000};
    const struct rc_criterion criterion = {.odds = 0.9, .confidence = 0.95};
    const int64_t passes[] = {920, 910, 885, 880};
    for (size_t index = 0; index < sizeof passes / sizeof passes[0]; index++) {
        const struct rc_replicates now = counts_of(1, passes[index], 1000);
        const int64_t more = rc_stop_odds(&now, &rule, &criterion).more_flights;
        assert_true(more > 100 && more < 100000);
        const int64_t enough = 1000 + more, few = 1000 + 19 * more / 20;
        const struct rc_replicates then = counts_of(1, passes[index] * enough / 1000, enough);
        const struct rc_replicates before = counts_of(1, passes[index] * few / 1000, few);
        assert_int_equal(rc_stop_odds(&then, &rule, &criterion).verdict, passes[index] > 900 ? RC_VERDICT_GO : RC_VERDICT_NO_GO);
        assert_int_equal(rc_stop_odds(&before, &rule, &criterion).verdict, RC_VERDICT_NOT_YET_KNOWN);
        assert_true(rc_stop_odds(&then, &rule, &criterion).more_flights == 0);
    }
}

/* Member by member: the bytes between members are anything. */
static void assert_same_odds(const struct rc_odds *one, const struct rc_odds *other)
{
    assert_true(one->passed == other->passed && one->flights == other->flights && one->estimate == other->estimate);
    assert_true(one->interval_low == other->interval_low && one->interval_high == other->interval_high);
    assert_true(one->bound_low == other->bound_low && one->bound_high == other->bound_high);
    assert_true(one->verdict == other->verdict && one->more_flights == other->more_flights);
}

static void test_stop__no_rule_is_the_ordinary_interval_and_a_rule_is_wider(void **state)
{
    (void)state;
    const struct rc_criterion criterion = {.odds = 0.9, .confidence = 0.95};
    const struct rc_stop_rule none = {.most = 4096}, verdict = {.on_verdict = 1, .most = 4096};
    for (int n = 1; n <= 16; n += 15) {
        const struct rc_replicates counts = counts_of(n, 3600, 4096);
        const struct rc_odds ordinary = n > 1 ? rc_odds_from_replicates(&counts, &criterion)
                                               : rc_odds_from_count(3600, 4096, &criterion);
        const struct rc_odds without = rc_stop_odds(&counts, &none, &criterion);
        const struct rc_odds with = rc_stop_odds(&counts, &verdict, &criterion);
        assert_same_odds(&without, &ordinary);
        assert_true(with.interval_high - with.interval_low > ordinary.interval_high - ordinary.interval_low);
    }
}

/* J looks and the end, which may be elsewhere, have a J + 1st of the risk each. Looks: none under a rule by time alone; 1024, 2048 and
 * 4096; 1250 to 10000; eight at most. */
static void test_stop__looks_and_the_end_share_the_risk(void **state)
{
    (void)state;
    const struct rc_criterion criterion = {.odds = 0.4, .confidence = 0.95};
    const struct {
        struct rc_stop_rule rule;
        int n_shares;
    } cases[] = {{{.seconds = 5.0, .most = 4096}, 1}, {{.on_verdict = 1, .most = 1024}, 2}, {{.on_verdict = 1, .most = 4096}, 4},
                 {{.width = 0.01, .most = 10000}, 5}, {{.on_verdict = 1, .seconds = 5.0, .most = 100000000}, 9}};
    const struct rc_replicates counts = counts_of(16, 777, 2001);
    for (size_t index = 0; index < sizeof cases / sizeof cases[0]; index++) {
        const struct rc_criterion share = {.odds = 0.4, .confidence = 1.0 - 0.05 / cases[index].n_shares};
        const struct rc_odds wanted = rc_odds_from_replicates(&counts, &share);
        const struct rc_odds got = rc_stop_odds(&counts, &cases[index].rule, &criterion);
        assert_true(fabs(got.interval_low - wanted.interval_low) < 1e-12 && fabs(got.bound_high - wanted.bound_high) < 1e-12);
        assert_true(wanted.interval_high > wanted.interval_low);
    }
}

static void test_stop__the_worst_row_decides(void **state)
{
    (void)state;
    const struct rc_stop_rule verdict = {.on_verdict = 1, .most = 4096}, width = {.width = 0.03, .most = 4096};
    const struct rc_criterion criteria[] = {{.odds = 0.5, .confidence = 0.95}, {.odds = 0.9, .confidence = 0.95}};
    struct rc_replicates counts[] = {counts_of(1, 990, 1000), counts_of(1, 900, 1000)};
    assert_int_equal(rc_stop_reached(&verdict, 1, counts, criteria), RC_STOP_VERDICT);
    assert_int_equal(rc_stop_reached(&verdict, 2, counts, criteria), RC_STOP_NONE); /* the second is open */
    assert_int_equal(rc_stop_reached(&width, 1, counts, criteria), RC_STOP_WIDTH);
    assert_int_equal(rc_stop_reached(&width, 2, counts, criteria), RC_STOP_NONE);
    counts[0] = counts_of(1, 100, 1000); /* NO-GO of one row is NO-GO of all */
    assert_int_equal(rc_stop_reached(&verdict, 2, counts, criteria), RC_STOP_VERDICT);
    assert_int_equal(rc_stop_reached(&(struct rc_stop_rule){.seconds = 1.0, .most = 9}, 2, counts, criteria), RC_STOP_NONE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stop__text_gives_the_rule_back),
        cmocka_unit_test(test_stop__looks_are_where_the_plan_allows_them),
        cmocka_unit_test(test_stop__bounds_are_where_the_verdict_turns),
        cmocka_unit_test(test_stop__more_flights_are_as_many_as_settle_the_verdict),
        cmocka_unit_test(test_stop__no_rule_is_the_ordinary_interval_and_a_rule_is_wider),
        cmocka_unit_test(test_stop__looks_and_the_end_share_the_risk),
        cmocka_unit_test(test_stop__the_worst_row_decides),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
