/* The search for the least demanding value: its range, as asked or from what the campaign takes. The search itself is batch's. */
#include "trade.h"

#include <math.h>
#include <string.h>

/* "PATH", "PATH=up" or "PATH=down": from the present value outward as far as the campaign takes it. */
static rc_status reach_out(struct rc_trade_search *search, const char *text, struct rc_error *err)
{
    const rc_campaign *base = search->request->campaign[0];
    struct rc_sweep_range *range = &search->range;
    const size_t n_path = strcspn(text, "=");
    const int is_down = strcmp(text + n_path, "=down") == 0;
    struct rc_reach reach;
    if (n_path < 1 || n_path >= sizeof range->path) {
        return rc_error_fill(err, RC_USAGE, "--relax",
                             "got '%.120s', wanted the place of a number, such as drive.floor_dps.mean", text);
    }
    memcpy(range->path, text, n_path);
    range->path[n_path] = '\0';
    const rc_status status = rc_designs_reach(&reach, base, range->path, is_down ? -1 : 1, err);
    if (status != RC_OK) {
        return status;
    }
    range->from = reach.present;
    range->to = reach.edge;
    snprintf(search->range_from, sizeof search->range_from, "from the campaign's own %.6g to %.6g, %s", reach.present, reach.edge,
             reach.is_limit ? is_down ? "the least that it takes" : "the greatest that it takes"
                            : "a thousand times as far: it takes more, so that an end of your own may be better");
    return RC_OK;
}

rc_status rc_trade_relax(struct rc_trade_search *search, const struct rc_trade_request *request, struct rc_error *err)
{
    const char *equals = strchr(request->relax, '=');
    const int is_open = equals == NULL || strcmp(equals, "=up") == 0 || strcmp(equals, "=down") == 0;
    *search = (struct rc_trade_search){.request = request};
    rc_status status = rc_trade_criterion(&search->criterion, request->campaign[0], request->of, err);
    if (status == RC_OK) {
        status = is_open ? reach_out(search, request->relax, err) : rc_trade_range(&search->range, 0, request->relax, err);
    }
    if (status != RC_OK) {
        return status;
    }
    const struct rc_design_run run = {request->folder, search->criterion.index, request->options};
    const int64_t n_asked = request->options->n_flights;
    search->found = (struct rc_relax){.run = &run,
                                      .base = request->campaign[0],
                                      .path = search->range.path,
                                      .from = search->range.from,
                                      .to = search->range.to,
                                      .need = request->need,
                                      .confidence = search->criterion.confidence,
                                      .n_most = n_asked > 0 ? n_asked : rc_campaign_flights(request->campaign[0])};
    status = rc_relax_search(&search->found, err);
    search->found.run = NULL;
    return status;
}
