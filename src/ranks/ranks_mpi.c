/* Messages by MPI. Errors of MPI end all processes, as it does by itself; what was written until then is safe in the store. */
#include <limits.h>
#include <mpi.h>
#include <stdlib.h>
#include <time.h>

#include "ranks.h"

/* Did a launcher start this process? Without one MPI would start helpers of its own, for nothing. */
static bool is_launched(void)
{
    static const char *const marks[] = {"PMIX_RANK", "OMPI_COMM_WORLD_SIZE", "PMI_RANK", "PMI_SIZE", "MPI_LOCALNRANKS"};
    for (size_t index = 0; index < sizeof marks / sizeof marks[0]; index++)
        if (getenv(marks[index]))
            return true;
    return false;
}

struct rc_ranks rc_ranks_begin(void)
{
    struct rc_ranks ranks = {.rank = 0, .count = 1};
    if (!is_launched())
        return ranks;
    (void)MPI_Init(NULL, NULL);
    (void)MPI_Comm_rank(MPI_COMM_WORLD, &ranks.rank);
    (void)MPI_Comm_size(MPI_COMM_WORLD, &ranks.count);
    return ranks;
}

void rc_ranks_end(void)
{
    int is_begun = 0;
    int is_ended = 0;
    (void)MPI_Initialized(&is_begun);
    (void)MPI_Finalized(&is_ended);
    if (is_begun && !is_ended)
        (void)MPI_Finalize();
}

rc_status rc_ranks_send(int to, const void *bytes, size_t n_bytes, struct rc_error *err)
{
    if (n_bytes > INT_MAX)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "%zu bytes are too many for a message to a rank", n_bytes);
    (void)MPI_Send(bytes, (int)n_bytes, MPI_BYTE, to, 0, MPI_COMM_WORLD);
    return RC_OK;
}

/* MPI waits by asking without pause; we pause, up to a millisecond, so that a rank that waits leaves its core to others. */
bool rc_ranks_await(int *from, size_t *n_bytes, const atomic_int *stop)
{
    enum { FIRST_NS = 10000, LONGEST_NS = 1000000 };
    struct timespec pause = {.tv_nsec = FIRST_NS};
    MPI_Status status;
    int is_there = 0;
    int n = 0;
    for (;;) {
        (void)MPI_Iprobe(MPI_ANY_SOURCE, 0, MPI_COMM_WORLD, &is_there, &status);
        if (is_there)
            break;
        if (stop && *stop)
            return false;
        (void)nanosleep(&pause, NULL);
        pause.tv_nsec = pause.tv_nsec * 2 < LONGEST_NS ? pause.tv_nsec * 2 : LONGEST_NS;
    }
    (void)MPI_Get_count(&status, MPI_BYTE, &n);
    *from = status.MPI_SOURCE;
    *n_bytes = (size_t)n;
    return true;
}

void rc_ranks_take(int from, void *bytes, size_t n_bytes)
{
    (void)MPI_Recv(bytes, (int)n_bytes, MPI_BYTE, from, 0, MPI_COMM_WORLD, MPI_STATUS_IGNORE);
}
