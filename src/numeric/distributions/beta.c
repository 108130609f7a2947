/* The beta distribution stretched over [low, high]. */
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"
#include "numeric/special.h"

enum { ALPHA, BETA, LOW, HIGH };

extern const struct rc_distribution_kind rc_beta_distribution;

/* Below the curve is two spikes at the bounds; above it is narrower than a thousandth of its range. */
static const double least_shape = 0.05;
static const double greatest_shape = 1e6;

static rc_status check(const double *p, struct rc_error *err)
{
    const rc_status status = rc_distribution_check_finite(&rc_beta_distribution, p, err);
    if (status != RC_OK)
        return status;
    for (int shape = ALPHA; shape <= BETA; shape++) {
        if (!(p[shape] >= least_shape && p[shape] <= greatest_shape))
            return rc_error_fill(err, RC_BAD_INPUT, rc_beta_distribution.parameter[shape].key,
                                 "got %.15g, wanted a number from %g to %g", p[shape], least_shape, greatest_shape);
    }
    if (!(p[HIGH] > p[LOW]))
        return rc_error_fill(err, RC_BAD_INPUT, "high", "got %.15g, wanted a number above low, which is %.15g", p[HIGH], p[LOW]);
    if (!isfinite(p[HIGH] - p[LOW]))
        return rc_error_fill(err, RC_BAD_INPUT, "high", "got %.15g, too far above low, which is %.15g: the range is no number",
                             p[HIGH], p[LOW]);
    return RC_OK;
}

/* Each half is seen from its own bound, so that both tails keep their digits. */
static double quantile(const double *p, double u, double upper)
{
    const double width = p[HIGH] - p[LOW];
    if (u <= upper)
        return p[LOW] + width * rc_special_beta_quantile_tails(p[ALPHA], p[BETA], u, upper);
    return p[HIGH] - width * rc_special_beta_quantile_tails(p[BETA], p[ALPHA], upper, u);
}

static double cdf(const double *p, double x)
{
    const double width = p[HIGH] - p[LOW];
    if (x - p[LOW] <= p[HIGH] - x)
        return rc_special_beta_cdf(p[ALPHA], p[BETA], (x - p[LOW]) / width);
    return rc_special_beta_upper(p[BETA], p[ALPHA], (p[HIGH] - x) / width);
}

static double mean(const double *p)
{
    return p[LOW] + (p[HIGH] - p[LOW]) * (p[ALPHA] / (p[ALPHA] + p[BETA]));
}

static double sd(const double *p)
{
    const double sum = p[ALPHA] + p[BETA];
    return (p[HIGH] - p[LOW]) * sqrt(p[ALPHA] * p[BETA] / (sum + 1.0)) / sum;
}

static void support(const double *p, double *low, double *high)
{
    *low = p[LOW];
    *high = p[HIGH];
}

const struct rc_distribution_kind rc_beta_distribution = {
    .name = "beta",
    .summary = "between two bounds, with two shapes that say how it leans: equal ones are symmetric, larger ones narrower",
    .n_parameters = 4,
    .parameter = {{"alpha", "shape towards low, 0.05 to 1e6; the larger of the two pulls to its opposite bound", true},
                  {"beta", "shape towards high, 0.05 to 1e6", true},
                  {"low", "least value", false},
                  {"high", "greatest value, above low", false}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
