/* Ellipses around scattered points: centre and axes from mean and covariance, size by rank, so that the share inside is stated
 * whatever the shape of the scatter. Symbols: (u, w) a point on the axes, in their standard deviations; u^2 + w^2 its squared
 * distance (Mahalanobis). */
#include <math.h>
#include <stdlib.h>

#include "numeric/sorted.h"
#include "rollcast/analysis.h"

static const double share_of[RC_N_ELLIPSES] = {0.5, 0.9, 0.99};

/* Drop points that are not finite. ends how many are left */
static int64_t keep_finite(double *east, double *north, int64_t n)
{
    int64_t kept = 0;
    for (int64_t i = 0; i < n; i++) {
        if (!isfinite(east[i]) || !isfinite(north[i]))
            continue;
        east[kept] = east[i];
        north[kept++] = north[i];
    }
    return kept;
}

/* Centre, axes and their standard deviations. in n >= 2 */
static void find_axes(const double *east, const double *north, int64_t n, struct rc_dispersion *found)
{
    double mean_east = 0.0, mean_north = 0.0, see = 0.0, snn = 0.0, sen = 0.0;
    for (int64_t i = 0; i < n; i++) { /* Welford 1962, for a pair */
        const double de = east[i] - mean_east, dn = north[i] - mean_north;
        mean_east += de / (double)(i + 1);
        mean_north += dn / (double)(i + 1);
        see += de * (east[i] - mean_east);
        snn += dn * (north[i] - mean_north);
        sen += de * (north[i] - mean_north);
    }
    const double scale = 1.0 / (double)(n - 1);
    const double half_sum = 0.5 * scale * (see + snn), half_difference = 0.5 * scale * (snn - see), product = scale * sen;
    const double root = hypot(half_difference, product);
    /* Bearing of the long axis: half the angle of (variance north - variance east, 2 covariance). */
    const double azimuth = 0.5 * atan2(product, half_difference);
    found->centre_east = mean_east;
    found->centre_north = mean_north;
    found->major_sd = sqrt(half_sum + root);
    found->minor_sd = sqrt(fmax(half_sum - root, 0.0));
    found->azimuth = azimuth < 0.0 ? azimuth + 3.14159265358979323846 : azimuth;
}

/* Distance of each point from the centre in standard deviations of the axes; an axis without extent counts for nothing. */
static void put_distances(double *east, const double *north, int64_t n, const struct rc_dispersion *found)
{
    const double sine = sin(found->azimuth), cosine = cos(found->azimuth);
    const double per_major = found->major_sd > 0.0 ? 1.0 / found->major_sd : 0.0;
    const double per_minor = found->minor_sd > 1e-9 * found->major_sd ? 1.0 / found->minor_sd : 0.0;
    for (int64_t i = 0; i < n; i++) {
        const double e = east[i] - found->centre_east, m = north[i] - found->centre_north;
        east[i] = hypot((e * sine + m * cosine) * per_major, (e * cosine - m * sine) * per_minor);
    }
}

void rc_ellipse_dispersion(double *east, double *north, int64_t n, double confidence, struct rc_dispersion *found)
{
    *found = (struct rc_dispersion){.n = keep_finite(east, north, n), .centre_east = NAN, .centre_north = NAN, .major_sd = NAN,
                                    .minor_sd = NAN, .azimuth = NAN};
    for (int i = 0; i < RC_N_ELLIPSES; i++)
        found->ellipse[i] = (struct rc_ellipse){.share = share_of[i], .scale = NAN, .scale_low = NAN, .scale_high = NAN};
    if (found->n < RC_ELLIPSE_LEAST_POINTS)
        return;
    find_axes(east, north, found->n, found);
    put_distances(east, north, found->n, found);
    qsort(east, (size_t)found->n, sizeof *east, rc_sorted_rising);
    for (int i = 0; i < RC_N_ELLIPSES; i++) {
        struct rc_ellipse *const ellipse = &found->ellipse[i];
        ellipse->scale = rc_sorted_quantile(east, found->n, ellipse->share);
        const struct rc_order order = rc_order_interval(found->n, ellipse->share, confidence);
        ellipse->scale_low = order.lower > 0 ? east[order.lower - 1] : 0.0;
        ellipse->scale_high = order.upper > 0 ? east[order.upper - 1] : INFINITY;
    }
}

double rc_ellipse_area(const struct rc_dispersion *found, double scale)
{
    return 3.14159265358979323846 * scale * scale * found->major_sd * found->minor_sd;
}
