/* The Student t distribution about a centre: a bell curve with heavy tails, as a mean of few readings has. Symbols: nu
 * degrees of freedom, t the value in scales from the centre, y = t^2/(nu + t^2) and x = 1 - y, each worked out directly where
 * it is small. */
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"
#include "numeric/special.h"

enum { CENTRE, SCALE, NU };

extern const struct rc_distribution_kind rc_student_t_distribution;

static const double least_nu = 1.0;
static const double greatest_nu = 1e6;

static rc_status check(const double *p, struct rc_error *err)
{
    rc_status status = rc_distribution_check_finite(&rc_student_t_distribution, p, err);
    if (status == RC_OK)
        status = rc_distribution_check_spread("scale", p[SCALE], err);
    if (status != RC_OK)
        return status;
    if (!(p[NU] >= least_nu && p[NU] <= greatest_nu))
        return rc_error_fill(err, RC_BAD_INPUT, "freedom", "got %.15g, wanted a number from %g to %g", p[NU], least_nu,
                             greatest_nu);
    return RC_OK;
}

/* How far out a tail of that probability begins. in tail in (0, 0.5], middle = 1 - 2 tail to its own precision */
static double distance(double nu, double tail, double middle)
{
    const double y = rc_special_beta_quantile_tails(0.5, 0.5 * nu, middle, 2.0 * tail);
    if (y <= 0.5)
        return sqrt(nu * y / (1.0 - y));
    const double x = rc_special_beta_quantile_tails(0.5 * nu, 0.5, 2.0 * tail, middle);
    return sqrt(nu * (1.0 - x) / x);
}

static double quantile(const double *p, double u, double upper)
{
    const double off = u <= upper ? -distance(p[NU], u, upper - u) : distance(p[NU], upper, u - upper);
    return p[CENTRE] + p[SCALE] * off;
}

static double cdf(const double *p, double x)
{
    const double t = (x - p[CENTRE]) / p[SCALE];
    const double square = t * t;
    const double outside = square < p[NU] ? rc_special_beta_upper(0.5, 0.5 * p[NU], square / (p[NU] + square))
                                          : rc_special_beta_cdf(0.5 * p[NU], 0.5, p[NU] / (p[NU] + square));
    return t < 0.0 ? 0.5 * outside : 1.0 - 0.5 * outside;
}

static double mean(const double *p)
{
    return p[NU] > 1.0 ? p[CENTRE] : NAN;
}

static double sd(const double *p)
{
    return p[NU] > 2.0 ? p[SCALE] * sqrt(p[NU] / (p[NU] - 2.0)) : INFINITY;
}

static void support(const double *p, double *low, double *high)
{
    (void)p;
    *low = -INFINITY;
    *high = INFINITY;
}

const struct rc_distribution_kind rc_student_t_distribution = {
    .name = "student_t",
    .summary = "bell curve with heavy tails, as for a value known from few readings",
    .n_parameters = 3,
    .parameter = {{"centre", "most likely value", false},
                  {"scale", "width, above 0: the standard uncertainty of the value", false},
                  {"freedom", "degrees of freedom, 1 to 1e6: readings minus one", true}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
