/* Flying a campaign into a store: units of flights over threads, appended in order of flight number.
 *
 * The store is touched where units are handed in only, one after the other. Once a unit is not appended, none after it
 * is, so that the store always holds flights 0 .. n-1. What a unit's rows are depends on the flight numbers alone. */
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#include "crew.h"
#include "frame.h"
#include "rollcast/rollcast.h"
#include "run_store.h"
#include "shard.h"
#include "units.h"
#include "watch.h"
#include "worker.h"

enum { UNIT_FLIGHTS = 256 };

/* One run. Written where units are handed in only, apart from `is_over`, which is read by all threads. */
struct run {
    struct rc_frame frame;
    struct rc_worker_plan plan;
    struct rc_columns columns;
    struct rc_watch watch;
    char stop_rule[RC_STOP_TEXT];
    int n_unit;
    int is_over;        /* no further unit is flown or appended */
};

static void end_run(struct run *run, rc_status status)
{
    if (run->frame.status == RC_OK)
        run->frame.status = status;
#pragma omp atomic write
    run->is_over = 1;
}

static int is_over(const struct run *run)
{
    int over = 0;
#pragma omp atomic read
    over = run->is_over;
    return over;
}

/* Append a unit, or end the run where it is not whole. */
static void hand_in(struct run *run, const struct rc_worker_unit *unit, bool is_whole)
{
    if (is_over(run))
        return;
    if (!is_whole) {
        end_run(run, rc_frame_stopped(&run->frame));
        return;
    }
    const int n_kept = rc_watch_rows(&run->watch, &run->columns, unit->rows, unit->n);
    const rc_status status =
        n_kept > 0 ? rc_store_append(run->frame.store, n_kept, unit->rows, unit->bins, &run->frame.err) : RC_OK;
    if (status != RC_OK) {
        end_run(run, status);
        return;
    }
    rc_watch_time(&run->watch, rc_frame_seconds(&run->frame));
    if (run->watch.reason != RC_STOP_NONE)
        end_run(run, RC_OK);
    rc_frame_show(&run->frame);
}

static bool hand_in_of_thread(void *user, const struct rc_worker_unit *unit, bool is_whole)
{
    struct run *run = user;
    hand_in(run, unit, is_whole);
    return !is_over(run);
}

/* One thread's share. A thread that cannot begin ends the run. */
static void fly_thread(struct run *run, struct rc_units *units)
{
    struct rc_worker worker = {.block = NULL};
    struct rc_error err = {0};
    const rc_status status = rc_worker_begin(&worker, &run->plan, &err);
    if (status != RC_OK) {
#pragma omp critical(rc_run_begin)
        {
            if (run->frame.status == RC_OK)
                run->frame.err = err;
            end_run(run, status);
        }
    }
#pragma omp barrier
    while (!is_over(run)) {
        struct rc_worker_unit *unit = rc_units_take(units);
        if (!unit)
            break;
        rc_units_give(units, unit, rc_worker_fly(&worker, &run->plan, unit));
    }
    rc_worker_free(&worker);
}

/* Fly all units. */
static void fly_units(struct run *run)
{
    struct rc_units units;
    const struct rc_units_job job = {.first = run->frame.shard.first + run->frame.begun_with,
                                     .n_rows = run->frame.asked - run->frame.begun_with,
                                     .n_threads = run->frame.n_threads,
                                     .most = run->n_unit,
                                     .n_columns = run->columns.n,
                                     .n_cells = run->plan.n_cells,
                                     .sink = hand_in_of_thread,
                                     .user = run};
    const rc_status status = rc_units_begin(&units, &job, &run->frame.err);
    if (status != RC_OK)
        end_run(run, status);
#pragma omp parallel num_threads(run->frame.n_threads)
    fly_thread(run, &units);
    rc_units_free(&units);
}

static void hand_in_of_rank(void *user, const struct rc_worker_unit *unit, bool is_whole)
{
    struct run *run = user;
    const atomic_int *stop = run->plan.stop;
    if (run->frame.status == RC_OK)
        hand_in(run, unit, is_whole && !(stop && *stop));
    else
        end_run(run, run->frame.status); /* its message stays */
}

static bool is_over_for_ranks(void *user)
{
    const struct run *run = user;
    return is_over(run) || run->frame.status != RC_OK;
}

/* The same on the other ranks. */
static void fly_on_ranks(struct run *run)
{
    const struct rc_crew crew = {.frame = &run->frame, .plan = &run->plan, .n_unit = run->n_unit,
                                 .first_row = run->frame.begun_with, .hand_in = hand_in_of_rank, .is_over = is_over_for_ranks,
                                 .user = run};
    rc_crew_fly(&crew);
}

/* Flights, seed and shard: what the options do not say is as the store to be resumed says. */
static rc_status adopt(struct run *run, uint64_t *seed, struct rc_error *err)
{
    const struct rc_run_options *options = run->frame.options;
    rc_results *results = NULL;
    const rc_status status = rc_results_open_shard(&results, run->frame.path, err);
    if (status != RC_OK)
        return status;
    const struct rc_shard shard = rc_results_shard(results);
    if (!options->has_seed)
        *seed = rc_results_seed(results);
    if (options->n_flights <= 0)
        run->frame.asked = shard.count > 0 ? shard.whole : rc_results_flights_asked(results);
    if (options->shard == 0 && options->n_shards == 0) {
        run->frame.shard.number = shard.number;
        run->frame.shard.count = shard.count;
    }
    (void)snprintf(run->stop_rule, sizeof run->stop_rule, "%s", rc_results_run_rule(results));
    rc_results_close(results);
    return RC_OK;
}

/* Flights, seed and shard: as the options say, else as the store to be resumed says, else as the campaign says. */
static rc_status settle(struct run *run, uint64_t *seed, struct rc_error *err)
{
    const struct rc_run_options *options = run->frame.options;
    run->frame.asked = options->n_flights > 0 ? options->n_flights : rc_campaign_flights(run->plan.campaign);
    *seed = options->has_seed ? options->seed : rc_campaign_seed(run->plan.campaign);
    run->frame.shard = (struct rc_shard){.number = options->shard, .count = options->n_shards};
    const rc_status status = options->resume ? adopt(run, seed, err) : RC_OK;
    if (status != RC_OK || (run->frame.shard.number == 0 && run->frame.shard.count == 0))
        return status;
    run->frame.shard.whole = run->frame.asked;
    return rc_shard_share(&run->frame.shard, &run->frame.asked, err);
}

/* The stop rule: as the options say, else as the campaign says; of a store to be resumed its own. Taken through its text, so that
 * the rule is the one that the store will tell. */
static rc_status settle_rule(struct run *run, struct rc_error *err)
{
    const struct rc_stop_rule *given = &run->frame.options->stop_rule;
    struct rc_stop_rule rule = rc_campaign_stop_rule(run->plan.campaign);
    if (run->frame.options->resume && !rc_stop_read(&rule, run->stop_rule))
        return rc_error_fill(err, RC_OTHER_STORE, run->frame.path,
                             "has the stop rule '%s', which this version does not know; use the version that filled it",
                             run->stop_rule);
    rule.width = given->width > 0.0 ? given->width : rule.width;
    rule.seconds = given->seconds > 0.0 ? given->seconds : rule.seconds;
    rule.on_verdict = given->on_verdict ? 1 : rule.on_verdict;
    rule.most = run->frame.options->resume && rule.most > 0 ? rule.most : run->frame.asked;
    if (rc_campaign_plan(run->plan.campaign)->counts && (rule.width > 0.0 || rule.on_verdict))
        return rc_error_fill(err, RC_BAD_INPUT, NULL,
                             "the plan %s flies whole rows that depend on each other: it ends by number or time only; leave out "
                             "stops by verdict and width, or set run.plan to plain",
                             rc_campaign_plan(run->plan.campaign)->name);
    const rc_status status = run->frame.shard.count > 0 ? rc_shard_refuse(false, &rule, err) : RC_OK;
    if (status != RC_OK)
        return status;
    rc_stop_write(&rule, run->stop_rule);
    (void)rc_stop_read(&rule, run->stop_rule);
    rc_watch_begin(&run->watch, run->plan.campaign, &rule);
    run->watch.first = run->frame.shard.first;
    run->frame.watch = &run->watch;
    return RC_OK;
}

/* Is it a run after rare failures? As the store to be resumed says, else as the options say, else as the campaign says. */
static bool goes_after_failures(const struct run *run, struct rc_rare_rule *rule)
{
    const struct rc_rare_rule *given = &run->frame.options->rare_rule;
    if (run->frame.options->resume && given->method == RC_RARE_NONE)
        return rc_rare_read(rule, run->stop_rule);
    *rule = rc_campaign_rare_rule(run->plan.campaign);
    if (given->method != RC_RARE_NONE) {
        rule->method = given->method;
        rule->criterion = given->criterion >= 0 ? given->criterion : rule->criterion;
    }
    return rule->method != RC_RARE_NONE;
}

/* A method after rare failures ends by itself. */
static rc_status refuse_ends(const rc_campaign *campaign, const struct rc_run_options *options, struct rc_error *err)
{
    const struct rc_stop_rule own = rc_campaign_stop_rule(campaign);
    if (!options->resume && rc_stop_is_set(&own)) /* stores that were begun so go on */
        return rc_error_fill(err, RC_BAD_INPUT, NULL,
                             "the campaign has a stop rule, and a run after rare failures ends when its method is through: take "
                             "out run.stop");
    if (options->n_flights <= 0 && !rc_stop_is_set(&options->stop_rule))
        return RC_OK;
    return rc_error_fill(err, RC_BAD_INPUT, NULL,
                         "a run after rare failures ends when its method is through: leave out --flights and the stop "
                         "options; run.rare.flights_per_level and run.rare.repeats say how much it flies");
}

/* Flights of one unit: few flights are still shared by all threads. */
static void settle_unit(struct run *run)
{
    const int n_lanes = rc_block_lanes();
    const int64_t left = run->frame.asked - run->frame.begun_with;
    int64_t n_unit = left / ((int64_t)run->frame.n_threads * 4) / n_lanes * n_lanes;
    if (n_unit < n_lanes)
        n_unit = n_lanes;
    run->n_unit = n_unit < UNIT_FLIGHTS ? (int)n_unit : UNIT_FLIGHTS;
}

/* Fly what is missing; the store is open. */
static void fly(struct run *run)
{
    struct rc_frame *frame = &run->frame;
    rc_frame_begin(frame);
    settle_unit(run);
    frame->status = rc_watch_stored(&run->watch, frame->path, frame->begun_with, &frame->err);
    if (frame->status == RC_OK && run->watch.reason == RC_STOP_NONE && frame->begun_with < frame->asked)
        (frame->options->n_ranks > 1 ? fly_on_ranks : fly_units)(run);
    if (frame->status == RC_OK && run->watch.reason != RC_STOP_NONE)
        rc_store_settle(frame->store);
}

int rc_run_cores(void)
{
    return omp_get_max_threads();
}

rc_status rc_run_fly(const rc_campaign *campaign, const char *path, const struct rc_run_options *options,
                     struct rc_progress *ended, struct rc_error *err)
{
    const struct rc_layout *layout = rc_campaign_layout(campaign);
    struct run run = {.frame = {.options = options, .path = path}};
    run.plan = (struct rc_worker_plan){.campaign = campaign, .columns = &run.columns,
                                       .n_cells = rc_campaign_keeps_bands(campaign) ? RC_N_SIGNALS * layout->n_band_times : 0,
                                       .stop = options->stop};
    rc_status status = settle(&run, &run.plan.seed, err);
    if (status == RC_OK)
        status = rc_columns_list(&run.columns, campaign, err);
    struct rc_run_store wanted = {.campaign = campaign, .columns = &run.columns, .seed = run.plan.seed,
                                  .resume = options->resume};
    if (status == RC_OK && goes_after_failures(&run, &wanted.rare)) {
        status = run.frame.shard.count > 0 ? rc_shard_refuse(true, &run.watch.rule, err) : refuse_ends(campaign, options, err);
        if (status == RC_OK && options->n_ranks > 1)
            status = rc_error_fill(err, RC_BAD_INPUT, NULL,
                                   "a run after rare failures is not shared out among ranks; run it without a launcher");
        if (status == RC_OK)
            status = rc_run_rare(path, &wanted, options, ended, err);
        goto done;
    }
    if (status == RC_OK)
        status = settle_rule(&run, err);
    wanted.n_flights = run.frame.asked;
    wanted.shard = run.frame.shard;
    wanted.run_rule = run.stop_rule;
    wanted.has_bands = 1;
    if (status == RC_OK)
        status = rc_run_store_open(&run.frame.store, path, &wanted, err);
    if (status != RC_OK)
        goto done;
    fly(&run);
    status = rc_frame_close(&run.frame, ended, err);
done:
    rc_columns_free(&run.columns);
    return status;
}
