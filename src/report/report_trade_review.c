/* What looks like a slip at the ends of a trade's ranges: warnings of the campaigns there that the campaign itself has not. */
#include <stdlib.h>
#include <string.h>

#include "trade.h"

/* The warnings of the campaign with that value. out own */
static rc_status warnings_at(struct rc_issues *own, const rc_campaign *campaign, const char *path, double value)
{
    rc_campaign *made = NULL;
    const struct rc_change change = {path, value};
    const rc_status status = rc_campaign_vary(&made, campaign, &change, 1, own);
    rc_campaign_free(made);
    return status;
}

static rc_status review_range(struct rc_issues *issues, const rc_campaign *campaign, const struct rc_sweep_range *range)
{
    struct rc_issues *own = malloc(sizeof *own), *there = malloc(sizeof *there);
    const double end[2] = {range->from, range->to};
    double present = 0.0;
    rc_status status = own && there ? rc_campaign_number(&present, campaign, range->path, there) : RC_NO_MEMORY;
    if (status == RC_OK) {
        status = warnings_at(own, campaign, range->path, present);
    }
    for (int at = 0; status == RC_OK && at < 2; at++) {
        status = warnings_at(there, campaign, range->path, end[at]);
        for (int item = 0; status == RC_OK && item < there->n_kept; item++) {
            if (!rc_issues_has(own, &there->item[item])) {
                rc_issues_warn(issues, there->item[item].where, "at %s = %.10g: %s", range->path, end[at],
                               there->item[item].what);
            }
        }
    }
    free(own);
    free(there);
    return status == RC_NO_MEMORY ? status : RC_OK; /* what is refused is told when it is flown */
}

rc_status rc_report_trade_review(struct rc_issues *issues, const struct rc_trade_request *request)
{
    const int has_range = request->relax != NULL && strchr(request->relax, ':') != NULL;
    struct rc_sweep_range range;
    struct rc_error err;
    rc_status status = RC_OK;
    *issues = (struct rc_issues){0};
    for (int varied = 0; status == RC_OK && varied < request->n_vary; varied++) {
        if (rc_trade_range(&range, 1, request->vary[varied], &err) == RC_OK) {
            status = review_range(issues, request->campaign[0], &range);
        }
    }
    if (has_range && rc_trade_range(&range, 0, request->relax, &err) == RC_OK) {
        status = review_range(issues, request->campaign[0], &range);
    }
    return status;
}
