/* Holds the sweep of a campaign against the campaign: the changed campaigns are made, so that whatever holds for a file holds for
 * them. */
#include "sweeps.h"

#include <stdlib.h>
#include <string.h>

/* Try one end. out issues room */
static rc_status try_end(const struct rc_campaign *campaign, const struct rc_reader *reader, const char *place, const char *key,
                         const struct rc_change *change, struct rc_issues *issues)
{
    rc_campaign *made = NULL;
    struct rc_error err = {.status = RC_OK};
    const rc_status status = rc_campaign_vary(&made, campaign, change, 1, issues);
    rc_campaign_free(made);
    for (int item = 0; status == RC_OK && item < issues->n_kept; item++) {
        if (!rc_issues_has(reader->issues, &issues->item[item])) { /* nor has the campaign as it is */
            char path[64];
            (void)snprintf(path, sizeof path, "%s.%s", place, key);
            rc_read_warn(reader, path, "at %s = %.10g: %s", change->path, change->value, issues->item[item].what);
        }
    }
    if (status != RC_BAD_INPUT)
        return status;
    (void)rc_issues_first_error(issues, status, &err);
    rc_read_report(reader, place, key, "the campaign does not take %.10g at %s: %s", change->value, change->path, err.what);
    return RC_OK;
}

static rc_status check_one(const struct rc_campaign *campaign, const struct rc_reader *reader, int index,
                           struct rc_issues *issues)
{
    const struct rc_sweep_range range = rc_campaign_sweep(campaign, index);
    char place[32];
    double present = 0.0;
    (void)snprintf(place, sizeof place, "sweep[%d]", index);
    rc_status status = rc_campaign_number(&present, campaign, range.path, issues);
    if (status == RC_BAD_INPUT) {
        struct rc_error err = {.status = RC_OK};
        (void)rc_issues_first_error(issues, status, &err);
        rc_read_report(reader, place, "path", "\"%.95s\" %s", range.path, err.what);
        return RC_OK;
    }
    if (status == RC_OK && range.from == range.to)
        rc_read_report(reader, place, "to", "got %.10g, which is \"from\" too: the range is empty; wanted another end", range.to);
    if (status != RC_OK || range.from == range.to)
        return status;
    status = try_end(campaign, reader, place, "from", &(struct rc_change){range.path, range.from}, issues);
    return status == RC_OK ? try_end(campaign, reader, place, "to", &(struct rc_change){range.path, range.to}, issues) : status;
}

rc_status rc_sweeps_check(const struct rc_campaign *campaign, const struct rc_reader *reader)
{
    const int n = campaign->settings.n_sweeps;
    struct rc_issues *issues = calloc(1, sizeof *issues);
    rc_status status = issues ? RC_OK : RC_NO_MEMORY;
    for (int index = 0; status == RC_OK && index < n; index++)
        status = check_one(campaign, reader, index, issues);
    const struct rc_sweep_settings *sweep = campaign->settings.sweep;
    const int64_t n_settings = n > 1 ? sweep[0].values * sweep[1].values : 0;
    if (status == RC_OK && n > 1 && strcmp(sweep[0].path, sweep[1].path) == 0)
        rc_read_report(reader, "sweep[1]", "path", "is that of the first sweep too; wanted another number");
    else if (status == RC_OK && n_settings > RC_SWEEP_SETTINGS)
        rc_read_report(reader, "sweep[1]", "values", "makes %lld settings, at most %d are flown; make one range coarser",
                       (long long)n_settings, RC_SWEEP_SETTINGS);
    free(issues);
    return status;
}
