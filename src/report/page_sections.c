/* The sections of a page, and the figures over all stores at once. Drawing is left to page_figure.c, tables of words to
 * page_words.c. */
#include "page_sheet.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static int always(const struct rc_page *page)
{
    return page->n_stores > 0;
}

static int has_usable(const struct rc_page *page)
{
    int n = 0;
    for (int store = 0; store < page->n_stores; store++) {
        n += page->facts[store].has_usable;
    }
    return n > 0;
}

/* Rows of a sheet that hold a store's curve. */
struct stretch {
    int64_t first, n;
};

/* Add "column K of the data as a line, called after its store" for every store. Lines that lie on each other are told apart by
 * marks, each store's at places of its own; they come last, so that no line hides them. */
static void add_store_lines(struct rc_page *page, struct rc_page_sheet *sheet, int first_column, int step,
                            const struct stretch *stretch)
{
    enum { MARKS = 6 }; /* of a line */
    char name[RC_PAGE_HEAD];
    for (int store = 0; store < page->n_stores; store++) {
        rc_text_add(&sheet->plot, "%s%s using 1:%d with lines lt %d lw 2.5 notitle", store > 0 ? ", " : "",
                    store > 0 ? "''" : "$data", first_column + store * step, store + 1);
    }
    const int n_marked = page->n_stores > 1 ? page->n_stores : 0;
    for (int store = 0; store < n_marked; store++) {
        const int64_t n = stretch[store].n, apart = n > MARKS ? n / MARKS : 1;
        const int64_t begin = stretch[store].first + apart * store / page->n_stores, end = stretch[store].first + n - (n > 0);
        rc_text_add(&sheet->plot, ", '' using 1:%d every %" PRId64 "::%" PRId64 "::%" PRId64 " with points lt %d ps 1.1 notitle",
                    first_column + store * step, apart, begin, end, store + 1);
    }
    for (int store = 0; store < page->n_stores; store++) {
        rc_page_store_name(page, store, name, sizeof name);
        rc_text_add(&sheet->plot, ", keyentry with %s lt %d lw 2.5%s title ", n_marked > 0 ? "linespoints" : "lines", store + 1,
                    n_marked > 0 ? " ps 1.1" : "");
        rc_page_sheet_quoted(&sheet->plot, name);
    }
}

static rc_status write_usable(struct rc_page *page, struct rc_error *err)
{
    struct rc_page_sheet sheet = {.n_columns = 0};
    struct stretch stretch[RC_REPORT_MAX_STORES];
    char name[RC_PAGE_HEAD];
    rc_page_sheet_head(&sheet, "usable share of the ascent", "%");
    for (int store = 0; store < page->n_stores; store++) {
        rc_page_store_name(page, store, name, sizeof name);
        rc_page_sheet_head(&sheet, name, "% of flights");
        stretch[store] = (struct stretch){0, RC_PAGE_SHARES};
    }
    rc_status status = rc_page_sheet_rows(&sheet, RC_PAGE_SHARES, err);
    for (int row = 0; row < RC_PAGE_SHARES && status == RC_OK; row++) {
        *rc_page_sheet_cell(&sheet, row, 0) = 100.0 * row / (RC_PAGE_SHARES - 1);
        for (int store = 0; store < page->n_stores; store++) {
            *rc_page_sheet_cell(&sheet, row, 1 + store) =
                page->facts[store].has_usable ? 100.0 * page->facts[store].usable_beyond[row] : NAN;
        }
    }
    if (status == RC_OK) {
        rc_text_add(&sheet.plot, "set xlabel 'usable share of the ascent, %%'\nset ylabel 'flights with at least that much, %%'\n"
                                 "set xrange [0:100]\nset yrange [0:102]\nplot ");
        add_store_lines(page, &sheet, 2, 1, stretch);
        status = rc_page_sheet_draw(
            page, &sheet,
            (struct rc_page_figure){
                .title = "Usable share of the ascent",
                .file = "usable-share",
                .caption = "Read up from a share of the ascent to the part of the flights that have at least that much usable "
                           "footage, by the worst camera on the platform."},
            err);
    }
    rc_page_sheet_drop(&sheet);
    return status;
}

static rc_status write_settling(struct rc_page *page, struct rc_error *err)
{
    enum { PER_STORE = 4 };
    struct rc_page_sheet sheet = {.n_columns = 0};
    struct stretch stretch[RC_REPORT_MAX_STORES];
    char name[RC_PAGE_HEAD], head[RC_PAGE_HEAD];
    int64_t n_rows = 0;
    rc_page_sheet_head(&sheet, "flights", NULL);
    for (int store = 0; store < page->n_stores; store++) {
        static const char *const what[PER_STORE] = {"flights", "odds", "interval from", "interval to"};
        rc_page_store_name(page, store, name, sizeof name);
        for (int at = 1; at < PER_STORE; at++) {
            (void)snprintf(head, sizeof head, page->n_stores > 1 ? "%2$.110s, %1$s" : "%1$s", what[at], name);
            rc_page_sheet_head(&sheet, head, "%");
        }
        n_rows += RC_PAGE_SETTLED;
    }
    rc_status status = rc_page_sheet_rows(&sheet, n_rows, err);
    int64_t row = 0;
    for (int store = 0; store < page->n_stores && status == RC_OK; store++) {
        stretch[store].first = row;
        for (int at = 0; at < page->facts[store].n_settled; at++) {
            const struct rc_odds *odds = &page->facts[store].settled[at].odds;
            if (odds->flights > 0) {
                *rc_page_sheet_cell(&sheet, row, 0) = (double)odds->flights;
                *rc_page_sheet_cell(&sheet, row, 1 + 3 * store) = 100.0 * odds->estimate;
                *rc_page_sheet_cell(&sheet, row, 2 + 3 * store) = 100.0 * odds->interval_low;
                *rc_page_sheet_cell(&sheet, row++, 3 + 3 * store) = 100.0 * odds->interval_high;
            }
        }
        stretch[store].n = row - stretch[store].first;
    }
    if (status == RC_OK) {
        sheet.n_rows = row;
        rc_text_add(&sheet.plot, "set xlabel 'flights'\nset ylabel 'flights that meet every criterion, %%'\nset logscale x\n"
                                 "set xrange [*:*] noextend\nset yrange [0:100]\nplot ");
        if (page->n_stores == 1) {
            rc_text_add(&sheet.plot,
                        "$data using 1:3:4 with filledcurves lt 1 fs transparent solid 0.2 title 'interval', "
                        "'' using 1:2 with lines lt 1 lw 2.5 title 'odds', %.9g with lines lt 2 title 'asked'",
                        100.0 * rc_campaign_all_together(page->store[0].campaign)->odds);
        } else {
            add_store_lines(page, &sheet, 2, 3, stretch);
        }
        status = rc_page_sheet_draw(
            page, &sheet,
            (struct rc_page_figure){.title = "How the odds settled",
                                    .file = "settling",
                                    .caption = "The odds of all criteria together after so many flights, in the order flown."},
            err);
    }
    rc_page_sheet_drop(&sheet);
    return status;
}

static int has_landing(const struct rc_page *page)
{
    int n = 0;
    for (int store = 0; store < page->n_stores; store++) {
        n += page->facts[store].n_landings;
    }
    return n > 0;
}

static void add_ellipses(struct rc_text *plot, const struct rc_dispersion *landing)
{
    if (landing->n < RC_ELLIPSE_LEAST_POINTS) {
        return;
    }
    for (int i = 0; i < RC_N_ELLIPSES; i++) {
        /* gnuplot turns counter-clockwise from the first axis, the dispersion states a bearing from north */
        rc_text_add(plot, "set object %d ellipse center %.9g,%.9g size %.9g,%.9g angle %.9g front fs empty border lt %d\n", i + 1,
                    landing->centre_east, landing->centre_north, 2.0 * landing->major_sd * landing->ellipse[i].scale,
                    2.0 * landing->minor_sd * landing->ellipse[i].scale,
                    90.0 - landing->azimuth * (180.0 / 3.14159265358979323846), i + 2);
    }
}

static rc_status draw_landing(struct rc_page *page, int store, struct rc_error *err)
{
    const struct rc_page_facts *facts = &page->facts[store];
    const struct rc_dispersion *landing = &facts->answer.landing;
    struct rc_page_sheet sheet = {.n_columns = 0};
    char title[RC_PAGE_HEAD], file[32];
    rc_page_sheet_head(&sheet, "east of the pad", "m");
    rc_page_sheet_head(&sheet, "north of the pad", "m");
    rc_status status = rc_page_sheet_rows(&sheet, facts->n_landings, err);
    for (int row = 0; row < facts->n_landings && status == RC_OK; row++) {
        *rc_page_sheet_cell(&sheet, row, 0) = facts->landing_east[row];
        *rc_page_sheet_cell(&sheet, row, 1) = facts->landing_north[row];
    }
    if (status == RC_OK) {
        rc_text_add(&sheet.plot, "set size ratio -1\nset key outside right top vertical\nset xlabel 'east of the pad, m'\nset "
                                 "ylabel 'north of the pad, m'\n");
        add_ellipses(&sheet.plot, landing);
        rc_text_add(&sheet.plot, "plot $data using 1:2 with points lt 1 pt 7 ps 0.25 title 'flights'");
        for (int i = 0; i < RC_N_ELLIPSES && landing->n >= RC_ELLIPSE_LEAST_POINTS; i++) {
            rc_text_add(&sheet.plot, ", keyentry with lines lt %d title 'holds %.3g %%'", i + 2,
                        100.0 * landing->ellipse[i].share);
        }
        rc_text_add(&sheet.plot, ", '+' using (0):(0) every ::0::0 with points lt 7 pt 2 ps 1.6 title 'pad'");
        rc_page_sheet_title(page, store, "Landing points", title);
        (void)snprintf(file, sizeof file, "landing-%c", 'a' + store);
        status = rc_page_sheet_draw(
            page, &sheet,
            (struct rc_page_figure){
                .title = title,
                .file = file,
                .height = 520,
                .caption = "Each point is a flight (at most some hundred are drawn); the ellipses are those of all flights."},
            err);
    }
    rc_page_sheet_drop(&sheet);
    return status;
}

static rc_status write_landing(struct rc_page *page, struct rc_error *err)
{
    rc_status status = RC_OK;
    for (int store = 0; store < page->n_stores && status == RC_OK; store++) {
        if (page->facts[store].n_landings > 0) {
            status = draw_landing(page, store, err);
        }
    }
    return status;
}

const struct rc_page_section *rc_page_section(int index)
{
    static const struct rc_page_section sections[] = {
        {"criteria", "What is asked and what is met", always, rc_page_words_criteria},
        {"roll", "How it rolls", rc_page_bands_has_roll, rc_page_bands_roll},
        {"residual", "How still the platform is", rc_page_bands_has_residual, rc_page_bands_residual},
        {"usable", "How much can be used", has_usable, write_usable},
        {"smear", "Smear", rc_page_flights_has_smear, rc_page_flights_smear},
        {"matters", "What matters most", always, rc_page_matters},
        {"trade", "Which setting is best", rc_page_trade_is_given, rc_page_trade},
        {"settling", "Are these enough flights?", always, write_settling},
        {"landing", "Where it lands", has_landing, write_landing},
        {"flights", "Single flights", rc_page_has_vehicle, rc_page_flights_single},
        {"campaign", "What was flown", always, rc_page_words_campaign},
        {"limits", "What this does not know", always, rc_page_words_limits},
        {NULL, NULL, NULL, NULL},
    };
    return &sections[index];
}
