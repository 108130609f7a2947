/* What the fuzz targets of the CSV tables share. */
#include "csv_target.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Does an accepted table keep its form? */
static int keeps_form(const struct rc_csv *csv, const struct rc_csv_form *form)
{
    if (csv->n_rows < form->n_rows_least || csv->n_rows > RC_MAX_TABLE_ROWS)
        return 0;
    for (int column = 0; column < form->n_columns; column++) {
        const double *values = csv->column[column];
        if (!values && form->column[column].is_required)
            return 0;
        for (int row = 0; values && row < csv->n_rows; row++) {
            if (!isfinite(values[row]) || values[row] < form->column[column].low || values[row] > form->column[column].high)
                return 0;
            if (column == 0 && row > 0 && !(values[row] > values[row - 1]))
                return 0;
        }
    }
    return 1;
}

void csv_target_run(enum rc_table table, const uint8_t *data, size_t size)
{
    char *bytes = malloc(size + 1);
    struct rc_issues *issues = calloc(1, sizeof *issues);
    struct rc_csv csv = {0};
    if (bytes && issues) {
        memcpy(bytes, data, size);
        bytes[size] = '\0';
        const struct rc_bundle_file file = {(char[]){"fuzz.csv"}, bytes, size};
        const rc_status status = rc_csv_read(&csv, &file, rc_tables_form(table), issues);
        if (status == RC_OK ? issues->n_errors != 0 || !keeps_form(&csv, rc_tables_form(table)) : issues->n_errors == 0)
            abort();
    }
    rc_csv_free(&csv);
    free(issues);
    free(bytes);
}
