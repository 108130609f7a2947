/* Keys: unknown, doubled, missing, holding the wrong kind of thing. */
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static void test_walk__unknown_key_suggests_the_nearest(void **state)
{
    (void)state;
    fixture_refuses("\"diameter_m\": 0.1", "\"diametre_m\": 0.1", "/vehicle/diametre_m",
                    "unknown key \"diametre_m\"|mean \"diameter_m\"");
    fixture_refuses("\"cant_deg\"", "\"cant_dge\"", "/fins/0/cant_dge", "unknown key|mean \"cant_deg\"");
    fixture_refuses("\"shutter_s\"", "\"Shutter_S\"", "/cameras/0/Shutter_S", "unknown key|mean \"shutter_s\"");
    fixture_refuses("\"cant_deg\"", "\"cant_rad\"", "/fins/0/cant_rad", "unknown key|mean \"cant_deg\"? its unit is deg");
    fixture_refuses("\"gyro\": {", "\"giro\": {", "/giro", "unknown key \"giro\"|mean \"gyro\"");
    fixture_refuses("\"odds\": 0.8", "\"oddss\": 0.8", "/criteria/0/oddss", "mean \"odds\"");
    fixture_refuses("\"purpose\"", "\"xylophone\"", "/xylophone", "unknown key \"xylophone\"|campaign reference");
}

/* A misspelt required key is not reported as missing too; another missing one is. */
static void test_walk__misspelt_key_is_said_once(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(fixture_read(&campaign, "\"diameter_m\": 0.1", "\"diameter_mm\": 100", &issues), RC_BAD_INPUT);
    assert_int_equal(issues.n_errors, 1);
    assert_true(fixture_has_issue(&issues, "/vehicle/diameter_mm", "unknown key|mean \"diameter_m\""));
    assert_int_equal(fixture_read(&campaign, "\"diameter_m\": 0.1", "\"xylophone\": 100", &issues), RC_BAD_INPUT);
    assert_true(fixture_has_issue(&issues, "/vehicle/xylophone", "unknown key"));
    assert_true(fixture_has_issue(&issues, "/vehicle/diameter_m", "is missing"));
}

static void test_walk__doubled_key_is_refused(void **state)
{
    (void)state;
    fixture_refuses("\"diameter_m\": 0.1", "\"diameter_m\": 0.1, \"diameter_m\": 0.2", "/vehicle/diameter_m",
                    "stands here twice");
    fixture_refuses("\"pad\": {", "\"pad\": {\"wait_s\": 1}, \"pad\": {", "/pad", "stands here twice");
}

static void test_walk__missing_key_is_named(void **state)
{
    (void)state;
    fixture_refuses("\"diameter_m\": 0.1, ", "", "/vehicle/diameter_m", "entry \"diameter_m\" is missing");
    fixture_refuses("\"shutter_s\": 0.002, ", "", "/cameras/0/shutter_s", "entry \"shutter_s\" is missing");
    fixture_refuses("\"count\": 4, ", "", "/fins/0/count", "entry \"count\" is missing");
    fixture_refuses("\"name\": \"Test\", ", "", "/name", "entry \"name\" is missing");
}

static void test_walk__missing_object_is_named_once(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(
        fixture_read(&campaign, "  \"rail\": {\"length_m\": 5, \"elevation_deg\": 86, \"azimuth_deg\": 30},\n", "", &issues),
        RC_BAD_INPUT);
    assert_int_equal(issues.n_errors, 1);
    assert_true(fixture_has_issue(&issues, "/rail", "object \"rail\" is missing"));
    fixture_refuses("\"footage\": {\"target_dps\": 30},\n", "", "/footage", "object \"footage\" is missing");
}

static void test_walk__missing_list_is_named(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    const struct rc_bundle bundle = fixture_bundle("{}");
    assert_int_equal(rc_campaign_from_bundle(&campaign, &bundle, &issues), RC_BAD_INPUT);
    assert_true(fixture_has_issue(&issues, "/cameras", "list \"cameras\" is missing"));
    assert_true(fixture_has_issue(&issues, "/fins", "list \"fins\" is missing"));
    assert_true(fixture_has_issue(&issues, "/criteria", "list \"criteria\" is missing"));
    assert_true(fixture_has_issue(&issues, "/vehicle", "object \"vehicle\" is missing"));
    assert_int_equal(issues.n_errors, issues.n_kept); /* each once, not once a quantity */
    assert_true(issues.n_errors < 20);
    struct rc_bundle copy = bundle;
    rc_bundle_free(&copy);
}

static void test_walk__wrong_kind_of_thing_is_refused(void **state)
{
    (void)state;
    fixture_refuses("\"pad\": {\"wait_s\": 300}", "\"pad\": 300", "/pad", "got 300|wanted an object");
    fixture_refuses("\"pad\": {\"wait_s\": 300}", "\"pad\": [300]", "/pad", "got a list|wanted an object");
    fixture_refuses("\"criteria\": [", "\"criteria\": 3, \"x\": [", "/criteria", "got 3|wanted a list");
    fixture_refuses("\"criteria\": [", "\"criteria\": [7, ", "/criteria/0", "wanted an object");
}

static void test_walk__number_of_members_is_limited(void **state)
{
    (void)state;
    fixture_refuses("\"criteria\": [", "\"criteria\": [], \"x\": [", "/criteria", "got 0 members, wanted 1 to 32");
    fixture_refuses("\"cameras\": [", "\"cameras\": [{}, {}, {}, {}, ", "/cameras", "got 5 members, wanted 1 to 4");
    fixture_refuses("\"fins\": [", "\"fins\": [{}, {}, ", "/fins", "got 3 members, wanted 1 to 2");
}

static void test_walk__key_of_another_mode_says_which(void **state)
{
    (void)state;
    fixture_refuses("\"speed_mps\": 4", "\"speed_mps\": 4, \"speed_factor\": 1", "/wind/speed_factor",
                    "only goes with wind.table_csv");
    fixture_refuses("\"speed_mps\": 4", "\"table_csv\": \"w.csv\", \"speed_mps\": 4", "/wind/speed_mps",
                    "does not go with wind.table_csv");
    fixture_refuses("\"gain\": 0.5", "\"gain_per_s\": 0.5", "/controller/gain_per_s", "only goes with acts_on \"angle\"");
    fixture_refuses("\"acts_on\": \"rate\"", "\"acts_on\": \"angle\"", "/controller/gain",
                    "only goes with acts_on \"rate\"|gain_per_s");
    fixture_refuses("\"acts_on\": \"rate\", \"rate_hz\": 100, \"gain\": 0.5, \"integral_gain_per_s\": 4",
                    "\"acts_on\": \"angle\", \"rate_hz\": 100, \"gain_per_s\": 8, \"still_dps\": 4", "/controller/still_dps",
                    "only goes with acts_on \"rate\"|and still_deg");
    fixture_refuses("\"gain\": 0.5", "\"gain\": 0.5, \"still_deg\": 1", "/controller/still_deg", "and still_dps");
    fixture_refuses("\"geared_sensorless\", \"floor_dps\": 40,", "\"servo\", \"slew_dps2\": 40,", "/drive/slew_dps2",
                    "\"servo\" but of \"geared_sensorless\" and \"stepper\"; remove it");
    fixture_refuses("\"top_dps\":", "\"microsteps\": 8, \"top_dps\":", "/drive/microsteps",
                    "is no number of drive.kind \"geared_sensorless\" but of \"stepper\"; remove it, or change the kind");
    fixture_refuses("\"top_dps\":", "\"winding_current_A\": 1, \"top_dps\":", "/drive/winding_current_A",
                    "is no number of drive.kind \"geared_sensorless\" but of \"stepper\"; remove it");
    fixture_refuses("\"top_dps\":", "\"torque_per_rate_Nms\": 1, \"top_dps\":", "/drive/torque_per_rate_Nms", "but of \"servo\"; remove it");
}

static void test_walk__many_keys_end_soon(void **state)
{
    (void)state;
    struct rc_text text = {0};
    rc_text_add(&text, "{\"k0\": 0");
    for (int key = 1; key < 15000; key++)
        rc_text_add(&text, ", \"k%d\": 0", key);
    rc_text_add(&text, "}");
    struct rc_bundle bundle = fixture_bundle(text.bytes);
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_from_bundle(&campaign, &bundle, &issues), RC_BAD_INPUT);
    assert_true(issues.n_errors < 100);
    rc_bundle_free(&bundle);
    rc_text_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_walk__unknown_key_suggests_the_nearest),
        cmocka_unit_test(test_walk__misspelt_key_is_said_once),
        cmocka_unit_test(test_walk__doubled_key_is_refused),
        cmocka_unit_test(test_walk__missing_key_is_named),
        cmocka_unit_test(test_walk__missing_object_is_named_once),
        cmocka_unit_test(test_walk__missing_list_is_named),
        cmocka_unit_test(test_walk__wrong_kind_of_thing_is_refused),
        cmocka_unit_test(test_walk__number_of_members_is_limited),
        cmocka_unit_test(test_walk__key_of_another_mode_says_which),
        cmocka_unit_test(test_walk__many_keys_end_soon),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
