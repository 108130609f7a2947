/* How the things of a campaign are put together, as text and JSON: vehicle, drive, gyro, controller, cameras and what there is
 * beside. Numbers that may be uncertain are shown with their middle; in full they are report_campaign.c's. */
#include "report_layout.h"

#include <string.h>

#include "figures.h"
#include "wording.h"

/* Total impulse of the thrust table as given, linear between rows [N s]. */
static double table_impulse(const struct rc_thrust_points *thrust)
{
    double impulse = 0.0;
    for (int row = 1; row < thrust->n; row++) {
        impulse += 0.5 * (thrust->thrust[row] + thrust->thrust[row - 1]) * (thrust->time[row] - thrust->time[row - 1]);
    }
    return impulse;
}

/* From its first row to the last [s]. */
static double table_time(const struct rc_thrust_points *thrust)
{
    return thrust->n > 0 ? thrust->time[thrust->n - 1] - thrust->time[0] : 0.0;
}

static void write_vehicle(FILE *out, const struct rc_layout *layout)
{
    const struct rc_thrust_points *thrust = &layout->thrust;

    fprintf(out, "  vehicle     %s nose, ", rc_wording_nose(layout->nose_shape));
    if (layout->n_sections > 0) {
        fprintf(out, "%d body section%s, ", layout->n_sections, layout->n_sections == 1 ? "" : "s");
    }
    fprintf(out, "%d fin set%s (", layout->n_fin_sets, layout->n_fin_sets == 1 ? "" : "s");
    for (int set = 0; set < layout->n_fin_sets; set++) {
        fprintf(out, "%s%d", set > 0 ? " + " : "", layout->n_fins[set]);
    }
    fprintf(out, " fins)\n");
    if (thrust->n > 0) {
        fprintf(out, "  motor       thrust table of %d rows, %.4g s, %.4g N s\n", thrust->n,
                table_time(thrust), table_impulse(thrust));
    }
    if (layout->aero.n > 0) {
        fprintf(out, "  aero table  %d rows over Mach; coefficients not in it come from the geometry\n", layout->aero.n);
    } else {
        fprintf(out, "  aero        all coefficients come from the geometry\n");
    }
    if (layout->wind.n > 0) {
        fprintf(out, "  wind        table of %d heights\n", layout->wind.n);
    } else {
        fprintf(out, "  wind        power law over height\n");
    }
    fprintf(out, "  gusts       %s\n", layout->has_gusts ? "continuous turbulence on the ascent" : "none");
    fprintf(out, "  descent     %s\n", layout->has_descent ? "flown to the ground" : "none: flights end at apogee");
}

/* A number of the campaign by its path; its own path is empty where the campaign has none. */
static struct rc_quantity_view quantity_at(const rc_campaign *campaign, const char *path)
{
    for (int index = 0; index < rc_campaign_quantity_count(campaign); index++) {
        const struct rc_quantity_view view = rc_campaign_quantity(campaign, index);
        if (strcmp(view.path, path) == 0) {
            return view;
        }
    }
    return (struct rc_quantity_view){.path = ""};
}

/* Is there a rate below which the drive does not turn? */
static int has_floor(const rc_campaign *campaign)
{
    return quantity_at(campaign, "drive.floor_dps").path[0] != '\0';
}

/* A number with its unit, of an uncertain one the median. */
static void add_number(char *text, size_t size, const struct rc_quantity_view *view)
{
    const size_t n = strlen(text);
    (void)snprintf(text + n, size - n, "%s%s %.16s", view->is_uncertain ? "about " : "", rc_figures_plain(view->value).text,
                   view->unit);
}

static const char *const battery_path[] = {"battery.full_V", "battery.low_V", "battery.capacity_As"};
enum { N_BATTERY = sizeof battery_path / sizeof battery_path[0] };

static void write_battery(FILE *out, const rc_campaign *campaign)
{
    static const char *const after[N_BATTERY] = {" full, ", " just before it is empty, ", ""};
    char text[4 * RC_FIGURES_TEXT] = "";

    for (int index = 0; index < N_BATTERY; index++) {
        const struct rc_quantity_view view = quantity_at(campaign, battery_path[index]);
        if (view.path[0] == '\0') {
            return;
        }
        add_number(text, sizeof text, &view);
        (void)snprintf(text + strlen(text), sizeof text - strlen(text), "%s", after[index]);
    }
    fprintf(out, "  battery     ");
    rc_figures_wrap(out, text, 14, 14);
}

/* Picture, mount, lens and shutter of a camera. */
static void write_camera(FILE *out, const rc_campaign *campaign, int camera)
{
    const struct rc_layout *const layout = rc_campaign_layout(campaign);
    char name[64], path[64], text[6 * RC_FIGURES_TEXT];

    rc_wording_camera(campaign, camera, name, sizeof name);
    (void)snprintf(text, sizeof text, "%s: %d frames/s, %d x %d px, on the %s, lens ", name, layout->frame_rate[camera],
                   layout->width_px[camera], layout->height_px[camera],
                   layout->camera_mount[camera] == RC_CAMERA_ON_VEHICLE ? "vehicle" : "platform");
    const size_t n = strlen(text);
    (void)snprintf(path, sizeof path, "cameras[%d].lens_angle_deg", camera);
    const struct rc_quantity_view angle = quantity_at(campaign, path);
    if (!angle.is_uncertain && (angle.value == 0.0 || angle.value == 90.0 || angle.value == 180.0)) {
        (void)snprintf(text + n, sizeof text - n, "%s", angle.value == 0.0 ? "forward" : angle.value == 90.0 ? "outward" : "aft");
    } else {
        (void)snprintf(text + n, sizeof text - n, "at ");
        add_number(text, sizeof text, &angle);
    }
    (void)snprintf(path, sizeof path, "cameras[%d].line_time_us", camera);
    const struct rc_quantity_view line_time = quantity_at(campaign, path);
    if (line_time.is_uncertain || line_time.value > 0.0) {
        (void)snprintf(text + strlen(text), sizeof text - strlen(text), ", rolling shutter of ");
        add_number(text, sizeof text, &line_time);
        (void)snprintf(text + strlen(text), sizeof text - strlen(text), " a line");
    }
    fputs("  camera      ", out);
    rc_figures_wrap(out, text, 14, 14);
}

static void write_platform(FILE *out, const rc_campaign *campaign)
{
    const struct rc_layout *layout = rc_campaign_layout(campaign);
    fprintf(out, "  drive       %s", layout->drive_kind);
    if (has_floor(campaign)) {
        fprintf(out, "; a command below its floor rate makes it %s",
                layout->below_floor == RC_BELOW_FLOOR_RUN ? "run at the floor" : "stand");
    }
    fputc('\n', out);
    write_battery(out, campaign);
    fprintf(out, "  gyro        on the %s, %d samples/s",
            layout->gyro_mount == RC_GYRO_ON_VEHICLE ? "vehicle" : "platform", layout->gyro_rate);
    if (layout->gyro_latency > 0.0) {
        fprintf(out, ", heard %s s later", rc_figures_plain(layout->gyro_latency).text);
    }
    fputc('\n', out);
    if (layout->encoder_rate > 0) {
        fprintf(out, "  encoder     between platform and vehicle, %d samples/s\n", layout->encoder_rate);
    }
    fprintf(out, "  controller  on %s, %d ticks/s", layout->control_mode == RC_CONTROL_ANGLE ? "angle" : "rate",
            layout->control_rate);
    if (layout->control_mode == RC_CONTROL_ANGLE) {
        fprintf(out, ", %s", layout->turns_mode == RC_TURNS_NEAREST ? "to the nearest turn" : "turns gathered");
    }
    fputc('\n', out);
    for (int camera = 0; camera < layout->n_cameras; camera++) {
        write_camera(out, campaign, camera);
    }
}

/* In place of a vehicle: the formula and which number is which of its inputs. */
static void write_formula(FILE *out, const rc_campaign *campaign)
{
    fprintf(out, "  formula     ");
    rc_figures_wrap(out, rc_campaign_formula_text(campaign), 14, 14);
    for (int input = 0; input < rc_campaign_input_count(campaign); input++) {
        fprintf(out, "  %-11s inputs[%d].value\n", rc_campaign_input_name(campaign, input), input);
    }
}

void rc_report_layout_text(FILE *out, const rc_campaign *campaign)
{
    if (rc_campaign_formula(campaign) != NULL) {
        write_formula(out, campaign);
    } else {
        write_vehicle(out, rc_campaign_layout(campaign));
        write_platform(out, campaign);
    }
}

/* A word of the campaign file, or the default that stands for it. */
static void json_word(struct rc_json *json, const char *key, const rc_campaign *campaign, const char *path)
{
    char word[64];
    rc_wording_setting(campaign, path, word, sizeof word);
    rc_json_text(json, key, word);
}

/* A number of the campaign, of an uncertain one the median. */
static void json_middle(struct rc_json *json, const rc_campaign *campaign, const char *path)
{
    const char *const name = strrchr(path, '.') + 1;
    rc_json_number(json, name, quantity_at(campaign, path).value);
}

static void json_vehicle(struct rc_json *json, const rc_campaign *campaign)
{
    const struct rc_layout *const layout = rc_campaign_layout(campaign);
    json_word(json, "nose", campaign, "vehicle.nose.shape");
    rc_json_integer(json, "body_sections", layout->n_sections);
    rc_json_open(json, "fins", '[');
    for (int set = 0; set < layout->n_fin_sets; set++) {
        rc_json_integer(json, NULL, layout->n_fins[set]);
    }
    rc_json_close(json, ']');
    rc_json_integer(json, "thrust_rows", layout->thrust.n);
    rc_json_number(json, "thrust_s", table_time(&layout->thrust));
    rc_json_number(json, "impulse_Ns", table_impulse(&layout->thrust));
    rc_json_integer(json, "aero_rows", layout->aero.n);
    rc_json_integer(json, "wind_rows", layout->wind.n);
    rc_json_flag(json, "has_gusts", layout->has_gusts != 0);
    rc_json_flag(json, "has_descent", layout->has_descent != 0);
}

static void json_battery(struct rc_json *json, const rc_campaign *campaign)
{
    if (!rc_campaign_layout(campaign)->has_battery) {
        rc_json_text(json, "battery", NULL);
        return;
    }
    rc_json_open(json, "battery", '{');
    for (int index = 0; index < N_BATTERY; index++) {
        json_middle(json, campaign, battery_path[index]);
    }
    rc_json_close(json, '}');
}

static void json_sensors(struct rc_json *json, const rc_campaign *campaign)
{
    const struct rc_layout *const layout = rc_campaign_layout(campaign);
    rc_json_open(json, "gyro", '{');
    json_word(json, "mount", campaign, "gyro.mount");
    rc_json_integer(json, "rate_hz", layout->gyro_rate);
    rc_json_number(json, "latency_s", layout->gyro_latency);
    rc_json_close(json, '}');
    rc_json_count(json, "encoder_rate_hz", layout->encoder_rate > 0 ? layout->encoder_rate : -1);
    rc_json_open(json, "controller", '{');
    json_word(json, "acts_on", campaign, "controller.acts_on");
    rc_json_integer(json, "rate_hz", layout->control_rate);
    if (layout->control_mode == RC_CONTROL_ANGLE) {
        json_word(json, "turns", campaign, "controller.turns");
    } else {
        rc_json_text(json, "turns", NULL);
    }
    rc_json_close(json, '}');
}

static void json_camera(struct rc_json *json, const rc_campaign *campaign, int camera)
{
    const struct rc_layout *const layout = rc_campaign_layout(campaign);
    char name[64], path[64];
    rc_wording_camera(campaign, camera, name, sizeof name);
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "name", name);
    rc_json_integer(json, "frame_rate_hz", layout->frame_rate[camera]);
    rc_json_integer(json, "width_px", layout->width_px[camera]);
    rc_json_integer(json, "height_px", layout->height_px[camera]);
    rc_json_text(json, "mount", layout->camera_mount[camera] == RC_CAMERA_ON_VEHICLE ? "vehicle" : "platform");
    (void)snprintf(path, sizeof path, "cameras[%d].lens_angle_deg", camera);
    json_middle(json, campaign, path);
    (void)snprintf(path, sizeof path, "cameras[%d].line_time_us", camera);
    json_middle(json, campaign, path);
    rc_json_close(json, '}');
}

void rc_report_layout_json(struct rc_json *json, const rc_campaign *campaign)
{
    if (rc_campaign_formula(campaign) != NULL) {
        rc_json_text(json, "layout", NULL);
        return;
    }
    rc_json_open(json, "layout", '{');
    json_vehicle(json, campaign);
    if (has_floor(campaign)) {
        json_word(json, "below_floor", campaign, "drive.below_floor");
    } else {
        rc_json_text(json, "below_floor", NULL);
    }
    json_battery(json, campaign);
    json_sensors(json, campaign);
    rc_json_open(json, "cameras", '[');
    for (int camera = 0; camera < rc_campaign_layout(campaign)->n_cameras; camera++) {
        json_camera(json, campaign, camera);
    }
    rc_json_close(json, ']');
    rc_json_close(json, '}');
}
