/* Settings of a sweep: their values, their campaigns, and flying them. One design's flying is in designs.c. */
#include <stdio.h>

#include "batch.h"

int rc_sweep_count(const struct rc_sweep *sweep)
{
    int n = 1;
    for (int varied = 0; varied < sweep->n_varied; varied++)
        n *= sweep->range[varied].count;
    return n;
}

void rc_sweep_values(double value[RC_SWEEP_VARIED], const struct rc_sweep *sweep, int setting)
{
    for (int varied = sweep->n_varied - 1; varied >= 0; varied--) {
        const struct rc_sweep_range *range = &sweep->range[varied];
        const int step = setting % range->count;
        setting /= range->count;
        /* the end itself, not what rounding makes of it */
        value[varied] =
            step == range->count - 1 ? range->to : range->from + (double)step / (range->count - 1) * (range->to - range->from);
    }
}

static rc_status make(rc_campaign **campaign, const struct rc_sweep *sweep, const rc_campaign *base, int setting,
                      struct rc_error *err)
{
    struct rc_change change[RC_SWEEP_VARIED];
    double value[RC_SWEEP_VARIED] = {0.0};
    rc_sweep_values(value, sweep, setting);
    for (int varied = 0; varied < sweep->n_varied; varied++)
        change[varied] = (struct rc_change){sweep->range[varied].path, value[varied]};
    return rc_designs_vary(campaign, base, change, sweep->n_varied, err);
}

rc_status rc_sweep_fly(unsigned char *met, int64_t *n_met, const struct rc_sweep *sweep, const struct rc_design_run *run,
                       const rc_campaign *base, int64_t n_flights, struct rc_error *err)
{
    const int n = rc_sweep_count(sweep);
    rc_status status = RC_OK;
    for (int setting = 0; status == RC_OK && setting < n; setting++) {
        rc_campaign *own = NULL;
        status = make(&own, sweep, base, setting, err);
        rc_campaign_free(own);
    }
    for (int setting = 0; status == RC_OK && setting < n; setting++) {
        rc_campaign *own = NULL;
        char name[16];
        (void)snprintf(name, sizeof name, "%03d", setting + 1);
        status = make(&own, sweep, base, setting, err);
        if (status == RC_OK)
            status = rc_designs_fly(run, own, name, n_flights, met + setting * n_flights, &n_met[setting], err);
        rc_campaign_free(own);
    }
    return status;
}
