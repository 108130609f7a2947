/* Facts of the trade about spinning vehicles of the 100 mm class, flown with the demo vehicle. Common practice, no source: ranges
 * that those who fly such vehicles give, so that a model that is off by a factor cannot pass for one that is right. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "numeric/lane_math.h"
#include "support_vehicle.h"

/* Fail unless low <= value <= high. */
static void assert_range(const char *what, double value, double low, double high)
{
    print_message("%s: %.4g (wanted %g to %g)\n", what, value, low, high);
    if (!(value >= low && value <= high))
        fail_msg("%s: %.6g is not in %g to %g", what, value, low, high);
}

/* The demo vehicle with this mean deflection of its fins, drive standing. */
static struct rc_record fly_deflected(double deflection)
{
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    support_vehicle_lock(&vehicle);
    vehicle.design.vehicle.fins[0].cant = deflection;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    const struct rc_record record = support_vehicle_fly(model, &vehicle.design, NULL, NULL);
    assert_int_equal(record.end, RC_END_APOGEE);
    rc_model_free(model);
    return record;
}

static void test_trade_facts__a_tenth_of_a_degree_rolls_several_hundred_degrees_a_second(void **state)
{
    (void)state;
    const struct rc_record record = fly_deflected(0.1 * RC_DEGREE);
    assert_range("greatest Mach number", record.measure[RC_MEASURE_mach_max], 1.0, 2.0);
    assert_range("roll peak at 0.1 degree mean misalignment [deg/s]", record.measure[RC_MEASURE_roll_peak_dps], 300.0, 1000.0);
}

/* Spin-stabilised vehicles turn 5 to 10 times a second, and their builders cant the fins by some tenths of a degree. */
static void test_trade_facts__some_tenths_of_a_degree_of_cant_stabilise_by_spin(void **state)
{
    (void)state;
    double cant[2];
    for (int i = 0; i < 2; i++) {
        const double wanted = i == 0 ? 5.0 : 10.0;
        double low = 0.05, high = 2.0; /* [deg] */
        for (int halving = 0; halving < 10; halving++) {
            const double middle = 0.5 * (low + high);
            const double turns = fly_deflected(middle * RC_DEGREE).measure[RC_MEASURE_roll_peak_dps] / 360.0;
            if (turns < wanted)
                low = middle;
            else
                high = middle;
        }
        cant[i] = 0.5 * (low + high);
    }
    assert_range("cant for 5 turns a second [deg]", cant[0], 0.2, 0.9);
    assert_range("cant for 10 turns a second [deg]", cant[1], 0.2, 0.9);
}

static void test_trade_facts__near_apogee_the_roll_falls_below_the_drives_floor(void **state)
{
    (void)state;
    const struct rc_record record = fly_deflected(0.04 * RC_DEGREE);
    assert_range("roll peak at 0.04 degree [deg/s]", record.measure[RC_MEASURE_roll_peak_dps], 100.0, 1000.0);
    assert_range("roll at apogee [deg/s]", fabs(record.measure[RC_MEASURE_roll_apogee_dps]), 0.0, 40.0);
    assert_range("time below 40 deg/s [s]", record.measure[RC_MEASURE_below_floor_s], 1.0, record.measure[RC_MEASURE_ascent_s]);
}

/* The motor is throttled until the greatest Mach number is 1.2; what is asked is the apogee. */
static void test_trade_facts__mach_one_point_two_reaches_four_kilometres(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    support_vehicle_lock(&vehicle);
    double low = 0.6, high = 1.3, apogee = NAN, mach = NAN;
    for (int halving = 0; halving < 12; halving++) {
        const double middle = 0.5 * (low + high);
        vehicle.design.motor.impulse_factor = middle;
        struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
        const struct rc_record record = support_vehicle_fly(model, &vehicle.design, NULL, NULL);
        rc_model_free(model);
        assert_int_equal(record.end, RC_END_APOGEE);
        mach = record.measure[RC_MEASURE_mach_max];
        apogee = record.measure[RC_MEASURE_apogee_m];
        if (mach < 1.2)
            low = middle;
        else
            high = middle;
    }
    assert_range("greatest Mach number", mach, 1.199, 1.201);
    print_message("with %.3f of the motor's impulse\n", vehicle.design.motor.impulse_factor);
    assert_range("apogee of a vehicle that peaks at Mach 1.2 [m]", apogee, 4000.0, 4300.0);
}

/* Small tabs, tilted 5 degrees, on a vehicle that already rolls by its fins. */
static void test_trade_facts__tabs_tilted_five_degrees_raise_the_roll_moderately(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    support_vehicle_lock(&vehicle);
    vehicle.design.vehicle.fins[0].cant = 0.1 * RC_DEGREE;
    vehicle.layout.n_fin_sets = 2;
    vehicle.layout.n_fins[1] = 4;
    vehicle.design.vehicle.fins[1] = (struct rc_fin_set){
        .root_chord = 0.02, .tip_chord = 0.02, .span = 0.012, .thickness = 0.002, .station = 1.9, .root_radius = 0.049,
    };
    double roll[2];
    for (int tilted = 0; tilted < 2; tilted++) {
        vehicle.design.vehicle.fins[1].cant = tilted * 5.0 * RC_DEGREE;
        struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
        const struct rc_record record = support_vehicle_fly(model, &vehicle.design, NULL, NULL);
        assert_int_equal(record.end, RC_END_APOGEE);
        roll[tilted] = record.measure[RC_MEASURE_roll_peak_dps];
        rc_model_free(model);
    }
    print_message("roll peak %.1f deg/s, with tabs tilted 5 degrees %.1f deg/s\n", roll[0], roll[1]);
    assert_range("roll with tilted tabs over roll without", roll[1] / roll[0], 1.05, 3.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_trade_facts__a_tenth_of_a_degree_rolls_several_hundred_degrees_a_second),
        cmocka_unit_test(test_trade_facts__some_tenths_of_a_degree_of_cant_stabilise_by_spin),
        cmocka_unit_test(test_trade_facts__near_apogee_the_roll_falls_below_the_drives_floor),
        cmocka_unit_test(test_trade_facts__mach_one_point_two_reaches_four_kilometres),
        cmocka_unit_test(test_trade_facts__tabs_tilted_five_degrees_raise_the_roll_moderately),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
