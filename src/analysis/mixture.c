/* Mixture of shifted normal densities. Symbols: c_k and s_k a part's centre and share; phi(x - c)/phi(x) = exp(c x - |c|^2/2) the
 * ratio of its density to that of plain scores; r_k the part of a point that part k explains. */
#include "mixture.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"

enum { FIT_POINTS = 2048, FIT_ROUNDS = 30 };

/* A round that gains less likelihood than this a point ends the fit. */
static const double least_gain = 1e-4;

rc_status rc_mixture_begin(struct rc_mixture *mixture, int n, struct rc_error *err)
{
    *mixture = (struct rc_mixture){.n = n};
    mixture->centre = calloc(RC_MIXTURE_MOST * (size_t)n, sizeof *mixture->centre);
    return mixture->centre ? RC_OK : rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a mixture over %d scores", n);
}

void rc_mixture_end(struct rc_mixture *mixture)
{
    free(mixture->centre);
    mixture->centre = NULL;
}

/* Terms log(s_k phi(x - c_k)/phi(x)). out term (n_parts). ends the logarithm of their sum */
static double log_terms(const struct rc_mixture *mixture, const double *shares, const double *scores, double *term)
{
    double most = -INFINITY, sum = 0.0;
    for (int part = 0; part < mixture->n_parts; part++) {
        const double *centre = mixture->centre + (size_t)part * (size_t)mixture->n;
        double exponent = 0.0;
        for (int index = 0; index < mixture->n; index++)
            exponent += centre[index] * (scores[index] - 0.5 * centre[index]);
        term[part] = exponent + log(shares[part]);
        most = fmax(most, term[part]);
    }
    for (int part = 0; part < mixture->n_parts; part++)
        sum += exp(term[part] - most);
    return most + log(fmax(sum, 1.0)); /* the greatest term alone adds 1 */
}

double rc_mixture_log_ratio(const struct rc_mixture *mixture, const double *shares, const double *scores)
{
    double term[RC_MIXTURE_MOST];
    return log_terms(mixture, shares, scores, term);
}

/* Which points are fitted: all, or every so many-th. */
static int stride_of(const struct rc_mixture_points *points)
{
    return (points->n + FIT_POINTS - 1) / FIT_POINTS;
}

/* One round of expectation and maximisation. in sum memory for (RC_MIXTURE_MOST x n). out worst the point explained worst.
 * ends the mean logarithm of the density's ratio before the round */
static double improve(struct rc_mixture *mixture, const struct rc_mixture_points *points, double *sum, int *worst)
{
    const size_t n = (size_t)mixture->n;
    double total[RC_MIXTURE_MOST] = {0.0}, term[RC_MIXTURE_MOST], all = 0.0, likelihood = 0.0, least = INFINITY;
    memset(sum, 0, RC_MIXTURE_MOST * n * sizeof *sum);
    for (int point = 0; point < points->n; point += stride_of(points)) {
        const double *scores = points->scores + (size_t)point * n;
        const double weight = points->weight[point];
        const double log_sum = log_terms(mixture, mixture->share, scores, term);
        likelihood += weight * log_sum;
        all += weight;
        if (log_sum < least) {
            least = log_sum;
            *worst = point;
        }
        for (int part = 0; part < mixture->n_parts; part++) {
            const double own = weight * exp(term[part] - log_sum);
            total[part] += own;
            for (size_t index = 0; index < n; index++)
                sum[(size_t)part * n + index] += own * scores[index];
        }
    }
    for (int part = 0; part < mixture->n_parts; part++) {
        mixture->share[part] = fmax(total[part] / all, 1e-12);
        for (size_t index = 0; index < n && total[part] > 0.0; index++)
            mixture->centre[(size_t)part * n + index] = sum[(size_t)part * n + index] / total[part];
    }
    return likelihood / all;
}

/* Rounds until the likelihood no longer grows. ends it */
static double settle(struct rc_mixture *mixture, const struct rc_mixture_points *points, double *sum, int *worst)
{
    double likelihood = -INFINITY;
    for (int round = 0; round < FIT_ROUNDS; round++) {
        const double now = improve(mixture, points, sum, worst);
        const bool is_settled = now - likelihood < least_gain;
        likelihood = now;
        if (is_settled)
            break;
    }
    return likelihood;
}

/* Put a part at a point, with an equal share. */
static void add_part(struct rc_mixture *mixture, const double *scores)
{
    const double share = 1.0 / (mixture->n_parts + 1);
    for (int part = 0; part < mixture->n_parts; part++)
        mixture->share[part] *= 1.0 - share;
    mixture->share[mixture->n_parts] = share;
    memcpy(mixture->centre + (size_t)mixture->n_parts * (size_t)mixture->n, scores, (size_t)mixture->n * sizeof *scores);
    mixture->n_parts++;
}

rc_status rc_mixture_fit(struct rc_mixture *mixture, const struct rc_mixture_points *points, struct rc_error *err)
{
    const size_t n = (size_t)mixture->n;
    struct rc_mixture before = {.n = mixture->n};
    const double cost = 0.5 * (mixture->n + 1) * log(points->n_independent) / points->n_independent;
    int worst = 0;
    double *sum = malloc(RC_MIXTURE_MOST * n * sizeof *sum);
    rc_status status = rc_mixture_begin(&before, mixture->n, err);
    if (status == RC_OK && !sum)
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a mixture over %d scores", mixture->n);
    if (status != RC_OK)
        goto done;
    mixture->n_parts = 1;
    mixture->share[0] = 1.0;
    memset(mixture->centre, 0, n * sizeof *mixture->centre);
    double likelihood = settle(mixture, points, sum, &worst);
    while (mixture->n_parts < RC_MIXTURE_MOST) {
        memcpy(before.centre, mixture->centre, RC_MIXTURE_MOST * n * sizeof *before.centre);
        memcpy(before.share, mixture->share, sizeof before.share);
        add_part(mixture, points->scores + (size_t)worst * n);
        const double grown = settle(mixture, points, sum, &worst);
        if (!(grown - likelihood > cost)) {
            mixture->n_parts--;
            memcpy(mixture->centre, before.centre, RC_MIXTURE_MOST * n * sizeof *before.centre);
            memcpy(mixture->share, before.share, sizeof before.share);
            break;
        }
        likelihood = grown;
    }
done:
    free(sum);
    rc_mixture_end(&before);
    return status;
}
