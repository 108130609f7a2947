/* Distribution objects in a campaign. The distributions themselves are numeric's tests. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

#include "campaign/law.h"
#include "fixture.h"

static const char cant[] = "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03}";

static void test_law__negative_spread_is_refused(void **state)
{
    (void)state;
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": -1}", "/fins/0/cant_deg/sd", "got -1");
}

static void test_law__unknown_distribution_suggests_the_nearest(void **state)
{
    (void)state;
    fixture_refuses(cant, "{\"distribution\": \"norml\", \"mean\": 0, \"sd\": 1}", "/fins/0/cant_deg/distribution",
                    "unknown distribution \"norml\"|normal, |mean \"normal\"");
    fixture_refuses(cant, "{\"distribution\": 3, \"mean\": 0, \"sd\": 1}", "/fins/0/cant_deg/distribution",
                    "got 3|name of a distribution");
    fixture_refuses(cant, "{\"mean\": 0, \"sd\": 1}", "/fins/0/cant_deg/distribution", "\"distribution\" is missing");
    fixture_refuses(cant, "{}", "/fins/0/cant_deg/distribution", "\"distribution\" is missing");
}

static void test_law__parameters_are_those_of_the_kind(void **state)
{
    (void)state;
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.1, \"sigma\": 1}", "/fins/0/cant_deg/sigma",
                    "unknown parameter \"sigma\"|normal takes mean, sd");
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"maen\": 0, \"sd\": 0.1}", "/fins/0/cant_deg/maen",
                    "did you mean \"mean\"");
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0}", "/fins/0/cant_deg/sd", "\"sd\" of normal is missing");
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": \"a\"}", "/fins/0/cant_deg/sd",
                    "got \"a\"|wanted a number");
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 1e999}", "/fins/0/cant_deg/sd",
                    "too large|finite");
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.1, \"sd\": 0.2}", "/fins/0/cant_deg/sd",
                    "twice");
    fixture_refuses(cant, "{\"distribution\": \"uniform\", \"low\": 1, \"high\": 0}", "/fins/0/cant_deg/high", "got 0");
}

/* P(X < 0) of a normal with mean 3 and sd 3 is Phi(-1) = 0.1587: printed to two digits as 0.16. */
static void test_law__leaving_the_allowed_range_is_refused(void **state)
{
    (void)state;
    fixture_refuses("\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"normal\", \"mean\": 3, \"sd\": 3}",
                    "/wind/speed_mps", "normal(mean 3, sd 3)|0 to 80 m/s|probability 0.16|truncated_normal");
    fixture_refuses("\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"uniform\", \"low\": 70, \"high\": 90}",
                    "/wind/speed_mps", "uniform(low 70, high 90)|probability 0.5|above 0.5");
    fixture_refuses("\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"normal\", \"mean\": -3, \"sd\": 0.1}",
                    "/wind/speed_mps", "median -3|0 to 80 m/s");
}

#define DESCENT(works) "\"descent\": {\"body_area_m2\": 0.05, \"drogue_area_m2\": 1, \"drogue_works\": " works "},\n  \"criteria\": [{"

/* What works or does not is drawn as 1 or 0: a number or a law with anything between has no meaning, though a factor on its spread or a
 * shift put it there. */
static void test_law__a_switch_takes_nothing_between(void **state)
{
    (void)state;
    static const char *const good[] = {"0", "1", "{\"distribution\": \"chance\", \"odds\": 0.3}",
                                       "{\"distribution\": \"discrete\", \"values\": [1, 0], \"weights\": [0.7, 0.3]}",
                                       "{\"distribution\": \"chance\", \"odds\": 0.3, \"spread_factor\": 0}",
                                       "{\"distribution\": \"chance\", \"odds\": 0.3, \"spread_factor\": 1, \"shift\": 0}",
                                       "{\"distribution\": \"discrete\", \"values\": [2, 0], \"weights\": [0.3, 0.7], \"spread_factor\": 0.5}"};
    static const char *const bad[] = {"0.5", "0.999", "{\"distribution\": \"uniform\", \"low\": 0, \"high\": 1}",
                                      "{\"distribution\": \"beta\", \"alpha\": 2, \"beta\": 3, \"low\": 0, \"high\": 1}",
                                      "{\"distribution\": \"discrete\", \"values\": [0, 0.4, 1], \"weights\": [0.5, 1e-9, 0.499999999]}",
                                      "{\"distribution\": \"chance\", \"odds\": 0.9, \"spread_factor\": 0.5}",
                                      "{\"distribution\": \"chance\", \"odds\": 0.2, \"spread_factor\": 0.999}",
                                      "{\"distribution\": \"chance\", \"odds\": 0.2, \"spread_factor\": 0.1, \"shift\": 0.6}"};
    for (size_t at = 0; at < sizeof good / sizeof good[0] + sizeof bad / sizeof bad[0]; at++) {
        const bool is_good = at < sizeof good / sizeof good[0];
        const char *const works = is_good ? good[at] : bad[at - sizeof good / sizeof good[0]];
        char text[400];
        (void)snprintf(text, sizeof text, DESCENT("%s"), works);
        if (!is_good) {
            fixture_refuses("\"criteria\": [{", text, "/descent/drogue_works", "wanted 0, 1, or|\"distribution\": \"chance\"|1 opens");
            continue;
        }
        struct rc_issues issues = {0};
        rc_campaign *campaign = NULL;
        assert_int_equal(fixture_read(&campaign, "\"criteria\": [{", text, &issues), RC_OK);
        rc_campaign_free(campaign);
    }
}

#define MOTOR(steps)                                                                                                             \
    "\"stepper\", \"top_dps\": 2500, \"slew_dps2\": 4000, \"holding_torque_Nm\": 0.02, \"supply_V\": 12, \"winding_current_A\": 0.6, " \
    "\"winding_resistance_ohm\": 6.5, \"winding_inductance_H\": 0.0017, \"gear_ratio\": 20, " steps "}"
#define COGGED(cogs) "\"servo\", \"top_dps\": 2500, \"torque_per_rate_Nms\": 2, \"torque_Nm\": 5, \"gear_ratio\": 2, \"rotor_inertia_kgm2\": 0.0005, \"cogs_per_turn\": " cogs "}"
static const char drive_of_fixture[] =
    "\"geared_sensorless\", \"floor_dps\": 40, \"deadband_dps\": 5, \"top_dps\": 2500, \"slew_dps2\": 6000,\n"
    "    \"sleep_after_s\": 120, \"wake_command_dps\": 90, \"wake_delay_s\": 1.5, \"gear_ratio\": 20}";

/* Steps, microsteps and cogs are counted: a number with a fraction names the nearest, a law that draws one is refused. */
static void test_law__what_is_counted_takes_whole_numbers(void **state)
{
    (void)state;
    static const char *const good[] = {MOTOR("\"steps_per_turn\": 400"), MOTOR("\"microsteps\": 1024"), COGGED("14"),
                                       COGGED("{\"distribution\": \"discrete\", \"values\": [12, 14], \"weights\": [0.4, 0.6]}"),
                                       COGGED("{\"distribution\": \"discrete\", \"values\": [10, 14], \"weights\": [0.4, 0.6], \"spread_factor\": 0.5}")};
    for (size_t at = 0; at < sizeof good / sizeof good[0]; at++) {
        struct rc_issues issues = {0};
        rc_campaign *campaign = NULL;
        assert_int_equal(fixture_read(&campaign, drive_of_fixture, good[at], &issues), RC_OK);
        rc_campaign_free(campaign);
    }
    fixture_refuses(drive_of_fixture, MOTOR("\"steps_per_turn\": 199.6"), "/drive/steps_per_turn", "got 199.6|a whole number; nearest: 200");
    fixture_refuses(drive_of_fixture, MOTOR("\"microsteps\": 16.4"), "/drive/microsteps", "got 16.4|a whole number; nearest: 16");
    fixture_refuses(drive_of_fixture, COGGED("12.5"), "/drive/cogs_per_turn", "got 12.5|a whole number; nearest: 13");
    fixture_refuses(drive_of_fixture, COGGED("{\"distribution\": \"uniform\", \"low\": 11.5, \"high\": 14}"), "/drive/cogs_per_turn",
                    "values between 11 and 12, wanted whole numbers, of a distribution such as|discrete");
    fixture_refuses(drive_of_fixture,
                    COGGED("{\"distribution\": \"discrete\", \"values\": [12, 13.5], \"weights\": [0.999999, 1e-6]}"),
                    "/drive/cogs_per_turn", "values between 13 and 14");
    fixture_refuses(drive_of_fixture,
                    COGGED("{\"distribution\": \"discrete\", \"values\": [12, 14], \"weights\": [0.4, 0.6], \"shift\": 0.2}"),
                    "/drive/cogs_per_turn", "values between 12 and 13");
}

/* Phi(-4.76) = 9.7e-7 passes, Phi(-4.75) = 1.02e-6 does not. source standard normal tail: Abramowitz and Stegun, table 26.2, from memory */
static void test_law__one_in_a_million_is_the_limit(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(fixture_read(&campaign, "\"speed_mps\": 4",
                                  "\"speed_mps\": {\"distribution\": \"normal\", \"mean\": 4.76, \"sd\": 1}", &issues),
                     RC_OK);
    rc_campaign_free(campaign);
    fixture_refuses("\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"normal\", \"mean\": 4.75, \"sd\": 1}",
                    "/wind/speed_mps", "probability 1e-06");
}

static void test_law__every_kind_of_the_registry_is_written_with_its_parameters(void **state)
{
    (void)state;
    for (int index = 0; index < rc_distribution_count(); index++) {
        struct rc_distribution d = {.kind = rc_distribution_at(index), .p = {1, 2, 3, 4}};
        char text[160];
        rc_law_text(text, sizeof text, &d);
        assert_int_equal(strncmp(text, d.kind->name, strlen(d.kind->name)), 0);
        assert_int_equal(text[strlen(text) - 1], ')');
        for (int p = 0; p < d.kind->n_parameters; p++)
            assert_non_null(strstr(text, d.kind->parameter[p].key));
    }
    char text[10];
    const struct rc_distribution d = {.kind = rc_distribution_find("normal"), .p = {0, 0.05}};
    rc_law_text(text, sizeof text, &d);
    assert_string_equal(text, "normal(me");
}

/* Spread, shift and costs stand beside the parameters of any kind. */
static void test_law__entries_beside_the_parameters(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(fixture_read(&campaign, cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03, \"spread_factor\": 0.5,"
                                  " \"shift\": 0.1, \"cost_to_halve\": 12, \"cost_to_remove\": 40.5}", &issues), RC_OK);
    bool is_found = false;
    for (int index = 0; index < rc_campaign_uncertain_count(campaign); index++) {
        const struct rc_quantity_view view = rc_campaign_uncertain(campaign, index);
        if (strcmp(view.given, "fins[0].cant_deg") != 0) {
            assert_true(isnan(view.cost_to_halve) && isnan(view.cost_to_remove));
            continue;
        }
        is_found = true;
        assert_true(view.cost_to_halve == 12 && view.cost_to_remove == 40.5 && view.value == 0.1);
        assert_string_equal(view.distribution, "normal(mean 0, sd 0.03, spread_factor 0.5, shift 0.1)");
        const struct rc_distribution *law = &rc_campaign_sampling(campaign)->quantity[index].distribution;
        assert_true(fabs(rc_distribution_sd(law) - 0.015) < 1e-15);
    }
    assert_true(is_found);
    rc_campaign_free(campaign);
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03, \"cost_to_halve\": -1}",
                    "/fins/0/cant_deg/cost_to_halve", "got -1|wanted a number from 0");
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03, \"spread_factor\": 11}",
                    "/fins/0/cant_deg/spread_factor", "got 11|from 0 to 10");
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03, \"shift\": \"a\"}", "/fins/0/cant_deg/shift",
                    "got \"a\"");
    fixture_refuses(cant, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03, \"cost_to_halv\": 1}",
                    "/fins/0/cant_deg/cost_to_halv", "did you mean \"cost_to_halve\"");
    fixture_refuses("\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"uniform\", \"low\": 1, \"high\": 3, \"shift\": -2}",
                    "/wind/speed_mps", "shift -2|probability 0.5");
}

/* A campaign with other spreads: factors and shifts on top of what stands there, named after the change, all else as it was. */
static void test_law__a_reshaped_campaign_differs_in_that_law_only(void **state)
{
    (void)state;
    static struct rc_issues issues;
    rc_campaign *base = NULL, *once = NULL, *twice = NULL;
    const struct rc_reshape reshape = {"fins[0].cant_deg", 0.5, 0.25};
    const struct rc_reshape fixed = {"wind.speed_mps", 0.5, 0.0};
    assert_int_equal(fixture_read(&base, "unit tests", "unit tests", &issues), RC_OK);
    assert_int_equal(rc_campaign_reshape(&once, base, &reshape, 1, &issues), RC_OK);
    assert_int_equal(rc_campaign_reshape(&twice, once, &reshape, 1, &issues), RC_OK);
    const struct rc_sampling *before = rc_campaign_sampling(base);
    const struct rc_sampling *after = rc_campaign_sampling(twice);
    assert_int_equal(before->n, after->n);
    for (int index = 0; index < before->n; index++) {
        double from[RC_MAX_UNCERTAIN], to[RC_MAX_UNCERTAIN];
        rc_campaign_plan(base)->draw(before, 3, 17, from);
        rc_campaign_plan(twice)->draw(after, 3, 17, to);
        if (strcmp(before->quantity[index].path, "fins[0].cant_deg") == 0)
            assert_true(fabs(to[index] - (0.25 * from[index] + 0.5)) < 1e-14); /* its median is 0 */
        else
            assert_true(to[index] == from[index]);
    }
    assert_non_null(strstr(rc_campaign_name(once), "; fins[0].cant_deg spread x 0.5 shift +0.25"));
    rc_campaign_free(once);
    rc_campaign_free(twice);
    assert_int_equal(rc_campaign_reshape(&once, base, &fixed, 1, &issues), RC_BAD_INPUT);
    assert_non_null(strstr(issues.item[0].what, "is no distribution"));
    rc_campaign_free(base);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_law__negative_spread_is_refused),
        cmocka_unit_test(test_law__unknown_distribution_suggests_the_nearest),
        cmocka_unit_test(test_law__parameters_are_those_of_the_kind),
        cmocka_unit_test(test_law__leaving_the_allowed_range_is_refused),
        cmocka_unit_test(test_law__one_in_a_million_is_the_limit),
        cmocka_unit_test(test_law__a_switch_takes_nothing_between),
        cmocka_unit_test(test_law__what_is_counted_takes_whole_numbers),
        cmocka_unit_test(test_law__entries_beside_the_parameters),
        cmocka_unit_test(test_law__a_reshaped_campaign_differs_in_that_law_only),
        cmocka_unit_test(test_law__every_kind_of_the_registry_is_written_with_its_parameters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
