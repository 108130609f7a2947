/* Opening the store of a run: what all kinds of run tell it about campaign, program and host. */
#ifndef RC_RUN_STORE_H
#define RC_RUN_STORE_H

#include "columns.h"
#include "rollcast/run.h"

/* What a run wants. */
struct rc_run_store {
    const rc_campaign *campaign;
    const struct rc_columns *columns;
    uint64_t seed;
    int64_t n_flights;       /* asked for                                                        */
    struct rc_shard shard;   /* count 0: the whole                                               */
    const char *run_rule;    /* text of its stop rule or its rare rule, empty without            */
    int has_bands;           /* percentile bands over time are kept, where the campaign keeps them */
    int resume;
    struct rc_rare_rule rare; /* no method: the plan's flights                                   */
};

/* The plan of a store and what it points to. */
struct rc_run_store_plan {
    struct rc_store_plan plan;
    struct rc_store_signal signal[RC_N_SIGNALS];
    struct rc_text facts;
    double *edges;
};

/* Say what a store of this run holds.
 * out  made  ends with rc_run_store_plan_free, also on error; must not be moved
 * ends RC_NO_MEMORY */
rc_status rc_run_store_plan(struct rc_run_store_plan *made, const struct rc_run_store *wanted,
                            struct rc_error *err) RC_MUST_CHECK;

/* Release it. */
void rc_run_store_plan_free(struct rc_run_store_plan *made);

/* Open the store, new or to be resumed.
 * out  store  ends with rc_store_close
 * ends as rc_store_create and rc_store_resume */
rc_status rc_run_store_open(struct rc_store **store, const char *path, const struct rc_run_store *wanted,
                            struct rc_error *err) RC_MUST_CHECK;

/* Fly after the odds of failing one criterion into a store, new or resumed. The store holds every flight that the method flies,
 * in its order; which flights those are follows from seed, rule and the flights before, so that a resumed run and an answer go
 * through the same steps with what is stored.
 * in   wanted  its rare rule is the method; n_flights, run_rule and has_bands are not used
 * ends as rc_run_fly */
rc_status rc_run_rare(const char *path, const struct rc_run_store *wanted, const struct rc_run_options *options,
                      struct rc_progress *ended, struct rc_error *err) RC_MUST_CHECK;

#endif
