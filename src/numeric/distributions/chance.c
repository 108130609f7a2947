/* A thing that works (1) or fails (0). */
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"

enum { ODDS };

extern const struct rc_distribution_kind rc_chance_distribution;

static rc_status check(const double *p, struct rc_error *err)
{
    const rc_status status = rc_distribution_check_finite(&rc_chance_distribution, p, err);
    if (status != RC_OK)
        return status;
    if (!(p[ODDS] >= 0.0 && p[ODDS] <= 1.0))
        return rc_error_fill(err, RC_BAD_INPUT, "odds", "got %.15g, wanted a number between 0 and 1, such as 0.99", p[ODDS]);
    if (p[ODDS] == 0.0 || p[ODDS] == 1.0)
        return rc_error_fill(err, RC_BAD_INPUT, "odds",
                             "got %g, wanted a number between 0 and 1: for what is certain give the plain number %g instead",
                             p[ODDS], p[ODDS]);
    return RC_OK;
}

static double quantile(const double *p, double u, double upper)
{
    (void)u;
    return upper < p[ODDS] ? 1.0 : 0.0;
}

static double cdf(const double *p, double x)
{
    if (x < 0.0)
        return 0.0;
    return x < 1.0 ? 1.0 - p[ODDS] : 1.0;
}

static double mean(const double *p)
{
    return p[ODDS];
}

static double sd(const double *p)
{
    return sqrt(p[ODDS] * (1.0 - p[ODDS]));
}

static void support(const double *p, double *low, double *high)
{
    (void)p;
    *low = 0.0;
    *high = 1.0;
}

const struct rc_distribution_kind rc_chance_distribution = {
    .name = "chance",
    .summary = "1 with the given odds, else 0: a thing that works or fails",
    .n_parameters = 1,
    .parameter = {{"odds", "of a 1, between 0 and 1", true}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
