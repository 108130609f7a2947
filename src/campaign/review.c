/* Warnings of `check`: legal but suspicious. Errors are left to checks.c and to the tables' ranges.
 * What is usual is common practice, no source: it only decides whether to ask back. */
#include "review.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "flight/aero.h"

static const double to_deg = 57.29577951308232;

/* Standard deviation that is usual for an entry, in its unit, or as a share of its middle. */
struct usual {
    const char *path;
    double spread;
    bool is_share;
};

static const struct usual usual[] = {
    {"fins[].misalignment_deg[]", 0.2, false}, {"fins[].cant_deg", 0.1, false},
    {"vehicle.mass.loaded_kg", 0.01, true},    {"vehicle.mass.burnt_kg", 0.01, true},
    {"vehicle.mass.loaded_cm_m", 0.01, true},  {"vehicle.mass.burnt_cm_m", 0.01, true},
    {"motor.impulse_factor", 0.03, false},     {"motor.burn_time_factor", 0.04, false},
    {"aero.axial_factor", 0.06, false},        {"aero.normal_factor", 0.06, false},
    {"aero.roll_forcing_factor", 0.1, false},  {"aero.roll_damping_factor", 0.15, false},
    {"rail.elevation_deg", 1, false},          {"gyro.bias_dps", 1, false},
    {"gyro.scale_error", 0.01, false},
};

enum { FAR = 10 /* times the usual spread */ };
/* Standard deviations from the mean asked to the mean drawn: where the mean lies some two thirds of one inside a limit. */
static const double cut_most = 0.5;

static const struct usual *usual_of(const char *pattern)
{
    for (size_t index = 0; index < sizeof usual / sizeof usual[0]; index++) {
        if (strcmp(usual[index].path, pattern) == 0)
            return &usual[index];
    }
    return NULL;
}

static void review_spread(const struct rc_reader *reader, const struct rc_entry *entry, double middle, double sd)
{
    const struct usual *of = usual_of(entry->row->path);
    const double expected = !of ? INFINITY : of->is_share ? of->spread * fabs(middle) : of->spread;
    const char *unit = rc_quantities_unit(entry->row);
    if (sd > FAR * expected)
        rc_read_warn(reader, entry->given,
                     "standard deviation %.3g%s%s, more than ten times the usual %.2g; check the unit and the distribution", sd,
                     *unit != '\0' ? " " : "", unit, expected);
}

/* Misalignments of a few thousandths: nobody sets a fin so well, but in radians it is a usual one. */
static void review_radians(const struct rc_reader *reader, const struct rc_entry *entry, double size)
{
    if (size > 0 && size < 0.006 && rc_quantities_is_per_fin(entry->row))
        rc_read_warn(reader, entry->given,
                     "%.3g deg is finer than fins can be set, which is to some hundredths of a degree at best; if this is in "
                     "radians, write %.3g",
                     size, size * to_deg);
}

/* The mean of a law with limits is that of the uncut curve: near them or beyond, other values are drawn than it says. Any law
 * that has a mean for a parameter is asked; without limits it is the mean of what is drawn. */
static void review_cut(const struct rc_reader *reader, const struct rc_entry *entry, const struct rc_distribution *distribution)
{
    const struct rc_distribution_kind *const kind = distribution->kind;
    const char *const unit = rc_quantities_unit(entry->row), *const blank = *unit != '\0' ? " " : "";
    for (int index = 0; index < kind->n_parameters; index++) {
        double low, high;
        if (strcmp(kind->parameter[index].key, "mean") != 0)
            continue;
        const double asked = distribution->p[index], drawn = kind->mean(distribution->p);
        kind->support(distribution->p, &low, &high);
        if (!(fabs(drawn - asked) > cut_most * kind->sd(distribution->p)))
            continue;
        rc_read_warn(reader, entry->given,
                     "mean %.6g%s%s lies %s the limits %.6g to %.6g: the values drawn have the mean %.6g%s%s, %.3g %s it; move "
                     "the mean or the limits, or take another distribution",
                     asked, blank, unit, asked < low || asked > high ? "outside" : "close to", low, high, drawn, blank, unit,
                     fabs(drawn - asked), drawn > asked ? "above" : "below");
    }
}

static void review_entry(const struct rc_reader *reader, const struct rc_values *values, const struct rc_entry *entry)
{
    if (entry->uncertain < 0) {
        review_radians(reader, entry, fabs(entry->value));
        return;
    }
    const struct rc_distribution *distribution = &values->uncertain[entry->uncertain].distribution;
    const double sd = rc_distribution_sd(distribution);
    const double middle = rc_distribution_value(distribution, 0.5);
    review_spread(reader, entry, middle, sd);
    review_cut(reader, entry, distribution);
    review_radians(reader, entry, fmax(fabs(middle), sd));
}

void rc_review_entries(const struct rc_reader *reader, const struct rc_values *values)
{
    for (int index = 0; index < values->n; index++) {
        if (index == 0 || strcmp(values->entry[index].given, values->entry[index - 1].given) != 0) /* one for all fins: once */
            review_entry(reader, values, &values->entry[index]);
    }
}

static void review_descent(const struct rc_reader *reader, const struct rc_design *base)
{
    const struct rc_descent_design *const descent = &base->descent;
    if (descent->main_area > 0 && !(descent->main_height > 0))
        rc_read_warn(reader, "descent.main_height_m",
                     "at %.4g m the main opens on the ground only; give the height above the pad at which it should",
                     descent->main_height);
    if (descent->mass > base->vehicle.mass_burnt * (1 + 1e-9))
        rc_read_warn(reader, "descent.mass_kg",
                     "%.6g kg come down, more than the %.6g kg that are left after burn-out (vehicle.mass.burnt_kg)",
                     descent->mass, base->vehicle.mass_burnt);
}

/* What a battery does not do for a drive of this kind. */
static void review_battery(const struct rc_reader *reader, const struct rc_design *base)
{
    const struct rc_drive_kind *const kind = rc_platform_drive_at(reader->drive);
    if (base->drive.battery.torque_per_current > 0 && !kind->draws_by_load)
        rc_read_warn(reader, "battery.torque_per_current_NmpA",
                     "has no effect: a %s draws its current whatever its load is; give that as run_current_A, and remove this",
                     kind->name);
    if (rc_read_node(reader, "battery.rated_V") && !kind->slows_by_voltage)
        rc_read_warn(reader, "battery.rated_V",
                     "has no effect: the top rate of a %s is that of what commands it, which no voltage slows; remove this",
                     kind->name);
    if (reader->has_pull_out && kind->takes_pull_out)
        rc_read_warn(reader, "drive.pull_out_csv",
                     "does not fall with the battery's voltage, as a winding's torque would; let the table be that of its lowest "
                     "voltage under load, or give the winding's numbers");
}

void rc_review_values(const struct rc_reader *reader, const struct rc_values *values)
{
    const struct rc_design *base = &values->base;
    rc_review_entries(reader, values);
    if (base->gyro.range * to_deg < 360)
        rc_read_warn(reader, "gyro.range_dps",
                     "%.4g deg/s is less than one turn a second: the gyro will read its limit whenever it sees more",
                     base->gyro.range * to_deg);
    if (rc_values_is_set(values, "drive.sleep_after_s") && !rc_read_node(reader, "drive.wake_command_dps"))
        rc_read_warn(reader, "drive.sleep_after_s",
                     "without wake_command_dps the drive wakes at lift-off, whatever it is told; give the command that wakes it, "
                     "or 0 to say so");
    if (base->drive.command_step > base->drive.top)
        rc_read_warn(reader, "drive.command_step_dps",
                     "%.4g deg/s is more than top_dps, which is %.4g: the drive stands or runs at its top, and nothing between",
                     base->drive.command_step * to_deg, base->drive.top * to_deg);
    if (reader->has_battery)
        review_battery(reader, base);
    if (base->site.rail_elevation * to_deg < 60)
        rc_read_warn(reader, "rail.elevation_deg", "%.4g deg above the horizon is flat: 90 is upright; is it meant from upright?",
                     base->site.rail_elevation * to_deg);
    if (base->site.rail_elevation * to_deg > 90 + 1e-9)
        rc_read_warn(reader, "rail.elevation_deg",
                     "%.5g deg leans past upright, which is 90, away from azimuth_deg; if it is meant to lean there, write %.5g",
                     base->site.rail_elevation * to_deg, 180 - base->site.rail_elevation * to_deg);
    if (reader->has_descent)
        review_descent(reader, base);
    if (values->sampling.n == 0)
        rc_read_warn(
            reader, "",
            "nothing is uncertain: all flights differ by the gyro's noise at most, and the odds will be close to 0 or 1");
}

/* The parts that a measure may need, as a message names them; a formula is asked for where the measure is read. */
static const char *const part_name[RC_N_NEEDS] = {[RC_NEEDS_DESCENT] = "`descent`", [RC_NEEDS_BATTERY] = "`battery`",
                                                  [RC_NEEDS_FIXED_CAMERA] = "a camera with mount \"vehicle\""};

void rc_review_criteria(const struct rc_reader *reader, const struct rc_settings *settings)
{
    bool has[RC_N_NEEDS] = {[RC_NEEDS_NOTHING] = true, [RC_NEEDS_DESCENT] = reader->has_descent,
                            [RC_NEEDS_BATTERY] = reader->has_battery, [RC_NEEDS_FORMULA] = true};
    for (int camera = 0; camera < settings->n_cameras; camera++)
        has[RC_NEEDS_FIXED_CAMERA] = has[RC_NEEDS_FIXED_CAMERA] || settings->cameras[camera].mount == RC_CAMERA_ON_VEHICLE;
    for (int index = 0; index < settings->n_criteria; index++) {
        const char *const name = settings->criteria[index].measure;
        const int measure = rc_measures_find(name);
        const enum rc_needs needs = measure >= 0 ? rc_measures_row(measure)->needs : RC_NEEDS_NOTHING;
        if (has[needs])
            continue;
        char path[RC_MAX_PATH_TEXT];
        (void)snprintf(path, sizeof path, "criteria[%d].measure", index);
        rc_read_warn(reader, path,
                     "no flight can meet this: %s needs %s, which the campaign lacks; add it or ask for another measure", name,
                     part_name[needs]);
    }
}

/* A boat-tail from whose surface the flow parts. */
static const double steepest_tail = 10; /* half-angle, common practice, no source [deg] */

void rc_review_shape(const struct rc_reader *reader, const struct rc_design *base, const struct rc_layout *layout)
{
    if (layout->aero.column[RC_AERO_CA_OFF] && layout->aero.column[RC_AERO_CN_ALPHA])
        return;
    for (int index = 0; index < layout->n_sections; index++) {
        const struct rc_body_section *const part = &base->vehicle.sections[index];
        const double angle = atan(0.5 * (part->fore_diameter - part->aft_diameter) / part->length) * to_deg;
        char path[RC_MAX_PATH_TEXT];
        (void)snprintf(path, sizeof path, "body[%d]", index);
        if (angle > steepest_tail)
            rc_read_warn(reader, path,
                         "narrows by a half-angle of %.3g deg: from a tail steeper than about %.0f deg the flow parts, and the "
                         "estimate, which does not know that, has too little drag; lengthen it, or give aero.table_csv",
                         angle, steepest_tail);
    }
}

/* Where the drive does nothing, whatever it is told. */
struct idleness {
    const char *path;        /* entry to ask about                           */
    const char *what;        /* "the middle design's ... for 3 s"            */
    const char *check;       /* what may be the cause                        */
    enum rc_measure measure; /* time of it [s]                               */
    bool may_rest;           /* legal as long as the roll asks nothing of it */
};

/* An empty battery puts the drive to sleep: causes stand before what they bring about. */
static const struct idleness idleness[] = {
    {"battery", "battery is empty", "capacity_As, charge, its currents and pad.wait_s", RC_MEASURE_unpowered_s, false},
    {"drive", "stepper slips", "its torque, gear_ratio, slew_dps2 and the load's inertia and friction", RC_MEASURE_slipping_s,
     false},
    {"drive.failed_start", "drive is locked out", "start_odds and failed_start", RC_MEASURE_locked_out_s, false},
    {"drive.torque_limit_Nm", "drive cannot turn its load", "torque_limit_Nm, gear_ratio and the bearing", RC_MEASURE_stalled_s,
     false},
    {"drive.sleep_after_s", "drive is asleep",
     "sleep_after_s, wake_command_dps, wake_delay_s and the controller's windup_limit_dps, or nudge it on the pad",
     RC_MEASURE_asleep_s, true},
};

static const double idle_most = 0.5; /* of the ascent */

/* A drive that does nothing though there is something to do. */
static void review_idleness(const struct rc_reader *reader, const struct rc_design *base, const struct rc_record *record)
{
    const double roll = record->measure[RC_MEASURE_roll_peak_dps], ascent = record->measure[RC_MEASURE_ascent_s];
    const bool is_wanted = roll > to_deg * fmax(base->footage.target, fmax(base->drive.floor, base->drive.deadband));
    for (size_t index = 0; index < sizeof idleness / sizeof idleness[0]; index++) {
        const struct idleness *const row = &idleness[index];
        const double time = record->measure[row->measure];
        if (!(time > idle_most * ascent) || (row->may_rest && !is_wanted))
            continue;
        rc_read_warn(reader, row->path, "the middle design's %s for %.4g s of the %.4g s to apogee; check %s", row->what, time,
                     ascent, row->check);
        return;
    }
    if (is_wanted && record->measure[RC_MEASURE_drive_starts] < 1)
        rc_read_warn(reader, "drive",
                     "the middle design rolls at up to %.4g deg/s and its drive never starts; check what keeps it still: "
                     "start_odds, deadband_dps, command_step_dps, or the controller's gains, windup_limit_dps and still_dps",
                     roll);
}

/* Rates that the drive must turn against, and what it can: with a battery less, as its voltage falls. */
static void review_top(const struct rc_reader *reader, const struct rc_design *base, const struct rc_record *record)
{
    const double roll = record->measure[RC_MEASURE_roll_peak_dps], top = base->drive.top * to_deg;
    const double volts = record->measure[RC_MEASURE_battery_least_V];
    const double left = top * (volts / base->drive.battery.rated);
    if (roll > top)
        rc_read_warn(reader, "drive.top_dps",
                     "the middle design rolls at up to %.4g deg/s, faster than the drive can turn against it (%.4g deg/s)", roll,
                     top);
    else if (reader->has_battery && rc_platform_drive_at(reader->drive)->slows_by_voltage && roll > left)
        rc_read_warn(reader, "battery.rated_V",
                     "the middle design rolls at up to %.4g deg/s, faster than the drive can turn against it on this battery: "
                     "at its lowest, %.4g V, of %.4g V rated, %.4g of %.4g deg/s are left",
                     roll, volts, base->drive.battery.rated, left, top);
}

/* Speed off the rail below which one asks back; common practice, no source. [m/s] */
static const double least_rail_exit = 15;

void rc_review_flight(const struct rc_reader *reader, const struct rc_values *values, const struct rc_record *record)
{
    const struct rc_design *base = &values->base;
    const double margin = record->measure[RC_MEASURE_static_margin_min_cal];
    const double roll = record->measure[RC_MEASURE_roll_peak_dps];
    if (record->end == RC_END_NO_LIFTOFF) {
        rc_read_warn(reader, "motor",
                     "the thrust never exceeds the weight of %.4g kg: the middle design does not lift off; "
                     "check the thrust table and the masses",
                     base->vehicle.mass_loaded);
        return;
    }
    if (record->end == RC_END_ON_RAIL)
        rc_read_warn(reader, "motor",
                     "the middle design comes to rest on the rail and never leaves it; check thrust table, masses and rail");
    if (record->end == RC_END_DIVERGED)
        rc_read_warn(reader, "vehicle",
                     "the middle design cannot be flown to its end: its motion stops being finite, and such flights meet no "
                     "criterion; check inertias against fins and masses");
    if (record->end == RC_END_TIME)
        rc_read_warn(reader, "run.time_limit_s", "the time limit passes before the middle design is at its apogee; give it more");
    if (record->end == RC_END_CEILING)
        rc_read_warn(reader, "motor",
                     "the middle design leaves the modelled atmosphere, which ends at 86 km: such flights have no apogee and "
                     "meet no criterion");
    if (record->measure[RC_MEASURE_mach_max] > RC_AERO_MACH_TOP)
        rc_read_warn(reader, "vehicle",
                     "the middle design reaches Mach %.3g: what is estimated from the geometry is held from Mach %.0f on, what a "
                     "table gives from its last row on",
                     record->measure[RC_MEASURE_mach_max], RC_AERO_MACH_TOP);
    if (record->end == RC_END_APOGEE && reader->has_descent && isnan(record->measure[RC_MEASURE_landing_speed_mps]))
        rc_read_warn(reader, "descent",
                     "the middle design sinks too slowly under its canopies to be followed to the ground: its landing stays "
                     "blank and meets no criterion; check drag areas and mass_kg");
    const double rail_exit = record->measure[RC_MEASURE_rail_exit_mps];
    if (rail_exit < least_rail_exit) /* not where it is NAN */
        rc_read_warn(reader, "rail.length_m",
                     "the middle design leaves the rail at %.3g m/s; below some %.0f m/s fins do not hold a vehicle in the wind: "
                     "check rail, thrust and masses",
                     rail_exit, least_rail_exit);
    if (margin <= 0) /* not where it is NAN */
        rc_read_warn(reader, "vehicle",
                     "the middle design is statically unstable: its least static margin is %.2f calibres; "
                     "check fins, masses and stations",
                     margin);
    if (record->measure[RC_MEASURE_gyro_saturated_s] > 0)
        rc_read_warn(reader, "gyro.range_dps",
                     "the middle design rolls at up to %.4g deg/s, and its gyro reads its limit of %.4g deg/s for %.2g s", roll,
                     base->gyro.range * to_deg, record->measure[RC_MEASURE_gyro_saturated_s]);
    review_top(reader, base, record);
    review_idleness(reader, base, record);
}

void rc_review_load(const struct rc_reader *reader, const struct rc_drive_kind *kind, const struct rc_burden *burden)
{
    for (int index = 0; index < kind->n_rules; index++) {
        const struct rc_drive_rule *const rule = &kind->rules[index];
        if (rule->torque != NULL && !rc_platform_meets(rule, burden))
            rc_read_warn(reader, rule->entry,
                         "at the middle design's greatest acceleration, %.4g m/s2, this drive cannot turn its load from "
                         "standstill: its %s is %.4g N m at the platform, the friction %.4g N m",
                         burden->load, rule->wanted, rule->torque(burden), rc_platform_friction_at_rest(burden));
    }
}
