/* A flight's history as JSON. Flying it again is batch's, which writes it as CSV. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "json.h"
#include "rollcast/report.h"

/* The cells of a line as members of a list on one line: names or numbers. ends the line after it, NULL at the end */
static const char *write_line(struct rc_json *json, const char *key, const char *line)
{
    const size_t length = strcspn(line, "\n");
    char cell[64];
    rc_json_open(json, key, '[');
    json->is_flat = true;
    for (const char *at = line; at <= line + length;) {
        const size_t n = strcspn(at, ",\n");
        (void)snprintf(cell, sizeof cell, "%.*s", (int)n, at);
        if (key != NULL) {
            rc_json_text(json, NULL, cell);
        } else {
            rc_json_number(json, NULL, n > 0 ? strtod(cell, NULL) : NAN);
        }
        at += n + 1;
    }
    rc_json_close(json, ']');
    json->is_flat = false;
    return line[length] == '\n' && line[length + 1] != '\0' ? line + length + 1 : NULL;
}

static void write_json(FILE *out, const struct rc_report_flight *asked, int n_differing, const char *csv)
{
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-replay/1");
    rc_json_text(&json, "campaign", rc_results_origin(asked->results).campaign_name);
    rc_json_unsigned(&json, "seed", rc_results_seed(asked->results));
    rc_json_integer(&json, "flight", asked->flight);
    rc_json_integer(&json, "numbers_differing", n_differing);
    csv = write_line(&json, "columns", csv);
    rc_json_open(&json, "rows", '[');
    while (csv != NULL) {
        csv = write_line(&json, NULL, csv);
    }
    rc_json_close(&json, ']');
    rc_json_close(&json, '}');
}

rc_status rc_report_replay(FILE *out, enum rc_report_form form, const struct rc_report_flight *asked, int *n_differing,
                           struct rc_error *err)
{
    char *csv = NULL;
    size_t n_csv = 0;
    if (form != RC_REPORT_JSON) {
        return rc_run_replay(asked->results, asked->flight, out, asked->interval, n_differing, err);
    }
    FILE *history = open_memstream(&csv, &n_csv);
    rc_status status = history != NULL ? rc_run_replay(asked->results, asked->flight, history, asked->interval, n_differing, err)
                                       : rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a flight's history");
    if (history != NULL && fclose(history) != 0 && status == RC_OK) {
        status = rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a flight's history");
    }
    if (status == RC_OK) {
        write_json(out, asked, *n_differing, csv);
        if (fflush(out) == EOF || ferror(out)) {
            status = rc_error_fill(err, RC_IO, "", "the history cannot be written");
        }
    }
    free(csv);
    return status;
}
