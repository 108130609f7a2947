/* What every kind of run has around its flights: clock, progress, first failure, closing of the store. */
#ifndef RC_FRAME_H
#define RC_FRAME_H

#include <time.h>

#include "rollcast/run.h"
#include "store/store.h"
#include "watch.h"

/* A run's frame. Not for several threads at once. */
struct rc_frame {
    const struct rc_run_options *options;
    const char *path;
    struct rc_store *store;
    const struct rc_watch *watch; /* counts its flights; NULL: they are no sample              */
    int n_threads;
    struct rc_shard shard;       /* which part of the run it is; count 0: all of it            */
    int64_t asked, begun_with;   /* flights asked for; those the store held when the run began */
    struct timespec begun, shown;
    rc_status status;            /* of the run; its first failure                              */
    struct rc_error err;
};

/* Begin with an open store and the flights it holds; the clock starts.
 * in/out frame  options, path, store and asked are set */
void rc_frame_begin(struct rc_frame *frame);

/* Since rc_frame_begin [s]. */
double rc_frame_seconds(const struct rc_frame *frame);

/* How the run stands. */
struct rc_progress rc_frame_progress(const struct rc_frame *frame);

/* Tell the user's progress function, at most five times a second. */
void rc_frame_show(struct rc_frame *frame);

/* Say that the run was asked to stop. ends RC_STOPPED */
rc_status rc_frame_stopped(struct rc_frame *frame);

/* Close the store and hand out how the run ended.
 * out  ended, err  may be NULL
 * ends the run's first failure, RC_STOPPED giving way to a store that could not be closed */
rc_status rc_frame_close(struct rc_frame *frame, struct rc_progress *ended, struct rc_error *err) RC_MUST_CHECK;

#endif
