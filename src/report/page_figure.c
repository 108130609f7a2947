/* One figure: its data as gnuplot reads them, as a table and as CSV. Drawing is left to the caller's gnuplot and page_svg.c. */
#include "page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { USUAL_HEIGHT = 320, WIDTH = 760, MOST_ROWS_SHOWN = 400 };

/* A number with so many digits, nothing where there is none. The table shows six, the CSV ten. */
static void write_number(FILE *out, int digits, double value)
{
    if (isfinite(value)) {
        fprintf(out, "%.*g", digits, value == 0.0 ? 0.0 : value);
    }
}

static void add_data(struct rc_text *script, const struct rc_page_figure *figure)
{
    rc_text_add(script, "$data << END_OF_DATA\n");
    for (int64_t row = 0; row < figure->n_rows; row++) {
        for (int column = 0; column < figure->n_columns; column++) {
            const double value = figure->value[row * figure->n_columns + column];
            if (isfinite(value)) {
                rc_text_add(script, "%.9g ", value);
            } else {
                rc_text_add(script, "NaN ");
            }
        }
        rc_text_add(script, "\n");
    }
    rc_text_add(script, "END_OF_DATA\n");
}

/* Colours are marks that page_svg.c turns into classes; dashes and points differ as well, so that grey print can be read. */
static void add_style(struct rc_text *script, const struct rc_page_figure *figure)
{
    static const char *const dash[] = {"1", "'-'", "'.'", "'-.'", "'_'", "'_.'", "1", "'. '"};
    static const int point[] = {7, 5, 9, 11, 13, 6, 4, 8};
    rc_text_add(script, "set terminal svg size %d,%d dynamic noenhanced font 'sans-serif,13'\n", WIDTH,
                figure->height > 0 ? figure->height : USUAL_HEIGHT);
    rc_text_add(script, "set encoding utf8\nset datafile missing 'NaN'\nset border 3\nset tics nomirror out scale 0.6\n"
                        "set grid back lc rgb 'gray' lw 1 dt 1\nset key above left horizontal Left reverse samplen 3 height 0.4\n"
                        "set errorbars 1.5\n");
    for (int line = 0; line < 8; line++) {
        rc_text_add(script, "set linetype %d lc rgb '#01010%d' lw 2 dt %s pt %d ps 0.8\n", line + 1, line + 1, dash[line],
                    point[line]);
    }
}

static void write_table(struct rc_page *page, const struct rc_page_figure *figure)
{
    FILE *out = page->out;
    char name[240];
    const int64_t every = (figure->n_rows + MOST_ROWS_SHOWN - 1) / MOST_ROWS_SHOWN;
    (void)snprintf(name, sizeof name, "Numbers: %.220s", figure->title);
    rc_page_open_table(page, name, -1);
    fputs("<caption>", out);
    rc_page_text(out, figure->title);
    fputs("</caption>\n<thead><tr>", out);
    for (int column = 0; column < figure->n_columns; column++) {
        fputs("<th scope=\"col\" class=\"n\">", out);
        rc_page_text(out, figure->column[column]);
        fputs("</th>", out);
    }
    fputs("</tr></thead>\n<tbody>\n", out);
    for (int64_t row = 0; row < figure->n_rows; row += every) {
        fputs("<tr>", out);
        for (int column = 0; column < figure->n_columns; column++) {
            fputs("<td class=\"n\">", out);
            write_number(out, 6, figure->value[row * figure->n_columns + column]);
            fputs("</td>", out);
        }
        fputs("</tr>\n", out);
    }
    fputs("</tbody></table></div>\n", out);
}

/* A head of the CSV as percent-escaped bytes, in quotes where it holds more than letters. */
static void write_csv_head(FILE *out, const char *head)
{
    fputs("%22", out);
    for (const unsigned char *at = (const unsigned char *)head; *at != 0; at++) {
        if (*at == '"') {
            fputs("%22%22", out);
        } else if (strchr("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.", *at) != NULL) {
            fputc(*at, out);
        } else {
            fprintf(out, "%%%02X", *at < 0x20 ? '?' : *at);
        }
    }
    fputs("%22", out);
}

static void write_csv(FILE *out, const struct rc_page_figure *figure)
{
    fputs("<p><a download=\"", out);
    rc_page_text(out, figure->file);
    fputs(".csv\" href=\"data:text/csv;charset=utf-8,", out);
    for (int column = 0; column < figure->n_columns; column++) {
        fputs(column > 0 ? "," : "", out);
        write_csv_head(out, figure->column[column]);
    }
    for (int64_t row = 0; row < figure->n_rows; row++) {
        fputs("%0D%0A", out);
        for (int column = 0; column < figure->n_columns; column++) {
            fputs(column > 0 ? "," : "", out);
            write_number(out, 10, figure->value[row * figure->n_columns + column]);
        }
    }
    fputs("\">Save the numbers as CSV</a></p>\n", out);
}

rc_status rc_page_draw(struct rc_page *page, const struct rc_page_figure *figure, struct rc_error *err)
{
    FILE *out = page->out;
    struct rc_text script = {NULL, 0, 0, false};
    char *svg = NULL;

    add_style(&script, figure);
    add_data(&script, figure);
    rc_text_add(&script, "%s\n", figure->plot);
    rc_status status = script.failed ? rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a figure")
                                     : page->drawing->draw(page->drawing->user, script.bytes, &svg, err);
    if (status != RC_OK) {
        goto done;
    }
    fputs("<figure>\n<figcaption><b>", out);
    rc_page_text(out, figure->title);
    fputs("</b>", out);
    rc_page_text(out, figure->caption);
    fputs("</figcaption>\n<div class=\"drawing\" tabindex=\"0\">\n", out);
    status = rc_page_svg_write(out, svg, ++page->n_figures, figure->title, err);
    if (status != RC_OK) {
        goto done;
    }
    fputs("</div>\n<details><summary>The figure's numbers</summary>\n", out);
    write_csv(out, figure);
    write_table(page, figure);
    fputs("</details>\n</figure>\n", out);

done:
    free(svg);
    rc_text_free(&script);
    return status;
}
