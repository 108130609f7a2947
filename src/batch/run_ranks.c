/* The ranks of a run: joining them, and the work of those that help. What rank 0 does is in crew.c. */
#include <stdlib.h>
#include <string.h>

#include "crew.h"
#include "rollcast/run.h"

/* A helper's work on one job. */
struct help {
    struct rc_crew_job job;
    rc_campaign *campaign;
    struct rc_columns columns;
    struct rc_worker_plan plan;
    struct rc_worker worker;
    char *result;
    rc_status status;        /* why it gives no rows */
    struct rc_error err;
};

void rc_run_join(int *rank, int *n_ranks)
{
    const struct rc_ranks ranks = rc_ranks_begin();
    *rank = ranks.rank;
    *n_ranks = ranks.count;
}

void rc_run_leave(int rank, int n_ranks)
{
    const struct rc_crew_job over = {.is_over = 1};
    struct rc_error err = {.status = RC_OK};
    for (int other = 1; rank == 0 && other < n_ranks; other++)
        if (rc_ranks_send(other, &over, sizeof over, &err) != RC_OK)
            break; /* it cannot fail: the message is short */
    rc_ranks_end();
}

/* The campaign as rank 0 read it, and memory to fly it. */
static rc_status prepare(struct help *help, const char *files)
{
    struct rc_bundle bundle = {.n_files = 0};
    struct rc_issues *issues = calloc(1, sizeof *issues);
    rc_status status = issues ? rc_crew_unpack(&bundle, files, (size_t)help->job.n_bytes, &help->err)
                              : rc_error_fill(&help->err, RC_NO_MEMORY, NULL, "no memory to read the campaign");
    if (status == RC_OK && help->job.version != rc_crew_version())
        status = rc_error_fill(&help->err, RC_BAD_INPUT, NULL, "it has another version of the program than rank 0");
    if (status == RC_OK) {
        status = rc_campaign_from_bundle(&help->campaign, &bundle, issues);
        if (status != RC_OK || rc_campaign_fingerprint(help->campaign) != help->job.fingerprint)
            status = rc_error_fill(&help->err, RC_INTERNAL, NULL, "it does not read the campaign as rank 0 does");
    }
    rc_bundle_free(&bundle);
    free(issues);
    if (status == RC_OK)
        status = rc_columns_list(&help->columns, help->campaign, &help->err);
    if (status != RC_OK)
        return status;
    const int n_times = rc_campaign_keeps_bands(help->campaign) ? rc_campaign_layout(help->campaign)->n_band_times : 0;
    help->plan = (struct rc_worker_plan){.campaign = help->campaign, .columns = &help->columns, .seed = help->job.seed,
                                         .n_cells = RC_N_SIGNALS * n_times,
                                         .stop = help->plan.stop};
    status = rc_worker_begin(&help->worker, &help->plan, &help->err);
    help->result = status == RC_OK ? malloc(rc_crew_result_bytes(&help->plan, help->job.n_unit)) : NULL;
    if (status == RC_OK && !help->result)
        status = rc_error_fill(&help->err, RC_NO_MEMORY, NULL, "no memory for a unit of flights");
    return status;
}

/* Say that this unit has no rows, and why. */
static rc_status send_failure(const struct help *help, int64_t index, rc_status status, struct rc_error *err)
{
    struct {
        struct rc_crew_result result;
        char text[RC_CREW_TEXT];
    } message = {.result = {.unit = index, .status = status}};
    (void)snprintf(message.text, sizeof message.text, "%s", help->err.what);
    return rc_ranks_send(0, &message, sizeof message, err);
}

/* Fly one unit and send its rows. */
static rc_status fly_unit(struct help *help, int64_t index, struct rc_error *err)
{
    if (help->status != RC_OK)
        return send_failure(help, index, help->status, err);
    const int64_t left = help->job.rows - index * help->job.n_unit;
    const struct rc_crew_result head = {.unit = index, .status = RC_OK};
    struct rc_worker_unit unit = {.first = help->job.first + index * help->job.n_unit,
                                  .n = (int)(left < help->job.n_unit ? left : help->job.n_unit)};
    const size_t n_rows = (size_t)unit.n * (size_t)help->columns.n * sizeof(double);
    const size_t n_bins = (size_t)unit.n * (size_t)help->plan.n_cells * sizeof(uint16_t);
    memcpy(help->result, &head, sizeof head);
    unit.rows = (double *)(void *)(help->result + sizeof head);
    unit.bins = help->plan.n_cells > 0 ? (uint16_t *)(void *)(help->result + sizeof head + n_rows) : NULL;
    if (!rc_worker_fly(&help->worker, &help->plan, &unit))
        return send_failure(help, index, RC_STOPPED, err);
    return rc_ranks_send(0, help->result, sizeof head + n_rows + n_bins, err);
}

/* One job, from what it is to its last unit. */
static rc_status do_job(struct help *help, const char *message, struct rc_error *err)
{
    int64_t unit = 0;
    rc_status status = RC_OK;
    help->status = prepare(help, message + sizeof help->job);
    while (status == RC_OK) {
        int from = 0;
        size_t n_bytes = 0;
        if (!rc_ranks_await(&from, &n_bytes, NULL) || n_bytes != sizeof unit)
            return rc_error_fill(err, RC_INTERNAL, NULL, "a message of %zu bytes that is no unit", n_bytes);
        rc_ranks_take(from, &unit, sizeof unit);
        if (unit == RC_CREW_NO_UNIT)
            break;
        status = fly_unit(help, unit, err);
    }
    rc_worker_free(&help->worker);
    rc_columns_free(&help->columns);
    rc_campaign_free(help->campaign);
    free(help->result);
    return status;
}

rc_status rc_run_help(const atomic_int *stop, struct rc_error *err)
{
    rc_status status = RC_OK;
    bool is_over = false;
    while (status == RC_OK && !is_over) {
        struct help help = {.plan = {.stop = stop}};
        int from = 0;
        size_t n_bytes = 0;
        if (!rc_ranks_await(&from, &n_bytes, NULL) || n_bytes < sizeof help.job)
            return rc_error_fill(err, RC_INTERNAL, NULL, "a message of %zu bytes that is no job", n_bytes);
        char *message = malloc(n_bytes);
        if (!message)
            return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a job of %zu bytes", n_bytes);
        rc_ranks_take(from, message, n_bytes);
        memcpy(&help.job, message, sizeof help.job);
        is_over = help.job.is_over != 0;
        if (!is_over && help.job.n_bytes != (int64_t)(n_bytes - sizeof help.job))
            status = rc_error_fill(err, RC_INTERNAL, NULL, "a job of %zu bytes that is not whole", n_bytes);
        else if (!is_over)
            status = do_job(&help, message, err);
        free(message);
    }
    return status;
}
