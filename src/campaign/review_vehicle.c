/* Warnings of `check` about a vehicle with its tables: what has no effect in their company or in that of other entries, and what
 * one flight shows of where tables end. What is far is common practice, no source: it only decides whether to ask back. */
#include "review.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#include "flight/aero.h"
#include "tables.h"

static const double to_deg = 57.29577951308232;

static const char own_drag[] = "the table's ca_off is flown as it is; aero.axial_factor is on that";
static const char never_sleeps[] = "with sleep_after_s 0 the drive never sleeps";

enum company { BESIDE_COLUMN, WITHOUT_COLUMN, WITHOUT_ENTRY };

/* Numbers that mean nothing in this company: beside a column of the aerodynamic table, without it, or while the entries that give
 * them their meaning all stand as they do where the file does not give them. */
static const struct idle {
    const char *path;
    enum company company;
    enum rc_aero_column column;
    const char *entry[2];
    const char *why;
} idle[] = {
    {"aero.friction_factor", BESIDE_COLUMN, RC_AERO_CA_OFF, .why = own_drag},
    {"aero.base_factor", BESIDE_COLUMN, RC_AERO_CA_OFF, .why = own_drag},
    {"aero.wave_factor", BESIDE_COLUMN, RC_AERO_CA_OFF, .why = own_drag},
    {"aero.fin_drag_factor", BESIDE_COLUMN, RC_AERO_CA_OFF, .why = own_drag},
    {"aero.induced_roll_factor", WITHOUT_COLUMN, RC_AERO_INDUCED_ROLL,
     .why = "no table has a column induced_roll, on which it is"},
    {"drive.wake_command_dps", WITHOUT_ENTRY, .entry = {"drive.sleep_after_s"}, .why = never_sleeps},
    {"drive.wake_delay_s", WITHOUT_ENTRY, .entry = {"drive.sleep_after_s"}, .why = never_sleeps},
    {"drive.nudge_interval_s", WITHOUT_ENTRY, .entry = {"drive.sleep_after_s"}, .why = never_sleeps},
    {"drive.nudge_odds", WITHOUT_ENTRY, .entry = {"drive.nudge_interval_s"},
     .why = "with nudge_interval_s 0 nothing nudges the drive"},
    {"drive.retry_delay_s", WITHOUT_ENTRY, .entry = {"drive.start_odds", "drive.torque_limit_Nm"},
     .why = "with start_odds 1 and no torque_limit_Nm no start fails"},
};

static bool is_idle(const struct idle *one, const struct rc_values *values, const struct rc_layout *layout)
{
    const bool has_column = layout->aero.column[one->column] != NULL;
    bool has_entry = false;
    for (size_t at = 0; at < sizeof one->entry / sizeof one->entry[0]; at++)
        has_entry = has_entry || (one->entry[at] != NULL && rc_values_is_set(values, one->entry[at]));
    return one->company == WITHOUT_ENTRY ? !has_entry : has_column == (one->company == BESIDE_COLUMN);
}

static const enum rc_aero_column of_second_set[] = {RC_AERO_CL_DELTA_2, RC_AERO_FIN_SLOPE_2, RC_AERO_FIN_STATION_2};

/* Does a column say anything? `check --aero --csv` writes all of them, with zeros for what there is not. */
static bool is_said(const double *column, int n)
{
    bool is_any = false;
    for (int row = 0; column != NULL && row < n; row++)
        is_any = is_any || column[row] != 0;
    return is_any;
}

static void review_company(const struct rc_reader *reader, const struct rc_values *values, const struct rc_layout *layout)
{
    for (size_t index = 0; index < sizeof idle / sizeof idle[0]; index++) {
        if (rc_values_is_set(values, idle[index].path) && is_idle(&idle[index], values, layout))
            rc_read_warn(reader, idle[index].path, "has no effect: %s", idle[index].why);
    }
    for (size_t index = 0; index < sizeof of_second_set / sizeof of_second_set[0]; index++) {
        if (layout->n_fin_sets < 2 && is_said(layout->aero.column[of_second_set[index]], layout->aero.n))
            rc_read_warn(reader, "aero.table_csv", "its column %s has no effect: there is no second fin set",
                         rc_tables_form(RC_TABLE_AERO)->column[1 + of_second_set[index]].name);
    }
    if (layout->turns_mode == RC_TURNS_NEAREST && layout->control_mode == RC_CONTROL_RATE)
        rc_read_warn(reader, "controller.turns", "has no effect: a controller that acts on the rate carries no angle");
    const bool is_spread = rc_values_is_set(values, "wind.spread");
    if (is_spread && layout->wind.spread == NULL)
        rc_read_warn(reader, "wind.spread", "has no effect: the wind table has no column speed_sd_mps");
    if (!is_spread && is_said(layout->wind.spread, layout->wind.n))
        rc_read_warn(reader, "wind.table_csv",
                     "its column speed_sd_mps has no effect: wind.spread is 0; make that a normal distribution with mean 0 and "
                     "sd 1, or remove the column");
}

/* By how much the drive's rate changes at once where an encoder's angle goes on by one step, held for its period: the step is the
 * whole of a rate, which the controller sees in the platform's where the gyro sits on the vehicle, else in the vehicle's roll
 * [rad/s]. */
static double encoder_shake(const struct rc_design *base, const struct rc_layout *layout)
{
    const struct rc_controller_design *const controller = &base->controller;
    const struct rc_platform_design *const parts = &base->platform;
    const double seen = base->gyro.encoder_step * layout->encoder_rate;
    const double by_gain = controller->gain / (layout->control_mode == RC_CONTROL_ANGLE ? layout->control_rate : 1);
    const double per_seen = layout->gyro_mount == RC_GYRO_ON_PLATFORM ? controller->feed_forward : by_gain;
    const double stiffness = base->drive.servo.stiffness; /* of a servo, whose rate follows by its torque: not at once */
    const double inertia = parts->inertia + parts->rotor_inertia * parts->gear_ratio * parts->gear_ratio;
    const double followed = stiffness > 0 ? -expm1(-stiffness / (inertia * layout->encoder_rate)) : 1;
    return followed * per_seen * seen;
}

/* An encoder for nothing, or too coarse for the controller it serves. */
static void review_encoder(const struct rc_reader *reader, const struct rc_design *base, const struct rc_layout *layout)
{
    if (layout->encoder_rate == 0)
        return;
    const double shake = encoder_shake(base, layout) * to_deg, target = base->footage.target * to_deg;
    if (layout->gyro_mount == RC_GYRO_ON_PLATFORM && !(base->controller.feed_forward > 0))
        rc_read_warn(reader, "encoder",
                     "has no effect: beside a gyro on the platform it serves controller.feed_forward alone, which is 0");
    if (shake > target)
        rc_read_warn(reader, "encoder.step_deg",
                     "a single step, read %d times a second, moves the drive's rate by %.3g deg/s, more than the %.4g deg/s "
                     "within which the picture counts as held (footage.target_dps): it shakes with the steps; take a finer "
                     "encoder, or sample it less often",
                     layout->encoder_rate, shake, target);
}

void rc_review_vehicle(const struct rc_reader *reader, const struct rc_values *values, const struct rc_layout *layout)
{
    review_company(reader, values, layout);
    review_encoder(reader, &values->base, layout);
    for (int set = 0; set < layout->n_fin_sets; set++) {
        char path[RC_MAX_PATH_TEXT];
        (void)snprintf(path, sizeof path, "fins[%d].count", set);
        if (layout->n_fins[set] == 2)
            rc_read_warn(reader, path,
                         "two fins hold the vehicle in one plane only, and are flown as if they held it in every plane: the "
                         "other one is less stable than any flight shows");
    }
}

/* A table's last row is held beyond it: asked about where the middle flight goes further than it by more than a share. A single
 * row is meant for everywhere. */
static const double mach_past = 1.1, height_past = 1.25;

static void review_ends(const struct rc_reader *reader, const struct rc_layout *layout, const struct rc_record *record)
{
    const struct rc_aero_points *const aero = &layout->aero;
    const struct rc_wind_points *const wind = &layout->wind;
    const double mach = record->measure[RC_MEASURE_mach_max], apogee = record->measure[RC_MEASURE_apogee_m];
    if (aero->n > 1 && mach > mach_past * aero->mach[aero->n - 1])
        rc_read_warn(reader, "aero.table_csv",
                     "ends at Mach %.4g, and the middle design reaches Mach %.3g: its last row is held from there on; add rows",
                     aero->mach[aero->n - 1], mach);
    if (wind->n > 1 && apogee > height_past * wind->height[wind->n - 1])
        rc_read_warn(reader, "wind.table_csv",
                     "ends at %.4g m, and the middle design reaches %.4g m: its last row is held from there on; add rows",
                     wind->height[wind->n - 1], apogee);
}

/* How far aft the estimate may have the centre of pressure [calibres], and from which Mach number on. source docs/theory.md, the
 * published cases it was held against */
static const double too_far_aft = 0.8, aft_from = 1.5;
static const double small_margin = 1.0; /* [calibres] */

void rc_review_reach(const struct rc_reader *reader, const struct rc_values *values, const struct rc_layout *layout,
                     const struct rc_record *record)
{
    const struct rc_descent_design *const descent = &values->base.descent;
    const double margin = record->measure[RC_MEASURE_static_margin_min_cal], mach = record->measure[RC_MEASURE_mach_max];
    const double apogee = record->measure[RC_MEASURE_apogee_m];
    review_ends(reader, layout, record);
    if (!layout->aero.column[RC_AERO_XCP] && mach > aft_from && margin > 0 && margin < small_margin &&
        !(values->base.aero.cp_shift < 0))
        rc_read_warn(reader, "vehicle",
                     "the middle design reaches Mach %.3g with a least static margin of %.2f calibres: beyond Mach %.1f the "
                     "estimated centre of pressure may lie %.1f calibres too far aft; give xcp_m in aero.table_csv, or "
                     "aero.centre_of_pressure_shift_m a mean below zero",
                     mach, margin, aft_from, too_far_aft);
    if (reader->has_descent && descent->main_area > 0 && descent->main_height > apogee)
        rc_read_warn(reader, "descent.main_height_m",
                     "%.5g m is above the middle design's apogee of %.4g m: the main opens as soon as the way down begins",
                     descent->main_height, apogee);
}
