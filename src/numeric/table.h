/* Tables on rising knots: cells found through equal-width buckets, values as polynomials inside a cell. Lanes keep the cell
 * they are in and fetch coefficients again only after leaving it: fetching, not arithmetic, is what look-ups cost. */
#ifndef RC_TABLE_H
#define RC_TABLE_H

#include "rollcast/status.h"

/* Knots with a quick way to the cell of a value. Cell i spans [knot[i], knot[i+1]); the last cell holds from the last knot on. */
struct rc_grid {
    int n_knots;
    int n_buckets;
    double bucket_width;
    double *knot;      /* (n_knots) strictly rising     */
    int *first_cell;   /* (n_buckets) cell at its start */
};

/* Make a grid.
 * out  grid   zero-initialised by the caller; release with rc_table_grid_free
 * in   knot   (n) strictly rising, finite
 * ends RC_BAD_INPUT (not rising), RC_NO_MEMORY */
rc_status rc_table_grid_create(struct rc_grid *grid, const double *knot, int n, struct rc_error *err) RC_MUST_CHECK;

/* Release. */
void rc_table_grid_free(struct rc_grid *grid);

/* The cell of a value: 0 .. n_knots-1; below the first knot 0, NAN gives 0. */
static inline int rc_table_cell(const struct rc_grid *grid, double x)
{
    const double position = (x - grid->knot[0]) / grid->bucket_width;
    const int bucket = position >= grid->n_buckets ? grid->n_buckets - 1 : (position > 0.0 ? (int)position : 0);
    int cell = grid->first_cell[bucket];
    while (cell + 1 < grid->n_knots && x >= grid->knot[cell + 1])
        cell++;
    return cell;
}

#endif
