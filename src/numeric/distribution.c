/* The registry of distributions and what all kinds share. A kind is one file in distributions/ and one row in kinds.def. */
#include "distribution.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#include "base/base.h"

#define RC_DISTRIBUTION(name) extern const struct rc_distribution_kind rc_##name##_distribution;
#include "distributions/kinds.def"
#undef RC_DISTRIBUTION

static const struct rc_distribution_kind *const kinds[] = {
#define RC_DISTRIBUTION(name) &rc_##name##_distribution,
#include "distributions/kinds.def"
#undef RC_DISTRIBUTION
};

int rc_distribution_count(void)
{
    return (int)(sizeof kinds / sizeof kinds[0]);
}

const struct rc_distribution_kind *rc_distribution_at(int index)
{
    return index >= 0 && index < rc_distribution_count() ? kinds[index] : NULL;
}

const struct rc_distribution_kind *rc_distribution_find(const char *name)
{
    for (int index = 0; index < rc_distribution_count(); index++) {
        if (strcmp(kinds[index]->name, name) == 0)
            return kinds[index];
    }
    return NULL;
}

static const double *parameters(const struct rc_distribution *distribution)
{
    return distribution->table ? distribution->table : distribution->p;
}

static bool is_reshaped(const struct rc_distribution *distribution)
{
    return distribution->narrowed != 0.0 || distribution->shift != 0.0;
}

/* What becomes of a value; values of distributions that nobody reshaped keep their bits. */
static double reshaped(const struct rc_distribution *distribution, double value)
{
    return is_reshaped(distribution)
               ? distribution->median + (1.0 - distribution->narrowed) * (value - distribution->median) + distribution->shift
               : value;
}

void rc_distribution_reshape(struct rc_distribution *distribution, double factor, double shift)
{
    distribution->median = rc_distribution_value(distribution, 0.5);
    distribution->narrowed = 1.0 - factor;
    distribution->shift = shift;
}

double rc_distribution_value(const struct rc_distribution *distribution, double u)
{
    return rc_distribution_value_tails(distribution, u, 1.0 - u);
}

double rc_distribution_value_tails(const struct rc_distribution *distribution, double u, double upper)
{
    return reshaped(distribution, distribution->kind->quantile(parameters(distribution), u, upper));
}

double rc_distribution_mean(const struct rc_distribution *distribution)
{
    return reshaped(distribution, distribution->kind->mean(parameters(distribution)));
}

double rc_distribution_sd(const struct rc_distribution *distribution)
{
    return (1.0 - distribution->narrowed) * distribution->kind->sd(parameters(distribution));
}

void rc_distribution_outside(const struct rc_distribution *distribution, double low, double high, double *below, double *above)
{
    const double *p = parameters(distribution);
    const double factor = 1.0 - distribution->narrowed;
    const double only = distribution->median + distribution->shift;
    if (is_reshaped(distribution) && factor == 0.0) { /* one value is left */
        *below = only < low ? 1.0 : 0.0;
        *above = only > high ? 1.0 : 0.0;
        return;
    }
    if (is_reshaped(distribution)) {
        low = distribution->median + (low - only) / factor;
        high = distribution->median + (high - only) / factor;
    }
    *below = distribution->kind->cdf(p, nextafter(low, -INFINITY));
    *above = 1.0 - distribution->kind->cdf(p, high);
}

size_t rc_distribution_table_length(const struct rc_distribution_kind *kind, int n)
{
    return kind->n_lists > 0 ? RC_MAX_PARAMETERS + 1 + kind->n_table_per_entry * (size_t)n : 0;
}

rc_status rc_distribution_pack(struct rc_distribution *distribution, double *table, const struct rc_distribution_lists *lists,
                               struct rc_error *err)
{
    const struct rc_distribution_kind *kind = distribution->kind;
    rc_status status = kind->check(distribution->p, err);
    if (status != RC_OK || kind->n_lists == 0)
        return status;
    if (lists->n < 1)
        return rc_error_fill(err, RC_BAD_INPUT, kind->list[0].key, "the list is empty, wanted at least one number");
    memcpy(table, distribution->p, sizeof distribution->p);
    status = kind->pack(table, lists, err);
    if (status == RC_OK)
        distribution->table = table;
    return status;
}

/* Heapsort, since the library's sort would need the partners in a struct. source Williams 1964, algorithm 232 */
static void sift_down(double *values, double *partners, int root, int n)
{
    for (int child = 2 * root + 1; child < n; root = child, child = 2 * root + 1) {
        if (child + 1 < n && values[child + 1] > values[child])
            child++;
        if (values[root] >= values[child])
            return;
        const double value = values[root];
        values[root] = values[child];
        values[child] = value;
        if (!partners)
            continue;
        const double partner = partners[root];
        partners[root] = partners[child];
        partners[child] = partner;
    }
}

rc_status rc_distribution_sort(double *values, double *partners, int n, const char *key, struct rc_error *err)
{
    for (int index = 0; index < n; index++) {
        if (!isfinite(values[index]))
            return rc_error_fill(err, RC_BAD_INPUT, key, "entry %d is %g, wanted a finite number", index + 1, values[index]);
    }
    for (int root = n / 2 - 1; root >= 0; root--)
        sift_down(values, partners, root, n);
    for (int last = n - 1; last > 0; last--) {
        const double value = values[0];
        values[0] = values[last];
        values[last] = value;
        if (partners) {
            const double partner = partners[0];
            partners[0] = partners[last];
            partners[last] = partner;
        }
        sift_down(values, partners, 0, last);
    }
    return RC_OK;
}

rc_status rc_distribution_check_finite(const struct rc_distribution_kind *kind, const double *p, struct rc_error *err)
{
    for (int index = 0; index < kind->n_parameters; index++) {
        if (!isfinite(p[index]))
            return rc_error_fill(err, RC_BAD_INPUT, kind->parameter[index].key, "got %g, wanted a finite number", p[index]);
    }
    return RC_OK;
}

rc_status rc_distribution_check_order(double low, double high, struct rc_error *err)
{
    if (high > low)
        return RC_OK;
    return rc_error_fill(err, RC_BAD_INPUT, "high", "got %.15g, wanted a number above low, which is %.15g: %s", high, low,
                         high < low ? "exchange the two, or move one of them"
                                    : "move one of them, or give a plain number for a quantity without spread");
}

rc_status rc_distribution_check_spread(const char *key, double spread, struct rc_error *err)
{
    if (spread < 0.0)
        return rc_error_fill(err, RC_BAD_INPUT, key, "got %.15g, wanted a number above 0: a spread cannot be negative", spread);
    if (spread == 0.0)
        return rc_error_fill(err, RC_BAD_INPUT, key,
                             "got 0, wanted a number above 0: for a quantity without spread give a plain number instead");
    return RC_OK;
}
