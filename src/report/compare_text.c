/* A comparison as text of 80 columns: a column per store, four to a panel. */
#include <inttypes.h>
#include <string.h>

#include "campaign/campaign.h"
#include "compare.h"
#include "wording.h"

/* Columns: a row's label, then the stores. */
enum { LABEL_COLUMNS = 20, STORES_COLUMNS = 60, PANEL_STORES = 4, WIDEST_COLUMN = 20, MOST_DECIMALS = 5, PATH_COLUMNS = 30 };

/* A run of stores that stand beside each other, and how wide each is. */
struct panel {
    int first, end, width;
};

static int panels_of(const struct rc_compare *compare)
{
    return (compare->n_stores + PANEL_STORES - 1) / PANEL_STORES;
}

static struct panel panel_at(const struct rc_compare *compare, int number)
{
    const int each = compare->n_stores < PANEL_STORES ? compare->n_stores : PANEL_STORES;
    const int end = (number + 1) * PANEL_STORES;
    const int width = STORES_COLUMNS / each;
    return (struct panel){number * PANEL_STORES, end < compare->n_stores ? end : compare->n_stores,
                          width < WIDEST_COLUMN ? width : WIDEST_COLUMN};
}

/* A label, which may run into the room left of the first figure; one that is too long for that has a line of its own. */
static void write_label(FILE *out, const char *label, int room)
{
    rc_figures_name(out, label, LABEL_COLUMNS);
    if (rc_figures_columns(label) > LABEL_COLUMNS + room) {
        fprintf(out, "\n%*s", LABEL_COLUMNS, "");
    }
}

/* One line of a panel: a label and a cell per store. in cell (n_stores) */
static void write_line(FILE *out, const struct panel *panel, const char *label, const struct rc_figure *cell)
{
    const int room = panel->width - 1 - rc_figures_columns(cell[panel->first].text);
    const int over = rc_figures_columns(label) - LABEL_COLUMNS;
    write_label(out, label, room);
    for (int store = panel->first; store < panel->end; store++) {
        const int taken = store == panel->first && over > 0 && over <= room ? over : 0;
        fprintf(out, "%*s", panel->width - taken, cell[store].text);
    }
    fputc('\n', out);
}

/* The letters over a panel's columns. */
static void write_letters(FILE *out, const struct rc_compare *compare, const struct panel *panel, const char *label)
{
    struct rc_figure cell[RC_REPORT_MAX_STORES] = {{""}};
    for (int store = 0; store < compare->n_stores; store++) {
        snprintf(cell[store].text, sizeof cell[store].text, "%c", rc_compare_letter(store));
    }
    write_line(out, panel, label, cell);
}

/* Why a store is what it is: its verdict in a few words. */
static void add_reason(struct rc_text *text, const struct rc_answer *answer)
{
    rc_text_add(text, "%s", rc_odds_verdict_text(answer->verdict));
    if (answer->verdict == RC_VERDICT_NO_GO) {
        rc_text_add(text, ": short of the odds asked: ");
        rc_answer_add_rows(text, answer, RC_VERDICT_NO_GO);
    } else if (answer->verdict == RC_VERDICT_GO) {
        rc_text_add(text, ": every criterion, alone and all together, is met with the odds and confidence asked");
    } else if (answer->more_flights < 0) {
        rc_text_add(text, ": too close to the odds asked to settle");
    } else {
        rc_text_add(text, ": about %s more flights would settle it if the odds stay",
                    rc_figures_count(answer->more_flights).text);
    }
}

/* Letter, campaign, store, flights, verdict with its reason. */
static void write_store(FILE *out, const struct rc_compare *compare, int store)
{
    const struct rc_answer *const answer = &compare->answer[store];
    const int64_t n_others = answer->flights - answer->n_ended[RC_END_APOGEE];
    struct rc_text text = {NULL, 0, 0, false};

    fprintf(out, "%c  ", rc_compare_letter(store));
    rc_figures_wrap(out, rc_campaign_name(answer->campaign), 3, 3);
    rc_text_add(&text, "%s: %s flights, seed %" PRIu64, compare->store[store].path, rc_figures_count(answer->flights).text,
                answer->seed);
    if (!answer->is_finished) {
        rc_text_add(&text, ", unfinished (%s asked for)", rc_figures_count(answer->flights_asked).text);
    }
    if (n_others > 0) {
        rc_text_add(&text, ", %s ended otherwise and meet no criterion", rc_figures_count(n_others).text);
    } else {
        rc_text_add(&text, rc_campaign_formula(answer->campaign) != NULL ? ", result finite for all" : ", apogee reached by all");
    }
    fputs("   ", out);
    rc_figures_wrap(out, text.failed ? compare->store[store].path : text.bytes, 3, 3);
    rc_text_free(&text);

    add_reason(&text, answer);
    fputs("   ", out);
    rc_figures_wrap(out, text.failed ? rc_odds_verdict_text(answer->verdict) : text.bytes, 3, 3);
    rc_text_free(&text);
}

/* An interval that fits its column: the decimals it supports, or as many as there is room for. Ends go outward. */
static struct rc_figure interval_of(const struct rc_odds *odds, int width, int *decimals)
{
    struct rc_figure figure;
    *decimals = rc_figures_percent_decimals(odds->interval_low, odds->interval_high, MOST_DECIMALS);
    for (;; (*decimals)--) {
        snprintf(figure.text, sizeof figure.text, "%.24s to %.24s",
                 rc_figures_number(100.0 * odds->interval_low, *decimals, RC_ROUND_DOWN).text,
                 rc_figures_number(100.0 * odds->interval_high, *decimals, RC_ROUND_UP).text);
        if (*decimals == 0 || rc_figures_columns(figure.text) < width) {
            return figure;
        }
    }
}

static void write_row_panel(FILE *out, const struct rc_compare *compare, const struct rc_compare_row *row,
                            const struct panel *panel)
{
    struct rc_figure odds[RC_REPORT_MAX_STORES], interval[RC_REPORT_MAX_STORES], verdict[RC_REPORT_MAX_STORES];
    char label[RC_FIGURES_TEXT + 16];

    for (int store = panel->first; store < panel->end; store++) {
        odds[store] = interval[store] = verdict[store] = (struct rc_figure){"-"};
        if (row->asked & 1U << store) {
            const struct rc_odds *const found = rc_answer_odds(&compare->answer[store], row->at[store]);
            int decimals = 0;
            interval[store] = interval_of(found, panel->width, &decimals);
            snprintf(odds[store].text, sizeof odds[store].text, "%.24s %%", rc_answer_percent(found, decimals).text);
            snprintf(verdict[store].text, sizeof verdict[store].text, "%s", rc_odds_verdict_text(found->verdict));
        }
    }
    write_line(out, panel, row->is_together ? "all together" : row->criterion->name, odds);
    snprintf(label, sizeof label, "  %s %% interval", rc_figures_plain(100.0 * row->criterion->confidence).text);
    write_line(out, panel, row->is_together && !compare->asks_same ? "  interval" : label, interval);
    write_line(out, panel, "  verdict", verdict);
}

static void write_row(FILE *out, const struct rc_compare *compare, const struct rc_compare_row *row)
{
    struct rc_text text = {NULL, 0, 0, false};

    for (int number = 0; number < panels_of(compare); number++) {
        const struct panel panel = panel_at(compare, number);
        if (number > 0) {
            write_letters(out, compare, &panel, "");
        }
        write_row_panel(out, compare, row, &panel);
    }
    fputs("  ", out);
    if (!row->is_together) {
        rc_wording_limit(out, row->criterion);
        fputs("\n  ", out);
    }
    if (!row->is_together || compare->asks_same) {
        rc_wording_asked(out, row->criterion);
        fputs("\n  ", out);
    }
    rc_compare_add_best(&text, compare, row);
    rc_figures_wrap(out, text.failed ? "" : text.bytes, 2, 2);
    rc_text_free(&text);
}

/* Medians of one measure, unless they are the same for all stores. */
static void write_medians(FILE *out, const struct rc_compare *compare, int measure, const struct panel *panel)
{
    struct rc_figure cell[RC_REPORT_MAX_STORES];
    int is_same = 1;

    for (int store = 0; store < compare->n_stores; store++) {
        const struct rc_spread *const spread = &compare->answer[store].spread[measure];
        cell[store] = spread->n > 0 ? rc_answer_measure(spread->median, spread->p95 - spread->p05) : (struct rc_figure){"none"};
        is_same &= strcmp(cell[store].text, cell[0].text) == 0;
    }
    if (!is_same) {
        const struct rc_measure_row *const row = rc_measures_row(measure);
        const char *unit = rc_wording_unit(row->unit);
        char label[RC_MAX_NAME + 32];
        snprintf(label, sizeof label, "%s%s%.20s", row->name, *unit != '\0' ? ", " : "", unit);
        write_line(out, panel, label, cell);
    }
}

/* Every value of an entry with the letters of the stores that have it; stores without it go unnamed. */
static void add_values(struct rc_text *text, const struct rc_compare *compare, const struct rc_compare_difference *entry)
{
    unsigned told = 0;
    for (int store = 0; store < compare->n_stores; store++) {
        unsigned set = 0;
        for (int other = store; other < compare->n_stores; other++) {
            set |= strcmp(entry->value[other], entry->value[store]) == 0 ? 1U << other : 0;
        }
        if (!(told & 1U << store) && entry->value[store][0] != '\0') {
            rc_text_add(text, "%s", told != 0 ? "; " : "");
            rc_compare_add_letters(text, set);
            rc_text_add(text, ": %s", entry->value[store]);
            told |= set;
        }
    }
}

/* What differs in one entry: on its line where that fits, else below. */
static void write_difference(FILE *out, const struct rc_compare *compare, const struct rc_compare_difference *entry)
{
    struct rc_text text = {NULL, 0, 0, false};
    add_values(&text, compare, entry);
    const char *const values = text.failed || text.bytes == NULL ? "" : text.bytes;
    if (rc_figures_columns(entry->path) < PATH_COLUMNS && PATH_COLUMNS + rc_figures_columns(values) <= RC_FIGURES_COLUMNS) {
        rc_figures_name(out, entry->path, PATH_COLUMNS);
        rc_figures_wrap(out, values, PATH_COLUMNS, PATH_COLUMNS);
    } else {
        rc_figures_name(out, entry->path, 0);
        fputs("\n    ", out);
        rc_figures_wrap(out, values, 4, 4);
    }
    rc_text_free(&text);
}

static void write_differences(FILE *out, const struct rc_compare *compare)
{
    fputs("\nWhat differs between the campaigns\n", out);
    if (compare->n_differences == 0) {
        fputs("nothing but what is asked, flights or seed\n", out);
    }
    for (int at = 0; at < compare->n_differences; at++) {
        write_difference(out, compare, &compare->difference[at]);
    }
}

void rc_compare_write_text(FILE *out, const struct rc_compare *compare)
{
    struct rc_text text = {NULL, 0, 0, false};

    rc_compare_add_choice(&text, compare);
    rc_figures_wrap(out, text.failed ? "" : text.bytes, 0, 0);
    rc_text_free(&text);
    fputc('\n', out);
    for (int store = 0; store < compare->n_stores; store++) {
        write_store(out, compare, store);
    }

    const struct panel first = panel_at(compare, 0);
    fputc('\n', out);
    write_letters(out, compare, &first, "Criterion");
    for (int row = 0; row < compare->n_rows; row++) {
        write_row(out, compare, &compare->row[row]);
    }
    for (int number = 0; number < panels_of(compare); number++) {
        const struct panel panel = panel_at(compare, number);
        fputc('\n', out);
        write_letters(out, compare, &panel, "Median");
        for (int measure = 0; measure < RC_N_MEASURES; measure++) {
            write_medians(out, compare, measure, &panel);
        }
    }
    write_differences(out, compare);

    fputc('\n', out);
    rc_figures_wrap(out, rc_compare_note(), 0, 0);
    rc_figures_wrap(out, rc_answer_model_note(NULL), 0, 0);
    fputc('\n', out);
    rc_figures_wrap(out, rc_answer_caution(), 0, 0);
}
