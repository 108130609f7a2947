/* A report's page from beginning to end. What its pieces are is in page*.c. */
#include "rollcast/report.h"

#include <stdlib.h>
#include <string.h>

#include "page.h"

static rc_status write_sections(struct rc_page *page, struct rc_error *err)
{
    for (int index = 0; rc_page_section(index)->id != NULL; index++) {
        const struct rc_page_section *section = rc_page_section(index);
        if (!section->applies(page)) {
            continue;
        }
        fprintf(page->out, "<section aria-labelledby=\"%s\">\n<h2 id=\"%s\">%s</h2>\n", section->id, section->id, section->title);
        const rc_status status = section->write(page, err);
        if (status != RC_OK) {
            return status;
        }
        fputs("</section>\n", page->out);
    }
    return RC_OK;
}

static rc_status write_page(struct rc_page *page, struct rc_error *err)
{
    struct rc_text title = {NULL, 0, 0, false};
    if (page->n_stores == 1) {
        rc_text_add(&title, "%s", rc_campaign_name(page->store[0].campaign));
    } else {
        rc_text_add(&title, "%d campaigns side by side", page->n_stores);
    }
    if (title.failed) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for the page's title");
    }
    rc_status status = rc_page_begin(page, title.bytes, err);
    rc_text_free(&title);
    if (status == RC_OK) {
        status = write_sections(page, err);
    }
    if (status == RC_OK) {
        rc_page_end(page);
    }
    return status;
}

/* An error that names no place is that of a store or folder. */
static void name_place(struct rc_error *err, rc_status status, const char *path)
{
    if (status != RC_OK && err != NULL && err->where[0] == '\0') {
        (void)snprintf(err->where, sizeof err->where, "%s", path);
    }
}

rc_status rc_report_page(FILE *out, const struct rc_report_store *store, int n_stores, const struct rc_report_swept *trade,
                         const struct rc_report_drawing *drawing, struct rc_error *err)
{
    struct rc_swept swept = {.n = 0};
    if (n_stores < 1 || n_stores > RC_REPORT_MAX_STORES) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "a page holds 1 to %d stores, got %d", RC_REPORT_MAX_STORES, n_stores);
    }
    struct rc_page page = {.out = out, .drawing = drawing, .n_stores = n_stores, .store = store};
    page.facts = calloc((size_t)n_stores, sizeof *page.facts);
    if (page.facts == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a page");
    }
    rc_status status = RC_OK;
    if (trade != NULL) {
        status = rc_swept_gather(&swept, trade, err);
        page.swept = &swept;
        name_place(err, status, trade->folder);
    }
    for (int at = 0; at < n_stores && status == RC_OK; at++) {
        status = rc_page_facts_gather(&page.facts[at], &store[at], err);
        name_place(err, status, store[at].path);
    }
    if (status == RC_OK) {
        status = write_page(&page, err);
    }
    for (int at = 0; at < n_stores; at++) {
        rc_page_facts_free(&page.facts[at]);
    }
    free(page.facts);
    rc_swept_free(&swept);
    return status;
}
