/* Offers what the campaign puts a cost on to the search of analysis and keeps what it found in the ranking's own terms. */
#include "ranking_ways.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static int costs_of(const struct rc_ranking *ranking, int row, double cost[2])
{
    cost[0] = ranking->row[row].cost_to_halve;
    cost[1] = ranking->row[row].cost_to_remove;
    return isfinite(cost[0]) + isfinite(cost[1]);
}

/* One item and its room. */
static int add_item(struct rc_ways *ways, int row, enum rc_tighten_change change, double cost)
{
    const int at = ways->n_items++;
    ways->even[at] = calloc(RC_RANK_SAMPLE / 2, sizeof **ways->even);
    ways->odd[at] = calloc(RC_RANK_SAMPLE / 2, sizeof **ways->odd);
    ways->item[at] = (struct rc_cheapest_item){row, cost, ways->even[at]};
    ways->change[at] = change;
    return ways->even[at] != NULL && ways->odd[at] != NULL;
}

rc_status rc_ranking_ways_begin(struct rc_ways *ways, const struct rc_ranking *ranking, struct rc_error *err)
{
    const size_t n_most = 2 * (size_t)ranking->n_rows + 1;
    int is_good = 1;
    *ways = (struct rc_ways){.item = calloc(n_most, sizeof *ways->item),
                             .even = calloc(n_most, sizeof(float *)),
                             .odd = calloc(n_most, sizeof(float *)),
                             .change = calloc(n_most, sizeof *ways->change),
                             .met = malloc(RC_RANK_SAMPLE / 2),
                             .other_met = malloc(RC_RANK_SAMPLE / 2)};
    is_good = ways->item != NULL && ways->even != NULL && ways->odd != NULL && ways->change != NULL && ways->met != NULL &&
              ways->other_met != NULL;
    for (int row = 0; is_good && row < ranking->n_rows; row++) {
        double cost[2];
        if (costs_of(ranking, row, cost) == 0 || ranking->row[row].bar != RC_RANKING_TOLD) {
            continue;
        }
        is_good = !isfinite(cost[0]) || add_item(ways, row, RC_TIGHTEN_HALF, cost[0]);
        is_good = is_good && (!isfinite(cost[1]) || add_item(ways, row, RC_TIGHTEN_TENTH, cost[1]));
    }
    return is_good ? RC_OK : rc_error_fill(err, RC_NO_MEMORY, "", "no memory to look for the cheapest way");
}

void rc_ranking_ways_take_marks(struct rc_ways *ways, const unsigned char *met, int n)
{
    ways->n_half = n / 2;
    for (int flight = 0; flight < ways->n_half; flight++) {
        ways->met[flight] = met[2 * flight];
        ways->other_met[flight] = met[2 * flight + 1];
    }
}

void rc_ranking_ways_take_weights(struct rc_ways *ways, int row, enum rc_tighten_change change, const double *weights, int n)
{
    for (int item = 0; item < ways->n_items; item++) {
        if (ways->item[item].row != row || ways->change[item] != change) {
            continue;
        }
        for (int flight = 0; flight < n / 2; flight++) {
            ways->even[item][flight] = (float)weights[2 * flight];
            ways->odd[item][flight] = (float)weights[2 * flight + 1];
        }
    }
}

/* A way in the ranking's terms. */
static void keep(struct rc_ranking_way *kept, const struct rc_ranking *ranking, const struct rc_ways *ways,
                 const struct rc_cheapest_way *way)
{
    *kept = (struct rc_ranking_way){.n = way->n, .cost = way->cost, .after = way->after};
    for (int at = 0; at < way->n; at++) {
        const struct rc_cheapest_item *item = &ways->item[way->item[at]];
        struct rc_ranking_step *step = &kept->step[at];
        memcpy(step->given, ranking->row[item->row].given, sizeof step->given);
        step->change = ways->change[way->item[at]];
        step->cost = item->cost;
    }
}

/* Judge a way by the flights that had no part in the choice. */
static rc_status judge(struct rc_cheapest_way *way, const struct rc_ranking *ranking, const struct rc_ways *ways,
                       struct rc_error *err)
{
    const struct rc_cheapest_flights flights = {ways->n_half, ranking->n_replicates / 2, ways->other_met};
    struct rc_cheapest_item *item = malloc(((size_t)ways->n_items + 1) * sizeof *item);
    if (item == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory to judge the cheapest way");
    }
    for (int index = 0; index < ways->n_items; index++) {
        item[index] = ways->item[index];
        item[index].weight = ways->odd[index];
    }
    const rc_status status = rc_cheapest_judge(&way->after, way, item, &flights, 2.0 * ranking->confidence - 1.0, err);
    free(item);
    return status;
}

rc_status rc_ranking_ways_finish(struct rc_ranking *ranking, const struct rc_ways *ways, struct rc_error *err)
{
    struct rc_ranking_ways *told = &ranking->ways;
    const struct rc_cheapest_flights flights = {ways->n_half, ranking->n_replicates / 2, ways->met};
    struct rc_cheapest *found = malloc(sizeof *found);
    for (int row = 0; row < ranking->n_rows; row++) {
        double cost[2];
        const int n_costs = costs_of(ranking, row, cost);
        told->n_costs += n_costs;
        told->n_barred += n_costs > 0 && ranking->row[row].bar != RC_RANKING_TOLD;
    }
    if (found == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory to look for the cheapest way");
    }
    rc_status status = RC_OK;
    if (told->n_costs > 0) {
        status = rc_cheapest_search(found, ways->item, ways->n_items, &flights, ranking->need, ranking->confidence, err);
    }
    if (status == RC_OK && told->n_costs > 0) {
        struct rc_cheapest_way *chosen = found->shown.n >= 0    ? &found->shown
                                         : found->likely.n >= 0 ? &found->likely
                                                                : &found->best;
        told->reaches = found->shown.n >= 0 || found->likely.n >= 0;
        told->n_judged = found->n_judged;
        told->n_unjudged = found->n_unjudged;
        told->is_complete = found->is_complete;
        keep(&told->cheaper, ranking, ways, found->shown.n >= 0 ? &found->likely : &found->shown);
        for (int kept = 0; kept < RC_CHEAPEST_KEPT && kept < found->n_unjudged; kept++) {
            keep(&told->unjudged[kept], ranking, ways, &found->unjudged[kept]);
        }
        if (chosen->n >= 0) {
            status = judge(chosen, ranking, ways, err);
        }
        keep(&told->way, ranking, ways, chosen);
        told->is_shown = chosen->n >= 0 && chosen->after.is_supported && chosen->after.low >= ranking->need;
    }
    free(found);
    return status;
}

static int has_cheaper(const struct rc_ranking_ways *ways)
{
    return ways->cheaper.n >= 0 && ways->cheaper.cost < ways->way.cost;
}

const struct rc_tightened *rc_ranking_likely(const struct rc_ranking *ranking)
{
    const struct rc_ranking_ways *ways = &ranking->ways;
    const struct rc_tightened *likely = has_cheaper(ways) ? &ways->cheaper.after : &ways->way.after;
    return likely->odds > ranking->need && (has_cheaper(ways) || !ways->is_shown) ? likely : NULL;
}

int64_t rc_ranking_flights_to_show(const struct rc_ranking *ranking)
{
    const struct rc_tightened *likely = rc_ranking_likely(ranking);
    if (likely == NULL || !likely->is_supported) {
        return -1;
    }
    const double margin = likely->odds - ranking->need, distance = likely->odds - likely->low;
    const double n_looked_at = (double)(ranking->flights < RC_RANK_SAMPLE ? ranking->flights : RC_RANK_SAMPLE);
    const double n = 100.0 * ceil(1.1 * n_looked_at * pow(distance / margin, 2.0) / 100.0); /* a tenth more: it is an estimate */
    return n > (double)ranking->flights && n <= RC_RANK_SAMPLE ? (int64_t)n : -1;
}

void rc_ranking_ways_free(struct rc_ways *ways)
{
    for (int item = 0; item < ways->n_items; item++) {
        free(ways->even[item]);
        free(ways->odd[item]);
    }
    free(ways->item);
    free(ways->even);
    free(ways->odd);
    free(ways->change);
    free(ways->met);
    free(ways->other_met);
    *ways = (struct rc_ways){.n_items = 0};
}
