/* Quantities that vary together: a Gaussian copula. The members' uniform numbers become normal scores, a triangular factor mixes
 * them, and the mixed scores become uniform numbers again, so that each member keeps its own distribution and each plan its
 * evenness. What is done with the uniform numbers is left to plan.c. Symbols: r the correlation of the scores,
 * l the factor's entries. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "sampling.h"

struct rc_copula {
    int n;
    int member[RC_MAX_UNCERTAIN];
    double *factor;  /* (n x n) lower triangle, by rows; the correlations until it is worked out */
};

static const double pi = 3.14159265358979323846;

/* Least share of a member's variance that must stay its own; below, the correlation is as good as certain. */
static const double least_own = 1e-9;

static double score_correlation(double rank)
{
    return 2.0 * sin(pi / 6.0 * rank);
}

static double rank_correlation(double score)
{
    return 6.0 / pi * asin(0.5 * fmax(fmin(score, 1.0), -1.0));
}

static int place_of(const struct rc_copula *copula, int quantity)
{
    for (int index = 0; index < copula->n; index++) {
        if (copula->member[index] == quantity)
            return index;
    }
    return -1;
}

static void add_member(struct rc_copula *copula, int quantity)
{
    if (place_of(copula, quantity) < 0)
        copula->member[copula->n++] = quantity;
}

static rc_status check_pair(const struct rc_sampling *sampling, const struct rc_rank_pair *pair, int index, struct rc_error *err)
{
    char where[32];
    (void)snprintf(where, sizeof where, "pairs[%d]", index);
    const struct rc_rank_pair *one = &pair[index];
    const char *first = sampling->quantity[one->first].path;
    if (one->first == one->second)
        return rc_error_fill(err, RC_BAD_INPUT, where, "%s is paired with itself, wanted two quantities", first);
    if (!(fabs(one->rank) < 1.0))
        return rc_error_fill(err, RC_BAD_INPUT, where,
                             "got a rank correlation of %.6g between %s and %s, wanted one above -1 and below 1", one->rank,
                             first, sampling->quantity[one->second].path);
    for (int other = 0; other < index; other++) {
        const bool is_same = (pair[other].first == one->first && pair[other].second == one->second) ||
                             (pair[other].first == one->second && pair[other].second == one->first);
        if (is_same)
            return rc_error_fill(err, RC_BAD_INPUT, where,
                                 "%s and %s are paired twice: entry %d of the list, counted from 0, pairs them too; keep one",
                                 first, sampling->quantity[one->second].path, other);
    }
    return RC_OK;
}

/* The pair of two members as the user named it, -1 where it was left out. */
static int pair_of(const struct rc_copula *copula, const struct rc_rank_pair *pair, int n_pairs, const int place[2])
{
    for (int index = 0; index < n_pairs; index++) {
        const int first = place_of(copula, pair[index].first);
        const int second = place_of(copula, pair[index].second);
        if ((first == place[0] && second == place[1]) || (first == place[1] && second == place[0]))
            return index;
    }
    return -1;
}

/* Where the factor breaks: which entry, and the range of score correlations that would leave something of the member's own. */
struct breakage {
    int row, column;
    double low, high;
};

/* Cholesky's factor in place, row by row. ends false where the correlations cannot be together */
static bool factorise(struct rc_copula *copula, struct breakage *at)
{
    const int n = copula->n;
    for (int row = 0; row < n; row++) {
        double *own = copula->factor + (size_t)row * (size_t)n;
        double left = 1.0; /* variance of this member's score that the ones before do not explain */
        for (int column = 0; column < row; column++) {
            const double *other = copula->factor + (size_t)column * (size_t)n;
            double explained = 0.0;
            for (int term = 0; term < column; term++)
                explained += own[term] * other[term];
            const double entry = (own[column] - explained) / other[column];
            if (left - entry * entry < least_own) {
                const double reach = other[column] * sqrt(fmax(left - least_own, 0.0));
                *at = (struct breakage){row, column, explained - reach, explained + reach};
                return false;
            }
            own[column] = entry;
            left -= entry * entry;
        }
        own[row] = sqrt(left);
    }
    return true;
}

/* Digits that tell the ends of a narrow range, and the correlation, apart. */
static int decimals_for(double width)
{
    return width > 0.0 ? (int)fmin(fmax(ceil(1.0 - log10(width)), 4.0), 15.0) : 15;
}

static rc_status refuse(const struct rc_copula *copula, const struct rc_sampling *sampling, const struct rc_rank_pair *pair,
                        int named, const struct breakage *at, struct rc_error *err)
{
    char where[32];
    (void)snprintf(where, sizeof where, "pairs[%d]", named);
    const char *first = sampling->quantity[copula->member[at->column]].path;
    const char *second = sampling->quantity[copula->member[at->row]].path;
    const double low = rank_correlation(at->low), high = rank_correlation(at->high), rank = named < 0 ? 0.0 : pair[named].rank;
    const int decimals = decimals_for(fmin(high - low, rank > high ? rank - high : low - rank));
    return rc_error_fill(err, RC_BAD_INPUT, named < 0 ? "pairs" : where,
                         "the rank correlation of %.15g between %s and %s%s cannot be together with the others; "
                         "with them it must lie between %.*f and %.*f",
                         rank, first, second, named < 0 ? " (not named, so 0)" : "", decimals, low, decimals, high);
}

rc_status rc_copula_create(struct rc_copula **copula, const struct rc_sampling *sampling, const struct rc_rank_pair *pair,
                           int n_pairs, struct rc_error *err)
{
    rc_status status = RC_OK;
    struct rc_copula *made = calloc(1, sizeof *made);
    struct breakage at = {0, 0, 0.0, 0.0};
    if (!made)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the correlations of quantities");
    for (int index = 0; index < n_pairs; index++) {
        status = check_pair(sampling, pair, index, err);
        if (status != RC_OK)
            goto done;
        add_member(made, pair[index].first);
        add_member(made, pair[index].second);
    }
    made->factor = calloc((size_t)made->n * (size_t)made->n + 1, sizeof *made->factor);
    if (!made->factor) {
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the correlations of %d quantities", made->n);
        goto done;
    }
    for (int index = 0; index < n_pairs; index++) {
        const size_t first = (size_t)place_of(made, pair[index].first);
        const size_t second = (size_t)place_of(made, pair[index].second);
        const size_t row = first > second ? first : second;
        made->factor[row * (size_t)made->n + (first + second - row)] = score_correlation(pair[index].rank);
    }
    if (!factorise(made, &at)) {
        const int places[2] = {at.row, at.column};
        status = refuse(made, sampling, pair, pair_of(made, pair, n_pairs, places), &at, err);
        goto done;
    }
    *copula = made;
    made = NULL;

done:
    rc_copula_free(made);
    return status;
}

void rc_copula_free(struct rc_copula *copula)
{
    if (!copula)
        return;
    free(copula->factor);
    free(copula);
}

int rc_copula_count(const struct rc_copula *copula)
{
    return copula->n;
}

int rc_copula_member(const struct rc_copula *copula, int index)
{
    return copula->member[index];
}

void rc_copula_tails(const struct rc_copula *copula, int index, const double *uniforms, double *lower, double *upper)
{
    const double *own = copula->factor + (size_t)index * (size_t)copula->n;
    double score = 0.0;
    for (int term = 0; term <= index; term++)
        score += own[term] * rc_special_normal_quantile(uniforms[copula->member[term]]);
    *lower = rc_special_normal_cdf(score);
    *upper = rc_special_normal_cdf(-score);
}
