/* A stop rule over rows of flights. When to look and what is enough is analysis' to say. */
#include "watch.h"

#include <stdlib.h>

void rc_watch_begin(struct rc_watch *watch, const rc_campaign *campaign, const struct rc_stop_rule *rule)
{
    const int n_replicates = rc_campaign_plan(campaign)->n_replicates;
    *watch = (struct rc_watch){.plan = rc_campaign_plan(campaign), .sampling = rc_campaign_sampling(campaign), .rule = *rule,
                               .n_rows = rc_campaign_criteria_count(campaign) + 1,
                               .n_replicates = n_replicates > 0 ? n_replicates : 1};
    for (int row = 0; row < watch->n_rows; row++) {
        watch->criterion[row] =
            row + 1 < watch->n_rows ? *rc_campaign_criterion(campaign, row) : *rc_campaign_all_together(campaign);
        watch->counts[row].n = watch->n_replicates;
    }
    watch->next_look = rc_stop_next_look(rule, watch->n_replicates, 1);
}

/* Look, if it is time to, and settle the next look. */
static void look(struct rc_watch *watch)
{
    if (watch->flights != watch->next_look)
        return;
    watch->reason = rc_stop_reached(&watch->rule, watch->n_rows, watch->counts, watch->criterion);
    watch->next_look = rc_stop_next_look(&watch->rule, watch->n_replicates, watch->flights + 1);
}

static void count(struct rc_watch *watch, int row, int64_t flight, double passed)
{
    flight += watch->first;
    if (!rc_plan_counts(watch->plan, watch->sampling, (uint64_t)flight))
        return;
    watch->counts[row].flights[flight % watch->n_replicates]++;
    watch->counts[row].passed[flight % watch->n_replicates] += passed == 1.0;
}

rc_status rc_watch_stored(struct rc_watch *watch, const char *path, int64_t n, struct rc_error *err)
{
    enum { WINDOW = 4096 };
    rc_results *results = NULL;
    double *passed = NULL;
    if (n < 1)
        return RC_OK;
    rc_status status = rc_results_open_shard(&results, path, err);
    if (status != RC_OK)
        return status;
    passed = malloc(WINDOW * sizeof *passed);
    if (!passed) {
        status = rc_error_fill(err, RC_NO_MEMORY, path, "no memory to count the flights of a store");
        goto done;
    }
    const int first_column = rc_results_column_count(results) - 1 - watch->n_rows; /* before the end's */
    for (int row = rc_stop_is_set(&watch->rule) ? 0 : watch->n_rows - 1; row < watch->n_rows; row++) {
        const char *name = rc_results_column_view(results, first_column + row).name;
        for (int64_t begin = 0; begin < n && status == RC_OK; begin += WINDOW) {
            const int64_t n_window = n - begin < WINDOW ? n - begin : WINDOW;
            status = rc_results_column(results, name, begin, n_window, passed, err);
            for (int64_t index = 0; index < n_window && status == RC_OK; index++)
                count(watch, row, begin + index, passed[index]);
        }
    }
    watch->flights = n;
    watch->next_look = rc_stop_next_look(&watch->rule, watch->n_replicates, n);
    if (status == RC_OK)
        look(watch);
done:
    free(passed);
    rc_results_close(results);
    return status;
}

int rc_watch_rows(struct rc_watch *watch, const struct rc_columns *columns, const double *rows, int n)
{
    for (int index = 0; index < n; index++) {
        const double *criteria = rows + (int64_t)index * columns->n + columns->n_quantities + columns->n_measures;
        for (int row = 0; row < watch->n_rows; row++)
            count(watch, row, watch->flights, criteria[row]);
        watch->flights++;
        look(watch);
        if (watch->reason != RC_STOP_NONE)
            return index + 1;
    }
    return n;
}

struct rc_odds rc_watch_odds(const struct rc_watch *watch)
{
    const struct rc_replicates *counts = &watch->counts[watch->n_rows - 1];
    int64_t least = counts->flights[0];
    for (int replicate = 1; replicate < counts->n; replicate++)
        least = counts->flights[replicate] < least ? counts->flights[replicate] : least;
    if (least < 1) /* a replicate without flights has no share yet */
        return (struct rc_odds){.flights = 0};
    return rc_stop_odds(counts, &watch->rule, &watch->criterion[watch->n_rows - 1]);
}

void rc_watch_time(struct rc_watch *watch, double seconds)
{
    if (watch->reason == RC_STOP_NONE && watch->rule.seconds > 0.0 && seconds >= watch->rule.seconds)
        watch->reason = RC_STOP_TIME;
}
