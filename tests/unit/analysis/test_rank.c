/* Ranking from given data against closed forms: tests/reference/sensitivity.csv. What a good estimator errs by at these numbers of
 * flights was measured elsewhere (equal-count bins, corrected; 200 repeats): the root mean squares stand beside each check. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/rank.h"
#include "support/fared.h"
#include "support/models.h"

enum { MOST_INPUTS = 8 };

/* Ranked once over n flights, in chunks as a store would give them. */
struct ranked {
    struct rc_rank_total total;
    struct rc_rank_row row[MOST_INPUTS], dummy;
};

/* How a case differs from the plain one. */
struct how {
    double threshold;        /* flights at or below it meet the criterion; the outcome is 1 or 0 if `is_yes_no` */
    int is_yes_no;
    int n_replicates;
    int flat_input;          /* this input is replaced by a constant; -1 none */
    int lose_each;           /* every so many flights have no outcome; 0 none */
};

static void rank_model(struct ranked *ranked, const struct model *model, uint64_t seed, int n, const struct how *how)
{
    double *column[MOST_INPUTS];
    double *outcome = malloc((size_t)n * sizeof *outcome);
    unsigned char *met = malloc((size_t)n);
    struct rc_rank *rank = NULL;
    struct rc_error err;
    for (int input = 0; input < model->n; input++)
        column[input] = malloc((size_t)n * sizeof **column);
    for (int flight = 0; flight < n; flight++) {
        double u[MOST_INPUTS];
        for (int input = 0; input < model->n; input++) {
            u[input] = model_uniform(seed, (uint64_t)flight, input);
            column[input][flight] = input == how->flat_input ? 3.0 : exp(3.0 * u[input]); /* any rising function ranks the same */
        }
        outcome[flight] = model->outcome(u);
        met[flight] = outcome[flight] <= how->threshold;
        if (how->is_yes_no)
            outcome[flight] = met[flight];
        if (how->lose_each > 0 && flight % how->lose_each == 0)
            outcome[flight] = NAN;
    }
    const struct rc_rank_options options = {.n_quantities = model->n, .n_flights = n, .n_replicates = how->n_replicates,
                                            .seed = seed, .confidence = 0.95};
    assert_int_equal(rc_rank_create(&rank, &options, &err), RC_OK);
    for (int first = 0; first < n;) {
        const int take = first == 0 ? (n < RC_RANK_SAMPLE ? n : RC_RANK_SAMPLE) : n - first < 30000 ? n - first : 30000;
        const double *at[MOST_INPUTS];
        for (int input = 0; input < model->n; input++)
            at[input] = column[input] + first;
        const struct rc_rank_chunk chunk = {first, take, at, outcome + first, met + first};
        assert_int_equal(rc_rank_add(rank, &chunk, &err), RC_OK);
        first += take;
    }
    ranked->total = rc_rank_total(rank);
    assert_int_equal(rc_rank_finish(rank, ranked->row, &ranked->dummy, &err), RC_OK);
    rc_rank_free(rank);
    for (int input = 0; input < model->n; input++)
        free(column[input]);
    free(outcome);
    free(met);
}

static const struct how plain = {.threshold = 0.0, .flat_input = -1};

static void holds(double got, double wanted, double most)
{
    if (!(fabs(got - wanted) <= most))
        fail_msg("got %.5f, wanted %.5f within %.5f", got, wanted, most);
}

static void input_name(char name[8], int input)
{
    (void)snprintf(name, 8, "X%d", input + 1);
}

static void test_rank__ishigami_has_its_first_order_shares(void **state)
{
    (void)state;
    struct reference *table = reference_open("sensitivity.csv");
    static const double error[3] = {0.0068, 0.0069, 0.0014}; /* root mean square at 10,000 flights */
    struct ranked ranked;
    rank_model(&ranked, &model_ishigami, 1, 10000, &plain);
    for (int input = 0; input < 3; input++) {
        char name[8];
        input_name(name, input);
        holds(ranked.row[input].share.value, model_known(table, model_ishigami.name, name, "S_first"), 4.0 * error[input]);
    }
    holds(ranked.total.mean, 3.5, 4.0 * sqrt(13.8445879407 / 10000.0));
    holds(ranked.total.sd, sqrt(13.8445879407), 0.1);
    assert_true(!ranked.row[0].is_noise && !ranked.row[1].is_noise);
    reference_close(table);
}

static void test_rank__g_function_has_its_first_order_shares(void **state)
{
    (void)state;
    struct reference *table = reference_open("sensitivity.csv");
    struct ranked ranked;
    rank_model(&ranked, &model_g, 2, 10000, &plain);
    for (int input = 0; input < 8; input++) {
        char name[8];
        input_name(name, input);
        holds(ranked.row[input].share.value, model_known(table, model_g.name, name, "S_first"), 0.03);
        if (input > 3) /* shares of 7e-5 */
            assert_true(ranked.row[input].share.value < 0.006);
    }
    reference_close(table);
}

static void test_rank__linear_gaussian_has_its_shares_and_rank_correlations(void **state)
{
    (void)state;
    struct reference *table = reference_open("sensitivity.csv");
    struct ranked ranked;
    rank_model(&ranked, &model_linear, 3, 10000, &plain);
    for (int input = 0; input < 5; input++) {
        char name[8];
        input_name(name, input);
        holds(ranked.row[input].share.value, model_known(table, model_linear.name, name, "S_first"), 0.03);
        holds(ranked.row[input].correlation.value, model_known(table, model_linear.name, name, "Spearman(Xi Y)"), 0.04);
    }
    reference_close(table);
}

/* Neither input does anything alone: shares stay at nothing however strong the interaction (theory: E[z1 z2 | z1] = 0). */
static void test_rank__pure_interaction_leaves_no_first_order_share(void **state)
{
    (void)state;
    struct ranked ranked;
    rank_model(&ranked, &model_product, 4, 20000, &plain);
    for (int input = 0; input < 3; input++) {
        holds(ranked.row[input].share.value, 0.0, 0.01);
        assert_true(ranked.row[input].share.low <= 0.0);
    }
}

static void test_rank__half_space_has_its_shares_and_separations(void **state)
{
    (void)state;
    struct reference *table = reference_open("sensitivity.csv");
    const struct how how = {.threshold = model_known(table, model_half_space.name, "Y", "threshold_t"), .is_yes_no = 1,
                            .flat_input = -1};
    static const double error[3] = {0.0130, 0.0086, 0.0046}; /* root mean square of shares at 10,000 flights */
    struct ranked ranked;
    rank_model(&ranked, &model_half_space, 5, 10000, &how);
    holds((double)ranked.total.n_met, 9000.0, 4.0 * 30.0);
    for (int input = 0; input < 3; input++) {
        char name[8];
        input_name(name, input);
        holds(ranked.row[input].share.value, model_known(table, model_half_space.name, name, "S_first"), 4.0 * error[input]);
        /* failures have the greater values: the sign is that of meeting */
        holds(ranked.row[input].separation.value, -model_known(table, model_half_space.name, name, "KS(pass fail)"), 0.04);
    }
    reference_close(table);
}

/* Large columns go through knots of a sample; the figures must not notice. */
static void test_rank__a_long_column_agrees_with_closed_forms(void **state)
{
    (void)state;
    struct ranked ranked;
    rank_model(&ranked, &model_linear, 6, 200000, &plain);
    holds(ranked.row[0].correlation.value, 0.600954420127, 0.008);
    holds(ranked.row[0].share.value, 0.383141762452, 0.008);
    holds(ranked.row[4].share.value, 0.0, 0.001);
    assert_int_equal(ranked.total.n, 200000);
}

/* 5 % and a bit of inert quantities may pass for real. */
static void test_rank__an_inert_quantity_is_called_noise(void **state)
{
    (void)state;
    int n_called = 0;
    for (uint64_t seed = 100; seed < 200; seed++) {
        struct ranked ranked;
        rank_model(&ranked, &model_linear, seed, 500, &plain);
        n_called += ranked.row[4].is_noise;
        assert_true(!ranked.row[0].is_noise && !ranked.row[1].is_noise);
    }
    if (n_called < 85)
        fail_msg("an inert quantity was called noise in %d of 100 campaigns", n_called);
}

static void take(struct fared *fared, const struct rc_estimate *estimate, double truth)
{
    fared_take(fared, estimate->value, estimate->low, estimate->high, truth);
}

enum { REPEATS = 300 };

static void test_rank__intervals_hold_the_truth(void **state)
{
    (void)state;
    static const double share[3] = {0.313905191148, 0.44241114479, 0.0};
    struct fared shares[3] = {{.n = 0}};
    struct fared correlation = {.n = 0};
    for (uint64_t seed = 1000; seed < 1000 + REPEATS; seed++) {
        struct ranked ranked;
        rank_model(&ranked, &model_ishigami, seed, 1500, &plain);
        for (int input = 0; input < 3; input++)
            take(&shares[input], &ranked.row[input].share, share[input]);
        take(&correlation, &ranked.row[2].correlation, 0.0);
    }
    fared_judge("share of x1", &shares[0], 0);
    fared_judge("share of x2", &shares[1], 0);
    fared_judge("share of x3, which has none", &shares[2], 1);
    fared_judge("rank correlation of x3", &correlation, 0);
}

/* Failures are rare and lie on the far side: separations of the half space, whose sign is that of meeting. */
static void test_rank__separation_intervals_hold_the_truth(void **state)
{
    (void)state;
    struct reference *table = reference_open("sensitivity.csv");
    const struct how how = {.threshold = model_known(table, model_half_space.name, "Y", "threshold_t"), .is_yes_no = 1,
                            .flat_input = -1};
    struct fared fared[3] = {{.n = 0}};
    double truth[3];
    for (int input = 0; input < 3; input++) {
        char name[8];
        input_name(name, input);
        truth[input] = -model_known(table, model_half_space.name, name, "KS(pass fail)");
    }
    for (uint64_t seed = 3000; seed < 3000 + REPEATS; seed++) {
        struct ranked ranked;
        rank_model(&ranked, &model_half_space, seed, 4000, &how);
        for (int input = 0; input < 3; input++)
            take(&fared[input], &ranked.row[input].separation, truth[input]);
    }
    fared_judge("separation of x1", &fared[0], 0);
    fared_judge("separation of x2", &fared[1], 0);
    fared_judge("separation of x3", &fared[2], 0);
    reference_close(table);
    struct fared inert = {.n = 0};
    const struct how middle = {.threshold = 10.0, .is_yes_no = 1, .flat_input = -1};
    for (uint64_t seed = 5000; seed < 5000 + REPEATS; seed++) {
        struct ranked ranked;
        rank_model(&ranked, &model_linear, seed, 1500, &middle);
        take(&inert, &ranked.row[4].separation, 0.0);
    }
    fared_judge("separation of an inert one", &inert, 0);
}

static void test_rank__a_quantity_that_never_varied_is_said_so(void **state)
{
    (void)state;
    const struct how how = {.flat_input = 1};
    struct ranked ranked;
    rank_model(&ranked, &model_linear, 7, 1000, &how);
    assert_true(ranked.row[1].is_constant && !ranked.row[0].is_constant);
    assert_true(ranked.row[1].share.value <= 0.0 && ranked.row[1].correlation.value == 0.0 &&
                ranked.row[1].separation.value == 0.0);
}

static void test_rank__flights_without_an_outcome_count_for_the_criterion_only(void **state)
{
    (void)state;
    const struct how how = {.threshold = 10.0, .flat_input = -1, .lose_each = 10};
    struct ranked ranked;
    rank_model(&ranked, &model_linear, 8, 10000, &how);
    assert_int_equal(ranked.total.n, 10000);
    assert_int_equal(ranked.total.n_outcomes, 9000);
    holds(ranked.row[0].share.value, 0.383141762452, 0.03);
}

static void test_rank__an_outcome_that_never_varied_gives_nothing(void **state)
{
    (void)state;
    const struct how how = {.threshold = 1e9, .is_yes_no = 1, .flat_input = -1};
    struct ranked ranked;
    rank_model(&ranked, &model_linear, 9, 1000, &how);
    assert_true(ranked.total.sd == 0.0 && ranked.total.n_met == 1000);
    assert_true(ranked.row[0].share.value == 0.0 && ranked.row[0].separation.value == 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rank__ishigami_has_its_first_order_shares),
        cmocka_unit_test(test_rank__g_function_has_its_first_order_shares),
        cmocka_unit_test(test_rank__linear_gaussian_has_its_shares_and_rank_correlations),
        cmocka_unit_test(test_rank__pure_interaction_leaves_no_first_order_share),
        cmocka_unit_test(test_rank__half_space_has_its_shares_and_separations),
        cmocka_unit_test(test_rank__a_long_column_agrees_with_closed_forms),
        cmocka_unit_test(test_rank__an_inert_quantity_is_called_noise),
        cmocka_unit_test(test_rank__intervals_hold_the_truth),
        cmocka_unit_test(test_rank__separation_intervals_hold_the_truth),
        cmocka_unit_test(test_rank__a_quantity_that_never_varied_is_said_so),
        cmocka_unit_test(test_rank__flights_without_an_outcome_count_for_the_criterion_only),
        cmocka_unit_test(test_rank__an_outcome_that_never_varied_gives_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
