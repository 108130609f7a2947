/* Figures' data and words while they are put together. Which figures there are is left to the sections. */
#include "page_sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void rc_page_sheet_head(struct rc_page_sheet *sheet, const char *text, const char *unit)
{
    if (sheet->n_columns == RC_PAGE_MAX_COLUMNS) {
        return;
    }
    (void)snprintf(sheet->head[sheet->n_columns], RC_PAGE_HEAD, unit != NULL ? "%.150s [%.20s]" : "%.150s", text, unit);
    sheet->column[sheet->n_columns] = sheet->head[sheet->n_columns];
    sheet->n_columns++;
}

rc_status rc_page_sheet_rows(struct rc_page_sheet *sheet, int64_t n_rows, struct rc_error *err)
{
    sheet->n_rows = n_rows;
    sheet->value = malloc((size_t)(n_rows * sheet->n_columns + 1) * sizeof *sheet->value);
    if (sheet->value == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a figure's numbers");
    }
    for (int64_t at = 0; at < n_rows * sheet->n_columns; at++) {
        sheet->value[at] = NAN;
    }
    return RC_OK;
}

double *rc_page_sheet_cell(const struct rc_page_sheet *sheet, int64_t row, int column)
{
    return &sheet->value[row * sheet->n_columns + column];
}

void rc_page_sheet_title(const struct rc_page *page, int store, const char *what, char *title)
{
    char name[RC_PAGE_HEAD];
    rc_page_store_name(page, store, name, sizeof name);
    (void)snprintf(title, RC_PAGE_HEAD, page->n_stores > 1 ? "%.80s, %.110s" : "%.80s", what, name);
}

void rc_page_sheet_quoted(struct rc_text *plot, const char *name)
{
    rc_text_add(plot, "'");
    for (const char *at = name; *at != '\0'; at++) {
        if (*at == '\'') {
            rc_text_add(plot, "''");
        } else if ((unsigned char)*at >= 0x20 && *at != '`' && *at != 0x7f) {
            rc_text_add_bytes(plot, at, 1);
        }
    }
    rc_text_add(plot, "'");
}

rc_status rc_page_sheet_draw(struct rc_page *page, struct rc_page_sheet *sheet, struct rc_page_figure figure,
                             struct rc_error *err)
{
    if (sheet->plot.failed) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a figure");
    }
    figure.plot = sheet->plot.bytes;
    figure.n_columns = sheet->n_columns;
    figure.column = sheet->column;
    figure.n_rows = sheet->n_rows;
    figure.value = sheet->value;
    return rc_page_draw(page, &figure, err);
}

void rc_page_sheet_drop(struct rc_page_sheet *sheet)
{
    free(sheet->value);
    rc_text_free(&sheet->plot);
}

double rc_page_sheet_quantity(const rc_campaign *campaign, const char *path)
{
    for (int index = 0; index < rc_campaign_quantity_count(campaign); index++) {
        const struct rc_quantity_view view = rc_campaign_quantity(campaign, index);
        if (strcmp(view.path, path) == 0) {
            return view.value;
        }
    }
    return NAN;
}
