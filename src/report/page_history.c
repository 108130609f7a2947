/* The page's single flights: flown again from the store by batch, their history read back from its CSV, which has every tick. */
#include "page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "rollcast/run.h"

enum { ROWS_WANTED = 160, FIXED = 3, MAX_FIELDS = 64 };

/* Where the columns that are kept stand in the CSV. */
struct places {
    int n_kept;
    int field[FIXED + RC_MAX_CAMERAS];
};

/* Number of the field of that name in a head, -1 if there is none. */
static int find_field(const char *head, const char *name)
{
    const size_t n_name = strlen(name);
    int field = 0;
    for (const char *at = head; *at != '\0' && *at != '\n'; field++) {
        const size_t n = strcspn(at, ",\n");
        if (n == n_name && strncmp(at, name, n) == 0) {
            return field;
        }
        at += n + (at[n] == ',');
    }
    return -1;
}

static int find_places(struct places *places, const char *csv)
{
    static const char *const fixed[FIXED] = {"time_s", "roll_rate_dps", "residual_dps"};
    char name[32];
    for (places->n_kept = 0; places->n_kept < FIXED; places->n_kept++) {
        places->field[places->n_kept] = find_field(csv, fixed[places->n_kept]);
        if (places->field[places->n_kept] < 0) {
            return 0;
        }
    }
    for (int camera = 0; camera < RC_MAX_CAMERAS; camera++) {
        (void)snprintf(name, sizeof name, "smear_%d_px", camera);
        places->field[places->n_kept] = find_field(csv, name);
        if (places->field[places->n_kept] < 0) {
            break;
        }
        places->n_kept++;
    }
    return 1;
}

static void read_line(const char *line, const struct places *places, double *row)
{
    double field[MAX_FIELDS] = {0.0};
    int n_fields = 0;
    for (const char *at = line; n_fields < MAX_FIELDS && *at != '\0' && *at != '\n';) {
        char *end = NULL;
        field[n_fields++] = strtod(at, &end);
        at = *end == ',' ? end + 1 : end;
        if (end == at && *end != ',' && *end != '\n' && *end != '\0') {
            break;
        }
    }
    for (int kept = 0; kept < places->n_kept; kept++) {
        row[kept] = places->field[kept] < n_fields ? field[places->field[kept]] : NAN;
    }
}

/* Take one tick into the row that its time belongs to, a new one where that is over.
 * in tick (places->n_kept): time, roll rate, residual rate, smears */
static void take_tick(struct rc_page_history *history, const double *tick)
{
    const int n_columns = RC_PAGE_SMEAR + history->n_cameras;
    double *row = history->rows + (ptrdiff_t)(history->n_rows - 1) * n_columns;
    if (history->n_rows == 0 || tick[0] >= row[0] + history->interval * (1.0 - 1e-9)) {
        row = history->rows + (ptrdiff_t)history->n_rows++ * n_columns;
        row[0] = tick[0];
        row[1] = tick[1];
        row[2] = row[3] = tick[2];
        memcpy(row + RC_PAGE_SMEAR, tick + FIXED, (size_t)history->n_cameras * sizeof *row);
    }
    row[2] = fmin(row[2], tick[2]);
    row[3] = fmax(row[3], tick[2]);
    for (int camera = 0; camera < history->n_cameras; camera++) {
        row[RC_PAGE_SMEAR + camera] = fmax(row[RC_PAGE_SMEAR + camera], tick[FIXED + camera]);
    }
}

/* Read a history's CSV. ends RC_NO_MEMORY, RC_IO (not as expected) */
static rc_status read_history(struct rc_page_history *history, const char *csv, struct rc_error *err)
{
    struct places places = {0};
    int n_lines = 0;
    if (!find_places(&places, csv)) {
        return rc_error_fill(err, RC_IO, "", "a flight of this campaign has no history over time");
    }
    for (const char *at = csv; *at != '\0'; at++) {
        n_lines += *at == '\n';
    }
    history->n_cameras = places.n_kept - FIXED;
    history->rows = calloc((size_t)n_lines * (size_t)(RC_PAGE_SMEAR + history->n_cameras) + 1, sizeof *history->rows);
    if (history->rows == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a flight's history");
    }
    for (const char *line = strchr(csv, '\n'); line != NULL && line[1] != '\0'; line = strchr(line + 1, '\n')) {
        double tick[FIXED + RC_MAX_CAMERAS];
        read_line(line + 1, &places, tick);
        take_tick(history, tick);
    }
    return RC_OK;
}

static rc_status fly_again(struct rc_page_history *history, const struct rc_report_store *store, struct rc_error *err)
{
    char *csv = NULL;
    size_t n_csv = 0;
    int n_differing = 0;
    FILE *out = open_memstream(&csv, &n_csv);
    if (out == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a flight's history");
    }
    rc_status status = rc_run_replay(store->results, history->flight, out, 0.0, &n_differing, err);
    if (fclose(out) != 0 && status == RC_OK) {
        status = rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a flight's history");
    }
    history->is_equal = n_differing == 0;
    if (status == RC_OK) {
        status = read_history(history, csv, err);
    }
    free(csv);
    return status;
}

rc_status rc_page_history_gather(struct rc_page_facts *facts, const struct rc_report_store *store, struct rc_error *err)
{
    const struct rc_spread *ascent = &facts->answer.spread[RC_MEASURE_ascent_s];
    /* Whole hundredths, so that the times read well. */
    const double interval = ascent->n > 0 ? ceil(100.0 * ascent->p95 / ROWS_WANTED) / 100.0 : 0.5;
    for (int which = 0; which < RC_PAGE_HISTORIES; which++) {
        struct rc_page_history *history = &facts->history[which];
        if (history->flight < 0) {
            (void)snprintf(facts->no_history, sizeof facts->no_history, "no flight reached apogee");
            continue;
        }
        struct rc_error why = {.status = RC_OK};
        history->interval = interval;
        const rc_status status = fly_again(history, store, &why);
        if (status == RC_NO_MEMORY) {
            return rc_error_fill(err, status, why.where, "%s", why.what);
        }
        if (status != RC_OK) {
            (void)snprintf(facts->no_history, sizeof facts->no_history, "%s", why.what);
            return RC_OK;
        }
    }
    return RC_OK;
}
