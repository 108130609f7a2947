/* The least demanding value that still meets the odds: values between the ends are tried by halving, each on as few flights as a
 * verdict takes. Odds are taken to fall from the demanding end to the relaxed one. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#include "batch.h"

/* RC_RELAX_VALUES are tried at most, each with looks at doubling numbers of flights: the risk is shared by all of them. */
enum { HALVINGS = 7, LOOKS = 5 };

/* The verdict of one value. */
struct trial {
    double value;
    enum rc_verdict verdict;
    int64_t n_met, n_flights;
};

static bool is_tried(const struct rc_relax *relax, double value)
{
    bool found = false;
    for (int tried = 0; tried < relax->n_values; tried++)
        found = found || relax->value[tried] == value;
    return found;
}

/* What a trial tells of the limit. */
static void take_verdict(struct rc_relax *relax, const struct trial *trial, const struct rc_criterion *criterion)
{
    if (trial->verdict == RC_VERDICT_GO) {
        const struct rc_criterion one_look = rc_looks_criterion(criterion, LOOKS);
        relax->met_at = trial->value;
        relax->odds = (double)trial->n_met / (double)trial->n_flights;
        relax->low = rc_odds_from_count(trial->n_met, trial->n_flights, &one_look).bound_low;
    } else if (trial->verdict == RC_VERDICT_NO_GO) {
        relax->missed_at = trial->value;
    }
}

static rc_status try_value(struct rc_relax *relax, struct trial *trial, struct rc_error *err)
{
    const struct rc_criterion criterion = {.odds = relax->need, .confidence = 1.0 - (1.0 - relax->confidence) / RC_RELAX_VALUES};
    const struct rc_change change = {relax->path, trial->value};
    const bool is_new = !is_tried(relax, trial->value);
    struct rc_run_options options = *relax->run->options;
    struct rc_design_run run = *relax->run;
    rc_campaign *own = NULL;
    char name[40];
    rc_status status = rc_designs_vary(&own, relax->base, &change, 1, err);
    (void)snprintf(name, sizeof name, "%.10g", trial->value);
    run.options = &options;
    options.resume = options.resume || !is_new; /* its store is this search's own */
    trial->verdict = RC_VERDICT_NOT_YET_KNOWN;
    for (int look = 0; status == RC_OK && look < LOOKS && trial->verdict == RC_VERDICT_NOT_YET_KNOWN; look++) {
        trial->n_flights = rc_looks_flights(relax->n_most, LOOKS, look);
        status = rc_designs_fly(&run, own, name, trial->n_flights, NULL, &trial->n_met, err);
        options.resume = 1; /* the next look goes on with the same store */
        if (status == RC_OK)
            trial->verdict = rc_looks_verdict(trial->n_met, trial->n_flights, &criterion, LOOKS);
    }
    rc_campaign_free(own);
    if (is_new && relax->n_values < RC_RELAX_VALUES) {
        relax->value[relax->n_values++] = trial->value;
        relax->flights += trial->n_flights;
    }
    if (status == RC_OK)
        take_verdict(relax, trial, &criterion);
    return status;
}

/* Halve between a value that has the verdict and one that has not, so that the one that has moves towards the other. */
static rc_status close_in(struct rc_relax *relax, double has, double has_not, enum rc_verdict wanted, struct rc_error *err)
{
    rc_status status = RC_OK;
    for (int halving = 0; status == RC_OK && halving < HALVINGS; halving++) {
        struct trial trial = {.value = 0.5 * (has + has_not)};
        status = try_value(relax, &trial, err);
        if (status != RC_OK)
            break;
        has = trial.verdict == wanted ? trial.value : has;
        has_not = trial.verdict == wanted ? has_not : trial.value;
        if (wanted == RC_VERDICT_GO && trial.verdict == RC_VERDICT_NOT_YET_KNOWN)
            break; /* so near that these flights cannot tell: the other side is looked for from here */
    }
    return status;
}

rc_status rc_relax_search(struct rc_relax *relax, struct rc_error *err)
{
    relax->met_at = relax->missed_at = relax->odds = relax->low = NAN;
    relax->n_values = 0;
    relax->flights = 0;
    struct trial demanding = {.value = relax->from};
    struct trial relaxed = {.value = relax->to};
    rc_status status = try_value(relax, &demanding, err);
    if (status != RC_OK || demanding.verdict != RC_VERDICT_GO)
        return status;
    status = try_value(relax, &relaxed, err);
    if (status != RC_OK || relaxed.verdict == RC_VERDICT_GO)
        return status;
    status = close_in(relax, relax->from, relax->to, RC_VERDICT_GO, err);
    if (status == RC_OK && isfinite(relax->missed_at) && relax->n_values + HALVINGS <= RC_RELAX_VALUES)
        status = close_in(relax, relax->missed_at, relax->met_at, RC_VERDICT_NO_GO, err);
    return status;
}
