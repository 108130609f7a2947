/* Every quantity against a list written here a second time, by hand from the contract in flight/design.h: which field it fills and
 * with which factor to SI. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "campaign/setup.h"
#include "campaign/values.h"
#include "fixture.h"

#define DEG          (3.14159265358979323846 / 180)
#define FIELD(field) offsetof(struct rc_design, field)

struct expectation {
    const char *path;
    double value; /* in the campaign's unit */
    size_t offset;
    double factor;
};

/* Distinct values inside the ranges; second members of lists too. */
static const struct expectation expected[] = {
    {"vehicle.diameter_m", 0.101, FIELD(vehicle.diameter), 1},
    {"vehicle.length_m", 2.41, FIELD(vehicle.length), 1},
    {"vehicle.nose.length_m", 0.451, FIELD(vehicle.nose_length), 1},
    {"vehicle.nose.exponent", 0.71, FIELD(vehicle.nose_exponent), 1},
    {"vehicle.roughness_um", 21, FIELD(vehicle.roughness), 1e-6},
    {"vehicle.mass.loaded_kg", 16.1, FIELD(vehicle.mass_loaded), 1},
    {"vehicle.mass.burnt_kg", 11.6, FIELD(vehicle.mass_burnt), 1},
    {"vehicle.mass.loaded_cm_m", 1.46, FIELD(vehicle.cm_loaded), 1},
    {"vehicle.mass.burnt_cm_m", 1.31, FIELD(vehicle.cm_burnt), 1},
    {"vehicle.mass.loaded_roll_inertia_kgm2", 0.0281, FIELD(vehicle.ix_loaded), 1},
    {"vehicle.mass.burnt_roll_inertia_kgm2", 0.0241, FIELD(vehicle.ix_burnt), 1},
    {"vehicle.mass.loaded_pitch_inertia_kgm2", 5.61, FIELD(vehicle.iy_loaded), 1},
    {"vehicle.mass.burnt_pitch_inertia_kgm2", 4.61, FIELD(vehicle.iy_burnt), 1},
    {"vehicle.mass.offset_m", 0.0011, FIELD(vehicle.cm_offset), 1},
    {"vehicle.mass.offset_angle_deg", 31, FIELD(vehicle.cm_offset_angle), DEG},
    {"motor.impulse_factor", 1.01, FIELD(motor.impulse_factor), 1},
    {"motor.burn_time_factor", 1.02, FIELD(motor.burn_time_factor), 1},
    {"motor.ignition_delay_s", 0.31, FIELD(motor.ignition_delay), 1},
    {"motor.nozzle_station_m", 2.431, FIELD(motor.nozzle_station), 1},
    {"motor.tilt_deg", 0.111, FIELD(motor.tilt), DEG},
    {"motor.tilt_angle_deg", 71, FIELD(motor.tilt_angle), DEG},
    {"motor.offset_m", 0.0012, FIELD(motor.offset), 1},
    {"motor.offset_angle_deg", 72, FIELD(motor.offset_angle), DEG},
    {"motor.swirl_m", 0.0003, FIELD(motor.swirl), 1},
    {"motor.exit_area_m2", 0.0013, FIELD(motor.exit_area), 1},
    {"motor.stand_pressure_Pa", 98001, FIELD(motor.stand_pressure), 1},
    {"body[0].station_m", 1.01, FIELD(vehicle.sections[0].station), 1},
    {"body[0].length_m", 0.21, FIELD(vehicle.sections[0].length), 1},
    {"body[0].fore_diameter_m", 0.1013, FIELD(vehicle.sections[0].fore_diameter), 1},
    {"body[0].aft_diameter_m", 0.121, FIELD(vehicle.sections[0].aft_diameter), 1},
    {"body[1].station_m", 2.31, FIELD(vehicle.sections[1].station), 1},
    {"body[1].length_m", 0.091, FIELD(vehicle.sections[1].length), 1},
    {"body[1].fore_diameter_m", 0.1211, FIELD(vehicle.sections[1].fore_diameter), 1},
    {"body[1].aft_diameter_m", 0.091, FIELD(vehicle.sections[1].aft_diameter), 1},
    {"fins[0].root_chord_m", 0.221, FIELD(vehicle.fins[0].root_chord), 1},
    {"fins[0].tip_chord_m", 0.1011, FIELD(vehicle.fins[0].tip_chord), 1},
    {"fins[0].span_m", 0.1012, FIELD(vehicle.fins[0].span), 1},
    {"fins[0].sweep_m", 0.121, FIELD(vehicle.fins[0].sweep), 1},
    {"fins[0].thickness_m", 0.0041, FIELD(vehicle.fins[0].thickness), 1},
    {"fins[0].station_m", 2.151, FIELD(vehicle.fins[0].station), 1},
    {"fins[0].root_radius_m", 0.0511, FIELD(vehicle.fins[0].root_radius), 1},
    {"fins[0].first_fin_deg", 45.1, FIELD(vehicle.fins[0].first_angle), DEG},
    {"fins[0].cant_deg", 0.21, FIELD(vehicle.fins[0].cant), DEG},
    {"fins[0].front_edge_share", 0.31, FIELD(vehicle.fins[0].front_share), 1},
    {"fins[0].back_edge_share", 0.41, FIELD(vehicle.fins[0].back_share), 1},
    {"fins[0].misalignment_deg[0]", 0.051, FIELD(vehicle.fins[0].misalignment[0]), DEG},
    {"fins[0].misalignment_deg[1]", -0.052, FIELD(vehicle.fins[0].misalignment[1]), DEG},
    {"fins[0].misalignment_deg[2]", 0.053, FIELD(vehicle.fins[0].misalignment[2]), DEG},
    {"fins[0].misalignment_deg[3]", -0.054, FIELD(vehicle.fins[0].misalignment[3]), DEG},
    {"fins[1].root_chord_m", 0.031, FIELD(vehicle.fins[1].root_chord), 1},
    {"fins[1].tip_chord_m", 0.032, FIELD(vehicle.fins[1].tip_chord), 1},
    {"fins[1].span_m", 0.033, FIELD(vehicle.fins[1].span), 1},
    {"fins[1].sweep_m", -0.011, FIELD(vehicle.fins[1].sweep), 1},
    {"fins[1].thickness_m", 0.0021, FIELD(vehicle.fins[1].thickness), 1},
    {"fins[1].station_m", 1.71, FIELD(vehicle.fins[1].station), 1},
    {"fins[1].root_radius_m", 0.0522, FIELD(vehicle.fins[1].root_radius), 1},
    {"fins[1].first_fin_deg", 30.1, FIELD(vehicle.fins[1].first_angle), DEG},
    {"fins[1].cant_deg", 5.1, FIELD(vehicle.fins[1].cant), DEG},
    {"fins[1].front_edge_share", 0.32, FIELD(vehicle.fins[1].front_share), 1},
    {"fins[1].back_edge_share", 0.42, FIELD(vehicle.fins[1].back_share), 1},
    {"fins[1].misalignment_deg[0]", 0.11, FIELD(vehicle.fins[1].misalignment[0]), DEG},
    {"fins[1].misalignment_deg[1]", 0.12, FIELD(vehicle.fins[1].misalignment[1]), DEG},
    {"aero.axial_factor", 1.03, FIELD(aero.axial_factor), 1},
    {"aero.normal_factor", 1.04, FIELD(aero.normal_factor), 1},
    {"aero.centre_of_pressure_shift_m", -0.021, FIELD(aero.cp_shift), 1},
    {"aero.pitch_damping_factor", 1.05, FIELD(aero.pitch_damping_factor), 1},
    {"aero.roll_forcing_factor", 1.06, FIELD(aero.roll_forcing_factor), 1},
    {"aero.roll_damping_factor", 1.07, FIELD(aero.roll_damping_factor), 1},
    {"aero.induced_roll", 2.51, FIELD(aero.induced_roll), 1},
    {"aero.induced_roll_factor", 1.51, FIELD(aero.induced_roll_factor), 1},
    {"aero.body_lift_factor", 1.08, FIELD(aero.body_lift_factor), 1},
    {"aero.friction_factor", 1.09, FIELD(aero.friction_factor), 1},
    {"aero.base_factor", 1.11, FIELD(aero.base_factor), 1},
    {"aero.wave_factor", 1.12, FIELD(aero.wave_factor), 1},
    {"aero.fin_drag_factor", 1.13, FIELD(aero.fin_drag_factor), 1},
    {"site.elevation_m", 1201, FIELD(site.elevation), 1},
    {"site.temperature_offset_K", 7.1, FIELD(site.temperature_offset), 1},
    {"site.pressure_offset_Pa", -310, FIELD(site.pressure_offset), 1},
    {"rail.length_m", 5.1, FIELD(site.rail_length), 1},
    {"rail.elevation_deg", 86.1, FIELD(site.rail_elevation), DEG},
    {"rail.azimuth_deg", 31, FIELD(site.rail_azimuth), DEG},
    {"pad.wait_s", 301, FIELD(site.pad_wait), 1},
    {"wind.speed_mps", 4.1, FIELD(wind.speed), 1},
    {"wind.from_deg", 201, FIELD(wind.from), DEG},
    {"wind.reference_height_m", 9.1, FIELD(wind.reference_height), 1},
    {"wind.exponent", 0.161, FIELD(wind.exponent), 1},
    {"wind.gusts.near_ground_factor", 1.21, FIELD(wind.gust_factor), 1},
    {"wind.gusts.aloft_mps", 1.51, FIELD(wind.gust_high), 1},
    {"descent.mass_kg", 11.51, FIELD(descent.mass), 1},
    {"descent.body_area_m2", 0.151, FIELD(descent.body_area), 1},
    {"descent.drogue_delay_s", 1.21, FIELD(descent.drogue_delay), 1},
    {"descent.drogue_area_m2", 0.251, FIELD(descent.drogue_area), 1},
    {"descent.drogue_works", 0, FIELD(descent.drogue_works), 1},
    {"descent.main_height_m", 301, FIELD(descent.main_height), 1},
    {"descent.main_area_m2", 4.51, FIELD(descent.main_area), 1},
    {"descent.main_works", 1, FIELD(descent.main_works), 1},
    {"platform.inertia_kgm2", 0.0021, FIELD(platform.inertia), 1},
    {"platform.mass_kg", 0.91, FIELD(platform.mass), 1},
    {"platform.bearing.coulomb_Nm", 0.00401, FIELD(platform.coulomb), 1},
    {"platform.bearing.viscous_Nms", 0.00011, FIELD(platform.viscous), 1},
    {"platform.bearing.load_friction", 0.0015, FIELD(platform.load_mu), 1},
    {"platform.bearing.diameter_m", 0.061, FIELD(platform.bearing_diameter), 1},
    {"platform.bearing.starting_ratio", 1.61, FIELD(platform.starting_ratio), 1},
    {"drive.floor_dps", 41, FIELD(drive.floor), DEG},
    {"drive.jump_dps", 52, FIELD(drive.jump), DEG},
    {"drive.deadband_dps", 5.2, FIELD(drive.deadband), DEG},
    {"drive.command_step_dps", 1.21, FIELD(drive.command_step), DEG},
    {"drive.top_dps", 2510, FIELD(drive.top), DEG},
    {"drive.slew_dps2", 6010, FIELD(drive.slew), DEG},
    {"drive.reversal_delay_s", 0.41, FIELD(drive.reversal_delay), 1},
    {"drive.sleep_after_s", 121, FIELD(drive.sleep_after), 1},
    {"drive.wake_command_dps", 91, FIELD(drive.wake_command), DEG},
    {"drive.wake_delay_s", 1.51, FIELD(drive.wake_delay), 1},
    {"drive.start_delay_s", 0.061, FIELD(drive.start_delay), 1},
    {"drive.nudge_interval_s", 61, FIELD(drive.nudge_interval), 1},
    {"drive.start_odds", 0.92, FIELD(drive.start_odds), 1},
    {"drive.retry_delay_s", 0.31, FIELD(drive.retry_delay), 1},
    {"drive.torque_limit_Nm", 0.93, FIELD(drive.torque_limit), 1},
    {"drive.nudge_odds", 0.91, FIELD(drive.nudge_odds), 1},
    {"drive.gear_ratio", 21, FIELD(platform.gear_ratio), 1},
    {"drive.rotor_inertia_kgm2", 1.1e-6, FIELD(platform.rotor_inertia), 1},
    {"drive.gear_friction_Nm", 0.0061, FIELD(platform.gear_friction), 1},
    {"drive.gear_efficiency", 0.81, FIELD(platform.gear_efficiency), 1},
    {"drive.backlash_deg", 1.3, FIELD(platform.backlash), DEG},
    {"battery.full_V", 8.4, FIELD(drive.battery.full), 1},
    {"battery.low_V", 6.1, FIELD(drive.battery.low), 1},
    {"battery.capacity_As", 1801, FIELD(drive.battery.capacity), 1},
    {"battery.charge", 0.95, FIELD(drive.battery.charge), 1},
    {"battery.resistance_ohm", 0.11, FIELD(drive.battery.resistance), 1},
    {"battery.quiet_current_A", 0.12, FIELD(drive.battery.quiet_current), 1},
    {"battery.run_current_A", 0.31, FIELD(drive.battery.run_current), 1},
    {"battery.torque_per_current_NmpA", 0.0051, FIELD(drive.battery.torque_per_current), 1},
    {"battery.rated_V", 7.4, FIELD(drive.battery.rated), 1},
    {"gyro.range_dps", 2010, FIELD(gyro.range), DEG},
    {"gyro.bias_dps", -0.61, FIELD(gyro.bias), DEG},
    {"gyro.scale_error", 0.0062, FIELD(gyro.scale), 1},
    {"gyro.noise_dps_rtHz", 0.0071, FIELD(gyro.noise), DEG},
    {"gyro.bias_drift_dps_per_min", 0.021, FIELD(gyro.bias_drift), DEG / 60},
    {"gyro.bandwidth_hz", 41, FIELD(gyro.bandwidth), 1},
    {"gyro.cross_pitch", 0.011, FIELD(gyro.cross[0]), 1},
    {"gyro.cross_yaw", -0.012, FIELD(gyro.cross[1]), 1},
    {"gyro.load_dps_per_mps2", 0.0101, FIELD(gyro.per_load), DEG},
    {"encoder.step_deg", 0.36, FIELD(gyro.encoder_step), DEG},
    {"controller.gain", 0.51, FIELD(controller.gain), 1},
    {"controller.integral_gain_per_s", 4.1, FIELD(controller.integral), 1},
    {"controller.windup_limit_dps", 1510, FIELD(controller.windup), DEG},
    {"controller.feed_forward", 0.96, FIELD(controller.feed_forward), 1},
    {"controller.still_dps", 2.2, FIELD(controller.still), DEG},
    {"cameras[0].field_of_view_deg", 81, FIELD(camera[0].field_of_view), DEG},
    {"cameras[0].shutter_s", 0.0021, FIELD(camera[0].shutter), 1},
    {"cameras[0].smear_limit_px", 4.1, FIELD(camera[0].smear_limit), 1},
    {"cameras[0].rate_limit_dps", 91.5, FIELD(camera[0].rate_limit), DEG},
    {"cameras[0].lens_angle_deg", 81.2, FIELD(camera[0].lens_angle), DEG},
    {"cameras[0].line_time_us", 11.1, FIELD(camera[0].line_time), 1e-6},
    {"cameras[0].skew_limit_px", 211.1, FIELD(camera[0].skew_limit), 1},
    {"cameras[1].field_of_view_deg", 71, FIELD(camera[1].field_of_view), DEG},
    {"cameras[1].shutter_s", 0.0031, FIELD(camera[1].shutter), 1},
    {"cameras[1].smear_limit_px", 3.1, FIELD(camera[1].smear_limit), 1},
    {"cameras[1].rate_limit_dps", 61.5, FIELD(camera[1].rate_limit), DEG},
    {"cameras[1].lens_angle_deg", 12.2, FIELD(camera[1].lens_angle), DEG},
    {"cameras[1].line_time_us", 13.1, FIELD(camera[1].line_time), 1e-6},
    {"cameras[1].skew_limit_px", 213.1, FIELD(camera[1].skew_limit), 1},
    {"footage.target_dps", 31, FIELD(footage.target), DEG},
};

/* The rows that apply with a wind table and with a controller on the angle. */
static const struct expectation expected_other[] = {
    {"wind.speed_factor", 1.11, FIELD(wind.speed), 1},
    {"wind.from_shift_deg", -12, FIELD(wind.from), DEG},
    {"wind.spread", 1.3, FIELD(wind.spread), 1},
    {"controller.gain_per_s", 2.1, FIELD(controller.gain), 1},
    {"controller.integral_gain_per_s2", 0.31, FIELD(controller.integral), 1},
    {"controller.still_deg", 2.3, FIELD(controller.still), DEG},
};

/* The rows of a stepper and of a servo. */
static const struct expectation expected_stepper[] = {
    {"drive.slew_dps2", 6011, FIELD(drive.slew), DEG},
    {"drive.steps_per_turn", 401, FIELD(drive.stepper.steps), 1},
    {"drive.microsteps", 8, FIELD(drive.stepper.microsteps), 1},
    {"drive.holding_torque_Nm", 0.018, FIELD(drive.stepper.holding_torque), 1},
    {"drive.detent_torque_Nm", 0.0011, FIELD(drive.stepper.detent_torque), 1},
    {"drive.winding_current_A", 0.61, FIELD(drive.stepper.current), 1},
    {"drive.winding_resistance_ohm", 6.51, FIELD(drive.stepper.resistance), 1},
    {"drive.winding_inductance_H", 0.0017, FIELD(drive.stepper.inductance), 1},
    {"drive.supply_V", 12.1, FIELD(drive.stepper.supply), 1},
    {"drive.pull_out_factor", 0.91, FIELD(drive.stepper.torque_factor), 1},
    {"drive.resonance_low_hz", 51, FIELD(drive.stepper.resonance_low), 1},
    {"drive.resonance_high_hz", 251, FIELD(drive.stepper.resonance_high), 1},
    {"drive.resonance_share", 0.61, FIELD(drive.stepper.resonance_share), 1},
    {"drive.step_damping", 0.051, FIELD(drive.stepper.damping), 1},
};
static const struct expectation expected_servo[] = {
    {"drive.torque_per_rate_Nms", 0.0041, FIELD(drive.servo.stiffness), 1},
    {"drive.torque_Nm", 0.021, FIELD(drive.servo.torque), 1},
    {"drive.current_lag_s", 0.0031, FIELD(drive.servo.lag), 1},
    {"drive.cogging_Nm", 0.0012, FIELD(drive.servo.cogging), 1},
    {"drive.cogs_per_turn", 14, FIELD(drive.servo.cogs), 1},
};
static const struct expectation expected_formula[] = {
    {"inputs[0].value", 2.5, FIELD(formula.input[0]), 1},
};
enum { N_STEPPER = sizeof expected_stepper / sizeof expected_stepper[0],
       N_SERVO = sizeof expected_servo / sizeof expected_servo[0],
       N_FORMULA = sizeof expected_formula / sizeof expected_formula[0] };

enum { N_EXPECTED = sizeof expected / sizeof expected[0], N_OTHER = sizeof expected_other / sizeof expected_other[0] };

/* The member of an object or list at a path, made if it is not there; the last one becomes the number. */
static void set_number(cJSON *root, const char *path, double value)
{
    cJSON *node = root;
    while (*path != '\0') {
        char key[RC_MAX_PATH_TEXT];
        const bool is_index = *path == '[';
        path += *path == '.' || *path == '[';
        const size_t n = strcspn(path, ".[]");
        (void)snprintf(key, sizeof key, "%.*s", (int)n, path);
        path += n + (is_index ? 1 : 0);
        cJSON *next = is_index ? cJSON_GetArrayItem(node, atoi(key)) : cJSON_GetObjectItemCaseSensitive(node, key);
        if (next && *path == '\0') {
            cJSON_SetNumberValue(next, value);
        } else if (!next) {
            next = *path == '\0' ? cJSON_CreateNumber(value) : *path == '[' ? cJSON_CreateArray() : cJSON_CreateObject();
            (void)(is_index ? cJSON_AddItemToArray(node, next) : cJSON_AddItemToObject(node, key, next));
        }
        node = next;
    }
}

/* Settings and values of a tree, without the checks that look at several entries. */
static void read_tree(cJSON *root, struct rc_settings *settings, struct rc_values *values)
{
    char *text = cJSON_Print(root);
    assert_non_null(text);
    const struct rc_bundle_file file = {(char[]){"test.json"}, text, strlen(text)};
    struct rc_issues issues = {0};
    struct rc_reader reader;
    assert_int_equal(rc_read_parse(&reader, &file, &issues), RC_OK);
    rc_setup_read(settings, &reader);
    rc_values_read(values, &reader, settings);
    rc_read_free(&reader);
    for (int item = 0; item < issues.n_kept; item++)
        print_error("%s: %s\n", issues.item[item].where, issues.item[item].what);
    assert_int_equal(issues.n_errors, 0);
    cJSON_free(text);
}

static double field(const struct rc_design *design, size_t offset)
{
    double value = 0;
    memcpy(&value, (const char *)design + offset, sizeof value);
    return value;
}

static const struct rc_entry *entry_of(const struct rc_values *values, const char *path)
{
    for (int index = 0; index < values->n; index++) {
        if (strcmp(values->entry[index].path, path) == 0)
            return &values->entry[index];
    }
    print_error("no entry %s\n", path);
    fail();
    return NULL;
}

static void expect_all(const struct rc_values *values, const struct expectation *list, int n)
{
    for (int index = 0; index < n; index++) {
        const struct expectation *want = &list[index];
        const struct rc_entry *entry = entry_of(values, want->path);
        const double si = field(&values->base, want->offset);
        const double wanted = want->value * want->factor;
        if (fabs(si - wanted) > 4e-16 * fabs(wanted) || entry->value != want->value)
            print_error("%s: %.17g, wanted %.17g\n", want->path, si, wanted);
        assert_true(fabs(si - wanted) <= 4e-16 * fabs(wanted));
        assert_true(entry->value == want->value);
        assert_false(entry->is_default);
        assert_int_equal(entry->uncertain, -1);
    }
}

static cJSON *full_tree(void)
{
    cJSON *root = cJSON_Parse(
        "{\"body\": [{}, {}], \"fins\": [{\"count\": 4}, {\"count\": 2}], \"cameras\": [{}, {}], \"controller\": {\"acts_on\": \"rate\"}}");
    assert_non_null(root);
    for (int index = 0; index < N_EXPECTED; index++)
        set_number(root, expected[index].path, expected[index].value);
    return root;
}

static void test_values__every_quantity_lands_in_its_field(void **state)
{
    (void)state;
    struct rc_settings *settings = calloc(1, sizeof *settings);
    struct rc_values *values = calloc(1, sizeof *values);
    assert_non_null(settings);
    assert_non_null(values);
    cJSON *root = full_tree();
    read_tree(root, settings, values);
    assert_int_equal(values->n, N_EXPECTED);
    expect_all(values, expected, N_EXPECTED);
    assert_int_equal(values->sampling.n, 0);
    /* the order is the list's order: by set and by camera, as the store's columns have it */
    for (int index = 0; index < N_EXPECTED; index++)
        assert_string_equal(values->entry[index].path, expected[index].path);
    cJSON_Delete(root);
    free(settings);
    free(values);
}

static void expect_rows(const char *tree, const struct expectation *list, int n)
{
    struct rc_settings *settings = calloc(1, sizeof *settings);
    struct rc_values *values = calloc(1, sizeof *values);
    assert_non_null(settings);
    assert_non_null(values);
    cJSON *root = cJSON_Parse(tree);
    for (int index = 0; index < n; index++)
        set_number(root, list[index].path, list[index].value);
    read_tree(root, settings, values);
    expect_all(values, list, n);
    cJSON_Delete(root);
    free(settings);
    free(values);
}

static void test_values__rows_of_the_other_modes_land_in_their_fields(void **state)
{
    (void)state;
    expect_rows("{\"wind\": {\"table_csv\": \"w.csv\"}, \"controller\": {\"acts_on\": \"angle\"}}", expected_other, N_OTHER);
    expect_rows("{\"drive\": {\"kind\": \"stepper\"}}", expected_stepper, N_STEPPER);
    expect_rows("{\"drive\": {\"kind\": \"servo\"}}", expected_servo, N_SERVO);
    expect_rows("{\"formula\": \"a\", \"inputs\": [{\"name\": \"a\"}]}", expected_formula, N_FORMULA);
}

/* All rows of the table are in the lists above, so that a new row cannot go untested. */
static void test_values__lists_of_this_test_cover_the_table(void **state)
{
    (void)state;
    for (int row = 0; row < rc_quantities_count(); row++) {
        char path[RC_MAX_PATH_TEXT];
        rc_read_path(path, rc_quantities_row(row)->path, 0, 0);
        bool is_covered = false;
        for (int index = 0; index < N_EXPECTED; index++)
            is_covered = is_covered || strcmp(expected[index].path, path) == 0;
        for (int index = 0; index < N_OTHER; index++)
            is_covered = is_covered || strcmp(expected_other[index].path, path) == 0;
        for (int index = 0; index < N_STEPPER; index++)
            is_covered = is_covered || strcmp(expected_stepper[index].path, path) == 0;
        for (int index = 0; index < N_SERVO; index++)
            is_covered = is_covered || strcmp(expected_servo[index].path, path) == 0;
        for (int index = 0; index < N_FORMULA; index++)
            is_covered = is_covered || strcmp(expected_formula[index].path, path) == 0;
        if (!is_covered)
            print_error("no expectation for %s\n", path);
        assert_true(is_covered);
    }
}

static void test_values__table_rows_are_sound(void **state)
{
    (void)state;
    for (int index = 0; index < rc_quantities_count(); index++) {
        const struct rc_quantity_row *row = rc_quantities_row(index);
        assert_true(row->low < row->high && isfinite(row->low) && isfinite(row->high));
        assert_true(strlen(row->unit) < RC_MAX_UNIT);
        if (row->fallback.kind == RC_DEFAULT_VALUE)
            assert_true(row->fallback.value >= row->low && row->fallback.value <= row->high);
        for (int other = 0; other < index; other++)
            assert_string_not_equal(row->path, rc_quantities_row(other)->path);
    }
}

static void test_values__every_quantity_may_be_uncertain(void **state)
{
    (void)state;
    struct rc_settings *settings = calloc(1, sizeof *settings);
    struct rc_values *values = calloc(1, sizeof *values);
    assert_non_null(settings);
    assert_non_null(values);
    for (int index = 0; index < N_EXPECTED; index++) {
        cJSON *root = full_tree();
        /* a narrow uniform about the expected value in the place of the number */
        set_number(root, expected[index].path, 123456789);
        char *text = cJSON_Print(root);
        char law[160];
        const bool is_switch = strstr(expected[index].path, "_works") != NULL;
        const bool is_count = expected[index].path != NULL && rc_quantities_find(expected[index].path) != NULL &&
                              rc_quantities_find(expected[index].path)->is_whole && !is_switch;
        const double half = is_switch || is_count ? 0 : 0.001 * fabs(expected[index].value);
        (void)snprintf(law, sizeof law, "{\"distribution\": \"uniform\", \"low\": %.17g, \"high\": %.17g}",
                       expected[index].value - half, expected[index].value + half);
        if (is_switch)
            (void)snprintf(law, sizeof law, "{\"distribution\": \"chance\", \"odds\": 0.9}");
        if (is_count)
            (void)snprintf(law, sizeof law, "{\"distribution\": \"discrete\", \"values\": [%.0f, %.0f], \"weights\": [0.5, 0.5]}",
                           expected[index].value, expected[index].value + 1);
        char *spread = fixture_replace(text, "123456789", law);
        cJSON *spread_root = cJSON_Parse(spread);
        assert_non_null(spread_root);
        read_tree(spread_root, settings, values);
        assert_int_equal(values->sampling.n, 1);
        assert_string_equal(values->uncertain[0].path, expected[index].path);
        const double drawn = expected[index].value + 0.5 * half;
        struct rc_design design;
        rc_values_design(&design, values, &drawn);
        const double got = field(&design, expected[index].offset);
        assert_true(fabs(got - drawn * expected[index].factor) <= 4e-16 * fabs(got));
        cJSON_Delete(spread_root);
        cJSON_Delete(root);
        cJSON_free(text);
        free(spread);
    }
    free(settings);
    free(values);
}

static void test_values__bad_numbers_are_refused(void **state)
{
    (void)state;
    fixture_refuses("\"diameter_m\": 0.1", "\"diameter_m\": 5", "/vehicle/diameter_m",
                    "got 5|wanted 0.001 to 2 m|reference diameter");
    fixture_refuses("\"diameter_m\": 0.1", "\"diameter_m\": -0.1", "/vehicle/diameter_m", "got -0.1|wanted 0.001 to 2 m");
    fixture_refuses("\"diameter_m\": 0.1", "\"diameter_m\": \"0.1\"", "/vehicle/diameter_m",
                    "got \"0.1\"|wanted a number or a distribution");
    fixture_refuses("\"diameter_m\": 0.1", "\"diameter_m\": true", "/vehicle/diameter_m", "got true|wanted a number");
    fixture_refuses("\"diameter_m\": 0.1", "\"diameter_m\": null", "/vehicle/diameter_m", "got null|wanted a number");
    fixture_refuses("\"diameter_m\": 0.1", "\"diameter_m\": [0.1]", "/vehicle/diameter_m", "got a list|wanted a number");
    fixture_refuses("\"diameter_m\": 0.1", "\"diameter_m\": 1e999", "/vehicle/diameter_m", "too large for a double|finite");
    fixture_refuses("\"rate_limit_dps\": 90", "\"rate_limit_dps\": 0", "/cameras/0/rate_limit_dps",
                    "got 0|wanted 0.01 to 100000 deg/s");
    fixture_refuses("\"burn_time_factor\": 1.0", "\"burn_time_factor\": 99", "/motor/burn_time_factor", "wanted 0.05 to 20: ");
    fixture_refuses("\"burn_time_factor\": 1.0", "\"burn_time_factor\": []", "/motor/burn_time_factor", "distribution object: ");
}

static void test_values__misalignment_list_needs_an_entry_per_fin(void **state)
{
    (void)state;
    const char *find = "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.1}";
    fixture_refuses(find, "[0.1, 0.2, 0.3]", "/fins/0/misalignment_deg", "got 3 entries|wanted 4|one for each fin");
    fixture_refuses(find, "[0.1, 0.2, 0.3, \"x\"]", "/fins/0/misalignment_deg/3", "got \"x\"|wanted a number");
    fixture_refuses(find, "[0.1, 0.2, 31, 0]", "/fins/0/misalignment_deg/2", "got 31|wanted -30 to 30 deg");
}

static void test_values__mistake_that_stands_for_all_fins_is_told_once(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(fixture_read(&campaign, "{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.1}", "99", &issues),
                     RC_BAD_INPUT);
    assert_int_equal(issues.n_errors, 1);
    assert_true(fixture_has_issue(&issues, "/fins/0/misalignment_deg", "got 99"));
}

static void test_values__jump_and_root_radius_follow_what_they_default_to(void **state)
{
    (void)state;
    struct rc_settings *settings = calloc(1, sizeof *settings);
    struct rc_values *values = calloc(1, sizeof *values);
    assert_non_null(settings);
    assert_non_null(values);
    cJSON *root = cJSON_Parse("{\"vehicle\": {\"diameter_m\": {\"distribution\": \"uniform\", \"low\": 0.1, \"high\": 0.3}},"
                              "\"fins\": [{\"count\": 3}], \"drive\": {\"top_dps\": 720,"
                              "\"floor_dps\": {\"distribution\": \"uniform\", \"low\": 30, \"high\": 50}}}");
    read_tree(root, settings, values);
    assert_int_equal(values->sampling.n, 2);
    assert_true(entry_of(values, "drive.jump_dps")->is_default);
    assert_true(fabs(entry_of(values, "drive.jump_dps")->value - 40) < 1e-12);
    assert_true(fabs(entry_of(values, "fins[0].root_radius_m")->value - 0.1) < 1e-15);
    const double drawn[] = {0.25, 33};
    struct rc_design design;
    rc_values_design(&design, values, drawn);
    assert_true(fabs(design.vehicle.fins[0].root_radius - 0.125) < 1e-15);
    assert_true(fabs(design.drive.jump - 33 * DEG) < 1e-15);
    assert_true(fabs(design.controller.windup - 720 * DEG) < 1e-13);
    cJSON_Delete(root);
    free(settings);
    free(values);
}

static void test_values__jump_is_never_below_the_floor_of_its_flight(void **state)
{
    (void)state;
    struct rc_settings *settings = calloc(1, sizeof *settings);
    struct rc_values *values = calloc(1, sizeof *values);
    assert_non_null(settings);
    assert_non_null(values);
    cJSON *root =
        cJSON_Parse("{\"drive\": {\"jump_dps\": 45, \"floor_dps\": {\"distribution\": \"uniform\", \"low\": 30, \"high\": 50}}}");
    read_tree(root, settings, values);
    struct rc_design design;
    rc_values_design(&design, values, &(double){48});
    assert_true(fabs(design.drive.jump - 48 * DEG) < 1e-15);
    rc_values_design(&design, values, &(double){33});
    assert_true(fabs(design.drive.jump - 45 * DEG) < 1e-15);
    cJSON_Delete(root);
    free(settings);
    free(values);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_values__every_quantity_lands_in_its_field),
        cmocka_unit_test(test_values__rows_of_the_other_modes_land_in_their_fields),
        cmocka_unit_test(test_values__lists_of_this_test_cover_the_table),
        cmocka_unit_test(test_values__table_rows_are_sound),
        cmocka_unit_test(test_values__every_quantity_may_be_uncertain),
        cmocka_unit_test(test_values__bad_numbers_are_refused),
        cmocka_unit_test(test_values__misalignment_list_needs_an_entry_per_fin),
        cmocka_unit_test(test_values__mistake_that_stands_for_all_fins_is_told_once),
        cmocka_unit_test(test_values__jump_and_root_radius_follow_what_they_default_to),
        cmocka_unit_test(test_values__jump_is_never_below_the_floor_of_its_flight),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
