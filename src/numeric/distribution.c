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

double rc_distribution_value(const struct rc_distribution *distribution, double u)
{
    return distribution->kind->quantile(distribution->p, u, 1.0 - u);
}

rc_status rc_distribution_check_finite(const struct rc_distribution_kind *kind, const double *p, struct rc_error *err)
{
    for (int index = 0; index < kind->n_parameters; index++) {
        if (!isfinite(p[index]))
            return rc_error_fill(err, RC_BAD_INPUT, kind->parameter[index].key, "got %g, wanted a finite number", p[index]);
    }
    return RC_OK;
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
