/* Comparisons of designs flown on the same flights. Which designs, and flying them, is left to the caller. */
#include "pairing.h"

#include <math.h>
#include <stdlib.h>

#include "numeric/numeric.h"
#include "numeric/sorted.h"

enum { DEVIATES = 10000 };

struct rc_pairs rc_pairing_count(const unsigned char *first, const unsigned char *second, int64_t n)
{
    struct rc_pairs pairs = {0, 0, 0, 0};
    for (int64_t flight = 0; flight < n; flight++) {
        pairs.both += first[flight] && second[flight];
        pairs.only_first += first[flight] && !second[flight];
        pairs.only_second += !first[flight] && second[flight];
    }
    pairs.neither = n - pairs.both - pairs.only_first - pairs.only_second;
    return pairs;
}

/* Chance of at least k of n tosses. */
static double at_least(int64_t k, int64_t n)
{
    return k > 0 ? rc_special_beta_cdf((double)k, (double)(n - k) + 1.0, 0.5) : 1.0;
}

double rc_pairing_test(const struct rc_pairs *pairs)
{
    const int64_t more = pairs->only_first > pairs->only_second ? pairs->only_first : pairs->only_second;
    return fmin(2.0 * at_least(more, pairs->only_first + pairs->only_second), 1.0);
}

double rc_pairing_test_better(const struct rc_pairs *pairs)
{
    return at_least(pairs->only_first, pairs->only_first + pairs->only_second);
}

/* Standard score of the pairs, were the difference d: the share of "only second" is at its likeliest under that. */
static double score(const struct rc_pairs *pairs, double d)
{
    const double n = (double)(pairs->both + pairs->only_first + pairs->only_second + pairs->neither);
    const double b = (double)pairs->only_first;
    const double c = (double)pairs->only_second;
    const double middle = -b - c + (2.0 * n - b + c) * d;
    const double share = (sqrt(fmax(middle * middle + 8.0 * n * c * d * (1.0 - d), 0.0)) - middle) / (4.0 * n);
    const double variance = n * (2.0 * share + d * (1.0 - d));
    const double off = b - c - n * d;
    return variance > 0.0 ? off / sqrt(variance) : off > 0.0 ? INFINITY : off < 0.0 ? -INFINITY : 0.0;
}

struct rc_range rc_pairing_interval(const struct rc_pairs *pairs, double confidence)
{
    const double z = -rc_special_normal_quantile(0.5 * (1.0 - confidence));
    const double n = (double)(pairs->both + pairs->only_first + pairs->only_second + pairs->neither);
    const double middle = (double)(pairs->only_first - pairs->only_second) / n;
    struct rc_range range = {-1.0, 1.0};
    double inside = middle;
    for (int halving = 0; halving < 60; halving++) {
        const double d = 0.5 * (range.low + inside);
        if (score(pairs, d) > z)
            range.low = d;
        else
            inside = d;
    }
    inside = middle;
    for (int halving = 0; halving < 60; halving++) {
        const double d = 0.5 * (range.high + inside);
        if (score(pairs, d) < -z)
            range.high = d;
        else
            inside = d;
    }
    return range;
}

/* Correlation of two designs' marks; a design that always or never met has none with others. */
static double correlation(const struct rc_designs *designs, int row, int column)
{
    const double flights = (double)designs->n_flights;
    const struct rc_pairs pairs = rc_pairing_count(designs->met + row * designs->n_flights,
                                                   designs->met + column * designs->n_flights, designs->n_flights);
    const double p = (double)(pairs.both + pairs.only_first) / flights;
    const double q = (double)(pairs.both + pairs.only_second) / flights;
    const double spread = sqrt(p * (1.0 - p) * q * (1.0 - q));
    return spread > 0.0 ? ((double)pairs.both / flights - p * q) / spread : 0.0;
}

/* Lower triangular factor of the correlations (Cholesky, row by row); what rounding or equal designs take below nothing is held
 * there. */
static void factorise(double *factor, const struct rc_designs *designs)
{
    const int n = designs->n;
    for (int row = 0; row < n; row++) {
        double left = 1.0;
        for (int column = 0; column < row; column++) {
            const double pivot = factor[column * n + column];
            double entry = correlation(designs, row, column);
            for (int term = 0; term < column; term++)
                entry -= factor[row * n + term] * factor[column * n + term];
            entry = pivot > 1e-6 ? fmax(fmin(entry / pivot, sqrt(left)), -sqrt(left)) : 0.0;
            factor[row * n + column] = entry;
            left = fmax(left - entry * entry, 0.0);
        }
        factor[row * n + row] = sqrt(left);
    }
}

/* The greatest of n normal deviates with those correlations, drawn so many times, in rising order. out greatest (DEVIATES) */
static void draw_greatest(double *greatest, const double *factor, double *own, int n, uint64_t seed)
{
    struct rc_pcg pcg = rc_stream_open(seed, 2, UINT64_C(0x42616E64));
    for (int draw = 0; draw < DEVIATES; draw++) {
        greatest[draw] = 0.0;
        for (int design = 0; design < n; design++) {
            double sum = 0.0;
            own[design] = rc_special_normal_quantile(rc_stream_uniform(&pcg));
            for (int term = 0; term <= design; term++)
                sum += factor[design * n + term] * own[term];
            greatest[draw] = fmax(greatest[draw], fabs(sum));
        }
    }
    qsort(greatest, DEVIATES, sizeof *greatest, rc_sorted_rising);
}

static int64_t met_of(const struct rc_designs *designs, int design)
{
    int64_t n_met = 0;
    for (int64_t flight = 0; flight < designs->n_flights; flight++)
        n_met += designs->met[design * designs->n_flights + flight];
    return n_met;
}

rc_status rc_pairing_band(struct rc_range *band, const struct rc_designs *designs, double confidence, uint64_t seed,
                          struct rc_error *err)
{
    const int n = designs->n;
    rc_status status = RC_OK;
    double *factor = calloc((size_t)n * (size_t)n, sizeof *factor);
    double *own = malloc((size_t)n * sizeof *own);
    double *greatest = malloc(DEVIATES * sizeof *greatest);
    if (!factor || !own || !greatest) {
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a band over %d designs", n);
        goto done;
    }
    factorise(factor, designs);
    draw_greatest(greatest, factor, own, n, seed);
    const double most = greatest[(int)fmin(ceil(confidence * DEVIATES), DEVIATES - 1.0)];
    const double risk = fmax(2.0 * rc_special_normal_cdf(-most), (1.0 - confidence) / n);
    for (int design = 0; design < n; design++)
        rc_odds_interval(met_of(designs, design), designs->n_flights, 1.0 - fmin(risk, 1.0 - confidence), 2, &band[design].low,
                         &band[design].high);
done:
    free(factor);
    free(own);
    free(greatest);
    return status;
}

void rc_pairing_best(int *may_be_best, const struct rc_designs *designs, double confidence)
{
    const double risk = designs->n > 1 ? (1.0 - confidence) / (designs->n - 1) : 0.0;
    for (int design = 0; design < designs->n; design++) {
        may_be_best[design] = 1;
        for (int other = 0; other < designs->n && may_be_best[design]; other++) {
            const struct rc_pairs pairs = rc_pairing_count(designs->met + other * designs->n_flights,
                                                           designs->met + design * designs->n_flights, designs->n_flights);
            may_be_best[design] = other == design || rc_pairing_test_better(&pairs) > risk;
        }
    }
}
