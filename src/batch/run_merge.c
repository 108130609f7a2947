/* Merging shards: do they belong together, is none missing, do their flights come out the same here? Copying is the store's. */
#include <stdlib.h>
#include <string.h>

#include "replay.h"
#include "rollcast/rollcast.h"
#include "run_store.h"
#include "shard.h"

enum { FLIGHTS_CHECKED = 16 }; /* of a shard */

/* One merge in work. */
struct merge {
    const char *const *given;       /* (n) paths in the caller's order          */
    int n;
    const char **path;              /* (count) paths by shard number, NULL = not given */
    struct rc_shard first;          /* of the shard given first                 */
    rc_campaign *campaign;
    struct rc_columns columns;
    struct rc_run_store_plan made;
    struct rc_worker_plan flying;
    struct rc_text unfinished;      /* "2/3 (b.h5), "                           */
    int n_unfinished;
    struct rc_merged merged;
};

/* Read from the shard given first what all must agree on. */
static rc_status begin(struct merge *merge, const rc_results *results, struct rc_error *err)
{
    struct rc_issues *issues = calloc(1, sizeof *issues);
    merge->path = calloc((size_t)merge->first.count, sizeof *merge->path);
    rc_status status = issues && merge->path ? rc_run_campaign(&merge->campaign, results, issues)
                                             : rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory to merge");
    if (status != RC_OK && issues && issues->n_kept > 0)
        (void)rc_error_fill(err, status, merge->given[0],
                            "the campaign that it keeps, of %s, is not accepted by this program, %s: %s",
                            rc_results_origin(results).version, rc_version(), issues->item[0].what);
    free(issues);
    if (status == RC_OK)
        status = rc_columns_list(&merge->columns, merge->campaign, err);
    if (status != RC_OK)
        return status;
    const struct rc_run_store wanted = {.campaign = merge->campaign, .columns = &merge->columns, .seed = rc_results_seed(results),
                                        .n_flights = merge->first.whole, .run_rule = "", .has_bands = 1};
    merge->flying = (struct rc_worker_plan){.campaign = merge->campaign, .columns = &merge->columns, .seed = wanted.seed};
    return rc_run_store_plan(&merge->made, &wanted, err);
}

/* Is it one of the shards that are wanted? */
static rc_status judge(struct merge *merge, const char *path, const rc_results *results, struct rc_error *err)
{
    const struct rc_shard *first = &merge->first;
    struct rc_store_plan plan = merge->made.plan;
    struct rc_shard shard = rc_results_shard(results);
    if (shard.count != first->count || shard.whole != first->whole)
        return rc_error_fill(err, RC_OTHER_STORE, path,
                             "is shard %d/%d of %lld flights, but %s is %d/%d of %lld: their flights overlap or leave gaps; "
                             "merge the shards of one cut",
                             shard.number, shard.count, (long long)shard.whole, merge->given[0], first->number, first->count,
                             (long long)first->whole);
    plan.shard = (struct rc_shard){.number = shard.number, .count = shard.count, .whole = shard.whole};
    rc_status status = rc_shard_share(&plan.shard, &plan.n_flights, err);
    if (status == RC_OK)
        status = rc_results_match(results, &plan, err);
    if (status != RC_OK)
        return status;
    if (merge->path[shard.number - 1])
        return rc_error_fill(err, RC_OTHER_STORE, path, "is shard %d/%d, and so is %s: name each shard once", shard.number,
                             shard.count, merge->path[shard.number - 1]);
    merge->path[shard.number - 1] = path;
    if (!rc_results_is_finished(results) || rc_results_flights(results) != plan.n_flights) {
        merge->n_unfinished++;
        rc_text_add(&merge->unfinished, "%s%d/%d (%s, %lld of %lld flights)", merge->unfinished.n_bytes > 0 ? ", " : "",
                    shard.number, shard.count, path, (long long)rc_results_flights(results), (long long)plan.n_flights);
    }
    return RC_OK;
}

/* Fly some of its flights again: whatever built the program that flew them, the bits must be those of this one. */
static rc_status check_flights(struct merge *merge, const char *path, const rc_results *results, struct rc_error *err)
{
    const int64_t n = rc_results_flights(results);
    const int64_t n_checked = n < FLIGHTS_CHECKED ? n : FLIGHTS_CHECKED;
    for (int64_t index = 0; index < n_checked; index++) {
        const int64_t row = n_checked > 1 ? index * (n - 1) / (n_checked - 1) : 0;
        const int64_t flight = rc_results_shard(results).first + row;
        int n_differing = 0;
        const rc_status status = rc_run_replay_row(results, &merge->flying, row, &n_differing, err);
        if (status != RC_OK)
            return status;
        if (n_differing > 0)
            return rc_error_fill(err, RC_OTHER_STORE, path,
                                 "flight %lld comes out with %d other numbers here: it was flown by a build that does not give "
                                 "this one's bits; fly all shards with one build",
                                 (long long)flight, n_differing);
        merge->merged.n_checked++;
    }
    return RC_OK;
}

/* Everything about one of the files given. */
static rc_status look_at(struct merge *merge, int index, struct rc_error *err)
{
    const char *path = merge->given[index];
    rc_results *results = NULL;
    rc_status status = rc_results_open_shard(&results, path, err);
    if (status != RC_OK)
        return status;
    const struct rc_shard shard = rc_results_shard(results);
    if (shard.count == 0)
        status = rc_error_fill(err, RC_OTHER_STORE, path, "is a whole store, no shard: there is nothing to merge it with");
    if (status == RC_OK && index == 0) {
        merge->first = shard;
        status = begin(merge, results, err);
    }
    if (status == RC_OK)
        status = judge(merge, path, results, err);
    if (status == RC_OK && merge->n_unfinished == 0)
        status = check_flights(merge, path, results, err);
    if (status == RC_OK && strcmp(rc_results_origin(results).host, merge->made.plan.host_facts) != 0)
        merge->merged.is_mixed = 1;
    rc_results_close(results);
    return status;
}

/* Numbers that are not there: "2, 4-6". */
static rc_status refuse_missing(const struct merge *merge, struct rc_error *err)
{
    struct rc_text missing = {0};
    int n_missing = 0;
    for (int number = 1; number <= merge->first.count; number++) {
        int last = number;
        if (merge->path[number - 1])
            continue;
        while (last < merge->first.count && !merge->path[last])
            last++;
        n_missing += last - number + 1;
        if (missing.n_bytes < RC_ERROR_WHAT / 2)
            rc_text_add(&missing, last > number ? "%s%d-%d" : "%s%d", missing.n_bytes > 0 ? ", " : "", number, last);
        number = last;
    }
    const rc_status status =
        n_missing == 0 ? RC_OK
                       : rc_error_fill(err, RC_OTHER_STORE, merge->given[0], "shards missing: %s of %d; fly them, then merge all",
                                       missing.bytes ? missing.bytes : "", merge->first.count);
    rc_text_free(&missing);
    return status;
}

static rc_status merge_all(struct merge *merge, const char *path, struct rc_error *err)
{
    rc_status status = RC_OK;
    if (rc_file_exists(path))
        return rc_error_fill(err, RC_EXISTS, path, "exists and is not overwritten; choose another name");
    for (int index = 0; index < merge->n && status == RC_OK; index++)
        status = look_at(merge, index, err);
    if (status == RC_OK)
        status = refuse_missing(merge, err);
    if (status == RC_OK && merge->n_unfinished > 0)
        status = rc_error_fill(err, RC_OTHER_STORE, NULL, "%d of the shards are not finished: %s; go on with each by --resume",
                               merge->n_unfinished, merge->unfinished.bytes ? merge->unfinished.bytes : "");
    if (status == RC_OK)
        status = rc_store_merge(path, &merge->made.plan, merge->path, merge->first.count, err);
    return status;
}

rc_status rc_run_merge(const char *const *shard, int n_shards, const char *path, struct rc_merged *merged, struct rc_error *err)
{
    struct merge merge = {.given = shard, .n = n_shards};
    if (n_shards < 1)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "there are no shards to merge");
    const rc_status status = merge_all(&merge, path, err);
    merge.merged.flights = merge.first.whole;
    merge.merged.n_shards = merge.first.count;
    if (merged && status == RC_OK)
        *merged = merge.merged;
    rc_run_store_plan_free(&merge.made);
    rc_columns_free(&merge.columns);
    rc_campaign_free(merge.campaign);
    rc_text_free(&merge.unfinished);
    free(merge.path);
    return status;
}
