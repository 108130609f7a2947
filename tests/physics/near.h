/* Assertions on doubles that name both numbers when they fail. Include after cmocka.h. */
#ifndef RC_TEST_NEAR_H
#define RC_TEST_NEAR_H

#include <math.h>

/* Fail unless |got - wanted| <= absolute. NaN fails. */
static inline void assert_near(double got, double wanted, double absolute)
{
    if (!(fabs(got - wanted) <= absolute))
        fail_msg("got %.10g, wanted %.10g within %g", got, wanted, absolute);
}

/* Fail unless |got - wanted| <= relative |wanted|. NaN fails. */
static inline void assert_ratio(double got, double wanted, double relative)
{
    if (!(fabs(got - wanted) <= relative * fabs(wanted)))
        fail_msg("got %.10g, wanted %.10g within %g (is %+.5f)", got, wanted, relative, got / wanted - 1.0);
}

#endif
