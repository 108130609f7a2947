/* Latin hypercubes and scrambled Sobol' sequences: their evenness, their randomness, their independence of everything but the
 * flight number, and what they gain. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "sampling_case.h"
#include "support/reference.h"

static void test_plans__registry_has_the_plans(void **state)
{
    (void)state;
    assert_int_equal(rc_plan_count(), 4);
    for (int index = 0; index < rc_plan_count(); index++) {
        const struct rc_plan_kind *plan = rc_plan_at(index);
        assert_ptr_equal(rc_plan_find(plan->name), plan);
        assert_true(strlen(plan->summary) > 0 && plan->draw);
    }
    assert_int_equal(rc_plan_find("plain")->n_replicates, 0);
    assert_int_equal(rc_plan_find("latin")->n_replicates, RC_REPLICATES);
    assert_int_equal(rc_plan_find("sobol")->n_replicates, RC_REPLICATES);
}

/* Values depend on seed, flight and the quantity's path; and on nothing that was drawn before. */
static void test_plans__a_flight_can_be_drawn_alone(void **state)
{
    (void)state;
    struct rc_uncertain quantity[6];
    sampling_unit_cube(quantity, 6);
    const struct rc_sampling sampling = {.n = 6, .quantity = quantity, .n_planned = 1000};
    for (int index = 0; index < rc_plan_count(); index++) {
        const struct rc_plan_kind *plan = rc_plan_at(index);
        double first[6];
        double other[6];
        double again[6];
        plan->draw(&sampling, 7, 777, first);
        plan->draw(&sampling, 7, 778, other);
        plan->draw(&sampling, 7, 777, again);
        assert_memory_equal(first, again, sizeof first);
        plan->draw(&sampling, 8, 777, again);
        for (int x = 0; x < 6; x++) {
            assert_true(first[x] > 0.0 && first[x] < 1.0);
            assert_true((plan->counts || first[x] != other[x]) && first[x] != again[x]);
        }
    }
}

/* Each of a replicate's points lies in a stratum of its own, for sizes that are and are not powers of two. */
static void test_plans__latin_every_stratum_is_met_once(void **state)
{
    (void)state;
    enum { N_QUANTITIES = 5 };
    struct rc_uncertain quantity[N_QUANTITIES];
    sampling_unit_cube(quantity, N_QUANTITIES);
    static const int sizes[] = {1, 2, 3, 7, 64, 100, 1000};
    for (size_t size = 0; size < sizeof sizes / sizeof sizes[0]; size++) {
        const int n = sizes[size];
        const struct rc_sampling sampling = {.n = N_QUANTITIES, .quantity = quantity, .n_planned = (uint64_t)(n * RC_REPLICATES)};
        char *met = calloc((size_t)(n * RC_REPLICATES * N_QUANTITIES), 1);
        assert_non_null(met);
        for (int flight = 0; flight < n * RC_REPLICATES; flight++) {
            double x[N_QUANTITIES];
            rc_plan_find("latin")->draw(&sampling, 3, (uint64_t)flight, x);
            for (int index = 0; index < N_QUANTITIES; index++)
                met[((flight % RC_REPLICATES) * N_QUANTITIES + index) * n + (int)(x[index] * n)]++;
        }
        for (int cell = 0; cell < n * RC_REPLICATES * N_QUANTITIES; cell++)
            assert_int_equal(met[cell], 1);
        free(met);
    }
}

/* The order of strata must be a random one: for cubes of 10 the ordered pair of strata of the first two points takes each of
 * its 90 values equally often. Chi-square with 89 degrees of freedom, mean 89, sd 13.3; 5 sd. */
static void test_plans__latin_orders_of_strata_are_equally_likely(void **state)
{
    (void)state;
    struct rc_uncertain quantity[1];
    sampling_unit_cube(quantity, 1);
    const struct rc_sampling sampling = {.n = 1, .quantity = quantity, .n_planned = 10 * RC_REPLICATES};
    enum { N_SEEDS = 2000 };
    int n_of[10][10] = {{0}};
    for (uint64_t seed = 0; seed < N_SEEDS; seed++) {
        for (uint64_t replicate = 0; replicate < RC_REPLICATES; replicate++) {
            double one = 0.0;
            double other = 0.0;
            rc_plan_find("latin")->draw(&sampling, seed, replicate, &one);
            rc_plan_find("latin")->draw(&sampling, seed, replicate + RC_REPLICATES, &other);
            n_of[(int)(10.0 * one)][(int)(10.0 * other)]++;
        }
    }
    const double expected = N_SEEDS * RC_REPLICATES / 90.0;
    double chi_square = 0.0;
    for (int cell = 0; cell < 100; cell++) {
        const int n = n_of[cell / 10][cell % 10];
        if (cell / 10 == cell % 10)
            assert_int_equal(n, 0);
        else
            chi_square += (n - expected) * (n - expected) / expected;
    }
    if (fabs(chi_square - 89.0) > 5.0 * sqrt(178.0))
        fail_msg("chi-square %.1f, wanted about 89", chi_square);
}

/* Flights beyond the declared ones open further hypercubes, each even in itself. */
static void test_plans__latin_more_flights_than_declared_are_even_too(void **state)
{
    (void)state;
    struct rc_uncertain quantity[1];
    sampling_unit_cube(quantity, 1);
    const struct rc_sampling sampling = {.n = 1, .quantity = quantity, .n_planned = 20 * RC_REPLICATES - 3};
    int met[20] = {0};
    int n_same = 0;
    for (uint64_t point = 20; point < 40; point++) {
        double x = 0.0;
        double before = 0.0;
        rc_plan_find("latin")->draw(&sampling, 1, point * RC_REPLICATES + 5, &x);
        rc_plan_find("latin")->draw(&sampling, 1, (point - 20) * RC_REPLICATES + 5, &before);
        met[(int)(20.0 * x)]++;
        n_same += (int)(20.0 * x) == (int)(20.0 * before);
    }
    for (int stratum = 0; stratum < 20; stratum++)
        assert_int_equal(met[stratum], 1);
    assert_true(n_same < 10); /* the second cube is not the first again: 1 expected */
}

static void test_plans__sobol_shared_digits_are_those_of_the_published_points(void **state)
{
    (void)state;
    /* Nested scrambling keeps which points share their first k digits. In each dimension, points share exactly as many
     * leading digits after it as the published points do before. source tests/reference/sobol_points.csv (SciPy 1.10) */
    struct reference *table = reference_open("sobol_points.csv");
    static const char *columns[] = {"x1_uint32", "x2_uint32", "x3_uint32", "x4_uint32", "x5_uint32", "x21_uint32"};
    static const int dimension[] = {0, 1, 2, 3, 4, 20};
    struct rc_uncertain quantity[21];
    sampling_unit_cube(quantity, 21);
    const struct rc_sampling sampling = {.n = 21, .quantity = quantity};
    int n_checked = 0;
    for (int column = 0; column < 6; column++) {
        for (int row = 0; row < reference_rows(table); row++) {
            /* Gray-code order visits natural number g = i ^ (i >> 1) at place i */
            const unsigned place = (unsigned)reference_number(table, row, "index");
            double values[21];
            double first[21];
            rc_plan_find("sobol")->draw(&sampling, 11, (place ^ place >> 1U) * (uint64_t)RC_REPLICATES + 3, values);
            rc_plan_find("sobol")->draw(&sampling, 11, 3, first);
            const uint32_t wanted = (uint32_t)strtoul(reference_text(table, row, columns[column]), NULL, 16);
            const uint32_t got = (uint32_t)(values[dimension[column]] * 4294967296.0) ^
                                 (uint32_t)(first[dimension[column]] * 4294967296.0);
            int n_wanted = 0;
            int n_got = 0;
            while (n_wanted < 32 && !(wanted << n_wanted & 0x80000000U))
                n_wanted++;
            while (n_got < 32 && !(got << n_got & 0x80000000U))
                n_got++;
            assert_int_equal(n_got, n_wanted);
            n_checked++;
        }
    }
    assert_int_equal(n_checked, 6 * 21);
    reference_close(table);
}

/* The compiled table is the published one, row by row. */
static void test_plans__sobol_directions_are_the_published_ones(void **state)
{
    (void)state;
    static const char *rows[] = {
#define RC_DIRECTION(degree, a, ...) #degree "," #a "," #__VA_ARGS__,
#include "sampling/plans/sobol_directions.def"
#undef RC_DIRECTION
    };
    struct reference *table = reference_open("sobol_joe_kuo.csv");
    const int n_rows = (int)(sizeof rows / sizeof rows[0]);
    assert_int_equal(n_rows, 255);
    for (int row = 0; row < n_rows; row++) {
        char wanted[256];
        (void)snprintf(wanted, sizeof wanted, "%s,%s,%s", reference_text(table, row, "degree"), reference_text(table, row, "a"),
                       reference_text(table, row, "m"));
        char got[256];
        size_t n = 0;
        for (const char *c = rows[row]; *c && n + 1 < sizeof got; c++) {
            if (*c == ',' && c[1] == ' ')
                continue; /* between the m's the table has a space, the source a comma and a space */
            got[n++] = *c;
        }
        got[n] = '\0';
        assert_string_equal(got, wanted);
    }
    reference_close(table);
}

/* A scrambled (t, m, s)-net: in each single dimension 2^m points fill 2^m cells once; in the first two, where t is 0, every
 * elementary interval of area 2^-m holds one point. */
static void test_plans__sobol_powers_of_two_fill_every_cell(void **state)
{
    (void)state;
    enum { M = 8, N = 1 << M, N_QUANTITIES = 40 };
    static double x[N][N_QUANTITIES];
    struct rc_uncertain quantity[N_QUANTITIES];
    sampling_unit_cube(quantity, N_QUANTITIES);
    const struct rc_sampling sampling = {.n = N_QUANTITIES, .quantity = quantity};
    for (uint64_t replicate = 0; replicate < RC_REPLICATES; replicate += 5) {
        for (int point = 0; point < N; point++)
            rc_plan_find("sobol")->draw(&sampling, 5, (uint64_t)point * RC_REPLICATES + replicate, x[point]);
        for (int index = 0; index < N_QUANTITIES; index++) {
            char met[N] = {0};
            for (int point = 0; point < N; point++)
                met[(int)(x[point][index] * N)]++;
            for (int cell = 0; cell < N; cell++)
                assert_int_equal(met[cell], 1);
        }
        for (int bits = 0; bits <= M; bits++) {
            char met[N] = {0};
            for (int point = 0; point < N; point++)
                met[(int)(x[point][0] * (1 << bits)) << (M - bits) | (int)(x[point][1] * (1 << (M - bits)))]++;
            for (int cell = 0; cell < N; cell++)
                assert_int_equal(met[cell], 1);
        }
    }
}

/* Each scramble must be uniform by itself and independent of the others: the mean over seeds of one point is 1/2, and
 * replicates are uncorrelated. 5 standard errors. */
static void test_plans__sobol_scrambles_are_uniform_and_independent(void **state)
{
    (void)state;
    enum { N_SEEDS = 20000 };
    struct rc_uncertain quantity[2];
    sampling_unit_cube(quantity, 2);
    const struct rc_sampling sampling = {.n = 2, .quantity = quantity};
    double sum[4] = {0.0, 0.0, 0.0, 0.0};
    for (uint64_t seed = 0; seed < N_SEEDS; seed++) {
        double one[2];
        double other[2];
        rc_plan_find("sobol")->draw(&sampling, seed, 48, one);
        rc_plan_find("sobol")->draw(&sampling, seed, 49, other);
        sum[0] += one[0] - 0.5;
        sum[1] += (one[0] - 0.5) * (other[0] - 0.5);
        sum[2] += (one[0] - 0.5) * (one[1] - 0.5);
        sum[3] += (one[0] - 0.5) * (one[0] - 0.5) - 1.0 / 12.0;
    }
    assert_true(fabs(sum[0]) < 5.0 * sqrt(N_SEEDS / 12.0));
    assert_true(fabs(sum[1]) < 5.0 * sqrt(N_SEEDS) / 12.0);
    assert_true(fabs(sum[2]) < 5.0 * sqrt(N_SEEDS) / 12.0);
    assert_true(fabs(sum[3]) < 5.0 * sqrt(N_SEEDS / 180.0));
}

/* The sequence has 32 digits; what follows them is random. On a grid of 32 digits the middle of every cell would be drawn: the place
 * inside a cell must be uniform, by mean and variance to 5 standard errors, and not the same twice. */
static void test_plans__sobol_digits_past_the_32nd_are_random(void **state)
{
    (void)state;
    enum { N = 4000 };
    struct rc_uncertain quantity[2];
    sampling_unit_cube(quantity, 2);
    const struct rc_sampling sampling = {.n = 2, .quantity = quantity};
    double sum = 0.0, squares = 0.0, before = -1.0;
    for (uint64_t point = 0; point < N; point++) {
        double x[2];
        rc_plan_find("sobol")->draw(&sampling, 3, point * RC_REPLICATES + 7, x);
        const double cells = x[1] * 4294967296.0, within = cells - floor(cells);
        assert_true(within != before);
        before = within;
        sum += within - 0.5;
        squares += (within - 0.5) * (within - 0.5) - 1.0 / 12.0;
    }
    assert_true(fabs(sum) < 5.0 * sqrt(N / 12.0));
    assert_true(fabs(squares) < 5.0 * sqrt(N / 180.0));
}

/* Mean of the product (1 + (u_j - 1/2)/j), j = 1..5, over a replicate's 1024 points: mean and standard deviation over
 * replicates. */
static void product_means(const char *plan, double *mean, double *sd)
{
    enum { N = 1024 };
    struct rc_uncertain quantity[5];
    sampling_unit_cube(quantity, 5);
    const struct rc_sampling sampling = {.n = 5, .quantity = quantity, .n_planned = N * RC_REPLICATES};
    double sum[RC_REPLICATES] = {0.0};
    for (uint64_t flight = 0; flight < (uint64_t)N * RC_REPLICATES; flight++) {
        double u[5];
        rc_plan_find(plan)->draw(&sampling, 20, flight, u);
        double product = 1.0;
        for (int j = 0; j < 5; j++)
            product *= 1.0 + (u[j] - 0.5) / (j + 1);
        sum[flight % RC_REPLICATES] += product / N;
    }
    *mean = 0.0;
    for (int replicate = 0; replicate < RC_REPLICATES; replicate++)
        *mean += sum[replicate] / RC_REPLICATES;
    double squares = 0.0;
    for (int replicate = 0; replicate < RC_REPLICATES; replicate++)
        squares += (sum[replicate] - *mean) * (sum[replicate] - *mean);
    *sd = sqrt(squares / (RC_REPLICATES - 1));
}

/* source the acceptance figures that go with tests/reference/lowdiscrepancy_integration.csv: |mean - 1| < 5e-5 and a standard
 * deviation of 8e-6 to 6e-5 for scrambled nets, 1.1e-2 +- 35 % for plain draws. Row "product" there has 1.7e-3 for Latin
 * hypercubes over 100 repeats; 16 replicates know a standard deviation to 18 %, so 2.5 of those. */
static void test_plans__gains_on_a_smooth_mean_are_the_published_ones(void **state)
{
    (void)state;
    double mean = 0.0;
    double sd = 0.0;
    product_means("sobol", &mean, &sd);
    print_message("sobol: mean off by %.2g, sd %.2g\n", mean - 1.0, sd);
    assert_true(fabs(mean - 1.0) < 5e-5 && sd > 8e-6 && sd < 6e-5);
    product_means("plain", &mean, &sd);
    assert_true(fabs(sd / 1.1e-2 - 1.0) < 0.35);
    product_means("latin", &mean, &sd);
    assert_true(fabs(sd / 1.719e-3 - 1.0) < 0.45 && fabs(mean - 1.0) < 5.0 * 1.719e-3 / 4.0);
}

static void test_plans__sobol_too_many_quantities_or_flights_are_refused(void **state)
{
    (void)state;
    const struct rc_plan_kind *plan = rc_plan_find("sobol");
    struct rc_error err = {.status = RC_OK};
    const struct rc_sampling most = {.n = 256};
    assert_int_equal(plan->check(&most, 1000000, &err), RC_OK);
    const struct rc_sampling more = {.n = 257};
    assert_int_equal(plan->check(&more, 1000000, &err), RC_BAD_INPUT);
    assert_string_equal(err.where, "run.plan");
    assert_non_null(strstr(err.what, "257 uncertain quantities, sobol has directions for 256"));
    assert_int_equal(plan->check(&most, UINT64_C(1) << 37U, &err), RC_BAD_INPUT);
    assert_non_null(strstr(err.what, "use plain"));
}

/* The greatest uniform number that arithmetic could round up to 1. */
static void test_plans__uniforms_stay_inside(void **state)
{
    (void)state;
    const double most = rc_plan_uniform(UINT64_C(4294967295), 4294967296.0, 1.0 - 1e-16);
    assert_true(most < 1.0);
    assert_true(rc_plan_uniform(0, 4294967296.0, 1e-16) > 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_plans__registry_has_the_plans),
        cmocka_unit_test(test_plans__a_flight_can_be_drawn_alone),
        cmocka_unit_test(test_plans__latin_every_stratum_is_met_once),
        cmocka_unit_test(test_plans__latin_orders_of_strata_are_equally_likely),
        cmocka_unit_test(test_plans__latin_more_flights_than_declared_are_even_too),
        cmocka_unit_test(test_plans__sobol_shared_digits_are_those_of_the_published_points),
        cmocka_unit_test(test_plans__sobol_directions_are_the_published_ones),
        cmocka_unit_test(test_plans__sobol_powers_of_two_fill_every_cell),
        cmocka_unit_test(test_plans__sobol_scrambles_are_uniform_and_independent),
        cmocka_unit_test(test_plans__gains_on_a_smooth_mean_are_the_published_ones),
        cmocka_unit_test(test_plans__sobol_digits_past_the_32nd_are_random),
        cmocka_unit_test(test_plans__sobol_too_many_quantities_or_flights_are_refused),
        cmocka_unit_test(test_plans__uniforms_stay_inside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
