/* The page's frame and its plain pieces of HTML: head, verdict, escaped text. Sections and figures are left to page_sections.c
 * and page_figure.c. */
#include "page.h"

#include <inttypes.h>
#include <string.h>

#include "campaign/campaign.h"
#include "compare.h"
#include "json.h"
#include "rollcast/rollcast.h"
#include "wording.h"

static const char *const verdict_class[] = {
    [RC_VERDICT_GO] = "go", [RC_VERDICT_NO_GO] = "no", [RC_VERDICT_NOT_YET_KNOWN] = "open"};

static void write_character(FILE *out, const unsigned char *at, int n)
{
    if (n == 0) {
        fputs("\xef\xbf\xbd", out);
    } else if (n == 2 && at[0] == 0xc2 && at[1] < 0xa0) { /* C1 controls, which HTML does not allow */
        fputc('?', out);
    } else if (n > 1) {
        fwrite(at, 1, (size_t)n, out);
    } else if (strchr("&<>\"'", *at) != NULL) {
        fprintf(out, "&#%d;", *at);
    } else {
        fputc(*at < 0x20 || *at == 0x7f ? '?' : *at, out);
    }
}

void rc_page_text(FILE *out, const char *text)
{
    const unsigned char *at = (const unsigned char *)text;
    while (*at != 0) {
        const int n = rc_json_utf8_length(at);
        write_character(out, at, n);
        at += n > 0 ? n : 1;
    }
}

void rc_page_paragraph(FILE *out, const char *text)
{
    fputs("<p>", out);
    rc_page_text(out, text);
    fputs("</p>\n", out);
}

void rc_page_open_table(struct rc_page *page, const char *what, int store)
{
    char name[160];
    fputs("<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"", page->out);
    rc_page_text(page->out, what);
    if (store >= 0 && page->n_stores > 1) {
        rc_page_store_name(page, store, name, sizeof name);
        fputs(", ", page->out);
        rc_page_text(page->out, name);
    }
    fputs("\"><table>\n", page->out);
}

void rc_page_store_name(const struct rc_page *page, int store, char *text, size_t size)
{
    const char *name = rc_campaign_name(page->store[store].campaign);
    if (page->n_stores > 1) {
        (void)snprintf(text, size, "%c: %s", 'A' + store, name);
    } else {
        (void)snprintf(text, size, "%s", name);
    }
}

int rc_page_has_vehicle(const struct rc_page *page)
{
    for (int store = 0; store < page->n_stores; store++) {
        if (rc_campaign_formula(page->store[store].campaign) == NULL) {
            return 1;
        }
    }
    return 0;
}

static void write_contents(struct rc_page *page)
{
    fputs("<nav aria-label=\"Contents\"><ol>\n", page->out);
    for (int index = 0; rc_page_section(index)->id != NULL; index++) {
        const struct rc_page_section *section = rc_page_section(index);
        if (section->applies(page)) {
            fprintf(page->out, "<li><a href=\"#%s\">%s</a></li>\n", section->id, section->title);
        }
    }
    fputs("</ol></nav>\n", page->out);
}

/* Flights, seed and file of a store, one line. */
static void write_origin(struct rc_page *page, int store)
{
    const struct rc_answer *answer = &page->facts[store].answer;
    fprintf(page->out, "<p>%s flights, seed %" PRIu64, rc_figures_count(answer->flights).text, answer->seed);
    if (!answer->is_finished) {
        fprintf(page->out, " (unfinished: %s are asked)", rc_figures_count(answer->flights_asked).text);
    }
    if (rc_stop_is_set(&answer->stop_rule)) {
        fprintf(page->out, "; stop rule: %s", answer->stop_text);
    }
    fputs("; store <code>", page->out);
    rc_page_text(page->out, page->store[store].path);
    fputs("</code></p>\n", page->out);
}

/* Which of several stores would be flown and why. */
static rc_status write_choice(struct rc_page *page, struct rc_error *err)
{
    struct rc_compare *compare = NULL;
    struct rc_text choice = {NULL, 0, 0, false};
    const struct rc_answer *answer[RC_REPORT_MAX_STORES];
    for (int store = 0; store < page->n_stores; store++) {
        answer[store] = &page->facts[store].answer;
    }
    rc_status status = rc_compare_settle(&compare, page->store, answer, page->n_stores, err);
    if (status == RC_OK) {
        rc_compare_add_choice(&choice, compare);
        fputs("<div class=\"verdict open\"><p>", page->out);
        rc_page_text(page->out, choice.failed ? "" : choice.bytes);
        fputs("</p></div>\n", page->out);
    }
    rc_text_free(&choice);
    rc_compare_free(compare);
    return status;
}

/* "Every criterion is met in 65.90 % of flights (64.96 to 66.83 %, 95 % exact interval); 70 % are asked." */
static void write_odds_sentence(struct rc_page *page, const struct rc_answer *answer)
{
    const struct rc_odds *odds = &answer->all_together;
    const struct rc_criterion *asked = rc_campaign_all_together(answer->campaign);
    const int decimals = rc_figures_percent_decimals(odds->interval_low, odds->interval_high, RC_PAGE_DECIMALS);

    fprintf(page->out, "<p>Every criterion is met in %s&nbsp;%% of flights (", rc_answer_percent(odds, decimals).text);
    fprintf(page->out, "%s to ", rc_figures_number(100.0 * odds->interval_low, decimals, RC_ROUND_DOWN).text);
    fprintf(page->out, "%s&nbsp;%%, ", rc_figures_number(100.0 * odds->interval_high, decimals, RC_ROUND_UP).text);
    fprintf(page->out, "%s&nbsp;%% %sinterval); ", rc_figures_plain(100.0 * asked->confidence).text,
            strcmp(rc_answer_interval_from(answer), "count") == 0 ? "exact " : "");
    fprintf(page->out, "%s&nbsp;%% are asked.", rc_figures_plain(100.0 * asked->odds).text);
}

/* What holds the odds down: the criterion that most of the failing flights miss. */
static void write_limit_sentence(struct rc_page *page, const struct rc_page_facts *facts)
{
    if (facts->limiting < 0) {
        fputs(" No flight misses any.</p>\n", page->out);
        return;
    }
    const double share = 100.0 * (double)facts->n_missed[facts->limiting] / (double)facts->n_failed;
    fputs(" What limits it is \xe2\x80\x9c", page->out);
    rc_page_text(page->out, rc_answer_criterion(&facts->answer, facts->limiting)->name);
    fprintf(page->out, "\xe2\x80\x9d: %s&nbsp;%% of the flights that fall short miss it.</p>\n",
            rc_figures_number(share, 0, share > 99.0 && share < 100.0 ? RC_ROUND_DOWN : RC_ROUND_NEAREST).text);
}

/* Which rows of the table keep the verdict from being GO: without this a store whose odds of all together look good would be a
 * riddle. */
static void write_reason(struct rc_page *page, const struct rc_answer *answer)
{
    struct rc_text rows = {NULL, 0, 0, false};
    if (answer->verdict == RC_VERDICT_GO) {
        return;
    }
    rc_answer_add_rows(&rows, answer, answer->verdict);
    fputs(answer->verdict == RC_VERDICT_NO_GO ? "<p>Short of the odds asked: " : "<p>Not settled: ", page->out);
    rc_page_text(page->out, rows.failed || rows.bytes == NULL ? "" : rows.bytes);
    fputs(".", page->out);
    rc_text_free(&rows);
    if (answer->verdict == RC_VERDICT_NOT_YET_KNOWN && answer->more_flights > 0) {
        fprintf(page->out, " About %s more flights would settle it if the odds stay.",
                rc_figures_count(answer->more_flights).text);
    } else if (answer->verdict == RC_VERDICT_NOT_YET_KNOWN && answer->more_flights < 0) {
        fputs(" The odds are so close to those asked that no practical number of flights settles it.", page->out);
    }
    fputs("</p>\n", page->out);
}

static void write_verdict(struct rc_page *page, int store)
{
    const struct rc_page_facts *facts = &page->facts[store];
    const struct rc_answer *answer = &facts->answer;
    char name[160];

    fprintf(page->out, "<div class=\"verdict %s\">\n", verdict_class[answer->verdict]);
    if (page->n_stores > 1) {
        rc_page_store_name(page, store, name, sizeof name);
        fputs("<h2>", page->out);
        rc_page_text(page->out, name);
        fputs("</h2>\n", page->out);
    }
    fprintf(page->out, "<p class=\"word\">%s</p>\n", rc_odds_verdict_text(answer->verdict));
    write_odds_sentence(page, answer);
    write_limit_sentence(page, facts);
    write_reason(page, answer);
    fputs("</div>\n", page->out);
}

rc_status rc_page_begin(struct rc_page *page, const char *title, struct rc_error *err)
{
    FILE *out = page->out;
    fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
          "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
          "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n<title>",
          out);
    rc_page_text(out, title);
    fputs("</title>\n<style>\n", out);
    fputs(rc_page_style(), out);
    fputs("</style>\n</head>\n<body>\n<a class=\"skip\" href=\"#answer\">To the answer</a>\n<header>\n<h1>", out);
    rc_page_text(out, title);
    fputs("</h1>\n</header>\n", out);
    fputs("<main>\n<div id=\"answer\">\n", out);
    const rc_status status = page->n_stores > 1 ? write_choice(page, err) : RC_OK;
    for (int store = 0; store < page->n_stores; store++) {
        write_verdict(page, store);
        write_origin(page, store);
    }
    fputs("</div>\n", out);
    write_contents(page);
    return status;
}

void rc_page_end(struct rc_page *page)
{
    fputs("</main>\n<footer>\n<p>Written by Rollcast ", page->out);
    rc_page_text(page->out, rc_version());
    fputs(". The page needs no network; every figure's numbers can be saved as CSV.</p>\n</footer>\n</body>\n</html>\n",
          page->out);
}
