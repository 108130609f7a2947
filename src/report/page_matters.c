/* Section of what matters most: the ranking of the uncertain quantities as a figure and a table. */
#include "page_sheet.h"

#include <math.h>
#include <string.h>

#include "ranking.h"

enum { MOST_DRAWN = 12, FEW = 5 };

/* Rows that stand out from chance, at most as many as are drawn. */
static int count_drawn(const struct rc_ranking *ranking)
{
    int n = 0;
    while (n < ranking->n_rows && n < MOST_DRAWN && !ranking->row[n].rank.is_noise && !ranking->row[n].rank.is_constant) {
        n++;
    }
    return n;
}

/* Shares of the outcome's variance as points with their intervals, what matters most on top. */
static rc_status draw_shares(struct rc_page *page, int store, const struct rc_ranking *ranking, struct rc_error *err)
{
    const int n = count_drawn(ranking);
    struct rc_page_sheet sheet = {.n_columns = 0};
    char title[RC_PAGE_HEAD], file[32];
    rc_page_sheet_head(&sheet, "row of the table below", NULL);
    rc_page_sheet_head(&sheet, "share of the variance", "%");
    rc_page_sheet_head(&sheet, "interval from", "%");
    rc_page_sheet_head(&sheet, "interval to", "%");
    rc_status status = rc_page_sheet_rows(&sheet, n, err);
    rc_text_add(
        &sheet.plot,
        "unset key\nset xlabel 'share of the outcome''s variance, %%'\nset yrange [%d.6:0.4]\nset xrange [0:*]\nset ytics (", n);
    for (int row = 0; row < n && status == RC_OK; row++) {
        const struct rc_estimate *share = &ranking->row[row].rank.share;
        *rc_page_sheet_cell(&sheet, row, 0) = row + 1;
        *rc_page_sheet_cell(&sheet, row, 1) = 100.0 * fmax(share->value, 0.0);
        *rc_page_sheet_cell(&sheet, row, 2) = 100.0 * fmax(share->low, 0.0);
        *rc_page_sheet_cell(&sheet, row, 3) = 100.0 * fmin(share->high, 1.0);
        rc_text_add(&sheet.plot, "%s", row > 0 ? ", " : "");
        rc_page_sheet_quoted(&sheet.plot, ranking->row[row].given);
        rc_text_add(&sheet.plot, " %d", row + 1);
    }
    if (status == RC_OK) {
        rc_text_add(&sheet.plot, ")\nplot $data using 2:1:3:4 with xerrorbars lt 1 lw 2 pt 7 ps 1");
        rc_page_sheet_title(page, store, "What the outcome varies with", title);
        (void)snprintf(file, sizeof file, "matters-%c", 'a' + store);
        status = rc_page_sheet_draw(
            page, &sheet,
            (struct rc_page_figure){
                .title = title,
                .file = file,
                .height = n < FEW ? 90 + 26 * FEW : 90 + 26 * n, /* not flatter than a quarter of its width */
                .caption =
                    "The share of the variance of meeting every criterion that would go if the quantity were known, with its "
                    "interval. Quantities that cannot be told from chance are left out."},
            err);
    }
    rc_page_sheet_drop(&sheet);
    return status;
}

/* What half of its spread would do to the odds, or why that is not told. */
static void write_after(FILE *out, const struct rc_ranking_row *row)
{
    const struct rc_tightened *after = &row->after[RC_TIGHTEN_HALF];
    if (row->bar != RC_RANKING_TOLD || !after->is_supported) {
        fputs("<td>not told<small>", out);
        rc_page_text(out, row->bar != RC_RANKING_TOLD ? rc_ranking_bar_text(row->bar) : after->why);
        fputs("</small></td>", out);
        return;
    }
    const int decimals = rc_figures_percent_decimals(after->low, after->high, 3);
    fprintf(out, "<td>%s&nbsp;%%", rc_figures_number(100.0 * after->odds, decimals, RC_ROUND_NEAREST).text);
    fprintf(out, "<small>%s to ", rc_figures_number(100.0 * after->low, decimals, RC_ROUND_DOWN).text);
    fprintf(out, "%s&nbsp;%%</small></td>", rc_figures_number(100.0 * after->high, decimals, RC_ROUND_UP).text);
}

static void write_row(FILE *out, int number, const struct rc_ranking_row *row)
{
    fprintf(out, "<tr><td class=\"n\">%d</td><th scope=\"row\"><code>", number);
    rc_page_text(out, row->given);
    fputs("</code><small>", out);
    rc_page_text(out, row->meaning);
    fputs("; ", out);
    rc_page_text(out, row->distribution);
    fputs("</small></th>", out);
    write_after(out, row);
    fprintf(out, "<td>%+.2f<small>%+.2f to ", row->rank.separation.value, row->rank.separation.low);
    fprintf(out, "%+.2f</small></td></tr>\n", row->rank.separation.high);
}

static void write_table(struct rc_page *page, int store, const struct rc_ranking *ranking)
{
    rc_page_open_table(page, "What matters most", store);
    fputs("<caption>What matters most, first things first; sep. is how far the quantity's values lie apart in flights that meet "
          "and flights that miss</caption>\n<thead><tr><th scope=\"col\" class=\"n\">row</th><th scope=\"col\">quantity</th>"
          "<th scope=\"col\">odds, were its spread half</th><th scope=\"col\">sep.</th></tr></thead>\n<tbody>\n",
          page->out);
    for (int row = 0; row < count_drawn(ranking); row++) {
        write_row(page->out, row + 1, &ranking->row[row]);
    }
    fputs("</tbody></table></div>\n", page->out);
}

static rc_status write_store(struct rc_page *page, int store, struct rc_error *err)
{
    struct rc_ranking ranking;
    struct rc_error why = {.status = RC_OK};
    const struct rc_rank_request request = {.results = page->store[store].results, .campaign = page->store[store].campaign};
    rc_status status = rc_ranking_gather(&ranking, &request, &why);
    if (status == RC_BAD_INPUT) { /* too few flights, or all of one kind: said, and no error of the page */
        fputs("<p>Not told", page->out);
        if (page->n_stores > 1) {
            fprintf(page->out, " of %c", 'A' + store);
        }
        fputs(". <code>rollcast rank</code> says: ", page->out); /* whose options the reason may name */
        rc_page_text(page->out, why.what);
        fputs(".</p>\n", page->out);
        return RC_OK;
    }
    if (status != RC_OK) {
        return rc_error_fill(err, status, why.where, "%s", why.what);
    }
    if (!ranking.has_rows) {
        rc_page_paragraph(page->out, "Too few of these flights are independent for this page; rollcast rank tells what the "
                                     "paired design shows.");
    } else if (count_drawn(&ranking) == 0) {
        rc_page_paragraph(page->out, "No quantity stands out from chance in these flights.");
    } else {
        status = draw_shares(page, store, &ranking, err);
        write_table(page, store, &ranking);
    }
    rc_ranking_free(&ranking);
    return status;
}

rc_status rc_page_matters(struct rc_page *page, struct rc_error *err)
{
    rc_status status = RC_OK;
    for (int store = 0; store < page->n_stores && status == RC_OK; store++) {
        status = write_store(page, store, err);
    }
    return status;
}
