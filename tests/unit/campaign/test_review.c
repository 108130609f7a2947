/* What is legal but suspicious: each warning, where it stands and what it says, and that good campaigns have none. What is usual is
 * common practice, no source. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static void expect_warning(const char *find, const char *replacement, const char *place, const char *words)
{
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    const rc_status status = fixture_read(&campaign, find, replacement, &issues);
    assert_true(fixture_has_issue(&issues, place, words));
    assert_int_equal(status, RC_OK);
    assert_int_equal(issues.n_errors, 0);
    assert_int_equal(issues.item[0].status, RC_OK);
    rc_campaign_free(campaign);
}

static void expect_no_warning(const char *find, const char *replacement)
{
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(fixture_read(&campaign, find, replacement, &issues), RC_OK);
    assert_int_equal(issues.n_warnings, 0);
    rc_campaign_free(campaign);
}

static void test_review__suspicious_values_are_warned_of(void **state)
{
    (void)state;
    expect_warning("\"mean\": 0, \"sd\": 0.1}", "\"mean\": 0, \"sd\": 3}", "/fins/0/misalignment_deg",
                   "standard deviation 3 deg|ten times the usual 0.2");
    expect_warning("\"loaded_cm_m\": 1.45", "\"loaded_cm_m\": {\"distribution\": \"normal\", \"mean\": 1.45, \"sd\": 0.15}",
                   "/vehicle/mass/loaded_cm_m", "standard deviation 0.15 m|ten times the usual 0.014");
    expect_warning("\"normal\", \"mean\": 1, \"sd\": 0.015}", "\"uniform\", \"low\": 0.4, \"high\": 1.6}", "/motor/impulse_factor",
                   "standard deviation 0.346,|ten times the usual 0.03");
    expect_warning("\"elevation_deg\": 86", "\"elevation_deg\": 12", "/rail/elevation_deg",
                   "12 deg above the horizon|90 is upright");
    expect_warning("\"range_dps\": 2000", "\"range_dps\": 300", "/gyro/range_dps", "300 deg/s is less than one turn a second");
    /* 0.05 x 2500 N at most against 16 kg x 9.8 m/s2 = 157 N. */
    expect_warning("\"impulse_factor\": {\"distribution\": \"normal\", \"mean\": 1, \"sd\": 0.015}", "\"impulse_factor\": 0.05",
                   "/motor", "thrust never exceeds the weight of 16 kg");
    expect_warning("\"deadband_dps\": 5", "\"command_step_dps\": 3000", "/drive/command_step_dps",
                   "3000 deg/s is more than top_dps, which is 2500");
    expect_warning("\"sleep_after_s\": 120", "\"sleep_after_s\": 0", "/drive/wake_command_dps", "no effect|never sleeps");
}

/* Each without what it goes with; then with it, or said as it is by default. */
static void test_review__numbers_without_effect_are_told(void **state)
{
    (void)state;
    static const char asleep[] = "\"sleep_after_s\": 120, \"wake_command_dps\": 90, \"wake_delay_s\": 1.5";
    static const char dead[] = "\"deadband_dps\": 5";
    expect_warning(asleep, "\"wake_delay_s\": 1.5", "/drive/wake_delay_s", "no effect: with sleep_after_s 0");
    expect_warning(asleep, "\"nudge_interval_s\": 60", "/drive/nudge_interval_s", "no effect: with sleep_after_s 0");
    expect_warning(dead, "\"nudge_odds\": 0.5", "/drive/nudge_odds", "no effect: with nudge_interval_s 0");
    expect_warning(dead, "\"retry_delay_s\": 1", "/drive/retry_delay_s", "no effect: with start_odds 1");
    expect_warning(asleep, "\"sleep_after_s\": 120", "/drive/sleep_after_s", "wakes at lift-off, whatever it is told");
    expect_no_warning(dead, "\"nudge_interval_s\": 60, \"nudge_odds\": 0.5, \"start_odds\": 0.9, \"retry_delay_s\": 1");
    expect_no_warning(dead, "\"torque_limit_Nm\": 1, \"retry_delay_s\": 1");
    expect_no_warning(dead, "\"nudge_interval_s\": 0, \"nudge_odds\": 1, \"start_odds\": 1, \"retry_delay_s\": 0.5");
    expect_no_warning(asleep, "\"sleep_after_s\": 120, \"wake_command_dps\": 0, \"wake_delay_s\": 1.5");
    expect_no_warning(asleep, "\"wake_delay_s\": 0");
}

/* Half of a tenth of a degree, 0.1 deg, is 0.0017 rad. */
static void test_review__radians_are_asked_about(void **state)
{
    (void)state;
    expect_warning("\"mean\": 0, \"sd\": 0.1}", "\"mean\": 0, \"sd\": 0.0017}", "/fins/0/misalignment_deg",
                   "0.0017 deg is finer|in radians, write 0.0974");
    expect_warning("{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.1}}]", "[0, 0.002, 0, 0]}]",
                   "/fins/0/misalignment_deg/1", "0.002 deg is finer");
}

#define FLOOR(mean, more) "\"floor_dps\": {\"distribution\": \"truncated_normal\", \"mean\": " mean ", \"sd\": 5, \"low\": 0, \"high\": 60" more "}"

/* Means of normals cut at 0 and 60, worked out by scipy.stats.truncnorm (SciPy 1.10.1): of -20 and sd 5 it is 1.12804, of 0 3.98942, of 3 5.29574. */
static void test_review__a_mean_outside_or_close_to_its_limits_is_told(void **state)
{
    (void)state;
    expect_warning("\"floor_dps\": 40", FLOOR("-20", ""), "/drive/floor_dps",
                   "mean -20 deg/s lies outside the limits 0 to 60|have the mean 1.12804 deg/s, 21.1 above it; move the mean or the limits");
    expect_warning("\"floor_dps\": 40", FLOOR("0", ""), "/drive/floor_dps", "lies close to the limits 0 to 60|the mean 3.98942|3.99 above it");
    expect_warning("\"floor_dps\": 40", FLOOR("3", ", \"spread_factor\": 0.5, \"shift\": 4"), "/drive/floor_dps", "mean 3 deg/s lies close to|the mean 5.29574");
    expect_warning("\"floor_dps\": 40", FLOOR("70", ""), "/drive/floor_dps", "outside the limits|below it");
    static const char *const quiet[] = {FLOOR("5", ""), FLOOR("55", ""), FLOOR("30", ", \"shift\": 9")}; /* one sd inside: 1.4 above */
    for (size_t at = 0; at < sizeof quiet / sizeof quiet[0]; at++) {
        struct rc_issues issues = {0};
        rc_campaign *campaign = NULL;
        assert_int_equal(fixture_read(&campaign, "\"floor_dps\": 40", quiet[at], &issues), RC_OK);
        assert_false(fixture_has_issue(&issues, "/drive/floor_dps", "limits"));
        rc_campaign_free(campaign);
    }
}

/* 2500 N on 15.9 kg over half a metre: some 12 m/s. */
static void test_review__a_slow_start_off_the_rail_is_told(void **state)
{
    (void)state;
    expect_warning("\"rail\": {\"length_m\": 5,", "\"rail\": {\"length_m\": 0.5,", "/rail/length_m",
                   "the middle design leaves the rail at 1|below some 15 m/s");
    expect_no_warning("\"rail\": {\"length_m\": 5,", "\"rail\": {\"length_m\": 4,");
}

/* Fins canted by a degree spin the vehicle faster than gyro and drive can follow. */
static void test_review__a_fast_roll_is_told(void **state)
{
    (void)state;
    expect_warning("\"cant_deg\": {\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03}", "\"cant_deg\": 1",
                   "/gyro/range_dps", "the middle design rolls at up to|reads its limit of 2000 deg/s for");
    expect_warning("\"cant_deg\": {\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03}", "\"cant_deg\": 1", "/drive/top_dps",
                   "faster than the drive can turn against it (2500 deg/s)");
}

#define DRIVE                                                                                                                    \
    "\"geared_sensorless\", \"floor_dps\": 40, \"deadband_dps\": 5, \"top_dps\": 2500, \"slew_dps2\": 6000,\n"                   \
    "    \"sleep_after_s\": 120, \"wake_command_dps\": 90, \"wake_delay_s\": 1.5, \"gear_ratio\": 20}"
#define AWAKE(more)                                                                                                               \
    "\"geared_sensorless\", \"floor_dps\": 40, \"top_dps\": 2500, \"slew_dps2\": 6000, \"gear_ratio\": 20" more "}"
#define BATTERY(more) ",\n  \"battery\": {\"full_V\": 8.4, \"low_V\": 6, \"quiet_current_A\": 0.1" more "}"
#define STEPPER(load)                                                                                                            \
    "\"stepper\", \"top_dps\": 2500, \"slew_dps2\": 4000, \"holding_torque_Nm\": 0.02, \"supply_V\": 12, "                          \
    "\"winding_current_A\": 0.6, \"winding_resistance_ohm\": 6.5, \"winding_inductance_H\": 0.0017, \"gear_ratio\": 1, " load "}"

#define TABLED                                                                                                                   \
    "\"stepper\", \"top_dps\": 2500, \"slew_dps2\": 4000, \"holding_torque_Nm\": 0.02, \"pull_out_csv\": \"pull_out.csv\", "   \
    "\"gear_ratio\": 1}"

/* The fixture's middle design does not roll. Canted by 0.06 deg it does, at some hundreds of degrees a second; read it with another drive.
 * out n_warnings  of the drive and its battery */
static bool rolling_has(const char *drive, const char *place, const char *words, int *n_warnings)
{
    static const char straight[] = "\"cant_deg\": {\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03}";
    char *const rolling = fixture_replace(fixture_campaign, straight, "\"cant_deg\": 0.06");
    char *const text = fixture_replace(rolling, DRIVE, drive);
    struct rc_bundle bundle = fixture_bundle(text);
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_from_bundle(&campaign, &bundle, &issues), RC_OK);
    const bool has = *place == '\0' || fixture_has_issue(&issues, place, words);
    *n_warnings = issues.n_warnings;
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
    free(text);
    free(rolling);
    return has;
}

static void test_review__a_drive_that_does_nothing_is_told(void **state)
{
    (void)state;
    static const char *const told[][3] = {
        {AWAKE("") BATTERY(", \"capacity_As\": 4000, \"charge\": 0"), "/battery", "middle design's battery is empty for|check capacity_As, charge"},
        {AWAKE("") BATTERY(", \"capacity_As\": 1"), "/battery", "battery is empty for"},
        {AWAKE(", \"start_odds\": 0"), "/drive", "and its drive never starts; check what keeps it still: start_odds"},
        {AWAKE(", \"start_odds\": 0, \"failed_start\": \"lock_out\""), "/drive/failed_start", "drive is locked out for"},
        {AWAKE(", \"deadband_dps\": 40, \"start_delay_s\": 60"), "/drive", "never starts"},
        {AWAKE(", \"sleep_after_s\": 100, \"wake_command_dps\": 90, \"wake_delay_s\": 600"), "/drive/sleep_after_s", "drive is asleep for"},
        {STEPPER("\"rotor_inertia_kgm2\": 0.0099, \"pull_out_factor\": 0.21"), "/drive", "stepper slips for"},
        {AWAKE("") BATTERY(", \"capacity_As\": 4000, \"rated_V\": 300"), "/battery/rated_V",
         "faster than the drive can turn against it on this battery|of 300 V rated|of 2500 deg/s are left"},
        {STEPPER("\"detent_torque_Nm\": 0") BATTERY(", \"capacity_As\": 4000, \"torque_per_current_NmpA\": 0.02"),
         "/battery/torque_per_current_NmpA", "has no effect: a stepper draws its current whatever its load|run_current_A"},
        {STEPPER("\"detent_torque_Nm\": 0") BATTERY(", \"capacity_As\": 4000, \"rated_V\": 300"), "/battery/rated_V",
         "has no effect: the top rate of a stepper is that of what commands it"},
        {TABLED BATTERY(", \"capacity_As\": 4000"), "/drive/pull_out_csv", "does not fall with the battery's voltage"},
    };
    int n = 0;
    for (size_t at = 0; at < sizeof told / sizeof told[0]; at++) {
        const bool has = rolling_has(told[at][0], told[at][1], told[at][2], &n);
        if (!has || n != 1)
            print_error("%d warnings with %s\n", n, told[at][0]);
        assert_true(has);
        assert_int_equal(n, 1); /* one cause, one line */
    }
    static const char *const quiet[] = {AWAKE(""), AWAKE("") BATTERY(", \"capacity_As\": 4000"), AWAKE(", \"start_odds\": 0.5"), TABLED,
                                        AWAKE("") BATTERY(", \"capacity_As\": 4000, \"torque_per_current_NmpA\": 0.02"),
                                        STEPPER("\"detent_torque_Nm\": 0") BATTERY(", \"capacity_As\": 4000"),
                                        STEPPER("\"detent_torque_Nm\": 0")};
    for (size_t at = 0; at < sizeof quiet / sizeof quiet[0]; at++) {
        (void)rolling_has(quiet[at], "", "", &n);
        assert_int_equal(n, 0);
    }
}

/* Friction at standstill 0.004 N m on the pad; under the greatest acceleration, of about 2500 N on 15.9 kg, 0.5 x 0.01 x 0.9 kg x
 * 0.1 m of it, 0.07 N m, are added. */
static void test_review__a_load_that_acceleration_makes_too_heavy_is_told(void **state)
{
    (void)state;
    expect_warning("{\"coulomb_Nm\": 0.004}},\n  \"drive\": {\"kind\": \"geared_sensorless\",",
                   "{\"coulomb_Nm\": 0.004, \"load_friction\": 0.01, \"diameter_m\": 0.1}},\n"
                   "  \"drive\": {\"kind\": \"geared_sensorless\", \"torque_limit_Nm\": 0.003,",
                   "/drive/torque_limit_Nm", "greatest acceleration, 15|cannot turn its load from standstill|is 0.06 N m|friction 0.07");
}

#define ASKED "\"footage\": {\"target_dps\": 30},\n  \"criteria\": [{\"name\": \"held\", \"measure\": \"held_fraction\""
#define ASK(parts, measure) "\"footage\": {\"target_dps\": 30},\n" parts "  \"criteria\": [{\"name\": \"held\", \"measure\": \"" measure "\""

/* What an absent part would measure stays blank, and meets nothing. */
static void test_review__criteria_on_absent_parts_are_told(void **state)
{
    (void)state;
    static const char *const of_descent[] = {ASK("", "landing_east_m"),  ASK("", "landing_north_m"),  ASK("", "landing_distance_m"),
                                             ASK("", "landing_speed_mps"), ASK("", "descent_s"), ASK("", "drogue_speed_mps"),
                                             ASK("", "main_speed_mps")};
    for (size_t at = 0; at < sizeof of_descent / sizeof of_descent[0]; at++)
        expect_warning(ASKED, of_descent[at], "/criteria/0/measure", "no flight can meet this|needs `descent`");
    expect_warning(ASKED, ASK("", "battery_least_V"), "/criteria/0/measure", "battery_least_V needs `battery`");
    static const char *const of_camera[] = {ASK("", "fixed_usable_s"), ASK("", "fixed_usable_fraction"),
                                            ASK("", "fixed_longest_clip_s")};
    for (size_t at = 0; at < sizeof of_camera / sizeof of_camera[0]; at++)
        expect_warning(ASKED, of_camera[at], "/criteria/0/measure", "needs a camera with mount \"vehicle\"");
    expect_no_warning(ASKED, ASK("\"descent\": {\"body_area_m2\": 0.05, \"main_area_m2\": 2, \"main_height_m\": 300},\n", "landing_speed_mps"));
}

/* 11.5 kg under 5000 m2, 430 m2/kg: from some kilometres more than a million steps. Under 100 m2 they are some 20,000. */
static void test_review__a_descent_without_end_is_told(void **state)
{
    (void)state;
    expect_warning(ASKED, ASK("\"descent\": {\"body_area_m2\": 0.05, \"main_area_m2\": 5000, \"main_height_m\": 20000},\n", "apogee_m"),
                   "/descent", "sinks too slowly|landing stays blank");
    expect_no_warning(ASKED, ASK("\"descent\": {\"body_area_m2\": 0.05, \"drogue_area_m2\": 100},\n", "landing_speed_mps"));
}

#define TAIL(station, length, aft)                                                                                                 \
    "\"body\": [{\"station_m\": " station ", \"length_m\": " length ", \"fore_diameter_m\": 0.1, \"aft_diameter_m\": " aft "}],\n"     \
    "  \"motor\": {"

/* 10 mm of radius over 20 mm are 26.6 degrees; 5.25 mm over 30 mm are 9.93. */
static void test_review__a_steep_boat_tail_is_told(void **state)
{
    (void)state;
    expect_warning("\"motor\": {", TAIL("2.38", "0.02", "0.08"), "/body/0", "half-angle of 26.6 deg|steeper than about 10 deg");
    expect_no_warning("\"motor\": {", TAIL("2.37", "0.03", "0.0895"));
}

static void test_review__a_descent_that_cannot_be_meant_is_told(void **state)
{
    (void)state;
    expect_warning(ASKED, ASK("\"descent\": {\"body_area_m2\": 0.05, \"main_area_m2\": 2},\n", "apogee_m"), "/descent/main_height_m",
                   "at 0 m the main opens on the ground only");
    expect_warning(ASKED, ASK("\"descent\": {\"body_area_m2\": 0.05, \"mass_kg\": 11.6},\n", "apogee_m"), "/descent/mass_kg",
                   "11.6 kg come down, more than the 11.5 kg that are left");
    expect_no_warning(ASKED, ASK("\"descent\": {\"body_area_m2\": 0.05, \"mass_kg\": 11.5},\n", "apogee_m"));
}

/* Ten times the impulse, 64 kN s on 13.7 kg in the mean: 4.6 km/s in a vacuum. */
static void test_review__a_flight_beyond_mach_six_and_out_of_the_atmosphere_is_told(void **state)
{
    (void)state;
    static const char usual[] = "\"impulse_factor\": {\"distribution\": \"normal\", \"mean\": 1, \"sd\": 0.015}";
    expect_warning(usual, "\"impulse_factor\": 10", "/vehicle", "reaches Mach|held from Mach 6 on");
    expect_warning(usual, "\"impulse_factor\": 10", "/motor", "leaves the modelled atmosphere, which ends at 86 km");
}

/* Fins of 3 m: roll fades within some microseconds. */
static void test_review__a_motion_that_cannot_be_computed_is_told(void **state)
{
    (void)state;
    expect_warning("\"span_m\": 0.1, \"sweep_m\": 0.12,\n    \"thickness_m\": 0.004, \"station_m\": 2.15, \"cant_deg\": "
                   "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03}",
                   "\"span_m\": 3, \"sweep_m\": 0.12, \"thickness_m\": 0.004, \"station_m\": 2.15, \"cant_deg\": 0.1", "/vehicle",
                   "cannot be flown to its end|stops being finite");
}

/* Just inside: ten times the usual spread, six thousandths of a degree. */
static void test_review__borders_are_quiet(void **state)
{
    (void)state;
    static const char *const quiet[][2] = {{"\"mean\": 0, \"sd\": 0.1}", "\"mean\": 0, \"sd\": 2}"},
                                           {"\"mean\": 0, \"sd\": 0.1}", "\"mean\": 0, \"sd\": 0.006}"},
                                           {"\"normal\", \"mean\": 1, \"sd\": 0.015}", "\"uniform\", \"low\": 0.49, \"high\": 1.51}"}};
    for (size_t at = 0; at < sizeof quiet / sizeof quiet[0]; at++) {
        struct rc_issues issues = {0};
        rc_campaign *campaign = NULL;
        const rc_status status = fixture_read(&campaign, quiet[at][0], quiet[at][1], &issues);
        assert_false(fixture_has_issue(&issues, "/fins/0/misalignment_deg", "deg") ||
                     fixture_has_issue(&issues, "/motor/impulse_factor", "usual"));
        assert_int_equal(status, RC_OK);
        rc_campaign_free(campaign);
    }
}

static void test_review__good_campaign_has_no_warning(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(fixture_read(&campaign, "Test", "Test", &issues), RC_OK);
    assert_int_equal(issues.n_warnings, 0);
    rc_campaign_free(campaign);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_review__suspicious_values_are_warned_of),
        cmocka_unit_test(test_review__numbers_without_effect_are_told),
        cmocka_unit_test(test_review__radians_are_asked_about),
        cmocka_unit_test(test_review__a_mean_outside_or_close_to_its_limits_is_told),
        cmocka_unit_test(test_review__a_fast_roll_is_told),
        cmocka_unit_test(test_review__a_slow_start_off_the_rail_is_told),
        cmocka_unit_test(test_review__a_drive_that_does_nothing_is_told),
        cmocka_unit_test(test_review__a_load_that_acceleration_makes_too_heavy_is_told),
        cmocka_unit_test(test_review__criteria_on_absent_parts_are_told),
        cmocka_unit_test(test_review__a_descent_without_end_is_told),
        cmocka_unit_test(test_review__a_steep_boat_tail_is_told),
        cmocka_unit_test(test_review__a_descent_that_cannot_be_meant_is_told),
        cmocka_unit_test(test_review__a_flight_beyond_mach_six_and_out_of_the_atmosphere_is_told),
        cmocka_unit_test(test_review__borders_are_quiet),
        cmocka_unit_test(test_review__a_motion_that_cannot_be_computed_is_told),
        cmocka_unit_test(test_review__good_campaign_has_no_warning),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
