/* Tables of a campaign: where they are found, what they must hold, what the layout gets. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "fixture.h"

static void refuses(const char *name, const char *text, const char *place, const char *words)
{
    fixture_refuses_table(name, text, strlen(text), place, words);
}

/* The fixture's campaign with these tables, which it takes. out bundle, issues  (given zeroed); ends the campaign */
static rc_campaign *with_tables(struct rc_bundle *bundle, struct rc_issues *issues, const char *aero, const char *thrust)
{
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_bundle_add(bundle, "test.json", fixture_campaign, strlen(fixture_campaign), NULL), RC_OK);
    assert_int_equal(rc_bundle_add(bundle, "aero.csv", aero, strlen(aero), NULL), RC_OK);
    assert_int_equal(rc_bundle_add(bundle, "thrust.csv", thrust, strlen(thrust), NULL), RC_OK);
    assert_int_equal(rc_campaign_from_bundle(&campaign, bundle, issues), RC_OK);
    return campaign;
}

static void test_tables__thrust_must_make_sense(void **state)
{
    (void)state;
    refuses("thrust.csv", "", "thrust.csv:1", "thrust table is empty");
    refuses("thrust.csv", "time_s,thrust_N\n0,0\n2,100\n1,0\n", "thrust.csv:4", "sort the rows");
    refuses("thrust.csv", "time_s,thrust_N\n0,0\n1,100\n1,0\n", "thrust.csv:4", "repeated row");
    refuses("thrust.csv", "time_s,thrust_N\n0,0\n1,-100\n2,0\n", "thrust.csv:3", "got -100 in thrust_N, wanted 0 to");
    refuses("thrust.csv", "time_s,thrust_N\n0,0\n1,0\n2,0\n", "/motor/thrust_csv", "zero all over|impulse above 0");
    refuses("thrust.csv", "time_s,thrust_N\n0,5\n", "thrust.csv:2", "has 1 row of numbers, wanted at least 2");
}

static void test_tables__aerodynamics_must_make_sense(void **state)
{
    (void)state;
    refuses("aero.csv", "mach,ca_on\n0,0.4\n", "test.json: /aero/table_csv", "ca_on without ca_off");
    refuses("aero.csv", "ca_off\n0.4\n", "aero.csv:1", "column \"mach\" of the aerodynamic table is missing");
    refuses("aero.csv", "mach,ca_off\n0,0.4\n0,0.5\n", "aero.csv:3", "mach is 0 after 0");
    refuses("aero.csv", "mach,ca_off,cl_p\n0,0.4,3\n", "aero.csv:2", "got 3 in cl_p, wanted -10000 to 0");
    refuses("aero.csv", "mach,ca_off,cn_alpha\n0,0.4,3\n", "aero.csv:1",
            "unknown column \"cn_alpha\"|wanted mach, ca_on, ca_off, cn_alpha_per_rad,");
    refuses("aero.csv", "mach,ca_off,lift\n0,0.4,3\n", "aero.csv:1",
            "unknown column \"lift\"|wanted mach, ca_on, ca_off, cn_alpha_per_rad,|, fin_station_2_m or induced_roll");
}

static void test_tables__wind_must_make_sense(void **state)
{
    (void)state;
    refuses("wind.csv", "height_m,speed_mps\n0,3\n", "wind.csv:1", "column \"from_deg\" of the wind table is missing");
    refuses("wind.csv", "height_m,speed_mps,from_deg\n0,-3,270\n", "wind.csv:2", "got -3 in speed_mps");
    refuses("wind.csv", "height_m,speed_mps,from_deg,speed_sd_mps\n0,3,270,-1\n", "wind.csv:2", "got -1 in speed_sd_mps");
}

static void test_tables__names_stay_below_the_folder_and_are_files(void **state)
{
    (void)state;
    fixture_refuses("\"aero.csv\"", "\"/etc/passwd\"", "/aero/table_csv", "absolute path|relative to the campaign's folder");
    fixture_refuses("\"aero.csv\"", "\"..\"", "/aero/table_csv", "folder|wanted a CSV file");
    fixture_refuses("\"aero.csv\"", "\"tables/\"", "/aero/table_csv", "folder|wanted a CSV file");
    fixture_refuses("\"aero.csv\"", "\"test.json\"", "/aero/table_csv", "the campaign itself");
    fixture_refuses("\"aero.csv\"", "\"other.csv\"", "/aero/table_csv", "not among the campaign's files");
    fixture_refuses("\"aero.csv\"", "12", "/aero/table_csv", "got 12|wanted a text");
    fixture_refuses("\"aero.csv\"", "\"\"", "/aero/table_csv", "0 bytes|wanted 1 to 191");
}

static void expect_load_refusal(const char *campaign_text, const char *place_key, const char *words)
{
    char path[512];
    fixture_write("refused.json", campaign_text, path, sizeof path);
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_load(&campaign, path, &issues), RC_BAD_INPUT);
    assert_null(campaign);
    char place[256];
    (void)snprintf(place, sizeof place, "refused.json: %s", place_key);
    assert_true(fixture_has_issue(&issues, place, words));
}

static void test_tables__unreadable_file_says_why(void **state)
{
    (void)state;
    char path[512];
    fixture_write("thrust.csv", fixture_thrust, path, sizeof path);
    fixture_write("aero.csv", fixture_aero, path, sizeof path);
    (void)mkdir(RC_TEST_SCRATCH "/campaign/folder.csv", 0777);
    char *text = fixture_replace(fixture_campaign, "aero.csv", "absent.csv");
    expect_load_refusal(text, "/aero/table_csv", "absent.csv|No such file or directory");
    free(text);
    text = fixture_replace(fixture_campaign, "aero.csv", "folder.csv");
    expect_load_refusal(text, "/aero/table_csv", "folder.csv|directory");
    free(text);
    if (geteuid() != 0) { /* root reads everything */
        fixture_write("locked.csv", fixture_aero, path, sizeof path);
        assert_int_equal(chmod(path, 0), 0);
        text = fixture_replace(fixture_campaign, "aero.csv", "locked.csv");
        expect_load_refusal(text, "/aero/table_csv", "locked.csv|Permission denied");
        free(text);
        assert_int_equal(chmod(path, 0600), 0);
    }
}

static void test_tables__too_large_file_is_refused(void **state)
{
    (void)state;
    char path[512];
    fixture_write("thrust.csv", fixture_thrust, path, sizeof path);
    fixture_write("huge.csv", "", path, sizeof path);
    assert_int_equal(truncate(path, (off_t)RC_MAX_FILE_BYTES + 1), 0);
    char *text = fixture_replace(fixture_campaign, "aero.csv", "huge.csv");
    expect_load_refusal(text, "/aero/table_csv", "huge.csv|4194304");
    free(text);
    assert_int_equal(unlink(path), 0);
}

static void test_tables__layout_gets_the_numbers(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    char *text = fixture_replace(fixture_campaign, "\"speed_mps\": 4, \"from_deg\": 200", "\"table_csv\": \"wind.csv\"");
    struct rc_bundle bundle = fixture_bundle(text);
    const char wind[] = "height_m,speed_sd_mps,speed_mps,from_deg\n0,0.5,3,270\n1000,2,9,360\n";
    assert_int_equal(rc_bundle_add(&bundle, "wind.csv", wind, sizeof wind - 1, NULL), RC_OK);
    assert_int_equal(rc_campaign_from_bundle(&campaign, &bundle, &issues), RC_OK);
    const struct rc_layout *layout = rc_campaign_layout(campaign);
    assert_int_equal(layout->thrust.n, 5);
    assert_true(layout->thrust.time[1] == 0.05 && layout->thrust.thrust[1] == 2500);
    assert_int_equal(layout->aero.n, 5);
    assert_true(layout->aero.mach[2] == 1.05 && layout->aero.column[RC_AERO_CA_OFF][2] == 0.68 &&
                layout->aero.column[RC_AERO_CA_ON][2] == 0.62);
    assert_null(layout->aero.column[RC_AERO_CN_ALPHA]);
    assert_null(layout->aero.column[RC_AERO_CL_P]);
    assert_int_equal(layout->wind.n, 2);
    assert_true(layout->wind.height[1] == 1000 && layout->wind.speed[1] == 9 && layout->wind.spread[1] == 2);
    assert_true(fabs(layout->wind.from[0] - 1.5 * 3.14159265358979323846) < 1e-15);
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
    free(text);
}

/* All columns, each with its own value, in a shuffled order. */
static void test_tables__every_aerodynamic_column_lands(void **state)
{
    (void)state;
    struct rc_bundle bundle = {0};
    const char aero[] = "body_lift_station_m,cl_p,cl_delta_2_per_rad,cl_delta_per_rad,cmq,xcp_m,cn_alpha_per_rad,ca_off,ca_on,mach,"
                        "body_lift,fin_station_2_m,induced_roll,fin_slope_2_per_rad,fin_station_m,fin_slope_per_rad\n"
                        "1.1,-7,2.5,6,-50,1.9,9,0.4,0.3,0,22,1.7,-3,1.5,2.2,4.5\n1.1,-7,2.5,6,-50,1.9,9,0.4,0.3,2,22,1.7,-3,1.5,2.2,4.5\n";
    struct rc_issues issues = {0};
    rc_campaign *campaign = with_tables(&bundle, &issues, aero, fixture_thrust);
    const struct rc_aero_points *points = &rc_campaign_layout(campaign)->aero;
    const double wanted[RC_N_AERO_COLUMNS] = {
        [RC_AERO_CA_ON] = 0.3, [RC_AERO_CA_OFF] = 0.4, [RC_AERO_CN_ALPHA] = 9, [RC_AERO_XCP] = 1.9,
        [RC_AERO_CMQ] = -50,   [RC_AERO_CL_DELTA] = 6, [RC_AERO_CL_P] = -7,
        [RC_AERO_CL_DELTA_2] = 2.5, [RC_AERO_BODY_LIFT] = 22, [RC_AERO_BODY_LIFT_STATION] = 1.1,
        [RC_AERO_FIN_SLOPE] = 4.5, [RC_AERO_FIN_STATION] = 2.2, [RC_AERO_FIN_SLOPE_2] = 1.5, [RC_AERO_FIN_STATION_2] = 1.7,
        [RC_AERO_INDUCED_ROLL] = -3};
    for (int column = 0; column < RC_N_AERO_COLUMNS; column++) {
        if (wanted[column] == 0)
            assert_null(points->column[column]);
        else
            assert_true(points->column[column][0] == wanted[column]);
    }
    assert_false(rc_campaign_layout(campaign)->is_straight);
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
}

/* A table of as many rows as a file may have, row i at i times a step. */
static char *longest_table(const char *head, double step, const char *rest)
{
    struct rc_text text = {0};
    rc_text_add(&text, "%s\n", head);
    for (int row = 0; row < RC_MAX_TABLE_ROWS; row++)
        rc_text_add(&text, "%.9g,%s\n", row * step, rest);
    assert_false(text.failed);
    return text.bytes;
}

/* The model has a knot for each row of both tables besides its own, and flies the middle design through them. */
static void test_tables__longest_tables_are_flown(void **state)
{
    (void)state;
    struct rc_bundle bundle = {0};
    char *const text = fixture_replace(fixture_campaign, "\"speed_mps\": 4, \"from_deg\": 200", "\"table_csv\": \"wind.csv\"");
    char *const wind = longest_table("height_m,speed_mps,from_deg", 10, "4,200");
    char *const aero = longest_table("mach,ca_off", 0.001, "0.4");
    assert_int_equal(rc_bundle_add(&bundle, "test.json", text, strlen(text), NULL), RC_OK);
    assert_int_equal(rc_bundle_add(&bundle, "aero.csv", aero, strlen(aero), NULL), RC_OK);
    assert_int_equal(rc_bundle_add(&bundle, "wind.csv", wind, strlen(wind), NULL), RC_OK);
    assert_int_equal(rc_bundle_add(&bundle, "thrust.csv", fixture_thrust, strlen(fixture_thrust), NULL), RC_OK);
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(rc_campaign_from_bundle(&campaign, &bundle, &issues), RC_OK);
    assert_int_equal(rc_campaign_layout(campaign)->wind.n, RC_MAX_TABLE_ROWS);
    assert_int_equal(rc_campaign_layout(campaign)->aero.n, RC_MAX_TABLE_ROWS);
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
    free(text);
    free(wind);
    free(aero);
}

static void test_tables__power_on_drag_defaults_to_power_off(void **state)
{
    (void)state;
    struct rc_bundle bundle = {0};
    const char aero[] = "mach,ca_off\n0,0.4\n2,0.5\n";
    struct rc_issues issues = {0};
    rc_campaign *campaign = with_tables(&bundle, &issues, aero, fixture_thrust);
    const struct rc_aero_points *points = &rc_campaign_layout(campaign)->aero;
    assert_true(points->column[RC_AERO_CA_ON][1] == 0.5);
    assert_int_equal(rc_campaign_layout(campaign)->wind.n, 0);
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
}

static void test_tables__cut_off_thrust_is_warned_of(void **state)
{
    (void)state;
    struct rc_bundle bundle = {0};
    const char thrust[] = "time_s,thrust_N\n0,0\n0.05,2500\n3,1900\n";
    struct rc_issues issues = {0};
    rc_campaign *campaign = with_tables(&bundle, &issues, fixture_aero, thrust);
    assert_int_equal(issues.n_errors, 0);
    assert_int_equal(issues.n_warnings, 1);
    assert_true(fixture_has_issue(&issues, "/motor/thrust_csv", "ends at 1900 N, 76 % of its peak"));
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
}

static void test_tables__a_place_behind_the_vehicle_is_warned_of(void **state)
{
    (void)state;
    struct rc_bundle bundle = {0};
    const char aero[] = "mach,xcp_m\n0,1.9\n1,25\n2,26\n";
    struct rc_issues issues = {0};
    rc_campaign *campaign = with_tables(&bundle, &issues, aero, fixture_thrust);
    assert_int_equal(issues.n_errors, 0);
    assert_true(fixture_has_issue(&issues, "/aero/table_csv", "the xcp_m 25 at Mach 1 lies behind the vehicle's end"));
    assert_false(fixture_has_issue(&issues, "/aero/table_csv", "xcp_m 26"));
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_tables__thrust_must_make_sense),
        cmocka_unit_test(test_tables__aerodynamics_must_make_sense),
        cmocka_unit_test(test_tables__wind_must_make_sense),
        cmocka_unit_test(test_tables__names_stay_below_the_folder_and_are_files),
        cmocka_unit_test(test_tables__unreadable_file_says_why),
        cmocka_unit_test(test_tables__too_large_file_is_refused),
        cmocka_unit_test(test_tables__layout_gets_the_numbers),
        cmocka_unit_test(test_tables__every_aerodynamic_column_lands),
        cmocka_unit_test(test_tables__longest_tables_are_flown),
        cmocka_unit_test(test_tables__power_on_drag_defaults_to_power_off),
        cmocka_unit_test(test_tables__cut_off_thrust_is_warned_of),
        cmocka_unit_test(test_tables__a_place_behind_the_vehicle_is_warned_of),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
