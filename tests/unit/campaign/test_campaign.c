/* A whole campaign: from files, from a bundle, what the handle says. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "fixture.h"

#define DEG (3.14159265358979323846 / 180)

static rc_campaign *good(void)
{
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    const rc_status status = fixture_read(&campaign, "Test", "Test", &issues);
    for (int item = 0; item < issues.n_kept; item++)
        print_error("%s: %s\n", issues.item[item].where, issues.item[item].what);
    assert_int_equal(status, RC_OK);
    assert_non_null(campaign);
    return campaign;
}

static void test_campaign__says_what_the_file_says(void **state)
{
    (void)state;
    rc_campaign *campaign = good();
    assert_string_equal(rc_campaign_name(campaign), "Test");
    assert_string_equal(rc_campaign_purpose(campaign), "unit tests");
    assert_int_equal(rc_campaign_flights(campaign), 500);
    assert_int_equal(rc_campaign_seed(campaign), 7);
    assert_string_equal(rc_campaign_plan(campaign)->name, "plain");
    assert_non_null(rc_campaign_model(campaign));
    const struct rc_layout *layout = rc_campaign_layout(campaign);
    assert_int_equal(layout->n_fin_sets, 1);
    assert_int_equal(layout->n_fins[0], 4);
    assert_int_equal(layout->nose_shape, RC_NOSE_OGIVE);
    assert_string_equal(layout->drive_kind, "geared_sensorless");
    assert_int_equal(layout->below_floor, RC_BELOW_FLOOR_STOP);
    assert_int_equal(layout->gyro_mount, RC_GYRO_ON_PLATFORM);
    assert_int_equal(layout->gyro_rate, 500);
    assert_int_equal(layout->control_mode, RC_CONTROL_RATE);
    assert_int_equal(layout->turns_mode, RC_TURNS_ACCUMULATED);
    assert_int_equal(layout->control_rate, 100);
    assert_int_equal(layout->n_cameras, 1);
    assert_int_equal(layout->frame_rate[0], 60);
    assert_int_equal(layout->width_px[0], 1920);
    assert_true(layout->band_interval == 1 && layout->time_limit == 100 && layout->step_scale == 1);
    assert_int_equal(layout->n_band_times, 101);
    rc_campaign_free(campaign);
}

static void test_campaign__defaults_stand_where_the_file_is_silent(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(fixture_read(&campaign,
                                  "  \"run\": {\"flights\": 500, \"seed\": 7, \"plan\": \"plain\", \"band_interval_s\": 1, "
                                  "\"time_limit_s\": 100},\n",
                                  "", &issues),
                     RC_OK);
    assert_int_equal(rc_campaign_flights(campaign), 10000);
    assert_int_equal(rc_campaign_seed(campaign), 1);
    assert_true(rc_campaign_layout(campaign)->band_interval == 0.5 && rc_campaign_layout(campaign)->time_limit == 120);
    double values[RC_MAX_UNCERTAIN];
    struct rc_design design;
    rc_campaign_plan(campaign)->draw(rc_campaign_sampling(campaign), 1, 0, values);
    rc_campaign_design(campaign, values, &design);
    assert_true(design.motor.burn_time_factor == 1 && design.motor.ignition_delay == 0);
    assert_true(design.wind.reference_height == 10 && design.wind.exponent == 0.14);
    assert_true(design.vehicle.fins[0].root_radius == 0.05);
    assert_true(design.drive.jump == design.drive.floor);
    assert_true(design.platform.starting_ratio == 1 && design.aero.axial_factor == 1);
    rc_campaign_free(campaign);
}

#define MASS "\"loaded_kg\": 16,"
#define THRUST "\"thrust_csv\": \"thrust.csv\","
#define AERO "\"table_csv\": \"aero.csv\","
#define GYRO "\"range_dps\": 2000"
#define GAIN "\"gain\": 0.5,"
#define SLEW "\"top_dps\": 2500,"
#define FLAG(name) offsetof(struct rc_layout, name)

/* What a campaign leaves out is not computed; each entry alone brings its part in. */
static void test_campaign__one_entry_brings_its_part_of_the_model(void **state)
{
    (void)state;
    static const struct {
        const char *find, *entry;
        size_t flag;
        int value; /* with the entry; without it is the other one */
    } rows[] = {
        {MASS, "\"offset_m\": 0.001,", FLAG(is_straight), 0},
        {THRUST, "\"tilt_deg\": 0.1,", FLAG(is_straight), 0},
        {THRUST, "\"offset_m\": 0.001,", FLAG(is_straight), 0},
        {THRUST, "\"swirl_m\": 1e-5,", FLAG(is_straight), 0},
        {AERO, "\"induced_roll\": 0.5,", FLAG(is_straight), 0},
        {GYRO, "\"bandwidth_hz\": 80,", FLAG(has_gyro_extras), 1},
        {GYRO, "\"cross_pitch\": 0.01,", FLAG(has_gyro_extras), 1},
        {GYRO, "\"cross_yaw\": 0.01,", FLAG(has_gyro_extras), 1},
        {GYRO, "\"load_dps_per_mps2\": 0.01,", FLAG(has_gyro_extras), 1},
        {GYRO, "\"bias_drift_dps_per_min\": 0.1,", FLAG(has_gyro_extras), 1},
        {GAIN, "\"still_dps\": 1,", FLAG(has_control_extras), 1},
        {SLEW, "\"command_step_dps\": 1,", FLAG(has_control_extras), 1},
        {SLEW, "\"turns\": \"positive\",", FLAG(has_control_extras), 1},
        {SLEW, "\"start_odds\": 0.9,", FLAG(has_failed_starts), 1},
    };
    rc_campaign *const plain = good();
    for (size_t row = 0; row < sizeof rows / sizeof rows[0]; row++) {
        char replacement[128];
        struct rc_issues issues = {0};
        rc_campaign *campaign = NULL;
        int with = -1, without = -1;
        (void)snprintf(replacement, sizeof replacement, "%s %s", rows[row].entry, rows[row].find);
        if (fixture_read(&campaign, rows[row].find, replacement, &issues) != RC_OK)
            fail_msg("%s: %s", rows[row].entry, issues.item[0].what);
        memcpy(&with, (const char *)rc_campaign_layout(campaign) + rows[row].flag, sizeof with);
        memcpy(&without, (const char *)rc_campaign_layout(plain) + rows[row].flag, sizeof without);
        if (with != rows[row].value || without != !rows[row].value)
            fail_msg("%s: flag %d with it, %d without", rows[row].entry, with, without);
        rc_campaign_free(campaign);
    }
    rc_campaign_free(plain);
}

static int index_of(const rc_campaign *campaign, const char *path)
{
    for (int index = 0; index < rc_campaign_quantity_count(campaign); index++) {
        if (strcmp(rc_campaign_quantity(campaign, index).path, path) == 0)
            return index;
    }
    print_error("no quantity %s\n", path);
    fail();
    return -1;
}

static void test_campaign__a_default_that_goes_with_a_drawn_number_says_which(void **state)
{
    (void)state;
    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    assert_int_equal(rc_campaign_load(&campaign, RC_SOURCE_DIR "/campaigns/readiness.json", &issues), RC_OK);
    const struct rc_quantity_view jump = rc_campaign_quantity(campaign, index_of(campaign, "drive.jump_dps"));
    assert_true(jump.is_default && !jump.is_uncertain);
    assert_string_equal(jump.follows, "drive.floor_dps");
    assert_true(jump.share == 1);
    assert_string_equal(rc_campaign_quantity(campaign, index_of(campaign, "drive.floor_dps")).follows, "");
    assert_string_equal(rc_campaign_quantity(campaign, index_of(campaign, "fins[0].root_radius_m")).follows, "");
    const struct rc_record *const middle = rc_campaign_middle(campaign); /* flown once on reading */
    assert_int_equal(middle->end, RC_END_APOGEE);
    assert_true(middle->measure[RC_MEASURE_apogee_m] > 3000 && middle->measure[RC_MEASURE_apogee_m] < 6000);
    rc_campaign_free(campaign);
}

static void test_campaign__views_show_values_in_the_units_of_the_file(void **state)
{
    (void)state;
    rc_campaign *campaign = good();
    const struct rc_quantity_view floor = rc_campaign_quantity(campaign, index_of(campaign, "drive.floor_dps"));
    assert_string_equal(floor.unit, "deg/s");
    assert_true(floor.value == 40 && floor.low == 0 && floor.high == 36000 && !floor.is_uncertain && !floor.is_default);
    assert_string_equal(floor.distribution, "");
    assert_true(strlen(floor.meaning) > 10);
    const struct rc_quantity_view jump = rc_campaign_quantity(campaign, index_of(campaign, "drive.jump_dps"));
    assert_true(fabs(jump.value - 40) < 1e-12 && jump.is_default);
    assert_string_equal(jump.follows, ""); /* the floor is fixed here, and so is what goes with it */
    const struct rc_quantity_view cant = rc_campaign_quantity(campaign, index_of(campaign, "fins[0].cant_deg"));
    assert_true(cant.value == 0 && cant.is_uncertain && !cant.is_default);
    assert_string_equal(cant.distribution, "normal(mean 0, sd 0.03)");
    rc_campaign_free(campaign);
}

/* Numbers at paths: of a quantity, of its distribution's parameters with a unit and without, in lists, and beside the parameters. */
static void test_campaign__numbers_at_paths_have_their_units(void **state)
{
    (void)state;
    static const struct {
        const char *find, *replacement, *path, *unit;
    } numbers[] = {
        {"Test", "Test", "drive.floor_dps", "deg/s"},
        {"Test", "Test", "fins[0].cant_deg.mean", "deg"},
        {"Test", "Test", "fins[0].misalignment_deg.sd", "deg"},
        {"Test", "Test", "motor.impulse_factor.sd", "1"},
        {"Test", "Test", "aero.roll_damping_factor", "1"},
        {"Test", "Test", "nowhere", "1"},
        {"Test", "Test", "drive.floor", "1"},
        {"\"held_fraction\", \"at_least\": 0.6", "\"usable_s\", \"at_least\": 12", "criteria[0].at_least", "s"},
        {"\"held_fraction\", \"at_least\": 0.6", "\"roll_peak_dps\", \"at_most\": 700", "criteria[0].at_most", "deg/s"},
        {"\"held_fraction\", \"at_least\": 0.6", "\"usable_s\", \"at_least\": 12", "criteria[0].odds", "1"},
        {"\"held_fraction\", \"at_least\": 0.6", "\"usable_s\", \"at_least\": 12", "criteria[1].at_least", "1"},
        {"\"mean\": 0, \"sd\": 0.1}", "\"mean\": 0, \"sd\": 0.1, \"shift\": 0.2, \"spread_factor\": 0.5, \"cost_to_halve\": 3}",
         "fins[0].misalignment_deg.shift", "deg"},
        {"\"mean\": 0, \"sd\": 0.1}", "\"mean\": 0, \"sd\": 0.1, \"shift\": 0.2, \"spread_factor\": 0.5, \"cost_to_halve\": 3}",
         "fins[0].misalignment_deg.spread_factor", "1"},
        {"\"mean\": 0, \"sd\": 0.1}", "\"mean\": 0, \"sd\": 0.1, \"shift\": 0.2, \"spread_factor\": 0.5, \"cost_to_halve\": 3}",
         "fins[0].misalignment_deg.cost_to_halve", "1"},
        {"\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"weibull\", \"shape\": 2, \"scale\": 4}", "wind.speed_mps.shape", "1"},
        {"\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"weibull\", \"shape\": 2, \"scale\": 4}", "wind.speed_mps.scale", "m/s"},
        {"\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"lognormal\", \"median\": 4, \"spread\": 0.2}", "wind.speed_mps.spread", "1"},
        {"\"from_deg\": 200", "\"from_deg\": {\"distribution\": \"von_mises\", \"mean\": 200, \"concentration\": 9}",
         "wind.from_deg.concentration", "1"},
        {"\"from_deg\": 200", "\"from_deg\": {\"distribution\": \"von_mises\", \"mean\": 200, \"concentration\": 9}", "wind.from_deg.mean", "deg"},
        {"\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"discrete\", \"values\": [2, 4], \"weights\": [0.5, 0.5]}",
         "wind.speed_mps.values[1]", "m/s"},
        {"\"speed_mps\": 4", "\"speed_mps\": {\"distribution\": \"discrete\", \"values\": [2, 4], \"weights\": [0.5, 0.5]}",
         "wind.speed_mps.weights[0]", "1"},
    };
    for (size_t at = 0; at < sizeof numbers / sizeof numbers[0]; at++) {
        struct rc_issues issues = {0};
        rc_campaign *campaign = NULL;
        assert_int_equal(fixture_read(&campaign, numbers[at].find, numbers[at].replacement, &issues), RC_OK);
        assert_string_equal(rc_campaign_unit(campaign, numbers[at].path), numbers[at].unit);
        rc_campaign_free(campaign);
    }
}

static void test_campaign__one_misalignment_is_drawn_for_each_fin_on_its_own(void **state)
{
    (void)state;
    rc_campaign *campaign = good();
    const char *const wanted[] = {"motor.impulse_factor",        "fins[0].cant_deg",
                                  "fins[0].misalignment_deg[0]", "fins[0].misalignment_deg[1]",
                                  "fins[0].misalignment_deg[2]", "fins[0].misalignment_deg[3]",
                                  "aero.roll_damping_factor"};
    assert_int_equal(rc_campaign_uncertain_count(campaign), 7);
    const struct rc_sampling *sampling = rc_campaign_sampling(campaign);
    assert_int_equal(sampling->n, 7);
    for (int index = 0; index < 7; index++) {
        assert_string_equal(rc_campaign_uncertain(campaign, index).path, wanted[index]);
        assert_string_equal(sampling->quantity[index].path, wanted[index]);
        assert_true(sampling->quantity[index].path_hash == rc_hash_bytes(RC_FNV_START, wanted[index], strlen(wanted[index])));
    }
    double values[RC_MAX_UNCERTAIN];
    struct rc_design design;
    rc_campaign_plan(campaign)->draw(sampling, 7, 3, values);
    rc_campaign_design(campaign, values, &design);
    for (int fin = 0; fin < 4; fin++) {
        assert_true(fabs(design.vehicle.fins[0].misalignment[fin] - values[2 + fin] * DEG) <= 1e-17);
        for (int other = 0; other < fin; other++)
            assert_true(values[2 + fin] != values[2 + other]);
    }
    assert_true(design.motor.impulse_factor == values[0]);
    rc_campaign_free(campaign);
}

static void test_campaign__a_list_gives_each_fin_its_own(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(fixture_read(&campaign, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.1}",
                                  "[0.1, {\"distribution\": \"normal\", \"mean\": 0.2, \"sd\": 0.01}, -0.3, 0]", &issues),
                     RC_OK);
    assert_true(rc_campaign_quantity(campaign, index_of(campaign, "fins[0].misalignment_deg[0]")).value == 0.1);
    assert_true(rc_campaign_quantity(campaign, index_of(campaign, "fins[0].misalignment_deg[1]")).is_uncertain);
    assert_true(rc_campaign_quantity(campaign, index_of(campaign, "fins[0].misalignment_deg[2]")).value == -0.3);
    rc_campaign_free(campaign);
}

static void expect_same(const rc_campaign *a, const rc_campaign *b)
{
    assert_int_equal(rc_campaign_quantity_count(a), rc_campaign_quantity_count(b));
    for (int index = 0; index < rc_campaign_quantity_count(a); index++) {
        const struct rc_quantity_view one = rc_campaign_quantity(a, index);
        const struct rc_quantity_view two = rc_campaign_quantity(b, index);
        assert_string_equal(one.path, two.path);
        assert_true(one.value == two.value);
        assert_string_equal(one.distribution, two.distribution);
    }
    double values[RC_MAX_UNCERTAIN];
    struct rc_design from_a;
    struct rc_design from_b;
    for (uint64_t flight = 0; flight < 20; flight++) {
        rc_campaign_plan(a)->draw(rc_campaign_sampling(a), 7, flight, values);
        rc_campaign_design(a, values, &from_a);
        rc_campaign_plan(b)->draw(rc_campaign_sampling(b), 7, flight, values);
        rc_campaign_design(b, values, &from_b);
        assert_memory_equal(&from_a, &from_b, sizeof from_a);
    }
    const struct rc_layout *one = rc_campaign_layout(a);
    const struct rc_layout *two = rc_campaign_layout(b);
    assert_int_equal(one->thrust.n, two->thrust.n);
    assert_memory_equal(one->thrust.thrust, two->thrust.thrust, (size_t)one->thrust.n * sizeof(double));
    assert_int_equal(one->aero.n, two->aero.n);
    assert_memory_equal(one->aero.column[RC_AERO_CA_ON], two->aero.column[RC_AERO_CA_ON], (size_t)one->aero.n * sizeof(double));
}

static void test_campaign__file_and_its_bundle_give_the_same_campaign(void **state)
{
    (void)state;
    char path[512];
    fixture_write("thrust.csv", fixture_thrust, path, sizeof path);
    fixture_write("aero.csv", fixture_aero, path, sizeof path);
    fixture_write("good.json", fixture_campaign, path, sizeof path);
    struct rc_issues issues = {0};
    rc_campaign *loaded = NULL;
    assert_int_equal(rc_campaign_load(&loaded, path, &issues), RC_OK);
    assert_int_equal(issues.n_kept, 0);
    const struct rc_bundle *bundle = rc_campaign_bundle(loaded);
    assert_int_equal(bundle->n_files, 3);
    assert_string_equal(bundle->file[0].name, "good.json");
    assert_string_equal(bundle->file[0].bytes, fixture_campaign);
    assert_string_equal(bundle->file[1].name, "thrust.csv");
    rc_campaign *again = NULL;
    assert_int_equal(rc_campaign_from_bundle(&again, bundle, &issues), RC_OK);
    assert_true(rc_campaign_fingerprint(again) == rc_campaign_fingerprint(loaded));
    expect_same(loaded, again);
    rc_campaign_free(loaded); /* the second one keeps its own copy */
    assert_string_equal(rc_campaign_bundle(again)->file[2].bytes, fixture_aero);
    rc_campaign_free(again);
}

static void test_campaign__tables_may_lie_beside_the_folder(void **state)
{
    (void)state;
    char path[512];
    fixture_write("aero.csv", fixture_aero, path, sizeof path);
    fixture_write("thrust.csv", fixture_thrust, path, sizeof path);
    char *text = fixture_replace(fixture_campaign, "aero.csv", "../campaign/aero.csv");
    fixture_write("beside.json", text, path, sizeof path);
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_load(&campaign, path, &issues), RC_OK);
    assert_string_equal(rc_campaign_bundle(campaign)->file[2].name, "../campaign/aero.csv");
    rc_campaign_free(campaign);
    free(text);
}

static void test_campaign__fingerprint_tells_text_and_tables_apart(void **state)
{
    (void)state;
    rc_campaign *campaign = good();
    rc_campaign *other = NULL;
    struct rc_issues issues = {0};
    assert_int_equal(fixture_read(&other, "\"seed\": 7", "\"seed\": 8", &issues), RC_OK);
    assert_true(rc_campaign_fingerprint(other) != rc_campaign_fingerprint(campaign));
    rc_campaign_free(other);
    rc_campaign_free(campaign);
}

static void test_campaign__missing_file_says_why(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_load(&campaign, RC_TEST_SCRATCH "/no/such.json", &issues), RC_NO_FILE);
    assert_null(campaign);
    assert_true(fixture_has_issue(&issues, RC_TEST_SCRATCH "/no/such.json", "No such file or directory"));
    assert_int_equal(rc_campaign_load(&campaign, RC_TEST_SCRATCH, &issues), RC_BAD_INPUT);
    assert_int_equal(issues.n_errors, 1);
    assert_null(campaign);
}

static void test_campaign__all_mistakes_are_told_at_once(void **state)
{
    (void)state;
    char *one = fixture_replace(fixture_campaign, "\"diameter_m\": 0.1", "\"diametr_m\": 0.1");
    char *two = fixture_replace(one, "\"odds\": 0.8", "\"odds\": 2");
    char *three = fixture_replace(two, "\"rate_hz\": 500", "\"rate_hz\": 2.5");
    struct rc_bundle bundle = fixture_bundle(three);
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_from_bundle(&campaign, &bundle, &issues), RC_BAD_INPUT);
    assert_true(fixture_has_issue(&issues, "/vehicle/diametr_m", "unknown key"));
    assert_true(fixture_has_issue(&issues, "/criteria/0/odds", "got 2"));
    assert_true(fixture_has_issue(&issues, "/gyro/rate_hz", "got 2.5"));
    assert_int_equal(issues.n_errors, 3); /* a line each */
    rc_bundle_free(&bundle);
    free(one);
    free(two);
    free(three);
}

/* What differs between the fixture and the fixture with one replacement. */
static struct rc_campaign_differences differ(const char *find, const char *replacement)
{
    struct rc_issues issues = {0};
    struct rc_campaign_differences differences;
    rc_campaign *one = good(), *other = NULL;
    assert_int_equal(fixture_read(&other, find, replacement, &issues), RC_OK);
    assert_int_equal(rc_campaign_differ(&differences, one, other), RC_OK);
    rc_campaign_free(one);
    rc_campaign_free(other);
    return differences;
}

static void test_campaign__numbers_that_differ_are_found_by_their_paths(void **state)
{
    (void)state;
    struct rc_campaign_differences found = differ("\"floor_dps\": 40", "\"floor_dps\": 41");
    assert_int_equal(found.n, 1);
    assert_string_equal(found.path[0], "drive.floor_dps");
    assert_string_equal(found.other, "");
    found = differ("\"cant_deg\": {\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.03}",
                   "\"cant_deg\": {\"distribution\": \"normal\", \"mean\": 1, \"sd\": 0.04}");
    assert_int_equal(found.n, 2);
    assert_string_equal(found.path[0], "fins[0].cant_deg.mean");
    assert_string_equal(found.path[1], "fins[0].cant_deg.sd");
    found = differ("\"seed\": 7", "\"seed\": 8");
    assert_true(found.n == 0 && found.other[0] == '\0');
    found = differ("\"purpose\": \"unit tests\",", "");
    assert_true(found.n == 0 && found.other[0] == '\0');
}

static void test_campaign__what_differs_in_more_than_numbers_is_found(void **state)
{
    (void)state;
    assert_string_equal(differ("\"floor_dps\": 40,", "\"floor_dps\": 40, \"jump_dps\": 41,").other, "drive.jump_dps");
    assert_string_equal(differ("\"floor_dps\": 40,", "\"floor_dps\": {\"distribution\": \"uniform\", \"low\": 1, \"high\": 2},").other,
                        "drive.floor_dps");
    assert_string_equal(differ("\"ogive\"", "\"cone\"").other, "vehicle.nose.shape");
    struct rc_issues issues = {0};
    struct rc_campaign_differences found;
    struct rc_bundle bundle = fixture_bundle(fixture_campaign);
    rc_campaign *one = good(), *other = NULL;
    bundle.file[1].bytes[bundle.file[1].n_bytes - 2] ^= 1; /* a digit of the thrust table */
    assert_int_equal(rc_campaign_from_bundle(&other, &bundle, &issues), RC_OK);
    assert_int_equal(rc_campaign_differ(&found, one, other), RC_OK);
    assert_string_equal(found.other, bundle.file[1].name);
    rc_bundle_free(&bundle);
    rc_campaign_free(one);
    rc_campaign_free(other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_campaign__says_what_the_file_says),
        cmocka_unit_test(test_campaign__defaults_stand_where_the_file_is_silent),
        cmocka_unit_test(test_campaign__one_entry_brings_its_part_of_the_model),
        cmocka_unit_test(test_campaign__a_default_that_goes_with_a_drawn_number_says_which),
        cmocka_unit_test(test_campaign__views_show_values_in_the_units_of_the_file),
        cmocka_unit_test(test_campaign__numbers_at_paths_have_their_units),
        cmocka_unit_test(test_campaign__one_misalignment_is_drawn_for_each_fin_on_its_own),
        cmocka_unit_test(test_campaign__a_list_gives_each_fin_its_own),
        cmocka_unit_test(test_campaign__file_and_its_bundle_give_the_same_campaign),
        cmocka_unit_test(test_campaign__tables_may_lie_beside_the_folder),
        cmocka_unit_test(test_campaign__fingerprint_tells_text_and_tables_apart),
        cmocka_unit_test(test_campaign__missing_file_says_why),
        cmocka_unit_test(test_campaign__all_mistakes_are_told_at_once),
        cmocka_unit_test(test_campaign__numbers_that_differ_are_found_by_their_paths),
        cmocka_unit_test(test_campaign__what_differs_in_more_than_numbers_is_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
