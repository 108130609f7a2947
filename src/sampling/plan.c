/* The registry of sampling plans. A plan is one file in plans/ and one row in plans.def. */
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
