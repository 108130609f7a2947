/* A run after rare failures: analysis says which scores to fly, this file turns them into flights over threads and keeps them.
 * Flight numbers go up in the order in which they are asked for, so that margins of stored flights are read and not flown. */
#include <math.h>
#include <omp.h>
#include <stdlib.h>

#include "frame.h"
#include "numeric/numeric.h"
#include "rollcast/rare.h"
#include "rollcast/rollcast.h"
#include "run_store.h"
#include "worker.h"

/* Flights between two looks at the stop flag and two appends. */
enum { CHUNK = 1024 };

struct rare_run {
    struct rc_frame frame;    /* asks for the most flights that the method may take */
    struct rc_worker_plan plan;
    const struct rc_criterion *criterion;
    struct rc_worker *worker; /* (n_threads) */
    int64_t next;             /* flight that is asked for next                       */
    double *stored;           /* (frame.begun_with) margins that a resumed store holds */
    double *rows;             /* (CHUNK x columns)                                   */
};

/* Scores of one flight to its drawn values and its design. */
static void put_scores(const struct rare_run *run, const double *scores, double *row, struct rc_design *design)
{
    const struct rc_sampling *sampling = rc_campaign_sampling(run->plan.campaign);
    for (int index = 0; index < sampling->n; index++)
        row[index] = rc_special_normal_cdf(scores[index]);
    for (int index = 0; index < sampling->n; index++) /* a plan's uniform numbers are never 0 or 1 */
        row[index] = fmin(fmax(row[index], 0x1p-60), 1.0 - 0x1p-53);
    rc_plan_values(sampling, row);
    rc_campaign_design(run->plan.campaign, row, design);
}

/* One block of a chunk on one thread's worker. in begin, n  flights of the chunk */
static void fly_block(struct rare_run *run, struct rc_worker *worker, const double *scores, int begin, int n)
{
    const int n_scores = run->plan.columns->n_quantities, n_columns = run->plan.columns->n;
    for (int lane = 0; lane < n; lane++) {
        worker->flights[lane] = (uint64_t)(run->next + begin + lane);
        worker->records[lane].bin = NULL;
        put_scores(run, scores + (size_t)(begin + lane) * (size_t)n_scores,
                   run->rows + (size_t)(begin + lane) * (size_t)n_columns, &worker->designs[lane]);
    }
    rc_worker_lanes(worker, &run->plan, n, NULL, NULL);
    for (int lane = 0; lane < n; lane++)
        (void)rc_columns_fill(run->plan.columns, run->plan.campaign, &worker->records[lane],
                              run->rows + (size_t)(begin + lane) * (size_t)n_columns);
}

/* Fly and append a chunk. ends false once the run is over */
static bool fly_chunk(struct rare_run *run, const double *scores, int n, double *margins)
{
    const struct rc_columns *columns = run->plan.columns;
    const int n_lanes = rc_block_lanes();
    const int n_blocks = (n + n_lanes - 1) / n_lanes;
    if (run->plan.stop && *run->plan.stop) {
        run->frame.status = rc_frame_stopped(&run->frame);
        return false;
    }
#pragma omp parallel for num_threads(run->frame.n_threads) schedule(dynamic, 1)
    for (int block = 0; block < n_blocks; block++) {
        const int begin = block * n_lanes;
        fly_block(run, &run->worker[omp_get_thread_num()], scores, begin, n - begin < n_lanes ? n - begin : n_lanes);
    }
    int value = columns->n_quantities;
    while (columns->measure[value - columns->n_quantities] != run->criterion->measure)
        value++;
    for (int flight = 0; flight < n; flight++) {
        const double *row = run->rows + (size_t)flight * (size_t)columns->n;
        margins[flight] = rc_rare_margin(run->criterion, row[value], row[columns->n - 1]);
    }
    run->frame.status = rc_store_append(run->frame.store, n, run->rows, NULL, &run->frame.err);
    return run->frame.status == RC_OK;
}

/* What the method asks for: the margins of n flights. After an error none is finite, which ends the method. */
static void margins_of(void *user, const double *scores, int n_flights, double *margins)
{
    struct rare_run *run = user;
    const int n_scores = run->plan.columns->n_quantities;
    for (int done = 0; done < n_flights;) {
        int n = 1;
        if (run->frame.status != RC_OK) {
            margins[done] = NAN;
        } else if (run->next < run->frame.begun_with) {
            margins[done] = run->stored[run->next++];
        } else {
            n = n_flights - done < CHUNK ? n_flights - done : CHUNK;
            if (!fly_chunk(run, scores + (size_t)done * (size_t)n_scores, n, margins + done)) {
                margins[done] = NAN;
                n = 1;
            } else {
                run->next += n;
            }
        }
        done += n;
    }
    rc_frame_show(&run->frame);
}

rc_status rc_run_margins(double **margins, const rc_results *results, const struct rc_criterion *criterion, struct rc_error *err)
{
    const int64_t n = rc_results_flights(results);
    char name[96];
    *margins = NULL;
    if (n < 1)
        return RC_OK;
    double *value = malloc((size_t)n * sizeof *value), *end = malloc((size_t)n * sizeof *end);
    rc_status status = RC_OK;
    if (!value || !end)
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the margins of %lld flights", (long long)n);
    (void)snprintf(name, sizeof name, "measures/%s", rc_measures_row(criterion->measure)->name);
    if (status == RC_OK)
        status = rc_results_column(results, name, 0, n, value, err);
    if (status == RC_OK)
        status = rc_results_column(results, "end", 0, n, end, err);
    for (int64_t flight = 0; flight < n && status == RC_OK; flight++)
        value[flight] = rc_rare_margin(criterion, value[flight], end[flight]);
    free(end);
    if (status != RC_OK) {
        free(value);
        return status;
    }
    *margins = value;
    return RC_OK;
}

/* Margins of the flights that a resumed store holds. */
static rc_status read_stored(struct rare_run *run)
{
    rc_results *results = NULL;
    if (run->frame.begun_with < 1)
        return RC_OK;
    rc_status status = rc_results_open(&results, run->frame.path, &run->frame.err);
    if (status == RC_OK)
        status = rc_run_margins(&run->stored, results, run->criterion, &run->frame.err);
    rc_results_close(results);
    return status;
}

static rc_status begin(struct rare_run *run)
{
    rc_frame_begin(&run->frame);
    run->rows = malloc(CHUNK * (size_t)run->plan.columns->n * sizeof *run->rows);
    run->worker = calloc((size_t)run->frame.n_threads, sizeof *run->worker);
    if (!run->rows || !run->worker)
        return rc_error_fill(&run->frame.err, RC_NO_MEMORY, run->frame.path, "no memory for a run's flights");
    rc_status status = read_stored(run);
    for (int thread = 0; thread < run->frame.n_threads && status == RC_OK; thread++)
        status = rc_worker_begin(&run->worker[thread], &run->plan, &run->frame.err);
    return status;
}

static rc_status refuse_rule(const rc_campaign *campaign, const struct rc_rare_rule *rule, struct rc_error *err)
{
    if (rule->criterion < 0 || rule->criterion >= rc_campaign_criteria_count(campaign))
        return rc_error_fill(err, RC_BAD_INPUT, NULL,
                             "which criterion's failures are rare? The campaign has %d; name one with --criterion or in "
                             "run.rare.criterion", rc_campaign_criteria_count(campaign));
    if (rc_campaign_uncertain_count(campaign) < 1)
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "nothing is uncertain, so nothing is rare: give a number a distribution");
    return RC_OK;
}

/* Run the method; whether it supports a claim is the answer's to say, from the stored flights. */
static void run_method(struct rare_run *run, const struct rc_rare_rule *rule)
{
    const struct rc_rare_problem problem = {.n = run->plan.columns->n_quantities, .user = run, .margins = margins_of};
    const struct rc_rare_options options = {.seed = run->plan.seed, .confidence = run->criterion->confidence};
    struct rc_rare rare;
    const rc_status status = rc_rare_run(&rare, &problem, rule, &options, &run->frame.err);
    if (run->frame.status == RC_OK)
        run->frame.status = status;
    if (run->frame.status == RC_OK)
        rc_store_settle(run->frame.store);
}

rc_status rc_run_rare(const char *path, const struct rc_run_store *wanted, const struct rc_run_options *options,
                      struct rc_progress *ended, struct rc_error *err)
{
    const rc_campaign *campaign = wanted->campaign;
    const struct rc_rare_rule *rule = &wanted->rare;
    char rule_text[RC_STOP_TEXT];
    struct rc_run_store full = *wanted;
    struct rare_run run = {.frame = {.options = options, .path = path, .asked = rc_rare_most_flights(rule)}};
    rc_status status = refuse_rule(campaign, rule, err);
    if (status != RC_OK)
        return status;
    rc_rare_write(rule, rule_text);
    full.run_rule = rule_text;
    full.n_flights = run.frame.asked;
    run.plan = (struct rc_worker_plan){.campaign = campaign, .columns = wanted->columns, .seed = wanted->seed,
                                       .stop = options->stop};
    run.criterion = rc_campaign_criterion(campaign, rule->criterion);
    status = rc_run_store_open(&run.frame.store, path, &full, err);
    if (status != RC_OK)
        return status;
    run.frame.status = begin(&run);
    if (run.frame.status == RC_OK)
        run_method(&run, rule);
    status = rc_frame_close(&run.frame, ended, err);
    for (int thread = 0; run.worker && thread < run.frame.n_threads; thread++)
        rc_worker_free(&run.worker[thread]);
    free(run.worker);
    free(run.rows);
    free(run.stored);
    return status;
}
