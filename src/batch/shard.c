/* Cutting a run into shards. A flight is a function of its number, so any cut gives the same flights. */
#include "shard.h"

rc_status rc_shard_share(struct rc_shard *shard, int64_t *n_flights, struct rc_error *err)
{
    enum { LONG = 16 }; /* chunks; then shares of whole chunks differ by a sixteenth at most */
    const int64_t count = shard->count;
    if (count < 1 || count > RC_MAX_SHARDS || shard->number < 1 || shard->number > count)
        return rc_error_fill(err, RC_BAD_INPUT, NULL,
                             "there is no shard %d/%d: the first number is 1 to the second, that at most %d",
                             shard->number, shard->count, RC_MAX_SHARDS);
    if (count > shard->whole)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "%lld flights cannot be shared by %lld shards; take fewer shards",
                             (long long)shard->whole, (long long)count);
    const int64_t block = shard->whole / count >= (int64_t)LONG * RC_STORE_CHUNK ? RC_STORE_CHUNK : 1;
    const int64_t n_blocks = (shard->whole + block - 1) / block;
    const int64_t end = block * (n_blocks * shard->number / count);
    shard->first = block * (n_blocks * (shard->number - 1) / count);
    *n_flights = (end < shard->whole ? end : shard->whole) - shard->first;
    return RC_OK;
}

rc_status rc_shard_refuse(bool is_rare, const struct rc_stop_rule *rule, struct rc_error *err)
{
    if (is_rare)
        return rc_error_fill(err, RC_BAD_INPUT, NULL,
                             "a run after rare failures cannot be cut into shards: which flights it takes follows from those "
                             "before; run it whole, on more threads");
    if (rc_stop_is_set(rule))
        return rc_error_fill(err, RC_BAD_INPUT, NULL,
                             "a run with a stop rule cannot be cut into shards: its end follows from all flights before; take "
                             "out the rule and say how many flights, or run it whole");
    return RC_OK;
}
