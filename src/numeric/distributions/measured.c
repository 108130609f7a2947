/* A measured value with its standard uncertainty: a normal distribution around it. source JCGM 101:2008, 6.4.7 */
#include <math.h>

#include "numeric/distribution.h"
#include "numeric/special.h"

enum { VALUE, UNCERTAINTY };

extern const struct rc_distribution_kind rc_measured_distribution;

static rc_status check(const double *p, struct rc_error *err)
{
    const rc_status status = rc_distribution_check_finite(&rc_measured_distribution, p, err);
    return status == RC_OK ? rc_distribution_check_spread("uncertainty", p[UNCERTAINTY], err) : status;
}

static double quantile(const double *p, double u, double upper)
{
    const double z = u <= upper ? rc_special_normal_quantile(u) : -rc_special_normal_quantile(upper);
    return p[VALUE] + p[UNCERTAINTY] * z;
}

static double cdf(const double *p, double x)
{
    return rc_special_normal_cdf((x - p[VALUE]) / p[UNCERTAINTY]);
}

static double mean(const double *p)
{
    return p[VALUE];
}

static double sd(const double *p)
{
    return p[UNCERTAINTY];
}

static void support(const double *p, double *low, double *high)
{
    (void)p;
    *low = -INFINITY;
    *high = INFINITY;
}

const struct rc_distribution_kind rc_measured_distribution = {
    .name = "measured",
    .summary = "a measured value with its standard uncertainty: a bell curve around it",
    .n_parameters = 2,
    .parameter = {{"value", "as measured", false},
                  {"uncertainty", "standard uncertainty (one standard deviation), above 0", false}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
