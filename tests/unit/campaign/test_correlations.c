/* Pairs of quantities that vary together, as a campaign gives them. The copula itself is sampling's tests. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static const char together[] = "\"all_together\"";

/* The fixture's uncertain quantities are its motor's impulse, its fins' cants and misalignments, its roll damping. */
static void test_correlations__pairs_reach_the_draws(void **state)
{
    (void)state;
    rc_campaign *campaign = NULL;
    struct rc_issues issues;
    assert_int_equal(fixture_read(&campaign, together,
                                  "\"correlations\": [{\"first\": \"fins[0].cant_deg\", \"second\": \"motor.impulse_factor\", "
                                  "\"rank\": 0.8}], \"all_together\"",
                                  &issues),
                     RC_OK);
    const struct rc_sampling *sampling = rc_campaign_sampling(campaign);
    assert_non_null(sampling->copula);
    assert_int_equal(rc_copula_count(sampling->copula), 2);
    const int cant = rc_copula_member(sampling->copula, 0);
    const int impulse = rc_copula_member(sampling->copula, 1);
    assert_string_equal(sampling->quantity[cant].path, "fins[0].cant_deg");
    double sum = 0.0;
    for (uint64_t flight = 0; flight < 2000; flight++) {
        double drawn[RC_MAX_UNCERTAIN];
        rc_campaign_plan(campaign)->draw(sampling, 3, flight, drawn);
        sum += drawn[cant] / 0.03 * (drawn[impulse] - 1.0) / 0.015; /* sd's of the fixture */
    }
    const double wanted = 2.0 * sin(acos(-1.0) / 6.0 * 0.8);
    assert_true(fabs(sum / 2000.0 - wanted) < 5.0 * sqrt((1.0 + wanted * wanted) / 2000.0));
    rc_campaign_free(campaign);
}

static void refuses(const char *pairs, const char *place, const char *words)
{
    char text[600];
    (void)snprintf(text, sizeof text, "\"correlations\": [%s], \"all_together\"", pairs);
    fixture_refuses(together, text, place, words);
}

static void test_correlations__wrong_pairs_are_refused_where_they_stand(void **state)
{
    (void)state;
    refuses("{\"first\": \"fins[0].cant_deg\", \"second\": \"drive.floor_dps\", \"rank\": 0.5}", "/correlations/0/second",
            "is fixed|give it a distribution");
    refuses("{\"first\": \"fins[0].cant_dg\", \"second\": \"motor.impulse_factor\", \"rank\": 0.5}", "/correlations/0/first",
            "path of an uncertain quantity|fins[0].cant_deg");
    refuses("{\"second\": \"motor.impulse_factor\", \"rank\": 0.5}", "/correlations/0/first", "wanted the path");
    refuses("{\"first\": \"motor.impulse_factor\", \"second\": \"motor.impulse_factor\", \"rank\": 0.5}", "/correlations/0",
            "paired with itself");
    refuses("{\"first\": \"fins[0].cant_deg\", \"second\": \"motor.impulse_factor\", \"rank\": 1}", "/correlations/0", "below 1");
    refuses("{\"first\": \"fins[0].cant_deg\", \"second\": \"motor.impulse_factor\", \"rank\": 1.5}", "/correlations/0/rank",
            "wanted -1 to 1");
    refuses("{\"first\": \"fins[0].misalignment_deg[0]\", \"second\": \"fins[0].misalignment_deg[1]\", \"rank\": 0.9},"
            "{\"first\": \"fins[0].misalignment_deg[0]\", \"second\": \"fins[0].misalignment_deg[2]\", \"rank\": 0.9},"
            "{\"first\": \"fins[0].misalignment_deg[1]\", \"second\": \"fins[0].misalignment_deg[2]\", \"rank\": 0.1}",
            "/correlations/2", "0.1|fins[0].misalignment_deg[1]|fins[0].misalignment_deg[2]|must lie between");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_correlations__pairs_reach_the_draws),
        cmocka_unit_test(test_correlations__wrong_pairs_are_refused_where_they_stand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
