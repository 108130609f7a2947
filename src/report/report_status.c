/* The status file of a run: one JSON object, replaced whole. When it is written is the caller's to say. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/base.h"
#include "json.h"
#include "rollcast/report.h"

static const char schema[] = "rollcast-status/1";

static void write_time(struct rc_json *json)
{
    char text[32] = "";
    const time_t now = time(NULL);
    struct tm utc;
    if (gmtime_r(&now, &utc))
        (void)strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &utc);
    rc_json_text(json, "updated", text);
}

static void write_odds(struct rc_json *json, const struct rc_progress *progress)
{
    const struct rc_odds *odds = &progress->odds;
    if (odds->flights < 1) {
        rc_json_text(json, "odds_so_far", NULL);
        return;
    }
    rc_json_open(json, "odds_so_far", '{');
    rc_json_integer(json, "passed", odds->passed);
    rc_json_integer(json, "flights", odds->flights);
    rc_json_number(json, "odds", odds->estimate);
    rc_json_pair(json, "interval", odds->interval_low, odds->interval_high);
    rc_json_number(json, "confidence", progress->confidence);
    rc_json_text(json, "verdict", rc_odds_verdict_text(odds->verdict));
    rc_json_close(json, '}');
}

static void write_progress(struct rc_json *json, const struct rc_progress *progress)
{
    static const char *const reasons[] = {[RC_STOP_NONE] = NULL, [RC_STOP_VERDICT] = "verdict", [RC_STOP_WIDTH] = "width",
                                          [RC_STOP_TIME] = "time"};
    const int64_t n_new = progress->done - progress->begun_with;
    const double rate = progress->seconds > 0.0 ? (double)n_new / progress->seconds : 0.0;
    rc_json_integer(json, "flights", progress->done);
    rc_json_integer(json, "flights_asked", progress->asked);
    rc_json_integer(json, "flights_before", progress->begun_with);
    rc_json_number(json, "seconds", progress->seconds);
    rc_json_number(json, "flights_per_second", rate);
    if (rate > 0.0)
        rc_json_number(json, "seconds_to_go", (double)(progress->asked - progress->done) / rate);
    else
        rc_json_text(json, "seconds_to_go", NULL);
    rc_json_integer(json, "threads", progress->n_threads);
    rc_json_text(json, "ended_by", reasons[progress->stopped]);
    if (progress->n_shards > 0) {
        rc_json_open(json, "shard", '{');
        rc_json_integer(json, "number", progress->shard);
        rc_json_integer(json, "count", progress->n_shards);
        rc_json_close(json, '}');
    } else {
        rc_json_text(json, "shard", NULL);
    }
    write_odds(json, progress);
}

static void write_status(FILE *out, const struct rc_report_state *run)
{
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", schema);
    rc_json_text(&json, "state", run->state);
    write_time(&json);
    rc_json_integer(&json, "process", (int64_t)getpid());
    rc_json_text(&json, "campaign", run->campaign);
    rc_json_text(&json, "store", run->store);
    if (run->exit_code >= 0)
        rc_json_integer(&json, "exit_code", run->exit_code);
    else
        rc_json_text(&json, "exit_code", NULL);
    rc_json_text(&json, "message", run->message);
    if (run->progress)
        write_progress(&json, run->progress);
    rc_json_close(&json, '}');
}

/* A regular file that is empty or says that it is a status file may be replaced, nothing else. */
static rc_status refuse_other(const char *path, struct rc_error *err)
{
    char head[64] = "";
    struct stat facts;
    if (lstat(path, &facts) != 0)
        return RC_OK;
    FILE *file = S_ISREG(facts.st_mode) ? fopen(path, "r") : NULL;
    const size_t n = file ? fread(head, 1, sizeof head - 1, file) : 0;
    if (file)
        (void)fclose(file); /* opened for reading: nothing can be lost */
    head[n] = '\0';
    if (file && (n == 0 || strstr(head, "\"rollcast-status/")))
        return RC_OK;
    return rc_error_fill(err, RC_EXISTS, path, "exists and is no status file, so it is not replaced; choose another name");
}

rc_status rc_report_status(const char *path, const struct rc_report_state *run, struct rc_error *err)
{
    const size_t n_part = strlen(path) + sizeof ".part";
    char *part = malloc(n_part);
    rc_status status = part ? refuse_other(path, err) : rc_error_fill(err, RC_NO_MEMORY, path, "no memory for its name");
    if (!part || status != RC_OK)
        goto done;
    (void)snprintf(part, n_part, "%s.part", path);
    (void)unlink(part); /* left by a killed process */
    FILE *out = fopen(part, "wx");
    if (!out) {
        status = rc_error_fill(err, RC_IO, path, "the status cannot be written: %s; check the path", strerror(errno));
        goto done;
    }
    write_status(out, run);
    errno = 0;
    const bool is_bad = ferror(out) != 0;
    if (fclose(out) != 0 || is_bad)
        status = rc_error_fill(err, errno == ENOSPC ? RC_NO_SPACE : RC_IO, path, "the status cannot be written: %s",
                               errno != 0 ? strerror(errno) : "writing failed");
    if (status == RC_OK)
        status = rc_file_sync(part, err);
    if (status == RC_OK)
        status = rc_file_replace(part, path, err);
    if (status != RC_OK)
        (void)unlink(part);
done:
    free(part);
    return status;
}
