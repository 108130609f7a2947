/* The CSV tables a campaign names: found, read, checked, in SI. */
#ifndef RC_TABLES_H
#define RC_TABLES_H

#include "csv.h"
#include "read.h"

enum rc_table { RC_TABLE_THRUST = 0, RC_TABLE_AERO, RC_TABLE_WIND, RC_TABLE_PULL_OUT, RC_N_TABLES };

/* What a table must look like: its columns with their ranges and meanings; borrowed. */
const struct rc_csv_form *rc_tables_form(enum rc_table table);

struct rc_tables {
    struct rc_csv thrust; /* time [s], thrust [N]                        */
    struct rc_csv aero;   /* mach, then the columns of enum rc_aero_column */
    struct rc_csv wind;   /* height [m], speed [m/s], from [rad], spread [m/s] or none; no rows = power law */
    struct rc_csv pull_out; /* step rate [1/s], torque [N m]; no rows = from the winding */
};

/* Find and read the tables that the settings name.
 * out    tables  caller frees with rc_tables_free, also on error
 * in/out bundle  files that are not in it yet are read from `folder` and added
 * in     folder  where the campaign's file lies ("" = here), or NULL: everything must be in the bundle
 * out    reader->issues  unreadable files, bad rows, a thrust table without impulse
 * ends RC_NO_MEMORY, RC_OK also when issues were found */
rc_status rc_tables_read(struct rc_tables *tables, struct rc_bundle *bundle, const struct rc_reader *reader,
                         const struct rc_settings *settings, const char *folder) RC_MUST_CHECK;

/* Read one column of a CSV file that holds measured values, in any order of rows, among any other columns.
 * out  csv   column 0 as it stands in the file; caller frees with rc_csv_free, also on error
 * in   path  of the entry that names the file, for messages
 * out  reader->bundle  gets the file if it was not there; reader->issues
 * ends RC_NO_MEMORY, RC_OK also when issues were found: then there are no rows */
rc_status rc_tables_column(struct rc_csv *csv, const struct rc_reader *reader, const char *path, const char *file,
                           const char *column) RC_MUST_CHECK;

/* Let a layout borrow the tables. Where the aerodynamic one has all parts of the drag, their sum is not lent.
 * in   base    the middle design, about whose centres of mass some columns are */
void rc_tables_lend(const struct rc_tables *tables, const struct rc_design *base, struct rc_layout *layout);

/* Warn of stations behind the vehicle's end, and of a ca_on that is not flown, because the parts of the drag beside it make
 * another one with the middle design's exit area.
 * in   layout  with the tables lent */
void rc_tables_review(const struct rc_tables *tables, const struct rc_reader *reader, const struct rc_design *base,
                      const struct rc_layout *layout);

/* Release the tables. */
void rc_tables_free(struct rc_tables *tables);

#endif
