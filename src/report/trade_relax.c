/* The least demanding value that still meets the odds: values between the ends are tried by halving, each on as few flights as a
 * verdict takes. Odds are taken to fall from the demanding end to the relaxed one. */
#include "trade.h"

#include <math.h>
#include <stdlib.h>

#include "campaign/campaign.h"

/* RC_TRADE_VALUES are tried at most, each with looks at doubling numbers of flights: the risk is shared by all of them. */
enum { HALVINGS = 7, LOOKS = 5 };

/* The verdict of one value. */
struct trial {
    double value;
    enum rc_verdict verdict;
    int64_t n_met, n_flights;
};

static rc_status make(const struct rc_trade_search *search, double value, rc_campaign **own, struct rc_error *err)
{
    const struct rc_change change = {search->path, value};
    struct rc_issues *issues = calloc(1, sizeof *issues);
    if (issues == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a value");
    }
    rc_status status = rc_campaign_vary(own, search->request->campaign[0], &change, 1, issues);
    if (status != RC_OK) {
        status = rc_error_fill(err, status, issues->n_kept > 0 ? issues->item[0].where : "", "%s",
                               issues->n_kept > 0 ? issues->item[0].what : rc_status_text(status));
    }
    free(issues);
    return status;
}

static rc_status try_value(struct rc_trade_search *search, struct trial *trial, struct rc_error *err)
{
    const struct rc_trade_request *request = search->request;
    const int64_t n_asked = request->options->n_flights;
    const int64_t n_most = n_asked > 0 ? n_asked : rc_campaign_flights(request->campaign[0]);
    const struct rc_criterion criterion = {.odds = request->need,
                                           .confidence = 1.0 - (1.0 - search->confidence) / RC_TRADE_VALUES};
    struct rc_run_options options = *request->options;
    struct rc_trade_request own_request = *request;
    rc_campaign *own = NULL;
    char name[40];
    rc_status status = make(search, trial->value, &own, err);
    snprintf(name, sizeof name, "%.10g", trial->value);
    own_request.options = &options;
    int is_new = 1;
    for (int tried = 0; tried < search->n_values; tried++) {
        is_new = is_new && search->value[tried] != trial->value;
    }
    options.resume = options.resume || !is_new; /* its store is this search's own */
    trial->verdict = RC_VERDICT_NOT_YET_KNOWN;
    for (int look = 0; status == RC_OK && look < LOOKS && trial->verdict == RC_VERDICT_NOT_YET_KNOWN; look++) {
        trial->n_flights = rc_looks_flights(n_most, LOOKS, look);
        status = rc_trade_fly(&own_request, own, name, trial->n_flights, NULL, &trial->n_met, err);
        options.resume = 1; /* the next look goes on with the same store */
        trial->verdict = rc_looks_verdict(trial->n_met, trial->n_flights, &criterion, LOOKS);
    }
    rc_campaign_free(own);
    if (is_new && search->n_values < RC_TRADE_VALUES) {
        search->value[search->n_values++] = trial->value;
        search->flights += trial->n_flights;
    }
    if (status == RC_OK && trial->verdict == RC_VERDICT_GO) {
        const struct rc_criterion one_look = rc_looks_criterion(&criterion, LOOKS);
        search->met_at = trial->value;
        search->odds = (double)trial->n_met / (double)trial->n_flights;
        search->low = rc_odds_from_count(trial->n_met, trial->n_flights, &one_look).bound_low;
    } else if (status == RC_OK && trial->verdict == RC_VERDICT_NO_GO) {
        search->missed_at = trial->value;
    }
    return status;
}

/* Halve between a value that has the verdict and one that has not, so that the one that has moves towards the other. */
static rc_status close_in(struct rc_trade_search *search, double has, double has_not, enum rc_verdict wanted,
                          struct rc_error *err)
{
    rc_status status = RC_OK;
    for (int halving = 0; status == RC_OK && halving < HALVINGS; halving++) {
        struct trial trial = {.value = 0.5 * (has + has_not)};
        status = try_value(search, &trial, err);
        if (status != RC_OK) {
            break;
        }
        has = trial.verdict == wanted ? trial.value : has;
        has_not = trial.verdict == wanted ? has_not : trial.value;
        if (wanted == RC_VERDICT_GO && trial.verdict == RC_VERDICT_NOT_YET_KNOWN) {
            break; /* so near that these flights cannot tell: the other side is looked for from here */
        }
    }
    return status;
}

rc_status rc_trade_relax(struct rc_trade_search *search, const struct rc_trade_request *request, struct rc_error *err)
{
    double ends[2] = {0.0, 0.0};
    *search = (struct rc_trade_search){.request = request, .met_at = NAN, .missed_at = NAN, .odds = NAN, .low = NAN};
    search->criterion = request->of != NULL ? request->of : rc_campaign_all_together(request->campaign[0])->name;
    search->confidence = rc_campaign_all_together(request->campaign[0])->confidence;
    rc_status status = rc_trade_range(search->path, ends, NULL, request->relax, err);
    search->from = ends[0];
    search->to = ends[1];
    struct trial demanding = {.value = ends[0]};
    struct trial relaxed = {.value = ends[1]};
    if (status == RC_OK) {
        status = try_value(search, &demanding, err);
    }
    if (status != RC_OK || demanding.verdict != RC_VERDICT_GO) {
        return status;
    }
    status = try_value(search, &relaxed, err);
    if (status != RC_OK || relaxed.verdict == RC_VERDICT_GO) {
        return status;
    }
    status = close_in(search, ends[0], ends[1], RC_VERDICT_GO, err);
    if (status == RC_OK && isfinite(search->missed_at) && search->n_values + HALVINGS <= RC_TRADE_VALUES) {
        status = close_in(search, search->missed_at, search->met_at, RC_VERDICT_NO_GO, err);
    }
    return status;
}
