/* The thrust table: impulse exact at and between its rows, lift-off where thrust along the rail first exceeds weight along it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "base/base.h"
#include "flight/motor.h"
#include "near.h"

static const double TIME[6] = {0.2, 0.25, 0.5, 1.5, 2.0, 2.0 + 1.0 / 3.0};
static const double THRUST[6] = {0.0, 900.0, 1200.0, 1000.0, 300.0, 0.0};

static struct rc_motor_table table_of(int n, const double *time, const double *thrust)
{
    struct rc_motor_table table = {.c = NULL};
    struct rc_error err;
    const struct rc_thrust_points points = {.n = n, .time = time, .thrust = thrust};
    assert_int_equal(rc_motor_table_create(&table, &points, &err), RC_OK);
    return table;
}

/* closed form: trapezia between rows; thrust is the derivative of impulse, inside cells and on both sides of every kink */
static void test_motor__impulse_is_exact_at_rows_and_between(void **state)
{
    (void)state;
    struct rc_motor_table table = table_of(6, TIME, THRUST);
    double thrust, impulse, area = 0.0;
    for (int row = 0; row < 6; row++) {
        area += row > 0 ? 0.5 * (THRUST[row] + THRUST[row - 1]) * (TIME[row] - TIME[row - 1]) : 0.0;
        rc_motor_at(&table, TIME[row], &thrust, &impulse);
        assert_near(impulse, area, 1e-12 * 2000.0);
        assert_near(thrust, THRUST[row], 1e-9);
    }
    assert_ratio(table.total_impulse, area, 1e-15);
    for (int row = 0; row + 1 < 6; row++) {
        const double width = TIME[row + 1] - TIME[row], at = TIME[row] + 0.3 * width;
        double before, after, none;
        rc_motor_at(&table, at, &thrust, &impulse);
        rc_motor_at(&table, at - 0.01 * width, &none, &before);
        rc_motor_at(&table, at + 0.01 * width, &none, &after);
        assert_ratio(thrust, THRUST[row] + 0.3 * (THRUST[row + 1] - THRUST[row]), 1e-12);
        assert_ratio((after - before) / (0.02 * width), thrust, 1e-10); /* central difference of a parabola is exact */
    }
    rc_motor_table_free(&table);
}

static void test_motor__nothing_comes_before_the_first_row_or_after_the_last(void **state)
{
    (void)state;
    static const double time[2] = {1.0, 2.0}, thrust[2] = {500.0, 500.0}; /* starts and ends with a jump */
    struct rc_motor_table table = table_of(2, time, thrust);
    double at, impulse;
    rc_motor_at(&table, 0.999, &at, &impulse);
    assert_true(at == 0.0 && impulse == 0.0);
    rc_motor_at(&table, 2.0, &at, &impulse);
    assert_true(at == 0.0 && impulse == 500.0);
    rc_motor_at(&table, 1e6, &at, &impulse);
    assert_true(at == 0.0 && impulse == 500.0);
    rc_motor_table_free(&table);
}

/* closed form: thrust rises by 18 kN/s from 0.2 s on, mass is constant */
static void test_motor__lift_off_is_where_thrust_meets_weight(void **state)
{
    (void)state;
    struct rc_motor_table table = table_of(6, TIME, THRUST);
    struct rc_design design = {.vehicle = {.mass_loaded = 15.0, .mass_burnt = 15.0},
                               .motor = {.impulse_factor = 1.0, .burn_time_factor = 1.0},
                               .site = {.rail_elevation = 1.4}};
    const double weight = 15.0 * 9.80665 * sin(1.4);
    assert_near(rc_motor_liftoff(&table, &design), 0.2 + weight / 18000.0, 1e-12);
    /* Half the impulse in the same time: half the thrust. */
    design.motor.impulse_factor = 0.5;
    assert_near(rc_motor_liftoff(&table, &design), 0.2 + 2.0 * weight / 18000.0, 1e-12);
    /* The same impulse in twice the time: half the thrust; the answer is in table time. */
    design.motor = (struct rc_motor_design){.impulse_factor = 1.0, .burn_time_factor = 2.0};
    assert_near(rc_motor_liftoff(&table, &design), 0.2 + 2.0 * weight / 18000.0, 1e-12);
    design.vehicle.mass_loaded = design.vehicle.mass_burnt = 200.0;
    assert_true(rc_motor_liftoff(&table, &design) < 0.0);
    rc_motor_table_free(&table);
}

static void test_motor__tables_without_sense_are_refused(void **state)
{
    (void)state;
    static const double falling[2] = {1.0, 0.5}, rising[2] = {0.5, 1.0}, some[2] = {10.0, 10.0}, none[2] = {0.0, 0.0};
    const struct rc_thrust_points bad[2] = {{.n = 2, .time = falling, .thrust = some}, {.n = 2, .time = rising, .thrust = none}};
    for (int i = 0; i < 2; i++) {
        struct rc_motor_table table = {.c = NULL};
        struct rc_error err;
        assert_int_equal(rc_motor_table_create(&table, &bad[i], &err), RC_BAD_INPUT);
        assert_null(table.c);
        assert_true(err.what[0] != '\0');
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_motor__impulse_is_exact_at_rows_and_between),
        cmocka_unit_test(test_motor__nothing_comes_before_the_first_row_or_after_the_last),
        cmocka_unit_test(test_motor__lift_off_is_where_thrust_meets_weight),
        cmocka_unit_test(test_motor__tables_without_sense_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
