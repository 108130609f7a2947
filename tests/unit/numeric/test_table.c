/* Grids of knots: the cell of any value against a plain search over the knots, done here. */
#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "base/base.h"
#include "numeric/table.h"

/* The last cell whose knot is not above x; 0 below the first. */
static int searched_cell(const double *knot, int n, double x)
{
    int cell = 0;
    for (int i = 1; i < n; i++)
        if (x >= knot[i])
            cell = i;
    return cell;
}

/* Right at, just below, just above and far from every knot, and in between. */
static void check_grid(const double *knot, int n)
{
    struct rc_grid grid = { 0 };
    struct rc_error err;
    assert_int_equal(rc_table_grid_create(&grid, knot, n, &err), RC_OK);
    for (int i = 0; i < n; i++) {
        const double near[] = { nextafter(knot[i], -INFINITY), knot[i], nextafter(knot[i], INFINITY) };
        for (int side = 0; side < 3; side++)
            assert_int_equal(rc_table_cell(&grid, near[side]), searched_cell(knot, n, near[side]));
        assert_int_equal(rc_table_cell(&grid, knot[i]), i);
        for (int part = 1; part < 16 && i + 1 < n; part++) {
            const double x = knot[i] + (knot[i + 1] - knot[i]) * part / 16.0;
            assert_int_equal(rc_table_cell(&grid, x), searched_cell(knot, n, x));
        }
    }
    assert_int_equal(rc_table_cell(&grid, -DBL_MAX), 0);
    assert_int_equal(rc_table_cell(&grid, DBL_MAX), searched_cell(knot, n, DBL_MAX));
    assert_int_equal(rc_table_cell(&grid, -INFINITY), 0);
    assert_int_equal(rc_table_cell(&grid, INFINITY), n - 1);
    assert_int_equal(rc_table_cell(&grid, NAN), 0);
    rc_table_grid_free(&grid);
    assert_null(grid.knot);
    assert_null(grid.first_cell);
}

static void test_table__cells_are_those_of_a_plain_search(void **state)
{
    (void)state;
    static const double even[] = { 0.0, 1.0, 2.0, 3.0, 4.0 };
    static const double uneven[] = { -3.0, -2.999, 0.0, 0.1, 0.1000001, 7.0, 1000.0 };
    static const double crowded[] = { 0.0, 1e-300, 1e-200, 1e-15, 1.0 };
    static const double far_off[] = { 1e15, 1e15 + 1.0, 1e15 + 2.0, 1e15 + 1000.0 };
    static const double one[] = { 0.3 };
    static const double two[] = { 0.0, DBL_TRUE_MIN };
    static const double vast[] = { -DBL_MAX, 0.0, DBL_MAX };
    check_grid(even, 5);
    check_grid(uneven, 7);
    check_grid(crowded, 5);
    check_grid(far_off, 4);
    check_grid(one, 1);
    check_grid(two, 2);
    check_grid(vast, 3);
}

static void test_table__cells_of_many_random_grids_are_right(void **state)
{
    (void)state;
    enum { MOST = 200 };
    double knot[MOST];
    uint64_t row = 3;
    for (int grid = 0; grid < 200; grid++) {
        const int n = 1 + grid % MOST;
        double at = -5.0;
        for (int i = 0; i < n; i++) {
            row = row * 6364136223846793005ULL + 1442695040888963407ULL;
            /* steps over nine orders of magnitude */
            at += pow(10.0, -6.0 + 9.0 * (double)(row >> 11) * 0x1p-53);
            knot[i] = at;
        }
        check_grid(knot, n);
    }
}

static void test_table__knots_that_do_not_rise_are_refused(void **state)
{
    (void)state;
    static const double twice[] = { 0.0, 1.0, 1.0, 2.0 };
    static const double falls[] = { 0.0, 2.0, 1.0 };
    static const double broken[] = { 0.0, NAN, 1.0 };
    static const double endless[] = { 0.0, 1.0, INFINITY };
    static const double first[] = { NAN };
    static const struct {
        const double *knot;
        int n;
    } cases[] = { { twice, 4 }, { falls, 3 }, { broken, 3 }, { endless, 3 }, { first, 1 }, { twice, 0 }, { twice, -1 } };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct rc_grid grid = { 0 };
        struct rc_error err = { 0 };
        assert_int_equal(rc_table_grid_create(&grid, cases[i].knot, cases[i].n, &err), RC_BAD_INPUT);
        assert_null(grid.knot);
        assert_null(grid.first_cell);
        rc_table_grid_free(&grid);
    }
}

/* The grid keeps its own copy of the knots. */
static void test_table__grid_outlives_the_knots_it_was_made_from(void **state)
{
    (void)state;
    double *knot = malloc(3 * sizeof *knot);
    assert_non_null(knot);
    knot[0] = 1.0;
    knot[1] = 2.0;
    knot[2] = 4.0;
    struct rc_grid grid = { 0 };
    struct rc_error err;
    assert_int_equal(rc_table_grid_create(&grid, knot, 3, &err), RC_OK);
    knot[1] = 100.0;
    free(knot);
    assert_int_equal(rc_table_cell(&grid, 2.5), 1);
    rc_table_grid_free(&grid);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_table__cells_are_those_of_a_plain_search),
        cmocka_unit_test(test_table__cells_of_many_random_grids_are_right),
        cmocka_unit_test(test_table__knots_that_do_not_rise_are_refused),
        cmocka_unit_test(test_table__grid_outlives_the_knots_it_was_made_from),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
