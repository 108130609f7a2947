/* Flies numbered flights of a campaign, without a store: what every build of the flight code is measured through. */
#include "flier.h"

#include <stdio.h>
#include <stdlib.h>

#include "campaign/campaign.h"
#include "flight/model.h"

enum { N_PILOTS = 15, MAX_LANES = 64 };

struct flier {
    rc_campaign *campaign;
    struct rc_layout layout;      /* the campaign's, with another step scale                  */
    struct rc_model *own_model;   /* NULL where the campaign's own model is flown             */
    struct rc_block *block;
    double *drawn;
    struct rc_design designs[MAX_LANES];
    struct rc_record records[MAX_LANES];
    uint64_t flights[MAX_LANES];
};

static void flier_close(struct flier *flier)
{
    if (flier == NULL)
        return;
    rc_block_free(flier->block);
    rc_model_free(flier->own_model);
    rc_campaign_free(flier->campaign);
    free(flier->drawn);
    free(flier);
}

static void draw(struct flier *flier, uint64_t flight, struct rc_design *design)
{
    rc_campaign_plan(flier->campaign)->draw(rc_campaign_sampling(flier->campaign), rc_campaign_seed(flier->campaign), flight,
                                            flier->drawn);
    rc_campaign_design(flier->campaign, flier->drawn, design);
}

/* A model of the same campaign with other step lengths; its pilots are the campaign's first flights. */
static rc_status make_model(struct flier *flier, double step_scale, struct rc_error *err)
{
    struct rc_design pilots[N_PILOTS];
    const struct rc_design *const base = &rc_campaign_model(flier->campaign)->base;
    for (int pilot = 0; pilot < N_PILOTS; pilot++)
        draw(flier, (uint64_t)pilot, &pilots[pilot]);
    flier->layout = *rc_campaign_layout(flier->campaign);
    flier->layout.step_scale = step_scale;
    return rc_model_create(&flier->own_model, base, &flier->layout, pilots, N_PILOTS, err);
}

static struct flier *flier_open(const char *path, double step_scale)
{
    struct rc_issues issues = {0};
    struct rc_error err = {.status = RC_OK};
    struct flier *flier = calloc(1, sizeof *flier);
    if (flier == NULL || rc_campaign_load(&flier->campaign, path, &issues) != RC_OK || rc_block_lanes() > MAX_LANES) {
        (void)fprintf(stderr, "bench: cannot load %s\n", path);
        flier_close(flier);
        return NULL;
    }
    flier->drawn = calloc((size_t)rc_campaign_sampling(flier->campaign)->n + 1, sizeof *flier->drawn);
    rc_status status = flier->drawn == NULL ? RC_NO_MEMORY : RC_OK;
    if (status == RC_OK && step_scale != 1.0)
        status = make_model(flier, step_scale, &err);
    const struct rc_model *model = flier->own_model != NULL ? flier->own_model : rc_campaign_model(flier->campaign);
    if (status == RC_OK)
        status = rc_block_create(&flier->block, model, &err);
    if (status != RC_OK) {
        (void)fprintf(stderr, "bench: no model of %s: %s\n", path, err.what);
        flier_close(flier);
        return NULL;
    }
    flier_adopt((struct rc_model *)model); /* it lies on the heap; the build that takes times puts a watch on its drive */
    return flier;
}

static int flier_cells(const struct flier *flier)
{
    return RC_N_SIGNALS * rc_campaign_layout(flier->campaign)->n_band_times;
}

static void keep(const struct rc_record *record, double *row)
{
    for (int measure = 0; measure < RC_N_MEASURES; measure++)
        row[measure] = record->measure[measure];
    row[RC_N_MEASURES] = record->end;
}

static void flier_fly(struct flier *flier, int64_t first, int n, double *rows, uint16_t *bins)
{
    const uint64_t seed = rc_campaign_seed(flier->campaign);
    const int lanes = rc_block_lanes(), cells = flier_cells(flier);
    for (int begin = 0; begin < n; begin += lanes) {
        const int count = n - begin < lanes ? n - begin : lanes;
        flier_enter(FLIER_DRAW);
        for (int lane = 0; lane < count; lane++) {
            flier->flights[lane] = (uint64_t)(first + begin + lane);
            draw(flier, flier->flights[lane], &flier->designs[lane]);
            flier->records[lane].bin = bins != NULL ? bins + (size_t)(begin + lane) * (size_t)cells : NULL;
        }
        flier_leave(FLIER_DRAW);
        flier_enter(FLIER_ALL);
        rc_block_fly(flier->block, flier->designs, seed, flier->flights, count, flier->records, NULL, NULL);
        flier_leave(FLIER_ALL);
        for (int lane = 0; lane < count; lane++)
            keep(&flier->records[lane], rows + (size_t)(begin + lane) * FLIER_COLUMNS);
    }
}

const struct flier_build *flier_build(void)
{
    static struct flier_build build = {.open = flier_open, .close = flier_close, .cells = flier_cells, .fly = flier_fly};
    build.lanes = rc_block_lanes();
    return &build;
}
