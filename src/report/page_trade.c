/* Section of a trade: the odds against the setting that was swept, or their map over two of them. */
#include "page_sheet.h"

#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "swept.h"
#include "wording.h"

enum { MOST_LABELLED = 16 };

int rc_page_trade_is_given(const struct rc_page *page)
{
    return page->swept != NULL;
}

static double odds_asked(const struct rc_swept *swept)
{
    const struct rc_criterion *criterion = rc_campaign_criterion(swept->campaign, swept->criterion.index);
    return (criterion != NULL ? criterion : rc_campaign_all_together(swept->campaign))->odds;
}

static double odds_of(const struct rc_swept *swept, int index)
{
    return (double)swept->n_met[index] / (double)swept->n_flights;
}

/* Is this store's campaign a point of the trade, and is no store before it at the same one? out value where it is */
static int is_placed(const struct rc_page *page, int store, double value[RC_SWEEP_VARIED])
{
    struct rc_error err = {.status = RC_OK};
    double before[RC_SWEEP_VARIED];
    if (rc_swept_place(value, page->swept, page->store[store].campaign, &err) != RC_OK) {
        return 0;
    }
    for (int other = 0; other < store; other++) {
        if (rc_swept_place(before, page->swept, page->store[other].campaign, &err) == RC_OK && before[0] == value[0] &&
            (page->swept->n_varied == 1 || before[1] == value[1])) {
            return 0;
        }
    }
    return 1;
}

/* The sheet: values, odds, band, mark of the settings that may be the best. */
static rc_status fill_sheet(struct rc_page_sheet *sheet, const struct rc_swept *swept, struct rc_error *err)
{
    for (int varied = 0; varied < swept->n_varied; varied++) {
        const char *unit = rc_wording_unit(rc_campaign_unit(swept->campaign, swept->path[varied]));
        rc_page_sheet_head(sheet, swept->path[varied], *unit != '\0' ? unit : NULL);
    }
    rc_page_sheet_head(sheet, "odds", "%");
    rc_page_sheet_head(sheet, "band from", "%");
    rc_page_sheet_head(sheet, "band to", "%");
    rc_page_sheet_head(sheet, "may be the best, 1 = yes", NULL);
    const rc_status status = rc_page_sheet_rows(sheet, swept->n, err);
    for (int row = 0; row < swept->n && status == RC_OK; row++) {
        int column = 0;
        for (; column < swept->n_varied; column++) {
            *rc_page_sheet_cell(sheet, row, column) = swept->value[row][column];
        }
        *rc_page_sheet_cell(sheet, row, column++) = 100.0 * odds_of(swept, row);
        *rc_page_sheet_cell(sheet, row, column++) = 100.0 * swept->band[row].low;
        *rc_page_sheet_cell(sheet, row, column++) = 100.0 * swept->band[row].high;
        *rc_page_sheet_cell(sheet, row, column) = swept->may_be_best[row] ? 1.0 : 0.0;
    }
    return status;
}

/* An axis' label: the path, and its unit. in axis "xlabel" or "ylabel" */
static void add_label(struct rc_text *plot, const struct rc_swept *swept, int varied, const char *axis)
{
    char text[RC_MAX_PATH_TEXT + 32];
    const char *unit = rc_wording_unit(rc_campaign_unit(swept->campaign, swept->path[varied]));
    (void)snprintf(text, sizeof text, "%s%s%.20s", swept->path[varied], *unit != '\0' ? ", " : "", unit);
    rc_text_add(plot, "set %s ", axis);
    rc_page_sheet_quoted(plot, text);
    rc_text_add(plot, "\n");
}

/* The places of the page's stores as a data block for gnuplot: in a curve a line from bottom to top, in a map a point.
 * ends how many there are */
static int add_places(struct rc_page *page, struct rc_text *plot)
{
    int n = 0;
    for (int store = 0; store < page->n_stores; store++) {
        double value[RC_SWEEP_VARIED];
        if (!is_placed(page, store, value)) {
            continue;
        }
        if (page->swept->n_varied == 1) {
            rc_text_add(plot, "$here%d << END_OF_DATA\n%.9g 0\n%.9g 100\nEND_OF_DATA\n", store, value[0], value[0]);
        } else {
            rc_text_add(plot, "$here%d << END_OF_DATA\n%.9g %.9g\nEND_OF_DATA\n", store, value[1], value[0]);
        }
        n++;
    }
    return n;
}

/* Plot what add_places has written. */
static void plot_places(struct rc_page *page, struct rc_text *plot)
{
    static const int line[] = {3, 4, 5, 6, 7, 8, 3, 4}, point[] = {6, 4, 8, 12, 6, 4, 8, 12};
    for (int store = 0; store < page->n_stores; store++) {
        char name[RC_PAGE_HEAD], text[RC_PAGE_HEAD + 16];
        double value[RC_SWEEP_VARIED];
        if (!is_placed(page, store, value)) {
            continue;
        }
        rc_page_store_name(page, store, name, sizeof name);
        (void)snprintf(text, sizeof text, "%.60s", name);
        if (page->swept->n_varied == 1) {
            rc_text_add(plot, ", $here%d using 1:2 with lines lt %d lw 2 title ", store, line[store]);
        } else {
            rc_text_add(plot, ", $here%d using 1:2 with points lt 7 pt %d ps 3.5 lw 1.5 title ", store, point[store]);
        }
        rc_page_sheet_quoted(plot, text);
    }
}

static void plot_curve(struct rc_page *page, struct rc_page_sheet *sheet)
{
    const struct rc_swept *swept = page->swept;
    const double first = swept->value[0][0], last = swept->value[swept->n - 1][0];
    const double margin = 0.02 * fabs(last - first);
    add_label(&sheet->plot, swept, 0, "xlabel");
    rc_text_add(&sheet->plot, "set ylabel 'flights that meet, %%'\nset xrange [%.9g:%.9g]\nset yrange [0:100]\n",
                fmin(first, last) - margin, fmax(first, last) + margin);
    (void)add_places(page, &sheet->plot);
    rc_text_add(&sheet->plot,
                "plot $data using 1:3:4 with filledcurves lt 1 fs transparent solid 0.2 title 'band that holds all at once', "
                "'' using 1:2 with linespoints lt 1 lw 2.5 pt 6 ps 0.9 title 'odds', "
                "'' using 1:($5 == 1 ? $2 : NaN) with points lt 1 pt 7 ps 1.1 title 'may be the best', "
                "%.9g with lines lt 2 title 'asked'", 100.0 * odds_asked(swept));
    plot_places(page, &sheet->plot);
}

/* Half of the distance between two neighbours of a map. */
static double half_step(const struct rc_swept *swept, int varied)
{
    const double span = swept->value[swept->n - 1][varied] - swept->value[0][varied];
    return 0.5 * fabs(span) / (swept->count[varied] - 1);
}

/* Ticks of a map's axis stand at the values themselves, where they fit. in axis "xtics" or "ytics", step of that value's index */
static void add_ticks(struct rc_text *plot, const struct rc_swept *swept, int varied, const char *axis, int step)
{
    if (swept->count[varied] > MOST_LABELLED) {
        return;
    }
    rc_text_add(plot, "set %s (", axis);
    for (int at = 0; at < swept->count[varied]; at++) {
        rc_text_add(plot, "%s%.9g", at > 0 ? ", " : "", swept->value[at * step][varied]);
    }
    rc_text_add(plot, ")\n");
}

/* Shade is opacity of one colour, so that it reads on paper, light and dark; numbers stand in the fields where there is room. */
static void plot_map(struct rc_page *page, struct rc_page_sheet *sheet)
{
    const struct rc_swept *swept = page->swept;
    const double wide = half_step(swept, 1), high = half_step(swept, 0);
    add_label(&sheet->plot, swept, 1, "xlabel");
    add_label(&sheet->plot, swept, 0, "ylabel");
    add_ticks(&sheet->plot, swept, 1, "xtics", 1);
    add_ticks(&sheet->plot, swept, 0, "ytics", swept->count[1]);
    rc_text_add(&sheet->plot, "unset grid\nset autoscale fix\nset style fill solid 1 noborder\n");
    (void)add_places(page, &sheet->plot);
    rc_text_add(&sheet->plot,
                "plot $data using 2:1:(%.9g):(%.9g):(int(255 * (1 - 0.0055 * $3)) * 2**24 + 0x010101) "
                "with boxxyerror fs solid noborder lc rgb variable notitle, "
                "keyentry with boxes fs solid noborder lc rgb '#d5010101' title '30 %%', "
                "keyentry with boxes fs solid noborder lc rgb '#9b010101' title '70 %%', "
                "keyentry with boxes fs solid noborder lc rgb '#73010101' title '100 %% meet', "
                "'' using 2:($6 == 1 ? $1 : NaN):(%.9g):(%.9g) with boxxyerror lt 7 lw 2 fs empty title 'may be the best'",
                wide, high, 0.93 * wide, 0.88 * high);
    if (swept->count[0] <= MOST_LABELLED && swept->count[1] <= MOST_LABELLED) {
        rc_text_add(&sheet->plot, ", '' using 2:1:(sprintf('%%.0f', $3)) with labels notitle");
    }
    plot_places(page, &sheet->plot);
}

/* What a setting is: "4 deg", "4 deg and 20 deg/s". */
static void write_setting(FILE *out, const struct rc_swept *swept, int index)
{
    for (int varied = 0; varied < swept->n_varied; varied++) {
        const char *unit = rc_wording_unit(rc_campaign_unit(swept->campaign, swept->path[varied]));
        fprintf(out, "%s%s%s%s", varied > 0 ? " and " : "", rc_figures_plain(swept->value[index][varied]).text,
                *unit != '\0' ? "&nbsp;" : "", unit);
    }
}

/* The best, and how many cannot be told from it. */
static void write_best(FILE *out, const struct rc_swept *swept)
{
    const struct rc_range *band = &swept->band[swept->best];
    const int decimals = rc_figures_percent_decimals(band->low, band->high, RC_PAGE_DECIMALS);
    int n_others = 0;
    for (int index = 0; index < swept->n; index++) {
        n_others += swept->may_be_best[index] && index != swept->best;
    }
    if (n_others == swept->n - 1) {
        fputs("None of them can be told from the others. ", out);
        return;
    }
    fputs("Most flights meet at ", out);
    write_setting(out, swept, swept->best);
    fprintf(out, ": <span data-odds=\"%.17g\">%s&nbsp;%%</span> (", odds_of(swept, swept->best),
            rc_figures_number(100.0 * odds_of(swept, swept->best), decimals, RC_ROUND_NEAREST).text);
    fprintf(out, "%s to ", rc_figures_number(100.0 * band->low, decimals, RC_ROUND_DOWN).text);
    fprintf(out, "%s&nbsp;%%); ", rc_figures_number(100.0 * band->high, decimals, RC_ROUND_UP).text);
    fprintf(out, n_others > 0 ? "%d of the other %d cannot be told from it. " : "all others are shown to be worse. ", n_others,
            swept->n - 1);
}

/* What was swept, and which of the page's stores has its place in the figure. */
static void write_words(struct rc_page *page)
{
    const struct rc_swept *swept = page->swept;
    FILE *out = page->out;
    fprintf(out, "<p>The campaign was flown at %d %s of ", swept->n, swept->n_varied > 1 ? "pairs of values" : "values");
    for (int varied = 0; varied < swept->n_varied; varied++) {
        fprintf(out, "%s<code>", varied > 0 ? " and " : "");
        rc_page_text(out, swept->path[varied]);
        fputs("</code>", out);
    }
    fprintf(out, ", each time on the same %s flights; what counts is ", rc_figures_count(swept->n_flights).text);
    fputs("\xe2\x80\x9c", out);
    rc_page_text(out, swept->criterion.name);
    fprintf(out, "\xe2\x80\x9d, asked in %s&nbsp;%%. ", rc_figures_plain(100.0 * odds_asked(swept)).text);
    write_best(out, swept);
    fprintf(out, "The band holds the true odds of all settings at once at %s&nbsp;%%.</p>\n",
            rc_figures_plain(100.0 * swept->criterion.confidence).text);
    for (int store = 0; store < page->n_stores; store++) {
        struct rc_error why = {.status = RC_OK};
        double value[RC_SWEEP_VARIED];
        char name[RC_PAGE_HEAD];
        if (rc_swept_place(value, swept, page->store[store].campaign, &why) == RC_OK) {
            continue;
        }
        rc_page_store_name(page, store, name, sizeof name);
        fputs("<p>Not marked: ", out);
        rc_page_text(out, name);
        fputs(" ", out);
        rc_page_text(out, why.what);
        fputs(".</p>\n", out);
    }
}

rc_status rc_page_trade(struct rc_page *page, struct rc_error *err)
{
    const struct rc_swept *swept = page->swept;
    struct rc_page_sheet sheet = {.n_columns = 0};
    char title[RC_PAGE_HEAD];
    write_words(page);
    rc_status status = fill_sheet(&sheet, swept, err);
    if (status == RC_OK) {
        if (swept->n_varied == 1) {
            plot_curve(page, &sheet);
        } else {
            plot_map(page, &sheet);
        }
        (void)snprintf(title, sizeof title, "Odds against %.80s%s%.80s", swept->path[0], swept->n_varied > 1 ? " and " : "",
                       swept->n_varied > 1 ? swept->path[1] : "");
        status = rc_page_sheet_draw(
            page, &sheet,
            (struct rc_page_figure){
                .title = title,
                .file = "trade",
                .height = swept->n_varied > 1 ? 420 : 0,
                .caption = swept->n_varied > 1
                               ? "Each field is a setting with its odds in percent, the stronger the colour the better. Framed "
                                 "are those that may be the best: the others are worse than some setting by an exact test on "
                                 "the same flights."
                               : "Each point is a setting. Full points may be the best: the others are worse than some setting "
                                 "by an exact test on the same flights."},
            err);
    }
    rc_page_sheet_drop(&sheet);
    return status;
}
