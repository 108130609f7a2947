/* Student's t for intervals; the distribution is numeric's. */
#include "student.h"

#include "numeric/distribution.h"

double rc_student_quantile(double tail, double freedom)
{
    const double p[] = {0.0, 1.0, freedom};
    return rc_distribution_find("student_t")->quantile(p, 1.0 - tail, tail);
}
