/* Who looks on while a campaign is flown: the progress line and the status file. */
#ifndef RC_FLIGHT_WATCH_H
#define RC_FLIGHT_WATCH_H

#include "progress.h"
#include "rollcast/rollcast.h"

/* One run that is looked at. Zero-initialise, set what is wanted. */
struct rc_flight_watch {
    struct rc_progress_display display;
    int is_quiet;                    /* no line                                           */
    const char *status_path;         /* NULL = none                                       */
    struct rc_report_state run;        /* campaign and store are set                        */
    double next_status;              /* no status before this time of the run [s]         */
    int has_failed;                  /* it could not be, and that has been said           */
};

/* Write the first status, before anything is flown. ends 0, or the exit code after saying why it cannot be written */
int rc_flight_watch_begin(struct rc_flight_watch *watch);

/* Callback for rc_run_options.progress. in user a struct rc_flight_watch */
void rc_flight_watch_show(void *user, const struct rc_progress *progress);

/* Write the last status.
 * in   code     the exit code
 * in   message  of an error, else NULL */
void rc_flight_watch_end(struct rc_flight_watch *watch, const struct rc_progress *ended, int code, const char *message);

#endif
