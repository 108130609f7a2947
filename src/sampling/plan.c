/* The registry of sampling plans and what they share. A plan is one file in plans/ and one row in plans.def. */
#include <float.h>
#include <math.h>
#include <stddef.h>
#include <string.h>

#include "sampling.h"

#define RC_PLAN(name) extern const struct rc_plan_kind rc_##name##_plan;
#include "plans/plans.def"
#undef RC_PLAN

static const struct rc_plan_kind *const plans[] = {
#define RC_PLAN(name) &rc_##name##_plan,
#include "plans/plans.def"
#undef RC_PLAN
};

int rc_plan_count(void)
{
    return (int)(sizeof plans / sizeof plans[0]);
}

const struct rc_plan_kind *rc_plan_at(int index)
{
    return index >= 0 && index < rc_plan_count() ? plans[index] : NULL;
}

const struct rc_plan_kind *rc_plan_find(const char *name)
{
    for (int index = 0; index < rc_plan_count(); index++) {
        if (strcmp(plans[index]->name, name) == 0)
            return plans[index];
    }
    return NULL;
}

bool rc_plan_counts(const struct rc_plan_kind *plan, const struct rc_sampling *sampling, uint64_t flight)
{
    return !plan->counts || plan->counts(sampling, flight);
}

static double held(const struct rc_uncertain *quantity, double value)
{
    return fmin(fmax(value, quantity->low), quantity->high);
}

/* The members of the copula, while `values` still holds the uniform numbers; their values are put aside. */
static void draw_members(const struct rc_sampling *sampling, const double *uniforms, double *member_values)
{
    for (int index = 0; index < rc_copula_count(sampling->copula); index++) {
        const struct rc_uncertain *quantity = &sampling->quantity[rc_copula_member(sampling->copula, index)];
        double lower = 0.0;
        double upper = 0.0;
        rc_copula_tails(sampling->copula, index, uniforms, &lower, &upper);
        member_values[index] = held(quantity, rc_distribution_value_tails(&quantity->distribution, lower, upper));
    }
}

void rc_plan_values(const struct rc_sampling *sampling, double *values)
{
    double member_values[RC_MAX_UNCERTAIN];
    const int n_members = sampling->copula ? rc_copula_count(sampling->copula) : 0;
    if (n_members > 0)
        draw_members(sampling, values, member_values);
    for (int index = 0; index < sampling->n; index++) {
        const struct rc_uncertain *quantity = &sampling->quantity[index];
        values[index] = held(quantity, rc_distribution_value(&quantity->distribution, values[index]));
    }
    for (int index = 0; index < n_members; index++)
        values[rc_copula_member(sampling->copula, index)] = member_values[index];
}

double rc_plan_uniform(uint64_t cell, double n_cells, double within)
{
    return fmin(((double)cell + within) / n_cells, 1.0 - 0.5 * DBL_EPSILON);
}
