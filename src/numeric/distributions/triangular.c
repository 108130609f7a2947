/* The triangular distribution: two bounds and a most likely value, which may be one of the bounds. */
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"

enum { LOW, MODE, HIGH };

extern const struct rc_distribution_kind rc_triangular_distribution;

static rc_status check(const double *p, struct rc_error *err)
{
    rc_status status = rc_distribution_check_finite(&rc_triangular_distribution, p, err);
    if (status == RC_OK)
        status = rc_distribution_check_order(p[LOW], p[HIGH], err);
    if (status != RC_OK)
        return status;
    if (!isfinite(p[HIGH] - p[LOW]))
        return rc_error_fill(err, RC_BAD_INPUT, "high", "got %.15g, too far above low, which is %.15g: the range is no number",
                             p[HIGH], p[LOW]);
    if (p[MODE] < p[LOW] || p[MODE] > p[HIGH])
        return rc_error_fill(err, RC_BAD_INPUT, "mode", "got %.15g, wanted a number from low, %.15g, to high, %.15g", p[MODE],
                             p[LOW], p[HIGH]);
    return RC_OK;
}

/* Each side is a square root seen from its own bound; near the mode the same root is written as a distance from the mode, so
 * that a mode on a bound, where that is the tail, keeps its digits. */
static double quantile(const double *p, double u, double upper)
{
    const double width = p[HIGH] - p[LOW];
    const double rise = p[MODE] - p[LOW];
    const double fall = p[HIGH] - p[MODE];
    if (u <= rise / width) {
        if (u * width < 0.5 * rise)
            return p[LOW] + sqrt(u * width) * sqrt(rise);
        return p[MODE] - fmax(upper * width - fall, 0.0) / (1.0 + sqrt(u * width / rise));
    }
    if (upper * width < 0.5 * fall)
        return p[HIGH] - sqrt(upper * width) * sqrt(fall);
    return p[MODE] + fmax(u * width - rise, 0.0) / (1.0 + sqrt(upper * width / fall));
}

static double cdf(const double *p, double x)
{
    const double width = p[HIGH] - p[LOW];
    if (x <= p[LOW])
        return 0.0;
    if (x >= p[HIGH])
        return 1.0;
    if (x <= p[MODE])
        return (x - p[LOW]) / width * ((x - p[LOW]) / (p[MODE] - p[LOW]));
    return 1.0 - (p[HIGH] - x) / width * ((p[HIGH] - x) / (p[HIGH] - p[MODE]));
}

static double mean(const double *p)
{
    return p[LOW] + ((p[MODE] - p[LOW]) + (p[HIGH] - p[LOW])) / 3.0;
}

static double sd(const double *p)
{
    /* sqrt((rise^2 + rise fall + fall^2) / 18) in shares of the width: nothing cancels and nothing overflows */
    const double width = p[HIGH] - p[LOW];
    const double rise = (p[MODE] - p[LOW]) / width;
    const double fall = (p[HIGH] - p[MODE]) / width;
    return width * sqrt((rise * rise + rise * fall + fall * fall) / 18.0);
}

static void support(const double *p, double *low, double *high)
{
    *low = p[LOW];
    *high = p[HIGH];
}

const struct rc_distribution_kind rc_triangular_distribution = {
    .name = "triangular",
    .summary = "straight rise from low to the most likely value and straight fall to high",
    .n_parameters = 3,
    .parameter = {{"low", "least value", false}, {"mode", "most likely value, low to high", false},
                  {"high", "greatest value, above low", false}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
