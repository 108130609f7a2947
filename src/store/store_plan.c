/* A store's own copy of its plan, and the hash that tells two sets of columns apart. */
#include <stdlib.h>
#include <string.h>

#include "facts.h"

/* A copy of a text; sets *failed where memory ran out. NULL stands for the empty text. */
static char *text_copy(const char *text, bool *failed)
{
    const char *from = text ? text : "";
    const size_t n = strlen(from) + 1;
    char *copy = malloc(n);
    if (copy)
        memcpy(copy, from, n);
    else
        *failed = true;
    return copy;
}

static bool is_within_limits(const struct rc_store_plan *plan)
{
    return plan->n_columns > 0 && plan->n_columns <= RC_STORE_MAX_COLUMNS && plan->n_signals >= 0 &&
           plan->n_signals <= RC_STORE_MAX_SIGNALS && plan->n_times >= 0 && plan->n_times <= RC_MAX_BAND_TIMES &&
           plan->n_bins >= 0 && plan->n_bins <= RC_STORE_MAX_BINS && plan->n_flights >= 0 &&
           plan->n_flights <= RC_MAX_FLIGHTS;
}

static void copy_columns(struct rc_store_plan *copy, const struct rc_store_plan *plan, bool *failed)
{
    struct rc_store_column *column = calloc((size_t)plan->n_columns, sizeof *column);
    copy->column = column;
    copy->n_columns = column ? plan->n_columns : 0;
    *failed = *failed || !column;
    for (int index = 0; index < copy->n_columns; index++) {
        column[index].name = text_copy(plan->column[index].name, failed);
        column[index].unit = text_copy(plan->column[index].unit, failed);
        column[index].long_name = text_copy(plan->column[index].long_name, failed);
    }
}

static void copy_signals(struct rc_store_plan *copy, const struct rc_store_plan *plan, bool *failed)
{
    struct rc_store_signal *signal = calloc((size_t)plan->n_signals + 1, sizeof *signal);
    double *edge = malloc(((size_t)plan->n_bins + 1) * sizeof *edge);
    copy->signal = signal;
    copy->bin_edge = edge;
    copy->n_signals = signal && copy->n_times > 0 ? plan->n_signals : 0; /* no times, no bands */
    *failed = *failed || !signal || !edge;
    for (int index = 0; index < copy->n_signals; index++) {
        signal[index].name = text_copy(plan->signal[index].name, failed);
        signal[index].unit = text_copy(plan->signal[index].unit, failed);
        signal[index].long_name = text_copy(plan->signal[index].long_name, failed);
    }
    if (edge && plan->n_bins > 0)
        memcpy(edge, plan->bin_edge, ((size_t)plan->n_bins + 1) * sizeof *edge);
}

static void copy_bundle(struct rc_store_plan *copy, const struct rc_store_plan *plan, bool *failed)
{
    struct rc_bundle *bundle = calloc(1, sizeof *bundle);
    copy->bundle = bundle;
    *failed = *failed || !bundle;
    for (int file = 0; bundle && file < plan->bundle->n_files; file++) {
        const struct rc_bundle_file *from = &plan->bundle->file[file];
        if (rc_bundle_add(bundle, from->name, from->bytes, from->n_bytes, NULL) != RC_OK)
            *failed = true;
    }
}

rc_status rc_store_plan_copy(struct rc_store_plan *copy, const struct rc_store_plan *plan, struct rc_error *err)
{
    bool failed = false;
    *copy = (struct rc_store_plan){.fingerprint = plan->fingerprint, .seed = plan->seed, .n_flights = plan->n_flights,
                                   .shard = plan->shard, .n_times = plan->n_signals > 0 ? plan->n_times : 0,
                                   .n_bins = plan->n_bins, .time_step = plan->time_step};
    if (!is_within_limits(plan))
        return rc_error_fill(err, RC_BAD_INPUT, NULL,
                             "a store takes 1 to %d columns, up to %d signals at %d times in %d bins, and up to %lld flights",
                             RC_STORE_MAX_COLUMNS, RC_STORE_MAX_SIGNALS, RC_MAX_BAND_TIMES, RC_STORE_MAX_BINS,
                             (long long)RC_MAX_FLIGHTS);
    copy->campaign_name = text_copy(plan->campaign_name, &failed);
    copy->version = text_copy(plan->version, &failed);
    copy->run_rule = text_copy(plan->run_rule, &failed);
    copy->host_facts = text_copy(plan->host_facts, &failed);
    copy_columns(copy, plan, &failed);
    copy_signals(copy, plan, &failed);
    copy_bundle(copy, plan, &failed);
    if (failed)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the plan of a store");
    return RC_OK;
}

void rc_store_plan_free(struct rc_store_plan *copy)
{
    for (int index = 0; index < copy->n_columns; index++) {
        free((char *)copy->column[index].name);
        free((char *)copy->column[index].unit);
        free((char *)copy->column[index].long_name);
    }
    for (int index = 0; index < copy->n_signals; index++) {
        free((char *)copy->signal[index].name);
        free((char *)copy->signal[index].unit);
        free((char *)copy->signal[index].long_name);
    }
    if (copy->bundle)
        rc_bundle_free((struct rc_bundle *)copy->bundle);
    free((struct rc_bundle *)copy->bundle);
    free((struct rc_store_column *)copy->column);
    free((struct rc_store_signal *)copy->signal);
    free((double *)copy->bin_edge);
    free((char *)copy->campaign_name);
    free((char *)copy->version);
    free((char *)copy->run_rule);
    free((char *)copy->host_facts);
    *copy = (struct rc_store_plan){0};
}

struct rc_journal_shape rc_store_plan_shape(const struct rc_store_plan *plan)
{
    uint64_t hash = RC_FNV_START;
    for (int index = 0; index < plan->n_columns; index++) { /* with the NULs, so that "a" "bc" is not "ab" "c" */
        hash = rc_hash_bytes(hash, plan->column[index].name, strlen(plan->column[index].name) + 1);
        hash = rc_hash_bytes(hash, plan->column[index].unit, strlen(plan->column[index].unit) + 1);
    }
    hash = rc_facts_hash_shard(hash, &plan->shard);
    return (struct rc_journal_shape){.fingerprint = plan->fingerprint, .seed = plan->seed, .columns = hash,
                                     .n_columns = (uint32_t)plan->n_columns, .n_signals = (uint32_t)plan->n_signals,
                                     .n_times = (uint32_t)plan->n_times};
}
