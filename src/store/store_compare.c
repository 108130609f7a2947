/* What a store on disk and a plan must agree on before rows of the two are put together: when a run is resumed, when shards
 * are merged. Compiler, lanes, threads and host may differ: rows do not depend on them. */
#include <stdio.h>
#include <string.h>

#include "facts.h"
#include "store_state.h"

static bool is_same_shard(const struct rc_shard *one, const struct rc_shard *other)
{
    return one->count == other->count && one->number == other->number && one->whole == other->whole && one->first == other->first;
}

static void shard_text(char *text, size_t size, const struct rc_shard *shard)
{
    if (shard->count == 0)
        (void)snprintf(text, size, "a whole run");
    else
        (void)snprintf(text, size, "shard %d/%d of %lld flights", shard->number, shard->count, (long long)shard->whole);
}

static rc_status refuse_shard(const struct rc_shard *wanted, const struct rc_shard *found, const char *path, struct rc_error *err)
{
    char text[2][80];
    shard_text(text[0], sizeof text[0], found);
    shard_text(text[1], sizeof text[1], wanted);
    return rc_error_fill(err, RC_OTHER_STORE, path, "holds %s, wanted is %s; use the shard and flights it was begun with, or %s",
                         text[0], text[1], "another store");
}

rc_status rc_store_compare(const struct rc_store_plan *plan, const struct rc_facts *facts, const char *path,
                           struct rc_error *err)
{
    const struct rc_journal_shape wanted = rc_store_plan_shape(plan);
    const struct rc_journal_shape found = rc_facts_shape(facts);
    if (found.fingerprint != wanted.fingerprint)
        return rc_error_fill(
            err, RC_OTHER_STORE, path,
            "holds campaign '%s' with fingerprint %016llx, this campaign has %016llx: its text or a table differs; "
            "choose another store",
            facts->campaign, (unsigned long long)found.fingerprint, (unsigned long long)wanted.fingerprint);
    if (found.seed != wanted.seed)
        return rc_error_fill(err, RC_OTHER_STORE, path,
                             "was begun with seed %llu, this run has %llu; use the same seed or another store",
                             (unsigned long long)found.seed, (unsigned long long)wanted.seed);
    if (strcmp(facts->version, plan->version) != 0)
        return rc_error_fill(
            err, RC_OTHER_STORE, path,
            "was begun by version %s, this is %s: rows of two versions are not mixed; use that version or another store",
            facts->version, plan->version);
    if (strcmp(facts->run_rule, plan->run_rule) != 0)
        return rc_error_fill(err, RC_OTHER_STORE, path,
                             "was begun with the rule '%s', this run has '%s': resume it without a rule or a method of its own",
                             facts->run_rule, plan->run_rule);
    if (!is_same_shard(&plan->shard, &facts->shard))
        return refuse_shard(&plan->shard, &facts->shard, path, err);
    if (found.n_columns != wanted.n_columns || found.columns != wanted.columns || found.n_signals != wanted.n_signals ||
        found.n_times != wanted.n_times || (wanted.n_times > 0 && facts->n_bins != plan->n_bins))
        return rc_error_fill(
            err, RC_OTHER_STORE, path,
            "has other columns or bands (%u columns, %u signals at %u times) than this run (%u, %u, %u); choose another store",
            found.n_columns, found.n_signals, found.n_times, wanted.n_columns, wanted.n_signals, wanted.n_times);
    return RC_OK;
}
