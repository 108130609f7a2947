/* The common end of rare-outcome methods: the error comes from the spread of independent repeats, and so does the refusal. */
#include "repeats.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#include "base/base.h"
#include "running.h"
#include "student.h"

/* Above it the repeats do not agree on where failure lies, and their mean hangs on a few of them. */
static const double greatest_spread = 1.5;

rc_status rc_repeats_check(const struct rc_rare_problem *problem, const struct rc_rare_options *options, struct rc_error *err)
{
    if (problem->n < 1)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "nothing is uncertain, so nothing is rare: wanted at least one score");
    if (options->n_per_level < 100 || options->n_per_level > 1000000 || options->n_per_level % 10 != 0)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "got %d flights a level, wanted a multiple of 10 from 100 to 1000000",
                             options->n_per_level);
    if (options->n_repeats < 8 || options->n_repeats > RC_RARE_MOST_REPEATS)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "got %d repeats, wanted 8 to %d", options->n_repeats, RC_RARE_MOST_REPEATS);
    if (options->n_levels < 1 || options->n_levels > 12)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "got %d levels, wanted 1 to 12", options->n_levels);
    return RC_OK;
}

void rc_repeats_refuse(struct rc_rare *rare, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(rare->why, sizeof rare->why, format, arguments);
    va_end(arguments);
    rare->is_supported = 0;
    rare->odds = NAN;
    rare->low = rare->bound_low = 0.0;
    rare->high = rare->bound_high = 1.0;
}

void rc_repeats_summarise(struct rc_rare *rare, const double *odds, const struct rc_rare_options *options)
{
    const int n = options->n_repeats;
    double mean = 0.0, squares = 0.0;
    for (int index = 0; index < n; index++) {
        rc_running_add(&mean, &squares, index + 1, odds[index]);
    }
    const double sd = sqrt(squares / (n - 1)), tail = 1.0 - options->confidence;
    const double error = sd / sqrt(n);
    const double two_sided = rc_student_quantile(0.5 * tail, n - 1.0) * error;
    const double one_sided = rc_student_quantile(fmin(tail, 0.5), n - 1.0) * error;
    rare->odds = mean;
    rare->spread = sd / mean;
    rare->low = fmax(mean - two_sided, 0.0);
    rare->high = fmin(mean + two_sided, 1.0);
    rare->bound_low = fmax(mean - one_sided, 0.0);
    rare->bound_high = fmin(mean + one_sided, 1.0);
    rare->is_supported = 1;
    if (!(rare->spread <= greatest_spread))
        rc_repeats_refuse(rare, "the repeats differ by %.0f %% of their mean: fly more per level", 100.0 * rare->spread);
}
