/* Reweights flights to another spread of a quantity. Which quantities go together and what is said of it is left to the caller.
 * Symbols: w a flight's weight, p its 0 or 1. */
#include "tighten.h"

#include <math.h>
#include <stdlib.h>

#include "numeric/special.h"
#include "student.h"

enum { N_KNOTS = 4097 };

struct rc_tighten_table {
    struct rc_distribution distribution;
    double median, step;                   /* step of the numerical density */
    double first, width;                   /* knots at first + k width */
    double weight[RC_N_TIGHTEN][N_KNOTS];
    struct rc_tighten_move move[RC_N_TIGHTEN];
};

static const double edge = 1e-4; /* probability beyond the knots, either side: worked out one by one */

struct rc_tighten_move rc_tighten_move(const struct rc_distribution *distribution, enum rc_tighten_change change)
{
    const double half_sd = 0.5 * rc_distribution_sd(distribution);
    switch (change) {
    case RC_TIGHTEN_HALF: return (struct rc_tighten_move){0.5, 0.0};
    case RC_TIGHTEN_TENTH: return (struct rc_tighten_move){0.1, 0.0};
    case RC_TIGHTEN_UP: return (struct rc_tighten_move){1.0, half_sd};
    case RC_TIGHTEN_DOWN: return (struct rc_tighten_move){1.0, -half_sd};
    case RC_N_TIGHTEN: break;
    }
    return (struct rc_tighten_move){1.0, 0.0};
}

static double probability_below(const struct rc_distribution *distribution, double value)
{
    double below = 0.0;
    double above = 0.0;
    rc_distribution_outside(distribution, value, value, &below, &above);
    return below;
}

static double density(const struct rc_tighten_table *table, double value)
{
    const double upper = probability_below(&table->distribution, value + table->step);
    return fmax(upper - probability_below(&table->distribution, value - table->step), 0.0) / (2.0 * table->step);
}

static double weight_at(const struct rc_tighten_table *table, int change, double value)
{
    const struct rc_tighten_move move = table->move[change];
    const double before = density(table, value);
    if (!(before > 0.0) || !isfinite(move.shift))
        return 0.0;
    const double source = table->median + (value - table->median - move.shift) / move.scale;
    return density(table, source) / move.scale / before;
}

/* Does the probability rise smoothly? One that jumps is not at u where its quantile for u is. */
static bool is_continuous(const struct rc_distribution *distribution)
{
    for (int index = 1; index < 64; index++) {
        const double u = (double)index / 64.0 + 1e-3;
        if (fabs(probability_below(distribution, rc_distribution_value(distribution, u)) - u) > 1e-6)
            return false;
    }
    return true;
}

rc_status rc_tighten_table_create(struct rc_tighten_table **table, const struct rc_distribution *distribution,
                                  struct rc_error *err)
{
    *table = NULL;
    if (!is_continuous(distribution))
        return RC_OK;
    struct rc_tighten_table *made = malloc(sizeof *made);
    if (!made)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a table of weights");
    const double low = rc_distribution_value(distribution, edge);
    const double high = rc_distribution_value_tails(distribution, 1.0 - edge, edge);
    const double middle = rc_distribution_value(distribution, 0.75) - rc_distribution_value(distribution, 0.25);
    *made = (struct rc_tighten_table){.distribution = *distribution,
                                      .median = rc_distribution_value(distribution, 0.5),
                                      .step = 1e-4 * middle,
                                      .first = low,
                                      .width = (high - low) / (N_KNOTS - 1)};
    for (int change = 0; change < RC_N_TIGHTEN; change++) {
        made->move[change] = rc_tighten_move(distribution, (enum rc_tighten_change)change);
        for (int knot = 0; knot < N_KNOTS; knot++)
            made->weight[change][knot] = weight_at(made, change, low + knot * made->width);
    }
    *table = made;
    return RC_OK;
}

void rc_tighten_table_free(struct rc_tighten_table *table)
{
    free(table);
}

void rc_tighten_weigh(const struct rc_tighten_table *table, enum rc_tighten_change change, const double *values, int n,
                      double *weights)
{
    const double *weight = table->weight[change];
    for (int row = 0; row < n; row++) {
        const double place = (values[row] - table->first) / table->width;
        if (place >= 0.0 && place < N_KNOTS - 1) {
            const int knot = (int)place;
            const double part = place - knot;
            weights[row] *= weight[knot] + part * (weight[knot + 1] - weight[knot]);
        } else {
            weights[row] *= weight_at(table, (int)change, values[row]);
        }
    }
}

void rc_tighten_add(struct rc_tighten_sums *sums, int64_t first, int n, const unsigned char *met, const double *weights)
{
    for (int row = 0; row < n; row++) {
        const double w = weights[row];
        const double p = met[row];
        sums->n += 1.0;
        sums->n_met += p;
        sums->weight += w;
        sums->weight_met += w * p;
        sums->square += w * w;
        sums->square_met += w * w * p;
        sums->greatest = fmax(sums->greatest, w);
        if (sums->n_groups == 0)
            continue;
        double *group = sums->group[(first + row) % sums->n_groups];
        group[0] += 1.0;
        group[1] += p;
        group[2] += w;
        group[3] += w * p;
    }
}

/* What keeps the flights from telling, or an empty text. */
static const char *lack_of(const struct rc_tighten_sums *sums, double effective)
{
    const double mean = sums->weight / sums->n;
    const double error = sqrt(fmax(sums->square / sums->n - mean * mean, 0.0) / sums->n);
    if (!(sums->weight > 0.0) || effective < RC_TIGHTEN_LEAST)
        return "too few of these flights lie where it would draw";
    if (sums->greatest > 0.02 * sums->weight)
        return "one flight would count for more than a fiftieth";
    if (fabs(mean - 1.0) > 5.0 * error + 0.005)
        return "it would draw values that these flights do not cover";
    return "";
}

/* Variances of the odds after and of the gain. */
struct variances {
    double odds, gain, t;  /* t: standard errors of half an interval */
};

/* Flights are independent: the sums of squares say it. */
static struct variances independent(const struct rc_tighten_sums *sums, double after, double before, double tail)
{
    const double scale = sums->n / sums->weight;
    const double own = sums->square_met * (1.0 - 2.0 * after) + after * after * sums->square;
    const double cross = sums->weight_met * (1.0 - after - before) + after * before * sums->weight;
    const double gain = scale * scale * own - 2.0 * scale * cross + sums->n * before * (1.0 - before);
    return (struct variances){own / (sums->weight * sums->weight), fmax(gain, 0.0) / (sums->n * sums->n),
                              -rc_special_normal_quantile(tail)};
}

/* Replicates are independent: their residuals say it. */
static struct variances replicated(const struct rc_tighten_sums *sums, double after, double before, double tail)
{
    const double scale = sums->n / sums->weight;
    double odds = 0.0;
    double gain = 0.0;
    for (int index = 0; index < sums->n_groups; index++) {
        const double *group = sums->group[index];
        const double residual = scale * (group[3] - after * group[2]);
        odds += residual * residual;
        gain += (residual - group[1] + before * group[0]) * (residual - group[1] + before * group[0]);
    }
    const double factor = sums->n_groups / (sums->n_groups - 1.0) / (sums->n * sums->n);
    return (struct variances){factor * odds, factor * gain, rc_student_quantile(tail, sums->n_groups - 1.0)};
}

/* Exact binomial bounds for as many flights as the variance is worth. */
static void bounds(struct rc_tightened *found, double variance, double t, double tail)
{
    const double normal = -rc_special_normal_quantile(tail);
    const double spread = found->odds * (1.0 - found->odds);
    double flights = found->effective;
    if (variance > 0.0 && spread > 0.0)
        flights = fmin(flights, spread / variance * (normal / t) * (normal / t));
    const double met = flights * found->odds;
    const double missed = flights - met;
    found->low = met > 0.0 ? rc_special_beta_quantile(met, missed + 1.0, tail) : 0.0;
    found->high = missed > 0.0 ? 1.0 - rc_special_beta_quantile(missed, met + 1.0, tail) : 1.0;
}

struct rc_tightened rc_tighten_odds(const struct rc_tighten_sums *sums, double confidence)
{
    const double effective = sums->square > 0.0 ? sums->weight * sums->weight / sums->square : 0.0;
    struct rc_tightened found = {.odds = NAN, .low = NAN, .high = NAN, .gain = NAN, .gain_low = NAN, .gain_high = NAN,
                                 .effective = effective, .why = lack_of(sums, effective)};
    found.is_supported = found.why[0] == '\0';
    if (!found.is_supported) {
        const double wanted = effective > 0.0 ? ceil(sums->n * (RC_TIGHTEN_LEAST / effective)) : INFINITY;
        found.more_flights = effective < RC_TIGHTEN_LEAST && wanted < 1e12 ? (int64_t)(wanted - sums->n) : -1;
        return found;
    }
    const double tail = 0.5 * (1.0 - confidence);
    const double before = sums->n_met / sums->n;
    found.odds = sums->weight_met / sums->weight;
    const struct variances v = sums->n_groups > 0 ? replicated(sums, found.odds, before, tail)
                                                  : independent(sums, found.odds, before, tail);
    bounds(&found, v.odds, v.t, tail);
    found.gain = found.odds - before;
    found.gain_low = fmax(found.gain - v.t * sqrt(v.gain), -1.0);
    found.gain_high = fmin(found.gain + v.t * sqrt(v.gain), 1.0);
    return found;
}
