/* Arbitrary bytes as a campaign. The input is the campaign's text, then, each after a byte 0x1e, its thrust table, its
 * aerodynamic table and a wind table; a part that is absent is the sound one. Beyond not crashing: what is refused says why in whole
 * single lines and gives no campaign; what is accepted has finite designs and flies to a known end. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "campaign/campaign.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char sound_thrust[] = "time_s,thrust_N\n0,0\n0.05,1500\n2.0,1200\n2.3,0\n";
static const char sound_wind[] = "height_m,speed_mps,from_deg\n0,3,270\n1000,9,300\n";
static const char sound_aero[] = "mach,ca_off\n0,0.45\n0.9,0.5\n1.2,0.65\n2,0.5\n";

enum { PART_END = 0x1e };

static void require(int is_met, const char *what)
{
    if (!is_met) {
        (void)fprintf(stderr, "broken: %s\n", what);
        abort();
    }
}

/* Cut the next part off the input. out length  ends its first byte */
static const char *next_part(const uint8_t **data, size_t *left, size_t *length)
{
    const uint8_t *const part = *data;
    const uint8_t *const end = *left > 0 ? memchr(part, PART_END, *left) : NULL;
    *length = end != NULL ? (size_t)(end - part) : *left;
    const size_t used = *length + (end != NULL ? 1 : 0);
    *data += used;
    *left -= used;
    return (const char *)part;
}

static void add_table(struct rc_bundle *bundle, const char *name, const char *sound, const uint8_t **data, size_t *left)
{
    size_t length = strlen(sound);
    const char *const bytes = *left > 0 ? next_part(data, left, &length) : sound;
    require(rc_bundle_add(bundle, name, bytes, length, NULL) == RC_OK, "a bundle takes a table");
}

static void require_whole_messages(const struct rc_issues *issues)
{
    for (int index = 0; index < issues->n_kept; index++) {
        const struct rc_error *issue = &issues->item[index];
        require(issue->what[0] != '\0', "an issue says something");
        for (const char *c = issue->what; *c != '\0'; c++)
            require((unsigned char)*c >= ' ' && *c != 0x7f, "an issue is one line without control characters");
    }
}

static void require_finite_design(const rc_campaign *campaign)
{
    const struct rc_sampling *sampling = rc_campaign_sampling(campaign);
    double values[RC_MAX_UNCERTAIN];
    struct rc_design design;
    rc_campaign_plan(campaign)->draw(sampling, rc_campaign_seed(campaign), 7, values);
    for (int index = 0; index < sampling->n; index++)
        require(values[index] >= sampling->quantity[index].low && values[index] <= sampling->quantity[index].high,
                "a drawn value lies in its allowed range");
    rc_campaign_design(campaign, values, &design);
    const double *numbers = (const double *)&design;
    for (size_t index = 0; index < sizeof design / sizeof *numbers; index++)
        require(isfinite(numbers[index]), "a design is finite");
}

static void require_known_end(const rc_campaign *campaign)
{
    double values[RC_MAX_UNCERTAIN];
    struct rc_design design;
    struct rc_block *block = NULL;
    const struct rc_formula *const formula = rc_campaign_formula(campaign);
    struct rc_record record = {.bin = NULL};
    const uint64_t flight = 7;
    rc_campaign_plan(campaign)->draw(rc_campaign_sampling(campaign), rc_campaign_seed(campaign), flight, values);
    rc_campaign_design(campaign, values, &design);
    if (formula != NULL) {
        (void)rc_formula_value(formula, design.formula.input); /* any number, or none */
        return;
    }
    require(rc_block_create(&block, rc_campaign_model(campaign), NULL) == RC_OK, "there is memory for a block");
    rc_block_fly(block, &design, rc_campaign_seed(campaign), &flight, 1, &record, NULL, NULL);
    require(record.end >= 0 && record.end < RC_N_ENDS, "a flight ends in a known way");
    rc_block_free(block);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct rc_bundle bundle = {0};
    struct rc_issues *const issues = calloc(1, sizeof *issues);
    rc_campaign *campaign = NULL;
    require(issues != NULL, "there is memory");
    size_t left = size, length = 0;
    const char *const text = next_part(&data, &left, &length);
    require(rc_bundle_add(&bundle, "input.json", length > 0 ? text : "", length, NULL) == RC_OK, "a bundle takes a text");
    add_table(&bundle, "lapwing-thrust.csv", sound_thrust, &data, &left);
    add_table(&bundle, "lapwing-aero.csv", sound_aero, &data, &left);
    add_table(&bundle, "wind.csv", sound_wind, &data, &left);

    const rc_status status = rc_campaign_from_bundle(&campaign, &bundle, issues);
    require((status == RC_OK) == (campaign != NULL), "a campaign is made exactly when all is well");
    require((status == RC_OK) == (issues->n_errors == 0), "errors are listed exactly when there are any");
    require(status == RC_OK || status == RC_BAD_INPUT, "bad input is called bad input");
    require_whole_messages(issues);
    if (campaign != NULL) {
        require_finite_design(campaign);
        require_known_end(campaign);
    }
    rc_campaign_free(campaign);
    rc_bundle_free(&bundle);
    free(issues);
    return 0;
}
