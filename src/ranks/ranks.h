/* Front header of ranks: messages between the processes of one run. The only user of MPI; a build without it has a process that
 * is alone. Knows bytes, not flights. One thread of a process at a time. */
#ifndef RC_RANKS_H
#define RC_RANKS_H

#include <stdatomic.h>
#include <stddef.h>

#include "base/base.h"

/* Which process of how many this is; rank 0 leads. */
struct rc_ranks {
    int rank, count;
};

/* Join the other processes, where an MPI launcher started this one; else it is alone: 0 of 1.
 * out  ranks  ends with rc_ranks_end */
struct rc_ranks rc_ranks_begin(void);

/* Leave. All ranks call it, after their last message. */
void rc_ranks_end(void);

/* Send bytes to a rank. Returns once they may be changed.
 * ends RC_BAD_INPUT (more than 2 GiB); a rank that is gone ends the process, as MPI does */
rc_status rc_ranks_send(int to, const void *bytes, size_t n_bytes, struct rc_error *err) RC_MUST_CHECK;

/* Wait for the next message of any rank, without keeping the processor busy.
 * out  from     its rank
 * out  n_bytes  its length
 * in   stop     may be NULL; looked at while waiting
 * ends false if stop became non-zero before there was one */
bool rc_ranks_await(int *from, size_t *n_bytes, const atomic_int *stop);

/* Take the message that rc_ranks_await told of. out bytes (n_bytes) */
void rc_ranks_take(int from, void *bytes, size_t n_bytes);

#endif
