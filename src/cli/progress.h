/* How a run stands, on standard error: one rewritten line on a terminal, a line every ten seconds otherwise. */
#ifndef RC_PROGRESS_H
#define RC_PROGRESS_H

#include "rollcast/run.h"

/* What was shown so far. Fill with {.is_terminal = isatty(2)}. */
struct rc_progress_display {
    int is_terminal;
    double shown_at; /* when the last plain line was written [s] */
    int n_columns;   /* of the line that stands on the terminal  */
};

/* Callback for rc_run_options.progress. in user a struct rc_progress_display */
void rc_progress_show(void *user, const struct rc_progress *progress);

/* Take the rewritten line off the terminal, before any other message. */
void rc_progress_clear(struct rc_progress_display *display);

/* Seconds to the last flight at the rate so far; -1 before the first. */
double rc_progress_to_go(const struct rc_progress *progress);

/* Flights per second of this run, 0 before the first. */
double rc_progress_rate(const struct rc_progress *progress);

#endif
