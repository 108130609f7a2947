/* Distribution objects with lists: values with weights, columns of CSV files. The distributions themselves are numeric's tests. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static const char speed[] = "\"speed_mps\": 4";
static const char column[] =
    "\"speed_mps\": {\"distribution\": \"empirical\", \"csv\": \"speeds.csv\", \"column\": \"mean_mps\", \"smoothing\": 0}";

/* Where in the uncertain quantities the wind's speed stands, and how it is described. */
static int speed_of(const rc_campaign *campaign, struct rc_quantity_view *view)
{
    for (int index = 0; index < rc_campaign_uncertain_count(campaign); index++) {
        *view = rc_campaign_uncertain(campaign, index);
        if (strcmp(view->path, "wind.speed_mps") == 0)
            return index;
    }
    fail_msg("the wind's speed is not uncertain");
    return -1;
}

static void test_law_lists__discrete_values_are_drawn(void **state)
{
    (void)state;
    rc_campaign *campaign = NULL;
    struct rc_issues issues;
    assert_int_equal(fixture_read(&campaign, speed,
                                  "\"speed_mps\": {\"distribution\": \"discrete\", \"values\": [3, 9], \"weights\": [0.75, 0.25]}",
                                  &issues),
                     RC_OK);
    struct rc_quantity_view view;
    const int index = speed_of(campaign, &view);
    assert_string_equal(view.distribution, "discrete(2 values)");
    assert_true(view.value == 3.0);
    int n_fast = 0;
    for (uint64_t flight = 0; flight < 4000; flight++) {
        double drawn[RC_MAX_UNCERTAIN];
        rc_campaign_plan(campaign)->draw(rc_campaign_sampling(campaign), 1, flight, drawn);
        assert_true(drawn[index] == 3.0 || drawn[index] == 9.0);
        n_fast += drawn[index] == 9.0;
    }
    assert_in_range(n_fast, 1000 - 137, 1000 + 137); /* 5 sd */
    rc_campaign_free(campaign);
}

/* The fixture with a column of wind speeds beside it. ends as rc_campaign_from_bundle */
static rc_status read_with(rc_campaign **campaign, const char *csv, struct rc_issues *issues)
{
    char *text = fixture_replace(fixture_campaign, speed, column);
    struct rc_bundle bundle = fixture_bundle(text);
    struct rc_error err;
    assert_int_equal(rc_bundle_add(&bundle, "speeds.csv", csv, strlen(csv), &err), RC_OK);
    const rc_status status = rc_campaign_from_bundle(campaign, &bundle, issues);
    rc_bundle_free(&bundle);
    free(text);
    return status;
}

static void test_law_lists__columns_are_drawn_in_any_order_among_others(void **state)
{
    (void)state;
    rc_campaign *campaign = NULL;
    struct rc_issues issues;
    if (read_with(&campaign, "# mast\nday,mean_mps,note\n1,7.5,2\n2,3.25,5\n3,4,1\n", &issues) != RC_OK)
        fail_msg("%s: %s", issues.item[0].where, issues.item[0].what);
    struct rc_quantity_view view;
    const int index = speed_of(campaign, &view);
    assert_string_equal(view.distribution, "empirical(smoothing 0, 3 values)");
    assert_true(view.value == 4.0);
    for (uint64_t flight = 0; flight < 200; flight++) {
        double drawn[RC_MAX_UNCERTAIN];
        rc_campaign_plan(campaign)->draw(rc_campaign_sampling(campaign), 1, flight, drawn);
        assert_true(drawn[index] == 3.25 || drawn[index] == 4.0 || drawn[index] == 7.5);
    }
    rc_campaign_free(campaign);
}

static void test_law_lists__bad_columns_are_refused_by_line(void **state)
{
    (void)state;
    static const struct {
        const char *csv, *place, *words;
    } bad[] = {
        {"mean_mps\n4\ncalm\n", "speeds.csv:3", "got \"calm\" in mean_mps"},
        {"mean_mps\n", "speeds.csv:1", "0 rows of numbers"},
        {"gust_mps\n4\n", "speeds.csv:1", "\"mean_mps\"|missing"},
        {"", "speeds.csv:1", "empty"},
        {"mean_mps\n4\nnan\n", "speeds.csv:3", "finite"},
    };
    for (size_t row = 0; row < sizeof bad / sizeof bad[0]; row++) {
        rc_campaign *campaign = NULL;
        struct rc_issues issues;
        assert_int_equal(read_with(&campaign, bad[row].csv, &issues), RC_BAD_INPUT);
        if (!fixture_has_issue(&issues, bad[row].place, bad[row].words))
            fail_msg("row %zu: %s: %s", row, issues.item[0].where, issues.item[0].what);
    }
}

static void test_law_lists__wrong_lists_are_refused_by_key(void **state)
{
    (void)state;
    static const struct {
        const char *object, *place, *words;
    } bad[] = {
        {"\"discrete\", \"values\": [3, 9], \"weights\": [0.7, 0.2]", "/wind/speed_mps/weights", "sum to 0.9|wanted 1"},
        {"\"discrete\", \"values\": [3, 9]", "/wind/speed_mps/weights", "missing"},
        {"\"discrete\", \"values\": 3, \"weights\": [1]", "/wind/speed_mps/values", "wanted a list"},
        {"\"discrete\", \"values\": [], \"weights\": []", "/wind/speed_mps/values", "wanted a list of 1"},
        {"\"discrete\", \"values\": [3, \"9\"], \"weights\": [0.5, 0.5]", "/wind/speed_mps/values", "entry 2"},
        {"\"discrete\", \"values\": [3, 9], \"weights\": [0.5, 0.25, 0.25]", "/wind/speed_mps/weights", "got 3 numbers, wanted 2"},
        {"\"discrete\", \"values\": [3, 900], \"weights\": [0.5, 0.5]", "/wind/speed_mps", "leaves the allowed"},
        {"\"discrete\", \"value\": [3], \"weights\": [1]", "/wind/speed_mps/value", "unknown parameter|values, weights"},
        {"\"empirical\", \"smoothing\": 0", "/wind/speed_mps/csv", "missing"},
        {"\"empirical\", \"smoothing\": 0, \"csv\": \"none.csv\", \"column\": \"a\"", "/wind/speed_mps/csv", "not among"},
        {"\"empirical\", \"smoothing\": 0, \"csv\": \"/none.csv\", \"column\": \"a\"", "/wind/speed_mps/csv", "absolute"},
        {"\"empirical\", \"smoothing\": 0, \"csv\": 4, \"column\": \"a\"", "/wind/speed_mps/csv", "wanted a text"},
        {"\"empirical\", \"csv\": \"none.csv\", \"column\": \"a\"", "/wind/speed_mps/smoothing", "missing"},
    };
    for (size_t row = 0; row < sizeof bad / sizeof bad[0]; row++) {
        char text[300];
        (void)snprintf(text, sizeof text, "\"speed_mps\": {\"distribution\": %s}", bad[row].object);
        fixture_refuses(speed, text, bad[row].place, bad[row].words);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_law_lists__discrete_values_are_drawn),
        cmocka_unit_test(test_law_lists__columns_are_drawn_in_any_order_among_others),
        cmocka_unit_test(test_law_lists__bad_columns_are_refused_by_line),
        cmocka_unit_test(test_law_lists__wrong_lists_are_refused_by_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
