/* What a figure's data and words are put together in. Private to the page's files. */
#ifndef RC_PAGE_SHEET_H
#define RC_PAGE_SHEET_H

#include "page.h"

enum { RC_PAGE_HEAD = 200 };

/* A figure's data and words while they are put together. */
struct rc_page_sheet {
    char head[RC_PAGE_MAX_COLUMNS][RC_PAGE_HEAD];
    const char *column[RC_PAGE_MAX_COLUMNS];
    int n_columns;
    int64_t n_rows;
    double *value;
    struct rc_text plot;
};

/* Add a column with its unit, NULL = none. Beyond RC_PAGE_MAX_COLUMNS nothing is added. */
void rc_page_sheet_head(struct rc_page_sheet *sheet, const char *text, const char *unit);

/* Make room for rows, all of them "none". ends RC_NO_MEMORY */
rc_status rc_page_sheet_rows(struct rc_page_sheet *sheet, int64_t n_rows, struct rc_error *err) RC_MUST_CHECK;

/* One number of it, borrowed. */
double *rc_page_sheet_cell(const struct rc_page_sheet *sheet, int64_t row, int column);

/* A figure's title: what it shows, and of which store where there are several. out title (RC_PAGE_HEAD) */
void rc_page_sheet_title(const struct rc_page *page, int store, const char *what, char *title);

/* Add a name inside gnuplot's single quotes, where only the quote itself has a meaning; what could have one elsewhere is left
 * out. */
void rc_page_sheet_quoted(struct rc_text *plot, const char *name);

/* Draw it.
 * in   figure  its title, caption, file and height; the rest is the sheet's
 * ends as rc_page_draw */
rc_status rc_page_sheet_draw(struct rc_page *page, struct rc_page_sheet *sheet, struct rc_page_figure figure,
                             struct rc_error *err) RC_MUST_CHECK;

/* Release what it holds. */
void rc_page_sheet_drop(struct rc_page_sheet *sheet);

/* A number of a campaign, or its middle where it is uncertain; NAN if it has none of that path. */
double rc_page_sheet_quantity(const rc_campaign *campaign, const char *path);

#endif
