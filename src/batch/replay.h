/* Flying stored flights again, for the one that is asked for and for a look at a shard. */
#ifndef RC_REPLAY_H
#define RC_REPLAY_H

#include "worker.h"

/* Fly one row of a store again and compare every stored number bit by bit.
 * in   row        its place in the store; its flight number follows from the store's shard
 * in   plan       of the store's campaign
 * out  n_differing  stored numbers whose bits differ
 * ends RC_IO, RC_NO_MEMORY */
rc_status rc_run_replay_row(const rc_results *results, const struct rc_worker_plan *plan, int64_t row, int *n_differing,
                            struct rc_error *err) RC_MUST_CHECK;

#endif
