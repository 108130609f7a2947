/* What a campaign says about itself: names, counts, criteria, quantities, and what it lends to the layers above. */
#include <string.h>

#include "campaign_handle.h"

const char *rc_campaign_name(const rc_campaign *campaign)
{
    return campaign->settings.name;
}

const char *rc_campaign_purpose(const rc_campaign *campaign)
{
    return campaign->settings.purpose;
}

int64_t rc_campaign_flights(const rc_campaign *campaign)
{
    return campaign->settings.flights;
}

uint64_t rc_campaign_seed(const rc_campaign *campaign)
{
    return (uint64_t)campaign->settings.seed;
}

uint64_t rc_campaign_fingerprint(const rc_campaign *campaign)
{
    return rc_bundle_fingerprint(&campaign->bundle);
}

int rc_campaign_criteria_count(const rc_campaign *campaign)
{
    return campaign->settings.n_criteria;
}

const struct rc_criterion *rc_campaign_criterion(const rc_campaign *campaign, int index)
{
    return index >= 0 && index < campaign->settings.n_criteria ? &campaign->criterion[index] : NULL;
}

const struct rc_criterion *rc_campaign_all_together(const rc_campaign *campaign)
{
    return &campaign->together;
}

int rc_campaign_quantity_count(const rc_campaign *campaign)
{
    return campaign->values.n;
}

struct rc_quantity_view rc_campaign_quantity(const rc_campaign *campaign, int index)
{
    const struct rc_entry *entry = &campaign->values.entry[index];
    struct rc_quantity_view view = {.unit = entry->row->unit,
                                    .meaning = entry->row->meaning,
                                    .value = entry->value,
                                    .low = entry->row->low,
                                    .high = entry->row->high,
                                    .is_uncertain = entry->uncertain >= 0,
                                    .is_default = entry->is_default};
    memcpy(view.path, entry->path, sizeof view.path);
    memcpy(view.distribution, entry->distribution, sizeof view.distribution);
    return view;
}

int rc_campaign_uncertain_count(const rc_campaign *campaign)
{
    return campaign->values.sampling.n;
}

struct rc_quantity_view rc_campaign_uncertain(const rc_campaign *campaign, int index)
{
    return rc_campaign_quantity(campaign, campaign->values.uncertain_entry[index]);
}

const struct rc_bundle *rc_campaign_bundle(const rc_campaign *campaign)
{
    return &campaign->bundle;
}

const struct rc_layout *rc_campaign_layout(const rc_campaign *campaign)
{
    return &campaign->layout;
}

const struct rc_sampling *rc_campaign_sampling(const rc_campaign *campaign)
{
    return &campaign->values.sampling;
}

const struct rc_plan_kind *rc_campaign_plan(const rc_campaign *campaign)
{
    return campaign->plan;
}

const struct rc_model *rc_campaign_model(const rc_campaign *campaign)
{
    return campaign->model;
}

void rc_campaign_design(const rc_campaign *campaign, const double *values, struct rc_design *design)
{
    rc_values_design(design, &campaign->values, values);
}

const struct rc_formula *rc_campaign_formula(const rc_campaign *campaign)
{
    return campaign->formula;
}

const char *rc_campaign_formula_text(const rc_campaign *campaign)
{
    return campaign->settings.formula;
}

int rc_campaign_input_count(const rc_campaign *campaign)
{
    return campaign->settings.n_inputs;
}

const char *rc_campaign_input_name(const rc_campaign *campaign, int index)
{
    return campaign->settings.inputs[index].name;
}

bool rc_campaign_yields(const rc_campaign *campaign, int measure)
{
    return rc_measures_is_formula(measure) == (campaign->formula != NULL);
}
