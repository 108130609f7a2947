/* The mixture that importance sampling draws from: its density, and what the fit finds in points of a known mixture. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/mixture.h"
#include "numeric/numeric.h"

enum { N_POINTS = 2000, N = 3 };

/* Points of normals of unit variance about centres, the first with `share` of them. */
static void draw(double *scores, double *weight, double centres[2][N], double share)
{
    struct rc_pcg pcg = rc_stream_open(5, 0, 1);
    for (int point = 0; point < N_POINTS; point++) {
        const double *centre = centres[point < share * N_POINTS ? 0 : 1];
        for (int index = 0; index < N; index++)
            scores[point * N + index] = centre[index] + rc_special_normal_quantile(rc_stream_uniform(&pcg));
        weight[point] = 1.0 / N_POINTS;
    }
}

static double distance(const double *one, const double *other)
{
    double sum = 0.0;
    for (int index = 0; index < N; index++)
        sum += (one[index] - other[index]) * (one[index] - other[index]);
    return sqrt(sum);
}

/* log(sum_k s_k phi(x - c_k)/phi(x)), from the normal densities themselves. */
static void test_mixture__density_is_the_sum_of_its_parts(void **state)
{
    struct rc_mixture mixture;
    const double x[N] = {0.3, -1.2, 2.0}, shares[] = {0.25, 0.75};
    const double centre[2][N] = {{1.0, 0.5, -0.5}, {0.0, -2.0, 1.0}};
    const double origin[N] = {0.0, 0.0, 0.0};
    double ratio = 0.0;
    (void)state;
    assert_int_equal(rc_mixture_begin(&mixture, N, NULL), RC_OK);
    mixture.n_parts = 2;
    for (int part = 0; part < 2; part++) {
        for (int index = 0; index < N; index++)
            mixture.centre[part * N + index] = centre[part][index];
        const double own = distance(x, centre[part]), plain = distance(x, origin);
        ratio += shares[part] * exp(-0.5 * own * own) / exp(-0.5 * plain * plain);
    }
    assert_true(fabs(rc_mixture_log_ratio(&mixture, shares, x) - log(ratio)) < 1e-13);
    rc_mixture_end(&mixture);
}

/* Two parts, one of them with a twentieth of the points; and no second part where there is none. Centres within 5 standard
 * errors. */
static void test_mixture__fit_finds_as_many_parts_as_there_are(void **state)
{
    double *scores = malloc(N_POINTS * N * sizeof *scores), *weight = malloc(N_POINTS * sizeof *weight);
    double apart[2][N] = {{3.0, 0.0, 0.0}, {-3.0, 1.0, 0.0}}, together[2][N] = {{3.0, 0.0, 0.0}, {3.0, 0.0, 0.0}};
    const struct rc_mixture_points points = {.n = N_POINTS, .n_independent = N_POINTS, .scores = scores, .weight = weight};
    struct rc_mixture mixture;
    (void)state;
    assert_true(scores && weight);
    assert_int_equal(rc_mixture_begin(&mixture, N, NULL), RC_OK);
    draw(scores, weight, apart, 0.95);
    assert_int_equal(rc_mixture_fit(&mixture, &points, NULL), RC_OK);
    assert_int_equal(mixture.n_parts, 2);
    const int large = mixture.share[1] > mixture.share[0];
    assert_true(fabs(mixture.share[large] - 0.95) < 0.01 && fabs(mixture.share[!large] - 0.05) < 0.01);
    assert_true(distance(mixture.centre + large * N, apart[0]) < 5.0 * sqrt(N / (0.95 * N_POINTS)));
    assert_true(distance(mixture.centre + !large * N, apart[1]) < 5.0 * sqrt(N / (0.05 * N_POINTS)));
    draw(scores, weight, together, 0.5);
    assert_int_equal(rc_mixture_fit(&mixture, &points, NULL), RC_OK);
    assert_int_equal(mixture.n_parts, 1);
    assert_true(distance(mixture.centre, together[0]) < 5.0 * sqrt((double)N / N_POINTS));
    const struct rc_mixture_points few = {.n = 60, .n_independent = 60.0, .scores = scores, .weight = weight};
    assert_int_equal(rc_mixture_fit(&mixture, &few, NULL), RC_OK);
    assert_int_equal(mixture.n_parts, 1); /* an outlier is no part: what it gains is less than it costs */
    rc_mixture_end(&mixture);
    free(scores);
    free(weight);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_mixture__density_is_the_sum_of_its_parts),
        cmocka_unit_test(test_mixture__fit_finds_as_many_parts_as_there_are),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
