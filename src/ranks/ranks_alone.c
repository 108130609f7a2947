/* A build without MPI: there is nobody to talk to. */
#include "ranks.h"

struct rc_ranks rc_ranks_begin(void)
{
    return (struct rc_ranks){.rank = 0, .count = 1};
}

void rc_ranks_end(void)
{
}

rc_status rc_ranks_send(int to, const void *bytes, size_t n_bytes, struct rc_error *err)
{
    (void)bytes;
    (void)n_bytes;
    return rc_error_fill(err, RC_INTERNAL, NULL, "a message to rank %d, but this build has no ranks", to);
}

bool rc_ranks_await(int *from, size_t *n_bytes, const atomic_int *stop)
{
    (void)stop;
    *from = 0;
    *n_bytes = 0;
    return false;
}

void rc_ranks_take(int from, void *bytes, size_t n_bytes)
{
    (void)from;
    (void)bytes;
    (void)n_bytes;
}
