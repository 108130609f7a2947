/* The progress line: done, rate, time to go, odds so far. */
#include "progress.h"

#include <inttypes.h>
#include <stdio.h>

static const double plain_interval_s = 10.0;

double rc_progress_rate(const struct rc_progress *progress)
{
    return progress->seconds > 0.0 ? (double)(progress->done - progress->begun_with) / progress->seconds : 0.0;
}

/* "3 s", "2 min 05 s", "1 h 07 min", "12 d 3 h" */
static void duration_text(char *text, size_t size, double seconds)
{
    const int64_t whole = seconds < 1e12 ? (int64_t)(seconds + 0.5) : INT64_C(1000000000000);
    if (whole < 60) {
        snprintf(text, size, "%" PRId64 " s", whole);
    } else if (whole < 3600) {
        snprintf(text, size, "%" PRId64 " min %02d s", whole / 60, (int)(whole % 60));
    } else if (whole < 86400) {
        snprintf(text, size, "%" PRId64 " h %02d min", whole / 3600, (int)(whole % 3600 / 60));
    } else {
        snprintf(text, size, "%" PRId64 " d %d h", whole / 86400, (int)(whole % 86400 / 3600));
    }
}

static void line_text(char *text, size_t size, const struct rc_progress *progress)
{
    const int64_t n_new = progress->done - progress->begun_with;
    const double rate = rc_progress_rate(progress);
    char left[40] = "time to go unknown";
    char odds[40] = "";

    if (rate > 0.0) {
        char time[32];
        duration_text(time, sizeof time, (double)(progress->asked - progress->done) / rate);
        snprintf(left, sizeof left, "%s to go", time);
    }
    if (n_new > 0 && progress->passed >= 0) {
        snprintf(odds, sizeof odds, ", odds so far %.1f %%", 100.0 * (double)progress->passed / (double)n_new);
    }
    const double share = progress->asked > 0 ? 100.0 * (double)progress->done / (double)progress->asked : 100.0;
    snprintf(text, size, "%" PRId64 " of %" PRId64 " flights (%.0f %%), %.0f flights/s, %s%s", progress->done, progress->asked,
             share, rate, left, odds);
}

void rc_progress_show(void *user, const struct rc_progress *progress)
{
    struct rc_progress_display *display = user;
    char text[240];

    if (!display->is_terminal && progress->seconds - display->shown_at < plain_interval_s) {
        return;
    }
    line_text(text, sizeof text, progress);
    if (!display->is_terminal) {
        display->shown_at = progress->seconds;
        fprintf(stderr, "%s\n", text);
        return;
    }
    /* Blanks over the rest of a longer line before it: works on every terminal. */
    const int n_columns = fprintf(stderr, "\r%s", text) - 1;
    if (n_columns < display->n_columns) {
        fprintf(stderr, "%*s", display->n_columns - n_columns, "");
    }
    display->n_columns = n_columns > 0 ? n_columns : 0;
    fflush(stderr);
}

void rc_progress_clear(struct rc_progress_display *display)
{
    if (display->is_terminal && display->n_columns > 0) {
        fprintf(stderr, "\r%*s\r", display->n_columns, "");
        display->n_columns = 0;
    }
}
