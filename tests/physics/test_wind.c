/* The wind profile against hand-computed power laws and against its own statement of how tables are read. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "flight/derive.h"
#include "flight/wind.h"
#include "near.h"
#include "support/reference.h"
#include "support_vehicle.h"

static const double DEGREE = 3.14159265358979323846 / 180.0;

static const struct rc_layout NO_TABLE;

/* source tests/reference/wind_profile_check.csv: (z/10)^(1/7) and IEC 61400-1's 0.2, 5 m/s at 10 m [computed] */
static void test_wind__power_law_meets_the_check_table(void **state)
{
    (void)state;
    struct reference *table = reference_open("wind_profile_check.csv");
    for (int row = 0; row < reference_rows(table); row++) {
        const double z = reference_number(table, row, "z_m");
        struct rc_wind_design wind = {.speed = 5.0, .from = 0.0, .reference_height = 10.0, .exponent = 1.0 / 7.0};
        double east, north;
        rc_wind_profile(&wind, &NO_TABLE, &z, 1, &east, &north);
        assert_near(north, -reference_number(table, row, "u_power_1_7"), 6e-6);
        assert_near(east, 0.0, 1e-12);
        wind.exponent = 0.2;
        rc_wind_profile(&wind, &NO_TABLE, &z, 1, &east, &north);
        assert_near(north, -reference_number(table, row, "u_power_0_2"), 6e-6);
    }
    reference_close(table);
}

static void test_wind__from_west_blows_east(void **state)
{
    (void)state;
    const struct rc_wind_design wind = {.speed = 8.0, .from = 270.0 * DEGREE, .reference_height = 10.0, .exponent = 0.2};
    const double z = 10.0;
    double east, north;
    rc_wind_profile(&wind, &NO_TABLE, &z, 1, &east, &north);
    assert_near(east, 8.0, 1e-12);
    assert_near(north, 0.0, 1e-12);
}

static void test_wind__ground_is_still_for_any_exponent(void **state)
{
    (void)state;
    const double z[3] = {0.0, -3.0, 1e-9};
    double east[3], north[3];
    const struct rc_wind_design wind = {.speed = 8.0, .from = 1.0, .reference_height = 10.0, .exponent = 0.0};
    rc_wind_profile(&wind, &NO_TABLE, z, 3, east, north);
    assert_near(hypot(east[0], north[0]), 0.0, 0.0);
    assert_near(hypot(east[1], north[1]), 0.0, 0.0);
    assert_near(hypot(east[2], north[2]), 8.0, 1e-12);
}

/* From 350 to 10 degrees the wind passes through north: components, not angles, are interpolated. */
static void test_wind__table_is_linear_in_components(void **state)
{
    (void)state;
    const double height[3] = {50.0, 150.0, 450.0};
    const double speed[3] = {4.0, 4.0, 10.0};
    const double from[3] = {350.0 * DEGREE, 10.0 * DEGREE, 90.0 * DEGREE};
    const struct rc_layout layout = {.wind = {.n = 3, .height = height, .speed = speed, .from = from}};
    const struct rc_wind_design wind = {.speed = 1.0, .from = 0.0};
    const double z[5] = {0.0, 50.0, 100.0, 225.0, 9000.0};
    double east[5], north[5];
    rc_wind_profile(&wind, &layout, z, 5, east, north);
    assert_near(east[0], 4.0 * sin(10.0 * DEGREE), 1e-12);
    assert_near(north[1], -4.0 * cos(10.0 * DEGREE), 1e-12);
    assert_near(east[2], 0.0, 1e-12);
    assert_near(north[2], -4.0 * cos(10.0 * DEGREE), 1e-12);
    assert_near(east[3], 0.75 * -4.0 * sin(10.0 * DEGREE) + 0.25 * -10.0, 1e-12);
    assert_near(north[3], 0.75 * -4.0 * cos(10.0 * DEGREE), 1e-12);
    assert_near(east[4], -10.0, 1e-12);
}

static void test_wind__factor_and_shift_act_on_the_table(void **state)
{
    (void)state;
    const double height[2] = {0.0, 100.0}, speed[2] = {6.0, 6.0}, from[2] = {0.0, 0.0};
    const struct rc_layout layout = {.wind = {.n = 2, .height = height, .speed = speed, .from = from}};
    const struct rc_wind_design wind = {.speed = 1.5, .from = 90.0 * DEGREE};
    const double z = 40.0;
    double east, north;
    rc_wind_profile(&wind, &layout, &z, 1, &east, &north);
    assert_near(east, -9.0, 1e-12);
    assert_near(north, 0.0, 1e-12);
}

/* by hand: speed plus draws of the table's own spread, straight in between, and never less than none */
static void test_wind__spread_of_the_table_grows_with_height(void **state)
{
    (void)state;
    const double height[2] = {0.0, 1000.0}, speed[2] = {4.0, 10.0}, from[2] = {0.0, 0.0}, spread[2] = {1.0, 5.0};
    const struct rc_layout layout = {.wind = {.n = 2, .height = height, .speed = speed, .from = from, .spread = spread}};
    const double z[3] = {0.0, 500.0, 1000.0};
    static const double wanted[3][3] = {{4.0, 7.0, 10.0}, {5.5, 11.5, 17.5}, {1.0, 0.5, 0.0}};
    static const double draw[3] = {0.0, 1.5, -3.0};
    for (int i = 0; i < 3; i++) {
        const struct rc_wind_design wind = {.speed = 1.0, .spread = draw[i]};
        double east[3], north[3];
        rc_wind_profile(&wind, &layout, z, 3, east, north);
        for (int k = 0; k < 3; k++)
            assert_near(north[k], -wanted[i][k], 1e-12);
    }
}

/* by hand: the factor comes after the spread and scales both, calm stays calm: (4 + 1.5 x 1) x 2 and (10 - 3 x 5, at least 0) x 2. The
 * flight's own table of the air, which is made for a unit wind and scaled where a flight meets it, has the same. */
static void test_wind__factor_scales_speed_and_spread(void **state)
{
    (void)state;
    const double height[2] = {0.0, 1000.0}, speed[2] = {4.0, 10.0}, from[2] = {0.0, 0.0}, spread[2] = {1.0, 5.0};
    const double z[3] = {0.0, 500.0, 1000.0};
    static const double wanted[2][3] = {{11.0, 23.0, 35.0}, {2.0, 1.0, 0.0}};
    static const double draw[2] = {1.5, -3.0};
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    vehicle.layout.wind = (struct rc_wind_points){.n = 2, .height = height, .speed = speed, .from = from, .spread = spread};
    vehicle.design.wind = (struct rc_wind_design){.speed = 1.0};
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    for (int i = 0; i < 2; i++) {
        struct rc_design design = vehicle.design;
        design.wind = (struct rc_wind_design){.speed = 2.0, .spread = draw[i]};
        double east[3], north[3];
        rc_wind_profile(&design.wind, &vehicle.layout, z, 3, east, north);
        struct rc_block *const block = support_vehicle_block(model, &design);
        for (int k = 0; k < 3; k++) {
            assert_near(north[k], -wanted[i][k], 1e-12);
            rc_lane at;
            for (int lane = 0; lane < RC_LANES; lane++)
                at[lane] = z[k];
            rc_derive_fetch_air(block, at);
            const double dz = z[k] - block->v.air_cell.knot[0];
            assert_near(block->v.air[RC_AIR_NORTH][0] + dz * block->v.air[RC_AIR_NORTH_1][0], -wanted[i][k], 1e-9);
            assert_near(block->v.air[RC_AIR_EAST][0] + dz * block->v.air[RC_AIR_EAST_1][0], 0.0, 1e-9);
        }
        rc_block_free(block);
    }
    rc_model_free(model);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_wind__power_law_meets_the_check_table),
        cmocka_unit_test(test_wind__from_west_blows_east),
        cmocka_unit_test(test_wind__ground_is_still_for_any_exponent),
        cmocka_unit_test(test_wind__table_is_linear_in_components),
        cmocka_unit_test(test_wind__factor_and_shift_act_on_the_table),
        cmocka_unit_test(test_wind__spread_of_the_table_grows_with_height),
        cmocka_unit_test(test_wind__factor_scales_speed_and_spread),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
