/* The von Mises distribution of directions, in degrees, cut open opposite its mean: values lie within 180 degrees of the mean
 * and are not wrapped, so that they rise with the uniform number. Symbols: theta an angle from the mean [rad], kappa the
 * concentration; every probability is an integral of exp(kappa (cos theta - 1)), which neither overflows nor cancels. */
#include <float.h>
#include <math.h>

#include "base/base.h"
#include "numeric/distribution.h"
#include "numeric/special.h"

enum { MEAN, CONCENTRATION };

extern const struct rc_distribution_kind rc_von_mises_distribution;

static const double greatest_concentration = 1e8;
static const double pi = 3.14159265358979323846;
static const double degree = 3.14159265358979323846 / 180.0;

static rc_status check(const double *p, struct rc_error *err)
{
    const rc_status status = rc_distribution_check_finite(&rc_von_mises_distribution, p, err);
    if (status != RC_OK)
        return status;
    if (!(p[CONCENTRATION] > 0.0 && p[CONCENTRATION] <= greatest_concentration))
        return rc_error_fill(err, RC_BAD_INPUT, "concentration",
                             "got %.15g, wanted a number above 0 and at most %g; 131 is a spread of about 5 deg",
                             p[CONCENTRATION], greatest_concentration);
    return RC_OK;
}

static double density(double kappa, double theta)
{
    const double half = sin(0.5 * theta);
    return exp(-2.0 * kappa * half * half);
}

/* Integral of theta^power times the density. in 0 <= from <= to <= pi. Gauss-Legendre, 5 points, 48 panels up to where the
 * density has fallen by e^-41; power 0 or 2. source of nodes and weights: Abramowitz and Stegun, table 25.4 */
static double mass(double kappa, double from, double to, int power)
{
    static const double node[5] = {-0.906179845938663993, -0.538469310105683091, 0.0, 0.538469310105683091, 0.906179845938663993};
    static const double weight[5] = {0.236926885056189088, 0.478628670499366468, 0.568888888888888889, 0.478628670499366468,
                                     0.236926885056189088};
    enum { N_PANELS = 48 };
    const double edge = sin(0.5 * from);
    const double farthest = 2.0 * asin(fmin(sqrt(edge * edge + 20.5 / kappa), 1.0));
    const double half = 0.5 * (fmin(to, farthest) - from) / N_PANELS;
    double sum = 0.0;
    for (int point = 0; point < 5 * N_PANELS; point++) {
        const int panel = point / 5;
        const double theta = from + half * (2 * panel + 1 + node[point % 5]);
        sum += weight[point % 5] * density(kappa, theta) * (power == 2 ? theta * theta : 1.0);
    }
    return half * sum;
}

/* The angle beyond which a share `tail` of the circle's half lies (tail at most 1/2 of it), or within which `within` does. */
static double angle_of(double kappa, double tail, double within)
{
    const double whole = mass(kappa, 0.0, pi, 0);
    const bool by_tail = tail < within;
    double low = 0.0;
    double high = pi;
    double theta = fmin(-rc_special_normal_quantile(0.5 * tail) / sqrt(kappa), 0.5 * pi);
    for (int round = 0; round < 200; round++) {
        const double got = by_tail ? mass(kappa, theta, pi, 0) : mass(kappa, 0.0, theta, 0);
        const double wanted = whole * (by_tail ? tail : within);
        if (by_tail ? got > wanted : got < wanted)
            low = theta;
        else
            high = theta;
        const double slope = density(kappa, theta);
        double next = by_tail ? theta + log(got / wanted) * got / slope : theta + (wanted - got) / slope;
        if (!(next > low && next < high)) /* also when the step is not a number */
            next = 0.5 * (low + high);
        if (fabs(next - theta) <= 2.0 * DBL_EPSILON * theta)
            return next;
        theta = next;
    }
    return theta;
}

/* Distance from the mean for one side's tail [deg]. in tail in (0, 0.5], middle = 1 - 2 tail to its own precision */
static double distance(double kappa, double tail, double middle)
{
    /* next to the cut the distance from the cut is what the tail gives: there the density is flat but for kappa s^2/2 */
    const double from_cut = 2.0 * tail * mass(kappa, 0.0, pi, 0) / density(kappa, pi);
    if (from_cut < 1e-4)
        return 180.0 - from_cut / (1.0 + kappa * from_cut * from_cut / 6.0) / degree;
    return angle_of(kappa, 2.0 * tail, middle) / degree;
}

static double quantile(const double *p, double u, double upper)
{
    if (u == upper)
        return p[MEAN];
    if (u < upper)
        return p[MEAN] - distance(p[CONCENTRATION], u, upper - u);
    return p[MEAN] + distance(p[CONCENTRATION], upper, u - upper);
}

static double cdf(const double *p, double x)
{
    const double kappa = p[CONCENTRATION];
    const double theta = (x - p[MEAN]) * degree;
    if (fabs(theta) >= pi)
        return theta > 0.0 ? 1.0 : 0.0;
    const double outside = 0.5 * mass(kappa, fabs(theta), pi, 0) / mass(kappa, 0.0, pi, 0);
    return theta < 0.0 ? outside : 1.0 - outside;
}

static double mean(const double *p)
{
    return p[MEAN];
}

static double sd(const double *p)
{
    return sqrt(mass(p[CONCENTRATION], 0.0, pi, 2) / mass(p[CONCENTRATION], 0.0, pi, 0)) / degree;
}

static void support(const double *p, double *low, double *high)
{
    *low = p[MEAN] - 180.0;
    *high = p[MEAN] + 180.0;
}

const struct rc_distribution_kind rc_von_mises_distribution = {
    .name = "von_mises",
    .summary = "directions in degrees around a mean direction, up to 180 degrees to either side",
    .n_parameters = 2,
    .parameter = {{"mean", "mean direction [deg]", false},
                  {"concentration", "above 0; a small spread of s radians is 1/s^2, and next to 0 it is any direction", true}},
    .check = check,
    .quantile = quantile,
    .cdf = cdf,
    .mean = mean,
    .sd = sd,
    .support = support,
};
