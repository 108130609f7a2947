/* Paired comparisons against tests/reference/paired_comparison.csv (published examples and SciPy), and coverage of the band. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/pairing.h"
#include "numeric/numeric.h"
#include "support/models.h"

static void close_to(const char *what, int row, double got, double wanted, double relative)
{
    if (!(fabs(got - wanted) <= relative * fabs(wanted) + 1e-9))
        fail_msg("row %d, %s: got %.12g, wanted %.12g", row, what, got, wanted);
}

static void test_pairing__tables_have_their_tests_and_intervals(void **state)
{
    (void)state;
    struct reference *table = reference_open("paired_comparison.csv");
    for (int row = 0; row < reference_rows(table); row++) {
        const struct rc_pairs pairs = {(int64_t)reference_number(table, row, "a_both_pass"),
                                       (int64_t)reference_number(table, row, "b_only_A_passes"),
                                       (int64_t)reference_number(table, row, "c_only_B_passes"),
                                       (int64_t)reference_number(table, row, "d_both_fail")};
        const struct rc_range range = rc_pairing_interval(&pairs, 0.95);
        close_to("exact p", row, rc_pairing_test(&pairs), reference_number(table, row, "mcnemar_exact_p"), 1e-8);
        close_to("low", row, range.low, reference_number(table, row, "tango95_lo"), 1e-6);
        close_to("high", row, range.high, reference_number(table, row, "tango95_hi"), 1e-6);
    }
    assert_true(reference_rows(table) > 5);
    reference_close(table);
}

enum { DESIGNS = 5, FLIGHTS = 400 };

/* Designs of known odds on shared flights: flight f of design d meets where a common and an own normal number add up to at most its
 * limit. */
static void fly(unsigned char *met, uint64_t seed, const double *limit)
{
    for (int flight = 0; flight < FLIGHTS; flight++) {
        const double common = rc_special_normal_quantile(model_uniform(seed, (uint64_t)flight, 0));
        for (int design = 0; design < DESIGNS; design++) {
            const double own = rc_special_normal_quantile(model_uniform(seed, (uint64_t)flight, design + 1));
            met[design * FLIGHTS + flight] = 0.95 * common + sqrt(1.0 - 0.95 * 0.95) * own <= limit[design];
        }
    }
}

static void test_pairing__band_and_best_set_hold_the_truth(void **state)
{
    (void)state;
    enum { REPEATS = 300 };
    static const double limit[DESIGNS] = {0.5, 0.8, 1.0, 1.02, 0.2};
    static unsigned char met[DESIGNS * FLIGHTS];
    const struct rc_designs designs = {DESIGNS, FLIGHTS, met};
    int n_band = 0, n_best = 0, n_worst_kept = 0;
    double width = 0.0, bonferroni = 0.0;
    for (uint64_t seed = 1; seed <= REPEATS; seed++) {
        struct rc_range band[DESIGNS];
        struct rc_error err;
        int may_be_best[DESIGNS];
        int holds = 1;
        fly(met, seed, limit);
        assert_int_equal(rc_pairing_band(band, &designs, 0.95, seed, &err), RC_OK);
        rc_pairing_best(may_be_best, &designs, 0.95);
        for (int design = 0; design < DESIGNS; design++) {
            const double truth = rc_special_normal_cdf(limit[design]);
            holds = holds && band[design].low <= truth && truth <= band[design].high;
        }
        n_band += holds;
        n_best += may_be_best[3];
        n_worst_kept += may_be_best[4];
        struct rc_range apart;
        int64_t n_met = 0;
        for (int flight = 0; flight < FLIGHTS; flight++)
            n_met += met[flight];
        rc_odds_interval(n_met, FLIGHTS, 1.0 - 0.05 / DESIGNS, 2, &apart.low, &apart.high);
        width += band[0].high - band[0].low;
        bonferroni += apart.high - apart.low;
    }
    print_message("band held in %d, best kept in %d, worst kept in %d of %d; width %.3f of Bonferroni's\n", n_band, n_best,
                  n_worst_kept, REPEATS, width / bonferroni);
    assert_true(n_band >= 0.94 * REPEATS && n_best >= 0.94 * REPEATS);
    assert_true(n_worst_kept == 0 && width < bonferroni);
}

/* The same odds told apart: what pairing saves. */
static void test_pairing__pairs_tell_more_than_unpaired_flights(void **state)
{
    (void)state;
    const struct rc_pairs pairs = {900, 20, 5, 75}; /* SciPy: unpaired -0.0099 to 0.0400, paired 0.0057 to 0.0263 */
    const struct rc_range range = rc_pairing_interval(&pairs, 0.95);
    assert_true(range.low > 0.0 && range.high - range.low < 0.5 * 0.0499);
    assert_true(rc_pairing_test_better(&pairs) < 0.003);
    const struct rc_pairs none = {50, 0, 0, 50};
    assert_true(rc_pairing_test(&none) == 1.0 && rc_pairing_test_better(&none) == 1.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pairing__tables_have_their_tests_and_intervals),
        cmocka_unit_test(test_pairing__band_and_best_set_hold_the_truth),
        cmocka_unit_test(test_pairing__pairs_tell_more_than_unpaired_flights),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
