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

const char rc_repeats_not_finite[] = "a margin is not a finite number";

bool rc_repeats_fly(const struct rc_rare_problem *problem, const double *scores, int n_flights, double *margins)
{
    problem->margins(problem->user, scores, n_flights, margins);
    for (int flight = 0; flight < n_flights; flight++) {
        if (!isfinite(margins[flight]))
            return false;
    }
    return true;
}

struct rc_rare rc_repeats_nothing(void)
{
    return (struct rc_rare){.odds = NAN, .high = 1.0, .bound_high = 1.0, .spread = NAN, .is_supported = 1};
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

/* Sums over the repeats. */
struct sums {
    double mean, squares;          /* of the odds                                 */
    double log_mean, log_squares;  /* of their logarithms, where none is 0        */
    int n_zero;
};

static struct sums add_up(const double *odds, int n)
{
    struct sums sums = {.mean = 0.0};
    for (int index = 0; index < n; index++) {
        rc_running_add(&sums.mean, &sums.squares, index + 1, odds[index]);
        sums.n_zero += !(odds[index] > 0.0);
        if (sums.n_zero == 0)
            rc_running_add(&sums.log_mean, &sums.log_squares, index + 1, log(odds[index]));
    }
    return sums;
}

/* The wider of two intervals for the mean of the repeats' distribution: Student's, right where it is normal, and Cox's, right
 * where it is lognormal, as products of shares are. in tail of each side */
static struct rc_range reach(const struct sums *sums, int n, double tail)
{
    const double t = rc_student_quantile(fmin(tail, 0.5), n - 1.0);
    const double half_width = t * sqrt(sums->squares / (n - 1) / n);
    const double variance = sums->log_squares / (n - 1);
    const double middle = sums->log_mean + 0.5 * variance;
    const double log_half_width = t * sqrt(variance / n + 0.5 * variance * variance / (n - 1));
    return (struct rc_range){fmax(fmin(sums->mean - half_width, exp(middle - log_half_width)), 0.0),
                             fmin(fmax(sums->mean + half_width, exp(middle + log_half_width)), 1.0)};
}

void rc_repeats_summarise(struct rc_rare *rare, const double *odds, const struct rc_rare_options *options)
{
    const int n = options->n_repeats;
    const struct sums sums = add_up(odds, n);
    const double tail = 1.0 - options->confidence;
    rare->spread = sqrt(sums.squares / (n - 1)) / sums.mean;
    if (sums.n_zero > 0) {
        rc_repeats_refuse(rare, "%d of %d repeats met no failure: fly more per level", sums.n_zero, n);
        return;
    }
    if (!(rare->spread <= greatest_spread)) {
        rc_repeats_refuse(rare, "the repeats differ by %.0f %% of their mean: fly more per level", 100.0 * rare->spread);
        return;
    }
    if (!(rare->spread > 0.0)) {
        rc_repeats_refuse(rare, "the repeats are all alike, so that they tell no error: fly more per level");
        return;
    }
    const struct rc_range interval = reach(&sums, n, 0.5 * tail), bound = reach(&sums, n, tail);
    rare->odds = sums.mean;
    rare->low = interval.low;
    rare->high = interval.high;
    rare->bound_low = bound.low;
    rare->bound_high = bound.high;
    rare->is_supported = 1;
}
