/* A run in shards: which flights are whose, and which runs cannot be cut. */
#ifndef RC_BATCH_SHARD_H
#define RC_BATCH_SHARD_H

#include "rollcast/run.h"
#include "store/store.h"

/* Share a run out: every flight is in one shard, shards follow each other, and differ by one flight at most; where they are long
 * they begin at whole chunks of the store and differ by a chunk.
 * in/out shard    number, count and whole given; out: first
 * out    n_flights  of the shard
 * ends RC_BAD_INPUT (number outside 1 .. count, more shards than flights or than RC_MAX_SHARDS) */
rc_status rc_shard_share(struct rc_shard *shard, int64_t *n_flights, struct rc_error *err) RC_MUST_CHECK;

/* Refuse a run whose flights, or whose end, follow from the flights before.
 * in   is_rare  it goes after rare failures
 * ends RC_BAD_INPUT where it cannot be cut, with what to do instead */
rc_status rc_shard_refuse(bool is_rare, const struct rc_stop_rule *rule, struct rc_error *err) RC_MUST_CHECK;

#endif
