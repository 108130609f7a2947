/* Front header of campaign for the layers above it: what the public handle holds. JSON ends here. */
#ifndef RC_CAMPAIGN_H
#define RC_CAMPAIGN_H

#include "base/base.h"
#include "flight/flight.h"
#include "numeric/formula.h"
#include "rollcast/campaign.h"
#include "sampling/sampling.h"

/* Parse a campaign whose files are all in a bundle (file 0 is the JSON text), as a store keeps them.
 * out  campaign  caller frees with rc_campaign_free; untouched on error; keeps its own copy of the bundle
 * in   bundle    files by the names the campaign uses
 * out  issues    as for rc_campaign_load
 * ends RC_BAD_INPUT, RC_NO_MEMORY */
rc_status rc_campaign_from_bundle(rc_campaign **campaign, const struct rc_bundle *bundle, struct rc_issues *issues) RC_MUST_CHECK;

enum { RC_CAMPAIGN_MOST_DIFFERENCES = 8 };

/* Where two campaigns differ. */
struct rc_campaign_differences {
    int n;                                                     /* numbers that differ                                     */
    char path[RC_CAMPAIGN_MOST_DIFFERENCES][RC_MAX_PATH_TEXT]; /* the first of them, as rc_campaign_number takes them     */
    char other[RC_MAX_PATH_TEXT];                              /* first entry or table that differs in more, "" = nowhere */
};

/* Find where two campaigns ask for another design, wind or criterion: name, purpose, run and sweep are not looked at.
 * ends RC_NO_MEMORY */
rc_status rc_campaign_differ(struct rc_campaign_differences *differences, const rc_campaign *one,
                             const rc_campaign *other) RC_MUST_CHECK;

/* The campaign's text and tables; borrowed. */
const struct rc_bundle *rc_campaign_bundle(const rc_campaign *campaign);

/* What is flown: layout, uncertain quantities, plan, and the ready model; all borrowed. */
const struct rc_layout *rc_campaign_layout(const rc_campaign *campaign);
const struct rc_sampling *rc_campaign_sampling(const rc_campaign *campaign);
const struct rc_plan_kind *rc_campaign_plan(const rc_campaign *campaign);
const struct rc_model *rc_campaign_model(const rc_campaign *campaign);

/* The flight of the middle design, every uncertain number at its median; NULL with a formula. Borrowed; it has no bands. */
const struct rc_record *rc_campaign_middle(const rc_campaign *campaign);

/* The formula that stands in place of a vehicle, or NULL; it takes rc_design.formula.input. A campaign has a model or a formula;
 * with a formula its layout is all zeros. */
const struct rc_formula *rc_campaign_formula(const rc_campaign *campaign);

/* Its text and the name of input `index` (0 .. rc_campaign_input_count() - 1); borrowed. */
const char *rc_campaign_formula_text(const rc_campaign *campaign);
int rc_campaign_input_count(const rc_campaign *campaign);
const char *rc_campaign_input_name(const rc_campaign *campaign, int index);

/* Does a flight of this campaign yield a measure? in measure 0 .. RC_N_MEASURES-1 */
bool rc_campaign_yields(const rc_campaign *campaign, int measure);

/* Does its store keep this measure, and bands? Only what its flights yield. */
bool rc_campaign_keeps(const rc_campaign *campaign, int measure);
bool rc_campaign_keeps_bands(const rc_campaign *campaign);

/* The design of one flight: base design with every uncertain quantity put in.
 * out  design  SI units
 * in   values  (rc_sampling.n) in the campaign's units, as rc_plan_kind.draw gives them */
void rc_campaign_design(const rc_campaign *campaign, const double *values, struct rc_design *design);

#endif
