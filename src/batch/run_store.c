/* The plan of a run's store: campaign, columns, bands, program and host. What stands in the rows is left to the runs. */
#include "run_store.h"

#include <stdlib.h>
#include <sys/utsname.h>

#include "rollcast/rollcast.h"

/* Build and host, one "key: value" a line. */
static void add_host_facts(struct rc_text *facts)
{
    struct utsname host;
#if defined(__VERSION__)
    rc_text_add(facts, "compiler: %s\n", __VERSION__);
#endif
    rc_text_add(facts, "lanes: %d\n", rc_block_lanes());
    if (uname(&host) >= 0)
        rc_text_add(facts, "system: %s %s %s\n", host.sysname, host.release, host.machine);
}

rc_status rc_run_store_plan(struct rc_run_store_plan *made, const struct rc_run_store *wanted, struct rc_error *err)
{
    const rc_campaign *campaign = wanted->campaign;
    const struct rc_layout *layout = rc_campaign_layout(campaign);
    const int n_times = wanted->has_bands && rc_campaign_keeps_bands(campaign) ? layout->n_band_times : 0;
    *made = (struct rc_run_store_plan){.edges = malloc((RC_BAND_BINS + 1) * sizeof *made->edges)};
    for (int signal = 0; signal < RC_N_SIGNALS; signal++) {
        const struct rc_measure_row *row = rc_measures_signal_row(signal);
        made->signal[signal] = (struct rc_store_signal){row->name, row->unit, row->meaning};
    }
    add_host_facts(&made->facts);
    if (!made->edges || made->facts.failed)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the plan of a store");
    for (int bin = 0; bin <= RC_BAND_BINS; bin++)
        made->edges[bin] = rc_measures_bin_edge(bin);
    made->plan = (struct rc_store_plan){
        .bundle = rc_campaign_bundle(campaign), .fingerprint = rc_campaign_fingerprint(campaign), .seed = wanted->seed,
        .n_flights = wanted->n_flights, .shard = wanted->shard, .campaign_name = rc_campaign_name(campaign),
        .version = rc_version(), .host_facts = made->facts.bytes, .run_rule = wanted->run_rule,
        .n_columns = wanted->columns->n, .column = wanted->columns->column, .n_signals = n_times > 0 ? RC_N_SIGNALS : 0,
        .n_times = n_times, .n_bins = RC_BAND_BINS, .signal = made->signal, .time_step = layout->band_interval,
        .bin_edge = made->edges};
    return RC_OK;
}

void rc_run_store_plan_free(struct rc_run_store_plan *made)
{
    rc_text_free(&made->facts);
    free(made->edges);
    made->edges = NULL;
}

rc_status rc_run_store_open(struct rc_store **store, const char *path, const struct rc_run_store *wanted, struct rc_error *err)
{
    struct rc_run_store_plan made;
    rc_status status = rc_run_store_plan(&made, wanted, err);
    if (status == RC_OK)
        status = wanted->resume ? rc_store_resume(store, path, &made.plan, err) : rc_store_create(store, path, &made.plan, err);
    rc_run_store_plan_free(&made);
    return status;
}
