/* Thrust table: exact impulse between rows, and the moment of lift-off. */
#include "motor.h"

#include <math.h>
#include <stdlib.h>

#include "base/base.h"

void rc_motor_table_free(struct rc_motor_table *table)
{
    rc_table_grid_free(&table->grid);
    free(table->c);
    *table = (struct rc_motor_table){ 0 };
}

rc_status rc_motor_table_create(struct rc_motor_table *table, const struct rc_thrust_points *points, struct rc_error *err)
{
    const int n = points->n;
    struct rc_motor_table made = { 0 };
    rc_status status = rc_table_grid_create(&made.grid, points->time, n, err);
    if (status != RC_OK)
        return status;
    made.c = malloc((size_t)n * RC_MOTOR_COEFFICIENTS * sizeof *made.c);
    if (made.c == NULL) {
        rc_motor_table_free(&made);
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a thrust table of %d rows", n);
    }
    double impulse = 0.0;
    for (int row = 0; row < n; row++) {
        double *const c = made.c + row * RC_MOTOR_COEFFICIENTS;
        const int is_last = row == n - 1;
        const double width = is_last ? 0.0 : points->time[row + 1] - points->time[row];
        const double rise = is_last ? 0.0 : points->thrust[row + 1] - points->thrust[row];
        c[0] = impulse;
        c[1] = is_last ? 0.0 : points->thrust[row];
        c[2] = is_last ? 0.0 : 0.5 * rise / width;
        impulse += is_last ? 0.0 : 0.5 * width * (points->thrust[row] + points->thrust[row + 1]);
    }
    if (!(impulse > 0.0)) {
        rc_motor_table_free(&made);
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "the thrust table has no impulse: give at least one positive thrust");
    }
    made.total_impulse = impulse;
    made.end = points->time[n - 1];
    *table = made;
    return RC_OK;
}

void rc_motor_at(const struct rc_motor_table *table, double table_time, double *thrust, double *impulse)
{
    if (table_time < table->grid.knot[0]) {
        *thrust = *impulse = 0.0;
        return;
    }
    const int cell = rc_table_cell(&table->grid, table_time);
    const double *const c = table->c + cell * RC_MOTOR_COEFFICIENTS;
    const double ds = table_time - table->grid.knot[cell];
    *thrust = c[1] + 2.0 * c[2] * ds;
    *impulse = c[0] + ds * (c[1] + ds * c[2]);
}

/* Thrust along the rail less weight along it [N]. in sine  of the rail's elevation */
static double surplus(const struct rc_motor_table *table, const struct rc_design *design, double sine, double table_time)
{
    double thrust = 0.0;
    double impulse = 0.0;
    rc_motor_at(table, table_time, &thrust, &impulse);
    const double burnt = impulse / table->total_impulse;
    const double mass = design->vehicle.mass_loaded + burnt * (design->vehicle.mass_burnt - design->vehicle.mass_loaded);
    const double scale = design->motor.impulse_factor / design->motor.burn_time_factor;
    return thrust * scale - mass * 9.80665 * sine;
}

double rc_motor_liftoff(const struct rc_motor_table *table, const struct rc_design *design)
{
    const struct rc_grid *const grid = &table->grid;
    const double sine = sin(design->site.rail_elevation);
    if (surplus(table, design, sine, grid->knot[0]) > 0.0)
        return grid->knot[0];
    for (int row = 0; row + 1 < grid->n_knots; row++) {
        double low = grid->knot[row];
        /* Just before the row, so that a table that ends with thrust still counts its last rise. */
        double high = nextafter(grid->knot[row + 1], low);
        if (surplus(table, design, sine, high) <= 0.0)
            continue;
        for (int halving = 0; halving < 60; halving++) {
            const double middle = 0.5 * (low + high);
            if (surplus(table, design, sine, middle) > 0.0)
                high = middle;
            else
                low = middle;
        }
        return high;
    }
    return -1.0;
}
