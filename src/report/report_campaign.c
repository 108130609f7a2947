/* What a campaign means, as text and JSON: layout, what is uncertain, what is fixed, what is asked. For `check`. */
#include "rollcast/report.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "campaign/campaign.h"
#include "figures.h"
#include "json.h"
#include "measures/measures.h"
#include "wording.h"

/* Columns of the lists: indent, path or name, value with unit; the meaning takes the rest. */
enum { PATH_COLUMNS = 34, VALUE_COLUMNS = 14 };

/* Total impulse of the thrust table as given, linear between rows [N s]. */
static double table_impulse(const struct rc_thrust_points *thrust)
{
    double impulse = 0.0;
    for (int row = 1; row < thrust->n; row++) {
        impulse += 0.5 * (thrust->thrust[row] + thrust->thrust[row - 1]) * (thrust->time[row] - thrust->time[row - 1]);
    }
    return impulse;
}

static void write_layout_vehicle(FILE *out, const struct rc_layout *layout)
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
                thrust->time[thrust->n - 1] - thrust->time[0], table_impulse(thrust));
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

static void write_layout_battery(FILE *out, const rc_campaign *campaign)
{
    static const char *const path[] = {"battery.full_V", "battery.low_V", "battery.capacity_As"};
    static const char *const after[] = {" full, ", " just before it is empty, ", ""};
    char text[4 * RC_FIGURES_TEXT] = "";

    for (int index = 0; index < 3; index++) {
        const struct rc_quantity_view view = quantity_at(campaign, path[index]);
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
static void write_layout_camera(FILE *out, const rc_campaign *campaign, int camera)
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

static void write_layout_platform(FILE *out, const rc_campaign *campaign)
{
    const struct rc_layout *layout = rc_campaign_layout(campaign);
    fprintf(out, "  drive       %s", layout->drive_kind);
    if (has_floor(campaign)) {
        fprintf(out, "; a command below its floor rate makes it %s",
                layout->below_floor == RC_BELOW_FLOOR_RUN ? "run at the floor" : "stand");
    }
    fputc('\n', out);
    write_layout_battery(out, campaign);
    fprintf(out, "  gyro        on the %s, %d samples/s\n",
            layout->gyro_mount == RC_GYRO_ON_VEHICLE ? "vehicle" : "platform", layout->gyro_rate);
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
        write_layout_camera(out, campaign, camera);
    }
}

/* What is left of a number's meaning: on the same line where it fits, else below. */
static void write_meaning(FILE *out, const char *left, const char *meaning)
{
    const int n_left = rc_figures_columns(left);
    const int n_padded = n_left > PATH_COLUMNS + VALUE_COLUMNS ? n_left : PATH_COLUMNS + VALUE_COLUMNS;

    fputs("  ", out);
    if (2 + n_padded + 1 + rc_figures_columns(meaning) <= RC_FIGURES_COLUMNS) {
        rc_figures_name(out, left, n_padded);
        fprintf(out, " %s\n", meaning);
        return;
    }
    rc_figures_name(out, left, 0);
    fprintf(out, "\n      ");
    rc_figures_wrap(out, meaning, 6, 6);
}

/* A fixed number: path, value and unit, or the drawn number that it goes with; a star at a default; meaning. */
static void write_fixed(FILE *out, const struct rc_quantity_view *view)
{
    char left[3 * RC_FIGURES_TEXT + sizeof view->path + sizeof view->follows];
    const char *unit = rc_wording_unit(view->unit);

    if (view->follows[0] != '\0') {
        const int is_whole = view->share >= 1.0 && view->share <= 1.0;
        snprintf(left, sizeof left, "%-*s %s%s%s *", PATH_COLUMNS, view->path,
                 is_whole ? "as" : rc_figures_plain(view->share).text, is_whole ? " " : " x ", view->follows);
    } else {
        snprintf(left, sizeof left, "%-*s %s%s%.16s%s", PATH_COLUMNS, view->path, rc_figures_plain(view->value).text,
                 *unit != '\0' ? " " : "", unit, view->is_default ? " *" : "");
    }
    write_meaning(out, left, view->meaning);
}

/* An uncertain number: path, distribution and unit, then its meaning unless the number before it said the same. */
static void write_uncertain(FILE *out, const struct rc_quantity_view *view, const char *meaning_before)
{
    char law[sizeof view->distribution + 32];
    const char *unit = rc_wording_unit(view->unit);

    snprintf(law, sizeof law, "%s%s%.16s", view->distribution, *unit != '\0' ? " " : "", unit);
    const int n_path = rc_figures_columns(view->path);
    if (n_path <= PATH_COLUMNS && 2 + PATH_COLUMNS + 1 + rc_figures_columns(law) <= RC_FIGURES_COLUMNS) {
        fprintf(out, "  %-*s %s\n", PATH_COLUMNS, view->path, law);
    } else {
        fprintf(out, "  %s\n      %s\n", view->path, law);
    }
    if (strcmp(view->meaning, meaning_before) != 0) {
        fprintf(out, "      ");
        rc_figures_wrap(out, view->meaning, 6, 6);
    }
}

static void write_quantities(FILE *out, const rc_campaign *campaign)
{
    const int n_uncertain = rc_campaign_uncertain_count(campaign);
    const int n_quantities = rc_campaign_quantity_count(campaign);

    fprintf(out, "\nUncertain, drawn anew for each flight (%d)\n", n_uncertain);
    const char *meaning_before = "";
    for (int index = 0; index < n_uncertain; index++) {
        const struct rc_quantity_view view = rc_campaign_uncertain(campaign, index);
        write_uncertain(out, &view, meaning_before);
        meaning_before = view.meaning;
    }
    fprintf(out, "\nFixed (%d; * = not in the file, the default serves)\n", n_quantities - n_uncertain);
    for (int index = 0; index < n_quantities; index++) {
        const struct rc_quantity_view view = rc_campaign_quantity(campaign, index);
        if (!view.is_uncertain) {
            write_fixed(out, &view);
        }
    }
}

/* What the middle design's flight shows before anything is drawn. */
static const int shown_of_middle[] = {RC_MEASURE_apogee_m, RC_MEASURE_mach_max, RC_MEASURE_rail_exit_mps,
                                                  RC_MEASURE_static_margin_min_cal, RC_MEASURE_roll_peak_dps};

static void write_middle(FILE *out, const struct rc_record *middle)
{
    fprintf(out, "\nMiddle design, every uncertain number at its median, flown once\n");
    if (middle->end != RC_END_APOGEE) {
        fprintf(out, "  it %s\n", rc_measures_end_text(middle->end));
    }
    for (size_t index = 0; index < sizeof shown_of_middle / sizeof shown_of_middle[0]; index++) {
        const struct rc_measure_row *row = rc_measures_row(shown_of_middle[index]);
        const double value = middle->measure[shown_of_middle[index]];
        const char *unit = isfinite(value) ? rc_wording_unit(row->unit) : "";
        char left[3 * RC_FIGURES_TEXT];
        const int decimals = isfinite(value) && value > 0.0 ? (int)fmax(0.0, 2.0 - floor(log10(value))) : 0;
        snprintf(left, sizeof left, "%-*s %s%s%.16s", PATH_COLUMNS, row->name,
                 rc_figures_number(value, decimals, RC_ROUND_NEAREST).text, *unit != '\0' ? " " : "", unit);
        write_meaning(out, left, row->meaning);
    }
}

static void write_criteria(FILE *out, const rc_campaign *campaign)
{
    fprintf(out, "\nAsked\n");
    for (int row = 0; row < rc_campaign_criteria_count(campaign); row++) {
        const struct rc_criterion *criterion = rc_campaign_criterion(campaign, row);
        fputs("  ", out);
        rc_figures_name(out, criterion->name, 0);
        fprintf(out, "\n      ");
        rc_wording_limit(out, criterion);
        fprintf(out, "\n      ");
        rc_figures_wrap(out, rc_measures_row(criterion->measure)->meaning, 6, 6);
        fprintf(out, "      ");
        rc_wording_asked(out, criterion);
        fputc('\n', out);
    }
    fprintf(out, "  all together\n      every criterion met in one flight\n      ");
    rc_wording_asked(out, rc_campaign_all_together(campaign));
    fputc('\n', out);
}

/* In place of a vehicle: the formula and which number is which of its inputs. */
static void write_layout_formula(FILE *out, const rc_campaign *campaign)
{
    fprintf(out, "  formula     ");
    rc_figures_wrap(out, rc_campaign_formula_text(campaign), 14, 14);
    for (int input = 0; input < rc_campaign_input_count(campaign); input++) {
        fprintf(out, "  %-11s inputs[%d].value\n", rc_campaign_input_name(campaign, input), input);
    }
}

static void write_text(FILE *out, const rc_campaign *campaign)
{
    rc_figures_wrap(out, rc_campaign_name(campaign), 0, 0);
    if (*rc_campaign_purpose(campaign) != '\0') {
        rc_figures_wrap(out, rc_campaign_purpose(campaign), 0, 0);
    }
    fprintf(out, "%s flights from seed %" PRIu64 "; %d of %d numbers are uncertain\n\nLayout\n",
            rc_figures_count(rc_campaign_flights(campaign)).text, rc_campaign_seed(campaign),
            rc_campaign_uncertain_count(campaign), rc_campaign_quantity_count(campaign));
    if (rc_campaign_formula(campaign) != NULL) {
        write_layout_formula(out, campaign);
    } else {
        write_layout_vehicle(out, rc_campaign_layout(campaign));
        write_layout_platform(out, campaign);
    }
    if (rc_campaign_middle(campaign) != NULL) {
        write_middle(out, rc_campaign_middle(campaign));
    }
    write_criteria(out, campaign);
    write_quantities(out, campaign);
}

static void write_json_criterion(struct rc_json *json, const char *key, const struct rc_criterion *criterion, int has_limit)
{
    rc_json_open(json, key, '{');
    if (has_limit) {
        rc_json_text(json, "name", criterion->name);
        rc_json_text(json, "measure", rc_measures_row(criterion->measure)->name);
        rc_json_text(json, "unit", rc_measures_row(criterion->measure)->unit);
        rc_json_number(json, "at_least", criterion->at_least);
        rc_json_number(json, "at_most", criterion->at_most);
    }
    rc_json_number(json, "odds_asked", criterion->odds);
    rc_json_number(json, "confidence", criterion->confidence);
    rc_json_close(json, '}');
}

static void write_json_quantity(struct rc_json *json, const struct rc_quantity_view *view)
{
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "path", view->path);
    rc_json_text(json, "unit", view->unit);
    rc_json_text(json, "meaning", view->meaning);
    rc_json_number(json, "value", view->value);
    rc_json_number(json, "low", view->low);
    rc_json_number(json, "high", view->high);
    rc_json_flag(json, "is_uncertain", view->is_uncertain != 0);
    rc_json_flag(json, "is_default", view->is_default != 0);
    rc_json_text(json, "follows", view->follows[0] != '\0' ? view->follows : NULL);
    rc_json_text(json, "distribution", view->is_uncertain ? view->distribution : NULL);
    rc_json_number(json, "cost_to_halve", view->cost_to_halve);
    rc_json_number(json, "cost_to_remove", view->cost_to_remove);
    rc_json_close(json, '}');
}

/* null with a formula */
static void write_json_middle(struct rc_json *json, const struct rc_record *middle)
{
    if (middle == NULL) {
        rc_json_text(json, "middle_design", NULL);
        return;
    }
    rc_json_open(json, "middle_design", '{');
    rc_json_text(json, "end", rc_measures_end_text(middle->end));
    for (size_t index = 0; index < sizeof shown_of_middle / sizeof shown_of_middle[0]; index++) {
        rc_json_number(json, rc_measures_row(shown_of_middle[index])->name, middle->measure[shown_of_middle[index]]);
    }
    rc_json_close(json, '}');
}

static void write_json(FILE *out, const rc_campaign *campaign)
{
    struct rc_json json = {.out = out};

    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-campaign/1");
    rc_json_text(&json, "campaign", rc_campaign_name(campaign));
    rc_json_text(&json, "purpose", rc_campaign_purpose(campaign));
    rc_json_text(&json, "cost_unit", rc_campaign_cost_unit(campaign));
    rc_json_unsigned(&json, "seed", rc_campaign_seed(campaign));
    rc_json_integer(&json, "flights", rc_campaign_flights(campaign));
    rc_json_text(&json, "drive", rc_campaign_layout(campaign)->drive_kind);
    if (rc_campaign_formula(campaign) != NULL) {
        rc_json_text(&json, "formula", rc_campaign_formula_text(campaign));
        rc_json_open(&json, "inputs", '[');
        for (int input = 0; input < rc_campaign_input_count(campaign); input++) {
            rc_json_text(&json, NULL, rc_campaign_input_name(campaign, input));
        }
        rc_json_close(&json, ']');
    }
    write_json_middle(&json, rc_campaign_middle(campaign));
    rc_json_integer(&json, "uncertain", rc_campaign_uncertain_count(campaign));
    rc_json_open(&json, "quantities", '[');
    for (int index = 0; index < rc_campaign_quantity_count(campaign); index++) {
        const struct rc_quantity_view view = rc_campaign_quantity(campaign, index);
        write_json_quantity(&json, &view);
    }
    rc_json_close(&json, ']');
    rc_json_open(&json, "criteria", '[');
    for (int row = 0; row < rc_campaign_criteria_count(campaign); row++) {
        write_json_criterion(&json, NULL, rc_campaign_criterion(campaign, row), 1);
    }
    rc_json_close(&json, ']');
    write_json_criterion(&json, "all_together", rc_campaign_all_together(campaign), 0);
    rc_json_close(&json, '}');
}

rc_status rc_report_campaign(FILE *out, enum rc_report_form form, const rc_campaign *campaign, struct rc_error *err)
{
    if (form == RC_REPORT_JSON) {
        write_json(out, campaign);
    } else {
        write_text(out, campaign);
    }
    if (ferror(out)) {
        return rc_error_fill(err, RC_IO, "", "the answer could not be written");
    }
    return RC_OK;
}
