/* Flies settings of a design, each into a store of its own, on the same seed and flight numbers, so that flight f of every
 * setting has the same draws; and counts. Tests and bands are analysis'; the search is in trade_relax.c, words in
  * trade_text.c. */
#include "trade.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "campaign/campaign.h"
#include "ranking_chunk.h"
#include "rollcast/rollcast.h"

static rc_status refuse_range(const char *text, int wants_count, struct rc_error *err)
{
    return rc_error_fill(err, RC_BAD_INPUT, "", "got '%.120s', wanted %s", text,
                         wants_count ? "PATH=FROM:TO:N, such as drive.floor_dps.mean=20:60:9, FROM other than TO and N "
                                       "from 2 to 64"
                                     : "PATH=FROM:TO, the demanding end first, such as drive.floor_dps.mean=10:60, FROM "
                                       "other than TO");
}

rc_status rc_trade_range(char path[RC_MAX_PATH_TEXT], double ends[2], int *count, const char *text, struct rc_error *err)
{
    const char *equals = strchr(text, '=');
    const size_t n_path = equals != NULL ? (size_t)(equals - text) : 0;
    char *end = NULL;
    if (n_path < 1 || n_path >= RC_MAX_PATH_TEXT || strlen(text) > 300) {
        return refuse_range(text, count != NULL, err);
    }
    ends[0] = strtod(equals + 1, &end);
    int is_good = end != equals + 1 && *end == ':';
    const char *second = end + 1;
    ends[1] = is_good ? strtod(second, &end) : 0.0;
    is_good = is_good && end != second && isfinite(ends[0]) && isfinite(ends[1]) && ends[0] != ends[1];
    if (is_good && count != NULL) {
        const char *third = end + 1;
        const long n = *end == ':' && third[0] >= '0' && third[0] <= '9' ? strtol(third, &end, 10) : 0;
        is_good = n >= 2 && n <= 64;
        *count = is_good ? (int)n : 0;
    }
    if (!is_good || *end != '\0') {
        return refuse_range(text, count != NULL, err);
    }
    memcpy(path, text, n_path);
    path[n_path] = '\0';
    return RC_OK;
}

/* Is there a whole store of these flights already? ends RC_OTHER_STORE where it is of another campaign or seed */
static rc_status look_at_store(int64_t *n_there, const rc_campaign *campaign, const char *path, uint64_t seed,
                               struct rc_error *err)
{
    rc_results *results = NULL;
    rc_status status = rc_results_open(&results, path, err);
    if (status != RC_OK) {
        return status;
    }
    *n_there = rc_results_flights(results);
    if (rc_results_fingerprint(results) != rc_campaign_fingerprint(campaign) || rc_results_seed(results) != seed) {
        status = rc_error_fill(err, RC_OTHER_STORE, path, "is of another setting or seed; name another folder");
    }
    rc_results_close(results);
    return status;
}

static rc_status count_store(const rc_campaign *campaign, const char *path, const char *of, int64_t n_flights, unsigned char *met,
                             int64_t *n_met, struct rc_error *err)
{
    rc_results *results = NULL;
    struct rc_ranking_chunk chunk = {.results = NULL};
    struct rc_ranking_target target;
    *n_met = 0;
    rc_status status = rc_results_open(&results, path, err);
    if (status == RC_OK) {
        status = rc_ranking_find(&target, results, campaign, of, err);
    }
    if (status == RC_OK && target.measure >= 0) {
        status = rc_error_fill(err, RC_BAD_INPUT, "", "'%.80s' is a measure, wanted a criterion of the campaign", of);
    }
    if (status == RC_OK) {
        status = rc_ranking_chunk_begin(&chunk, results, campaign, &target, err);
    }
    for (int64_t first = 0; status == RC_OK && first < n_flights; first += chunk.n) {
        const int64_t left = n_flights - first;
        status = rc_ranking_chunk_read(&chunk, first, left < RC_RANK_SAMPLE ? (int)left : RC_RANK_SAMPLE, 0, err);
        for (int row = 0; status == RC_OK && row < chunk.n; row++) {
            *n_met += chunk.met[row];
            if (met != NULL) {
                met[first + row] = chunk.met[row];
            }
        }
    }
    rc_ranking_chunk_free(&chunk);
    rc_results_close(results);
    return status;
}

rc_status rc_trade_fly(const struct rc_trade_request *request, const rc_campaign *campaign, const char *name, int64_t n_flights,
                       unsigned char *met, int64_t *n_met, struct rc_error *err)
{
    struct rc_run_options options = *request->options;
    const struct rc_stop_rule rule = rc_campaign_stop_rule(campaign);
    const uint64_t seed = options.has_seed ? options.seed : rc_campaign_seed(campaign);
    char path[512];
    int64_t n_there = 0;
    rc_status status = RC_OK;
    if (rc_campaign_plan(campaign) != rc_plan_find("plain") || rc_stop_is_set(&rule) ||
        rc_campaign_rare_rule(campaign).method != RC_RARE_NONE) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "a comparison counts pairs of independent flights: it takes the plan "
                             "plain and no stop rule; change run.plan or take out run.stop and run.rare");
    }
    if (snprintf(path, sizeof path, "%s/%s.h5", request->folder, name) >= (int)sizeof path) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "the name of the folder is too long");
    }
    if (options.resume && rc_file_exists(path)) {
        status = look_at_store(&n_there, campaign, path, seed, err);
    } else {
        options.resume = 0;
    }
    options.n_flights = n_flights;
    options.has_seed = 1;
    options.seed = seed;
    if (status == RC_OK && n_there < n_flights) {
        status = rc_run_fly(campaign, path, &options, NULL, err);
    }
    return status == RC_OK ? count_store(campaign, path, request->of, n_flights, met, n_met, err) : status;
}

/* The first issue as an error. */
static rc_status first_issue(const struct rc_issues *issues, rc_status status, struct rc_error *err)
{
    for (int index = 0; index < issues->n_kept; index++) {
        if (issues->item[index].status != RC_OK) {
            return rc_error_fill(err, status, issues->item[index].where, "%s", issues->item[index].what);
        }
    }
    return rc_error_fill(err, status, "", "%s", rc_status_text(status));
}

/* Values of setting `index`: the first path changes slowest. */
static void settle_values(const struct rc_trade *trade, int index, double *value)
{
    const int step[RC_TRADE_VARIED] = {trade->n_varied > 1 ? index / trade->count[1] : index,
                                       trade->n_varied > 1 ? index % trade->count[1] : 0};
    for (int varied = 0; varied < trade->n_varied; varied++) {
        const double part = (double)step[varied] / (trade->count[varied] - 1);
        value[varied] = step[varied] == trade->count[varied] - 1
                            ? trade->to[varied]
                            : trade->from[varied] + part * (trade->to[varied] - trade->from[varied]);
    }
}

/* The campaign of a setting. out own set where it is to be freed */
static rc_status make_setting(const struct rc_trade *trade, const struct rc_trade_setting *setting, rc_campaign **own,
                              struct rc_error *err)
{
    struct rc_change change[RC_TRADE_VARIED];
    struct rc_issues *issues = calloc(1, sizeof *issues);
    if (issues == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a setting");
    }
    for (int varied = 0; varied < trade->n_varied; varied++) {
        change[varied] = (struct rc_change){trade->path[varied], setting->value[varied]};
    }
    rc_status status = rc_campaign_vary(own, trade->request->campaign[0], change, trade->n_varied, issues);
    if (status != RC_OK) {
        status = first_issue(issues, status, err);
    }
    free(issues);
    return status;
}

static rc_status settle(struct rc_trade *trade, struct rc_error *err)
{
    const struct rc_trade_request *request = trade->request;
    rc_status status = RC_OK;
    trade->n = request->n_campaigns;
    trade->n_varied = request->n_campaigns == 1 ? request->n_vary : 0;
    for (int varied = 0; status == RC_OK && varied < trade->n_varied; varied++) {
        double ends[2];
        status = rc_trade_range(trade->path[varied], ends, &trade->count[varied], request->vary[varied], err);
        trade->from[varied] = ends[0];
        trade->to[varied] = ends[1];
        trade->n *= trade->count[varied];
    }
    if (status != RC_OK) {
        return status;
    }
    if (trade->n > RC_TRADE_MOST) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "%d settings, at most %d are flown; make one range coarser", trade->n,
                             RC_TRADE_MOST);
    }
    trade->n_flights = request->options->n_flights > 0 ? request->options->n_flights : rc_campaign_flights(request->campaign[0]);
    trade->setting = calloc((size_t)trade->n, sizeof *trade->setting);
    trade->met = (uint64_t)trade->n_flights < SIZE_MAX / RC_TRADE_MOST
                     ? malloc((size_t)trade->n * (size_t)trade->n_flights)
                     : NULL;
    if (trade->setting == NULL || trade->met == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for %d settings of %lld flights", trade->n,
                             (long long)trade->n_flights);
    }
    return RC_OK;
}

/* All settings are read before the first is flown, so that a mistake shows at once. */
static rc_status check_settings(const struct rc_trade *trade, struct rc_error *err)
{
    rc_status status = RC_OK;
    for (int index = 0; trade->n_varied > 0 && status == RC_OK && index < trade->n; index++) {
        rc_campaign *own = NULL;
        status = make_setting(trade, &trade->setting[index], &own, err);
        rc_campaign_free(own);
    }
    return status;
}

rc_status rc_trade_gather(struct rc_trade *trade, const struct rc_trade_request *request, struct rc_error *err)
{
    *trade = (struct rc_trade){.request = request};
    rc_status status = settle(trade, err);
    for (int index = 0; status == RC_OK && index < trade->n; index++) {
        settle_values(trade, index, trade->setting[index].value);
        trade->setting[index].name = trade->n_varied == 0 ? request->name[index] : NULL;
    }
    if (status == RC_OK) {
        status = check_settings(trade, err);
    }
    for (int index = 0; status == RC_OK && index < trade->n; index++) {
        struct rc_trade_setting *setting = &trade->setting[index];
        rc_campaign *own = NULL;
        char name[32];
        if (trade->n_varied > 0) {
            snprintf(name, sizeof name, "%03d", index + 1);
            status = make_setting(trade, setting, &own, err);
        } else {
            snprintf(name, sizeof name, "%c", 'a' + index);
        }
        if (status == RC_OK) {
            status = rc_trade_fly(request, own != NULL ? own : request->campaign[index], name, trade->n_flights,
                                  trade->met + index * trade->n_flights, &setting->n_met, err);
        }
        rc_campaign_free(own);
        trade->best = status == RC_OK && setting->n_met > trade->setting[trade->best].n_met ? index : trade->best;
    }
    if (status != RC_OK) {
        return status;
    }
    const struct rc_designs designs = {trade->n, trade->n_flights, trade->met};
    struct rc_range *band = calloc((size_t)trade->n, sizeof *band);
    int *may_be_best = calloc((size_t)trade->n, sizeof *may_be_best);
    trade->confidence = rc_campaign_all_together(request->campaign[0])->confidence;
    trade->criterion = request->of != NULL ? request->of : rc_campaign_all_together(request->campaign[0])->name;
    status = band != NULL && may_be_best != NULL
                 ? rc_pairing_band(band, &designs, trade->confidence, rc_campaign_seed(request->campaign[0]), err)
                 : rc_error_fill(err, RC_NO_MEMORY, "", "no memory for %d settings", trade->n);
    if (status == RC_OK) {
        rc_pairing_best(may_be_best, &designs, trade->confidence);
        for (int index = 0; index < trade->n; index++) {
            trade->setting[index].band = band[index];
            trade->setting[index].may_be_best = may_be_best[index];
        }
    }
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
