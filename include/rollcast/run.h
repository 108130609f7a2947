/* Running a campaign: many flights into a store, or one flight again. */
#ifndef ROLLCAST_RUN_H
#define ROLLCAST_RUN_H

#include <stdatomic.h>
#include <stdint.h>
#include <stdio.h>

#include "rollcast/analysis.h"
#include "rollcast/campaign.h"
#include "rollcast/results.h"
#include "rollcast/status.h"

/* How a run stands. */
struct rc_progress {
    int64_t done;        /* flights in the store                                   */
    int64_t asked;       /* flights asked for                                      */
    int64_t begun_with;  /* flights that were there when this run started          */
    double seconds;      /* since this run started                                 */
    struct rc_odds odds; /* of all criteria together, all flights in the store; no flights where they say nothing */
    double confidence;   /* of its interval                                                */
    int n_threads;
    int shard, n_shards; /* which shard of how many this run is; zeros: all of it      */
    enum rc_stop_reason stopped; /* why its stop rule ended it, RC_STOP_NONE where it did not */
};

struct rc_run_options {
    int64_t n_flights;       /* 0 = as the campaign says                                               */
    int has_seed;            /* use `seed` instead of the campaign's                                   */
    uint64_t seed;
    int n_threads;           /* 0 = all cores                                                          */
    struct rc_rare_rule rare_rule;  /* method and criterion (-1 not said) replace the campaign's; no method: its own */
    struct rc_stop_rule stop_rule;  /* what is set in it replaces the campaign's; `most` is not used              */
    int n_ranks;             /* from rc_run_join: above 1 the other ranks fly, a thread each, and n_threads says nothing */
    int shard, n_shards;     /* fly shard 1 .. n_shards of the run only; both 0 = all of it            */
    int resume;              /* go on with an existing store                                           */
    const atomic_int *stop; /* not NULL: checked between blocks; non-zero ends the run; a signal handler may set it */
    void (*progress)(void *user,
                     const struct rc_progress *progress); /* NULL or called about 5 times a second, never concurrently */
    void *user;
};

/* Threads that a run takes where it is not told: the processor's cores, or as many as OpenMP's own settings say. */
int rc_run_cores(void);

/* Fly a campaign into a store, new or resumed. Bits do not depend on threads, stops and resumes; nor does the flight at which a
 * stop rule ends the run, unless it is one of time. A run that its rule ended is a finished one, with as many flights asked for
 * as it has.
 * in   path     the store
 * out  ended    how it stands at the end; may be NULL
 * ends RC_EXISTS, RC_OTHER_STORE, RC_NOT_STORE, RC_IO, RC_NO_SPACE, RC_STOPPED (resumable), RC_NO_MEMORY; RC_BAD_INPUT: a run
 *      after rare failures without a criterion or without anything uncertain, a stop rule that the plan cannot have, a run that
 *      cannot be cut into shards, more shards than flights */
rc_status rc_run_fly(const rc_campaign *campaign, const char *path, const struct rc_run_options *options,
                     struct rc_progress *ended, struct rc_error *err) RC_MUST_CHECK;

/* Join the other processes of a run, in a build with MPI started by an MPI launcher; else this one is alone.
 * out  rank, n_ranks  0 and 1 if alone. Rank 0 calls rc_run_fly with n_ranks, any number of times; the others rc_run_help; all
 *                     rc_run_leave at the end */
void rc_run_join(int *rank, int *n_ranks);

/* Fly what rank 0 hands out until it leaves; touches no file. For ranks from 1 on.
 * in   stop  as in rc_run_options
 * ends RC_NO_MEMORY, RC_INTERNAL; what goes wrong with a flight is told by rank 0 */
rc_status rc_run_help(const atomic_int *stop, struct rc_error *err) RC_MUST_CHECK;

/* Leave; rank 0 sends the others home. in rank, n_ranks from rc_run_join */
void rc_run_leave(int rank, int n_ranks);

/* What was merged. */
struct rc_merged {
    int64_t flights;
    int n_shards;
    int is_mixed;     /* compiler, lanes or system of some shard is not this program's           */
    int n_checked;    /* flights that were flown again and had the bits of their shard           */
};

/* Write one store out of all shards of a run: the bits of a run that was never cut. Shards must be of one campaign, seed, number
 * of flights and program version, all of them, each once, each finished. Compiler, lanes, instruction set and host may differ: of
 * every shard some flights are flown again here and compared bit by bit. The store appears complete or not at all.
 * in   shard   (n_shards) paths in any order
 * in   path    the store to make; never overwritten
 * out  merged  may be NULL
 * ends RC_OTHER_STORE (says which shards are missing, given twice, unfinished or of another run), RC_NOT_STORE, RC_EXISTS, RC_IO,
 *      RC_NO_SPACE, RC_NO_MEMORY; RC_BAD_INPUT (the campaign that they keep is not accepted)
 * cost reads every shard twice; memory does not grow with their length */
rc_status rc_run_merge(const char *const *shard, int n_shards, const char *path, struct rc_merged *merged,
                       struct rc_error *err) RC_MUST_CHECK;

/* Fly one stored flight again from what the store keeps, compare every stored number bit by bit and write its history.
 * in   flight   its number in the store
 * in   csv      where the history goes as CSV (header row with units in the names); NULL = do not write
 * in   interval least time between rows, 0 = every platform tick [s]
 * out  n_differing  stored numbers whose bits differ: 0 when the promise holds
 * ends RC_BAD_INPUT (no such flight), RC_NOT_STORE, RC_IO, RC_NO_MEMORY */
rc_status rc_run_replay(const rc_results *results, int64_t flight, FILE *csv, double interval, int *n_differing,
                        struct rc_error *err) RC_MUST_CHECK;

/* Margins of all stored flights to a criterion, by flight number.
 * out  margins  (rc_results_flights) caller frees; NULL without flights
 * ends RC_IO, RC_NOT_STORE, RC_NO_MEMORY */
rc_status rc_run_margins(double **margins, const rc_results *results, const struct rc_criterion *criterion,
                         struct rc_error *err) RC_MUST_CHECK;

/* Read the campaign that a store keeps.
 * out  campaign  caller frees with rc_campaign_free
 * ends RC_BAD_INPUT, RC_NO_MEMORY */
rc_status rc_run_campaign(rc_campaign **campaign, const rc_results *results, struct rc_issues *issues) RC_MUST_CHECK;

#endif
