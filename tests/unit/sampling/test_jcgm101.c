/* The worked examples of JCGM 101:2008, clause 9, through the plans that flights use: one million trials each. Wanted are exact values
 * (9.2, 9.4) or those of ten million trials (9.3, 9.5: NumPy; the published digits, from memory but for the gauge block's, lie within
 * 0.002 mg and 1 nm of them), with a tolerance for a million trials. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "rollcast/analysis.h"
#include "sampling_case.h"

enum { N_TRIALS = 1 << 20, N_MOST = 12 };

/* One example: its quantities, its formula, what comes out. */
struct example {
    const char *name;
    int n;
    struct {
        const char *kind;
        double p[3];
    } input[N_MOST];
    double rank;                             /* correlation of the first two inputs, as a rank correlation; 0 = none */
    double (*formula)(const double *x);
    double share;                            /* of the interval */
    double mean, sd, low, high;              /* wanted */
    double mean_within, sd_within, ends_within;
};

static double sum_of_four(const double *x)
{
    return x[0] + x[1] + x[2] + x[3];
}

/* Clause 9.3: mass of a weight in air, deviation from nominal [mg]. */
static double mass(const double *x)
{
    return (x[0] + x[1]) * (1.0 + (x[2] - 1.2) * (1.0 / x[3] - 1.0 / x[4])) - 100000.0;
}

/* Clause 9.4: sum of two squares, in 1e-6. */
static double two_squares(const double *x)
{
    return 1e6 * (x[0] * x[0] + x[1] * x[1]);
}

/* Clause 9.5: end gauge, deviation from nominal [nm]. The curvilinear trapezoids are two uniforms each, the arc sine is a uniform
 * angle. */
static double gauge(const double *x)
{
    const double length = 50000623.0 + 25.0 * x[0];
    const double comparator = 215.0 + 6.0 * x[1] + 4.0 * x[2] + 7.0 * x[3];
    const double swing = 0.5 * sin(2.0 * acos(-1.0) * x[6]);
    const double low_a = (-1e-6 - 0.1e-6) + 0.2e-6 * x[7];
    const double expansion = low_a + (-2.0 * low_a) * x[8];
    const double low_b = (-0.050 - 0.025) + 0.050 * x[9];
    const double warmth = low_b + (-2.0 * low_b) * x[10];
    return length + comparator - length * (expansion * (x[5] + swing) + x[4] * warmth) - 5e7;
}

#define ROOT3 1.7320508075688772
#define UNIT {"uniform", {0.0, 1.0}}
#define SQUARE {"uniform", {-ROOT3, ROOT3}}
static const struct example examples[] = {
    {"9.2.2", 4, {{"normal", {0, 1}}, {"normal", {0, 1}}, {"normal", {0, 1}}, {"normal", {0, 1}}}, 0, sum_of_four, 0.95, 0.0, 2.0,
     -3.919928, 3.919928, 0.008, 0.006, 0.02},
    {"9.2.3", 4, {SQUARE, SQUARE, SQUARE, SQUARE}, 0, sum_of_four, 0.95, 0.0, 2.0, -3.879407, 3.879407, 0.008, 0.006, 0.015},
    {"9.2.4", 4, {SQUARE, SQUARE, SQUARE, {"uniform", {-10 * ROOT3, 10 * ROOT3}}}, 0, sum_of_four, 0.95, 0.0, 10.148892, -17.015814,
     17.015814, 0.04, 0.03, 0.04},
    {"9.3", 5,
     {{"normal", {100000.0, 0.05}}, {"normal", {1.234, 0.02}}, {"uniform", {1.1, 1.3}}, {"uniform", {7000, 9000}},
      {"uniform", {7950, 8050}}}, 0, mass, 0.95, 1.2340, 0.07546, 1.0845, 1.3835, 0.0004, 0.0003, 0.0015},
    {"9.4 x1 0", 2, {{"normal", {0, 0.005}}, {"normal", {0, 0.005}}}, 0, two_squares, 0.95, 50.0, 50.0, 1.26589, 184.444, 0.3,
     0.4, 0.8},
    {"9.4 x1 0.010", 2, {{"normal", {0.01, 0.005}}, {"normal", {0, 0.005}}}, 0, two_squares, 0.95, 150.0, 111.8034, 8.546845,
     427.1233, 0.6, 0.6, 1.6},
    {"9.4 x1 0.050", 2, {{"normal", {0.05, 0.005}}, {"normal", {0, 0.005}}}, 0, two_squares, 0.95, 2550.0, 502.49378, 1638.477,
     3603.358, 3.0, 2.0, 7.0},
    {"9.4 x1 0, r 0.9", 2, {{"normal", {0, 0.005}}, {"normal", {0, 0.005}}}, 0.9, two_squares, 0.95, 50.0, 67.268, 0.5610,
     241.22, 0.4, 0.6, 1.5},
    {"9.4 x1 0.010, r 0.9", 2, {{"normal", {0.01, 0.005}}, {"normal", {0, 0.005}}}, 0.9, two_squares, 0.95, 150.0, 120.520, 29.081,
     478.31, 0.6, 0.8, 2.0},
    {"9.4 x1 0.050, r 0.9", 2, {{"normal", {0.05, 0.005}}, {"normal", {0, 0.005}}}, 0.9, two_squares, 0.95, 2550.0, 504.505,
     1696.86, 3659.80, 3.0, 2.0, 7.0},
    {"9.5", 11,
     {{"student_t", {0, 1, 18}}, {"student_t", {0, 1, 24}}, {"student_t", {0, 1, 5}}, {"student_t", {0, 1, 8}},
      {"uniform", {9.5e-6, 13.5e-6}}, {"normal", {-0.1, 0.2}}, UNIT, UNIT, UNIT, UNIT, UNIT},
     0, gauge, 0.99, 838.02, 35.82, 744.3, 931.7, 0.2, 0.2, 1.0},
};

/* All trials of an example under a plan. out values (N_TRIALS) */
static void run(const struct example *example, const struct rc_plan_kind *plan, double *values)
{
    struct rc_uncertain quantity[N_MOST];
    for (int index = 0; index < example->n; index++) {
        char path[32];
        (void)snprintf(path, sizeof path, "x[%d]", index);
        const double *p = example->input[index].p;
        quantity[index] = sampling_quantity(path, example->input[index].kind, p[0], p[1]);
        quantity[index].distribution.p[2] = p[2];
    }
    struct rc_sampling sampling = {.n = example->n, .quantity = quantity, .n_planned = N_TRIALS};
    struct rc_copula *copula = NULL;
    /* 9.4 gives the ordinary correlation of normals; its rank correlation is (6/pi) asin(r/2) */
    const struct rc_rank_pair pair = {0, 1, 6.0 / acos(-1.0) * asin(0.5 * example->rank)};
    if (example->rank != 0.0)
        assert_int_equal(rc_copula_create(&copula, &sampling, &pair, 1, NULL), RC_OK);
    sampling.copula = copula;
    for (uint64_t trial = 0; trial < N_TRIALS; trial++) {
        double x[N_MOST];
        plan->draw(&sampling, 101, trial, x);
        values[trial] = example->formula(x);
    }
    rc_copula_free(copula);
}

static int rising(const void *one, const void *other)
{
    const double difference = *(const double *)one - *(const double *)other;
    return (difference > 0.0) - (difference < 0.0);
}

static void check(const struct example *example, const char *plan, const char *what, double got, double wanted, double within)
{
    if (!(fabs(got - wanted) <= within))
        fail_msg("%s under %s: %s %.8g, wanted %.8g within %.2g", example->name, plan, what, got, wanted, within);
}

static void test_jcgm101__examples_come_out_under_every_plan(void **state)
{
    (void)state;
    double *values = malloc(N_TRIALS * sizeof *values);
    assert_non_null(values);
    for (size_t index = 0; index < sizeof examples / sizeof examples[0]; index++) {
        const struct example *example = &examples[index];
        for (int place = 0; place < rc_plan_count(); place++) {
            const struct rc_plan_kind *plan = rc_plan_at(place);
            if (plan->counts) /* most of its flights depend on others */
                continue;
            run(example, plan, values);
            const struct rc_mean mean = rc_mean_interval(values, N_TRIALS, plan->n_replicates, 0.95);
            check(example, plan->name, "mean", mean.mean, example->mean, example->mean_within);
            const struct rc_spread spread = rc_spread_of(values, N_TRIALS);
            check(example, plan->name, "sd", spread.sd, example->sd, example->sd_within);
            qsort(values, N_TRIALS, sizeof *values, rising);
            /* the probabilistically symmetric interval of clause 7.7 */
            const int64_t inside = llround(example->share * N_TRIALS);
            const int64_t below = (N_TRIALS - inside) / 2;
            check(example, plan->name, "lower end", values[below - 1], example->low, example->ends_within);
            check(example, plan->name, "upper end", values[below - 1 + inside], example->high, example->ends_within);
        }
    }
    free(values);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_jcgm101__examples_come_out_under_every_plan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
