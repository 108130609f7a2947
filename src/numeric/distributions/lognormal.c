/* The lognormal distribution, given by its median and the standard deviation of the natural logarithm. */
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"
#include "numeric/special.h"

enum { MEDIAN, SPREAD };

extern const struct rc_distribution_kind rc_lognormal_distribution;

/* At 10 the mean is e^50 medians: surely a spread meant as a percentage or in the quantity's unit. */
static const double greatest_spread = 10.0;

static rc_status check(const double *p, struct rc_error *err)
{
    rc_status status = rc_distribution_check_finite(&rc_lognormal_distribution, p, err);
    if (status != RC_OK)
        return status;
    if (!(p[MEDIAN] > 0.0))
        return rc_error_fill(err, RC_BAD_INPUT, "median", "got %.15g, wanted a number above 0: a lognormal quantity is positive",
                             p[MEDIAN]);
    status = rc_distribution_check_spread("spread", p[SPREAD], err);
    if (status != RC_OK)
        return status;
    if (p[SPREAD] > greatest_spread)
        return rc_error_fill(err, RC_BAD_INPUT, "spread",
                             "got %.15g, wanted at most %g: it is the standard deviation of the natural logarithm, "
                             "0.1 is about 10 %%",
                             p[SPREAD], greatest_spread);
    return RC_OK;
}

static double quantile(const double *p, double u, double upper)
{
    const double z = u <= upper ? rc_special_normal_quantile(u) : -rc_special_normal_quantile(upper);
    return p[MEDIAN] * exp(p[SPREAD] * z);
}

static double cdf(const double *p, double x)
{
    return x > 0.0 ? rc_special_normal_cdf(log(x / p[MEDIAN]) / p[SPREAD]) : 0.0;
}

static double mean(const double *p)
{
    return p[MEDIAN] * exp(0.5 * p[SPREAD] * p[SPREAD]);
}

static double sd(const double *p)
{
    return mean(p) * sqrt(expm1(p[SPREAD] * p[SPREAD]));
}

static void support(const double *p, double *low, double *high)
{
    (void)p;
    *low = 0.0;
    *high = INFINITY;
}

const struct rc_distribution_kind rc_lognormal_distribution = {
    .name = "lognormal",
    .summary = "positive, its logarithm is normal: for factors and for what cannot be negative",
    .n_parameters = 2,
    .parameter = {{"median", "value with half of the draws below it, above 0", false},
                  {"spread", "standard deviation of the natural logarithm, above 0; 0.1 is about 10 %", true}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
