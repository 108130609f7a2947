/* A measured value of which only the greatest error is known: uniform around it. source JCGM 101:2008, 6.4.2 */
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"

enum { VALUE, LIMIT };

extern const struct rc_distribution_kind rc_measured_within_distribution;

static rc_status check(const double *p, struct rc_error *err)
{
    rc_status status = rc_distribution_check_finite(&rc_measured_within_distribution, p, err);
    if (status == RC_OK)
        status = rc_distribution_check_spread("limit", p[LIMIT], err);
    if (status == RC_OK && !isfinite(fabs(p[VALUE]) + 2.0 * p[LIMIT]))
        return rc_error_fill(err, RC_BAD_INPUT, "limit", "got %.15g, too large: the range is no number", p[LIMIT]);
    return status;
}

static double quantile(const double *p, double u, double upper)
{
    const double low = p[VALUE] - p[LIMIT];
    const double high = p[VALUE] + p[LIMIT];
    return u <= upper ? low + 2.0 * u * p[LIMIT] : high - 2.0 * upper * p[LIMIT];
}

static double cdf(const double *p, double x)
{
    return fmin(fmax(0.5 * (x - (p[VALUE] - p[LIMIT])) / p[LIMIT], 0.0), 1.0);
}

static double mean(const double *p)
{
    return p[VALUE];
}

static double sd(const double *p)
{
    return p[LIMIT] / sqrt(3.0);
}

static void support(const double *p, double *low, double *high)
{
    *low = p[VALUE] - p[LIMIT];
    *high = p[VALUE] + p[LIMIT];
}

const struct rc_distribution_kind rc_measured_within_distribution = {
    .name = "measured_within",
    .summary = "a measured value with a greatest error: every value within it equally likely",
    .n_parameters = 2,
    .parameter = {{"value", "as measured", false}, {"limit", "greatest error to either side, above 0", false}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
