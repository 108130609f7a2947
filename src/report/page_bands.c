/* Sections of the roll and residual rates: percentile bands over time with the limit that matters. */
#include "page_sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "numeric/sorted.h"

/* Number of the signal of that name in a store, -1 if it has none. */
static int find_signal(const rc_results *results, const char *name)
{
    for (int signal = 0; signal < rc_results_signal_count(results); signal++) {
        if (strcmp(rc_results_signal(results, signal).name, name) == 0) {
            return signal;
        }
    }
    return -1;
}

static int all_have_bands(const struct rc_page *page, const char *signal)
{
    for (int store = 0; store < page->n_stores; store++) {
        if (find_signal(page->store[store].results, signal) < 0) {
            return 0;
        }
    }
    return 1;
}

int rc_page_bands_has_roll(const struct rc_page *page)
{
    return all_have_bands(page, "roll_rate");
}

int rc_page_bands_has_residual(const struct rc_page *page)
{
    return all_have_bands(page, "residual_rate");
}

/* Which limit is drawn into the figure of a signal. */
struct mark {
    const char *path, *meaning;
};

/* Lines at plus and minus a number of the campaign. */
static void add_mark(struct rc_text *plot, const struct mark *mark, const rc_campaign *campaign)
{
    const double value = rc_page_sheet_quantity(campaign, mark->path);
    if (value > 0.0) {
        rc_text_add(plot,
                    ", %.9g with lines lt 2 dt 2 lw 1.5 title '%s \302\261%.3g deg/s', %.9g with lines lt 2 dt 2 lw 1.5 notitle",
                    value, mark->meaning, value, -value);
    }
}

/* Set the rate's axis so that a short transient does not flatten all the rest: it ends beyond what nine of ten flights show at
 * four of five times, at more than five times the limit that is drawn, and only where less than half of the height is left.
 * ends 1 if some of the band is cut off */
static int cut_axis(struct rc_page_sheet *sheet, double limit)
{
    double *size = malloc((size_t)(sheet->n_rows + 1) * sizeof *size), low = 0.0, high = 0.0;
    int is_cut = 0;
    if (size == NULL || sheet->n_rows == 0) {
        free(size);
        return 0;
    }
    for (int64_t row = 0; row < sheet->n_rows; row++) {
        low = fmin(low, *rc_page_sheet_cell(sheet, row, 1));
        high = fmax(high, *rc_page_sheet_cell(sheet, row, RC_N_PERCENTILES));
        size[row] = fmax(fabs(*rc_page_sheet_cell(sheet, row, 1)), fabs(*rc_page_sheet_cell(sheet, row, RC_N_PERCENTILES)));
    }
    qsort(size, (size_t)sheet->n_rows, sizeof *size, rc_sorted_rising);
    const double end = fmax(1.5 * size[sheet->n_rows * 4 / 5], limit > 0.0 ? 5.0 * limit : 0.0);
    if (end < 0.5 * size[sheet->n_rows - 1]) {
        rc_text_add(&sheet->plot, "set yrange [%.3g:%.3g]\n", fmax(low, -end), fmin(high, end));
        is_cut = 1;
    }
    free(size);
    return is_cut;
}

/* The band of one store: percentiles as nested areas around the median. */
static rc_status draw_band(struct rc_page *page, int store, const char *signal, const struct mark *mark, struct rc_error *err)
{
    static const char *const heads[] = {"5th percentile", "25th percentile", "median", "75th percentile", "95th percentile"};
    const struct rc_report_store *from = &page->store[store];
    const int n_times = rc_results_band_times(from->results);
    struct rc_page_sheet sheet = {.n_columns = 0};
    double *time = malloc((size_t)n_times * sizeof *time), *curve = malloc((size_t)n_times * RC_N_PERCENTILES * sizeof *curve);
    char title[RC_PAGE_HEAD], file[64];
    rc_status status = RC_OK;

    rc_page_sheet_head(&sheet, "time after lift-off", "s");
    for (int percentile = 0; percentile < RC_N_PERCENTILES; percentile++) {
        rc_page_sheet_head(&sheet, heads[percentile], "deg/s");
    }
    if (time == NULL || curve == NULL) {
        status = rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a band");
        goto done;
    }
    status = rc_results_band(from->results, find_signal(from->results, signal), time, curve, NULL, err);
    if (status == RC_OK) {
        status = rc_page_sheet_rows(&sheet, n_times, err);
    }
    if (status != RC_OK) {
        goto done;
    }
    int64_t n_rows = 0;
    for (int at = 0; at < n_times; at++) { /* times at which no flight was up any more stand at the end */
        *rc_page_sheet_cell(&sheet, at, 0) = time[at];
        for (int percentile = 0; percentile < RC_N_PERCENTILES; percentile++) {
            *rc_page_sheet_cell(&sheet, at, 1 + percentile) = curve[percentile * n_times + at];
        }
        n_rows = isfinite(curve[2 * n_times + at]) ? at + 1 : n_rows;
    }
    sheet.n_rows = n_rows;
    const int is_cut = cut_axis(&sheet, rc_page_sheet_quantity(from->campaign, mark->path));
    rc_text_add(&sheet.plot, "set xlabel 'time after lift-off, s'\nset ylabel 'deg/s'\nset xrange [0:*]\n"
                             "plot $data using 1:2:6 with filledcurves lt 1 fs transparent solid 0.18 title '5 to 95 %%', "
                             "'' using 1:3:5 with filledcurves lt 1 fs transparent solid 0.35 title '25 to 75 %%', "
                             "'' using 1:4 with lines lt 1 lw 2.5 title 'median'");
    add_mark(&sheet.plot, mark, from->campaign);
    rc_page_sheet_title(page, store, strcmp(signal, "roll_rate") == 0 ? "Roll rate of the vehicle" : "Roll rate of the platform",
                        title);
    (void)snprintf(file, sizeof file, "%s-%c", signal, 'a' + store);
    status = rc_page_sheet_draw(
        page, &sheet,
        (struct rc_page_figure){
            .title = title,
            .file = file,
            .caption = is_cut ? "Half of the flights lie in the dark band, nine of ten in the light one, at each time. For a "
                                "short while the band goes beyond the axis; the numbers below have all of it."
                              : "Half of the flights lie in the dark band, nine of ten in the light one, at each time."},
        err);
done:
    free(time);
    free(curve);
    rc_page_sheet_drop(&sheet);
    return status;
}

rc_status rc_page_bands_roll(struct rc_page *page, struct rc_error *err)
{
    static const struct mark floor_mark = {"drive.floor_dps", "floor of the drive"};
    rc_page_paragraph(page->out, "How fast the vehicle turns, and so how fast the platform has to turn against it.");
    rc_status status = RC_OK;
    for (int store = 0; store < page->n_stores && status == RC_OK; store++) {
        status = draw_band(page, store, "roll_rate", &floor_mark, err);
    }
    return status;
}

rc_status rc_page_bands_residual(struct rc_page *page, struct rc_error *err)
{
    static const struct mark target_mark = {"footage.target_dps", "target"};
    rc_page_paragraph(page->out, "What is left for the cameras: the platform's own rate against the ground.");
    rc_status status = RC_OK;
    for (int store = 0; store < page->n_stores && status == RC_OK; store++) {
        status = draw_band(page, store, "residual_rate", &target_mark, err);
    }
    return status;
}
