/* Relations between entries. Each check names both entries and what to do. Ranges of single entries are the tables'. */
#include "checks.h"

#include <math.h>
#include <string.h>

#include "masses.h"
#include "platform/platform.h"
#include "review.h"
#include "shape.h"

enum {
    TICK_MOST = 2000,    /* common ticks of gyro and controller [Hz]   */
    HEIGHT_LEAST = 16    /* of a picture that gives one, as of the width [px] */
};

static const double to_deg = 57.29577951308232;

/* A relation that every flight must meet. */
struct relation {
    const char *path; /* entry to complain about */
    const char *wanted;
    bool is_met;
};

enum { N_RELATIONS = 12 };

static void relate(struct relation *relation, const struct rc_design *d)
{
    const struct rc_vehicle_design *v = &d->vehicle;
    const double half_roll_inertia = 0.5 * fmin(v->ix_burnt, v->ix_loaded);
    const struct relation all[N_RELATIONS] = {
        {"vehicle.mass.burnt_kg", "at most loaded_kg", v->mass_burnt <= v->mass_loaded},
        {"vehicle.mass.burnt_roll_inertia_kgm2", "at most loaded_roll_inertia_kgm2", v->ix_burnt <= v->ix_loaded},
        {"vehicle.mass.burnt_pitch_inertia_kgm2", "at most loaded_pitch_inertia_kgm2", v->iy_burnt <= v->iy_loaded},
        {"vehicle.mass.loaded_cm_m", "a place inside the vehicle, between 0 and vehicle.length_m",
         v->cm_loaded > 0 && v->cm_loaded < v->length},
        {"vehicle.mass.burnt_cm_m", "a place inside the vehicle, between 0 and vehicle.length_m",
         v->cm_burnt > 0 && v->cm_burnt < v->length},
        {"vehicle.nose.length_m", "less than vehicle.length_m", v->nose_length < v->length},
        {"vehicle.length_m", "more than vehicle.diameter_m", v->length > v->diameter},
        {"drive.deadband_dps", "less than drive.top_dps", d->drive.deadband < d->drive.top},
        {"battery.low_V", "at most battery.full_V", d->drive.battery.low <= d->drive.battery.full},
        {"platform.inertia_kgm2", "at most half of the vehicle's smallest roll inertia (check both, or lighten the platform)",
         d->platform.inertia <= half_roll_inertia},
        /* By Cauchy (J + N Jr)^2 <= (J + Jr)(J + N^2 Jr): so the inertia that the motor feels, J + N^2 Jr - (J + N Jr)^2 / Ix,
         * keeps at least half of itself, whatever the gear, and so does the rotor's alone in the play. */
        {"drive.rotor_inertia_kgm2",
         "with platform.inertia_kgm2 at most half of the vehicle's smallest roll inertia (check the unit: the rotor's own, not "
         "times gear_ratio squared)",
         d->platform.inertia > half_roll_inertia || d->platform.inertia + d->platform.rotor_inertia <= half_roll_inertia},
        {"platform.mass_kg", "less than vehicle.mass.burnt_kg, which includes the platform", d->platform.mass < v->mass_burnt},
    };
    memcpy(relation, all, sizeof all);
}

const char *rc_checks_flight(const struct rc_design *design, const struct rc_settings *settings, const char **path)
{
    struct relation relation[N_RELATIONS];
    relate(relation, design);
    for (int index = 0; index < N_RELATIONS; index++) {
        if (!relation[index].is_met) {
            *path = relation[index].path;
            return relation[index].wanted;
        }
    }
    const struct rc_drive_kind *const kind = rc_platform_drive_at(settings->drive_kind);
    const struct rc_burden burden = {.parts = &design->platform, .drive = &design->drive};
    for (int index = 0; index < kind->n_rules; index++) {
        const struct rc_drive_rule *const rule = &kind->rules[index];
        if (rule->torque == NULL && !rc_platform_meets(rule, &burden)) {
            *path = rule->entry;
            return rule->wanted;
        }
    }
    const char *const wanted = rc_masses_fault(design, settings, path);
    return wanted ? wanted : rc_shape_fault(design, settings, path);
}

static double entry_value(const struct rc_values *values, const char *path)
{
    for (int index = 0; index < values->n; index++) {
        if (strcmp(values->entry[index].path, path) == 0)
            return values->entry[index].value;
    }
    return NAN;
}

/* Report the first fault that a function finds in the middle design. */
static void report_fault(const struct rc_reader *reader, const struct rc_values *values,
                         const char *find(const struct rc_design *, const struct rc_settings *, const char **),
                         const struct rc_settings *settings)
{
    const char *path = "";
    const char *const wanted = find(&values->base, settings, &path);
    if (wanted)
        rc_read_report(reader, path, NULL, "got %.10g, wanted %s", entry_value(values, path), wanted);
}

static void check_base(const struct rc_reader *reader, const struct rc_settings *settings, const struct rc_values *values)
{
    struct relation relation[N_RELATIONS];
    relate(relation, &values->base);
    for (int index = 0; index < N_RELATIONS; index++) {
        if (!relation[index].is_met)
            rc_read_report(reader, relation[index].path, NULL, "got %.10g, wanted %s", entry_value(values, relation[index].path),
                           relation[index].wanted);
    }
    report_fault(reader, values, rc_shape_fault, settings);
    if (reader->issues->n_errors == 0) /* by extents that can be */
        report_fault(reader, values, rc_masses_fault, settings);
    if (reader->issues->n_errors == 0)
        rc_masses_check_propellant(reader, settings, &values->base);
    if (values->base.drive.jump < values->base.drive.floor)
        rc_read_report(reader, "drive.jump_dps", NULL, "got %.10g, wanted at least floor_dps, which is %.10g",
                       values->base.drive.jump * to_deg, values->base.drive.floor * to_deg);
    if (values->base.platform.load_mu > 0 && !(values->base.platform.bearing_diameter > 0))
        rc_read_report(reader, "platform.bearing.diameter_m", NULL,
                       "got 0 while load_friction is %.4g, wanted the diameter on which the load acts",
                       values->base.platform.load_mu);
}

static int64_t common_divisor(int64_t a, int64_t b)
{
    while (b != 0) {
        const int64_t rest = a % b;
        a = b;
        b = rest;
    }
    return a;
}

static int64_t common_tick(int64_t a, int64_t b)
{
    return a / common_divisor(a, b) * b;
}

/* The rate nearest to `wanted` that shares a tick of at most TICK_MOST with `given`. */
static int64_t nearest_rate(int64_t wanted, int64_t given)
{
    for (int64_t off = 1; off < TICK_MOST; off++) {
        if (wanted - off >= 1 && common_tick(wanted - off, given) <= TICK_MOST)
            return wanted - off;
        if (wanted + off <= TICK_MOST && common_tick(wanted + off, given) <= TICK_MOST)
            return wanted + off;
    }
    return given;
}

/* An entry that 0 switches off may be drawn, but not be switched off by a draw: the least value of its law is looked at. */
static void check_drawn_above_zero(const struct rc_reader *reader, const struct rc_values *values, const char *path)
{
    static const double least_share = 0x1p-53; /* no draw is closer to the law's end */
    for (int index = 0; index < values->n; index++) {
        const struct rc_entry *const entry = &values->entry[index];
        if (strcmp(entry->path, path) != 0 || entry->uncertain < 0)
            continue;
        const double least = rc_distribution_value(&values->uncertain[entry->uncertain].distribution, least_share);
        if (!(least > 0))
            rc_read_report(reader, path, NULL,
                           "can be drawn as %.4g, where 0 stands for none; wanted a distribution that stays above 0, or the "
                           "plain number 0", least);
    }
}

/* What the drive itself asks of its numbers and its load. */
static void check_drive(const struct rc_reader *reader, const struct rc_settings *settings, const struct rc_values *values,
                        const struct rc_pull_out_points *pull_out)
{
    const struct rc_drive_kind *const kind = rc_platform_drive_at(settings->drive_kind);
    const struct rc_burden burden = {.parts = &values->base.platform, .drive = &values->base.drive, .pull_out = pull_out};
    for (int index = 0; index < kind->n_rules; index++) {
        const struct rc_drive_rule *const rule = &kind->rules[index];
        if (rule->is_off_at_zero)
            check_drawn_above_zero(reader, values, rule->entry);
        if (rc_platform_meets(rule, &burden))
            continue;
        if (rule->torque == NULL)
            rc_read_report(reader, rule->entry, NULL, "got %.10g, wanted %s", entry_value(values, rule->entry), rule->wanted);
        else
            rc_read_report(reader, rule->entry, NULL,
                           "this drive cannot turn its load: its %s is %.4g N m at the platform, wanted more than the friction "
                           "at standstill, which is %.4g N m; take a stronger motor or a higher gear_ratio",
                           rule->wanted, rule->torque(&burden), rc_platform_friction_at_rest(&burden));
    }
    if (kind->needs_rotor && reader->has_play && !(values->base.platform.rotor_inertia > 0))
        rc_read_report(reader, "drive.rotor_inertia_kgm2", NULL,
                       "got 0 with backlash, wanted the rotor's inertia: in the play the motor turns it alone");
}

/* Settings that only some drives have a use for; which, their rows say. */
static void check_drive_settings(const struct rc_reader *reader, const struct rc_settings *settings)
{
    char names[128];
    if (settings->failed_start == RC_FAILED_START_LOCK_OUT && !rc_read_node(reader, "drive.start_odds")) {
        rc_read_drive_names(names, sizeof names, rc_read_drives(rc_quantities_find("drive.start_odds")->when));
        rc_read_report(reader, "drive.failed_start", NULL,
                       "has no effect without drive.start_odds, which drive.kind %s takes; add it or remove this", names);
    }
    if (settings->pull_out_file[0] != '\0' && !rc_platform_drive_at(settings->drive_kind)->takes_pull_out) {
        rc_read_drive_names(names, sizeof names, rc_read_drives(RC_WHEN_WINDING));
        rc_read_report(reader, "drive.pull_out_csv", NULL, "is for drive.kind %s only; remove it, or change the kind", names);
    }
}

/* What gyro, encoder and cameras need of each other. */
static void check_sensors(const struct rc_reader *reader, const struct rc_settings *settings)
{
    const bool on_platform = settings->gyro_mount == RC_GYRO_ON_PLATFORM;
    if (settings->acts_on == RC_CONTROL_ANGLE && !on_platform && !reader->has_encoder)
        rc_read_report(reader, "gyro.mount", NULL,
                       "got \"vehicle\", wanted \"platform\": a controller that acts on the angle needs the platform's own rate, "
                       "or an encoder");
    if (reader->has_encoder && settings->encoder_rate < 1)
        rc_read_report(reader, "encoder.rate_hz", NULL, "missing: wanted the samples per second of the encoder, 1 to 2000");
    if (rc_read_node(reader, "controller.feed_forward") && on_platform && !reader->has_encoder)
        rc_read_report(reader, "controller.feed_forward", NULL,
                       "needs the vehicle's own roll rate, which a gyro on the platform sees only with an encoder; add "
                       "`encoder`, or put the gyro on the vehicle");
    if (settings->gyro_latency * (double)settings->gyro_rate > RC_MAX_LATENCY - 2)
        rc_read_report(reader, "gyro.latency_s", NULL, "got %.6g s, more than %d samples under way; wanted at most %.4g s",
                       settings->gyro_latency, RC_MAX_LATENCY - 2, (RC_MAX_LATENCY - 2) / (double)settings->gyro_rate);
    check_drive_settings(reader, settings);
    bool is_all_fixed = settings->n_cameras > 0;
    for (int camera = 0; camera < settings->n_cameras; camera++)
        is_all_fixed = is_all_fixed && settings->cameras[camera].mount == RC_CAMERA_ON_VEHICLE;
    if (is_all_fixed)
        rc_read_report(reader, "cameras", NULL,
                       "all cameras are fixed to the vehicle, which is for comparison; wanted at least one on the platform");
}

static void check_rates(const struct rc_reader *reader, const struct rc_settings *settings)
{
    const int64_t sensed = common_tick(settings->gyro_rate, settings->control_rate);
    const int64_t tick = settings->encoder_rate > 0 && sensed <= TICK_MOST ? common_tick(sensed, settings->encoder_rate) : sensed;
    if (tick > TICK_MOST && sensed <= TICK_MOST)
        rc_read_report(reader, "encoder.rate_hz", NULL,
                       "got %d, which has no common tick of at most %d Hz with gyro and controller (%d Hz); nearest: %d",
                       (int)settings->encoder_rate, TICK_MOST, (int)sensed, (int)nearest_rate(settings->encoder_rate, sensed));
    if (sensed > TICK_MOST)
        rc_read_report(
            reader, "controller.rate_hz", NULL,
            "gyro.rate_hz %d and controller.rate_hz %d have no common tick of at most %d Hz (theirs is %lld); use rates that "
            "divide each other, nearest for the controller: %d",
            (int)settings->gyro_rate, (int)settings->control_rate, TICK_MOST, (long long)sensed,
            (int)nearest_rate(settings->control_rate, settings->gyro_rate));
    if (settings->time_limit / settings->band_interval > RC_MAX_BAND_TIMES - 1)
        rc_read_report(reader, "run.band_interval_s", NULL,
                       "got %.6g s over a time limit of %.6g s, more than %d band times; wanted at least %.6g s",
                       settings->band_interval, settings->time_limit, RC_MAX_BAND_TIMES,
                       ceil(settings->time_limit / (RC_MAX_BAND_TIMES - 1) * 1000) / 1000);
}

/* One camera's picture and times, and a name of its own. */
static void check_camera(const struct rc_reader *reader, const struct rc_settings *settings, const struct rc_values *values,
                         int camera)
{
    const struct rc_camera_settings *const one = &settings->cameras[camera];
    const int rate = (int)one->frame_rate, height = (int)(one->height > 0 ? one->height : one->width * 9 / 16);
    const double frame = 1 / (double)rate, shutter = values->base.camera[camera].shutter;
    const double line_time = values->base.camera[camera].line_time;
    char path[RC_MAX_PATH_TEXT];
    (void)snprintf(path, sizeof path, "cameras[%d].shutter_s", camera);
    if (shutter > frame * (1 + 1e-9))
        rc_read_report(reader, path, NULL, "got %.10g s, longer than a frame at %d frames per second; wanted at most %.6g s",
                       shutter, rate, frame);
    (void)snprintf(path, sizeof path, "cameras[%d].line_time_us", camera);
    if (line_time * (height - 1) > frame * (1 + 1e-9))
        rc_read_report(reader, path, NULL,
                       "got %.10g us, over %d lines longer than a frame at %d frames per second; wanted at most %.4g us",
                       line_time * 1e6, height, rate, floor(frame / (height - 1) * 1e8) / 100);
    (void)snprintf(path, sizeof path, "cameras[%d].height_px", camera);
    if (one->height > 0 && one->height < HEIGHT_LEAST)
        rc_read_report(reader, path, NULL, "got %d, wanted at least %d, or 0 for 9/16 of the width", height, HEIGHT_LEAST);
    (void)snprintf(path, sizeof path, "cameras[%d].name", camera);
    for (int other = 0; other < camera; other++) {
        if (strcmp(one->name, settings->cameras[other].name) == 0)
            rc_read_report(reader, path, NULL, "\"%s\" is the name of cameras[%d] already; give each camera its own", one->name,
                           other);
    }
}

void rc_checks_run(const struct rc_reader *reader, const struct rc_settings *settings, const struct rc_values *values,
                   const struct rc_pull_out_points *pull_out)
{
    check_base(reader, settings, values);
    check_drive(reader, settings, values, pull_out);
    check_sensors(reader, settings);
    check_rates(reader, settings);
    for (int camera = 0; camera < settings->n_cameras; camera++)
        check_camera(reader, settings, values, camera);
    if (reader->issues->n_errors == 0) {
        rc_review_values(reader, values);
        rc_review_criteria(reader, settings);
    }
}
