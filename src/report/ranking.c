/* Gathers a ranking from a store: figures per quantity from analysis, put together by the entry of the campaign file that they
 * come from, since that is what a builder can hold more tightly. Wording is left to ranking_text.c and ranking_json.c. */
#include "ranking.h"

#include "rollcast/rare.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/suggest.h"
#include "campaign/campaign.h"
#include "numeric/special.h"
#include "ranking_chunk.h"
#include "ranking_flown.h"
#include "ranking_paired.h"
#include "ranking_ways.h"

/* The memory of one gathering. */
struct gathering {
    struct rc_ranking_chunk chunk;
    struct rc_rank *rank;
    struct rc_tighten_table **table;       /* (n_quantities), NULL = separate values or tied */
    int *row_of;                           /* (n_quantities) the row that a quantity belongs to */
    struct rc_rank_row *figures;           /* (n_quantities) */
    struct rc_tighten_sums (*sums)[RC_N_TIGHTEN]; /* (n_rows) */
    double *weights;                       /* (RC_RANK_SAMPLE) */
    struct rc_replicates counted;
    int64_t n_counted;                     /* rows handed on so far: those that are independent */
    struct rc_ways ways;
};

const char *rc_ranking_change_text(enum rc_tighten_change change)
{
    static const char *const text[] = {[RC_TIGHTEN_HALF] = "half of its spread",
                                       [RC_TIGHTEN_TENTH] = "a tenth of its spread",
                                       [RC_TIGHTEN_UP] = "its middle up by half a standard deviation",
                                       [RC_TIGHTEN_DOWN] = "its middle down by half a standard deviation"};
    return text[change];
}

const char *rc_ranking_change_key(enum rc_tighten_change change)
{
    static const char *const key[] = {[RC_TIGHTEN_HALF] = "half", [RC_TIGHTEN_TENTH] = "tenth", [RC_TIGHTEN_UP] = "up",
                                      [RC_TIGHTEN_DOWN] = "down"};
    return key[change];
}

const char *rc_ranking_source_text(enum rc_ranking_source source)
{
    static const char *const text[] = {[RC_RANKING_UNTOLD] = NULL, [RC_RANKING_REWEIGHTED] = "reweighted flights",
                                       [RC_RANKING_FLOWN] = "new paired flights"};
    return text[source];
}

const char *rc_ranking_bar_text(enum rc_ranking_bar bar)
{
    static const char *const text[] = {[RC_RANKING_TOLD] = "",
                                       [RC_RANKING_SEPARATE] = "takes separate values, which have no spread to shrink",
                                       [RC_RANKING_TIED] = "varies together with others, so that it cannot change alone",
                                       [RC_RANKING_ONE_KIND] = "all flights are of one kind"};
    return text[bar];
}

static int is_kept(const rc_results *results, int measure)
{
    char name[96];
    snprintf(name, sizeof name, "measures/%s", rc_measures_row(measure)->name);
    return rc_results_has(results, name);
}

/* The one criterion on a measure, or all together where there is none or more than one. */
static int criterion_on(const rc_campaign *campaign, int measure)
{
    const int n_criteria = rc_campaign_criteria_count(campaign);
    int found = n_criteria;
    int n_found = 0;
    for (int row = 0; row < n_criteria; row++) {
        if (rc_campaign_criterion(campaign, row)->measure == measure) {
            found = row;
            n_found++;
        }
    }
    return n_found == 1 ? found : n_criteria;
}

static rc_status refuse_name(const rc_results *results, const rc_campaign *campaign, const char *name, struct rc_error *err)
{
    struct rc_text text = {NULL, 0, 0, false};
    struct rc_suggest search = {.wanted = name};
    char hint[128];
    for (int row = 0; row < rc_campaign_criteria_count(campaign); row++) {
        const char *criterion = rc_campaign_criterion(campaign, row)->name;
        rc_text_add(&text, "%s, ", criterion);
        rc_suggest_offer(&search, criterion, strlen(criterion));
    }
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        if (is_kept(results, measure)) {
            rc_suggest_offer(&search, rc_measures_row(measure)->name, strlen(rc_measures_row(measure)->name));
        }
    }
    rc_suggest_text(&search, hint, sizeof hint);
    const rc_status status = rc_error_fill(err, RC_BAD_INPUT, "",
                                           "there is no criterion or measure '%.80s'; the criteria are %.300sall together, the "
                                           "measures are those that rollcast odds lists%s",
                                           name, text.failed || text.bytes == NULL ? "" : text.bytes, hint);
    rc_text_free(&text);
    return status;
}

rc_status rc_ranking_find(struct rc_ranking_target *target, const rc_results *results, const rc_campaign *campaign,
                          const char *name, struct rc_error *err)
{
    const int n_criteria = rc_campaign_criteria_count(campaign);
    const char *all = rc_campaign_all_together(campaign)->name;
    if (name == NULL || strcmp(name, all) == 0) {
        *target = (struct rc_ranking_target){all, -1, n_criteria};
        return RC_OK;
    }
    for (int row = 0; row < n_criteria; row++) {
        const char *criterion = rc_campaign_criterion(campaign, row)->name;
        if (strcmp(criterion, name) == 0) {
            *target = (struct rc_ranking_target){criterion, -1, row};
            return RC_OK;
        }
    }
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        const char *row = rc_measures_row(measure)->name;
        if (strcmp(row, name) == 0 && is_kept(results, measure)) {
            *target = (struct rc_ranking_target){row, measure, criterion_on(campaign, measure)};
            return RC_OK;
        }
    }
    return refuse_name(results, campaign, name, err);
}

/* Rows by entry of the file, in the campaign's order. */
static void list_rows(struct rc_ranking *ranking, struct gathering *work)
{
    for (int index = 0; index < work->chunk.n_quantities; index++) {
        const struct rc_quantity_view view = rc_campaign_uncertain(ranking->campaign, index);
        int row = ranking->n_rows - 1;
        while (row >= 0 && strcmp(ranking->row[row].given, view.given) != 0) {
            row--;
        }
        if (row < 0) {
            row = ranking->n_rows++;
            ranking->row[row] = (struct rc_ranking_row){.unit = view.unit, .meaning = view.meaning,
                                                        .cost_to_halve = view.cost_to_halve,
                                                        .cost_to_remove = view.cost_to_remove};
            memcpy(ranking->row[row].given, view.given, sizeof ranking->row[row].given);
            memcpy(ranking->row[row].distribution, view.distribution, sizeof ranking->row[row].distribution);
        }
        work->row_of[index] = row;
        ranking->row[row].n_members++;
    }
}

static int is_tied(const struct rc_copula *copula, int quantity)
{
    int found = 0;
    for (int index = 0; copula != NULL && index < rc_copula_count(copula); index++) {
        found |= rc_copula_member(copula, index) == quantity;
    }
    return found;
}

static rc_status make_tables(struct rc_ranking *ranking, struct gathering *work, struct rc_error *err)
{
    const struct rc_sampling *sampling = rc_campaign_sampling(ranking->campaign);
    rc_status status = RC_OK;
    for (int index = 0; status == RC_OK && index < sampling->n; index++) {
        struct rc_ranking_row *row = &ranking->row[work->row_of[index]];
        const struct rc_distribution *distribution = &sampling->quantity[index].distribution;
        row->half_sd = rc_tighten_move(distribution, RC_TIGHTEN_UP).shift;
        if (is_tied(sampling->copula, index)) {
            row->bar = RC_RANKING_TIED;
            continue;
        }
        status = rc_tighten_table_create(&work->table[index], distribution, err);
        if (status == RC_OK && work->table[index] == NULL) {
            row->bar = RC_RANKING_SEPARATE;
        }
    }
    return status;
}

static rc_status begin(struct rc_ranking *ranking, struct gathering *work, const rc_results *results, struct rc_error *err)
{
    const int n = rc_campaign_uncertain_count(ranking->campaign);
    const struct rc_rank_options options = {.n_quantities = n, .n_flights = ranking->flights,
                                            .n_replicates = ranking->n_replicates, .seed = ranking->seed,
                                            .confidence = ranking->confidence};
    ranking->row = calloc((size_t)n, sizeof *ranking->row);
    work->table = calloc((size_t)n, sizeof(struct rc_tighten_table *));
    work->row_of = calloc((size_t)n, sizeof *work->row_of);
    work->figures = calloc((size_t)n, sizeof *work->figures);
    work->sums = calloc((size_t)n, sizeof *work->sums);
    work->weights = malloc(RC_RANK_SAMPLE * sizeof *work->weights);
    if (ranking->row == NULL || work->table == NULL || work->row_of == NULL || work->figures == NULL || work->sums == NULL ||
        work->weights == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory to rank %d quantities", n);
    }
    rc_status status = rc_ranking_chunk_begin(&work->chunk, results, ranking->campaign, &ranking->target, err);
    if (status == RC_OK) {
        list_rows(ranking, work);
        status = make_tables(ranking, work, err);
    }
    if (status == RC_OK) {
        status = rc_ranking_ways_begin(&work->ways, ranking, err);
    }
    if (status == RC_OK) {
        status = rc_ranking_paired_begin(&ranking->paired, ranking->campaign, ranking->seed, ranking->confidence, err);
    }
    return status == RC_OK ? rc_rank_create(&work->rank, &options, err) : status;
}

static void end(struct gathering *work)
{
    for (int index = 0; work->table != NULL && index < work->chunk.n_quantities; index++) {
        rc_tighten_table_free(work->table[index]);
    }
    rc_ranking_chunk_free(&work->chunk);
    rc_rank_free(work->rank);
    free(work->table);
    free(work->row_of);
    free(work->figures);
    free(work->sums);
    free(work->weights);
    rc_ranking_ways_free(&work->ways);
}

/* A row's weights are the product over its members. */
static void weigh_row(const struct rc_ranking *ranking, struct gathering *work, int row, enum rc_tighten_change change)
{
    const struct rc_ranking_chunk *chunk = &work->chunk;
    struct rc_tighten_sums *sums = &work->sums[row][change];
    for (int flight = 0; flight < chunk->n; flight++) {
        work->weights[flight] = 1.0;
    }
    for (int index = 0; index < chunk->n_quantities; index++) {
        if (work->row_of[index] == row) {
            rc_tighten_weigh(work->table[index], change, chunk->quantity[index], chunk->n, work->weights);
        }
    }
    sums->n_groups = ranking->n_replicates;
    rc_tighten_add(sums, chunk->first, chunk->n, chunk->met, work->weights);
    if (chunk->first == 0) {
        rc_ranking_ways_take_weights(&work->ways, row, change, work->weights, chunk->n);
    }
}

/* Keep the flights that are independent of each other, as if they alone had been read. */
static void keep_counted(const struct rc_ranking *ranking, struct gathering *work)
{
    const struct rc_plan_kind *plan = rc_campaign_plan(ranking->campaign);
    const struct rc_sampling *sampling = rc_campaign_sampling(ranking->campaign);
    struct rc_ranking_chunk *chunk = &work->chunk;
    int n = 0;
    for (int row = 0; plan->counts != NULL && row < chunk->n; row++) {
        if (!rc_plan_counts(plan, sampling, (uint64_t)(chunk->first + row))) {
            continue;
        }
        for (int index = 0; index < chunk->n_quantities; index++) {
            chunk->quantity[index][n] = chunk->quantity[index][row];
        }
        chunk->outcome[n] = chunk->outcome[row];
        chunk->met[n++] = chunk->met[row];
    }
    if (plan->counts != NULL) {
        chunk->first = work->n_counted;
        chunk->n = n;
    }
    work->n_counted += chunk->n;
}

static rc_status take_chunk(struct rc_ranking *ranking, struct gathering *work, struct rc_error *err)
{
    if (ranking->paired.n > 0) {
        const rc_status status = rc_ranking_paired_add(&ranking->paired, (const double *const *)work->chunk.quantity,
                                                       work->chunk.outcome, work->chunk.n, err);
        if (status != RC_OK) {
            return status;
        }
    }
    keep_counted(ranking, work);
    const struct rc_rank_chunk columns = {work->chunk.first, work->chunk.n, (const double *const *)work->chunk.quantity,
                                          work->chunk.outcome, work->chunk.met};
    work->counted.n = ranking->n_replicates;
    for (int flight = 0; ranking->n_replicates > 0 && flight < work->chunk.n; flight++) {
        const int64_t replicate = (work->chunk.first + flight) % ranking->n_replicates;
        work->counted.flights[replicate]++;
        work->counted.passed[replicate] += work->chunk.met[flight];
    }
    if (work->chunk.first == 0) {
        rc_ranking_ways_take_marks(&work->ways, work->chunk.met, work->chunk.n);
    }
    for (int row = 0; row < ranking->n_rows; row++) {
        for (int change = 0; ranking->row[row].bar == RC_RANKING_TOLD && change < RC_N_TIGHTEN; change++) {
            weigh_row(ranking, work, row, (enum rc_tighten_change)change);
        }
    }
    return rc_rank_add(work->rank, &columns, err);
}

/* Are there enough flights, and of either kind? */
static rc_status check_total(const struct rc_ranking *ranking, struct rc_error *err)
{
    const struct rc_rank_total *total = &ranking->total;
    const int64_t n_few = total->n_met < total->n - total->n_met ? total->n_met : total->n - total->n_met;
    const char *few = n_few == total->n_met ? "meet" : "miss";
    const char *name = ranking->target.name;
    if (ranking->target.measure >= 0 && total->n_outcomes < RC_RANKING_LEAST) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "%lld of %lld flights have a %s, ranking takes %d",
                             (long long)total->n_outcomes, (long long)total->n, name, RC_RANKING_LEAST);
    }
    if (ranking->target.measure >= 0 && !(total->sd > 1e-12 * fabs(total->mean))) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "%s is %.10g in every flight: there is nothing to rank; name another one",
                             name, total->mean);
    }
    if (ranking->target.measure >= 0 || n_few >= RC_RANKING_LEAST_EACH) {
        return RC_OK;
    }
    if (n_few == 0) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "none of %lld flights %s '%s', so nothing tells flights apart; fly more, or "
                             "rank a measure, which varies, such as %s",
                             (long long)total->n, n_few == total->n_met ? "meets" : "misses", name,
                             rc_measures_row(rc_campaign_criterion(ranking->campaign, 0)->measure)->name);
    }
    return rc_error_fill(err, RC_BAD_INPUT, "", "only %lld of %lld flights %s '%s', ranking takes %d of either kind: about %.0f "
                         "more flights, or rank a measure instead",
                         (long long)n_few, (long long)total->n, few, name, RC_RANKING_LEAST_EACH,
                         ceil((double)total->n * ((double)RC_RANKING_LEAST_EACH / (double)n_few - 1.0)));
}

/* Put a row together from its members. */
static void fill_row(struct rc_ranking_row *row, const struct rc_rank_row *figures, int is_first)
{
    if (is_first) {
        row->rank = *figures;
        return;
    }
    struct rc_estimate share = row->rank.share;
    const double reach = sqrt(pow(share.high - share.value, 2.0) + pow(figures->share.high - figures->share.value, 2.0));
    share.value += figures->share.value;
    share.low = fmax(share.value - reach, 0.0);
    share.high = fmin(share.value + reach, 1.0);
    const int is_constant = row->rank.is_constant && figures->is_constant;
    const int is_noise = row->rank.is_noise && figures->is_noise;
    if (fabs(figures->separation.value) > fabs(row->rank.separation.value)) {
        row->rank = *figures;
    }
    row->rank.share = share;
    row->rank.is_constant = is_constant;
    row->rank.is_noise = is_noise;
}

/* Halving tells from noise what share, rank and separation cannot see, an even effect: a gain surely not nothing, were all rows
 * asked at once (Bonferroni). A measure's rank is of the measure, and says nothing of odds. */
static void tell_by_halving(struct rc_ranking *ranking)
{
    const double tail = 0.5 * (1.0 - ranking->confidence);
    const double wider = rc_special_normal_quantile(tail / ranking->n_rows) / rc_special_normal_quantile(tail);
    for (int index = 0; ranking->target.measure < 0 && index < ranking->n_rows; index++) {
        struct rc_ranking_row *row = &ranking->row[index];
        const struct rc_tightened *half = &row->after[RC_TIGHTEN_HALF];
        const double reach = half->gain > 0.0 ? half->gain - half->gain_low : half->gain_high - half->gain;
        if (row->bar == RC_RANKING_TOLD && half->is_supported && fabs(half->gain) > wider * reach) {
            row->rank.is_noise = 0;
        }
    }
}

/* The greatest place first: told changes, up or down; separations of what is not told, then noise, then what never varied. */
static double place_of(const struct rc_ranking_row *row, int is_measure)
{
    const double kind = row->rank.is_constant ? 0.0 : row->rank.is_noise ? 10.0 : 20.0;
    if (is_measure) {
        return kind + row->rank.share.value;
    }
    const struct rc_tightened *half = &row->after[RC_TIGHTEN_HALF];
    const int is_told = row->bar == RC_RANKING_TOLD && half->is_supported;
    return kind + (is_told ? 4.0 + fabs(half->gain) : fabs(row->rank.separation.value));
}

static int by_place(const void *first, const void *second)
{
    const double a = place_of(first, 0);
    const double b = place_of(second, 0);
    return (a < b) - (a > b);
}

static int by_share(const void *first, const void *second)
{
    const double a = place_of(first, 1);
    const double b = place_of(second, 1);
    return (a < b) - (a > b);
}

/* Rows from the sums. */
static void finish_rows(struct rc_ranking *ranking, const struct gathering *work)
{
    const int is_one_kind = ranking->total.n_met == 0 || ranking->total.n_met == ranking->total.n;
    for (int row = 0; row < ranking->n_rows; row++) {
        struct rc_ranking_row *at = &ranking->row[row];
        int n_members = 0;
        for (int index = 0; index < work->chunk.n_quantities; index++) {
            if (work->row_of[index] == row) {
                fill_row(at, &work->figures[index], n_members++ == 0);
            }
        }
        if (at->bar == RC_RANKING_TOLD && is_one_kind) {
            at->bar = RC_RANKING_ONE_KIND;
        }
        for (int change = 0; at->bar == RC_RANKING_TOLD && change < RC_N_TIGHTEN; change++) {
            at->after[change] = rc_tighten_odds(&work->sums[row][change], ranking->confidence);
            at->source[change] = at->after[change].is_supported ? RC_RANKING_REWEIGHTED : RC_RANKING_UNTOLD;
        }
    }
}

/* The interval of the odds as flown; chance's figures are none until they are worked out. */
static void begin_figures(struct rc_ranking *ranking, const struct gathering *work)
{
    const struct rc_odds odds = ranking->n_replicates > 0 ? rc_odds_from_replicates(&work->counted, ranking->criterion)
                                                          : rc_odds_from_count(ranking->total.n_met, ranking->total.n,
                                                                               ranking->criterion);
    ranking->odds = (struct rc_range){odds.interval_low, odds.interval_high};
    ranking->dummy.share.value = ranking->dummy.correlation.value = ranking->dummy.separation.value = NAN;
}

static rc_status finish(struct rc_ranking *ranking, struct gathering *work, const struct rc_rank_request *request,
                        struct rc_error *err)
{
    ranking->total = rc_rank_total(work->rank);
    rc_status status = ranking->paired.n > 0 ? rc_ranking_paired_finish(&ranking->paired, ranking->target.name, err) : RC_OK;
    if (status != RC_OK) {
        return status;
    }
    begin_figures(ranking, work);
    status = check_total(ranking, err);
    ranking->has_rows = status == RC_OK && ranking->total.n >= RC_RANKING_LEAST;
    if (ranking->paired.n > 0 && !ranking->has_rows) { /* the design tells all the same */
        return RC_OK;
    }
    if (status == RC_OK) {
        status = rc_rank_finish(work->rank, work->figures, &ranking->dummy, err);
    }
    if (status != RC_OK) {
        return status;
    }
    finish_rows(ranking, work);
    status = rc_ranking_ways_finish(ranking, &work->ways, err);
    if (status == RC_OK && request->n_fly > 0) {
        status = rc_ranking_flown_rows(ranking, request, err);
    }
    if (status == RC_OK && request->n_fly > 0) {
        status = rc_ranking_flown_ways(ranking, request, err);
    }
    tell_by_halving(ranking);
    qsort(ranking->row, (size_t)ranking->n_rows, sizeof *ranking->row, ranking->target.measure >= 0 ? by_share : by_place);
    return status;
}

/* What a ranking takes. */
static rc_status check_request(const struct rc_rank_request *request, struct rc_error *err)
{
    const char *rule = rc_results_run_rule(request->results);
    const int64_t flights = rc_results_flights(request->results);
    struct rc_rare_rule rare;
    if (rc_rare_read(&rare, rule)) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "its run had the rule '%s': its flights are no sample of the campaign's to "
                             "rank by; fly one without a method", rule);
    }
    if (flights < 1) {
        return rc_error_fill(err, RC_IO, "", "the store holds no flight yet; go on with: rollcast fly ... --resume");
    }
    if (rc_campaign_uncertain_count(request->campaign) < 1) {
        return rc_error_fill(err, RC_BAD_INPUT, "",
                             "no number of the campaign is uncertain, so there is nothing to rank; give one a distribution");
    }
    if (flights < RC_RANKING_LEAST) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "holds %lld flights, ranking takes %d: %lld more (rollcast fly CAMPAIGN -o "
                             "STORE --flights %d --resume)", (long long)flights, RC_RANKING_LEAST,
                             (long long)(RC_RANKING_LEAST - flights), RC_RANKING_LEAST);
    }
    return request->n_fly > 0 ? rc_ranking_flown_check(request, err) : RC_OK;
}

/* All flights of the store, chunk by chunk. */
static rc_status take_flights(struct rc_ranking *ranking, struct gathering *work, struct rc_error *err)
{
    const int length = rc_ranking_paired_length(&ranking->paired);
    const int n_chunk = length > 0 ? RC_RANK_SAMPLE / length * length : RC_RANK_SAMPLE; /* whole rows of a design */
    rc_status status = RC_OK;
    for (int64_t first = 0; status == RC_OK && first < ranking->flights; first += n_chunk) {
        const int64_t left = ranking->flights - first;
        status = rc_ranking_chunk_read(&work->chunk, first, left < n_chunk ? (int)left : n_chunk, 1, err);
        if (status == RC_OK) {
            status = take_chunk(ranking, work, err);
        }
    }
    return status;
}

rc_status rc_ranking_gather(struct rc_ranking *ranking, const struct rc_rank_request *request, struct rc_error *err)
{
    const rc_campaign *campaign = request->campaign;
    const int n_criteria = rc_campaign_criteria_count(campaign);
    struct gathering work = {.rank = NULL};
    struct rc_ranking fresh = {.campaign = campaign, .seed = rc_results_seed(request->results),
                               .flights = rc_results_flights(request->results),
                               .n_replicates = rc_campaign_plan(campaign)->n_replicates};
    rc_status status = rc_ranking_find(&fresh.target, request->results, campaign, request->of, err);
    if (status == RC_OK) {
        status = check_request(request, err);
    }
    if (status != RC_OK) {
        return status;
    }
    fresh.criterion = fresh.target.criterion < n_criteria ? rc_campaign_criterion(campaign, fresh.target.criterion)
                                                          : rc_campaign_all_together(campaign);
    fresh.confidence = fresh.criterion->confidence;
    fresh.is_need_asked = request->need > 0.0;
    fresh.need = request->need > 0.0 ? request->need : fresh.criterion->odds;
    status = begin(&fresh, &work, request->results, err);
    if (status == RC_OK) {
        status = take_flights(&fresh, &work, err);
    }
    if (status == RC_OK) {
        status = finish(&fresh, &work, request, err);
    }
    end(&work);
    if (status == RC_OK) {
        *ranking = fresh;
    } else {
        rc_ranking_free(&fresh);
    }
    return status;
}

void rc_ranking_free(struct rc_ranking *ranking)
{
    rc_ranking_paired_free(&ranking->paired);
    free(ranking->row);
    ranking->row = NULL;
}
