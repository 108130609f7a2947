/* A campaign's aerodynamic coefficients over Mach, as text, JSON and CSV. What they are is left to flight. For `check --aero`. */
#include "rollcast/report.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "campaign/campaign.h"
#include "figures.h"
#include "flight/aero.h"
#include "flight/drag.h"
#include "json.h"

enum { MAX_KNOTS = 128 + RC_MAX_TABLE_ROWS };

static const char *const names[RC_N_AERO_COLUMNS] = {
#define RC_AERO_COLUMN(member, name, low, high, meaning) [RC_AERO_##member] = (name),
#include "flight/aero_columns.def"
#undef RC_AERO_COLUMN
};

/* The columns after mach, in the order that they are written in. */
static const enum rc_aero_column shown[] = {
    RC_AERO_CA_ON,       RC_AERO_CA_OFF,     RC_AERO_CA_FRICTION,       RC_AERO_CA_BASE,   RC_AERO_CA_WAVE,
    RC_AERO_CA_FIN,      RC_AERO_CN_ALPHA,   RC_AERO_XCP,               RC_AERO_CMQ_LOADED, RC_AERO_CMQ_BURNT,
    RC_AERO_CL_DELTA,    RC_AERO_CL_DELTA_2, RC_AERO_CL_P,              RC_AERO_BODY_LIFT, RC_AERO_BODY_LIFT_STATION,
    RC_AERO_FIN_SLOPE,   RC_AERO_FIN_STATION, RC_AERO_FIN_SLOPE_2,      RC_AERO_FIN_STATION_2, RC_AERO_INDUCED_ROLL,
};
enum { N_SHOWN = sizeof shown / sizeof shown[0] };

/* The design of the middle of every distribution. */
static void base_design(const rc_campaign *campaign, struct rc_design *design)
{
    double values[RC_MAX_UNCERTAIN] = {0.0};
    for (int index = 0; index < rc_campaign_uncertain_count(campaign); index++) {
        values[index] = rc_campaign_uncertain(campaign, index).value;
    }
    rc_campaign_design(campaign, values, design);
}

static double damping_at(const struct rc_aero_point *point, double cm)
{
    return point->damp[0] + cm * (point->damp[1] + cm * point->damp[2]);
}

static double station_of(double moment, double force)
{
    return force != 0.0 ? moment / force : 0.0;
}

/* out row  (RC_N_AERO_COLUMNS) the coefficients that the middle design has before its factors */
static void read_row(const struct rc_design *design, const struct rc_layout *layout, double mach, double *row)
{
    struct rc_aero_point point;
    const double left = rc_drag_base_left(&design->vehicle, layout, design->motor.exit_area);
    rc_aero_point_at(&design->vehicle, layout, mach, &point);
    row[RC_AERO_CA_ON] = rc_aero_axial(&point, 1, left);
    row[RC_AERO_CA_OFF] = rc_aero_axial(&point, 0, 1.0);
    row[RC_AERO_CA_FRICTION] = point.ca_friction;
    row[RC_AERO_CA_BASE] = point.ca_base;
    row[RC_AERO_CA_WAVE] = point.ca_wave;
    row[RC_AERO_CA_FIN] = point.ca_fin;
    row[RC_AERO_CN_ALPHA] = point.cn;
    row[RC_AERO_XCP] = station_of(point.cn_x, point.cn);
    row[RC_AERO_CMQ] = row[RC_AERO_CMQ_LOADED] = damping_at(&point, design->vehicle.cm_loaded);
    row[RC_AERO_CMQ_BURNT] = damping_at(&point, design->vehicle.cm_burnt);
    row[RC_AERO_CL_DELTA] = point.cl_delta[0];
    row[RC_AERO_CL_DELTA_2] = point.cl_delta[1];
    row[RC_AERO_CL_P] = point.cl_p;
    row[RC_AERO_BODY_LIFT] = point.body_lift;
    row[RC_AERO_BODY_LIFT_STATION] = station_of(point.body_lift_x, point.body_lift);
    row[RC_AERO_FIN_SLOPE] = point.fin_slope[0];
    row[RC_AERO_FIN_STATION] = station_of(point.fin_moment[0], point.fin_slope[0]);
    row[RC_AERO_FIN_SLOPE_2] = point.fin_slope[1];
    row[RC_AERO_FIN_STATION_2] = station_of(point.fin_moment[1], point.fin_slope[1]);
    row[RC_AERO_INDUCED_ROLL] = point.induced_roll;
}

/* The aerodynamic numbers of the campaign that are not the defaults: what flights put on the coefficients. */
static void write_factors(FILE *out, const rc_campaign *campaign)
{
    char text[1024] = "";
    for (int index = 0; index < rc_campaign_quantity_count(campaign); index++) {
        const struct rc_quantity_view quantity = rc_campaign_quantity(campaign, index);
        const size_t n = strlen(text);
        if (strncmp(quantity.path, "aero.", 5) == 0 && !quantity.is_default)
            (void)snprintf(text + n, sizeof text - n, "%s %s %.4g", n > 0 ? "," : "", quantity.path, quantity.value);
    }
    char line[1280];
    (void)snprintf(line, sizeof line, "These are before what the campaign puts on them%s%s.",
                   text[0] != '\0' ? ", whose middle values are" : ", which is nothing", text);
    rc_figures_wrap(out, line, 0, 0);
}

static void write_text(FILE *out, const rc_campaign *campaign, const struct rc_design *design, const struct rc_layout *layout)
{
    static const double machs[] = {0.0, 0.3, 0.5, 0.7, 0.8, 0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.2, 1.3,
                                   1.4, 1.5, 1.75, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0};
    double row[RC_N_AERO_COLUMNS];

    const size_t n = sizeof machs / sizeof machs[0];
    fprintf(out, "Coefficients on %.6g m diameter, motor burning (burn) and coasting (coast)\n", design->vehicle.diameter);
    fprintf(out, "          axial   of it, coasting       normal  centre  pitch    roll    roll\n");
    fprintf(out, " Mach  burn coast  fric  base  wave  fins  /rad    m  burnt  /rad   damp\n");
    for (size_t i = 0; i < n; i++) {
        read_row(design, layout, machs[i], row);
        fprintf(out, "%5.2f %5.3f %5.3f %5.3f %5.3f %5.3f %5.3f %6.2f %6.3f %8.1f %7.2f %7.2f\n", machs[i], row[RC_AERO_CA_ON],
                row[RC_AERO_CA_OFF], row[RC_AERO_CA_FRICTION], row[RC_AERO_CA_BASE], row[RC_AERO_CA_WAVE], row[RC_AERO_CA_FIN],
                row[RC_AERO_CN_ALPHA], row[RC_AERO_XCP], row[RC_AERO_CMQ_BURNT], row[RC_AERO_CL_DELTA], row[RC_AERO_CL_P]);
    }
    fprintf(out, "\n      one fin's own force of set   set 2   pitch   body at sin^2  roll by\n");
    fprintf(out, " Mach  1 /rad      m  2 /rad      m  roll  loaded incidence    m  incid.\n");
    for (size_t i = 0; i < n; i++) {
        read_row(design, layout, machs[i], row);
        fprintf(out, "%5.2f %7.3f %6.3f %7.3f %6.3f %6.2f %8.1f %7.2f %6.3f %7.3f\n", machs[i], row[RC_AERO_FIN_SLOPE],
                row[RC_AERO_FIN_STATION], row[RC_AERO_FIN_SLOPE_2], row[RC_AERO_FIN_STATION_2], row[RC_AERO_CL_DELTA_2],
                row[RC_AERO_CMQ_LOADED], row[RC_AERO_BODY_LIFT], row[RC_AERO_BODY_LIFT_STATION], row[RC_AERO_INDUCED_ROLL]);
    }
    fputc('\n', out);
    write_factors(out, campaign);
    rc_figures_wrap(out, "docs/theory.md states the estimates' sources and errors.", 0, 0);
}

/* The columns of the CSV: those with which it serves as the campaign's own table and flies the same. A table's ca_off has no
 * parts, its cmq stays about the centre of mass wherever it is, and where there is no roll by incidence none is made. */
static int csv_columns(const struct rc_aero_points *table, enum rc_aero_column *column)
{
    const bool has_whole = table->column[RC_AERO_CA_OFF], has_one = table->column[RC_AERO_CMQ];
    int n = 0;
    for (int i = 0; i < N_SHOWN; i++) {
        const enum rc_aero_column one = shown[i];
        const bool is_part = one >= RC_AERO_CA_FRICTION && one <= RC_AERO_CA_FIN;
        const bool is_void = one == RC_AERO_INDUCED_ROLL && !table->column[one];
        if (is_void || (is_part && has_whole) || (one == RC_AERO_CMQ_BURNT && has_one))
            continue;
        column[n++] = one == RC_AERO_CMQ_LOADED && has_one ? RC_AERO_CMQ : one;
    }
    return n;
}

static void write_csv(FILE *out, const struct rc_design *design, const struct rc_layout *layout)
{
    double knots[MAX_KNOTS], row[RC_N_AERO_COLUMNS];
    enum rc_aero_column column[N_SHOWN];
    const int n = rc_aero_knots(layout, rc_aero_mach_top(layout), knots, MAX_KNOTS);
    const int n_columns = csv_columns(&layout->aero, column);

    fprintf(out, "mach");
    for (int i = 0; i < n_columns; i++) {
        fprintf(out, ",%s", names[column[i]]);
    }
    fputc('\n', out);
    for (int i = 0; i < n; i++) {
        read_row(design, layout, knots[i], row);
        fprintf(out, "%.10g", knots[i]);
        for (int at = 0; at < n_columns; at++) {
            fprintf(out, ",%.10g", row[column[at]]);
        }
        fputc('\n', out);
    }
}

static void write_json(FILE *out, const rc_campaign *campaign, const struct rc_design *design, const struct rc_layout *layout)
{
    struct rc_json json = {.out = out};
    double knots[MAX_KNOTS], row[RC_N_AERO_COLUMNS];
    const int n = rc_aero_knots(layout, rc_aero_mach_top(layout), knots, MAX_KNOTS);

    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-aero/1");
    rc_json_text(&json, "campaign", rc_campaign_name(campaign));
    rc_json_number(&json, "diameter_m", design->vehicle.diameter);
    rc_json_open(&json, "rows", '[');
    for (int i = 0; i < n; i++) {
        read_row(design, layout, knots[i], row);
        rc_json_open(&json, NULL, '{');
        rc_json_number(&json, "mach", knots[i]);
        for (int at = 0; at < N_SHOWN; at++) {
            rc_json_number(&json, names[shown[at]], row[shown[at]]);
        }
        rc_json_close(&json, '}');
    }
    rc_json_close(&json, ']');
    rc_json_close(&json, '}');
}

rc_status rc_report_aero(FILE *out, enum rc_report_form form, const rc_campaign *campaign, struct rc_error *err)
{
    const struct rc_layout *layout = rc_campaign_layout(campaign);
    struct rc_design design;

    if (rc_campaign_formula(campaign) != NULL) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "a campaign of a formula has no aerodynamics; ask without --aero");
    }
    base_design(campaign, &design);
    if (form == RC_REPORT_JSON) {
        write_json(out, campaign, &design, layout);
    } else if (form == RC_REPORT_CSV) {
        write_csv(out, &design, layout);
    } else {
        write_text(out, campaign, &design, layout);
    }
    if (ferror(out)) {
        return rc_error_fill(err, RC_IO, "", "the answer could not be written");
    }
    return RC_OK;
}
