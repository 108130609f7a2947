/* The progress line: done, rate, time to go, odds so far. */
#include "progress.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>

static const double plain_interval_s = 10.0;

double rc_progress_rate(const struct rc_progress *progress)
{
    return progress->seconds > 0.0 ? (double)(progress->done - progress->begun_with) / progress->seconds : 0.0;
}

double rc_progress_to_go(const struct rc_progress *progress)
{
    const double rate = rc_progress_rate(progress);
    return rate > 0.0 ? (double)(progress->asked - progress->done) / rate : -1.0;
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

/* "65.1 % (64.0 to 66.2 %)": as many places as the interval is wide, its ends outward. */
static void odds_text(char *text, size_t size, const struct rc_odds *odds)
{
    const double width = 100.0 * (odds->interval_high - odds->interval_low);
    int places = 1;
    double unit = 0.1;
    while (places < 6 && width < 5.0 * unit) {
        places++;
        unit /= 10.0;
    }
    const double low = unit * floor(100.0 * odds->interval_low / unit + 1e-6);
    const double high = unit * ceil(100.0 * odds->interval_high / unit - 1e-6);
    snprintf(text, size, ", odds so far %.*f %% (%.*f to %.*f %%)", places, 100.0 * odds->estimate, places, low, places, high);
}

/* The line; on narrow terminals without the share and the shard. */
static void line_text(char *text, size_t size, const struct rc_progress *progress, int is_short)
{
    const double rate = rc_progress_rate(progress);
    char left[40] = "time to go unknown", odds[80] = "", share[24] = "", shard[40] = "";

    if (rate > 0.0) {
        char time[32];
        duration_text(time, sizeof time, rc_progress_to_go(progress));
        snprintf(left, sizeof left, "%s to go", time);
    }
    if (progress->odds.flights > 0) {
        odds_text(odds, sizeof odds, &progress->odds);
    }
    if (!is_short) {
        const double percent = progress->asked > 0 ? 100.0 * (double)progress->done / (double)progress->asked : 100.0;
        snprintf(share, sizeof share, " (%.0f %%)", percent);
    }
    if (!is_short && progress->n_shards > 0) {
        snprintf(shard, sizeof shard, "shard %d/%d: ", progress->shard, progress->n_shards);
    }
    snprintf(text, size, "%s%" PRId64 " of %" PRId64 " flights%s, %.0f flights/s, %s%s", shard, progress->done, progress->asked,
             share, rate, left, odds);
}

/* The line in the columns that the terminal has, so that it never becomes two. */
static void terminal_text(char *text, size_t size, const struct rc_progress *progress)
{
    struct winsize window = {0};
    const size_t n_columns = ioctl(2, TIOCGWINSZ, &window) == 0 && window.ws_col > 1 ? (size_t)window.ws_col - 1 : 79;
    line_text(text, size, progress, 0);
    if (strlen(text) > n_columns) {
        line_text(text, size, progress, 1);
    }
    if (strlen(text) > n_columns) {
        text[n_columns] = '\0';
    }
}

void rc_progress_show(void *user, const struct rc_progress *progress)
{
    struct rc_progress_display *display = user;
    char text[320];

    if (!display->is_terminal && progress->seconds - display->shown_at < plain_interval_s) {
        return;
    }
    if (!display->is_terminal) {
        line_text(text, sizeof text, progress, 0);
        display->shown_at = progress->seconds;
        fprintf(stderr, "%s\n", text);
        return;
    }
    terminal_text(text, sizeof text, progress);
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
