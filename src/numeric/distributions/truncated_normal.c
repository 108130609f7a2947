/* The normal distribution cut off outside [low, high]; mean and sd are those of the uncut normal. Symbols: alpha and beta are
 * the bounds and z a value in standard deviations from the mean, delta a distance from a bound inwards. Probabilities are sums
 * of numbers of one sign, and near a bound they come from a series about it, so nothing cancels, however narrow the window
 * or far out the tail. */
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"
#include "numeric/special.h"

enum { MEAN, SD, LOW, HIGH };

extern const struct rc_distribution_kind rc_truncated_normal_distribution;

/* Beyond this many standard deviations from the mean to the window the tail's probabilities leave the range of doubles. */
static const double farthest_window = 30.0;

static rc_status check(const double *p, struct rc_error *err)
{
    rc_status status = rc_distribution_check_finite(&rc_truncated_normal_distribution, p, err);
    if (status == RC_OK)
        status = rc_distribution_check_spread("sd", p[SD], err);
    if (status == RC_OK)
        status = rc_distribution_check_order(p[LOW], p[HIGH], err);
    if (status != RC_OK)
        return status;
    const double outside = fmax(fmax(p[LOW] - p[MEAN], p[MEAN] - p[HIGH]), 0.0) / p[SD];
    if (!(outside <= farthest_window))
        return rc_error_fill(err, RC_BAD_INPUT, "mean",
                             "got %.15g, which lies %.3g sd outside low %.15g to high %.15g, wanted at most %g; "
                             "move it or use uniform",
                             p[MEAN], outside, p[LOW], p[HIGH], farthest_window);
    return RC_OK;
}

static double density(double z)
{
    return 0.39894228040143267794 * exp(-0.5 * z * z); /* 1 / sqrt(2 pi) */
}

static bool is_near(double edge, double delta)
{
    return delta * (1.0 + fabs(edge)) < 0.1;
}

/* Integral of exp(-edge t - t^2/2) for t from 0 to delta by its Taylor series; for is_near ones, to full precision. */
static double near_integral(double edge, double delta)
{
    double before = 0.0;
    double coefficient = 1.0;
    double power = delta;
    double sum = 0.0;
    for (int n = 1; n <= 14; n++) {
        sum += coefficient * power / n;
        const double next = -(edge * coefficient + before) / n;
        before = coefficient;
        coefficient = next;
        power *= delta;
    }
    return sum;
}

/* Normal probability between two points, to nearly full relative precision. */
static double mass_between(double alpha, double beta)
{
    if (is_near(alpha, beta - alpha))
        return density(alpha) * near_integral(alpha, beta - alpha);
    if (alpha > 0.0)
        return rc_special_normal_cdf(-alpha) - rc_special_normal_cdf(-beta);
    if (beta < 0.0)
        return rc_special_normal_cdf(beta) - rc_special_normal_cdf(alpha);
    return 1.0 - rc_special_normal_cdf(alpha) - rc_special_normal_cdf(-beta);
}

/* The distance inwards from an edge that holds a given mass. in edge  seen with inwards as the positive direction */
static double near_distance(double edge, double mass, double guess)
{
    const double wanted = mass / density(edge);
    double delta = guess;
    for (int round = 0; round < 8; round++)
        delta = fmax(delta + (wanted - near_integral(edge, delta)) / exp(-edge * delta - 0.5 * delta * delta), 0.0);
    return delta;
}

/* Where the normal is cut so that u of the window lies below: right to about a rounding of z, not of its distance to a bound. */
static double cut_at(double alpha, double beta, double u, double upper)
{
    const double below = rc_special_normal_cdf(alpha) * upper + rc_special_normal_cdf(beta) * u;
    if (alpha < 0.0 && below <= 0.5)
        return rc_special_normal_quantile(below);
    return -rc_special_normal_quantile(rc_special_normal_cdf(-alpha) * upper + rc_special_normal_cdf(-beta) * u);
}

static double quantile(const double *p, double u, double upper)
{
    const double alpha = (p[LOW] - p[MEAN]) / p[SD];
    const double beta = (p[HIGH] - p[MEAN]) / p[SD];
    const double z = fmin(fmax(cut_at(alpha, beta, u, upper), alpha), beta);
    double value = p[MEAN] + p[SD] * z;
    if (is_near(alpha, z - alpha) && u <= upper)
        value = p[LOW] + p[SD] * near_distance(alpha, u * mass_between(alpha, beta), z - alpha);
    else if (is_near(beta, beta - z))
        value = p[HIGH] - p[SD] * near_distance(-beta, upper * mass_between(alpha, beta), beta - z);
    return fmin(fmax(value, p[LOW]), p[HIGH]);
}

static double cdf(const double *p, double x)
{
    if (x <= p[LOW])
        return 0.0;
    if (x >= p[HIGH])
        return 1.0;
    const double alpha = (p[LOW] - p[MEAN]) / p[SD];
    const double beta = (p[HIGH] - p[MEAN]) / p[SD];
    const double below = mass_between(alpha, (x - p[MEAN]) / p[SD]);
    return fmin(below / mass_between(alpha, beta), 1.0);
}

/* Mean and standard deviation of the cut normal in standard deviations of the uncut one; the mean from `origin`, the window's
 * most likely point. By quadrature (Gauss-Legendre, 5 points, 64 panels) of positive integrands, because the closed form
 * subtracts nearly equal numbers when the window is narrow. source of nodes and weights: Abramowitz and Stegun, table 25.4 */
static void moments(const double *p, double *origin, double *mean_from_origin, double *sd_of_cut)
{
    static const double node[5] = {-0.906179845938664, -0.538469310105683, 0.0, 0.538469310105683, 0.906179845938664};
    static const double weight[5] = {0.236926885056189, 0.478628670499366, 0.568888888888889, 0.478628670499366,
                                     0.236926885056189};
    enum { N_PANELS = 64 };
    const double alpha = (p[LOW] - p[MEAN]) / p[SD];
    const double beta = (p[HIGH] - p[MEAN]) / p[SD];
    *origin = fmin(fmax(0.0, alpha), beta);
    const double reach = sqrt(*origin * *origin + 82.0) - fabs(*origin); /* there the density has fallen by e^-41 */
    const double from = fmax(alpha - *origin, -reach);
    const double half = 0.5 * (fmin(beta - *origin, reach) - from) / N_PANELS;
    double sum[3] = {0.0, 0.0, 0.0};
    for (int point = 0; point < 5 * N_PANELS; point++) {
        const int panel = point / 5;
        const double t = from + half * (2 * panel + 1 + node[point % 5]);
        const double share = weight[point % 5] * exp(-*origin * t - 0.5 * t * t);
        sum[0] += share;
        sum[1] += share * t;
    }
    const double centre = sum[1] / sum[0];
    for (int point = 0; point < 5 * N_PANELS; point++) {
        const int panel = point / 5;
        const double t = from + half * (2 * panel + 1 + node[point % 5]);
        sum[2] += weight[point % 5] * exp(-*origin * t - 0.5 * t * t) * (t - centre) * (t - centre);
    }
    *mean_from_origin = centre;
    *sd_of_cut = sqrt(sum[2] / sum[0]);
}

static double mean(const double *p)
{
    double origin = 0.0;
    double centre = 0.0;
    double spread = 0.0;
    moments(p, &origin, &centre, &spread);
    return p[MEAN] + p[SD] * origin + p[SD] * centre;
}

static double sd(const double *p)
{
    double origin = 0.0;
    double centre = 0.0;
    double spread = 0.0;
    moments(p, &origin, &centre, &spread);
    return p[SD] * spread;
}

static void support(const double *p, double *low, double *high)
{
    *low = p[LOW];
    *high = p[HIGH];
}

const struct rc_distribution_kind rc_truncated_normal_distribution = {
    .name = "truncated_normal",
    .summary = "bell curve cut off at two bounds",
    .n_parameters = 4,
    .parameter = {{"mean", "centre of the uncut bell curve", false},
                  {"sd", "standard deviation of the uncut bell curve, above 0", false},
                  {"low", "least value", false},
                  {"high", "greatest value, above low", false}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
