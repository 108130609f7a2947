/* Coverage and width of intervals over repeats. */
#include "fared.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

void fared_take(struct fared *fared, double value, double low, double high, double truth)
{
    const double off = 0.5 * (low + high) - truth;
    fared->n++;
    fared->n_held += low <= truth && truth <= high;
    fared->width += high - low;
    fared->sum += value;
    fared->squares += value * value;
    fared->off += off;
    fared->off_squares += off * off;
}

static double sd_of(double sum, double squares, int n)
{
    return sqrt(fmax(squares - sum * sum / n, 0.0) / (n - 1));
}

void fared_judge(const char *what, const struct fared *fared, int is_cut)
{
    const double sd = is_cut ? sd_of(fared->sum, fared->squares, fared->n) : sd_of(fared->off, fared->off_squares, fared->n);
    const double wide = fared->width / fared->n / (2.0 * 1.96 * sd);
    print_message("%s: held in %d of %d, %.2f times as wide as the spread over the repeats asks\n", what, fared->n_held, fared->n,
                  wide);
    if (fared->n_held < fared->n * (0.94 - 3.0 * sqrt(0.05 * 0.95 / fared->n)))
        fail_msg("%s: held in %d of %d", what, fared->n_held, fared->n);
    if (!(wide < 1.25) || (!is_cut && !(wide > 0.8)))
        fail_msg("%s: %.2f times as wide as it should be", what, wide);
}
