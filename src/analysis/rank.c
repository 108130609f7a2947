/* Ranks uncertain quantities from flights that are there. Each flight falls into one of 256 cells of each quantity's grades and
 * into one of some groups of flights; counts and sums per quantity, group and cell are all that is kept. Estimates and their
 * resamples come from these sums. What the figures mean for the odds is left to tighten.c. */
#include "rank.h"

#include <math.h>
#include <stdlib.h>

#include "grade.h"
#include "numeric/numeric.h"
#include "student.h"

enum { N_CELLS = 256, MOST_BINS = 64, GROUPS = 32, RESAMPLES = 200, FEW_KNOTS = 8192 };

/* Flights of one quantity, group and cell. */
struct cell {
    double n, n_met;       /* flights, and those that met */
    double outcomes, sum;  /* flights with an outcome, their sum less the centre */
};

/* Sums of one group of flights over grades of a quantity (x) and of the outcome (y), each less a half. */
struct moments {
    double x, xx, xy;
};

struct rc_rank {
    struct rc_rank_options options;
    int n_columns, n_groups;   /* quantities and dummies */
    double centre;             /* taken off the outcome, so that sums keep their digits */
    int is_begun;
    struct rc_grade outcome;
    struct rc_grade *grade;    /* (n_quantities) */
    struct cell *cell;         /* (n_columns x n_groups x N_CELLS) */
    struct moments *moments;   /* (n_columns x n_groups) */
    double (*groups)[4];       /* (n_groups) outcomes, their squares less the centre, sum of y, of y squared */
    struct rc_pcg dice[RC_RANK_DUMMIES];
};

rc_status rc_rank_create(struct rc_rank **rank, const struct rc_rank_options *options, struct rc_error *err)
{
    struct rc_rank *made = calloc(1, sizeof *made);
    if (made) {
        made->options = *options;
        made->n_columns = options->n_quantities + RC_RANK_DUMMIES;
        made->n_groups = options->n_replicates > 0 ? options->n_replicates : GROUPS;
        const size_t n_sums = (size_t)made->n_columns * (size_t)made->n_groups;
        made->grade = calloc((size_t)options->n_quantities + 1, sizeof *made->grade);
        made->cell = calloc(n_sums * N_CELLS, sizeof *made->cell);
        made->moments = calloc(n_sums, sizeof *made->moments);
        made->groups = calloc((size_t)made->n_groups, sizeof *made->groups);
        for (int dummy = 0; dummy < RC_RANK_DUMMIES; dummy++)
            made->dice[dummy] = rc_stream_open(options->seed, (uint64_t)dummy, UINT64_C(0x44756D6D79));
    }
    if (!made || !made->grade || !made->cell || !made->moments || !made->groups) {
        rc_rank_free(made);
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory to rank %d quantities", options->n_quantities);
    }
    *rank = made;
    return RC_OK;
}

void rc_rank_free(struct rc_rank *rank)
{
    if (!rank)
        return;
    for (int index = 0; rank->grade && index < rank->options.n_quantities; index++)
        rc_grade_free(&rank->grade[index]);
    rc_grade_free(&rank->outcome);
    free(rank->grade);
    free(rank->cell);
    free(rank->moments);
    free(rank->groups);
    free(rank);
}

/* Knots and centre from the first chunk. */
static rc_status begin(struct rc_rank *rank, const struct rc_rank_chunk *chunk, struct rc_error *err)
{
    const int most = rank->options.n_flights > RC_RANK_SAMPLE ? FEW_KNOTS : RC_RANK_SAMPLE;
    double sum = 0.0;
    int n = 0;
    for (int row = 0; row < chunk->n; row++) {
        if (isfinite(chunk->outcome[row])) {
            sum += chunk->outcome[row];
            n++;
        }
    }
    rank->centre = n > 0 ? sum / n : 0.0;
    rc_status status = rc_grade_make(&rank->outcome, chunk->outcome, chunk->n, most, err);
    for (int index = 0; index < rank->options.n_quantities && status == RC_OK; index++)
        status = rc_grade_make(&rank->grade[index], chunk->quantity[index], chunk->n, most, err);
    rank->is_begun = status == RC_OK;
    return status;
}

/* The outcome's grades of a chunk, and what the groups keep of them. out y (chunk->n) grades less a half */
static void take_outcomes(struct rc_rank *rank, const struct rc_rank_chunk *chunk, double *y)
{
    for (int row = 0; row < chunk->n; row++) {
        y[row] = 0.0;
        if (!isfinite(chunk->outcome[row]))
            continue;
        double *group = rank->groups[(chunk->first + row) % rank->n_groups];
        const double off = chunk->outcome[row] - rank->centre;
        y[row] = rc_grade_of(&rank->outcome, chunk->outcome[row]) - 0.5;
        group[0] += 1.0;
        group[1] += off * off;
        group[2] += y[row];
        group[3] += y[row] * y[row];
    }
}

/* One column of a chunk. in grades (chunk->n) of the quantity; y of the outcome */
static void take_column(struct rc_rank *rank, int column, const struct rc_rank_chunk *chunk, const double *grades,
                        const double *y)
{
    const size_t first = (size_t)column * (size_t)rank->n_groups;
    for (int row = 0; row < chunk->n; row++) {
        const size_t group = first + (size_t)((chunk->first + row) % rank->n_groups);
        const int place = (int)(grades[row] * N_CELLS);
        struct cell *cell = &rank->cell[group * N_CELLS + (size_t)(place < N_CELLS ? place : N_CELLS - 1)];
        cell->n += 1.0;
        cell->n_met += chunk->met[row];
        if (!isfinite(chunk->outcome[row]))
            continue;
        const double x = grades[row] - 0.5;
        struct moments *moments = &rank->moments[group];
        cell->outcomes += 1.0;
        cell->sum += chunk->outcome[row] - rank->centre;
        moments->x += x;
        moments->xx += x * x;
        moments->xy += x * y[row];
    }
}

rc_status rc_rank_add(struct rc_rank *rank, const struct rc_rank_chunk *chunk, struct rc_error *err)
{
    rc_status status = rank->is_begun ? RC_OK : begin(rank, chunk, err);
    double *y = malloc(((size_t)chunk->n + 1) * sizeof *y);
    double *grades = malloc(((size_t)chunk->n + 1) * sizeof *grades);
    if (status == RC_OK && (!y || !grades))
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the ranks of %d flights", chunk->n);
    if (status != RC_OK)
        goto done;
    take_outcomes(rank, chunk, y);
    for (int column = 0; column < rank->n_columns; column++) {
        const int dummy = column - rank->options.n_quantities;
        for (int row = 0; row < chunk->n; row++)
            grades[row] = dummy >= 0 ? rc_stream_uniform(&rank->dice[dummy])
                                     : rc_grade_of(&rank->grade[column], chunk->quantity[column][row]);
        take_column(rank, column, chunk, grades, y);
    }
done:
    free(y);
    free(grades);
    return status;
}

struct rc_rank_total rc_rank_total(const struct rc_rank *rank)
{
    struct rc_rank_total total = {.mean = NAN, .sd = NAN};
    double sum = 0.0;
    double squares = 0.0;
    for (int group = 0; group < rank->n_groups; group++) {
        squares += rank->groups[group][1];
        total.n_outcomes += (int64_t)rank->groups[group][0];
        for (int place = 0; place < N_CELLS; place++) { /* of the first column: every flight is in each */
            const struct cell *cell = &rank->cell[group * N_CELLS + place];
            total.n += (int64_t)cell->n;
            total.n_met += (int64_t)cell->n_met;
            sum += cell->sum;
        }
    }
    const double n = (double)total.n_outcomes;
    if (n > 0.0)
        total.mean = rank->centre + sum / n;
    if (n > 1.0)
        total.sd = sqrt(fmax(squares - sum * sum / n, 0.0) / (n - 1.0));
    return total;
}

/* One quantity's sums over groups, each counted so many times. */
struct gathered {
    struct cell cell[N_CELLS];
    struct moments moments;
    double groups[4];
};

static void add(struct gathered *sums, const struct rc_rank *rank, size_t place, double weight, int group)
{
    const struct cell *from = rank->cell + place * N_CELLS;
    for (int cell = 0; cell < N_CELLS; cell++) {
        sums->cell[cell].n += weight * from[cell].n;
        sums->cell[cell].n_met += weight * from[cell].n_met;
        sums->cell[cell].outcomes += weight * from[cell].outcomes;
        sums->cell[cell].sum += weight * from[cell].sum;
    }
    sums->moments.x += weight * rank->moments[place].x;
    sums->moments.xx += weight * rank->moments[place].xx;
    sums->moments.xy += weight * rank->moments[place].xy;
    for (int index = 0; index < 4; index++)
        sums->groups[index] += weight * rank->groups[group][index];
}

/* out sums of all groups; half those of even and of odd groups, NULL = not wanted */
static void gather(struct gathered *sums, struct gathered *half, const struct rc_rank *rank, int column, const double *times)
{
    *sums = (struct gathered){.groups = {0.0}};
    for (int side = 0; half && side < 2; side++)
        half[side] = (struct gathered){.groups = {0.0}};
    for (int group = 0; group < rank->n_groups; group++) {
        const size_t place = (size_t)column * (size_t)rank->n_groups + (size_t)group;
        if (times[group] == 0.0)
            continue;
        add(sums, rank, place, times[group], group);
        if (half)
            add(&half[group % 2], rank, place, times[group], group);
    }
}

/* Bins of a share: a power of two, at most the root of the number of outcomes. */
static int bins_of(double n)
{
    int bins = 2;
    while (bins < MOST_BINS && (double)(4 * bins) * bins <= n)
        bins *= 2;
    return bins;
}

/* Share of variance between bins, corrected for the bins' number. */
static double share_of(const struct gathered *sums)
{
    const double n = sums->groups[0];
    const int width = N_CELLS / bins_of(n);
    double total = 0.0;
    double between = 0.0;
    int n_bins = 0;
    for (int first = 0; first < N_CELLS; first += width) {
        double outcomes = 0.0;
        double sum = 0.0;
        for (int cell = first; cell < first + width; cell++) {
            outcomes += sums->cell[cell].outcomes;
            sum += sums->cell[cell].sum;
        }
        total += sum;
        between += outcomes > 0.0 ? sum * sum / outcomes : 0.0;
        n_bins += outcomes > 0.0;
    }
    const double squares = sums->groups[1] - total * total / n;
    if (!(squares > 0.0) || n - n_bins < 1.0)
        return 0.0;
    return 1.0 - (sums->groups[1] - between) / (n - n_bins) / (squares / (n - 1.0));
}

static double correlation_of(const struct gathered *sums)
{
    const double n = sums->groups[0];
    const double x = sums->moments.x / n;
    const double y = sums->groups[2] / n;
    const double spread = (sums->moments.xx / n - x * x) * (sums->groups[3] / n - y * y);
    return spread > 0.0 ? (sums->moments.xy / n - x * y) / sqrt(spread) : 0.0;
}

/* Distance between the two distributions up to and with each cell, the greatest first found.
 * in   only  this cell's distance is asked; -1: of all cells
 * out  cell  of the greatest; may be NULL */
static double distance_of(const struct gathered *sums, int only, int *at)
{
    double n = 0.0;
    double n_met = 0.0;
    for (int cell = 0; cell < N_CELLS; cell++) {
        n += sums->cell[cell].n;
        n_met += sums->cell[cell].n_met;
    }
    if (!(n_met > 0.0) || !(n_met < n))
        return 0.0;
    double met = 0.0;
    double missed = 0.0;
    double greatest = 0.0;
    for (int cell = 0; cell < N_CELLS; cell++) {
        met += sums->cell[cell].n_met / n_met;
        missed += (sums->cell[cell].n - sums->cell[cell].n_met) / (n - n_met);
        if (cell == only || (only < 0 && fabs(missed - met) > fabs(greatest))) {
            greatest = missed - met;
            if (at)
                *at = cell;
        }
    }
    return greatest;
}

static double separation_of(const struct gathered *sums)
{
    return distance_of(sums, -1, NULL);
}

/* The greatest distance of a sample lies beyond the true one, since chance chooses its place; the distance in one half of the
 * flights at the place that the other half chooses falls short of it. With a distance that falls off as a square and noise that
 * adds up step by step the place errs by the order n^(-1/3), and the excess is three times the shortfall of as many flights,
 * 1/0.529 times that of half as many: 0.346 and 0.654 of the two have neither.
 * source the order: Kim and Pollard 1990, Ann. Stat. 18:191; the shares follow by scaling; coverage measured */
static double true_separation_of(const struct gathered *sums, const struct gathered half[2])
{
    int cell[2] = {0, 0};
    for (int side = 0; side < 2; side++)
        (void)distance_of(&half[side], -1, &cell[side]);
    const double crossed = 0.5 * (distance_of(&half[0], cell[1], NULL) + distance_of(&half[1], cell[0], NULL));
    return 0.346 * separation_of(sums) + 0.654 * crossed;
}

/* A quantity that never varied has all flights at one grade. */
static int is_constant(const struct gathered *sums)
{
    int n_filled = 0;
    for (int cell = 0; cell < N_CELLS; cell++)
        n_filled += sums->cell[cell].n > 0.0;
    return n_filled < 2;
}

enum { SHARE, CORRELATION, SEPARATION, TRUE_SEPARATION, N_FIGURES };

/* in half NULL = without the true separation */
static void figures_of(const struct gathered *sums, const struct gathered *half, double figure[N_FIGURES])
{
    figure[SHARE] = share_of(sums);
    figure[CORRELATION] = correlation_of(sums);
    figure[SEPARATION] = separation_of(sums);
    figure[TRUE_SEPARATION] = half ? true_separation_of(sums, half) : figure[SEPARATION];
}

/* How often each group counts in each resample. out times (RESAMPLES x n_groups) */
static void draw_resamples(double *times, const struct rc_rank *rank)
{
    struct rc_pcg pcg = rc_stream_open(rank->options.seed, 0, UINT64_C(0x526573616D706C65));
    for (int resample = 0; resample < RESAMPLES; resample++)
        for (int draw = 0; draw < rank->n_groups; draw++)
            times[resample * rank->n_groups + (int)(rc_stream_uniform(&pcg) * rank->n_groups)] += 1.0;
}

static struct rc_estimate estimate(double value, double reach, double least)
{
    return (struct rc_estimate){value, fmax(value - reach, least), fmax(fmin(value + reach, 1.0), least)};
}

static void work_out(struct rc_rank_row *row, const struct rc_rank *rank, int column, const double *times)
{
    struct gathered sums, half[2];
    double figure[N_FIGURES];
    double sum[N_FIGURES] = {0.0};
    double squares[N_FIGURES] = {0.0};
    double reach[N_FIGURES];
    gather(&sums, half, rank, column, times); /* the first resample is the flights themselves */
    figures_of(&sums, half, figure);
    *row = (struct rc_rank_row){.is_constant = is_constant(&sums)};
    for (int resample = 1; resample <= RESAMPLES; resample++) {
        double again[N_FIGURES];
        gather(&sums, half, rank, column, times + resample * rank->n_groups);
        figures_of(&sums, half, again);
        for (int index = 0; index < N_FIGURES; index++) {
            sum[index] += again[index];
            squares[index] += again[index] * again[index];
        }
    }
    const double n_groups = rank->n_groups;
    const double t = rc_student_quantile(0.5 * (1.0 - rank->options.confidence), n_groups - 1.0);
    for (int index = 0; index < N_FIGURES; index++) {
        const double variance = fmax(squares[index] - sum[index] * sum[index] / RESAMPLES, 0.0) / (RESAMPLES - 1.0);
        reach[index] = t * sqrt(variance * n_groups / (n_groups - 1.0));
    }
    row->share = estimate(figure[SHARE], reach[SHARE], 0.0);
    row->correlation = estimate(figure[CORRELATION], reach[CORRELATION], -1.0);
    row->separation = estimate(figure[TRUE_SEPARATION], reach[TRUE_SEPARATION], -1.0);
    row->separation.value = figure[SEPARATION];
}

/* The greatest figures of the dummies. */
static void measure_noise(struct rc_rank_row *dummy, const struct rc_rank *rank, const double *times)
{
    *dummy = (struct rc_rank_row){.is_noise = 1};
    for (int index = 0; index < RC_RANK_DUMMIES; index++) {
        struct gathered sums;
        double figure[N_FIGURES];
        gather(&sums, NULL, rank, rank->options.n_quantities + index, times);
        figures_of(&sums, NULL, figure);
        dummy->share.value = fmax(dummy->share.value, figure[SHARE]);
        dummy->correlation.value = fmax(dummy->correlation.value, fabs(figure[CORRELATION]));
        dummy->separation.value = fmax(dummy->separation.value, fabs(figure[SEPARATION]));
    }
}

rc_status rc_rank_finish(const struct rc_rank *rank, struct rc_rank_row *row, struct rc_rank_row *dummy, struct rc_error *err)
{
    double *times = calloc((size_t)(RESAMPLES + 1) * (size_t)rank->n_groups, sizeof *times);
    if (!times)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for resamples");
    for (int group = 0; group < rank->n_groups; group++)
        times[group] = 1.0;
    draw_resamples(times + rank->n_groups, rank);
    measure_noise(dummy, rank, times);
    for (int index = 0; index < rank->options.n_quantities; index++) {
        work_out(&row[index], rank, index, times);
        row[index].is_noise = row[index].share.value <= dummy->share.value &&
                              fabs(row[index].correlation.value) <= dummy->correlation.value &&
                              fabs(row[index].separation.value) <= dummy->separation.value;
    }
    free(times);
    return RC_OK;
}
