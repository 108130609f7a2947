/* Designs flown on the same flights, each into a store of its own: flight f of every design has the same draws, since these
 * follow from seed, flight number and name alone. What the marks say is analysis'. */
#include <stdlib.h>
#include <string.h>

#include "batch.h"
#include "campaign/campaign.h"

enum { READ_ROWS = 65536 };

/* Room for issues is too large for a stack. */
static rc_status make(rc_campaign **campaign, const rc_campaign *base, const struct rc_change *change,
                      const struct rc_reshape *reshape, int n, struct rc_error *err)
{
    struct rc_issues *issues = calloc(1, sizeof *issues);
    if (!issues)
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a changed campaign");
    rc_status status =
        change ? rc_campaign_vary(campaign, base, change, n, issues) : rc_campaign_reshape(campaign, base, reshape, n, issues);
    if (status != RC_OK)
        status = rc_issues_first_error(issues, status, err);
    free(issues);
    return status;
}

rc_status rc_designs_vary(rc_campaign **campaign, const rc_campaign *base, const struct rc_change *change, int n_changes,
                          struct rc_error *err)
{
    return make(campaign, base, change, NULL, n_changes, err);
}

rc_status rc_designs_reshape(rc_campaign **campaign, const rc_campaign *base, const struct rc_reshape *reshape, int n_reshapes,
                             struct rc_error *err)
{
    return make(campaign, base, NULL, reshape, n_reshapes, err);
}

/* How many flights has the store already? ends RC_OTHER_STORE where it is of another design or seed */
static rc_status look_at_store(int64_t *n_there, const rc_campaign *campaign, const char *path, uint64_t seed,
                               struct rc_error *err)
{
    rc_results *results = NULL;
    rc_status status = rc_results_open(&results, path, err);
    if (status != RC_OK)
        return status;
    *n_there = rc_results_flights(results);
    if (rc_results_fingerprint(results) != rc_campaign_fingerprint(campaign) || rc_results_seed(results) != seed)
        status = rc_error_fill(err, RC_OTHER_STORE, path, "is of another setting or seed; name another folder");
    rc_results_close(results);
    return status;
}

/* The columns of criteria stand in front of the last one, all together behind them. */
rc_status rc_designs_read(unsigned char *met, const rc_results *results, const rc_campaign *campaign, int criterion,
                          int64_t n_flights, struct rc_error *err)
{
    const int column = rc_results_column_count(results) - 2 - rc_campaign_criteria_count(campaign) + criterion;
    double *marks = malloc(READ_ROWS * sizeof *marks);
    rc_status status = marks ? RC_OK : rc_error_fill(err, RC_NO_MEMORY, "", "no memory for marks");
    for (int64_t first = 0; status == RC_OK && first < n_flights; first += READ_ROWS) {
        const int n = n_flights - first < READ_ROWS ? (int)(n_flights - first) : READ_ROWS;
        status = rc_results_column(results, rc_results_column_view(results, column).name, first, n, marks, err);
        for (int row = 0; status == RC_OK && row < n; row++)
            met[first + row] = marks[row] == 1.0;
    }
    free(marks);
    return status;
}

rc_status rc_designs_marks(unsigned char *met, int64_t *n_met, const rc_campaign *campaign, int criterion, const char *path,
                           int64_t n_flights, struct rc_error *err)
{
    rc_results *results = NULL;
    unsigned char *own = met ? met : malloc((size_t)n_flights);
    *n_met = 0;
    rc_status status = own ? rc_results_open(&results, path, err) : rc_error_fill(err, RC_NO_MEMORY, path, "no memory for marks");
    if (status == RC_OK)
        status = rc_designs_read(own, results, campaign, criterion, n_flights, err);
    for (int64_t flight = 0; status == RC_OK && flight < n_flights; flight++)
        *n_met += own[flight];
    rc_results_close(results);
    if (!met)
        free(own);
    return status;
}

static rc_status check_plan(const rc_campaign *campaign, struct rc_error *err)
{
    const struct rc_stop_rule rule = rc_campaign_stop_rule(campaign);
    if (rc_campaign_plan(campaign) == rc_plan_find("plain") && !rc_stop_is_set(&rule) &&
        rc_campaign_rare_rule(campaign).method == RC_RARE_NONE)
        return RC_OK;
    return rc_error_fill(err, RC_BAD_INPUT, "",
                         "a comparison counts pairs of independent flights: it takes the plan plain and "
                         "no stop rule; change run.plan or take out run.stop and run.rare");
}

rc_status rc_designs_fly(const struct rc_design_run *run, const rc_campaign *campaign, const char *name, int64_t n_flights,
                         unsigned char *met, int64_t *n_met, struct rc_error *err)
{
    struct rc_run_options options = *run->options;
    const uint64_t seed = options.has_seed ? options.seed : rc_campaign_seed(campaign);
    char path[512];
    int64_t n_there = 0;
    rc_status status = check_plan(campaign, err);
    if (status == RC_OK && snprintf(path, sizeof path, "%s/%s.h5", run->folder, name) >= (int)sizeof path)
        status = rc_error_fill(err, RC_BAD_INPUT, "",
                               "the folder's name is too long: its stores' paths have room for %d bytes; "
                               "name one with a shorter path",
                               (int)sizeof path - 1);
    if (status == RC_OK && options.resume && rc_file_exists(path))
        status = look_at_store(&n_there, campaign, path, seed, err);
    else
        options.resume = 0;
    options.n_flights = n_flights;
    options.has_seed = 1;
    options.seed = seed;
    if (status == RC_OK && n_there < n_flights)
        status = rc_run_fly(campaign, path, &options, NULL, err);
    return status == RC_OK ? rc_designs_marks(met, n_met, campaign, run->criterion, path, n_flights, err) : status;
}
