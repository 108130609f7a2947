/* Building a campaign's constant model: tables, clock, schedule. */
#include "model.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "aero.h"
#include "atmosphere.h"
#include "base/base.h"
#include "gusts.h"
#include "lanes.h"
#include "numeric/sorted.h"
#include "wind.h"

/* Knots of our own, fewer than the first number, and one for each row of a user's table. */
enum { MAX_HEIGHT_KNOTS = 256 + RC_MAX_TABLE_ROWS, MAX_MACH_KNOTS = 128 + RC_MAX_TABLE_ROWS };

/* Ticks are at least this frequent, so that the bearing's free motion is followed closely, and no fewer than any camera's
 * frames. */
static const double least_tick_rate = 240.0;

/* No longer is the time that a drive takes at once, or the vehicle's roll would bend too much in it; and no start that failed is
 * tried again in it, as the least retry delay in quantities.def is as long. [s] */
static const double longest_span = 0.010;

/* Sort, and drop knots closer than `gap` to the one before. ends how many are left */
static int tidy_knots(double *knot, int n, double gap)
{
    qsort(knot, (size_t)n, sizeof *knot, rc_sorted_rising);
    int kept = 1;
    for (int i = 1; i < n; i++)
        if (knot[i] - knot[kept - 1] > gap)
            knot[kept++] = knot[i];
    return kept;
}

/* Heights between which air and wind are interpolated: close together near the ground, where the power law bends, then every
 * 250 m; the standard atmosphere's layer bounds and the rows of a wind table are knots of their own. */
static int choose_heights(const struct rc_design *base, const struct rc_layout *layout, double *knot)
{
    static const double layer_geopotential[] = { 11000.0, 20000.0, 32000.0, 47000.0, 51000.0, 71000.0 };
    const double radius = RC_EARTH_RADIUS;
    const double top = RC_ATMOSPHERE_TOP - base->site.elevation;
    int n = 0;
    knot[n++] = 0.0;
    for (double z = 0.1; z < 1250.0; z *= 1.25)
        knot[n++] = z;
    for (double z = 1250.0; z < top; z += z < 12000.0 ? 250.0 : (z < 30000.0 ? 500.0 : 1000.0))
        knot[n++] = z;
    knot[n++] = top;
    knot[n++] = 1000.0 * RC_GUST_FOOT; /* the gust lengths bend here */
    knot[n++] = 2000.0 * RC_GUST_FOOT;
    for (size_t i = 0; i < sizeof layer_geopotential / sizeof layer_geopotential[0]; i++) {
        const double geometric = radius * layer_geopotential[i] / (radius - layer_geopotential[i]) - base->site.elevation;
        if (geometric > 0.0)
            knot[n++] = geometric;
    }
    for (int row = 0; row < layout->wind.n; row++)
        if (layout->wind.height[row] > 0.0 && layout->wind.height[row] < top)
            knot[n++] = layout->wind.height[row];
    return tidy_knots(knot, n, 1e-6);
}

/* Coefficients of one cell from its two ends and its middle. in at (3) there; width [m], 0 holds the first value */
static void air_cell(const struct rc_air *at, double width, double *c)
{
    const double per_width = width > 0.0 ? 1.0 / width : 0.0;
    c[RC_AIR_DENSITY] = at[0].density;
    c[RC_AIR_DENSITY_1] = (4.0 * at[1].density - 3.0 * at[0].density - at[2].density) * per_width;
    c[RC_AIR_DENSITY_2] = 2.0 * (at[0].density - 2.0 * at[1].density + at[2].density) * per_width * per_width;
    c[RC_AIR_SOUND] = at[0].sound_speed;
    c[RC_AIR_SOUND_1] = (at[2].sound_speed - at[0].sound_speed) * per_width;
}

/* The wind's part, likewise. in east, north (3) at the ends and the middle */
static void wind_cell(const double *east, const double *north, double width, double *c)
{
    const double per_width = width > 0.0 ? 1.0 / width : 0.0;
    c[RC_AIR_EAST] = east[0];
    c[RC_AIR_EAST_1] = (east[2] - east[0]) * per_width;
    c[RC_AIR_NORTH] = north[0];
    c[RC_AIR_NORTH_1] = (north[2] - north[0]) * per_width;
}

/* The gusts' part of a cell from low to high [m]. in per_width  1 over its width, 0 holds the first value [1/m] */
static void gust_cell(double low, double high, double per_width, double *c)
{
    const struct rc_gust_scale at_low = rc_gusts_scale(low), at_high = rc_gusts_scale(high);
    c[RC_AIR_GUST_LOW] = at_low.low_weight;
    c[RC_AIR_GUST_LOW_1] = (at_high.low_weight - at_low.low_weight) * per_width;
    c[RC_AIR_GUST_ALONG] = at_low.vertical_length;
    c[RC_AIR_GUST_ALONG_1] = (at_high.vertical_length - at_low.vertical_length) * per_width;
    c[RC_AIR_GUST_ACROSS] = at_low.horizontal_length;
    c[RC_AIR_GUST_ACROSS_1] = (at_high.horizontal_length - at_low.horizontal_length) * per_width;
    c[RC_AIR_GUST_RATIO] = at_low.ratio;
    c[RC_AIR_GUST_RATIO_1] = (at_high.ratio - at_low.ratio) * per_width;
}

/* Are the sites' airs, or the winds but for strength and direction, the same? */
static bool is_same_site(const struct rc_site_design *a, const struct rc_site_design *b)
{
    return a->elevation == b->elevation && a->temperature_offset == b->temperature_offset &&
           a->pressure_offset == b->pressure_offset;
}

static bool is_same_wind(const struct rc_wind_design *a, const struct rc_wind_design *b)
{
    return a->exponent == b->exponent && a->reference_height == b->reference_height && a->spread == b->spread;
}

void rc_model_fill_air(const struct rc_model *model, const struct rc_design *design, int first, int n, double *air)
{
    const struct rc_grid *const grid = &model->height;
    double height[2 * MAX_HEIGHT_KNOTS + 1], east[2 * MAX_HEIGHT_KNOTS + 1], north[2 * MAX_HEIGHT_KNOTS + 1];
    struct rc_air at[2 * MAX_HEIGHT_KNOTS + 1];
    const int last = grid->n_knots - 1;
    /* Knots and the middles between them: density is a parabola through all three. The last cell holds its first value. */
    for (int i = 0; i <= 2 * n; i++) {
        const int low = first + i / 2 < last ? first + i / 2 : last, high = low < last ? low + 1 : last;
        height[i] = i % 2 == 0 ? grid->knot[low] : 0.5 * (grid->knot[low] + grid->knot[high]);
    }
    /* What the base design has as well is only copied. */
    const bool has_base_wind = air != model->air && is_same_wind(&design->wind, &model->base.wind);
    struct rc_wind_design unit = design->wind;
    unit.speed = 1.0;
    unit.from = 0.0;
    rc_atmosphere_profile(&design->site, height, 2 * n + 1, at);
    if (!has_base_wind)
        rc_wind_profile(&unit, model->layout, height, 2 * n + 1, east, north);
    for (int i = 0; i < n; i++) {
        const double low = grid->knot[first + i], high = grid->knot[first + i < last ? first + i + 1 : last];
        const double width = high - low;
        double *const c = air + (first + i) * RC_N_AIR_COEFFICIENTS;
        if (has_base_wind) {
            memcpy(c, model->air + (first + i) * RC_N_AIR_COEFFICIENTS, RC_N_AIR_COEFFICIENTS * sizeof *c);
        } else {
            wind_cell(&east[2 * i], &north[2 * i], width, c);
            gust_cell(low, high, width > 0.0 ? 1.0 / width : 0.0, c);
        }
        air_cell(&at[2 * i], width, c);
    }
}

void rc_model_fill_aero(const struct rc_model *model, const struct rc_vehicle_design *vehicle, int first, int n,
                        struct rc_aero_cell *aero)
{
    const struct rc_grid *const grid = &model->mach;
    enum { N_COLUMNS = sizeof(struct rc_aero_point) / sizeof(double) };
    rc_aero_point_at(vehicle, model->layout, grid->knot[first], &aero[first].value);
    for (int i = first; i < first + n; i++) {
        aero[i].slope = (struct rc_aero_point){0};
        if (i == grid->n_knots - 1)
            return;
        struct rc_aero_point next;
        rc_aero_point_at(vehicle, model->layout, grid->knot[i + 1], &next);
        const double *const from = (const double *)&aero[i].value, *const to = (const double *)&next;
        double *const slope = (double *)&aero[i].slope;
        for (int column = 0; column < N_COLUMNS; column++)
            slope[column] = (to[column] - from[column]) / (grid->knot[i + 1] - grid->knot[i]);
        if (i + 1 < first + n)
            aero[i + 1].value = next;
    }
}

bool rc_model_same_air(const struct rc_design *a, const struct rc_design *b)
{
    return is_same_site(&a->site, &b->site) && is_same_wind(&a->wind, &b->wind);
}

bool rc_model_same_aero(const struct rc_design *a, const struct rc_design *b)
{
    const struct rc_vehicle_design *const u = &a->vehicle;
    const struct rc_vehicle_design *const v = &b->vehicle;
    bool is_same = u->diameter == v->diameter && u->length == v->length && u->nose_length == v->nose_length &&
        u->nose_exponent == v->nose_exponent && u->roughness == v->roughness;
    for (int set = 0; set < RC_MAX_FIN_SETS; set++) {
        const struct rc_fin_set *const f = &u->fins[set];
        const struct rc_fin_set *const g = &v->fins[set];
        is_same = is_same && f->root_chord == g->root_chord && f->tip_chord == g->tip_chord && f->span == g->span &&
                  f->sweep == g->sweep && f->thickness == g->thickness && f->station == g->station &&
                  f->root_radius == g->root_radius && f->front_share == g->front_share && f->back_share == g->back_share;
    }
    for (int i = 0; i < RC_MAX_SECTIONS; i++) {
        const struct rc_body_section *const s = &u->sections[i];
        const struct rc_body_section *const t = &v->sections[i];
        is_same = is_same && s->station == t->station && s->length == t->length && s->fore_diameter == t->fore_diameter &&
                  s->aft_diameter == t->aft_diameter;
    }
    return is_same;
}

int rc_model_step_ticks(const struct rc_model *model, double time, int64_t tick)
{
    const int slot = (int)(time / model->slot);
    const int ticks = model->slot_ticks[slot < model->n_slots ? slot : model->n_slots - 1];
    const int to_band = model->band_ticks - (int)(tick % model->band_ticks);
    const int to_gust = model->gust_ticks > 0 ? model->gust_ticks - (int)(tick % model->gust_ticks) : ticks;
    const int room = to_band < to_gust ? to_band : to_gust;
    /* Equal steps up to there, rather than full ones and a short rest. */
    const int n_steps = (room + ticks - 1) / ticks, equal = (room + n_steps - 1) / n_steps, span = model->clock.span;
    /* Whole spans, so that none is cut. */
    const int spans = (equal + span - 1) / span * span;
    return spans <= ticks && spans <= room ? spans : equal;
}

static int greatest_common_divisor(int a, int b)
{
    while (b != 0) {
        const int rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

/* What some platforms have. */
static void set_platform_clock(struct rc_platform_clock *clock, const struct rc_layout *layout)
{
    clock->has_play = layout->has_play;
    clock->has_cogging = layout->has_cogging;
    clock->has_gyro_extras = layout->has_gyro_extras;
    clock->has_control_extras = layout->has_control_extras;
    clock->has_battery = layout->has_battery;
    clock->has_failed_starts = layout->has_failed_starts;
    clock->has_torque_limit = layout->has_torque_limit;
    clock->turning = layout->turning;
    clock->failed_start = layout->failed_start;
    clock->has_encoder = layout->encoder_rate > 0;
    clock->encoder_every = clock->has_encoder ? clock->tick_rate / layout->encoder_rate : 1;
    clock->latency = layout->gyro_latency;
    clock->pull_out = layout->pull_out;
    memcpy(clock->height_px, layout->height_px, sizeof clock->height_px);
    memcpy(clock->camera_mount, layout->camera_mount, sizeof clock->camera_mount);
    memcpy(clock->has_line_time, layout->has_line_time, sizeof clock->has_line_time);
}

/* Ticks taken at once: from command to command, or a whole part of that up to 10 ms, where nothing must be seen tick by tick. */
static int choose_span(const struct rc_model *model, int finer)
{
    const struct rc_platform_clock *const clock = &model->clock;
    if (!model->drive->spans)
        return 1;
    const int most = (int)(longest_span * clock->tick_rate / finer + 1e-9), whole = clock->control_every / finer;
    int span = most < whole ? most : whole;
    while (span > 1 && whole % span != 0)
        span--;
    return span > 1 ? span : 1;
}

static void set_clock(struct rc_model *model)
{
    const struct rc_layout *const layout = model->layout;
    struct rc_platform_clock *const clock = &model->clock;
    const int sensed =
        layout->gyro_rate / greatest_common_divisor(layout->gyro_rate, layout->control_rate) * layout->control_rate;
    const int encoder = layout->encoder_rate > 0 ? layout->encoder_rate : 1;
    const int common = sensed / greatest_common_divisor(sensed, encoder) * encoder;
    const int finer = model->finer * (int)ceil(1.0 / layout->step_scale - 1e-9);
    double least = least_tick_rate;
    for (int camera = 0; camera < layout->n_cameras; camera++)
        least = fmax(least, layout->frame_rate[camera]);
    const int multiple = (int)ceil(least / common) * finer;
    clock->tick_rate = common * multiple;
    clock->dt = 1.0 / clock->tick_rate;
    clock->gyro_every = clock->tick_rate / layout->gyro_rate;
    clock->control_every = clock->tick_rate / layout->control_rate;
    clock->n_cameras = layout->n_cameras;
    memcpy(clock->frame_rate, layout->frame_rate, sizeof clock->frame_rate);
    clock->gyro_mount = layout->gyro_mount;
    clock->control_mode = layout->control_mode;
    clock->turns_mode = layout->turns_mode;
    clock->below_floor = layout->below_floor;
    set_platform_clock(clock, layout);
    clock->span = choose_span(model, finer);
    clock->full_span = clock->span * finer;
    const double ticks = layout->band_interval * clock->tick_rate;
    model->band_ticks = ticks > 1.0 ? (int)(ticks + 0.5) : 1;
    /* Counted in the ticks of unscaled steps: finer ones must not change when gusts are made. */
    const double gust_ticks = RC_GUST_INTERVAL * clock->tick_rate / finer;
    model->gust_ticks = layout->has_gusts ? finer * (gust_ticks > 1.0 ? (int)(gust_ticks + 0.5) : 1) : 0;
    model->gust_interval = model->gust_ticks > 0 ? model->gust_ticks * clock->dt : RC_GUST_INTERVAL;
}

void rc_model_halve_ticks(struct rc_model *model)
{
    model->finer *= 2;
    set_clock(model);
}

static rc_status make_tables(struct rc_model *model, struct rc_error *err)
{
    double height[MAX_HEIGHT_KNOTS], mach[MAX_MACH_KNOTS];
    rc_status status = rc_motor_table_create(&model->motor, &model->layout->thrust, err);
    if (status == RC_OK)
        status = rc_table_grid_create(&model->height, height, choose_heights(&model->base, model->layout, height), err);
    if (status == RC_OK)
        status = rc_table_grid_create(&model->mach, mach,
                                      rc_aero_knots(model->layout, rc_aero_mach_top(model->layout), mach, MAX_MACH_KNOTS), err);
    if (status != RC_OK)
        return status;
    model->air = malloc((size_t)model->height.n_knots * RC_N_AIR_COEFFICIENTS * sizeof *model->air);
    model->aero = malloc((size_t)model->mach.n_knots * sizeof *model->aero);
    if (model->air == NULL || model->aero == NULL)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the tables of the model");
    rc_model_fill_air(model, &model->base, 0, model->height.n_knots, model->air);
    rc_model_fill_aero(model, &model->base.vehicle, 0, model->mach.n_knots, model->aero);
    return RC_OK;
}

rc_status rc_model_create(struct rc_model **model, const struct rc_design *base, const struct rc_layout *layout,
                          const struct rc_design *samples, int n_samples, struct rc_error *err)
{
    rc_status status = RC_OK;
    const struct rc_design **pilots = NULL;
    struct rc_model *made = calloc(1, sizeof *made);
    if (made == NULL)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the model");
    made->base = *base;
    made->layout = layout;
    made->finer = 1;
    made->drive = rc_platform_drive_find(layout->drive_kind);
    if (made->drive == NULL) {
        status = rc_error_fill(err, RC_BAD_INPUT, NULL, "there is no drive of the kind \"%.40s\"", layout->drive_kind);
        goto done;
    }
    set_clock(made);
    status = make_tables(made, err);
    if (status != RC_OK)
        goto done;
    pilots = malloc((size_t)(n_samples + 1) * sizeof(*pilots)); /* NOLINT(bugprone-sizeof-expression): pointers are meant */
    if (pilots == NULL) {
        status = rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for %d pilot flights", n_samples + 1);
        goto done;
    }
    pilots[0] = base;
    for (int i = 0; i < n_samples; i++)
        pilots[i + 1] = &samples[i];
    status = rc_schedule_make(made, pilots, n_samples + 1, err);
done:
    free(pilots);
    if (status == RC_OK)
        *model = made;
    else
        rc_model_free(made);
    return status;
}

void rc_model_free(struct rc_model *model)
{
    if (model == NULL)
        return;
    rc_motor_table_free(&model->motor);
    rc_table_grid_free(&model->height);
    rc_table_grid_free(&model->mach);
    free(model->air);
    free(model->aero);
    free(model->slot_ticks);
    free(model);
}
