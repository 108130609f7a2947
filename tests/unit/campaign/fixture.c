/* An invented vehicle of 100 mm that stands for any; its numbers mean nothing further. */
#include "fixture.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include <cmocka.h>

const char fixture_campaign[] =
    "{\n"
    "  \"name\": \"Test\", \"purpose\": \"unit tests\",\n"
    "  \"run\": {\"flights\": 500, \"seed\": 7, \"plan\": \"plain\", \"band_interval_s\": 1, \"time_limit_s\": 100},\n"
    "  \"vehicle\": {\"diameter_m\": 0.1, \"length_m\": 2.4, \"nose\": {\"shape\": \"ogive\", \"length_m\": 0.45},\n"
    "    \"mass\": {\"loaded_kg\": 16, \"burnt_kg\": 11.5, \"loaded_cm_m\": 1.45, \"burnt_cm_m\": 1.3,\n"
    "      \"loaded_roll_inertia_kgm2\": 0.028, \"burnt_roll_inertia_kgm2\": 0.024,\n"
    "      \"loaded_pitch_inertia_kgm2\": 5.6, \"burnt_pitch_inertia_kgm2\": 4.6}},\n"
    "  \"motor\": {\"thrust_csv\": \"thrust.csv\",\n"
    "    \"impulse_factor\": {\"distribution\": \"normal\", \"mean\": 1, \"sd\": 0.015}, \"burn_time_factor\": 1.0},\n"
    "  \"fins\": [{\"count\": 4, \"root_chord_m\": 0.22, \"tip_chord_m\": 0.1, \"span_m\": 0.1, \"sweep_m\": 0.12,\n"
    "    \"thickness_m\": 0.004, \"station_m\": 2.15, \"cant_deg\": {\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03},\n"
    "    \"misalignment_deg\": {\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.1}}],\n"
    "  \"aero\": {\"table_csv\": \"aero.csv\", \"roll_damping_factor\": {\"distribution\": \"uniform\", \"low\": 0.8, \"high\": "
    "1.2}},\n"
    "  \"site\": {\"elevation_m\": 1200},\n"
    "  \"rail\": {\"length_m\": 5, \"elevation_deg\": 86, \"azimuth_deg\": 30},\n"
    "  \"pad\": {\"wait_s\": 300},\n"
    "  \"wind\": {\"speed_mps\": 4, \"from_deg\": 200},\n"
    "  \"platform\": {\"inertia_kgm2\": 0.002, \"mass_kg\": 0.9, \"bearing\": {\"coulomb_Nm\": 0.004}},\n"
    "  \"drive\": {\"kind\": \"geared_sensorless\", \"floor_dps\": 40, \"deadband_dps\": 5, \"top_dps\": 2500, \"slew_dps2\": "
    "6000,\n"
    "    \"sleep_after_s\": 120, \"wake_command_dps\": 90, \"wake_delay_s\": 1.5, \"gear_ratio\": 20},\n"
    "  \"gyro\": {\"mount\": \"platform\", \"rate_hz\": 500, \"range_dps\": 2000},\n"
    "  \"controller\": {\"acts_on\": \"rate\", \"rate_hz\": 100, \"gain\": 0.5, \"integral_gain_per_s\": 4},\n"
    "  \"cameras\": [{\"name\": \"side\", \"frame_rate_hz\": 60, \"width_px\": 1920, \"field_of_view_deg\": 80,\n"
    "    \"shutter_s\": 0.002, \"smear_limit_px\": 4, \"rate_limit_dps\": 90}],\n"
    "  \"footage\": {\"target_dps\": 30},\n"
    "  \"criteria\": [{\"name\": \"held\", \"measure\": \"held_fraction\", \"at_least\": 0.6, \"odds\": 0.8, \"confidence\": "
    "0.95}],\n"
    "  \"all_together\": {\"odds\": 0.75, \"confidence\": 0.9}\n"
    "}\n";

const char fixture_thrust[] = "time_s,thrust_N\n0,0\n0.05,2500\n0.5,2400\n3.0,1900\n3.5,0\n";

const char fixture_aero[] = "mach,ca_off,ca_on\n0,0.42,0.38\n0.8,0.45,0.40\n1.05,0.68,0.62\n1.5,0.60,0.55\n2.0,0.5,0.46\n";

static const char fixture_pull_out[] = "step_rate_hz,torque_Nm\n0,0.02\n1000,0.016\n";

char *fixture_replace(const char *text, const char *find, const char *replacement)
{
    const char *at = strstr(text, find);
    if (!at)
        print_error("the fixture has no `%s`\n", find);
    assert_non_null(at);
    const size_t n_before = (size_t)(at - text);
    const size_t n = strlen(text) + strlen(replacement) + 1;
    char *made = malloc(n);
    assert_non_null(made);
    (void)snprintf(made, n, "%.*s%s%s", (int)n_before, text, replacement, at + strlen(find));
    return made;
}

static void add(struct rc_bundle *bundle, const char *name, const char *bytes, size_t n_bytes)
{
    assert_int_equal(rc_bundle_add(bundle, name, bytes, n_bytes, NULL), RC_OK);
}

struct rc_bundle fixture_bundle(const char *campaign)
{
    struct rc_bundle bundle = {0};
    add(&bundle, "test.json", campaign, strlen(campaign));
    add(&bundle, "thrust.csv", fixture_thrust, strlen(fixture_thrust));
    add(&bundle, "aero.csv", fixture_aero, strlen(fixture_aero));
    add(&bundle, "pull_out.csv", fixture_pull_out, strlen(fixture_pull_out));
    return bundle;
}

rc_status fixture_read(rc_campaign **campaign, const char *find, const char *replacement, struct rc_issues *issues)
{
    char *text = fixture_replace(fixture_campaign, find, replacement);
    struct rc_bundle bundle = fixture_bundle(text);
    const rc_status status = rc_campaign_from_bundle(campaign, &bundle, issues);
    rc_bundle_free(&bundle);
    free(text);
    return status;
}

/* Does a text hold all words, separated by "|"? */
static bool holds(const char *text, const char *words)
{
    while (*words != '\0') {
        char word[200];
        const size_t n = strcspn(words, "|");
        assert_true(n < sizeof word);
        (void)snprintf(word, sizeof word, "%.*s", (int)n, words);
        if (!strstr(text, word))
            return false;
        words += n + (words[n] == '|');
    }
    return true;
}

bool fixture_has_issue(const struct rc_issues *issues, const char *place, const char *words)
{
    char whole[RC_ERROR_WHERE];
    (void)snprintf(whole, sizeof whole, "test.json: %s", place);
    for (int item = 0; item < issues->n_kept; item++) {
        const struct rc_error *error = &issues->item[item];
        const bool is_there = strcmp(error->where, place) == 0 || strcmp(error->where, whole) == 0;
        if (is_there && holds(error->what, words))
            return true;
    }
    for (int item = 0; item < issues->n_kept; item++)
        print_message("  %s: %s\n", issues->item[item].where, issues->item[item].what);
    return false;
}

static void expect_refusal(const struct rc_bundle *bundle, const char *place, const char *words)
{
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    const rc_status status = rc_campaign_from_bundle(&campaign, bundle, &issues);
    assert_int_equal(status, RC_BAD_INPUT);
    assert_null(campaign);
    assert_true(issues.n_errors > 0);
    assert_true(fixture_has_issue(&issues, place, words));
}

void fixture_refuses(const char *find, const char *replacement, const char *place, const char *words)
{
    char *text = fixture_replace(fixture_campaign, find, replacement);
    struct rc_bundle bundle = fixture_bundle(text);
    expect_refusal(&bundle, place, words);
    rc_bundle_free(&bundle);
    free(text);
}

void fixture_refuses_table(const char *name, const char *text, size_t n_bytes, const char *place, const char *words)
{
    const bool is_wind = strcmp(name, "wind.csv") == 0;
    char *campaign = fixture_replace(fixture_campaign, "\"speed_mps\": 4, \"from_deg\": 200",
                                     is_wind ? "\"table_csv\": \"wind.csv\"" : "\"speed_mps\": 4, \"from_deg\": 200");
    struct rc_bundle bundle = {0};
    add(&bundle, "test.json", campaign, strlen(campaign));
    add(&bundle, name, text, n_bytes);
    add(&bundle, "thrust.csv", fixture_thrust, strlen(fixture_thrust));
    add(&bundle, "aero.csv", fixture_aero, strlen(fixture_aero));
    expect_refusal(&bundle, place, words);
    rc_bundle_free(&bundle);
    free(campaign);
}

void fixture_write(const char *name, const char *text, char *path, size_t n)
{
    (void)mkdir(RC_TEST_SCRATCH, 0777);
    (void)mkdir(RC_TEST_SCRATCH "/campaign", 0777);
    (void)snprintf(path, n, "%s/campaign/%s", RC_TEST_SCRATCH, name);
    FILE *out = fopen(path, "wb");
    assert_non_null(out);
    assert_int_equal(fwrite(text, 1, strlen(text), out), strlen(text));
    assert_int_equal(fclose(out), 0);
}
