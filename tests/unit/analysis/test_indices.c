/* Shares of variance from the paired design against closed forms (tests/reference/sensitivity.csv), drawn by the plan itself. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/indices.h"
#include "base/base.h"
#include "sampling/sampling.h"
#include "support/fared.h"
#include "support/models.h"

enum { MOST_INPUTS = 20, MOST_PAIRS = MOST_INPUTS * (MOST_INPUTS - 1) / 2 };

struct found {
    struct rc_indices_row row[MOST_INPUTS];
    struct rc_indices_pair pair[MOST_PAIRS];
    int64_t n_rows, n_lost;
};

/* Fly the plan on a model of uniform inputs; every `lose_each`-th row loses an outcome (0 none). */
static void fly(struct found *found, const struct model *model, uint64_t seed, int n_rows, int lose_each)
{
    static struct rc_uncertain quantity[MOST_INPUTS];
    const struct rc_sampling sampling = {.n = model->n, .quantity = quantity};
    struct rc_indices *indices = NULL;
    struct rc_error err;
    const struct rc_indices_options options = {.n_quantities = model->n, .seed = seed, .confidence = 0.95};
    for (int input = 0; input < model->n; input++)
        quantity[input] = (struct rc_uncertain){.path_hash = (uint64_t)input + 5, .low = 0.0, .high = 1.0,
                                                .distribution = {.kind = rc_distribution_find("uniform"), .p = {0.0, 1.0}}};
    assert_int_equal(rc_indices_create(&indices, &options, &err), RC_OK);
    for (int row = 0; row < n_rows; row++) {
        double outcome[MOST_INPUTS + 2], moved[MOST_INPUTS], u[MOST_INPUTS], a[MOST_INPUTS];
        for (int place = 0; place < model->n + 2; place++) {
            const uint64_t flight = (uint64_t)row * (uint64_t)(model->n + 2) + (uint64_t)place;
            rc_plan_find("paired")->draw(&sampling, seed, flight, place == 0 ? a : u);
            assert_int_equal(rc_plan_find("paired")->counts(&sampling, flight), place < 2);
            outcome[place] = model->outcome(place == 0 ? a : u);
            if (place > 1)
                moved[place - 2] = u[place - 2] - a[place - 2];
        }
        if (lose_each > 0 && row % lose_each == 0)
            outcome[1] = NAN;
        rc_indices_add(indices, outcome, moved);
    }
    found->n_rows = rc_indices_rows(indices);
    found->n_lost = rc_indices_lost(indices);
    assert_int_equal(rc_indices_finish(indices, found->row, found->pair, &err), RC_OK);
    rc_indices_free(indices);
}

static void holds(const char *what, double got, double wanted, double most)
{
    if (!(fabs(got - wanted) <= most))
        fail_msg("%s: got %.5f, wanted %.5f within %.5f", what, got, wanted, most);
}

/* Shares within four times the root mean square error of these estimators at 16,384 rows of plain numbers, measured elsewhere
 * (60 repeats), for the first three inputs; the others as the third. */
static void hold_model(const struct model *model, const double first_error[3], const double total_error[3])
{
    struct reference *table = reference_open("sensitivity.csv");
    struct found found;
    fly(&found, model, 11, 16384, 0);
    for (int input = 0; input < model->n; input++) {
        const int at = input < 2 ? input : 2;
        char name[16];
        (void)snprintf(name, sizeof name, "X%d", input + 1);
        holds("first", found.row[input].first.value, model_known(table, model->name, name, "S_first"), 4.0 * first_error[at]);
        holds("total", found.row[input].total.value, model_known(table, model->name, name, "S_total"), 4.0 * total_error[at]);
    }
    reference_close(table);
}

static void test_indices__ishigami_has_its_shares(void **state)
{
    (void)state;
    static const double first[3] = {0.00894, 0.00623, 0.00713}, total[3] = {0.01132, 0.00480, 0.00388};
    hold_model(&model_ishigami, first, total);
    struct found found;
    fly(&found, &model_ishigami, 12, 16384, 0);
    holds("x1 with x2", found.pair[0].share.value, 0.0, 0.03);
    holds("x1 with x3", found.pair[1].share.value, 0.243683664062, 0.03);
    holds("x2 with x3", found.pair[2].share.value, 0.0, 0.03);
}

static void test_indices__g_function_has_its_shares(void **state)
{
    (void)state;
    static const double first[3] = {0.00890, 0.00557, 0.00195}, total[3] = {0.00828, 0.00396, 0.00057};
    hold_model(&model_g, first, total);
}

static void test_indices__linear_gaussian_has_its_shares(void **state)
{
    (void)state;
    static const double error[3] = {0.009, 0.009, 0.009}; /* as Ishigami's, at most */
    hold_model(&model_linear, error, error);
}

/* All of the variance belongs to the two together. */
static void test_indices__pure_interaction_is_named(void **state)
{
    (void)state;
    struct found found;
    fly(&found, &model_product, 13, 16384, 0);
    for (int input = 0; input < 2; input++) {
        holds("first", found.row[input].first.value, 0.0, 0.05);
        holds("total", found.row[input].total.value, 1.0, 0.06);
    }
    holds("inert total", found.row[2].total.value, 0.0, 1e-12);
    holds("together", found.pair[0].share.value, 1.0, 0.06);
    holds("with the inert", found.pair[1].share.value, 0.0, 1e-12);
}

static void take(struct fared *fared, const struct rc_estimate *estimate, double truth)
{
    fared_take(fared, estimate->value, estimate->low, estimate->high, truth);
}

static void test_indices__intervals_hold_the_truth(void **state)
{
    (void)state;
    static const double first[3] = {0.313905191148, 0.44241114479, 0.0};
    static const double total[3] = {0.55758885521, 0.44241114479, 0.243683664062};
    enum { REPEATS = 300 };
    struct fared alone[3] = {{.n = 0}}, all[3] = {{.n = 0}}, pair = {.n = 0};
    for (uint64_t seed = 0; seed < REPEATS; seed++) {
        struct found found;
        fly(&found, &model_ishigami, seed, 1024, 0);
        for (int input = 0; input < 3; input++) {
            take(&alone[input], &found.row[input].first, first[input]);
            take(&all[input], &found.row[input].total, total[input]);
        }
        take(&pair, &found.pair[1].share, 0.243683664062);
    }
    for (int input = 0; input < 3; input++) {
        fared_judge("first order", &alone[input], input == 2); /* x3 has none: cut at 0 */
        fared_judge("total", &all[input], 0);
    }
    fared_judge("pair", &pair, 0);
}

/* y = 1 + 2 x1 - 3 x2 + 0.5 x3: every change is the slope, whatever the move (sensitivity.csv, exact). */
static double plane(const double *u)
{
    return 1.0 + 2.0 * u[0] - 3.0 * u[1] + 0.5 * u[2];
}

/* Morris 1991, 20 inputs, the random coefficients replaced by (-1)^i and (-1)^(i+j). */
static double morris(const double *u)
{
    double w[20];
    double sum = 0.0;
    for (int i = 0; i < 20; i++)
        w[i] = i == 2 || i == 4 || i == 6 ? 2.0 * (1.1 * u[i] / (u[i] + 0.1) - 0.5) : 2.0 * (u[i] - 0.5);
    for (int i = 0; i < 20; i++)
        sum += (i < 10 ? 20.0 : (i + 1) % 2 == 0 ? 1.0 : -1.0) * w[i];
    for (int i = 0; i < 20; i++)
        for (int j = i + 1; j < 20; j++)
            sum += (j < 6 ? -15.0 : (i + j + 2) % 2 == 0 ? 1.0 : -1.0) * w[i] * w[j];
    for (int i = 0; i < 5; i++)
        for (int j = i + 1; j < 5; j++)
            for (int k = j + 1; k < 5; k++)
                sum += -10.0 * w[i] * w[j] * w[k];
    return sum + 5.0 * w[0] * w[1] * w[2] * w[3];
}

static void test_indices__elementary_effects_of_a_plane_are_its_slopes(void **state)
{
    (void)state;
    static const double slope[3] = {2.0, -3.0, 0.5};
    const struct model model = {"plane", 3, plane};
    struct found found;
    fly(&found, &model, 14, 20, 0);
    for (int input = 0; input < 3; input++) {
        holds("size", found.row[input].effect.value, fabs(slope[input]), 1e-12);
        holds("effect", found.row[input].mean_effect, slope[input], 1e-12);
        holds("spread", found.row[input].effect_sd, 0.0, 1e-6);
    }
}

/* The published screening tells ten inputs that matter (34 to 64) from ten that do not (about 5.3), with 20 to 50 rows. */
static void test_indices__screening_tells_the_ten_that_matter(void **state)
{
    (void)state;
    const struct model model = {"Morris", 20, morris};
    struct found found;
    fly(&found, &model, 15, 50, 0);
    double least = INFINITY;
    double most = 0.0;
    for (int input = 0; input < 20; input++) {
        if (input < 10)
            least = fmin(least, found.row[input].effect.value);
        else
            most = fmax(most, found.row[input].effect.value);
    }
    print_message("effects: least of ten %.1f, greatest of the others %.1f\n", least, most);
    assert_true(least > 2.0 * most);
    holds("an inert one", most, 5.3, 4.0);
}

static void test_indices__rows_without_an_outcome_are_left_out(void **state)
{
    (void)state;
    struct found found;
    fly(&found, &model_linear, 16, 4096, 8);
    assert_int_equal(found.n_lost, 512);
    assert_int_equal(found.n_rows, 4096 - 512);
    holds("first", found.row[0].first.value, 0.383141762452, 0.06);
}

static double nothing(const double *u)
{
    return 0.0 * u[0] + 4.0;
}

static void test_indices__an_outcome_that_never_varied_has_no_shares(void **state)
{
    (void)state;
    const struct model model = {"constant", 2, nothing};
    struct found found;
    fly(&found, &model, 17, 64, 0);
    assert_true(isnan(found.row[0].first.value) && isnan(found.row[1].total.value));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_indices__ishigami_has_its_shares),
        cmocka_unit_test(test_indices__g_function_has_its_shares),
        cmocka_unit_test(test_indices__linear_gaussian_has_its_shares),
        cmocka_unit_test(test_indices__pure_interaction_is_named),
        cmocka_unit_test(test_indices__intervals_hold_the_truth),
        cmocka_unit_test(test_indices__elementary_effects_of_a_plane_are_its_slopes),
        cmocka_unit_test(test_indices__screening_tells_the_ten_that_matter),
        cmocka_unit_test(test_indices__rows_without_an_outcome_are_left_out),
        cmocka_unit_test(test_indices__an_outcome_that_never_varied_has_no_shares),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
