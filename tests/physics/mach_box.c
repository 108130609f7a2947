/* Supersonic linear theory by boxes along the Mach lines: phi = -(1/2pi) sum of w over sqrt((u - u')(v - v')), u = x/beta - y,
 * v = x/beta + y. The kernel is a product, so each row of boxes needs the inner sum only once. */
#include "mach_box.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct grid {
    const struct rc_fin_set *set;
    double beta, start, cell, end;
    int n;
    double *kernel, *inner, *potential; /* (n), (n x n), (n x n) */
};

static double place(const struct grid *grid, int index)
{
    return grid->start + (index + 0.5) * grid->cell;
}

/* Is the box's centre on the planform or its image? */
static int is_on_wing(const struct grid *grid, double x, double y)
{
    return fabs(y) <= grid->set->span && x * grid->beta >= grid->set->sweep * fabs(y) / grid->set->span;
}

static void solve_row(struct grid *grid, int i, int is_rolling, double *upstream, double *w)
{
    const int n = grid->n;
    const double *k = grid->kernel;
    for (int j = 0; j < n; j++) {
        upstream[j] = 0.0;
        w[j] = 0.0;
        for (int row = 0; row < i; row++)
            upstream[j] += k[i - row] * grid->inner[row * n + j];
    }
    for (int j = 0; j < n; j++) {
        const double u = place(grid, i), v = place(grid, j), x = 0.5 * (u + v), y = 0.5 * (v - u);
        double sum = 0.0;
        for (int left = 0; left < j; left++)
            sum += k[j - left] * w[left];
        if (x <= grid->end)
            w[j] = is_on_wing(grid, x, y) ? (is_rolling ? grid->set->root_radius + fabs(y) : 1.0)
                                          : (-upstream[j] / k[0] - sum) / k[0];
        grid->inner[i * n + j] = sum + k[0] * w[j];
        grid->potential[i * n + j] = (upstream[j] + k[0] * grid->inner[i * n + j]) / (2.0 * 3.14159265358979323846);
    }
}

/* Potential at a place, linear between the boxes' centres. */
static double potential_at(const struct grid *grid, double x, double y)
{
    const double u = (x - y - grid->start) / grid->cell - 0.5, v = (x + y - grid->start) / grid->cell - 0.5;
    const int i = (int)fmin(fmax(floor(u), 0.0), grid->n - 2.0), j = (int)fmin(fmax(floor(v), 0.0), grid->n - 2.0);
    const double *p = &grid->potential[i * grid->n + j];
    const double fu = u - i, fv = v - j;
    return (1.0 - fu) * ((1.0 - fv) * p[0] + fv * p[1]) + fu * ((1.0 - fv) * p[grid->n] + fv * p[grid->n + 1]);
}

static void solve(struct grid *grid, int is_rolling, double *load, double *moment)
{
    double *work = malloc(2 * (size_t)grid->n * sizeof *work);
    for (int i = 0; i < grid->n; i++)
        solve_row(grid, i, is_rolling, work, work + grid->n);
    free(work);
    enum { STRIPS = 300 };
    const struct rc_fin_set *set = grid->set;
    *load = *moment = 0.0;
    for (int strip = 0; strip < STRIPS; strip++) {
        const double f = (strip + 0.5) / STRIPS;
        const double edge = set->root_chord + (set->sweep + set->tip_chord - set->root_chord) * f;
        const double part = 4.0 * potential_at(grid, edge / grid->beta, f * set->span) * set->span / STRIPS;
        *load += part;
        *moment += part * (set->root_radius + f * set->span);
    }
}

struct mach_box mach_box_solve(const struct rc_fin_set *set, double mach, int n)
{
    struct grid grid = {.set = set, .beta = sqrt(mach * mach - 1.0), .n = n};
    const double end = fmax(set->root_chord, set->sweep + set->tip_chord) / grid.beta;
    grid.start = fmin(0.0, set->sweep / grid.beta - set->span);
    grid.end = 1.02 * end;
    grid.cell = (end + set->span - grid.start) / n;
    grid.kernel = malloc((size_t)n * sizeof(double));
    grid.inner = calloc((size_t)n * (size_t)n, sizeof(double));
    grid.potential = calloc((size_t)n * (size_t)n, sizeof(double));
    for (int k = 0; k < n; k++)
        grid.kernel[k] = 2.0 * sqrt(grid.cell) * (k == 0 ? sqrt(0.5) : sqrt(k + 0.5) - sqrt(k - 0.5));
    struct mach_box box;
    double spare;
    solve(&grid, 0, &box.lift, &box.first);
    solve(&grid, 1, &spare, &box.second);
    free(grid.kernel);
    free(grid.inner);
    free(grid.potential);
    return box;
}
