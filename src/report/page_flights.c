/* Sections that need flights flown again: smear of each camera, and the typical, best and worst flight. */
#include "page_sheet.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "wording.h"

int rc_page_flights_has_smear(const struct rc_page *page)
{
    for (int store = 0; store < page->n_stores; store++) {
        if (page->facts[store].history[0].n_cameras > 0) {
            return 1;
        }
    }
    return 0;
}

/* Smear limit of a camera [px]. */
static double camera_limit(const rc_campaign *campaign, int camera)
{
    char path[64];
    (void)snprintf(path, sizeof path, "cameras[%d].smear_limit_px", camera);
    return rc_page_sheet_quantity(campaign, path);
}

/* Copy columns of a history into a sheet that has as many. */
static rc_status take_history(struct rc_page_sheet *sheet, const struct rc_page_history *history, int first, struct rc_error *err)
{
    const rc_status status = rc_page_sheet_rows(sheet, history->n_rows, err);
    for (int row = 0; row < history->n_rows && status == RC_OK; row++) {
        const double *from = history->rows + (ptrdiff_t)row * (RC_PAGE_SMEAR + history->n_cameras);
        *rc_page_sheet_cell(sheet, row, 0) = from[0];
        for (int column = 1; column < sheet->n_columns; column++) {
            *rc_page_sheet_cell(sheet, row, column) = from[first + column - 1];
        }
    }
    return status;
}

static rc_status draw_smear(struct rc_page *page, int store, struct rc_error *err)
{
    const struct rc_page_history *history = &page->facts[store].history[0];
    const rc_campaign *campaign = page->store[store].campaign;
    struct rc_page_sheet sheet = {.n_columns = 0};
    char text[RC_PAGE_HEAD], name[64], title[RC_PAGE_HEAD], file[32], caption[400];
    rc_page_sheet_head(&sheet, "time after lift-off", "s");
    for (int camera = 0; camera < history->n_cameras; camera++) {
        rc_wording_camera(campaign, camera, name, sizeof name);
        (void)snprintf(text, sizeof text, "greatest smear, camera %s", name);
        rc_page_sheet_head(&sheet, text, "px");
    }
    rc_text_add(&sheet.plot, "set xlabel 'time after lift-off, s'\nset ylabel 'smear, px'\nset logscale y\nset yrange "
                             "[0.01:*]\nset xrange [0:*]\nplot ");
    for (int camera = 0; camera < history->n_cameras; camera++) {
        rc_text_add(&sheet.plot, "%s%s using 1:(column(%d) > 0.01 ? column(%d) : 0.01) with lines lt %d lw 2 title ",
                    camera > 0 ? ", " : "", camera > 0 ? "''" : "$data", camera + 2, camera + 2, camera + 1);
        rc_wording_camera(campaign, camera, name, sizeof name);
        (void)snprintf(text, sizeof text, "camera %s", name);
        rc_page_sheet_quoted(&sheet.plot, text);
        const double limit = camera_limit(campaign, camera);
        if (limit > 0.0 && (camera == 0 || limit != camera_limit(campaign, camera - 1))) {
            rc_text_add(&sheet.plot, ", %.9g with lines lt 8 dt 2 lw 1.5 title 'usable up to %.4g px'", limit, limit);
        }
    }
    rc_status status = take_history(&sheet, history, RC_PAGE_SMEAR, err);
    if (status == RC_OK) {
        rc_page_sheet_title(page, store, "Smear of each camera in the typical flight", title);
        (void)snprintf(file, sizeof file, "smear-%c", 'a' + store);
        (void)snprintf(caption, sizeof caption,
                       "How far the picture moves during one exposure, the most of every %.3g s, on a logarithmic scale; less "
                       "than 0.01 px is drawn there. A frame also needs its camera to turn slower than its rate limit.",
                       history->interval);
        status = rc_page_sheet_draw(
            page, &sheet,
            (struct rc_page_figure){
                .title = title,
                .file = file,
                .caption = caption},
            err);
    }
    rc_page_sheet_drop(&sheet);
    return status;
}

rc_status rc_page_flights_smear(struct rc_page *page, struct rc_error *err)
{
    rc_status status = RC_OK;
    for (int store = 0; store < page->n_stores && status == RC_OK; store++) {
        if (page->facts[store].history[0].n_cameras > 0) {
            status = draw_smear(page, store, err);
        }
    }
    return status;
}

static const char *const kinds[RC_PAGE_HISTORIES] = {"typical", "best", "worst"};

static rc_status draw_flight(struct rc_page *page, int store, int which, struct rc_error *err)
{
    const struct rc_page_history *history = &page->facts[store].history[which];
    struct rc_page_sheet sheet = {.n_columns = 0};
    char what[64], title[RC_PAGE_HEAD], file[48], caption[400];
    rc_page_sheet_head(&sheet, "time after lift-off", "s");
    rc_page_sheet_head(&sheet, "roll rate of the vehicle", "deg/s");
    rc_page_sheet_head(&sheet, "least roll rate of the platform", "deg/s");
    rc_page_sheet_head(&sheet, "greatest roll rate of the platform", "deg/s");
    rc_text_add(&sheet.plot, "set xlabel 'time after lift-off, s'\nset ylabel 'deg/s'\nset xrange [0:*]\n"
                             "plot $data using 1:3:4 with filledcurves lt 2 fs transparent solid 0.45 notitle, "
                             "'' using 1:2 with lines lt 1 dt '-' lw 1.5 title 'vehicle', "
                             "'' using 1:3 with lines lt 2 dt 1 lw 1.2 title 'platform, least to greatest', "
                             "'' using 1:4 with lines lt 2 dt 1 lw 1.2 notitle");
    rc_status status = take_history(&sheet, history, 1, err);
    if (status == RC_OK) {
        (void)snprintf(what, sizeof what, "The %s flight, number %" PRId64, kinds[which], history->flight);
        rc_page_sheet_title(page, store, what, title);
        (void)snprintf(file, sizeof file, "flight-%s-%c", kinds[which], 'a' + store);
        (void)snprintf(caption, sizeof caption, "%s The platform's rate is drawn from its least to its greatest in every %.3g s.",
                       history->is_equal
                           ? "Flown again from the store; every stored number came out the same, bit for bit."
                           : "Flown again from the store by another build: some stored numbers differ in their bits.",
                       history->interval);
        status = rc_page_sheet_draw(
            page, &sheet,
            (struct rc_page_figure){
                .title = title,
                .file = file,
                .height = 260,
                .caption = caption},
            err);
    }
    rc_page_sheet_drop(&sheet);
    return status;
}

static void write_replay(struct rc_page *page, int store, int which)
{
    const struct rc_page_facts *facts = &page->facts[store];
    const struct rc_measure_row *measure = rc_measures_row(facts->chosen_by);
    fprintf(page->out, "<p>%c%s: <code>%s</code> is %s%s%s. All of it as CSV: <code>rollcast replay ",
            (char)(kinds[which][0] - 'a' + 'A'), kinds[which] + 1, measure->name,
            rc_figures_number(facts->history[which].value, 3, RC_ROUND_NEAREST).text,
            *rc_wording_unit(measure->unit) != '\0' ? "&nbsp;" : "", rc_wording_unit(measure->unit));
    rc_page_text(page->out, page->store[store].path);
    fprintf(page->out, " <span class=\"whole\">--flight %" PRId64 "</span>", facts->history[which].flight);
    fputs(" <span class=\"whole\">-o flight.csv</span></code></p>\n", page->out);
}

rc_status rc_page_flights_single(struct rc_page *page, struct rc_error *err)
{
    rc_page_paragraph(page->out,
                      "Of all flights that reached apogee. Typical: by rank nearest to the middle in the measures of all "
                      "criteria, greatest roll rate and apogee together. Best and worst: by the measure of the first "
                      "criterion alone.");
    for (int store = 0; store < page->n_stores; store++) {
        if (page->facts[store].no_history[0] != '\0') {
            fputs("<p>No single flights: ", page->out);
            rc_page_text(page->out, page->facts[store].no_history);
            fputs(".</p>\n", page->out);
            continue;
        }
        for (int which = 0; which < RC_PAGE_HISTORIES && page->facts[store].history[which].flight >= 0; which++) {
            const rc_status status = draw_flight(page, store, which, err);
            if (status != RC_OK) {
                return status;
            }
            write_replay(page, store, which);
        }
    }
    return RC_OK;
}
