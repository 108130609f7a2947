/* A campaign's aerodynamic coefficients over Mach, as text, JSON and CSV. What they are is left to flight. For `check --aero`. */
#include "rollcast/report.h"

#include <math.h>

#include "campaign/campaign.h"
#include "flight/aero.h"
#include "flight/drag.h"
#include "figures.h"
#include "json.h"

enum { MAX_KNOTS = 128 + RC_MAX_TABLE_ROWS };

static const double mach_top = 5.0;

/* What is shown at one Mach number, in the columns' order. */
enum column {
    MACH, CA_ON, CA_OFF, CA_FRICTION, CA_BASE, CA_WAVE, CA_FIN, CN_ALPHA, XCP, CMQ_LOADED, CMQ_BURNT, CL_DELTA, CL_DELTA_2, CL_P,
    BODY_LIFT, BODY_LIFT_STATION, N_COLUMNS
};

static const char *const names[N_COLUMNS] = {
    [MACH] = "mach", [CA_ON] = "ca_on", [CA_OFF] = "ca_off", [CA_FRICTION] = "ca_friction", [CA_BASE] = "ca_base",
    [CA_WAVE] = "ca_wave", [CA_FIN] = "ca_fin", [CN_ALPHA] = "cn_alpha_per_rad", [XCP] = "xcp_m",
    [CMQ_LOADED] = "cmq_loaded", [CMQ_BURNT] = "cmq_burnt", [CL_DELTA] = "cl_delta_per_rad",
    [CL_DELTA_2] = "cl_delta_2_per_rad", [CL_P] = "cl_p", [BODY_LIFT] = "body_lift",
    [BODY_LIFT_STATION] = "body_lift_station_m",
};

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

static void read_row(const struct rc_design *design, const struct rc_layout *layout, double mach, double row[N_COLUMNS])
{
    struct rc_aero_point point;
    const double left = rc_drag_base_left(&design->vehicle, layout, design->motor.exit_area);
    rc_aero_point_at(&design->vehicle, &design->aero, layout, mach, &point);
    row[MACH] = mach;
    row[CA_ON] = rc_aero_axial(&point, 1, left);
    row[CA_OFF] = rc_aero_axial(&point, 0, 1.0);
    row[CA_FRICTION] = point.ca_friction;
    row[CA_BASE] = point.ca_base;
    row[CA_WAVE] = point.ca_wave;
    row[CA_FIN] = point.ca_fin;
    row[CN_ALPHA] = point.cn;
    row[XCP] = point.cn_x / point.cn;
    row[CMQ_LOADED] = damping_at(&point, design->vehicle.cm_loaded);
    row[CMQ_BURNT] = damping_at(&point, design->vehicle.cm_burnt);
    row[CL_DELTA] = point.cl_delta[0];
    row[CL_DELTA_2] = point.cl_delta[1];
    row[CL_P] = point.cl_p;
    row[BODY_LIFT] = point.body_lift;
    row[BODY_LIFT_STATION] = point.body_lift_x / point.body_lift;
}

static void write_text(FILE *out, const struct rc_design *design, const struct rc_layout *layout)
{
    static const double machs[] = {0.0, 0.3, 0.5, 0.7, 0.8, 0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.2, 1.3,
                                   1.4, 1.5, 1.75, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0};
    double row[N_COLUMNS];

    fprintf(out, "Coefficients on %.6g m diameter, motor burning (burn) and coasting (coast)\n", design->vehicle.diameter);
    fprintf(out, "          axial   of it, coasting       normal  centre  pitch    roll    roll\n");
    fprintf(out, " Mach  burn coast  fric  base  wave  fins  /rad    m  burnt  /rad   damp\n");
    for (size_t i = 0; i < sizeof machs / sizeof machs[0]; i++) {
        read_row(design, layout, machs[i], row);
        fprintf(out, "%5.2f %5.3f %5.3f %5.3f %5.3f %5.3f %5.3f %6.2f %6.3f %8.1f %7.2f %7.2f\n", row[MACH], row[CA_ON],
                row[CA_OFF], row[CA_FRICTION], row[CA_BASE], row[CA_WAVE], row[CA_FIN], row[CN_ALPHA], row[XCP],
                row[CMQ_BURNT], row[CL_DELTA], row[CL_P]);
    }
    fprintf(out, "\nAt incidence the body adds %.3g sin^2 at %.4g m.\n", row[BODY_LIFT], row[BODY_LIFT_STATION]);
    if (layout->n_fin_sets > 1) {
        fprintf(out, "Roll forcing is the first fin set's; --csv holds the second's too.\n");
    }
    rc_figures_wrap(out, "Estimates, with the factors' middle values; docs/theory.md states their sources and errors.", 0, 0);
}

static void write_csv(FILE *out, const struct rc_design *design, const struct rc_layout *layout)
{
    double knots[MAX_KNOTS], row[N_COLUMNS];
    const int n = rc_aero_knots(layout, mach_top, knots, MAX_KNOTS);

    for (int column = 0; column < N_COLUMNS; column++) {
        fprintf(out, "%s%s", column > 0 ? "," : "", names[column]);
    }
    fputc('\n', out);
    for (int i = 0; i < n && knots[i] <= mach_top + 1e-9; i++) {
        read_row(design, layout, knots[i], row);
        for (int column = 0; column < N_COLUMNS; column++) {
            fprintf(out, "%s%.10g", column > 0 ? "," : "", row[column]);
        }
        fputc('\n', out);
    }
}

static void write_json(FILE *out, const rc_campaign *campaign, const struct rc_design *design, const struct rc_layout *layout)
{
    struct rc_json json = {.out = out};
    double knots[MAX_KNOTS], row[N_COLUMNS];
    const int n = rc_aero_knots(layout, mach_top, knots, MAX_KNOTS);

    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-aero/1");
    rc_json_text(&json, "campaign", rc_campaign_name(campaign));
    rc_json_number(&json, "diameter_m", design->vehicle.diameter);
    rc_json_open(&json, "rows", '[');
    for (int i = 0; i < n && knots[i] <= mach_top + 1e-9; i++) {
        read_row(design, layout, knots[i], row);
        rc_json_open(&json, NULL, '{');
        for (int column = 0; column < N_COLUMNS; column++) {
            rc_json_number(&json, names[column], row[column]);
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
        write_text(out, &design, layout);
    }
    if (ferror(out)) {
        return rc_error_fill(err, RC_IO, "", "the answer could not be written");
    }
    return RC_OK;
}
