/* One thread's work. Knows no store: rows and bins go to memory that the run hands in. */
#include "worker.h"

#include <math.h>
#include <stdlib.h>

rc_status rc_worker_begin(struct rc_worker *worker, const struct rc_worker_plan *plan, struct rc_error *err)
{
    const size_t n_lanes = (size_t)rc_block_lanes();
    *worker = (struct rc_worker){.block = NULL};
    worker->designs = malloc(n_lanes * sizeof *worker->designs);
    worker->flights = malloc(n_lanes * sizeof *worker->flights);
    worker->records = malloc(n_lanes * sizeof *worker->records);
    if (!worker->designs || !worker->flights || !worker->records)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a thread's block of flights");
    return rc_campaign_formula(plan->campaign) ? RC_OK : rc_block_create(&worker->block, rc_campaign_model(plan->campaign), err);
}

void rc_worker_free(struct rc_worker *worker)
{
    rc_block_free(worker->block);
    free(worker->designs);
    free(worker->flights);
    free(worker->records);
    *worker = (struct rc_worker){.block = NULL};
}

/* Draw one flight: values into the row's head, design. out row (plan->columns->n_quantities) in the campaign's units */
static void draw(const struct rc_worker_plan *plan, uint64_t flight, double *row, struct rc_design *design)
{
    rc_campaign_plan(plan->campaign)->draw(rc_campaign_sampling(plan->campaign), plan->seed, flight, row);
    rc_campaign_design(plan->campaign, row, design);
}

void rc_worker_lanes(struct rc_worker *worker, const struct rc_worker_plan *plan, int n, rc_moment_sink *sink, void *user)
{
    const struct rc_formula *formula = rc_campaign_formula(plan->campaign);
    if (!formula) {
        rc_block_fly(worker->block, worker->designs, plan->seed, worker->flights, n, worker->records, sink, user);
        return;
    }
    for (int lane = 0; lane < n; lane++) {
        struct rc_record *record = &worker->records[lane];
        const double result = rc_formula_value(formula, worker->designs[lane].formula.input);
        for (int measure = 0; measure < RC_N_MEASURES; measure++)
            record->measure[measure] = NAN;
        record->end = isfinite(result) ? RC_END_APOGEE : RC_END_DIVERGED;
        if (isfinite(result)) /* else the one NAN, whose bits are always the same */
            record->measure[RC_MEASURE_result] = result;
    }
}

bool rc_worker_fly(struct rc_worker *worker, const struct rc_worker_plan *plan, struct rc_worker_unit *unit)
{
    const int n_lanes = rc_block_lanes();
    const size_t n_columns = (size_t)plan->columns->n;
    for (int begin = 0; begin < unit->n; begin += n_lanes) {
        const int n = unit->n - begin < n_lanes ? unit->n - begin : n_lanes;
        double *rows = unit->rows + (size_t)begin * n_columns;
        if (plan->stop && *plan->stop)
            return false;
        for (int lane = 0; lane < n; lane++) {
            worker->flights[lane] = (uint64_t)(unit->first + begin + lane);
            draw(plan, worker->flights[lane], rows + (size_t)lane * n_columns, &worker->designs[lane]);
            worker->records[lane].bin = unit->bins ? unit->bins + (size_t)(begin + lane) * (size_t)plan->n_cells : NULL;
        }
        rc_worker_lanes(worker, plan, n, NULL, NULL);
        for (int lane = 0; lane < n; lane++)
            (void)rc_columns_fill(plan->columns, plan->campaign, &worker->records[lane], rows + (size_t)lane * n_columns);
    }
    return true;
}
