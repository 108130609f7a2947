/* Looking on. What the line and the file say is progress.c's and the library's. */
#include "flight_watch.h"

#include "say.h"

static const double status_interval_s = 1.0;

/* A run goes on without its status file, but that is said once. */
static int write_status(struct rc_flight_watch *watch)
{
    struct rc_error err = {0};
    if (watch->status_path == NULL || watch->has_failed) {
        return 0;
    }
    if (rc_report_status(watch->status_path, &watch->run, &err) == RC_OK) {
        return 0;
    }
    watch->has_failed = 1;
    rc_progress_clear(&watch->display);
    return rc_say_error(&err, watch->status_path);
}

int rc_flight_watch_begin(struct rc_flight_watch *watch)
{
    watch->run.state = "starting";
    watch->run.exit_code = -1;
    return write_status(watch);
}

void rc_flight_watch_show(void *user, const struct rc_progress *progress)
{
    struct rc_flight_watch *watch = user;
    if (!watch->is_quiet) {
        rc_progress_show(&watch->display, progress);
    }
    if (progress->seconds < watch->next_status) {
        return;
    }
    watch->next_status = progress->seconds + status_interval_s;
    watch->run.state = "flying";
    watch->run.progress = progress;
    (void)write_status(watch);
    watch->run.progress = NULL; /* it is gone after this call */
}

void rc_flight_watch_end(struct rc_flight_watch *watch, const struct rc_progress *ended, int code, const char *message)
{
    watch->run.state = code == 0 ? "finished" : code == rc_status_exit_code(RC_STOPPED) ? "stopped" : "failed";
    watch->run.exit_code = code;
    watch->run.message = message;
    watch->run.progress = ended->asked > 0 ? ended : NULL;
    (void)write_status(watch);
}
