/* Makes and frees the campaign handle: text, settings, quantities, tables, criteria, checks, model, in this order. A campaign
 * from a file and one from a store's bundle take the same way; they differ only in where tables may come from. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "campaign_handle.h"
#include "checks.h"
#include "correlations.h"
#include "criteria.h"
#include "masses.h"
#include "inputs.h"
#include "locale_c.h"
#include "platform/platform.h"
#include "review.h"
#include "setup.h"
#include "sweeps.h"
#include "walk.h"

enum {
    N_SAMPLES = 15, /* designs that show the model what is uncertain      */
    N_CHECKED = 256 /* drawn flights whose relations are checked          */
};

/* Samples and checks are drawn at this seed whatever the run's, so that neither the model nor the verdict on the file
 * depends on the run. */
static const uint64_t sample_seed = 1;

static bool is_given(const struct rc_reader *reader, const char *path)
{
    return rc_read_node(reader, path) != NULL;
}

/* Nobody pays for a skewed vehicle who gives none of what skews it. */
static int is_straight(const struct rc_reader *reader, const struct rc_tables *tables)
{
    return tables->aero.column[1 + RC_AERO_INDUCED_ROLL] == NULL && !is_given(reader, "vehicle.mass.offset_m") &&
           !is_given(reader, "motor.tilt_deg") && !is_given(reader, "motor.offset_m") &&
           !is_given(reader, "motor.swirl_m") && !is_given(reader, "aero.induced_roll");
}

/* What a platform has is what its campaign gives a number for: nobody pays for the rest. */
static void fill_platform(struct rc_layout *layout, const struct rc_settings *settings, const struct rc_reader *reader)
{
    layout->has_play = is_given(reader, "drive.backlash_deg");
    layout->has_cogging = is_given(reader, "drive.cogging_Nm");
    layout->has_gyro_extras = is_given(reader, "gyro.bandwidth_hz") || is_given(reader, "gyro.cross_pitch") ||
        is_given(reader, "gyro.cross_yaw") || is_given(reader, "gyro.load_dps_per_mps2") ||
        is_given(reader, "gyro.bias_drift_dps_per_min");
    layout->has_control_extras = reader->has_encoder || is_given(reader, "controller.feed_forward") ||
        is_given(reader, "controller.still_dps") || is_given(reader, "controller.still_deg") ||
        is_given(reader, "drive.command_step_dps") || settings->turning != RC_TURNING_BOTH;
    layout->has_torque_limit = is_given(reader, "drive.torque_limit_Nm");
    layout->has_failed_starts = is_given(reader, "drive.start_odds");
    layout->turning = (enum rc_turning)settings->turning;
    layout->failed_start = (enum rc_failed_start)settings->failed_start;
    layout->has_battery = reader->has_battery;
    layout->encoder_rate = (int)settings->encoder_rate;
    layout->gyro_latency = settings->gyro_latency;
    for (int camera = 0; camera < settings->n_cameras; camera++) {
        const struct rc_camera_settings *one = &settings->cameras[camera];
        char path[RC_MAX_PATH_TEXT];
        (void)snprintf(path, sizeof path, "cameras[%d].line_time_us", camera);
        layout->frame_rate[camera] = (int)one->frame_rate;
        layout->width_px[camera] = (int)one->width;
        layout->height_px[camera] = (int)(one->height > 0 ? one->height : one->width * 9 / 16);
        layout->camera_mount[camera] = (enum rc_camera_mount)one->mount;
        layout->has_line_time[camera] = is_given(reader, path);
    }
}

static void fill_layout(struct rc_campaign *campaign, const struct rc_reader *reader)
{
    const struct rc_settings *settings = &campaign->settings;
    struct rc_layout *layout = &campaign->layout;
    *layout = (struct rc_layout){.n_fin_sets = settings->n_fin_sets,
                                 .n_sections = settings->n_sections,
                                 .nose_shape = (enum rc_nose_shape)settings->nose_shape,
                                 .drive_kind = rc_platform_drive_at(settings->drive_kind)->name,
                                 .below_floor = (enum rc_below_floor)settings->below_floor,
                                 .gyro_mount = (enum rc_gyro_mount)settings->gyro_mount,
                                 .gyro_rate = (int)settings->gyro_rate,
                                 .control_mode = (enum rc_control_mode)settings->acts_on,
                                 .turns_mode = (enum rc_turns_mode)settings->turns,
                                 .control_rate = (int)settings->control_rate,
                                 .n_cameras = settings->n_cameras,
                                 .has_gusts = reader->has_gusts,
                                 .has_descent = reader->has_descent,
                                 .band_interval = settings->band_interval,
                                 .n_band_times = (int)(settings->time_limit / settings->band_interval) + 1,
                                 .time_limit = settings->time_limit,
                                 .step_scale = 1};
    for (int set = 0; set < settings->n_fin_sets; set++)
        layout->n_fins[set] = (int)settings->fins[set].count;
    layout->is_straight = is_straight(reader, &campaign->tables);
    fill_platform(layout, settings, reader);
    rc_tables_lend(&campaign->tables, &campaign->values.base, layout);
}

/* Do drawn flights keep the relations the base design keeps? The first that does not is reported. */
static void check_drawn(const struct rc_campaign *campaign, const struct rc_reader *reader)
{
    double drawn[RC_MAX_UNCERTAIN];
    int n_broken = 0, n_outside = 0;
    const char *first_path = "";
    const char *first_wanted = NULL;
    for (uint64_t flight = 0; flight < N_CHECKED; flight++) {
        struct rc_design design;
        const char *path = "";
        campaign->plan->draw(&campaign->values.sampling, sample_seed, flight, drawn);
        rc_values_design(&design, &campaign->values, drawn);
        const char *wanted = rc_checks_flight(&design, &campaign->settings, &path);
        n_broken += wanted != NULL;
        n_outside += !rc_masses_is_propellant_inside(&design, &campaign->settings);
        if (wanted && !first_wanted) {
            first_wanted = wanted;
            first_path = path;
        }
    }
    if (first_wanted)
        rc_read_report(reader, first_path, NULL,
                       "drawn at random, %d of %d flights break what every flight must keep: wanted %s; narrow the "
                       "distributions",
                       n_broken, N_CHECKED, first_wanted);
    if (n_outside > 0)
        rc_read_warn(reader, "vehicle.mass.burnt_cm_m",
                     "drawn at random, in %d of %d flights the propellant would lie outside the vehicle; correlate masses and "
                     "centres of mass with and without it, or narrow their distributions",
                     n_outside, N_CHECKED);
}

/* Drawn flights that sink too slowly to be followed down, from the middle design's apogee. */
static void check_descents(const struct rc_campaign *campaign, const struct rc_reader *reader, double apogee)
{
    double drawn[RC_MAX_UNCERTAIN];
    int n_endless = 0;
    for (uint64_t flight = 0; flight < N_CHECKED; flight++) {
        struct rc_design design;
        campaign->plan->draw(&campaign->values.sampling, sample_seed, flight, drawn);
        rc_values_design(&design, &campaign->values, drawn);
        n_endless += rc_descent_is_endless(&design.descent, apogee);
    }
    if (n_endless > 0)
        rc_read_warn(reader, "descent",
                     "drawn at random, %d of %d flights sink so slowly under their canopies that they may not be followed to the "
                     "ground: their landing stays blank and meets no criterion; check drag areas and mass_kg",
                     n_endless, N_CHECKED);
}

static rc_status make_model(struct rc_campaign *campaign, const struct rc_reader *reader)
{
    struct rc_design *samples = calloc(N_SAMPLES, sizeof *samples);
    if (!samples)
        return RC_NO_MEMORY;
    double drawn[RC_MAX_UNCERTAIN];
    for (int sample = 0; sample < N_SAMPLES; sample++) {
        campaign->plan->draw(&campaign->values.sampling, sample_seed, (uint64_t)sample, drawn);
        rc_values_design(&samples[sample], &campaign->values, drawn);
    }
    struct rc_error err = {.status = RC_OK};
    const rc_status status =
        rc_model_create(&campaign->model, &campaign->values.base, &campaign->layout, samples, N_SAMPLES, &err);
    if (status != RC_OK && status != RC_NO_MEMORY)
        rc_read_report(reader, "", NULL, "%s%s%s", err.where, err.where[0] != '\0' ? ": " : "", err.what);
    free(samples);
    return status;
}

/* Of the greatest axial specific force so far, the magnitude. in/out user  [m/s2] */
static void take_load(void *user, const struct rc_moment *moment)
{
    double *const greatest = user;
    *greatest = fmax(*greatest, fabs(moment->load));
}

/* Fly the base design once: a motor that cannot lift it, or a tail that does not keep it straight, would spoil every flight. */
static rc_status warn_of_base(struct rc_campaign *campaign, const struct rc_reader *reader)
{
    struct rc_block *block = NULL;
    struct rc_error err = {.status = RC_OK};
    struct rc_record *const record = &campaign->middle;
    const uint64_t flight = 0;
    const rc_status status = rc_block_create(&block, campaign->model, &err);
    if (status != RC_OK)
        return status;
    const struct rc_design *const base = &campaign->values.base;
    double load = 0.0;
    rc_block_fly(block, base, sample_seed, &flight, 1, record, take_load, &load);
    rc_block_free(block);
    rc_review_flight(reader, &campaign->values, record);
    rc_review_reach(reader, &campaign->values, &campaign->layout, record);
    if (reader->has_descent && isfinite(record->measure[RC_MEASURE_landing_speed_mps]))
        check_descents(campaign, reader, record->measure[RC_MEASURE_apogee_m]);
    const struct rc_burden burden = {&base->platform, &base->drive, &campaign->layout.pull_out, load};
    rc_review_load(reader, rc_platform_drive_at(campaign->settings.drive_kind), &burden);
    return RC_OK;
}

/* Settle the plan and hold it against what it has to serve. */
static void settle_plan(struct rc_campaign *campaign, const struct rc_reader *reader)
{
    const uint64_t n_flights = (uint64_t)campaign->settings.flights;
    struct rc_error err = {.status = RC_OK};
    campaign->plan = rc_plan_at(campaign->settings.plan);
    campaign->values.sampling.n_planned = n_flights;
    if (campaign->plan->check && campaign->plan->check(&campaign->values.sampling, n_flights, &err) != RC_OK)
        rc_read_report(reader, err.where, NULL, "%s", err.what);
}

/* What only a vehicle needs: relations between its numbers, and the model. */
static rc_status make_vehicle(struct rc_campaign *campaign, const struct rc_reader *reader)
{
    const struct rc_issues *issues = reader->issues;
    fill_layout(campaign, reader);
    rc_checks_run(reader, &campaign->settings, &campaign->values, &campaign->layout.pull_out);
    if (issues->n_errors == 0)
        check_drawn(campaign, reader);
    if (issues->n_errors > 0)
        return RC_OK;
    rc_review_shape(reader, &campaign->values.base, &campaign->layout);
    rc_review_vehicle(reader, &campaign->values, &campaign->layout);
    rc_tables_review(&campaign->tables, reader, &campaign->values.base, &campaign->layout);
    const rc_status status = make_model(campaign, reader);
    return status == RC_OK && issues->n_errors == 0 ? warn_of_base(campaign, reader) : status;
}

/* Everything after the text is in the bundle. Each stage starts only when the one before it left no errors it would repeat. */
static rc_status make(struct rc_campaign *campaign, const char *folder, struct rc_issues *issues)
{
    struct rc_reader reader = {0};
    rc_status status = rc_read_parse(&reader, &campaign->bundle.file[0], issues);
    if (status != RC_OK)
        return status;
    reader.bundle = &campaign->bundle;
    reader.folder = folder;
    rc_walk_keys(&reader);
    rc_setup_read(&campaign->settings, &reader);
    rc_values_read(&campaign->values, &reader, &campaign->settings);
    rc_criteria_make(campaign->criterion, &campaign->together, &reader, &campaign->settings);
    status = rc_tables_read(&campaign->tables, &campaign->bundle, &reader, &campaign->settings, folder);
    if (status == RC_OK && issues->n_errors == 0) {
        status = rc_correlations_make(&campaign->copula, &reader, &campaign->settings, &campaign->values);
        campaign->values.sampling.copula = campaign->copula;
        settle_plan(campaign, &reader);
    }
    if (status == RC_OK && issues->n_errors == 0)
        status = reader.is_formula ? rc_inputs_read(&campaign->formula, &reader, &campaign->settings, &campaign->values)
                                   : make_vehicle(campaign, &reader);
    if (status == RC_OK && issues->n_errors == 0 && reader.is_formula)
        rc_review_entries(&reader, &campaign->values);
    if (status == RC_OK && issues->n_errors == 0 && campaign->settings.n_sweeps > 0)
        status = rc_sweeps_check(campaign, &reader);
    rc_read_free(&reader);
    return status == RC_OK && issues->n_errors > 0 ? RC_BAD_INPUT : status;
}

/* The same under the "C" locale of this thread, so that numbers have points whatever the program's locale. */
static rc_status make_in_c_locale(struct rc_campaign *campaign, const char *folder, struct rc_issues *issues)
{
    struct rc_locale numbers;
    if (!rc_locale_enter(&numbers))
        return RC_NO_MEMORY;
    const rc_status status = make(campaign, folder, issues);
    rc_locale_leave(&numbers);
    return status;
}

rc_status rc_campaign_from_bundle(rc_campaign **campaign, const struct rc_bundle *bundle, struct rc_issues *issues)
{
    *issues = (struct rc_issues){0};
    struct rc_error err = {.status = RC_OK};
    rc_status status = RC_OK;
    struct rc_campaign *made = calloc(1, sizeof *made);
    if (!made)
        return RC_NO_MEMORY;
    for (int index = 0; index < bundle->n_files && status == RC_OK; index++) {
        const struct rc_bundle_file *file = &bundle->file[index];
        status = rc_bundle_add(&made->bundle, file->name, file->bytes, file->n_bytes, &err);
    }
    if (status == RC_OK && made->bundle.n_files == 0) {
        rc_issues_add(issues, "", "there is no campaign text; wanted at least one file");
        status = RC_BAD_INPUT;
    }
    if (status == RC_OK)
        status = make_in_c_locale(made, NULL, issues);
    if (status == RC_OK)
        *campaign = made;
    else
        rc_campaign_free(made);
    return status;
}

rc_status rc_campaign_load(rc_campaign **campaign, const char *path, struct rc_issues *issues)
{
    *issues = (struct rc_issues){0};
    struct rc_error err = {.status = RC_OK};
    struct rc_text folder = {0};
    char *bytes = NULL;
    size_t n_bytes = 0;
    struct rc_campaign *made = calloc(1, sizeof *made);
    rc_status status = made ? rc_file_read(&bytes, &n_bytes, path, RC_MAX_FILE_BYTES, &err) : RC_NO_MEMORY;
    if (status == RC_NO_FILE || status == RC_BAD_INPUT)
        rc_issues_add(issues, err.where, "%s", err.what);
    if (status != RC_OK)
        goto done;
    const char *slash = strrchr(path, '/');
    const char *name = strcmp(path, "-") == 0 ? "standard-input.json" : slash ? slash + 1 : path;
    rc_text_add_bytes(&folder, path, slash ? (size_t)(slash - path) + 1 : 0);
    rc_text_add(&folder, "%s", "");
    status = folder.failed ? RC_NO_MEMORY : rc_bundle_add(&made->bundle, name, bytes ? bytes : "", n_bytes, &err);
    if (status == RC_OK)
        status = make_in_c_locale(made, folder.bytes ? folder.bytes : "", issues);
    if (status == RC_OK) {
        *campaign = made;
        made = NULL;
    }
done:
    rc_text_free(&folder);
    free(bytes);
    rc_campaign_free(made);
    return status;
}

void rc_campaign_free(rc_campaign *campaign)
{
    if (!campaign)
        return;
    rc_model_free(campaign->model);
    rc_tables_free(&campaign->tables);
    rc_copula_free(campaign->copula);
    rc_formula_free(campaign->formula);
    rc_values_free(&campaign->values);
    rc_bundle_free(&campaign->bundle);
    free(campaign);
}
