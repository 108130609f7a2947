/* New flights of a ranking, each change a store of its own. Which changes, and what they tell; flying is batch's, the intervals
 * are analysis'. */
#include "ranking_flown.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "analysis/pairing.h"
#include "batch/batch.h"
#include "campaign/campaign.h"

/* Marks of the store's own flights and of those of one change. */
struct marks {
    int64_t n;
    unsigned char *before, *after; /* (n) */
};

static const char out_of_range[] = "the campaign does not take the distribution that results, which leaves the allowed values";

/* No spread at all can be flown; reweighting has a tenth in its place. */
static struct rc_reshape reshape_of(const char *given, enum rc_tighten_change change, double half_sd)
{
    switch (change) {
    case RC_TIGHTEN_HALF:
        return (struct rc_reshape){given, 0.5, 0.0};
    case RC_TIGHTEN_TENTH:
        return (struct rc_reshape){given, 0.0, 0.0};
    case RC_TIGHTEN_UP:
        return (struct rc_reshape){given, 1.0, half_sd};
    case RC_TIGHTEN_DOWN:
        return (struct rc_reshape){given, 1.0, -half_sd};
    case RC_N_TIGHTEN:
        break;
    }
    return (struct rc_reshape){given, 1.0, 0.0};
}

rc_status rc_ranking_flown_check(const struct rc_rank_request *request, struct rc_error *err)
{
    const int64_t n_there = rc_results_flights(request->results);
    if (rc_campaign_plan(request->campaign) != rc_plan_find("plain") || rc_results_run_rule(request->results)[0] != '\0') {
        return rc_error_fill(err, RC_BAD_INPUT, "",
                             "--fly pairs new flights with independent ones of a fixed number: it takes a "
                             "store of the plan plain without a stop rule");
    }
    if (request->n_fly > n_there) {
        return rc_error_fill(err, RC_BAD_INPUT, "",
                             "holds %lld flights to pair new ones with, got --fly %lld; give at most that "
                             "many, or fly more into the store first",
                             (long long)n_there, (long long)request->n_fly);
    }
    return RC_OK;
}

/* How a ranking flies: the store's seed, going on with what the folder has. */
static struct rc_run_options options_of(const struct rc_rank_request *request, uint64_t seed)
{
    struct rc_run_options options = *request->options;
    options.resume = 1;
    options.has_seed = 1;
    options.seed = seed;
    return options;
}

/* What pairs of flights tell of a change. */
static struct rc_tightened tell(const struct marks *marks, int64_t n_met, double confidence)
{
    const struct rc_pairs pairs = rc_pairing_count(marks->after, marks->before, marks->n);
    const struct rc_range gain = rc_pairing_interval(&pairs, confidence);
    struct rc_tightened told = {.odds = (double)n_met / (double)marks->n,
                                .gain = (double)(pairs.only_first - pairs.only_second) / (double)marks->n,
                                .gain_low = gain.low,
                                .gain_high = gain.high,
                                .effective = (double)marks->n,
                                .is_supported = 1,
                                .why = ""};
    rc_odds_interval(n_met, marks->n, confidence, 2, &told.low, &told.high);
    return told;
}

static rc_status fly_change(struct rc_ranking *ranking, struct rc_ranking_row *row, enum rc_tighten_change change,
                            const struct rc_rank_request *request, const struct marks *marks, struct rc_error *err)
{
    const struct rc_reshape reshape = reshape_of(row->given, change, row->half_sd);
    const struct rc_run_options options = options_of(request, ranking->seed);
    const struct rc_design_run run = {request->folder, ranking->target.criterion, &options};
    rc_campaign *own = NULL;
    char name[RC_MAX_PATH_TEXT + 16];
    int64_t n_met = 0;
    rc_status status = isfinite(reshape.shift) ? rc_designs_reshape(&own, ranking->campaign, &reshape, 1, err) : RC_BAD_INPUT;
    if (status == RC_BAD_INPUT) {
        row->after[change].why = out_of_range;
        row->after[change].more_flights = -1;
        return RC_OK;
    }
    snprintf(name, sizeof name, "%s-%s", row->given, rc_ranking_change_key(change));
    if (status == RC_OK) {
        status = rc_designs_fly(&run, own, name, marks->n, marks->after, &n_met, err);
    }
    if (status == RC_OK) {
        row->after[change] = tell(marks, n_met, ranking->confidence);
        row->source[change] = RC_RANKING_FLOWN;
        ranking->n_flown += marks->n;
    }
    rc_campaign_free(own);
    return status;
}

/* Rows that new flights can tell of and reweighting cannot: also those that vary with others, whose draws keep their ties. */
static int is_for_flying(const struct rc_ranking_row *row, int change)
{
    return !row->rank.is_constant && row->bar == RC_RANKING_TOLD && row->source[change] == RC_RANKING_UNTOLD;
}

/* What bars reweighting does not bar flying. */
static void lift_bar(struct rc_ranking_row *row)
{
    if (row->bar != RC_RANKING_TIED && row->bar != RC_RANKING_ONE_KIND) {
        return;
    }
    for (int change = 0; change < RC_N_TIGHTEN; change++) {
        row->after[change] = (struct rc_tightened){.odds = NAN,
                                                   .low = NAN,
                                                   .high = NAN,
                                                   .gain = NAN,
                                                   .gain_low = NAN,
                                                   .gain_high = NAN,
                                                   .effective = NAN,
                                                   .why = rc_ranking_bar_text(row->bar)};
    }
    row->bar = RC_RANKING_TOLD;
}

rc_status rc_ranking_flown_rows(struct rc_ranking *ranking, const struct rc_rank_request *request, struct rc_error *err)
{
    struct marks marks = {.n = request->n_fly};
    marks.before = malloc((size_t)marks.n);
    marks.after = malloc((size_t)marks.n);
    rc_status status =
        marks.before != NULL && marks.after != NULL
            ? rc_designs_read(marks.before, request->results, ranking->campaign, ranking->target.criterion, marks.n, err)
            : rc_error_fill(err, RC_NO_MEMORY, "", "no memory for %lld marks", (long long)marks.n);
    for (int row = 0; row < ranking->n_rows; row++) {
        lift_bar(&ranking->row[row]);
        for (int change = 0; status == RC_OK && change < RC_N_TIGHTEN; change++) {
            if (is_for_flying(&ranking->row[row], change)) {
                status = fly_change(ranking, &ranking->row[row], (enum rc_tighten_change)change, request, &marks, err);
            }
        }
    }
    free(marks.before);
    free(marks.after);
    return status;
}

/* A way's store is named after its steps, so that another run finds it again. */
static void name_way(char name[32], const struct rc_ranking_way *way)
{
    uint64_t sum = RC_FNV_START;
    for (int at = 0; at < way->n; at++) {
        sum = rc_hash_bytes(sum, way->step[at].given, strlen(way->step[at].given));
        sum = rc_hash_bytes(sum, &way->step[at].change, sizeof way->step[at].change);
    }
    snprintf(name, 32, "way-%016" PRIx64, sum);
}

static rc_status fly_way(struct rc_ranking *ranking, const struct rc_ranking_way *way, const struct rc_rank_request *request,
                         int n_candidates, struct rc_error *err)
{
    struct rc_ranking_ways *ways = &ranking->ways;
    const struct rc_run_options options = options_of(request, ranking->seed + 1); /* other draws than those that chose it */
    const struct rc_design_run run = {request->folder, ranking->target.criterion, &options};
    const struct rc_criterion asked = {.odds = ranking->need, .confidence = 1.0 - (1.0 - ranking->confidence) / n_candidates};
    struct rc_reshape reshape[RC_CHEAPEST_LONGEST];
    rc_campaign *own = NULL;
    char name[32];
    int64_t n_met = 0;
    for (int at = 0; at < way->n; at++) {
        reshape[at] = reshape_of(way->step[at].given, way->step[at].change, 0.0);
    }
    name_way(name, way);
    rc_status status = rc_designs_reshape(&own, ranking->campaign, reshape, way->n, err);
    if (status == RC_OK) {
        status = rc_designs_fly(&run, own, name, request->n_fly, NULL, &n_met, err);
    }
    if (status == RC_OK) {
        ways->flown[ways->n_flown] = *way;
        ways->flown_odds[ways->n_flown++] = rc_odds_from_count(n_met, request->n_fly, &asked);
        ranking->n_flown += request->n_fly;
    }
    rc_campaign_free(own);
    return status;
}

/* Ways worth flying, by rising cost: those that could not be judged and are cheaper than the one found, the likely one, that one.
 * out candidate (RC_RANKING_MOST_FLOWN); ends how many */
static int list_candidates(const struct rc_ranking_way **candidate, const struct rc_ranking_ways *ways)
{
    const int is_found = ways->reaches && ways->way.n > 0;
    int n = 0;
    for (int kept = 0; kept < RC_CHEAPEST_KEPT && kept < ways->n_unjudged; kept++) {
        if (!is_found || ways->unjudged[kept].cost < ways->way.cost) {
            candidate[n++] = &ways->unjudged[kept];
        }
    }
    if (is_found && ways->cheaper.n > 0 && ways->cheaper.cost < ways->way.cost) {
        int at = n++;
        for (; at > 0 && candidate[at - 1]->cost > ways->cheaper.cost; at--) {
            candidate[at] = candidate[at - 1];
        }
        candidate[at] = &ways->cheaper;
    }
    if (is_found) {
        candidate[n++] = &ways->way;
    }
    return n;
}

rc_status rc_ranking_flown_ways(struct rc_ranking *ranking, const struct rc_rank_request *request, struct rc_error *err)
{
    struct rc_ranking_ways *ways = &ranking->ways;
    const struct rc_ranking_way *candidate[RC_RANKING_MOST_FLOWN];
    const int n = ways->n_costs > 0 && !(ways->way.n == 0 && ways->reaches) ? list_candidates(candidate, ways) : 0;
    rc_status status = RC_OK;
    for (int at = 0; status == RC_OK && at < n; at++) {
        status = fly_way(ranking, candidate[at], request, n, err);
        if (status == RC_OK && ways->flown_odds[at].verdict == RC_VERDICT_GO) {
            break; /* the cheapest that is confirmed; dearer ones do not matter */
        }
    }
    return status;
}
