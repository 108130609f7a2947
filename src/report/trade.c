/* Compares settings of a design, or two designs, flown on the same flights: what is varied, whose odds are best, with which band.
 * Flying is batch's, tests and bands are analysis'; the search is in trade_relax.c, words in trade_text.c. */
#include "trade.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/suggest.h"

static rc_status refuse_range(const char *text, int has_count, struct rc_error *err)
{
    return rc_error_fill(err, RC_USAGE, has_count ? "--vary" : "--relax", "got '%.120s', wanted %s", text,
                         has_count ? "PATH=FROM:TO:N, such as drive.floor_dps.mean=20:60:9, FROM other than TO and N "
                                     "from 2 to 64"
                                   : "PATH=FROM:TO, the demanding end first, such as drive.floor_dps.mean=10:60, FROM "
                                     "other than TO");
}

rc_status rc_trade_range(struct rc_sweep_range *range, int has_count, const char *text, struct rc_error *err)
{
    const char *equals = strchr(text, '=');
    const size_t n_path = equals != NULL ? (size_t)(equals - text) : 0;
    char *end = NULL;
    if (n_path < 1 || n_path >= sizeof range->path || strlen(text) > 300) {
        return refuse_range(text, has_count, err);
    }
    range->from = strtod(equals + 1, &end);
    int is_good = end != equals + 1 && *end == ':';
    const char *second = end + 1;
    range->to = is_good ? strtod(second, &end) : 0.0;
    is_good = is_good && end != second && isfinite(range->from) && isfinite(range->to) && range->from != range->to;
    if (is_good && has_count) {
        const char *third = end + 1;
        const long n = *end == ':' && third[0] >= '0' && third[0] <= '9' ? strtol(third, &end, 10) : 0;
        is_good = n >= 2 && n <= RC_SWEEP_VALUES;
        range->count = is_good ? (int)n : 0;
    }
    if (!is_good || *end != '\0') {
        return refuse_range(text, has_count, err);
    }
    memcpy(range->path, text, n_path);
    range->path[n_path] = '\0';
    return RC_OK;
}

rc_status rc_trade_criterion(struct rc_trade_criterion *found, const rc_campaign *campaign, const char *name,
                             struct rc_error *err)
{
    const int n_criteria = rc_campaign_criteria_count(campaign);
    const struct rc_criterion *all = rc_campaign_all_together(campaign);
    struct rc_suggest search = {.wanted = name};
    char hint[128];
    if (name == NULL || strcmp(name, all->name) == 0) {
        *found = (struct rc_trade_criterion){n_criteria, all->name, all->confidence};
        return RC_OK;
    }
    for (int row = 0; row < n_criteria; row++) {
        const struct rc_criterion *criterion = rc_campaign_criterion(campaign, row);
        if (strcmp(criterion->name, name) == 0) {
            *found = (struct rc_trade_criterion){row, criterion->name, criterion->confidence};
            return RC_OK;
        }
        rc_suggest_offer(&search, criterion->name, strlen(criterion->name));
    }
    rc_suggest_offer(&search, all->name, strlen(all->name));
    rc_suggest_text(&search, hint, sizeof hint);
    return rc_error_fill(err, RC_BAD_INPUT, "", "got '%.80s', wanted a criterion of the campaign, as check lists them%s", name,
                         hint);
}

/* The sweep asked for, else the campaign's own. */
static rc_status settle_sweep(struct rc_trade *trade, struct rc_error *err)
{
    const struct rc_trade_request *request = trade->request;
    struct rc_sweep *sweep = &trade->sweep;
    rc_status status = RC_OK;
    if (request->n_campaigns > 1) {
        return RC_OK;
    }
    sweep->n_varied = request->n_vary > 0 ? request->n_vary : rc_campaign_sweep_count(request->campaign[0]);
    for (int varied = 0; status == RC_OK && varied < sweep->n_varied; varied++) {
        struct rc_sweep_range *range = &sweep->range[varied];
        if (request->n_vary > 0) {
            status = rc_trade_range(range, 1, request->vary[varied], err);
        } else {
            *range = rc_campaign_sweep(request->campaign[0], varied);
        }
    }
    if (status == RC_OK && sweep->n_varied == 0) {
        return rc_error_fill(err, RC_BAD_INPUT, "/sweep",
                             "the campaign gives no sweep; add \"sweep\": [{\"path\": ..., \"from\": ..., "
                             "\"to\": ..., \"values\": ...}], or give --vary, --relax or a second campaign");
    }
    if (status == RC_OK && rc_sweep_count(sweep) > RC_SWEEP_SETTINGS) {
        return rc_error_fill(err, RC_USAGE, "--vary", "%d settings, at most %d are flown; make one range coarser",
                             rc_sweep_count(sweep), RC_SWEEP_SETTINGS);
    }
    return status;
}

static rc_status settle(struct rc_trade *trade, struct rc_error *err)
{
    const struct rc_trade_request *request = trade->request;
    rc_status status = settle_sweep(trade, err);
    if (status == RC_OK) {
        status = rc_trade_criterion(&trade->criterion, request->campaign[0], request->of, err);
    }
    if (status != RC_OK) {
        return status;
    }
    trade->n = trade->sweep.n_varied > 0 ? rc_sweep_count(&trade->sweep) : request->n_campaigns;
    trade->n_flights = request->options->n_flights > 0 ? request->options->n_flights : rc_campaign_flights(request->campaign[0]);
    trade->setting = calloc((size_t)trade->n, sizeof *trade->setting);
    trade->met =
        (uint64_t)trade->n_flights < SIZE_MAX / RC_SWEEP_SETTINGS ? malloc((size_t)trade->n * (size_t)trade->n_flights) : NULL;
    if (trade->setting == NULL || trade->met == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for %d settings of %lld flights; give fewer of either", trade->n,
                             (long long)trade->n_flights);
    }
    return RC_OK;
}

/* Two campaigns, each with a criterion of that name. */
static rc_status fly_two(struct rc_trade *trade, int64_t *n_met, struct rc_error *err)
{
    const struct rc_trade_request *request = trade->request;
    struct rc_design_run run = {request->folder, trade->criterion.index, request->options};
    rc_status status = RC_OK;
    for (int index = 0; status == RC_OK && index < trade->n; index++) {
        struct rc_trade_criterion own;
        const char name[2] = {(char)('a' + index), '\0'};
        status = rc_trade_criterion(&own, request->campaign[index], request->of, err);
        if (status == RC_OK) {
            run.criterion = own.index;
            status = rc_designs_fly(&run, request->campaign[index], name, trade->n_flights, trade->met + index * trade->n_flights,
                                    &n_met[index], err);
        }
    }
    return status;
}

static rc_status fly(struct rc_trade *trade, int64_t *n_met, struct rc_error *err)
{
    const struct rc_trade_request *request = trade->request;
    const struct rc_design_run run = {request->folder, trade->criterion.index, request->options};
    const rc_status status = trade->sweep.n_varied > 0 ? rc_sweep_fly(trade->met, n_met, &trade->sweep, &run,
                                                                      request->campaign[0], trade->n_flights, err)
                                                       : fly_two(trade, n_met, err);
    for (int index = 0; status == RC_OK && index < trade->n; index++) {
        struct rc_trade_setting *setting = &trade->setting[index];
        setting->n_met = n_met[index];
        setting->name = trade->sweep.n_varied > 0 ? NULL : request->name[index];
        if (trade->sweep.n_varied > 0) {
            rc_sweep_values(setting->value, &trade->sweep, index);
        }
        trade->best = setting->n_met > trade->setting[trade->best].n_met ? index : trade->best;
    }
    return status;
}

static rc_status compare(struct rc_trade *trade, struct rc_range *band, int *may_be_best, struct rc_error *err)
{
    const struct rc_designs designs = {trade->n, trade->n_flights, trade->met};
    const uint64_t seed = rc_campaign_seed(trade->request->campaign[0]);
    const rc_status status = rc_pairing_band(band, &designs, trade->criterion.confidence, seed, err);
    if (status != RC_OK) {
        return status;
    }
    rc_pairing_best(may_be_best, &designs, trade->criterion.confidence);
    for (int index = 0; index < trade->n; index++) {
        trade->setting[index].band = band[index];
        trade->setting[index].may_be_best = may_be_best[index];
    }
    return RC_OK;
}

rc_status rc_trade_gather(struct rc_trade *trade, const struct rc_trade_request *request, struct rc_error *err)
{
    *trade = (struct rc_trade){.request = request};
    rc_status status = settle(trade, err);
    if (status != RC_OK) {
        return status;
    }
    int64_t *n_met = calloc((size_t)trade->n, sizeof *n_met);
    struct rc_range *band = calloc((size_t)trade->n, sizeof *band);
    int *may_be_best = calloc((size_t)trade->n, sizeof *may_be_best);
    status = n_met != NULL && band != NULL && may_be_best != NULL
                 ? fly(trade, n_met, err)
                 : rc_error_fill(err, RC_NO_MEMORY, "", "no memory for %d settings; give fewer", trade->n);
    if (status == RC_OK) {
        status = compare(trade, band, may_be_best, err);
    }
    free(n_met);
    free(band);
    free(may_be_best);
    return status;
}

void rc_trade_free(struct rc_trade *trade)
{
    free(trade->setting);
    free(trade->met);
    trade->setting = NULL;
    trade->met = NULL;
}
