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

/* Which incidence the panel has: the same everywhere, the distance from the body's axis, the distance behind the root's leading edge. */
enum incidence { UNIFORM, ROLLING, PITCHING };

static double incidence_at(const struct grid *grid, enum incidence incidence, double x, double y)
{
    if (incidence == UNIFORM)
        return 1.0;
    return incidence == ROLLING ? grid->set->root_radius + fabs(y) : x * grid->beta;
}

static void solve_row(struct grid *grid, int i, enum incidence incidence, double *upstream, double *w)
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
            w[j] = is_on_wing(grid, x, y) ? incidence_at(grid, incidence, x, y) : (-upstream[j] / k[0] - sum) / k[0];
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

static void solve_all(struct grid *grid, enum incidence incidence)
{
    double *work = malloc(2 * (size_t)grid->n * sizeof *work);
    for (int i = 0; i < grid->n; i++)
        solve_row(grid, i, incidence, work, work + grid->n);
    free(work);
}

enum { STRIPS = 300, ALONG = 200 };

static double trailing_edge(const struct rc_fin_set *set, double f)
{
    return set->root_chord + (set->sweep + set->tip_chord - set->root_chord) * f;
}

static void solve(struct grid *grid, enum incidence incidence, double *load, double *moment)
{
    solve_all(grid, incidence);
    const struct rc_fin_set *set = grid->set;
    *load = *moment = 0.0;
    for (int strip = 0; strip < STRIPS; strip++) {
        const double f = (strip + 0.5) / STRIPS;
        const double part = 4.0 * potential_at(grid, trailing_edge(set, f) / grid->beta, f * set->span) * set->span / STRIPS;
        *load += part;
        *moment += part * (set->root_radius + f * set->span);
    }
}

static void open_grid(struct grid *grid, const struct rc_fin_set *set, double mach, int n)
{
    *grid = (struct grid){.set = set, .beta = sqrt(mach * mach - 1.0), .n = n};
    const double end = fmax(set->root_chord, set->sweep + set->tip_chord) / grid->beta;
    grid->start = fmin(0.0, set->sweep / grid->beta - set->span);
    grid->end = 1.02 * end;
    grid->cell = (end + set->span - grid->start) / n;
    grid->kernel = malloc((size_t)n * sizeof(double));
    grid->inner = calloc((size_t)n * (size_t)n, sizeof(double));
    grid->potential = calloc((size_t)n * (size_t)n, sizeof(double));
    for (int k = 0; k < n; k++)
        grid->kernel[k] = 2.0 * sqrt(grid->cell) * (k == 0 ? sqrt(0.5) : sqrt(k + 0.5) - sqrt(k - 0.5));
}

static void close_grid(struct grid *grid)
{
    free(grid->kernel);
    free(grid->inner);
    free(grid->potential);
}

struct mach_box mach_box_solve(const struct rc_fin_set *set, double mach, int n)
{
    struct grid grid;
    struct mach_box box;
    double spare;
    open_grid(&grid, set, mach, n);
    solve(&grid, UNIFORM, &box.lift, &box.first);
    solve(&grid, ROLLING, &spare, &box.second);
    close_grid(&grid);
    return box;
}

/* Along the strips: the potential at the trailing edge, and its integrals from the leading edge, plain and times x. */
struct strip_sums {
    double at_end, at_end_x, at_end_xx;   /* sums over the span of phi, x phi, x^2 phi there */
    double along, along_x;                /* of the integrals of phi and x phi               */
};

static struct strip_sums sum_strips(const struct grid *grid)
{
    const struct rc_fin_set *set = grid->set;
    struct strip_sums sums = {0.0, 0.0, 0.0, 0.0, 0.0};
    for (int strip = 0; strip < STRIPS; strip++) {
        const double f = (strip + 0.5) / STRIPS, y = f * set->span, width = set->span / STRIPS;
        const double from = set->sweep * f, to = trailing_edge(set, f), step = (to - from) / ALONG;
        const double end = width * potential_at(grid, to / grid->beta, y);
        sums.at_end += end;
        sums.at_end_x += to * end;
        sums.at_end_xx += to * to * end;
        for (int i = 0; i < ALONG; i++) {
            const double x = from + (i + 0.5) * step, here = width * step * potential_at(grid, x / grid->beta, y);
            sums.along += here;
            sums.along_x += x * here;
        }
    }
    return sums;
}

struct mach_box_pitch mach_box_pitching(const struct rc_fin_set *set, double mach, int n)
{
    struct grid grid;
    open_grid(&grid, set, mach, n);
    solve_all(&grid, UNIFORM);
    const struct strip_sums one = sum_strips(&grid);
    solve_all(&grid, PITCHING);
    const struct strip_sums turned = sum_strips(&grid);
    close_grid(&grid);
    /* force 4 phi at the trailing edge; moment 4 (x phi there - integral of phi) */
    const double k = mach * mach / (mach * mach - 1.0);
    return (struct mach_box_pitch){
        .lift = 4.0 * one.at_end,
        .moment = 4.0 * (one.at_end_x - one.along),
        .lift_rate = 4.0 * turned.at_end,
        .moment_rate = 4.0 * (turned.at_end_x - turned.along),
        .lift_grow = 4.0 * (k * (turned.at_end - one.at_end_x) + one.along),
        .moment_grow = 4.0 * (k * (turned.at_end_x - one.at_end_xx - turned.along + one.along_x) + one.along_x),
    };
}
