/* The Weibull distribution from zero upwards: wind speeds, lifetimes. */
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"

enum { SHAPE, SCALE };

extern const struct rc_distribution_kind rc_weibull_distribution;

static const double least_shape = 0.1;
static const double greatest_shape = 1000.0;

static rc_status check(const double *p, struct rc_error *err)
{
    const rc_status status = rc_distribution_check_finite(&rc_weibull_distribution, p, err);
    if (status != RC_OK)
        return status;
    if (!(p[SHAPE] >= least_shape && p[SHAPE] <= greatest_shape))
        return rc_error_fill(err, RC_BAD_INPUT, "shape", "got %.15g, wanted a number from %g to %g", p[SHAPE], least_shape,
                             greatest_shape);
    return rc_distribution_check_spread("scale", p[SCALE], err);
}

static double quantile(const double *p, double u, double upper)
{
    const double hazard = u <= upper ? -log1p(-u) : -log(upper);
    return p[SCALE] * pow(hazard, 1.0 / p[SHAPE]);
}

static double cdf(const double *p, double x)
{
    return x > 0.0 ? -expm1(-pow(x / p[SCALE], p[SHAPE])) : 0.0;
}

static double mean(const double *p)
{
    return p[SCALE] * tgamma(1.0 + 1.0 / p[SHAPE]);
}

static double sd(const double *p)
{
    /* the ratio of the two moments through its logarithm: the plain difference cancels for large shapes */
    return mean(p) * sqrt(expm1(lgamma(1.0 + 2.0 / p[SHAPE]) - 2.0 * lgamma(1.0 + 1.0 / p[SHAPE])));
}

static void support(const double *p, double *low, double *high)
{
    (void)p;
    *low = 0.0;
    *high = INFINITY;
}

const struct rc_distribution_kind rc_weibull_distribution = {
    .name = "weibull",
    .summary = "from zero upwards, for wind speeds and lifetimes; shape 2 suits wind speeds (common practice, no source)",
    .n_parameters = 2,
    .parameter = {{"shape", "0.1 to 1000; larger is narrower", true},
                  {"scale", "value with 63.2 % of the draws below it, above 0", false}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
