/* Grids of rising knots with equal-width buckets over them. */
#include "table.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"

/* Buckets per knot: a few make the walk inside a bucket short without much memory. */
enum { BUCKETS_PER_KNOT = 4 };

static void grid_fill_buckets(struct rc_grid *grid)
{
    int cell = 0;
    for (int bucket = 0; bucket < grid->n_buckets; bucket++) {
        const double start = grid->knot[0] + bucket * grid->bucket_width;
        while (cell + 1 < grid->n_knots && grid->knot[cell + 1] <= start)
            cell++;
        /* One cell early is harmless, one late is not: rounding may put a value just before the bucket it is counted in. */
        grid->first_cell[bucket] = cell > 0 ? cell - 1 : 0;
    }
}

rc_status rc_table_grid_create(struct rc_grid *grid, const double *knot, int n, struct rc_error *err)
{
    if (n < 1)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "a table needs at least one row");
    for (int i = 0; i < n; i++)
        if (!isfinite(knot[i]) || (i > 0 && knot[i] <= knot[i - 1]))
            return rc_error_fill(err, RC_BAD_INPUT, NULL, "row %d of a table does not rise above the one before (%g)", i + 1,
                                 knot[i]);
    const int n_buckets = BUCKETS_PER_KNOT * n;
    double *copy = malloc((size_t)n * sizeof *copy);
    int *first = malloc((size_t)n_buckets * sizeof *first);
    if (copy == NULL || first == NULL) {
        free(copy);
        free(first);
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a table of %d rows", n);
    }
    memcpy(copy, knot, (size_t)n * sizeof *copy);
    const double span = n > 1 ? copy[n - 1] - copy[0] : 1.0;
    *grid = (struct rc_grid){ .n_knots = n, .n_buckets = n_buckets, .knot = copy, .first_cell = first };
    grid->bucket_width = span / n_buckets;
    grid_fill_buckets(grid);
    return RC_OK;
}

void rc_table_grid_free(struct rc_grid *grid)
{
    free(grid->knot);
    free(grid->first_cell);
    *grid = (struct rc_grid){ 0 };
}
