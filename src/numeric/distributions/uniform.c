/* The uniform distribution between two bounds. */
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"

enum { LOW, HIGH };

extern const struct rc_distribution_kind rc_uniform_distribution;

static rc_status check(const double *p, struct rc_error *err)
{
    rc_status status = rc_distribution_check_finite(&rc_uniform_distribution, p, err);
    if (status == RC_OK)
        status = rc_distribution_check_order(p[LOW], p[HIGH], err);
    if (status != RC_OK)
        return status;
    if (!isfinite(p[HIGH] - p[LOW]))
        return rc_error_fill(err, RC_BAD_INPUT, "high", "got %.15g, too far above low, which is %.15g: the range is no number",
                             p[HIGH], p[LOW]);
    return RC_OK;
}

static double quantile(const double *p, double u, double upper)
{
    const double width = p[HIGH] - p[LOW];
    return u <= upper ? p[LOW] + u * width : p[HIGH] - upper * width;
}

static double cdf(const double *p, double x)
{
    return fmin(fmax((x - p[LOW]) / (p[HIGH] - p[LOW]), 0.0), 1.0);
}

static double mean(const double *p)
{
    return p[LOW] + 0.5 * (p[HIGH] - p[LOW]);
}

static double sd(const double *p)
{
    return (p[HIGH] - p[LOW]) / sqrt(12.0);
}

static void support(const double *p, double *low, double *high)
{
    *low = p[LOW];
    *high = p[HIGH];
}

const struct rc_distribution_kind rc_uniform_distribution = {
    .name = "uniform",
    .summary = "every value between two bounds equally likely",
    .n_parameters = 2,
    .parameter = {{"low", "least value", false}, {"high", "greatest value, above low", false}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
