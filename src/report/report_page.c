/* A report's page from beginning to end. What its pieces are is in page*.c. */
#include "rollcast/report.h"

#include <stdlib.h>
#include <string.h>

#include "json.h"
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

/* What the page shows of a store: its verdict, and the odds of all together. */
static void tell_store(struct rc_json *json, const char *path, const struct rc_answer *answer)
{
    const struct rc_odds *const odds = &answer->all_together;
    const struct rc_criterion *const asked = rc_campaign_all_together(answer->campaign);
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "store", path);
    rc_json_text(json, "campaign", rc_campaign_name(answer->campaign));
    rc_json_integer(json, "flights", answer->flights);
    rc_json_flag(json, "is_finished", answer->is_finished != 0);
    rc_json_text(json, "verdict", rc_odds_verdict_text(answer->verdict));
    rc_json_integer(json, "passed", odds->passed);
    rc_json_number(json, "odds", odds->estimate);
    rc_json_pair(json, "interval", odds->interval_low, odds->interval_high);
    rc_json_number(json, "odds_asked", asked->odds);
    rc_json_number(json, "confidence", asked->confidence);
    rc_json_close(json, '}');
}

/* What was written, as JSON of schema rollcast-report/1. */
static void tell_page(FILE *out, const struct rc_page *page, const struct rc_page_request *request)
{
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-report/1");
    rc_json_text(&json, "page", request->path);
    rc_json_integer(&json, "figures", page->n_figures);
    rc_json_text(&json, "trade", request->trade != NULL ? request->trade->folder : NULL);
    rc_json_text(&json, "of", request->trade != NULL ? request->trade->of : NULL);
    rc_json_open(&json, "stores", '[');
    for (int at = 0; at < page->n_stores; at++) {
        tell_store(&json, page->store[at].path, &page->facts[at].answer);
    }
    rc_json_close(&json, ']');
    rc_json_close(&json, '}');
}

rc_status rc_report_page(FILE *out, FILE *json, const struct rc_page_request *request, struct rc_error *err)
{
    struct rc_swept swept = {.n = 0};
    const int n_stores = request->n_stores;
    if (n_stores < 1 || n_stores > RC_REPORT_MAX_STORES) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "a page holds 1 to %d stores, got %d", RC_REPORT_MAX_STORES, n_stores);
    }
    struct rc_page page = {.out = out, .drawing = request->drawing, .n_stores = n_stores, .store = request->store};
    page.facts = calloc((size_t)n_stores, sizeof *page.facts);
    if (page.facts == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a page");
    }
    rc_status status = RC_OK;
    if (request->trade != NULL) {
        status = rc_swept_gather(&swept, request->trade, err);
        page.swept = &swept;
        name_place(err, status, request->trade->folder);
    }
    for (int at = 0; at < n_stores && status == RC_OK; at++) {
        status = rc_page_facts_gather(&page.facts[at], &page.store[at], err);
        name_place(err, status, page.store[at].path);
    }
    if (status == RC_OK) {
        status = write_page(&page, err);
    }
    if (status == RC_OK && json != NULL) {
        tell_page(json, &page, request);
    }
    for (int at = 0; at < n_stores; at++) {
        rc_page_facts_free(&page.facts[at]);
    }
    free(page.facts);
    rc_swept_free(&swept);
    return status;
}
