/* What has no effect beside a table or without one, and what one flight shows of tables and of the vehicle. What is far is common
 * practice, no source. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

/* Up to two replacements in the fixture's campaign, and its tables. */
struct given {
    const char *find, *replacement;
    const char *also, *instead;     /* NULL for none */
    const char *aero, *wind;        /* NULL for the fixture's, and for none */
};

/* Read a campaign; it must be good. place  of the one warning wanted, words of it; NULL: there must be none at all */
static void expect(const struct given *given, const char *place, const char *words)
{
    char *const once = fixture_replace(fixture_campaign, given->find, given->replacement);
    char *const text = given->also ? fixture_replace(once, given->also, given->instead) : fixture_replace(once, "{", "{");
    const char *const aero = given->aero ? given->aero : fixture_aero;
    struct rc_bundle bundle = {0};
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_bundle_add(&bundle, "test.json", text, strlen(text), NULL), RC_OK);
    assert_int_equal(rc_bundle_add(&bundle, "thrust.csv", fixture_thrust, strlen(fixture_thrust), NULL), RC_OK);
    assert_int_equal(rc_bundle_add(&bundle, "aero.csv", aero, strlen(aero), NULL), RC_OK);
    if (given->wind)
        assert_int_equal(rc_bundle_add(&bundle, "wind.csv", given->wind, strlen(given->wind), NULL), RC_OK);
    const rc_status status = rc_campaign_from_bundle(&campaign, &bundle, &issues);
    if (status != RC_OK || (place == NULL && issues.n_warnings > 0))
        (void)fixture_has_issue(&issues, "", "shown");
    assert_int_equal(status, RC_OK);
    if (place)
        assert_true(fixture_has_issue(&issues, place, words));
    else
        assert_int_equal(issues.n_warnings, 0);
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
    free(text);
    free(once);
}

#define FACTOR(name) "\"aero\": {\"" name "\": {\"distribution\": \"uniform\", \"low\": 0.9, \"high\": 1.1}, \"table_csv\": \"aero.csv\","
static const char with_table[] = "\"aero\": {\"table_csv\": \"aero.csv\",", without[] = "\"aero\": {";

static void test_review_vehicle__factors_of_an_estimate_that_a_table_replaces_are_told(void **state)
{
    (void)state;
    static const char *const names[][2] = {{FACTOR("friction_factor"), "/aero/friction_factor"}, {FACTOR("base_factor"), "/aero/base_factor"},
                                           {FACTOR("wave_factor"), "/aero/wave_factor"}, {FACTOR("fin_drag_factor"), "/aero/fin_drag_factor"}};
    for (size_t at = 0; at < sizeof names / sizeof names[0]; at++) {
        expect(&(struct given){.find = with_table, .replacement = names[at][0]}, names[at][1], "has no effect|ca_off is flown");
        /* without that column all of them have an effect */
        expect(&(struct given){.find = with_table, .replacement = names[at][0], .aero = "mach,cl_p\n0,-10\n3,-10\n"}, NULL, NULL);
    }
    expect(&(struct given){.find = with_table, .replacement = "\"aero\": {\"wave_factor\": 1, \"table_csv\": \"aero.csv\","}, NULL, NULL);
}

static void test_review_vehicle__a_factor_or_a_column_without_its_partner_is_told(void **state)
{
    (void)state;
    static const char rolls[] = "mach,induced_roll\n0,1\n3,1\n", second[] = "mach,cl_delta_2_per_rad,fin_slope_2_per_rad,fin_station_2_m\n0,1,2,2\n3,1,2,2\n";
    expect(&(struct given){.find = with_table, .replacement = FACTOR("induced_roll_factor")}, "/aero/induced_roll_factor",
           "has no effect|column induced_roll");
    expect(&(struct given){.find = with_table, .replacement = FACTOR("induced_roll_factor"), .aero = rolls}, NULL, NULL);
    static const char *const columns[] = {"column cl_delta_2_per_rad has no effect|no second fin set", "column fin_slope_2_per_rad has no effect",
                                          "column fin_station_2_m has no effect"};
    for (size_t at = 0; at < sizeof columns / sizeof columns[0]; at++)
        expect(&(struct given){.find = without, .replacement = without, .aero = second}, "/aero/table_csv", columns[at]);
    expect(&(struct given){.find = without, .replacement = without, .aero = "mach,cl_delta_2_per_rad\n0,0\n3,0\n"}, NULL, NULL);
}

#define BY_TABLE(more) .find = "\"speed_mps\": 4, \"from_deg\": 200", .replacement = "\"table_csv\": \"wind.csv\"" more
#define SPREAD ", \"spread\": {\"distribution\": \"normal\", \"mean\": 0, \"sd\": 1}"

static void test_review_vehicle__a_wind_tables_spread_takes_two(void **state)
{
    (void)state;
    static const char plain[] = "height_m,speed_mps,from_deg\n0,4,200\n9000,8,220\n";
    static const char spread[] = "height_m,speed_mps,from_deg,speed_sd_mps\n0,4,200,0.4\n9000,8,220,0.8\n";
    expect(&(struct given){BY_TABLE(""), .wind = plain}, NULL, NULL);
    expect(&(struct given){BY_TABLE(SPREAD), .wind = spread}, NULL, NULL);
    expect(&(struct given){BY_TABLE(SPREAD), .wind = plain}, "/wind/spread", "has no effect|speed_sd_mps");
    expect(&(struct given){BY_TABLE(""), .wind = spread}, "/wind/table_csv", "speed_sd_mps has no effect|wind.spread is 0");
}

/* The fixture's middle flight reaches Mach 1.31 and 5.2 km. */
static void test_review_vehicle__a_table_that_ends_short_is_told(void **state)
{
    (void)state;
    expect(&(struct given){.find = without, .replacement = without, .aero = "mach,ca_off\n0,0.42\n0.3,0.45\n"}, "/aero/table_csv",
           "ends at Mach 0.3|reaches Mach 1|held from there on");
    expect(&(struct given){.find = without, .replacement = without, .aero = "mach,ca_off\n0.3,0.45\n"}, NULL, NULL);
    expect(&(struct given){BY_TABLE(""), .wind = "height_m,speed_mps,from_deg\n0,4,200\n100,8,220\n"}, "/wind/table_csv",
           "ends at 100 m|reaches|held from there on");
    expect(&(struct given){BY_TABLE(""), .wind = "height_m,speed_mps,from_deg\n10,4,200\n"}, NULL, NULL);
}

static void test_review_vehicle__two_fins_and_a_rail_past_upright_are_told(void **state)
{
    (void)state;
    expect(&(struct given){.find = "\"count\": 4", .replacement = "\"count\": 2"}, "/fins/0/count", "two fins|one plane only");
    expect(&(struct given){.find = "\"elevation_deg\": 86", .replacement = "\"elevation_deg\": 94.5"}, "/rail/elevation_deg",
           "94.5 deg leans past upright|write 85.5");
    expect(&(struct given){.find = "\"elevation_deg\": 86", .replacement = "\"elevation_deg\": 90"}, NULL, NULL);
}

static void test_review_vehicle__a_main_above_apogee_is_told(void **state)
{
    (void)state;
    static const char ask[] = "\"criteria\": [{";
    expect(&(struct given){.find = ask, .replacement = "\"descent\": {\"body_area_m2\": 0.05, \"main_area_m2\": 2, \"main_height_m\": 12000},\n\"criteria\": [{"},
           "/descent/main_height_m", "12000 m is above|apogee|as soon as");
    expect(&(struct given){.find = ask, .replacement = "\"descent\": {\"body_area_m2\": 0.05, \"main_area_m2\": 2, \"main_height_m\": 1500},\n\"criteria\": [{"},
           NULL, NULL);
}

/* The estimate has the centre of pressure 5.3 calibres behind the loaded centre of mass; one that lies 0.47 m further aft leaves
 * some 0.6. Half as much thrust again takes the flight from Mach 1.3 beyond 1.5. */
static void test_review_vehicle__an_estimated_margin_that_is_small_in_supersonic_flow_is_told(void **state)
{
    (void)state;
    static const char usual[] = "\"loaded_cm_m\": 1.45, \"burnt_cm_m\": 1.3", aft[] = "\"loaded_cm_m\": 1.92, \"burnt_cm_m\": 1.8";
    static const char thrust[] = "\"mean\": 1, \"sd\": 0.015}", strong[] = "\"mean\": 1.5, \"sd\": 0.015}";
    static const char xcp[] = "mach,ca_off,xcp_m\n0,0.45,1.98\n3,0.45,1.98\n";
    expect(&(struct given){.find = usual, .replacement = aft, .also = thrust, .instead = strong}, "/vehicle",
           "beyond Mach 1.5|0.8 calibres too far aft|xcp_m");
    expect(&(struct given){.find = usual, .replacement = aft, .also = thrust, .instead = strong, .aero = xcp}, NULL, NULL);
    expect(&(struct given){.find = usual, .replacement = aft}, NULL, NULL);
    expect(&(struct given){.find = usual, .replacement = usual, .also = thrust, .instead = strong}, NULL, NULL);
}

static void test_review_vehicle__no_margin_at_all_is_unstable(void **state)
{
    (void)state;
    expect(&(struct given){.find = with_table, .replacement = "\"aero\": {\"normal_factor\": 0, \"table_csv\": \"aero.csv\","}, "/vehicle",
           "statically unstable|0.00 calibres");
}

#define SENSED                                                                                                                    \
    "\"gyro\": {\"mount\": \"platform\", \"rate_hz\": 500, \"range_dps\": 2000},\n"                                              \
    "  \"controller\": {\"acts_on\": \"rate\", \"rate_hz\": 100, \"gain\": 0.5, \"integral_gain_per_s\": 4}"
#define ENCODED(step, mount, controller)                                                                                         \
    "\"gyro\": {\"mount\": \"" mount "\", \"rate_hz\": 500, \"range_dps\": 2000}, \"encoder\": {\"rate_hz\": 500, "              \
    "\"step_deg\": " step "},\n  \"controller\": {\"rate_hz\": 100, " controller "}"
#define FORWARD "\"acts_on\": \"rate\", \"gain\": 0.5, \"feed_forward\": 0.8"
#define BY_RATE "\"acts_on\": \"rate\", \"gain\": 0.5"
#define BY_ANGLE "\"acts_on\": \"angle\", \"gain_per_s\": 8"
#define DRIVE                                                                                                                    \
    "\"geared_sensorless\", \"floor_dps\": 40, \"deadband_dps\": 5, \"top_dps\": 2500, \"slew_dps2\": 6000,\n"                   \
    "    \"sleep_after_s\": 120, \"wake_command_dps\": 90, \"wake_delay_s\": 1.5, \"gear_ratio\": 20}"
#define SERVO                                                                                                                    \
    "\"servo\", \"top_dps\": 2500, \"torque_per_rate_Nms\": 2, \"torque_Nm\": 5, \"gear_ratio\": 2, \"rotor_inertia_kgm2\": 0.0005}"

/* One step in 1/500 s is the rate 500 times the step; 30 deg/s count as held here. Of it 0.8 is fed forward, 0.5 is the gain on the rate,
 * 8/s over the controller's hundredth of a second that on the angle; a servo of 2 N m s on 0.002 + 4 x 0.0005 kg m2 follows by
 * 1 - exp(-2/(0.004 x 500)) = 0.632 of it in that time. */
static void test_review_vehicle__an_encoder_too_coarse_or_for_nothing_is_told(void **state)
{
    (void)state;
    static const struct {
        const char *given, *drive, *place, *words;
    } told[] = {
        {ENCODED("0.08", "platform", FORWARD), DRIVE, "/encoder/step_deg", "read 500 times a second|by 32 deg/s, more than the 30 deg/s"},
        {ENCODED("0.07", "platform", FORWARD), DRIVE, NULL, NULL},
        {ENCODED("0", "platform", FORWARD), DRIVE, NULL, NULL},
        {ENCODED("0.01", "platform", BY_RATE), DRIVE, "/encoder", "has no effect|controller.feed_forward alone, which is 0"},
        {ENCODED("0.13", "vehicle", BY_RATE), DRIVE, "/encoder/step_deg", "by 32.5 deg/s"},
        {ENCODED("0.11", "vehicle", BY_RATE), DRIVE, NULL, NULL},
        {ENCODED("0.8", "vehicle", BY_ANGLE), DRIVE, "/encoder/step_deg", "by 32 deg/s"},
        {ENCODED("0.7", "vehicle", BY_ANGLE), DRIVE, NULL, NULL},
        {ENCODED("0.12", "platform", FORWARD), SERVO, "/encoder/step_deg", "by 30.3 deg/s"},
        {ENCODED("0.118", "platform", FORWARD), SERVO, NULL, NULL},
    };
    for (size_t at = 0; at < sizeof told / sizeof told[0]; at++)
        expect(&(struct given){.find = SENSED, .replacement = told[at].given, .also = DRIVE, .instead = told[at].drive},
               told[at].place, told[at].words);
}

#define TURNED(turns, controller)                                                                                                \
    "\"gyro\": {\"mount\": \"platform\", \"rate_hz\": 500, \"range_dps\": 2000},\n"                                              \
    "  \"controller\": {\"rate_hz\": 100, \"turns\": \"" turns "\", " controller "}"

/* Turns are an angle's. */
static void test_review_vehicle__turns_of_a_controller_on_the_rate_are_told(void **state)
{
    (void)state;
    expect(&(struct given){.find = SENSED, .replacement = TURNED("nearest", BY_RATE)}, "/controller/turns",
           "has no effect|acts on the rate carries no angle");
    expect(&(struct given){.find = SENSED, .replacement = TURNED("accumulated", BY_RATE)}, NULL, NULL);
    expect(&(struct given){.find = SENSED, .replacement = TURNED("nearest", BY_ANGLE)}, NULL, NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_review_vehicle__factors_of_an_estimate_that_a_table_replaces_are_told),
        cmocka_unit_test(test_review_vehicle__a_factor_or_a_column_without_its_partner_is_told),
        cmocka_unit_test(test_review_vehicle__a_wind_tables_spread_takes_two),
        cmocka_unit_test(test_review_vehicle__a_table_that_ends_short_is_told),
        cmocka_unit_test(test_review_vehicle__two_fins_and_a_rail_past_upright_are_told),
        cmocka_unit_test(test_review_vehicle__a_main_above_apogee_is_told),
        cmocka_unit_test(test_review_vehicle__an_estimated_margin_that_is_small_in_supersonic_flow_is_told),
        cmocka_unit_test(test_review_vehicle__no_margin_at_all_is_unstable),
        cmocka_unit_test(test_review_vehicle__turns_of_a_controller_on_the_rate_are_told),
        cmocka_unit_test(test_review_vehicle__an_encoder_too_coarse_or_for_nothing_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
