/* A run's stop rule at work: counts flights as their rows come, in order, and tells after which of them the run is over. */
#ifndef RC_WATCH_H
#define RC_WATCH_H

#include "columns.h"
#include "rollcast/analysis.h"

/* Counts so far. */
struct rc_watch {
    struct rc_stop_rule rule;
    int n_rows, n_replicates;                            /* of the answer: criteria and all together; 1 for a plain plan */
    struct rc_criterion criterion[RC_MAX_CRITERIA + 1];  /* (n_rows) all together is the last                            */
    struct rc_replicates counts[RC_MAX_CRITERIA + 1];    /* (n_rows)                                                     */
    const struct rc_plan_kind *plan;                     /* which flights count                                          */
    const struct rc_sampling *sampling;
    int64_t first;                                       /* flight number of the first row                               */
    int64_t flights, next_look;                          /* -1: it looks no more                                         */
    enum rc_stop_reason reason;                          /* once it is over                                              */
};

/* Begin with no flights. */
void rc_watch_begin(struct rc_watch *watch, const rc_campaign *campaign, const struct rc_stop_rule *rule);

/* Count the flights that a store to be resumed holds. The rule may be reached with the last of them.
 * in   n  0 .. its flights
 * ends RC_IO, RC_NOT_STORE, RC_NO_MEMORY
 * cost reads the columns of the criteria once; without a rule, that of all together */
rc_status rc_watch_stored(struct rc_watch *watch, const char *path, int64_t n, struct rc_error *err) RC_MUST_CHECK;

/* Count the next rows up to the one with which the rule is reached.
 * in   rows  (n x columns->n)
 * ends how many of them the run keeps; watch->reason says whether it is over */
int rc_watch_rows(struct rc_watch *watch, const struct rc_columns *columns, const double *rows, int n);

/* The odds of all criteria together so far, with the interval that the rule and the plan leave; no flights before the first. */
struct rc_odds rc_watch_odds(const struct rc_watch *watch);

/* Is the time over? in seconds since the run started */
void rc_watch_time(struct rc_watch *watch, double seconds);

#endif
