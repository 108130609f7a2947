/* The way down: steady fall, fall from rest, descent time and drift against closed forms and quoted numbers, where things open, what
 * a failed canopy does, that neither company nor step matters, and what is left blank when no flight comes down. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "flight/atmosphere.h"
#include "flight/descent.h"
#include "near.h"
#include "numeric/lane_math.h"
#include "support/reference.h"
#include "support_vehicle.h"

/* A row of a reference table of quantity and value. */
static double quoted(const struct reference *table, const char *quantity)
{
    for (int row = 0; row < reference_rows(table); row++)
        if (strcmp(reference_text(table, row, "quantity"), quantity) == 0)
            return reference_number(table, row, "value");
    fail_msg("no row '%s'", quantity);
    return NAN;
}

/* A vehicle whose whole drag area is there from apogee on, over sea level in standard air. */
static void canopy_vehicle(struct support_vehicle *vehicle, double mass, double area)
{
    support_vehicle_demo(vehicle);
    vehicle->layout.has_descent = 1;
    vehicle->design.site.elevation = 0.0;
    vehicle->design.site.temperature_offset = 0.0;
    vehicle->design.wind = (struct rc_wind_design){.reference_height = 10.0};
    vehicle->design.descent = (struct rc_descent_design){.mass = mass, .body_area = area};
}

struct drop {
    struct support_vehicle vehicle;
    struct rc_model *model;
    struct rc_block *block;
    struct rc_record record;
};

static void drop_ready(struct drop *drop)
{
    drop->model = support_vehicle_model(&drop->vehicle, NULL, 0);
    drop->block = support_vehicle_block(drop->model, &drop->vehicle.design);
    memset(&drop->record, 0, sizeof drop->record);
    drop->record.end = RC_END_APOGEE;
}

/* Let it fall from a height with a speed, all of it by the project's descent; the ascent is not used. */
static void drop_from(struct drop *drop, double height, double vertical)
{
    drop->block->record[0] = &drop->record;
    drop->block->design[0] = &drop->vehicle.design;
    drop->block->is_spare[0] = false;
    for (int lane = 0; lane < RC_LANES; lane++)
        for (int i = 0; i < 6; i++)
            drop->block->v.apogee[i][lane] = i == 2 ? height : (i == 5 ? vertical : 0.0);
    rc_descent_fly(drop->block);
}

static void drop_done(struct drop *drop)
{
    rc_block_free(drop->block);
    rc_model_free(drop->model);
}

/* source parachute_check.csv (closed forms, computed there): 8 kg under a canopy of 2.356 m2, steady at the ground, 3000 m in 378.3 s.
 * The quoted time starts in steady fall; ours starts there too, so that only what is not quasi-steady is left. */
static void test_descent__a_canopy_sinks_as_quoted(void **state)
{
    (void)state;
    struct reference *const table = reference_open("parachute_check.csv");
    struct drop drop;
    canopy_vehicle(&drop.vehicle, quoted(table, "mass"), quoted(table, "CdS"));
    drop_ready(&drop);
    drop_from(&drop, 3000.0, -quoted(table, "v_terminal_3000m"));
    const double *const m = drop.record.measure;
    print_message("3000 m in %.3f s (quoted %.3f), %.5f m/s at the ground (quoted %.5f)\n", m[RC_MEASURE_descent_s],
                  quoted(table, "descent_time_3000m_to_0"), m[RC_MEASURE_landing_speed_mps], quoted(table, "v_terminal_SL"));
    /* Gravity falls with height (0.05 % less speed at 3 km, g held there at its ground value) and drag lags behind by v^2/(g H). */
    assert_ratio(m[RC_MEASURE_descent_s], quoted(table, "descent_time_3000m_to_0"), 5e-4);
    assert_ratio(m[RC_MEASURE_landing_speed_mps], quoted(table, "v_terminal_SL"), 5e-4);
    assert_near(m[RC_MEASURE_landing_distance_m], 0.0, 1e-9);
    for (int km = 1; km <= 2; km++) {
        char name[40];
        snprintf(name, sizeof name, "v_terminal_%d000m", km);
        drop.vehicle.design.site.elevation = 1000.0 * km;
        drop_done(&drop);
        drop_ready(&drop);
        drop_from(&drop, 300.0, -8.0);
        assert_ratio(m[RC_MEASURE_landing_speed_mps], quoted(table, name), 5e-4);
    }
    drop_done(&drop);
    reference_close(table);
}

/* closed form: steady sinking takes a time that goes with the root of drag area over mass; a hundred times the quoted canopy's takes ten
 * times as long, in some 60,000 steps. */
static void test_descent__a_huge_canopy_comes_down_too(void **state)
{
    (void)state;
    struct reference *const table = reference_open("parachute_check.csv");
    struct drop drop;
    canopy_vehicle(&drop.vehicle, quoted(table, "mass"), 100.0 * quoted(table, "CdS"));
    drop_ready(&drop);
    drop_from(&drop, 3000.0, -0.1 * quoted(table, "v_terminal_3000m"));
    assert_ratio(drop.record.measure[RC_MEASURE_descent_s], 10.0 * quoted(table, "descent_time_3000m_to_0"), 5e-4);
    assert_ratio(drop.record.measure[RC_MEASURE_landing_speed_mps], 0.1 * quoted(table, "v_terminal_SL"), 5e-4);
    drop_done(&drop);
    reference_close(table);
}

/* source parachute_check.csv: drift in 5 m/s of wind that is the same at every height. The canopy starts in the wind's own motion. */
/* 200,000 steps: 1.2/1.5 of one per metre and m2/kg at sea level. From low down, where the air is all but as dense, those that are said
 * to land do, and those beyond do not, whichever canopy it is. */
static void test_descent__those_too_slow_are_foretold(void **state)
{
    (void)state;
    static const double share[] = {0.9, 1.1}; /* few: each flies all of its 200,000 steps */
    for (int by_main = 0; by_main < 2; by_main++) {
        for (size_t i = 0; i < sizeof share / sizeof share[0]; i++) {
            struct drop drop;
            const double area = share[i] * 200000.0 / (1.225 / 1.5) / 300.0;
            canopy_vehicle(&drop.vehicle, 1.0, by_main ? 0.001 : area);
            struct rc_descent_design *const descent = &drop.vehicle.design.descent;
            descent->main_area = by_main ? area : 0.0;
            descent->main_height = 300.0;
            descent->main_works = 1.0;
            drop_ready(&drop);
            drop.record.measure[RC_MEASURE_landing_speed_mps] = NAN;
            drop_from(&drop, 300.0, 0.0);
            const bool is_down = isfinite(drop.record.measure[RC_MEASURE_landing_speed_mps]);
            print_message("%.1f of what 200,000 steps bring down: %s\n", share[i], is_down ? "lands" : "is given up");
            assert_int_equal(is_down, share[i] < 1.0);
            assert_int_equal(rc_descent_is_endless(descent, 300.0), share[i] > 1.0);
            descent->main_works = 0.0;
            assert_int_equal(rc_descent_is_endless(descent, 300.0), !by_main && share[i] > 1.0);
            drop_done(&drop);
        }
    }
    const struct rc_descent_design drogue = {.mass = 1.0, .body_area = 0.001, .drogue_area = 1000.0, .drogue_works = 1.0};
    assert_true(rc_descent_is_endless(&drogue, 300.0));
    assert_false(rc_descent_is_endless(&drogue, 200.0));
}

static void test_descent__a_canopy_drifts_with_the_wind(void **state)
{
    (void)state;
    struct reference *const table = reference_open("parachute_check.csv");
    struct drop drop;
    canopy_vehicle(&drop.vehicle, quoted(table, "mass"), quoted(table, "CdS"));
    drop.vehicle.design.wind = (struct rc_wind_design){.speed = 5.0, .from = 270.0 * RC_DEGREE, .reference_height = 10.0};
    drop_ready(&drop);
    drop_from(&drop, 3000.0, -quoted(table, "v_terminal_3000m"));
    const double *const m = drop.record.measure;
    const double wanted = quoted(table, "drift_5mps_uniform");
    print_message("drift %.2f m east, %.4f m north (quoted %.2f)\n", m[RC_MEASURE_landing_east_m], m[RC_MEASURE_landing_north_m], wanted);
    /* Caught up with the wind in one time constant at the top, and lost it in the last decimetre, where the wind falls to none. */
    assert_near(m[RC_MEASURE_landing_east_m], wanted, 5.0);
    assert_near(m[RC_MEASURE_landing_north_m], 0.0, 1e-6);
    assert_near(m[RC_MEASURE_landing_distance_m], fabs(m[RC_MEASURE_landing_east_m]), 1e-6);
    drop_done(&drop);
    reference_close(table);
}

/* closed form: fall from rest v = v_t tanh(g t / v_t), z = v_t^2/g ln cosh(g t / v_t); 3.905 m in 1 s (parachute_check.csv), with
 * the density of the ground. */
static void test_descent__fall_from_rest_has_the_closed_form(void **state)
{
    (void)state;
    struct reference *const table = reference_open("parachute_check.csv");
    struct drop drop;
    canopy_vehicle(&drop.vehicle, quoted(table, "mass"), quoted(table, "CdS"));
    drop_ready(&drop);
    drop_from(&drop, quoted(table, "fall_from_rest_z_at_1s"), 0.0);
    const double *const m = drop.record.measure;
    print_message("from rest: %.6f s, %.6f m/s\n", m[RC_MEASURE_descent_s], m[RC_MEASURE_landing_speed_mps]);
    assert_near(m[RC_MEASURE_descent_s], 1.0, 5e-4);
    assert_ratio(m[RC_MEASURE_landing_speed_mps], quoted(table, "fall_from_rest_v_at_1s"), 5e-4);
    /* A heavy thing of small area from 20 m: nearly free. */
    drop.vehicle.design.descent = (struct rc_descent_design){.mass = 100.0, .body_area = 0.001};
    drop_from(&drop, 20.0, 0.0);
    const double vt = sqrt(2.0 * 100.0 * 9.80665 / (1.225 * 0.001));
    const double t = vt / 9.80665 * acosh(exp(20.0 * 9.80665 / (vt * vt)));
    assert_near(m[RC_MEASURE_descent_s], t, 5e-4);
    assert_ratio(m[RC_MEASURE_landing_speed_mps], vt * tanh(9.80665 * t / vt), 5e-4);
    drop_done(&drop);
    reference_close(table);
}

/* An independent fall in small fixed steps of the midpoint rule, with its own look at air and openings. */
struct plain_fall {
    double east, north, up, time, speed, drogue_speed, main_speed;
};

static void plain_slope(const struct support_vehicle *vehicle, const double *y, double area, double *slope, double *airspeed)
{
    const struct rc_design *const design = &vehicle->design;
    const struct rc_wind_design *const wind = &design->wind;
    struct rc_air air;
    const double height = fmax(y[2], 0.0);
    rc_atmosphere_profile(&design->site, &height, 1, &air);
    const double blow = height > 0.0 ? wind->speed * pow(height / wind->reference_height, wind->exponent) : 0.0;
    const double v[3] = {y[3] + blow * sin(wind->from), y[4] + blow * cos(wind->from), y[5]};
    *airspeed = sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
    for (int axis = 0; axis < 3; axis++) {
        slope[axis] = y[3 + axis];
        slope[3 + axis] = -0.5 * air.density * *airspeed * area / design->descent.mass * v[axis];
    }
    slope[5] -= rc_atmosphere_gravity(design->site.elevation + y[2]);
}

static struct plain_fall plain_descent(const struct support_vehicle *vehicle, const double *apogee, double h)
{
    const struct rc_descent_design *const descent = &vehicle->design.descent;
    struct plain_fall fall = {.drogue_speed = NAN, .main_speed = NAN};
    double y[6], middle[6], slope[6], area = descent->body_area, airspeed;
    bool has_drogue = descent->drogue_works > 0.5, has_main = descent->main_works > 0.5;
    memcpy(y, apogee, sizeof y);
    while (y[2] > 0.0) {
        plain_slope(vehicle, y, area, slope, &airspeed);
        if (has_drogue && fall.time >= descent->drogue_delay - 1e-9) {
            fall.drogue_speed = airspeed;
            area += descent->drogue_area;
            has_drogue = false;
        }
        if (has_main && y[2] <= descent->main_height) {
            fall.main_speed = airspeed;
            area += descent->main_area;
            has_main = false;
        }
        plain_slope(vehicle, y, area, slope, &airspeed);
        for (int i = 0; i < 6; i++)
            middle[i] = y[i] + 0.5 * h * slope[i];
        plain_slope(vehicle, middle, area, slope, &airspeed);
        for (int i = 0; i < 6; i++)
            y[i] += h * slope[i];
        fall.time += h;
    }
    fall.east = y[0];
    fall.north = y[1];
    fall.speed = sqrt(y[3] * y[3] + y[4] * y[4] + y[5] * y[5]);
    return fall;
}

static void recovered_demo(struct support_vehicle *vehicle)
{
    support_vehicle_demo(vehicle);
    vehicle->layout.has_descent = 1;
    vehicle->design.descent = (struct rc_descent_design){
        .mass = 9.3, .body_area = 0.04, .drogue_delay = 1.3, .drogue_area = 0.3, .drogue_works = 1.0, .main_height = 250.0,
        .main_area = 4.5, .main_works = 1.0,
    };
}

/* The project's own long steps against one in twenty thousand of a second, from each kind of opening and failure. source the same
 * equations, independently written here */
static void test_descent__long_steps_are_as_good_as_short_ones(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    recovered_demo(&vehicle);
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *block = NULL;
    struct rc_error err;
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    static const struct {
        double delay, drogue, main, height;
    } cases[6] = {{1.3, 1, 1, 250}, {0, 1, 1, 250}, {1.3, 0, 1, 250}, {1.3, 1, 0, 250}, {1.3, 0, 0, 250}, {2.0, 1, 1, 20000}};
    double worst_time = 0.0, worst_place = 0.0, worst_speed = 0.0;
    for (int i = 0; i < 6; i++) {
        struct support_vehicle flown = vehicle;
        struct rc_descent_design *const descent = &flown.design.descent;
        descent->drogue_delay = cases[i].delay;
        descent->drogue_works = cases[i].drogue;
        descent->main_works = cases[i].main;
        descent->main_height = cases[i].height;
        struct rc_record record = {.bin = NULL};
        const uint64_t flight = 0;
        rc_block_fly(block, &flown.design, 1, &flight, 1, &record, NULL, NULL);
        assert_int_equal(record.end, RC_END_APOGEE);
        double apogee[6];
        for (int k = 0; k < 6; k++)
            apogee[k] = block->v.apogee[k][0];
        assert_near(apogee[2], record.measure[RC_MEASURE_apogee_m], 1e-9);
        assert_near(apogee[5], 0.0, 1e-6);
        const struct plain_fall fine = plain_descent(&flown, apogee, 2e-3);
        const double *const m = record.measure;
        print_message("  case %d: %.3f s (%+.4f), landed %.2f east %.2f north (%+.3f, %+.3f), %.3f m/s; drogue at %.3f m/s, main at %.3f m/s\n", i,
                      fine.time, m[RC_MEASURE_descent_s] - fine.time, fine.east, fine.north,
                      m[RC_MEASURE_landing_east_m] - fine.east, m[RC_MEASURE_landing_north_m] - fine.north, fine.speed,
                      m[RC_MEASURE_drogue_speed_mps], m[RC_MEASURE_main_speed_mps]);
        worst_time = fmax(worst_time, fabs(m[RC_MEASURE_descent_s] - fine.time));
        worst_place = fmax(worst_place, hypot(m[RC_MEASURE_landing_east_m] - fine.east, m[RC_MEASURE_landing_north_m] - fine.north) /
                                            hypot(fine.east - apogee[0], fine.north - apogee[1]));
        worst_speed = fmax(worst_speed, fabs(m[RC_MEASURE_landing_speed_mps] / fine.speed - 1.0));
        assert_int_equal(isnan(m[RC_MEASURE_drogue_speed_mps]), cases[i].drogue < 0.5);
        assert_int_equal(isnan(m[RC_MEASURE_main_speed_mps]), cases[i].main < 0.5);
        if (cases[i].drogue > 0.5)
            assert_near(m[RC_MEASURE_drogue_speed_mps], fine.drogue_speed, 0.02);
        if (cases[i].main > 0.5)
            assert_near(m[RC_MEASURE_main_speed_mps], fine.main_speed, 0.02);
    }
    print_message("worst: %.4f s, %.1e of the drift, speed %.1e\n", worst_time, worst_place, worst_speed);
    /* Place: the power law straight between the knots of the air table, which lie a fourth apart, is up to 7e-4 too slow. Speed: in
     * the last metre the wind falls to none, which a long step sees at four points only. */
    assert_near(worst_time, 0.0, 0.02);
    assert_near(worst_place, 0.0, 1e-3);
    assert_near(worst_speed, 0.0, 4e-3);
    rc_block_free(block);
    rc_model_free(model);
}

/* common practice, no source: a drogue comes down at 20 to 35 m/s, a main at 4 to 8 m/s; without either it is a fast one. */
static void test_descent__failures_are_told_by_the_landing(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    recovered_demo(&vehicle);
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_design design = vehicle.design;
    const struct rc_record good = support_vehicle_fly(model, &design, NULL, NULL);
    design.descent.main_works = 0.0;
    const struct rc_record drogue_only = support_vehicle_fly(model, &design, NULL, NULL);
    design.descent.drogue_works = 0.0;
    const struct rc_record ballistic = support_vehicle_fly(model, &design, NULL, NULL);
    design.descent.main_works = 1.0;
    const struct rc_record main_only = support_vehicle_fly(model, &design, NULL, NULL);
    const int speed = RC_MEASURE_landing_speed_mps, distance = RC_MEASURE_landing_distance_m;
    assert_true(good.measure[speed] > 4.0 && good.measure[speed] < 8.0);
    assert_true(good.measure[RC_MEASURE_main_speed_mps] > 20.0 && good.measure[RC_MEASURE_main_speed_mps] < 35.0);
    assert_near(drogue_only.measure[speed], good.measure[RC_MEASURE_main_speed_mps], 1.0);
    assert_true(ballistic.measure[speed] > 50.0);
    assert_true(main_only.measure[RC_MEASURE_main_speed_mps] > 2.0 * good.measure[RC_MEASURE_main_speed_mps]);
    /* The failed drogue's area is missing under the main too. */
    assert_ratio(main_only.measure[speed], good.measure[speed] * sqrt((0.04 + 0.3 + 4.5) / (0.04 + 4.5)), 5e-3);
    assert_true(ballistic.measure[RC_MEASURE_descent_s] < drogue_only.measure[RC_MEASURE_descent_s]);
    assert_true(good.measure[distance] > 0.0 && isfinite(ballistic.measure[distance]));
    /* All of them flew the same ascent. */
    assert_true(good.measure[RC_MEASURE_apogee_m] == ballistic.measure[RC_MEASURE_apogee_m]);
    rc_model_free(model);
}

/* guarantee of the project: nothing but a flight's own numbers decides how it comes down, whoever falls beside it. Flights that do not
 * come to an apogee, and those of a campaign without descent, leave the landing blank. */
static void test_descent__company_does_not_matter_and_what_does_not_fall_is_blank(void **state)
{
    (void)state;
    enum { COMPANY = 16 }; /* in blocks of as many lanes as the build has */
    struct support_vehicle vehicle;
    recovered_demo(&vehicle);
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *block = NULL;
    struct rc_error err;
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    struct rc_design designs[COMPANY];
    uint64_t flights[COMPANY];
    struct rc_record records[COMPANY], alone = {.bin = NULL};
    memset(records, 0, sizeof records);
    for (int lane = 0; lane < COMPANY; lane++) {
        designs[lane] = vehicle.design;
        flights[lane] = (uint64_t)lane;
        designs[lane].descent.main_height = 100.0 * (lane + 1);
        designs[lane].descent.drogue_works = lane % 3 == 0 ? 0.0 : 1.0;
        designs[lane].wind.speed = lane;
    }
    designs[1].vehicle.mass_loaded = designs[1].vehicle.mass_burnt = 400.0; /* never lifts off */
    designs[2].vehicle.iy_loaded = designs[2].vehicle.iy_burnt = 1e-9;      /* diverges        */
    designs[4].site.elevation = 85500.0;                                    /* leaves the air  */
    for (int first = 0; first < COMPANY; first += RC_LANES) {
        const int n = COMPANY - first < RC_LANES ? COMPANY - first : RC_LANES;
        rc_block_fly(block, &designs[first], 5, &flights[first], n, &records[first], NULL, NULL);
    }
    static const int last[] = {0, 3, 5, COMPANY - 1};
    for (size_t i = 0; i < sizeof last / sizeof last[0]; i++) {
        const int lane = last[i];
        rc_block_fly(block, &designs[lane], 5, &flights[lane], 1, &alone, NULL, NULL);
        assert_memory_equal(alone.measure, records[lane].measure, sizeof alone.measure);
        assert_true(alone.measure[RC_MEASURE_descent_s] > 10.0);
    }
    static const int blank[] = {1, 2, 4};
    for (size_t i = 0; i < sizeof blank / sizeof blank[0]; i++) {
        assert_int_not_equal(records[blank[i]].end, RC_END_APOGEE);
        for (int m = RC_MEASURE_landing_east_m; m <= RC_MEASURE_main_speed_mps; m++)
            assert_true(isnan(records[blank[i]].measure[m]));
    }
    rc_block_free(block);
    rc_model_free(model);
    vehicle.layout.has_descent = 0;
    struct rc_model *const up_only = support_vehicle_model(&vehicle, NULL, 0);
    const struct rc_record record = support_vehicle_fly(up_only, &vehicle.design, NULL, NULL);
    assert_int_equal(record.end, RC_END_APOGEE);
    for (int m = RC_MEASURE_landing_east_m; m <= RC_MEASURE_main_speed_mps; m++)
        assert_true(isnan(record.measure[m]));
    rc_model_free(up_only);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_descent__a_canopy_sinks_as_quoted),
        cmocka_unit_test(test_descent__a_huge_canopy_comes_down_too),
        cmocka_unit_test(test_descent__those_too_slow_are_foretold),
        cmocka_unit_test(test_descent__a_canopy_drifts_with_the_wind),
        cmocka_unit_test(test_descent__fall_from_rest_has_the_closed_form),
        cmocka_unit_test(test_descent__long_steps_are_as_good_as_short_ones),
        cmocka_unit_test(test_descent__failures_are_told_by_the_landing),
        cmocka_unit_test(test_descent__company_does_not_matter_and_what_does_not_fall_is_blank),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
