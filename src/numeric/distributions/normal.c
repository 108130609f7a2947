/* The normal (Gaussian) distribution. */
#include <math.h>

#include "numeric/distribution.h"
#include "numeric/special.h"

enum { MEAN, SD };

extern const struct rc_distribution_kind rc_normal_distribution;

static rc_status check(const double *p, struct rc_error *err)
{
    const rc_status status = rc_distribution_check_finite(&rc_normal_distribution, p, err);
    return status == RC_OK ? rc_distribution_check_spread("sd", p[SD], err) : status;
}

static double quantile(const double *p, double u, double upper)
{
    const double z = u <= upper ? rc_special_normal_quantile(u) : -rc_special_normal_quantile(upper);
    return p[MEAN] + p[SD] * z;
}

static double cdf(const double *p, double x)
{
    return rc_special_normal_cdf((x - p[MEAN]) / p[SD]);
}

static double mean(const double *p)
{
    return p[MEAN];
}

static double sd(const double *p)
{
    return p[SD];
}

static void support(const double *p, double *low, double *high)
{
    (void)p;
    *low = -INFINITY;
    *high = INFINITY;
}

const struct rc_distribution_kind rc_normal_distribution = {
    .name = "normal",
    .summary = "bell curve around a mean, without bounds",
    .n_parameters = 2,
    .parameter = {{"mean", "centre", false}, {"sd", "standard deviation, above 0", false}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
