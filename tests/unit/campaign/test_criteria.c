/* Criteria: measures, limits, odds, names. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static void test_criteria__unknown_measure_suggests_the_nearest(void **state)
{
    (void)state;
    fixture_refuses("\"held_fraction\"", "\"held_fracton\"", "/criteria/0/measure",
                    "unknown measure \"held_fracton\"|mean \"held_fraction\"");
    fixture_refuses("\"held_fraction\"", "\"beauty\"", "/criteria/0/measure", "unknown measure \"beauty\"|campaign reference");
    fixture_refuses("\"held_fraction\"", "3", "/criteria/0/measure", "got 3|wanted a text");
}

static void test_criteria__limits_must_be_there_and_in_order(void **state)
{
    (void)state;
    fixture_refuses("\"at_least\": 0.6, ", "", "/criteria/0", "no limit|at_least, at_most or both");
    fixture_refuses("\"at_least\": 0.6", "\"at_least\": 0.6, \"at_most\": 0.5", "/criteria/0",
                    "at_least is 0.6, above at_most, which is 0.5");
}

static void test_criteria__shares_are_inside_zero_and_one(void **state)
{
    (void)state;
    fixture_refuses("\"odds\": 0.8", "\"odds\": 1", "/criteria/0/odds", "got 1|above 0 and below 1");
    fixture_refuses("\"odds\": 0.8", "\"odds\": 0", "/criteria/0/odds", "got 0|above 0 and below 1");
    fixture_refuses("\"confidence\": 0.95", "\"confidence\": 1", "/criteria/0/confidence", "got 1|above 0 and below 1");
    fixture_refuses("\"odds\": 0.75", "\"odds\": 1", "/all_together/odds", "got 1|above 0 and below 1");
    fixture_refuses("\"confidence\": 0.9}", "\"confidence\": 0}", "/all_together/confidence", "got 0|above 0 and below 1");
}

/* What is refused as an entry is not refused again as a share. */
static void test_criteria__a_share_out_of_range_is_said_once(void **state)
{
    (void)state;
    static const char *const shares[] = {"1.5", "-1", "\"most\""};
    for (size_t index = 0; index < sizeof shares / sizeof shares[0]; index++) {
        struct rc_issues issues = {0};
        rc_campaign *campaign = NULL;
        char text[32];
        (void)snprintf(text, sizeof text, "\"odds\": %s", shares[index]);
        assert_int_equal(fixture_read(&campaign, "\"odds\": 0.8", text, &issues), RC_BAD_INPUT);
        assert_int_equal(issues.n_errors, 1);
        assert_true(fixture_has_issue(&issues, "/criteria/0/odds", "got|wanted"));
    }
}

static void test_criteria__names_are_unique(void **state)
{
    (void)state;
    fixture_refuses(
        "\"criteria\": [",
        "\"criteria\": [{\"name\": \"held\", \"measure\": \"apogee_m\", \"at_least\": 1, \"odds\": 0.5, \"confidence\": 0.9}, ",
        "/criteria/1/name", "name \"held\" is that of criterion 0");
    fixture_refuses("\"name\": \"held\"", "\"name\": \"all together\"", "/criteria/0/name", "choose another");
}

static void test_criteria__are_as_the_file_gives_them(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(
        fixture_read(
            &campaign, "\"criteria\": [",
            "\"criteria\": [{\"name\": \"high\", \"measure\": \"apogee_m\", \"at_least\": 1000, \"at_most\": 4000, "
            "\"odds\": 0.5, \"confidence\": 0.9}, "
            "{\"name\": \"calm\", \"measure\": \"roll_peak_dps\", \"at_most\": 900, \"odds\": 0.6, \"confidence\": 0.8}, ",
            &issues),
        RC_OK);
    assert_int_equal(rc_campaign_criteria_count(campaign), 3);
    const struct rc_criterion *high = rc_campaign_criterion(campaign, 0);
    assert_string_equal(high->name, "high");
    assert_int_equal(high->measure, RC_MEASURE_apogee_m);
    assert_true(high->at_least == 1000 && high->at_most == 4000 && high->odds == 0.5 && high->confidence == 0.9);
    const struct rc_criterion *calm = rc_campaign_criterion(campaign, 1);
    assert_int_equal(calm->measure, RC_MEASURE_roll_peak_dps);
    assert_true(isinf(calm->at_least) && calm->at_least < 0 && calm->at_most == 900);
    const struct rc_criterion *held = rc_campaign_criterion(campaign, 2);
    assert_true(isinf(held->at_most) && held->at_most > 0 && held->at_least == 0.6);
    assert_null(rc_campaign_criterion(campaign, 3));
    assert_null(rc_campaign_criterion(campaign, -1));
    const struct rc_criterion *together = rc_campaign_all_together(campaign);
    assert_string_equal(together->name, "all together");
    assert_true(together->odds == 0.75 && together->confidence == 0.9);
    assert_true(isinf(together->at_least) && isinf(together->at_most));
    rc_campaign_free(campaign);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_criteria__unknown_measure_suggests_the_nearest),
        cmocka_unit_test(test_criteria__limits_must_be_there_and_in_order),
        cmocka_unit_test(test_criteria__shares_are_inside_zero_and_one),
        cmocka_unit_test(test_criteria__a_share_out_of_range_is_said_once),
        cmocka_unit_test(test_criteria__names_are_unique),
        cmocka_unit_test(test_criteria__are_as_the_file_gives_them),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
