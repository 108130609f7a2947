/* Tables in CSV files: named columns of finite numbers. */
#ifndef RC_CSV_H
#define RC_CSV_H

#include "base/base.h"

enum { RC_MAX_CSV_COLUMNS = 24 };

struct rc_csv_column {
    const char *name;
    bool is_required;
    double low, high;    /* allowed range */
    const char *meaning; /* one line      */
};

/* What a table must look like. The first column must rise from row to row. */
struct rc_csv_form {
    const char *what; /* "thrust table"                   */
    int n_rows_least;
    int n_columns;
    struct rc_csv_column column[RC_MAX_CSV_COLUMNS];
};

struct rc_csv {
    int n_rows;
    double *column[RC_MAX_CSV_COLUMNS]; /* (n_rows), in the form's order; NULL where the file has no such column */
};

/* Read a table.
 * Accepted: UTF-8 with or without a byte order mark, LF or CRLF, lines that are blank or begin with #, spaces around fields,
 * columns in any order. Numbers are plain decimal ones with a point, whatever the locale of the machine (needs the "C" numeric
 * locale in this thread, which the loader sets).
 * out  csv     caller frees with rc_csv_free, also on error
 * out  issues  "file:line: ..." for each mistake, the first few of a table
 * ends RC_BAD_INPUT, RC_NO_MEMORY */
rc_status rc_csv_read(struct rc_csv *csv, const struct rc_bundle_file *file, const struct rc_csv_form *form,
                      struct rc_issues *issues) RC_MUST_CHECK;

/* Read one column by its name from a file that may hold others; its rows may be in any order.
 * out  csv    column 0; caller frees with rc_csv_free, also on error
 * ends as rc_csv_read */
rc_status rc_csv_column(struct rc_csv *csv, const struct rc_bundle_file *file, const char *name,
                        struct rc_issues *issues) RC_MUST_CHECK;

/* Release the columns. */
void rc_csv_free(struct rc_csv *csv);

#endif
