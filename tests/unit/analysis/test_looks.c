/* Doubling looks: their sizes, and that each look is judged at its share of the risk. */
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

static void test_looks__sizes_double_up_to_the_whole(void **state)
{
    (void)state;
    assert_int_equal(rc_looks_flights(10240, 6, 0), 320);
    assert_int_equal(rc_looks_flights(10240, 6, 5), 10240);
    assert_int_equal(rc_looks_flights(10000, 6, 0), 313);
    assert_int_equal(rc_looks_flights(10000, 6, 5), 10016);
    assert_int_equal(rc_looks_flights(7, 1, 0), 7);
}

/* Without a failure odds R are shown at risk a/J by log(a/J)/log(R) flights: closed form. */
static void test_looks__each_look_carries_its_share_of_the_risk(void **state)
{
    (void)state;
    const struct rc_criterion criterion = {.odds = 0.99, .confidence = 0.95};
    for (int n_looks = 1; n_looks <= 10; n_looks++) {
        const int64_t n = (int64_t)ceil(log(0.05 / n_looks) / log(0.99));
        assert_int_equal(rc_looks_verdict(n, n, &criterion, n_looks), RC_VERDICT_GO);
        assert_int_equal(rc_looks_verdict(n - 1, n - 1, &criterion, n_looks), RC_VERDICT_NOT_YET_KNOWN);
    }
    const struct rc_criterion stricter = rc_looks_criterion(&criterion, 5);
    assert_true(fabs(stricter.confidence - 0.99) < 1e-15 && stricter.odds == 0.99);
    assert_int_equal(rc_looks_verdict(500, 1000, &criterion, 6), RC_VERDICT_NO_GO);
    assert_int_equal(rc_looks_verdict(0, 0, &criterion, 6), RC_VERDICT_NOT_YET_KNOWN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_looks__sizes_double_up_to_the_whole),
        cmocka_unit_test(test_looks__each_look_carries_its_share_of_the_risk),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
