/* Normal and beta distribution functions and their inverses, accurate in both tails. Scalar: for drawing quantities and
 * for intervals, not for a flight's step. Symbols: P lower and Q upper tail probability, y = 1 - x. */
#include "special.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>

static const double pi = 3.14159265358979323846;

double rc_special_normal_cdf(double x)
{
    /* erfc(-x/sqrt 2)/2. In the tail a rounding of the argument grows by x^2, so the rounding is worked out and put back. */
    const double root_half = 0.70710678118654752440;
    const double root_half_rest = -4.83364665672645672e-17; /* sqrt(1/2) minus the double above */
    const double argument = -x * root_half;
    if (!(argument > 1.0) || argument > 27.3)
        return 0.5 * erfc(argument);
    const double rest = fma(-x, root_half, -argument) - x * root_half_rest;
    return 0.5 * (erfc(argument) - 2.0 / sqrt(pi) * exp(-argument * argument) * rest);
}

/* c[0] + c[1] r + ... + c[n-1] r^(n-1) */
static double polynomial(const double *c, int n, double r)
{
    double sum = c[n - 1];
    for (int power = n - 2; power >= 0; power--)
        sum = sum * r + c[power];
    return sum;
}

/* Rational approximations of AS 241, routine PPND16: centre, tail, far tail; numerators and denominators. */
static const double as241_a[8] = {3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3,
                                  1.3731693765509461125e4, 4.5921953931549871457e4, 6.7265770927008700853e4,
                                  3.3430575583588128105e4, 2.5090809287301226727e3};
static const double as241_b[8] = {1.0, 4.2313330701600911252e1, 6.8718700749205790830e2, 5.3941960214247511077e3,
                                  2.1213794301586595867e4, 3.9307895800092710610e4, 2.8729085735721942674e4,
                                  5.2264952788528545610e3};
static const double as241_c[8] = {1.42343711074968357734e0, 4.63033784615654529590e0, 5.76949722146069140550e0,
                                  3.64784832476320460504e0, 1.27045825245236838258e0, 2.41780725177450611770e-1,
                                  2.27238449892691845833e-2, 7.74545014278341407640e-4};
static const double as241_d[8] = {1.0, 2.05319162663775882187e0, 1.67638483018380384940e0, 6.89767334985100004550e-1,
                                  1.48103976427480074590e-1, 1.51986665636164571966e-2, 5.47593808499534494600e-4,
                                  1.05075007164441684324e-9};
static const double as241_e[8] = {6.65790464350110377720e0, 5.46378491116411436990e0, 1.78482653991729133580e0,
                                  2.96560571828504891230e-1, 2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                  2.71155556874348757815e-5, 2.01033439929228813265e-7};
static const double as241_f[8] = {1.0, 5.99832206555887937690e-1, 1.36929880922735805310e-1, 1.48753612908506148525e-2,
                                  7.86869131145613259100e-4, 1.84631831751005468180e-5, 1.42151175831644588870e-7,
                                  2.04426310338993978564e-15};

double rc_special_normal_quantile(double u)
{
    const double centred = u - 0.5;
    if (fabs(centred) <= 0.425) {
        const double r = 0.180625 - centred * centred;
        return centred * polynomial(as241_a, 8, r) / polynomial(as241_b, 8, r);
    }
    const double tail = centred < 0.0 ? u : 1.0 - u;
    const double r = sqrt(-log(tail));
    const double size = r <= 5.0 ? polynomial(as241_c, 8, r - 1.6) / polynomial(as241_d, 8, r - 1.6)
                                 : polynomial(as241_e, 8, r - 5.0) / polynomial(as241_f, 8, r - 5.0);
    return centred < 0.0 ? -size : size;
}

/* Logarithm of the gamma function minus Stirling's leading terms, (z - 1/2) log z - z + log(2 pi)/2.
 * source the asymptotic series DLMF 5.11.1; below 16 the difference itself loses little */
static double stirling_rest(double z)
{
    if (z < 16.0)
        return lgamma(z) - (z - 0.5) * log(z) + z - 0.5 * log(2.0 * pi);
    static const double series[6] = {1.0 / 12.0, -1.0 / 360.0, 1.0 / 1260.0, -1.0 / 1680.0, 1.0 / 1188.0, -691.0 / 360360.0};
    return polynomial(series, 6, 1.0 / (z * z)) / z;
}

/* k log(k/m) + m - k without the cancellation near k = m. source Loader 2000, "Fast and accurate computation of binomial
 * probabilities", the deviance part */
static double deviance(double k, double m)
{
    const double difference = k - m;
    if (fabs(difference) > 0.1 * (k + m))
        return k * log(k / m) + m - k;
    const double v = difference / (k + m);
    double sum = difference * v;
    double term = 2.0 * k * v;
    for (int odd = 3; odd < 100; odd += 2) {
        term *= v * v;
        const double next = sum + term / odd;
        if (next == sum)
            break;
        sum = next;
    }
    return sum;
}

/* x^a y^b / B(a, b), written with deviances so that large a and b lose nothing. */
static double beta_weight(double a, double b, double x, double y)
{
    const double n = a + b;
    const double exponent = stirling_rest(n) - stirling_rest(a) - stirling_rest(b) - deviance(a, n * x) - deviance(b, n * y);
    return sqrt(a / n * b / (2.0 * pi)) * exp(exponent);
}

/* x^a y^b / (B(a, b) I_x(a, b)) as a continued fraction. source Didonato and Morris 1992, ACM TOMS 18:360 (algorithm 708), the
 * even part of DLMF 8.17.22: it takes x and y = 1 - x separately, so a tiny x keeps its digits; evaluated by Lentz's
 * method. Converges in about sqrt(max(a, b)) terms for x below (a+1)/(a+b+2) */
static double beta_fraction(double a, double b, double x, double y)
{
    const double tiny = 1e-300;
    const double lead = a * y - b * x + 1.0;
    double fraction = a * lead / (a + 1.0);
    fraction = fabs(fraction) < tiny ? tiny : fraction;
    double c = fraction;
    double d = 0.0;
    for (int m = 1; m < 20000000; m++) {
        const double odd = a + 2.0 * m - 1.0;
        const double over = m * (b - m) * x / odd;
        const double numerator = (a + m - 1.0) * x / odd * (a + b + m - 1.0) * over;
        const double denominator = m + over + (a + m) * (lead + m * (1.0 + y)) / (odd + 2.0);
        d = denominator + numerator * d;
        c = denominator + numerator / c;
        d = 1.0 / (fabs(d) < tiny ? tiny : d);
        c = fabs(c) < tiny ? tiny : c;
        fraction *= c * d;
        if (fabs(c * d - 1.0) < 2.0 * DBL_EPSILON)
            break;
    }
    return fraction;
}

struct tails {
    double lower, upper; /* P and Q                      */
    double slope;        /* x dP/dx                      */
};

/* Both tails, the smaller one directly. in 0 < x < 1 */
static struct tails beta_tails(double a, double b, double x)
{
    const double y = 1.0 - x;
    const double weight = beta_weight(a, b, x, y);
    struct tails tails = {.slope = weight / y};
    if (x < (a + 1.0) / (a + b + 2.0)) {
        tails.lower = weight / beta_fraction(a, b, x, y);
        tails.upper = 1.0 - tails.lower;
    } else {
        tails.upper = weight / beta_fraction(b, a, y, x);
        tails.lower = 1.0 - tails.upper;
    }
    return tails;
}

double rc_special_beta_cdf(double a, double b, double x)
{
    if (x <= 0.0)
        return 0.0;
    if (x >= 1.0)
        return 1.0;
    return beta_tails(a, b, x).lower;
}

double rc_special_beta_upper(double a, double b, double x)
{
    if (x <= 0.0)
        return 1.0;
    if (x >= 1.0)
        return 0.0;
    return beta_tails(a, b, x).upper;
}

/* Newton's step in log x on the logarithm of the smaller tail, which is nearly straight there.
 * in   wanted  lower and upper tail
 * ends the proposed x; *is_below tells whether the root lies above x */
static double beta_newton(double a, double b, double x, const double wanted[2], bool *is_below)
{
    const struct tails tails = beta_tails(a, b, x);
    double step = 0.0;
    if (wanted[0] <= wanted[1]) {
        *is_below = tails.lower < wanted[0];
        step = log(wanted[0] / tails.lower) * tails.lower / tails.slope;
    } else {
        *is_below = tails.upper > wanted[1];
        step = log(tails.upper / wanted[1]) * tails.upper / tails.slope;
    }
    return x * exp(step);
}

double rc_special_beta_quantile(double a, double b, double u)
{
    return rc_special_beta_quantile_tails(a, b, u, 1.0 - u);
}

double rc_special_beta_quantile_tails(double a, double b, double u, double upper)
{
    if (u <= 0.0)
        return 0.0;
    if (upper <= 0.0)
        return 1.0;
    const double wanted[2] = {u, upper};
    double low = 0.0;
    double high = 1.0;
    double x = a / (a + b);
    for (int round = 0; round < 2000; round++) {
        bool is_below = false;
        double next = beta_newton(a, b, x, wanted, &is_below);
        if (is_below)
            low = x;
        else
            high = x;
        if (!(next > low && next < high)) /* also when the step is not a number */
            next = low > 0.0 ? sqrt(low) * sqrt(high) : high / 1024.0;
        if (fabs(next - x) <= 2.0 * DBL_EPSILON * x || next <= DBL_MIN)
            return next;
        x = next;
    }
    return x;
}
