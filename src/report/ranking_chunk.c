/* Reads a store for ranking: quantities, what is ranked for, and whether each flight met the criterion, from the measures and how
 * the flight ended. */
#include "ranking_chunk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

rc_status rc_ranking_chunk_begin(struct rc_ranking_chunk *chunk, const rc_results *results, const rc_campaign *campaign,
                                 const struct rc_ranking_target *target, struct rc_error *err)
{
    *chunk = (struct rc_ranking_chunk){.results = results, .campaign = campaign, .target = *target,
                                       .n_quantities = rc_campaign_uncertain_count(campaign)};
    int has_all = 1;
    chunk->quantity = calloc((size_t)chunk->n_quantities + 1, sizeof *chunk->quantity);
    chunk->outcome = malloc(RC_RANK_SAMPLE * sizeof *chunk->outcome);
    chunk->scratch = malloc(RC_RANK_SAMPLE * sizeof *chunk->scratch);
    chunk->met = malloc(RC_RANK_SAMPLE);
    for (int index = 0; chunk->quantity != NULL && index < chunk->n_quantities; index++) {
        chunk->quantity[index] = malloc(RC_RANK_SAMPLE * sizeof **chunk->quantity);
        has_all &= chunk->quantity[index] != NULL;
    }
    if (chunk->quantity == NULL || chunk->outcome == NULL || chunk->scratch == NULL || chunk->met == NULL || !has_all) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory to rank %d quantities", chunk->n_quantities);
    }
    return RC_OK;
}

void rc_ranking_chunk_free(struct rc_ranking_chunk *chunk)
{
    for (int index = 0; chunk->quantity != NULL && index < chunk->n_quantities; index++) {
        free(chunk->quantity[index]);
    }
    free(chunk->quantity);
    free(chunk->outcome);
    free(chunk->scratch);
    free(chunk->met);
    *chunk = (struct rc_ranking_chunk){.results = NULL};
}

static rc_status read_measure(const struct rc_ranking_chunk *chunk, int measure, double *values, struct rc_error *err)
{
    char name[96];
    snprintf(name, sizeof name, "measures/%s", rc_measures_row(measure)->name);
    return rc_results_column(chunk->results, name, chunk->first, chunk->n, values, err);
}

/* Strike the flights that miss one criterion; a flight that did not reach apogee is struck already. */
static rc_status strike(struct rc_ranking_chunk *chunk, int row, struct rc_error *err)
{
    const struct rc_criterion *criterion = rc_campaign_criterion(chunk->campaign, row);
    const rc_status status = read_measure(chunk, criterion->measure, chunk->scratch, err);
    for (int flight = 0; status == RC_OK && flight < chunk->n; flight++) {
        chunk->met[flight] = chunk->met[flight] && rc_odds_is_met(criterion, chunk->scratch[flight], RC_END_APOGEE);
    }
    return status;
}

/* What is ranked for. in outcome: how each flight ended; out: the measure, or 1 and 0 */
static rc_status read_outcome(struct rc_ranking_chunk *chunk, struct rc_error *err)
{
    if (chunk->target.measure < 0) {
        for (int flight = 0; flight < chunk->n; flight++) {
            chunk->outcome[flight] = chunk->met[flight];
        }
        return RC_OK;
    }
    const rc_status status = read_measure(chunk, chunk->target.measure, chunk->scratch, err);
    for (int flight = 0; status == RC_OK && flight < chunk->n; flight++) {
        chunk->outcome[flight] = chunk->outcome[flight] == RC_END_APOGEE ? chunk->scratch[flight] : NAN;
    }
    return status;
}

rc_status rc_ranking_chunk_read(struct rc_ranking_chunk *chunk, int64_t first, int n, int quantities, struct rc_error *err)
{
    const int n_criteria = rc_campaign_criteria_count(chunk->campaign);
    chunk->first = first;
    chunk->n = n;
    rc_status status = rc_results_column(chunk->results, "end", first, n, chunk->outcome, err);
    for (int flight = 0; status == RC_OK && flight < n; flight++) {
        chunk->met[flight] = chunk->outcome[flight] == RC_END_APOGEE;
    }
    for (int row = 0; status == RC_OK && row < n_criteria; row++) {
        if (chunk->target.criterion == n_criteria || chunk->target.criterion == row) {
            status = strike(chunk, row, err);
        }
    }
    if (status == RC_OK) {
        status = read_outcome(chunk, err);
    }
    for (int index = 0; quantities && status == RC_OK && index < chunk->n_quantities; index++) {
        char name[128];
        snprintf(name, sizeof name, "quantities/%s", rc_campaign_uncertain(chunk->campaign, index).path);
        status = rc_results_column(chunk->results, name, first, n, chunk->quantity[index], err);
    }
    return status;
}
