/* What each table must look like, where it is found, and what its numbers mean. Reading the text is left to csv.c. */
#include "tables.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "flight/drag.h"

/* The columns of the aerodynamic table after mach stand in the order of enum rc_aero_column. */
static const struct rc_csv_form forms[] = {
    [RC_TABLE_THRUST] = {"thrust table",
                         2,
                         2,
                         {{"time_s", true, 0, 600, "after ignition"},
                          {"thrust_N", true, 0, 1e7, "linear between rows, zero before the first and after the last"}}},
    [RC_TABLE_AERO] = {"aerodynamic table",
                       1,
                       1 + RC_N_AERO_COLUMNS,
                       {{"mach", true, 0, 20, "Mach number; linear between rows, end values held"},
#define RC_AERO_COLUMN(member, name, low, high, meaning) {name, false, low, high, meaning},
#include "flight/aero_columns.def"
#undef RC_AERO_COLUMN
                       }},
    [RC_TABLE_WIND] = {"wind table",
                       1,
                       4,
                       {{"height_m", true, 0, 1e5, "above the pad; linear between rows, end values held"},
                        {"speed_mps", true, 0, 200, "wind speed"},
                        {"from_deg", true, -720, 720, "where it blows from, clockwise from north"},
                        {"speed_sd_mps", false, 0, 100, "standard deviation of the speed; see wind.spread"}}},
    [RC_TABLE_PULL_OUT] = {"pull-out table",
                           2,
                           2,
                           {{"step_rate_hz", true, 0, 1e6,
                             "full steps per second; linear between rows, end values held; at most 12 rows"},
                            {"torque_Nm", true, 0, 1000, "greatest torque of the motor before it loses steps"}}},
};

const struct rc_csv_form *rc_tables_form(enum rc_table table)
{
    return &forms[table];
}

/* Is the name acceptable as one relative to the campaign's folder? Reports if not. */
static bool is_good_name(const struct rc_reader *reader, const char *path, const char *name)
{
    const size_t n = strlen(name);
    const char *last = strrchr(name, '/');
    last = last ? last + 1 : name;
    if (name[0] == '/')
        rc_read_report(reader, path, NULL, "got the absolute path \"%.80s\", wanted one relative to the campaign's folder", name);
    else if (name[n - 1] == '/' || strcmp(last, ".") == 0 || strcmp(last, "..") == 0)
        rc_read_report(reader, path, NULL, "got the folder \"%.80s\", wanted a CSV file", name);
    else
        return true;
    return false;
}

/* Where tables come from. */
struct source {
    struct rc_bundle *bundle;
    const struct rc_reader *reader;
    const char *folder; /* NULL: only from the bundle */
};

/* Read a table from disk into the bundle. ends RC_NO_MEMORY, else RC_OK with an issue if it cannot be read */
static rc_status fetch(const struct source *source, const char *path, const char *name)
{
    struct rc_text file = {0};
    struct rc_error err = {.status = RC_OK};
    char *bytes = NULL;
    size_t n_bytes = 0;
    rc_text_add(&file, "%s%s", source->folder, name);
    rc_status status = file.failed ? RC_NO_MEMORY : rc_file_read(&bytes, &n_bytes, file.bytes, RC_MAX_FILE_BYTES, &err);
    if (status == RC_OK)
        status = rc_bundle_add(source->bundle, name, bytes ? bytes : "", n_bytes, &err);
    if (status != RC_OK && status != RC_NO_MEMORY) {
        rc_read_report(source->reader, path, NULL, "%.300s %s", file.bytes, err.what);
        status = RC_OK;
    }
    free(bytes);
    rc_text_free(&file);
    return status;
}

/* A file, found in the bundle or on disk. in path of the entry that names it; what it should be
 * out file  NULL where it cannot be had, which is reported */
static rc_status find_file(const struct rc_bundle_file **file, const char *what, const struct source *source, const char *path,
                           const char *name)
{
    *file = NULL;
    if (name[0] == '\0' || !is_good_name(source->reader, path, name))
        return RC_OK;
    if (source->folder && !rc_bundle_find(source->bundle, name)) {
        const int n_errors = source->reader->issues->n_errors;
        const rc_status status = fetch(source, path, name);
        if (status != RC_OK || source->reader->issues->n_errors > n_errors)
            return status;
    }
    const struct rc_bundle_file *found = rc_bundle_find(source->bundle, name);
    if (!found || found == &source->bundle->file[0])
        rc_read_report(source->reader, path, NULL, "got \"%.80s\", which is %s; wanted the %s", name,
                       found ? "the campaign itself" : "not among the campaign's files", what);
    else
        *file = found;
    return RC_OK;
}

/* One table: found, then read. in path of the entry that names it */
static rc_status read_table(struct rc_csv *csv, const struct rc_csv_form *form, const struct source *source, const char *path,
                            const char *name)
{
    const struct rc_bundle_file *file = NULL;
    rc_status status = find_file(&file, form->what, source, path, name);
    if (status != RC_OK || !file)
        return status;
    status = rc_csv_read(csv, file, form, source->reader->issues);
    if (status != RC_OK) /* a table with errors is as good as none */
        rc_csv_free(csv);
    return status == RC_NO_MEMORY ? status : RC_OK;
}

rc_status rc_tables_column(struct rc_csv *csv, const struct rc_reader *reader, const char *path, const char *file,
                           const char *column)
{
    *csv = (struct rc_csv){0};
    const struct source source = {reader->bundle, reader, reader->folder};
    const struct rc_bundle_file *found = NULL;
    rc_status status = find_file(&found, "file of measured values", &source, path, file);
    if (status != RC_OK || !found)
        return status;
    status = rc_csv_column(csv, found, column, reader->issues);
    if (status != RC_OK)
        rc_csv_free(csv);
    return status == RC_NO_MEMORY ? status : RC_OK;
}

static const double *aero_column(const struct rc_tables *tables, enum rc_aero_column column)
{
    return tables->aero.column[1 + column];
}

enum { N_PARTS = 4 };

/* The columns of the drag's parts. out part  NULL where not given; ends how many there are */
static int drag_parts(const struct rc_tables *tables, const double *part[N_PARTS])
{
    static const enum rc_aero_column column[N_PARTS] = {RC_AERO_CA_FRICTION, RC_AERO_CA_BASE, RC_AERO_CA_WAVE, RC_AERO_CA_FIN};
    int n_given = 0;
    for (int index = 0; index < N_PARTS; index++) {
        part[index] = aero_column(tables, column[index]);
        n_given += part[index] != NULL;
    }
    return n_given;
}

/* The first row whose parts of the drag do not add up to ca_off, or -1. Written numbers are rounded. */
static int odd_row(const struct rc_tables *tables, const double *const part[N_PARTS], double *sum)
{
    const double *const whole = aero_column(tables, RC_AERO_CA_OFF);
    for (int row = 0; row < tables->aero.n_rows; row++) {
        *sum = part[0][row] + part[1][row] + part[2][row] + part[3][row];
        if (fabs(*sum - whole[row]) > 1e-6 * (1 + whole[row]))
            return row;
    }
    return -1;
}

static void check_parts(const struct rc_tables *tables, const struct rc_reader *reader, const char *name)
{
    const double *part[N_PARTS];
    const int n_given = drag_parts(tables, part);
    double sum = 0;
    if (n_given == 0)
        return;
    if (n_given < N_PARTS) {
        rc_read_report(reader, "aero.table_csv", NULL,
                       "\"%.80s\" has ca_off beside %d of the drag's parts; wanted all four of ca_friction, ca_base, ca_wave "
                       "and ca_fin, or ca_off alone",
                       name, n_given);
        return;
    }
    const int row = odd_row(tables, part, &sum);
    if (row >= 0)
        rc_read_report(reader, "aero.table_csv", NULL,
                       "\"%.80s\" has the ca_off %.6g at Mach %.6g, where its parts add up to %.6g: only one can be flown; "
                       "remove the columns of the parts to fly ca_off, or ca_off and ca_on to fly the parts",
                       name, aero_column(tables, RC_AERO_CA_OFF)[row], tables->aero.column[0][row], sum);
}

static void check_aero(const struct rc_tables *tables, const struct rc_reader *reader, const char *name)
{
    const bool has_loaded = aero_column(tables, RC_AERO_CMQ_LOADED), has_burnt = aero_column(tables, RC_AERO_CMQ_BURNT);
    if (aero_column(tables, RC_AERO_CA_ON) && !aero_column(tables, RC_AERO_CA_OFF))
        rc_read_report(reader, "aero.table_csv", NULL,
                       "\"%.80s\" has ca_on without ca_off; wanted both, or neither for drag estimated from the geometry", name);
    if (aero_column(tables, RC_AERO_CA_OFF))
        check_parts(tables, reader, name);
    if (has_loaded != has_burnt || (has_loaded && aero_column(tables, RC_AERO_CMQ)))
        rc_read_report(reader, "aero.table_csv", NULL,
                       "\"%.80s\" has %s; wanted cmq, or cmq_loaded and cmq_burnt, or none of them", name,
                       has_loaded && has_burnt ? "cmq beside cmq_loaded and cmq_burnt"
                           : has_loaded        ? "cmq_loaded without cmq_burnt"
                                               : "cmq_burnt without cmq_loaded");
}

static void check_thrust(const struct rc_tables *tables, const struct rc_reader *reader, const char *name)
{
    const double *time = tables->thrust.column[0];
    const double *thrust = tables->thrust.column[1];
    const int n = tables->thrust.n_rows;
    double impulse = 0;
    double peak = n > 0 ? thrust[0] : 0;
    for (int row = 1; row < n; row++) {
        impulse += 0.5 * (thrust[row] + thrust[row - 1]) * (time[row] - time[row - 1]);
        peak = fmax(peak, thrust[row]);
    }
    if (n > 0 && !(impulse > 0))
        rc_read_report(reader, "motor.thrust_csv", NULL,
                       "the thrust in \"%.80s\" is zero all over; wanted a total impulse above 0", name);
    else if (n > 0 && thrust[n - 1] > 0.05 * peak)
        rc_read_warn(reader, "motor.thrust_csv",
                     "\"%.80s\" ends at %.4g N, %.0f %% of its peak, and thrust is zero after it; add rows down to 0 if the tail "
                     "was cut off",
                     name, thrust[n - 1], 100 * thrust[n - 1] / peak);
}

rc_status rc_tables_read(struct rc_tables *tables, struct rc_bundle *bundle, const struct rc_reader *reader,
                         const struct rc_settings *settings, const char *folder)
{
    *tables = (struct rc_tables){0};
    const struct source source = {bundle, reader, folder};
    rc_status status = read_table(&tables->thrust, &forms[RC_TABLE_THRUST], &source, "motor.thrust_csv", settings->thrust_file);
    if (status == RC_OK)
        status = read_table(&tables->aero, &forms[RC_TABLE_AERO], &source, "aero.table_csv", settings->aero_file);
    if (status == RC_OK)
        status = read_table(&tables->wind, &forms[RC_TABLE_WIND], &source, "wind.table_csv", settings->wind_file);
    if (status == RC_OK)
        status = read_table(&tables->pull_out, &forms[RC_TABLE_PULL_OUT], &source, "drive.pull_out_csv", settings->pull_out_file);
    if (tables->pull_out.n_rows > RC_MAX_PULL_OUT_ROWS)
        rc_read_report(reader, "drive.pull_out_csv", NULL, "\"%.80s\" has %d rows, at most %d are accepted; keep the bends",
                       settings->pull_out_file, tables->pull_out.n_rows, RC_MAX_PULL_OUT_ROWS);
    check_thrust(tables, reader, settings->thrust_file);
    check_aero(tables, reader, settings->aero_file);
    for (int row = 0; row < tables->wind.n_rows; row++)
        tables->wind.column[2][row] *= 0.017453292519943295; /* degrees to radians */
    return status;
}

void rc_tables_lend(const struct rc_tables *tables, const struct rc_design *base, struct rc_layout *layout)
{
    layout->thrust = (struct rc_thrust_points){tables->thrust.n_rows, tables->thrust.column[0], tables->thrust.column[1]};
    layout->aero = (struct rc_aero_points){.n = tables->aero.n_rows,
                                           .mach = tables->aero.column[0],
                                           .cm_loaded = base->vehicle.cm_loaded,
                                           .cm_burnt = base->vehicle.cm_burnt};
    for (int column = 0; column < RC_N_AERO_COLUMNS; column++)
        layout->aero.column[column] = tables->aero.column[1 + column];
    const double *part[N_PARTS];
    if (!layout->aero.column[RC_AERO_CA_ON])
        layout->aero.column[RC_AERO_CA_ON] = layout->aero.column[RC_AERO_CA_OFF];
    if (drag_parts(tables, part) == N_PARTS) /* they are flown, and the whole is their sum */
        layout->aero.column[RC_AERO_CA_ON] = layout->aero.column[RC_AERO_CA_OFF] = NULL;
    layout->wind =
        (struct rc_wind_points){tables->wind.n_rows, tables->wind.column[0], tables->wind.column[1], tables->wind.column[2],
                                tables->wind.column[3]};
    layout->pull_out.n = tables->pull_out.n_rows;
    for (int row = 0; row < tables->pull_out.n_rows && row < RC_MAX_PULL_OUT_ROWS; row++) {
        layout->pull_out.rate[row] = tables->pull_out.column[0][row];
        layout->pull_out.torque[row] = tables->pull_out.column[1][row];
    }
}

/* Warn of a place that the vehicle does not have: one row of each column that has any. */
static void review_places(const struct rc_tables *tables, const struct rc_reader *reader, double length)
{
    static const enum rc_aero_column place[] = {RC_AERO_XCP, RC_AERO_BODY_LIFT_STATION, RC_AERO_FIN_STATION,
                                                RC_AERO_FIN_STATION_2};
    for (size_t index = 0; index < sizeof place / sizeof place[0]; index++) {
        const double *const station = aero_column(tables, place[index]);
        for (int row = 0; station && row < tables->aero.n_rows; row++) {
            if (station[row] <= length)
                continue;
            rc_read_warn(reader, "aero.table_csv",
                         "the %s %.6g at Mach %.6g lies behind the vehicle's end, which is at %.6g m; check the unit: it is "
                         "metres from the nose tip",
                         forms[RC_TABLE_AERO].column[1 + place[index]].name, station[row], tables->aero.column[0][row], length);
            break;
        }
    }
}

void rc_tables_review(const struct rc_tables *tables, const struct rc_reader *reader, const struct rc_design *base,
                      const struct rc_layout *layout)
{
    review_places(tables, reader, base->vehicle.length);
    const double *part[N_PARTS], *const whole = aero_column(tables, RC_AERO_CA_ON);
    if (!whole || drag_parts(tables, part) < N_PARTS)
        return;
    const double left = rc_drag_base_left(&base->vehicle, layout, base->motor.exit_area);
    for (int row = 0; row < tables->aero.n_rows; row++) {
        const double sum = part[0][row] + left * part[1][row] + part[2][row] + part[3][row];
        if (fabs(sum - whole[row]) <= 1e-6 * (1 + whole[row]))
            continue;
        rc_read_warn(reader, "aero.table_csv",
                     "the ca_on %.6g at Mach %.6g is not flown: the parts of the drag beside it make %.6g while the motor burns; "
                     "remove their columns to fly ca_on and ca_off",
                     whole[row], tables->aero.column[0][row], sum);
        return;
    }
}

void rc_tables_free(struct rc_tables *tables)
{
    rc_csv_free(&tables->thrust);
    rc_csv_free(&tables->aero);
    rc_csv_free(&tables->wind);
    rc_csv_free(&tables->pull_out);
}
