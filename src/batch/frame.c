/* The frame of a run. Which flights are flown, and by whom, is left to the runs. */
#include "frame.h"

#include <omp.h>

#include "base/base.h"

static double seconds_between(const struct timespec *from, const struct timespec *to)
{
    return (double)(to->tv_sec - from->tv_sec) + 1e-9 * (double)(to->tv_nsec - from->tv_nsec);
}

void rc_frame_begin(struct rc_frame *frame)
{
    frame->n_threads = frame->options->n_threads > 0 ? frame->options->n_threads : omp_get_max_threads();
    if (frame->options->n_ranks > 1)
        frame->n_threads = frame->options->n_ranks - 1; /* rank 0 hands out and writes */
    frame->begun_with = rc_store_flights(frame->store);
    (void)clock_gettime(CLOCK_MONOTONIC, &frame->begun);
    frame->shown = frame->begun;
}

double rc_frame_seconds(const struct rc_frame *frame)
{
    struct timespec now = frame->begun;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return seconds_between(&frame->begun, &now);
}

struct rc_progress rc_frame_progress(const struct rc_frame *frame)
{
    struct rc_progress progress = {.done = rc_store_flights(frame->store), .asked = frame->asked,
                                   .begun_with = frame->begun_with, .seconds = rc_frame_seconds(frame),
                                   .n_threads = frame->n_threads, .shard = frame->shard.number,
                                   .n_shards = frame->shard.count};
    if (!frame->watch)
        return progress;
    progress.stopped = frame->watch->reason;
    progress.odds = rc_watch_odds(frame->watch);
    progress.confidence = frame->watch->criterion[frame->watch->n_rows - 1].confidence;
    return progress;
}

void rc_frame_show(struct rc_frame *frame)
{
    struct timespec now;
    if (!frame->options->progress || clock_gettime(CLOCK_MONOTONIC, &now) != 0 || seconds_between(&frame->shown, &now) < 0.2)
        return;
    frame->shown = now;
    const struct rc_progress progress = rc_frame_progress(frame);
    frame->options->progress(frame->options->user, &progress);
}

rc_status rc_frame_stopped(struct rc_frame *frame)
{
    return rc_error_fill(&frame->err, RC_STOPPED, frame->path, "stopped after %lld of %lld flights; resume to go on",
                         (long long)rc_store_flights(frame->store), (long long)frame->asked);
}

rc_status rc_frame_close(struct rc_frame *frame, struct rc_progress *ended, struct rc_error *err)
{
    struct rc_error close_err = {.status = RC_OK};
    if (err)
        *err = frame->err;
    if (ended)
        *ended = rc_frame_progress(frame);
    const rc_status closed = rc_store_close(frame->store, &close_err);
    frame->store = NULL;
    if (closed == RC_OK || (frame->status != RC_OK && frame->status != RC_STOPPED)) /* the first failure is the one to tell */
        return frame->status;
    if (err)
        *err = close_err;
    return closed;
}
