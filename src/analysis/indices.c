/* Shares of variance from the paired design. Sums over groups of rows are all that is kept; estimates and resamples come from
 * them. Symbols: a, b the outcomes of A and B less the centre, c that of A with one quantity from B. */
#include "indices.h"

#include <math.h>
#include <stdlib.h>

#include "numeric/numeric.h"
#include "running.h"
#include "student.h"

enum { GROUPS = 32, RESAMPLES = 200 };
static const double least_move = 0.05;

/* Sums of one quantity. */
struct alone {
    double first;              /* b (c - a)   */
    double drift;              /* c - a       */
    double total;              /* (a - c)^2   */
    double moves, size, effect, square;   /* of elementary effects */
};

/* Sums over the rows of a group. */
struct whole {
    double n, sum, square;     /* rows; of a and b */
};

struct rc_indices {
    struct rc_indices_options options;
    int n_pairs;
    int64_t n_rows, n_lost;
    double centre;
    struct whole whole[GROUPS];
    struct alone *alone;       /* (GROUPS x n) */
    double *pair;              /* (GROUPS x n_pairs) squared differences of the two c */
};

rc_status rc_indices_create(struct rc_indices **indices, const struct rc_indices_options *options, struct rc_error *err)
{
    struct rc_indices *made = calloc(1, sizeof *made);
    const size_t n = (size_t)options->n_quantities;
    if (made) {
        made->options = *options;
        made->n_pairs = (int)(n * (n - 1) / 2);
        made->alone = calloc(GROUPS * n + 1, sizeof *made->alone);
        made->pair = calloc((size_t)GROUPS * (size_t)made->n_pairs + 1, sizeof *made->pair);
    }
    if (!made || !made->alone || !made->pair) {
        rc_indices_free(made);
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the shares of %d quantities", options->n_quantities);
    }
    *indices = made;
    return RC_OK;
}

void rc_indices_free(struct rc_indices *indices)
{
    if (!indices)
        return;
    free(indices->alone);
    free(indices->pair);
    free(indices);
}

static void add_effect(struct alone *alone, double change, double moved)
{
    if (fabs(moved) < least_move)
        return;
    const double effect = change / moved;
    alone->moves += 1.0;
    alone->size += fabs(effect);
    alone->effect += effect;
    alone->square += effect * effect;
}

void rc_indices_add(struct rc_indices *indices, const double *outcome, const double *moved)
{
    const int n = indices->options.n_quantities;
    for (int place = 0; place < n + 2; place++) {
        if (!isfinite(outcome[place])) {
            indices->n_lost++;
            return;
        }
    }
    if (indices->n_rows == 0)
        indices->centre = 0.5 * (outcome[0] + outcome[1]);
    const int group = (int)(indices->n_rows++ % GROUPS);
    const double a = outcome[0] - indices->centre;
    const double b = outcome[1] - indices->centre;
    struct alone *alone = indices->alone + (size_t)group * (size_t)n;
    double *pair = indices->pair + (size_t)group * (size_t)indices->n_pairs;
    indices->whole[group].n += 1.0;
    indices->whole[group].sum += a + b;
    indices->whole[group].square += a * a + b * b;
    for (int index = 0; index < n; index++) {
        const double change = outcome[index + 2] - outcome[0];
        alone[index].first += b * change;
        alone[index].drift += change;
        alone[index].total += change * change;
        add_effect(&alone[index], change, moved[index]);
        for (int other = index + 1; other < n; other++) {
            const double apart = outcome[index + 2] - outcome[other + 2];
            *pair++ += apart * apart;
        }
    }
}

int64_t rc_indices_rows(const struct rc_indices *indices)
{
    return indices->n_rows;
}

int64_t rc_indices_lost(const struct rc_indices *indices)
{
    return indices->n_lost;
}

/* Estimates of one resample, in the order first, total, effect of each quantity, then the pairs. */
static void estimate(const struct rc_indices *indices, const double *times, struct alone *alone, double *figure)
{
    const int n = indices->options.n_quantities;
    struct whole whole = {0.0, 0.0, 0.0};
    double *pair = figure + 3 * n;
    for (int index = 0; index < n; index++)
        alone[index] = (struct alone){.first = 0.0};
    for (int index = 0; index < indices->n_pairs; index++)
        pair[index] = 0.0;
    for (int group = 0; group < GROUPS; group++) {
        const struct alone *from = indices->alone + (size_t)group * (size_t)n;
        const double *from_pair = indices->pair + (size_t)group * (size_t)indices->n_pairs;
        whole.n += times[group] * indices->whole[group].n;
        whole.sum += times[group] * indices->whole[group].sum;
        whole.square += times[group] * indices->whole[group].square;
        for (int index = 0; index < n; index++) {
            alone[index].first += times[group] * from[index].first;
            alone[index].drift += times[group] * from[index].drift;
            alone[index].total += times[group] * from[index].total;
            alone[index].moves += times[group] * from[index].moves;
            alone[index].size += times[group] * from[index].size;
            alone[index].effect += times[group] * from[index].effect;
            alone[index].square += times[group] * from[index].square;
        }
        for (int index = 0; index < indices->n_pairs; index++)
            pair[index] += times[group] * from_pair[index];
    }
    const double mean = whole.sum / (2.0 * whole.n);
    const double variance = whole.square / (2.0 * whole.n) - mean * mean;
    const double scale = variance > 0.0 ? 1.0 / (whole.n * variance) : NAN;
    for (int index = 0; index < n; index++) {
        figure[3 * index] = (alone[index].first - mean * alone[index].drift) * scale;
        figure[3 * index + 1] = 0.5 * alone[index].total * scale;
        figure[3 * index + 2] = alone[index].moves > 0.0 ? alone[index].size / alone[index].moves : 0.0;
    }
    for (int index = 0; index < n; index++)
        for (int other = index + 1; other < n; other++, pair++)
            *pair = figure[3 * index + 1] + figure[3 * other + 1] - 0.5 * *pair * scale;
}

static struct rc_estimate with_reach(double value, double reach, double most)
{
    return (struct rc_estimate){value, fmax(value - reach, 0.0), fmax(fmin(value + reach, most), 0.0)};
}

/* Hand out figures and reaches. */
static void fill(const struct rc_indices *indices, const struct alone *alone, const double *figure, const double *reach,
                 struct rc_indices_row *row)
{
    for (int index = 0; index < indices->options.n_quantities; index++) {
        const int at = 3 * index;
        const double moves = fmax(alone[index].moves, 1.0);
        const double mean = alone[index].effect / moves;
        row[index] = (struct rc_indices_row){
            .first = with_reach(figure[at], reach[at], 1.0),
            .total = with_reach(figure[at + 1], reach[at + 1], INFINITY),
            .effect = with_reach(figure[at + 2], reach[at + 2], INFINITY),
            .mean_effect = mean,
            .effect_sd = sqrt(fmax(alone[index].square / moves - mean * mean, 0.0))};
    }
}

/* Standard errors of all figures from resamples of the groups, as half intervals. out reach (n_figures) */
static void measure_reach(const struct rc_indices *indices, struct alone *alone, double *again, double *reach, int n_figures)
{
    struct rc_pcg pcg = rc_stream_open(indices->options.seed, 1, UINT64_C(0x526573616D706C65));
    double *mean = again + n_figures;
    for (int index = 0; index < n_figures; index++) {
        reach[index] = 0.0;
        mean[index] = 0.0;
    }
    for (int resample = 0; resample < RESAMPLES; resample++) {
        double times[GROUPS] = {0.0};
        for (int draw = 0; draw < GROUPS; draw++)
            times[(int)(rc_stream_uniform(&pcg) * GROUPS)] += 1.0;
        estimate(indices, times, alone, again);
        for (int index = 0; index < n_figures; index++)
            rc_running_add(&mean[index], &reach[index], resample + 1, again[index]);
    }
    const double t = rc_student_quantile(0.5 * (1.0 - indices->options.confidence), GROUPS - 1.0);
    for (int index = 0; index < n_figures; index++)
        reach[index] = t * sqrt(reach[index] / (RESAMPLES - 1.0) * GROUPS / (GROUPS - 1.0));
}

rc_status rc_indices_finish(const struct rc_indices *indices, struct rc_indices_row *row, struct rc_indices_pair *pair,
                            struct rc_error *err)
{
    const int n = indices->options.n_quantities;
    const int n_figures = 3 * n + indices->n_pairs;
    double times[GROUPS];
    struct alone *alone = calloc((size_t)n + 1, sizeof *alone);
    double *figures = malloc(4 * (size_t)n_figures * sizeof *figures);
    rc_status status = RC_OK;
    if (!alone || !figures) {
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the shares of %d quantities", n);
        goto done;
    }
    double *figure = figures;
    double *reach = figures + n_figures;
    measure_reach(indices, alone, figures + 2 * (size_t)n_figures, reach, n_figures);
    for (int group = 0; group < GROUPS; group++)
        times[group] = 1.0;
    estimate(indices, times, alone, figure);
    fill(indices, alone, figure, reach, row);
    for (int first = 0, at = 3 * n; first < n; first++)
        for (int second = first + 1; second < n; second++, at++)
            *pair++ = (struct rc_indices_pair){first, second, with_reach(figure[at], reach[at], INFINITY)};
done:
    free(alone);
    free(figures);
    return status;
}
