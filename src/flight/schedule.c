/* The schedule of steps: how long a step may be at each time after lift-off. It is the same for all flights of a campaign, so
 * that the lanes of a block stay in step, and comes from pilot flights of the base design and of designs that span what is
 * uncertain. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "lanes.h"
#include "model.h"
#include "numeric/lane_math.h"

/* Pitch phase per step aimed at [rad], and the margin for flights that swing faster than every pilot. */
static const double step_phase = 0.80;
static const double pilot_margin = 1.25;
/* Fading per step aimed at, with the same margin. Beyond 2.785 the Runge-Kutta step's own solution grows where the true one
 * fades: the real root of 1 - x + x^2/2 - x^3/6 + x^4/24 = 1. */
static const double step_fading = 1.6;
static const double longest_step = 0.060;          /* [s] */
static const double pilot_step = 0.010;          /* [s] */
static const double least_pilot_step = 2.5e-4;   /* [s] */
static const double slot_width = 0.1;            /* [s] */
/* A pilot's pace counts for this long before and after: others are earlier or later. */
static const double spread_time = 0.5; /* [s] */

static int ticks_of(const struct rc_model *model, double step)
{
    /* The convergence setting refines the ticks, and the steps with them. */
    const double scaled = fmin(step, longest_step) * model->layout->step_scale;
    const double ticks = floor(scaled * model->clock.tick_rate + 1e-9);
    const int whole = ticks < 1.0 ? 1 : (int)ticks, span = model->clock.span;
    return whole > span ? whole - whole % span : whole;
}

/* out pace, fading  (n_slots) greatest of all pilots [rad/s], [1/s] */
static rc_status fly_pilots(struct rc_model *model, const struct rc_design *const *designs, int n, double *pace, double *fading,
                            struct rc_error *err)
{
    struct rc_block *block = NULL;
    struct rc_record records[RC_LANES];
    struct rc_design group[RC_LANES];
    uint64_t flights[RC_LANES];
    const rc_status status = rc_block_create(&block, model, err);
    if (status != RC_OK)
        return status;
    memset(pace, 0, (size_t)model->n_slots * sizeof *pace);
    memset(fading, 0, (size_t)model->n_slots * sizeof *fading);
    block->pace_log = pace;
    block->fading_log = fading;
    for (int first = 0; first < n; first += RC_LANES) {
        const int count = n - first < RC_LANES ? n - first : RC_LANES;
        for (int lane = 0; lane < count; lane++) {
            group[lane] = *designs[first + lane];
            flights[lane] = (uint64_t)first + (uint64_t)lane;
            records[lane].bin = NULL;
        }
        rc_block_fly(block, group, 0, flights, count, records, NULL, NULL);
    }
    rc_block_free(block);
    return RC_OK;
}

/* Fly the pilots by steps in which none of them fades too far, as roll does on very large fins, and by ticks that are no longer.
 * A pilot that went wrong for that has shown how fast it fades where it went wrong: the next round gets further. */
static rc_status settle_pilots(struct rc_model *model, const struct rc_design *const *designs, int n, double *pace,
                               double *fading, struct rc_error *err)
{
    double step = pilot_step;
    for (;;) {
        const int ticks = ticks_of(model, step);
        for (int slot = 0; slot < model->n_slots; slot++)
            model->slot_ticks[slot] = ticks;
        const rc_status status = fly_pilots(model, designs, n, pace, fading, err);
        double fastest = 0.0;
        for (int slot = 0; slot < model->n_slots; slot++)
            fastest = fmax(fastest, fading[slot]);
        const double wanted = step_fading / (pilot_margin * fastest);
        if (status != RC_OK || !(ticks * model->clock.dt > wanted) || !(step > least_pilot_step))
            return status;
        step = fmax(fmin(fmax(wanted, 0.25 * step), 0.5 * step), least_pilot_step);
        while (model->clock.dt > step)
            rc_model_halve_ticks(model);
    }
}

/* Fading as a pace that asks for the same step. Slower than the longest step allows it asks for nothing. */
static void add_fading(const struct rc_model *model, const double *fading, double *pace)
{
    for (int slot = 0; slot < model->n_slots; slot++)
        if (fading[slot] * pilot_margin * longest_step > step_fading)
            pace[slot] = fmax(pace[slot], step_phase / step_fading * fading[slot]);
}

rc_status rc_schedule_make(struct rc_model *model, const struct rc_design *const *designs, int n, struct rc_error *err)
{
    model->slot = slot_width;
    model->n_slots = (int)ceil(model->layout->time_limit / slot_width) + 1;
    model->slot_ticks = malloc((size_t)model->n_slots * sizeof *model->slot_ticks);
    double *const pace = calloc((size_t)model->n_slots, sizeof *pace);
    double *const fading = calloc((size_t)model->n_slots, sizeof *fading);
    rc_status status = RC_OK;
    if (model->slot_ticks == NULL || pace == NULL || fading == NULL) {
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a schedule of %d slots", model->n_slots);
        goto done;
    }
    status = settle_pilots(model, designs, n, pace, fading, err);
    if (status != RC_OK)
        goto done;
    add_fading(model, fading, pace);
    const int reach = (int)ceil(spread_time / slot_width);
    double latest = 0.0;
    for (int slot = 0; slot < model->n_slots; slot++) {
        double fastest = 0.0;
        for (int near = slot - reach; near <= slot + reach; near++)
            if (near >= 0 && near < model->n_slots)
                fastest = fmax(fastest, pace[near]);
        /* No pilot was still flying: go on as the last one did. */
        latest = fastest > 0.0 ? fastest : latest;
        model->slot_ticks[slot] = ticks_of(model, latest > 0.0 ? step_phase / (pilot_margin * latest) : pilot_step);
    }
done:
    free(fading);
    free(pace);
    return status;
}
