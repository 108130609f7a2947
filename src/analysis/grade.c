/* Grades by a sorted sample: with all values as knots they are the mid-ranks of a textbook, with fewer a close stand-in. */
#include "grade.h"

#include <math.h>
#include <stdlib.h>

#include "numeric/sorted.h"

rc_status rc_grade_make(struct rc_grade *grade, const double *values, int n, int most, struct rc_error *err)
{
    double *sorted = malloc((size_t)n * sizeof *sorted);
    if (!sorted)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the ranks of %d values", n);
    int n_finite = 0;
    for (int index = 0; index < n; index++)
        if (isfinite(values[index]))
            sorted[n_finite++] = values[index];
    qsort(sorted, (size_t)n_finite, sizeof *sorted, rc_sorted_rising);
    if (n_finite > most) {
        for (int knot = 0; knot < most; knot++)
            sorted[knot] = sorted[(int)(((double)knot + 0.5) * n_finite / most)];
        n_finite = most;
    }
    *grade = (struct rc_grade){.n = n_finite, .knot = sorted};
    return RC_OK;
}

void rc_grade_free(struct rc_grade *grade)
{
    free(grade->knot);
    *grade = (struct rc_grade){0};
}

/* Knots below a value, or (with `or_equal`) not above it. */
static int count_below(const struct rc_grade *grade, double value, bool or_equal)
{
    int begin = 0;
    int n = grade->n;
    while (n > 0) {
        const int half = n / 2;
        const double knot = grade->knot[begin + half];
        const bool is_below = or_equal ? knot <= value : knot < value;
        begin = is_below ? begin + half + 1 : begin;
        n = is_below ? n - half - 1 : half;
    }
    return begin;
}

double rc_grade_of(const struct rc_grade *grade, double value)
{
    const int below = count_below(grade, value, false);
    if (below < grade->n && grade->knot[below] == value)
        return 0.5 * (below + count_below(grade, value, true)) / grade->n;
    if (below == 0 || below == grade->n)
        return (double)below / grade->n;
    const double from = grade->knot[below - 1];
    return (below - 0.5 + (value - from) / (grade->knot[below] - from)) / grade->n;
}
