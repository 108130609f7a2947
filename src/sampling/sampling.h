/* Front header of sampling: flight number -> a value for every uncertain quantity, computed from the number alone. */
#ifndef RC_SAMPLING_H
#define RC_SAMPLING_H

#include <stdint.h>

#include "base/limits.h"
#include "numeric/numeric.h"

/* One uncertain quantity, in the campaign's unit. */
struct rc_uncertain {
    char path[RC_MAX_PATH_TEXT];          /* "fins[0].misalignment_deg[2]"                        */
    uint64_t path_hash;                   /* rc_hash_bytes over path: key of its stream           */
    struct rc_distribution distribution;
    double low, high;                     /* the quantity's allowed range: draws are held inside  */
};

/* All uncertain quantities of a campaign, in the order of the store's columns. */
struct rc_sampling {
    int n;
    struct rc_uncertain *quantity;        /* (n), owned by whoever made it */
};

/* A sampling plan: one file in plans/, one row in plans.def. */
struct rc_plan_kind {
    const char *name;     /* key in a campaign, e.g. "plain" */
    const char *summary;
    /* Fill values (n) for one flight. */
    void (*draw)(const struct rc_sampling *sampling, uint64_t seed, uint64_t flight, double *values);
};

/* Number of plans, the plan at an index, and the plan of that name (NULL where there is none). */
int rc_plan_count(void);
const struct rc_plan_kind *rc_plan_at(int index);
const struct rc_plan_kind *rc_plan_find(const char *name);

#endif
