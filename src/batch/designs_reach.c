/* How far a number can go before the campaign refuses it: nothing is flown, the changed campaigns are only made. */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "batch.h"

enum { DOUBLINGS = 10, HALVINGS = 10 };

/* The end of the range that the table allows, where the number is a quantity of its own; else infinite. */
static double table_end(const rc_campaign *base, const char *path, int direction)
{
    for (int index = 0; index < rc_campaign_quantity_count(base); index++) {
        const struct rc_quantity_view view = rc_campaign_quantity(base, index);
        if (strcmp(view.given, path) == 0 || strcmp(view.path, path) == 0)
            return direction > 0 ? view.high : view.low;
    }
    return direction > 0 ? HUGE_VAL : -HUGE_VAL;
}

/* Does the campaign take a value? out is_taken; ends RC_NO_MEMORY and the like, never RC_BAD_INPUT */
static rc_status ask(bool *is_taken, const rc_campaign *base, const char *path, double value, struct rc_error *err)
{
    const struct rc_change change = {path, value};
    rc_campaign *made = NULL;
    const rc_status status = rc_designs_vary(&made, base, &change, 1, err);
    rc_campaign_free(made);
    *is_taken = status == RC_OK;
    return status == RC_BAD_INPUT ? RC_OK : status;
}

static rc_status find_present(double *present, const rc_campaign *base, const char *path, struct rc_error *err)
{
    struct rc_issues *issues = calloc(1, sizeof *issues);
    if (!issues)
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a number's range");
    rc_status status = rc_campaign_number(present, base, path, issues);
    if (status != RC_OK)
        status = rc_issues_first_error(issues, status, err);
    free(issues);
    return status;
}

/* From the present value outward, in steps that double, to the first value that is refused; then halve towards it. */
static rc_status walk_out(struct rc_reach *reach, const rc_campaign *base, const char *path, double end, struct rc_error *err)
{
    const double sign = end < reach->present ? -1.0 : 1.0;
    double step = fmax(fabs(reach->present), 1e-3);
    double refused = end;
    bool is_taken = true;
    rc_status status = RC_OK;
    for (int doubling = 0; status == RC_OK && is_taken && doubling < DOUBLINGS; doubling++, step *= 2.0) {
        refused = sign * fmin(sign * reach->present + step, sign * end);
        status = ask(&is_taken, base, path, refused, err);
        reach->edge = is_taken ? refused : reach->edge;
    }
    reach->is_limit = !is_taken;
    for (int halving = 0; status == RC_OK && reach->is_limit && halving < HALVINGS; halving++) {
        const double value = 0.5 * (reach->edge + refused);
        status = ask(&is_taken, base, path, value, err);
        reach->edge = is_taken ? value : reach->edge;
        refused = is_taken ? refused : value;
    }
    return status;
}

rc_status rc_designs_reach(struct rc_reach *reach, const rc_campaign *base, const char *path, int direction, struct rc_error *err)
{
    *reach = (struct rc_reach){.is_limit = 0};
    rc_status status = find_present(&reach->present, base, path, err);
    if (status != RC_OK)
        return status;
    const double end = table_end(base, path, direction);
    bool is_taken = false;
    reach->edge = reach->present;
    if (isfinite(end) && end != reach->present)
        status = ask(&is_taken, base, path, end, err);
    if (is_taken) {
        reach->edge = end;
        reach->is_limit = 1;
    } else if (status == RC_OK && end != reach->present) {
        status = walk_out(reach, base, path, end, err);
    }
    if (status == RC_OK && reach->edge == reach->present)
        return rc_error_fill(err, RC_BAD_INPUT, path, "the campaign takes nothing %s its %.6g; name a range: PATH=FROM:TO",
                             direction > 0 ? "above" : "below", reach->present);
    return status;
}
