/* What the page takes from a store beyond its answer: who misses what, how the odds settled, shares of usable footage, landing
 * points, which flights are best and worst. Columns are read in pieces; the answer itself holds one whole at a time. */
#include "page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "campaign/campaign.h"

/* Columns of one piece. */
enum { COLUMN_END = 0, COLUMN_USABLE, COLUMN_EAST, COLUMN_NORTH, COLUMN_CRITERIA, N_COLUMNS = COLUMN_CRITERIA + RC_MAX_CRITERIA };

/* One pass over a store. */
struct pass {
    const rc_results *results;
    struct rc_page_facts *facts;
    const rc_campaign *campaign;
    int n_criteria;
    double *column[N_COLUMNS];        /* (RC_PAGE_CHUNK) each; NULL where the store has none */
    struct rc_replicates replicates;  /* of all together, so far                             */
    int64_t n_usable[RC_PAGE_SHARES]; /* flights with at least that share                    */
    int64_t n_flown;                  /* flights with a usable share                         */
    int64_t every_landing;
    double badness[RC_PAGE_HISTORIES]; /* of best and worst so far, the worst's with its sign changed */
};

/* The store's name of a column of the pass. */
static void column_name(const struct pass *pass, int column, char *name, size_t size)
{
    static const char *const fixed[] = {"end", "measures/usable_fraction", "measures/landing_east_m", "measures/landing_north_m"};
    if (column < COLUMN_CRITERIA) {
        (void)snprintf(name, size, "%s", fixed[column]);
    } else {
        const struct rc_criterion *criterion = rc_campaign_criterion(pass->campaign, column - COLUMN_CRITERIA);
        (void)snprintf(name, size, "measures/%s", rc_measures_row(criterion->measure)->name);
    }
}

static rc_status make_columns(struct pass *pass, struct rc_error *err)
{
    char name[96];
    for (int column = 0; column < COLUMN_CRITERIA + pass->n_criteria; column++) {
        column_name(pass, column, name, sizeof name);
        const int is_landing = column == COLUMN_EAST || column == COLUMN_NORTH;
        if (!rc_results_has(pass->results, name) || (is_landing && pass->facts->answer.landing.n == 0)) {
            continue;
        }
        pass->column[column] = malloc(RC_PAGE_CHUNK * sizeof *pass->column[column]);
        if (pass->column[column] == NULL) {
            return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for the columns of a page");
        }
    }
    return RC_OK;
}

static rc_status read_piece(struct pass *pass, int64_t first, int64_t n, struct rc_error *err)
{
    char name[96];
    for (int column = 0; column < COLUMN_CRITERIA + pass->n_criteria; column++) {
        if (pass->column[column] != NULL) {
            column_name(pass, column, name, sizeof name);
            const rc_status status = rc_results_column(pass->results, name, first, n, pass->column[column], err);
            if (status != RC_OK) {
                return status;
            }
        }
    }
    return RC_OK;
}

/* Does a flight count for odds? Under the paired design only those that are independent do. */
static int counts(const struct pass *pass, int64_t flight)
{
    return rc_plan_counts(rc_campaign_plan(pass->campaign), rc_campaign_sampling(pass->campaign), (uint64_t)flight);
}

/* Who misses what in one flight that counts. ends 1 if it meets all */
static int judge_flight(struct pass *pass, int64_t flight, int64_t at)
{
    if (!counts(pass, flight)) {
        return 0;
    }
    const double end = pass->column[COLUMN_END][at];
    int meets_all = end == RC_END_APOGEE, misses[RC_MAX_CRITERIA] = {0};
    for (int row = 0; row < pass->n_criteria; row++) {
        const double *column = pass->column[COLUMN_CRITERIA + row];
        misses[row] = !rc_odds_is_met(rc_campaign_criterion(pass->campaign, row), column != NULL ? column[at] : NAN, end);
        meets_all = meets_all && !misses[row];
    }
    pass->facts->n_failed += !meets_all;
    for (int row = 0; row < pass->n_criteria; row++) {
        pass->facts->n_missed[row] += misses[row];
    }
    return meets_all;
}

/* Flights after which the odds are taken again: about evenly spread on a logarithmic scale, the last is all of them. */
static int64_t settled_at(int index, int64_t n_flights)
{
    const double first = n_flights < 20 ? 1.0 : 10.0;
    const double share = (double)index / (RC_PAGE_SETTLED - 1);
    return index == RC_PAGE_SETTLED - 1 ? n_flights : (int64_t)floor(first * pow((double)n_flights / first, share));
}

static void settle(struct pass *pass, int64_t flight, int meets_all)
{
    struct rc_page_facts *facts = pass->facts;
    const int n_replicates = facts->answer.n_replicates;
    const struct rc_criterion *all = rc_campaign_all_together(pass->campaign);
    const int replicate = (int)(flight % pass->replicates.n);
    int is_due = 0;

    if (counts(pass, flight)) {
        pass->replicates.flights[replicate]++;
        pass->replicates.passed[replicate] += meets_all;
    }
    for (; facts->n_settled < RC_PAGE_SETTLED && settled_at(facts->n_settled, facts->answer.flights) <= flight + 1; is_due = 1) {
        facts->n_settled++;
    }
    if (!is_due || (n_replicates > 0 && flight + 1 < 2 * (int64_t)n_replicates)) {
        return;
    }
    facts->settled[facts->n_settled - 1].odds = rc_stop_odds(&pass->replicates, &facts->answer.stop_rule, all);
}

static void count_usable(struct pass *pass, int64_t at)
{
    const double usable = pass->column[COLUMN_USABLE] != NULL ? pass->column[COLUMN_USABLE][at] : NAN;
    if (!isfinite(usable) || pass->column[COLUMN_END][at] != RC_END_APOGEE) {
        return;
    }
    pass->n_flown++;
    for (int share = 0; share < RC_PAGE_SHARES; share++) {
        pass->n_usable[share] += usable >= (double)share / (RC_PAGE_SHARES - 1);
    }
}

static void keep_landing(struct pass *pass, int64_t flight, int64_t at)
{
    struct rc_page_facts *facts = pass->facts;
    if (pass->column[COLUMN_EAST] == NULL || pass->column[COLUMN_NORTH] == NULL || flight % pass->every_landing != 0 ||
        facts->n_landings == RC_PAGE_LANDINGS || !isfinite(pass->column[COLUMN_EAST][at]) ||
        !isfinite(pass->column[COLUMN_NORTH][at])) {
        return;
    }
    facts->landing_east[facts->n_landings] = pass->column[COLUMN_EAST][at];
    facts->landing_north[facts->n_landings++] = pass->column[COLUMN_NORTH][at];
}

/* Is this flight nearer than any before to the good end or the bad end of the first criterion's measure? */
static void choose(struct pass *pass, int64_t flight, int64_t at)
{
    struct rc_page_facts *facts = pass->facts;
    const double *column = pass->n_criteria > 0 ? pass->column[COLUMN_CRITERIA] : NULL;
    if (column == NULL || !isfinite(column[at]) || pass->column[COLUMN_END][at] != RC_END_APOGEE) {
        return;
    }
    const struct rc_criterion *criterion = rc_campaign_criterion(pass->campaign, 0);
    const int has_low = isfinite(criterion->at_least), has_high = isfinite(criterion->at_most);
    /* What is good: much with a lower limit, little with an upper one, near the middle with both. */
    const double badness = has_low && has_high ? fabs(column[at] - 0.5 * (criterion->at_least + criterion->at_most))
                           : has_low           ? -column[at]
                                               : column[at];
    for (int which = 1; which < RC_PAGE_HISTORIES; which++) { /* the typical one, in front, is chosen by all measures */
        const double signed_badness = which == 1 ? badness : -badness;
        if (signed_badness < pass->badness[which]) {
            pass->badness[which] = signed_badness;
            facts->history[which].flight = flight;
            facts->history[which].value = column[at];
        }
    }
}

static void sum_up(struct pass *pass)
{
    struct rc_page_facts *facts = pass->facts;
    facts->has_usable = pass->n_flown > 0;
    for (int share = 0; share < RC_PAGE_SHARES && facts->has_usable; share++) {
        facts->usable_beyond[share] = (double)pass->n_usable[share] / (double)pass->n_flown;
    }
    facts->limiting = -1;
    for (int row = 0; row < pass->n_criteria && facts->n_failed > 0; row++) {
        if (facts->limiting < 0 || facts->n_missed[row] > facts->n_missed[facts->limiting]) {
            facts->limiting = row;
        }
    }
}

static rc_status read_all(struct pass *pass, struct rc_error *err)
{
    const int64_t n_flights = pass->facts->answer.flights;
    for (int64_t first = 0; first < n_flights; first += RC_PAGE_CHUNK) {
        const int64_t n = n_flights - first < RC_PAGE_CHUNK ? n_flights - first : RC_PAGE_CHUNK;
        const rc_status status = read_piece(pass, first, n, err);
        if (status != RC_OK) {
            return status;
        }
        for (int64_t at = 0; at < n; at++) {
            settle(pass, first + at, judge_flight(pass, first + at, at));
            count_usable(pass, at);
            keep_landing(pass, first + at, at);
            choose(pass, first + at, at);
        }
    }
    sum_up(pass);
    return RC_OK;
}

rc_status rc_page_facts_gather(struct rc_page_facts *facts, const struct rc_report_store *store, struct rc_error *err)
{
    rc_status status = rc_answer_gather(&facts->answer, store->results, store->campaign, err);
    if (status != RC_OK) {
        return status;
    }
    struct pass pass = {.results = store->results, .facts = facts, .campaign = store->campaign};
    const int n_replicates = facts->answer.n_replicates;
    pass.n_criteria = rc_campaign_criteria_count(store->campaign);
    pass.replicates.n = n_replicates > 0 ? n_replicates : 1;
    pass.every_landing = facts->answer.flights / RC_PAGE_LANDINGS + 1;
    facts->chosen_by = pass.n_criteria > 0 ? rc_campaign_criterion(store->campaign, 0)->measure : -1;
    for (int which = 0; which < RC_PAGE_HISTORIES; which++) {
        facts->history[which].flight = -1;
        pass.badness[which] = INFINITY;
    }
    status = make_columns(&pass, err);
    if (status == RC_OK) {
        status = read_all(&pass, err);
    }
    for (int column = 0; column < N_COLUMNS; column++) {
        free(pass.column[column]);
    }
    if (status == RC_OK) {
        status = rc_page_typical_choose(facts, store, err);
    }
    return status == RC_OK ? rc_page_history_gather(facts, store, err) : status;
}

void rc_page_facts_free(struct rc_page_facts *facts)
{
    for (int which = 0; which < RC_PAGE_HISTORIES; which++) {
        free(facts->history[which].rows);
        facts->history[which].rows = NULL;
    }
}
