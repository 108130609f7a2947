/* Grades: mid-ranks as SciPy's rankdata gives them (method "average", less a half, over n). */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "analysis/grade.h"

static void test_grade__ties_share_their_middle_rank(void **state)
{
    (void)state;
    /* scipy.stats.rankdata([3, 1, 3, 7, 3, -2]) = 4, 2, 4, 6, 4, 1 */
    const double values[] = {3.0, 1.0, NAN, 3.0, 7.0, 3.0, INFINITY, -2.0};
    static const double rank[] = {4.0, 2.0, 0.0, 4.0, 6.0, 4.0, 0.0, 1.0};
    struct rc_grade grade = {0};
    struct rc_error err;
    assert_int_equal(rc_grade_make(&grade, values, 8, 100, &err), RC_OK);
    assert_int_equal(grade.n, 6);
    for (int index = 0; index < 8; index++)
        if (rank[index] > 0.0)
            assert_true(fabs(rc_grade_of(&grade, values[index]) - (rank[index] - 0.5) / 6.0) < 1e-15);
    assert_true(rc_grade_of(&grade, -5.0) == 0.0 && rc_grade_of(&grade, 8.0) == 1.0);
    rc_grade_free(&grade);
}

static void test_grade__few_knots_stand_for_many_values(void **state)
{
    (void)state;
    enum { N = 10000 };
    double *values = malloc(N * sizeof *values);
    struct rc_grade grade = {0};
    struct rc_error err;
    for (int index = 0; index < N; index++)
        values[index] = pow((index * 7919 % N + 0.5) / N, 3.0); /* every rank once, in mixed order */
    assert_int_equal(rc_grade_make(&grade, values, N, 500, &err), RC_OK);
    for (int index = 0; index < N; index++)
        assert_true(fabs(rc_grade_of(&grade, values[index]) - cbrt(values[index])) < 2.0 / 500);
    rc_grade_free(&grade);
    free(values);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_grade__ties_share_their_middle_rank),
        cmocka_unit_test(test_grade__few_knots_stand_for_many_values),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
