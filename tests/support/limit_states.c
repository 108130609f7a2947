/* Limit states of tests/reference/rare_event.csv as functions of standard normal scores, and a few with a closed form. */
#include "support/limit_states.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

/* limit less the sum over the root of n: Phi(-limit) */
static double linear(const struct limit_state *state, const double *x)
{
    double sum = 0.0;
    for (int index = 0; index < state->n; index++)
        sum += x[index];
    return state->limit - sum / sqrt(state->n);
}

/* The same on both sides: 2 Phi(-limit) */
static double two_sided(const struct limit_state *state, const double *x)
{
    return state->limit - fabs(state->limit - linear(state, x));
}

/* The first score alone, in steps of 1/4: many flights share a margin, and the odds are those of the first score. */
static double stepped(const struct limit_state *state, const double *x)
{
    return ceil(4.0 * (state->limit - x[0])) / 4.0;
}

/* Outside a ball: chi-square of n */
static double outside(const struct limit_state *state, const double *x)
{
    double sum = 0.0;
    for (int index = 0; index < state->n; index++)
        sum += x[index] * x[index];
    return state->limit * state->limit - sum;
}

static double lognormal(double mean, double cov, double score)
{
    const double variance = log1p(cov * cov);
    return mean / sqrt(1.0 + cov * cov) * exp(sqrt(variance) * score);
}

static double strength_normal(const struct limit_state *state, const double *x)
{
    (void)state;
    return 200.0 + 10.0 * x[0] - (100.0 + 20.0 * x[1]);
}

static double strength_lognormal(const struct limit_state *state, const double *x)
{
    (void)state;
    return lognormal(10.0, 0.15, x[0]) - lognormal(4.0, 0.25, x[1]);
}

static double four_branch(const struct limit_state *state, const double *x)
{
    const double difference = x[0] - x[1], sum = (x[0] + x[1]) / sqrt(2.0);
    const double bent = 3.0 + 0.1 * difference * difference - fabs(sum);
    return fmin(bent, state->limit / sqrt(2.0) - fabs(difference));
}

static double frame(const struct limit_state *state, const double *x)
{
    static const double by[] = {1.0, 2.0, 2.0, 1.0};
    double margin = -5.0 * lognormal(50.0, 15.0 / 50.0, x[4]) - 5.0 * lognormal(40.0, 12.0 / 40.0, x[5]);
    (void)state;
    for (int index = 0; index < 4; index++)
        margin += by[index] * lognormal(120.0, 12.0 / 120.0, x[index]);
    return margin;
}

static double rp24(const struct limit_state *state, const double *x)
{
    const double one = 10.0 + 3.0 * x[0], two = 10.0 + 3.0 * x[1];
    (void)state;
    return 2.5 - 0.2357 * (one - two) + 0.00463 * pow(one + two - 20.0, 4.0);
}

static double rp33(const struct limit_state *state, const double *x)
{
    (void)state;
    return fmin(3.0 * sqrt(3.0) - x[0] - x[1] - x[2], 3.0 - x[2]);
}

static double rp53(const struct limit_state *state, const double *x)
{
    const double one = 1.5 + x[0], two = 2.5 + x[1];
    (void)state;
    return sin(2.5 * one) + 2.0 - (one * one + 4.0) * (two - 1.0) / 20.0;
}

static double rp63(const struct limit_state *state, const double *x)
{
    double sum = 0.0;
    for (int index = 1; index < state->n; index++)
        sum += x[index] * x[index];
    return 0.1 * sum - x[0] - 4.5;
}

static double rp107(const struct limit_state *state, const double *x)
{
    double sum = 0.0;
    for (int index = 0; index < state->n; index++)
        sum += x[index];
    return 5.0 * sqrt(10.0) - sum;
}

static double parabola(const struct limit_state *state, const double *x)
{
    (void)state;
    return 5.0 - x[1] - 0.5 * (x[0] - 0.1) * (x[0] - 0.1);
}

static double series(const struct limit_state *state, const double *x)
{
    (void)state;
    return fmin(fmin(3.0 - x[0], 3.5 + x[0]), 4.0 - x[1]);
}

const struct limit_state limit_states[] = {
    {"LIN-b1 in 2", 2, 1.0, 0.0, 0, linear},
    {"LIN-b1 in 100", 100, 1.0, 0.0, 0, linear},
    {"LIN-b3 in 10", 10, 3.0, 0.0, 1, linear},
    {"LIN-b4 in 2", 2, 4.0, 0.0, 1, linear},
    {"LIN-b4 in 10", 10, 4.0, 0.0, 1, linear},
    {"LIN-b4 in 100", 100, 4.0, 0.0, 0, linear},
    {"LIN-b6 in 10", 10, 6.0, 0.0, 0, linear},
    {"RS-normal-2", 2, 0.0, 0.0, 1, strength_normal},
    {"RS-lognormal", 2, 0.0, 0.0, 1, strength_lognormal},
    {"FOUR-BRANCH-k6", 2, 6.0, 0.0, 1, four_branch},
    {"RP8-wide", 6, 0.0, 0.0, 1, frame},
    {"RP24", 2, 0.0, 0.0, 1, rp24},
    {"RP33", 3, 0.0, 0.0, 1, rp33},
    {"RP53", 2, 0.0, 0.0, 1, rp53},
    {"RP63", 100, 0.0, 0.0, 0, rp63},
    {"RP107", 10, 0.0, 0.0, 1, rp107},
    {"SPHERE", 2, 3.7, 0.0, 1, outside},
    {"PARABOLA", 2, 0.0, 0.0, 1, parabola},
    {"SERIES-UNEQUAL", 2, 0.0, 0.0, 1, series},
    {"SERIES-UNEQUAL in 60", 60, 0.0, 0.0, 0, series},
    {"two-sided 3.5 in 60", 60, 3.5, 4.6525815807105e-4, 0, two_sided},
    {"ball in 10 at 1e-4", 10, 5.963557155083878, 1e-4, 0, outside},
    {"linear at 1e-6", 10, 4.753424308822899, 1e-6, 1, linear},           /* the limit is chosen for it */
    {"two-sided 3.5 in 2", 2, 3.5, 4.6525815807105e-4, 1, two_sided},
    {"two-sided 3.5 in 20", 20, 3.5, 4.6525815807105e-4, 0, two_sided},
    {"circle at 1e-6", 2, 5.256521769756932, 1e-6, 0, outside},           /* exp(-limit^2/2) */
    {"stepped at 1e-4", 5, 3.719016485455709, 1e-4, 1, stepped},
    {"linear at 0.5", 4, 0.0, 0.5, 0, linear},                            /* not rare, as LIN-b1 is not: */
    {"linear at 0.99", 4, -2.326347874040841, 0.99, 0, linear},           /* nothing to claim            */
    {"linear at 0.99997", 1, -4.0, 0.9999683287581669, 0, linear},
};

const int limit_states_count = sizeof limit_states / sizeof limit_states[0];

const struct limit_state *limit_state_find(const char *name)
{
    for (int index = 0; index < limit_states_count; index++) {
        if (strcmp(limit_states[index].name, name) == 0)
            return &limit_states[index];
    }
    fail_msg("no limit state %s", name);
    return NULL;
}

double limit_state_odds(const struct limit_state *state, const struct reference *table)
{
    const char *in = strstr(state->name, " in ");
    const size_t length = in ? (size_t)(in - state->name) : strlen(state->name);
    if (state->odds > 0.0)
        return state->odds;
    for (int row = 0; row < reference_rows(table); row++) {
        const char *id = reference_text(table, row, "id");
        if (strlen(id) == length && strncmp(id, state->name, length) == 0)
            return reference_number(table, row, "pf_reference");
    }
    fail_msg("no row %s in rare_event.csv", state->name);
    return 0.0;
}

void limit_state_margins(void *user, const double *scores, int n_flights, double *margins)
{
    const struct limit_state *state = user;
    for (int flight = 0; flight < n_flights; flight++)
        margins[flight] = state->margin(state, scores + (size_t)flight * (size_t)state->n);
}
