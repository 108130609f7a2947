/* Sets answers side by side: rows that ask the same, who is clear of whom, which would be flown, what differs between the
 * campaigns. Each store's own answer comes from answer.c; layout is left to compare_text.c and compare_json.c. */
#include "compare.h"

#include <stdlib.h>
#include <string.h>

#include "wording.h"

char rc_compare_letter(int store)
{
    return (char)('A' + store);
}

static int count_of(unsigned set)
{
    return __builtin_popcount(set);
}

void rc_compare_add_letters(struct rc_text *text, unsigned set)
{
    int left = count_of(set);
    for (int store = 0; store < RC_REPORT_MAX_STORES; store++) {
        if (set & 1U << store) {
            left--;
            rc_text_add(text, "%c%s", rc_compare_letter(store), left > 1 ? ", " : left == 1 ? " and " : "");
        }
    }
}

int rc_compare_is_compared(const struct rc_compare *compare, const struct rc_compare_row *row)
{
    return count_of(row->asked) > 1 && (!row->is_together || compare->asks_same);
}

int rc_compare_is_same(const struct rc_criterion *one, const struct rc_criterion *other)
{
    return strcmp(one->name, other->name) == 0 && one->measure == other->measure && one->at_least == other->at_least &&
           one->at_most == other->at_most && one->odds == other->odds && one->confidence == other->confidence;
}

/* The row for a store's criterion: an earlier store's that asks the same, or a new one. */
static struct rc_compare_row *row_for(struct rc_compare *compare, const struct rc_criterion *criterion, int store)
{
    for (int row = 0; row < compare->n_rows; row++) {
        struct rc_compare_row *const found = &compare->row[row];
        if (!(found->asked & 1U << store) && rc_compare_is_same(found->criterion, criterion)) {
            return found;
        }
    }
    struct rc_compare_row *const fresh = &compare->row[compare->n_rows++];
    *fresh = (struct rc_compare_row){.criterion = criterion};
    for (int other = 0; other < RC_REPORT_MAX_STORES; other++) {
        fresh->at[other] = -1;
    }
    return fresh;
}

/* Bits of the stores among `set` whose interval reaches up to that of the greatest odds. */
static unsigned best_of(const struct rc_compare *compare, const struct rc_compare_row *row, unsigned set)
{
    const struct rc_odds *top = NULL;
    unsigned best = 0;
    for (int store = 0; store < compare->n_stores; store++) {
        const struct rc_odds *odds = set & 1U << store ? rc_answer_odds(&compare->answer[store], row->at[store]) : NULL;
        if (odds != NULL && (top == NULL || odds->estimate > top->estimate)) {
            top = odds;
        }
    }
    for (int store = 0; store < compare->n_stores; store++) {
        if (set & 1U << store && rc_answer_odds(&compare->answer[store], row->at[store])->interval_high >= top->interval_low) {
            best |= 1U << store;
        }
    }
    return best;
}

static void settle_rows(struct rc_compare *compare)
{
    const unsigned all = (1U << compare->n_stores) - 1U;
    for (int store = 0; store < compare->n_stores; store++) {
        for (int row = 0; row < rc_campaign_criteria_count(compare->answer[store].campaign); row++) {
            struct rc_compare_row *const found = row_for(compare, rc_answer_criterion(&compare->answer[store], row), store);
            found->at[store] = row;
            found->asked |= 1U << store;
        }
    }
    compare->asks_same = 1;
    for (int row = 0; row < compare->n_rows; row++) {
        compare->asks_same &= compare->row[row].asked == all;
    }

    struct rc_compare_row *const together = &compare->row[compare->n_rows++];
    *together = (struct rc_compare_row){.criterion = rc_campaign_all_together(compare->answer[0].campaign), .is_together = 1,
                                        .asked = all};
    for (int store = 0; store < compare->n_stores; store++) {
        const struct rc_campaign *const campaign = compare->answer[store].campaign;
        const struct rc_criterion *const asked = rc_campaign_all_together(campaign);
        together->at[store] = rc_campaign_criteria_count(campaign);
        compare->asks_same &= asked->odds == together->criterion->odds && asked->confidence == together->criterion->confidence;
    }
    for (int row = 0; row < compare->n_rows; row++) {
        struct rc_compare_row *const found = &compare->row[row];
        found->best = found->is_together && !compare->asks_same ? found->asked : best_of(compare, found, found->asked);
    }
}

/* Only what is GO would be flown; among several that ask the same, those that no other is shown to be above of. */
static void choose(struct rc_compare *compare)
{
    for (int store = 0; store < compare->n_stores; store++) {
        compare->go |= compare->answer[store].verdict == RC_VERDICT_GO ? 1U << store : 0;
    }
    compare->flown = compare->go;
    if (compare->asks_same && count_of(compare->go) > 1) {
        compare->flown = best_of(compare, &compare->row[compare->n_rows - 1], compare->go);
    }
}

/* The difference at a path, made where it is not there yet; NULL without memory. */
static struct rc_compare_difference *difference_at(struct rc_compare *compare, const char *path)
{
    for (int at = 0; at < compare->n_differences; at++) {
        if (strcmp(compare->difference[at].path, path) == 0) {
            return &compare->difference[at];
        }
    }
    const size_t n = (size_t)compare->n_differences + 1;
    struct rc_compare_difference *const grown = realloc(compare->difference, n * sizeof *grown);
    if (grown == NULL) {
        return NULL;
    }
    compare->difference = grown;
    struct rc_compare_difference *const fresh = &grown[compare->n_differences++];
    memset(fresh, 0, sizeof *fresh);
    (void)snprintf(fresh->path, sizeof fresh->path, "%.95s", path);
    return fresh;
}

/* in value, is_said  what the campaign has there, and whether its file says so */
static rc_status note_entry(struct rc_compare *compare, int store, const char *path, const char *value, int is_said)
{
    struct rc_compare_difference *const entry = difference_at(compare, path);
    if (entry == NULL) {
        return RC_NO_MEMORY;
    }
    (void)snprintf(entry->value[store], sizeof entry->value[store], "%.260s", value);
    entry->is_said |= is_said;
    return RC_OK;
}

/* Note every entry of a store's campaign: settings first, then numbers. */
static rc_status note_campaign(struct rc_compare *compare, int store)
{
    const rc_campaign *const campaign = compare->answer[store].campaign;
    rc_status status = RC_OK;
    for (int index = 0; status == RC_OK && index < rc_campaign_setting_count(campaign); index++) {
        const struct rc_setting_view view = rc_campaign_setting(campaign, index);
        status = note_entry(compare, store, view.path, view.value, 1);
    }
    for (int index = 0; status == RC_OK && index < rc_campaign_quantity_count(campaign); index++) {
        const struct rc_quantity_view view = rc_campaign_quantity(campaign, index);
        const char *const unit = rc_wording_unit(view.unit);
        char value[RC_COMPARE_VALUE];
        (void)snprintf(value, sizeof value, "%s%s%s", view.is_uncertain ? view.distribution : rc_figures_plain(view.value).text,
                       *unit != '\0' ? " " : "", unit);
        status = note_entry(compare, store, view.path, value, !view.is_default);
    }
    return status;
}

/* Note all entries, then drop those that are the same everywhere or that no campaign says. */
static rc_status find_differences(struct rc_compare *compare)
{
    rc_status status = RC_OK;
    for (int store = 0; status == RC_OK && store < compare->n_stores; store++) {
        status = note_campaign(compare, store);
    }
    int n_kept = 0;
    for (int at = 0; at < compare->n_differences; at++) {
        struct rc_compare_difference *const entry = &compare->difference[at];
        int is_same = 1;
        for (int store = 1; store < compare->n_stores; store++) {
            is_same &= strcmp(entry->value[store], entry->value[0]) == 0;
        }
        if (!is_same && entry->is_said) {
            memmove(&compare->difference[n_kept++], entry, sizeof *entry);
        }
    }
    compare->n_differences = n_kept;
    return status;
}

rc_status rc_compare_settle(struct rc_compare **compare, const struct rc_report_store *store,
                            const struct rc_answer *const *answer, int n_stores, struct rc_error *err)
{
    struct rc_compare *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a comparison");
    }
    made->store = store;
    made->n_stores = n_stores;
    for (int at = 0; at < n_stores; at++) {
        made->answer[at] = *answer[at];
    }
    settle_rows(made);
    choose(made);
    const rc_status status = find_differences(made);
    if (status != RC_OK) {
        rc_compare_free(made);
        return rc_error_fill(err, status, "", "no memory for what differs between the campaigns");
    }
    *compare = made;
    return RC_OK;
}

rc_status rc_compare_gather(struct rc_compare **compare, const struct rc_report_store *store, int n_stores, struct rc_error *err)
{
    const struct rc_answer *answer[RC_REPORT_MAX_STORES] = {NULL};
    if (n_stores < 2 || n_stores > RC_REPORT_MAX_STORES) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "got %d stores to set side by side, wanted 2 to %d", n_stores,
                             RC_REPORT_MAX_STORES);
    }
    struct rc_answer *gathered = calloc((size_t)n_stores, sizeof *gathered);
    rc_status status = gathered != NULL ? RC_OK : rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a comparison");
    for (int at = 0; status == RC_OK && at < n_stores; at++) {
        struct rc_error own = {.status = RC_OK};
        answer[at] = &gathered[at];
        status = rc_answer_gather(&gathered[at], store[at].results, store[at].campaign, &own);
        if (status != RC_OK) {
            (void)rc_error_fill(err, status, own.where[0] != '\0' ? own.where : store[at].path, "%s", own.what);
        }
    }
    if (status == RC_OK) {
        status = rc_compare_settle(compare, store, answer, n_stores, err);
    }
    free(gathered);
    return status;
}

void rc_compare_free(struct rc_compare *compare)
{
    if (compare != NULL) {
        free(compare->difference);
        free(compare);
    }
}

void rc_compare_add_choice(struct rc_text *text, const struct rc_compare *compare)
{
    const int n_go = count_of(compare->go), n_flown = count_of(compare->flown);
    if (n_go == 0) {
        rc_text_add(text, "None would be flown: none is GO.");
        return;
    }
    rc_compare_add_letters(text, compare->flown);
    if (n_go == 1) {
        rc_text_add(text, " would be flown: it alone is GO.");
    } else if (!compare->asks_same) {
        rc_text_add(text, " would each be flown by what its own campaign asks. They do not ask the same, so nothing here says "
                          "which is better.");
    } else if (n_flown == 1) {
        rc_text_add(text, " would be flown: of those that are GO (");
        rc_compare_add_letters(text, compare->go);
        rc_text_add(text, ") its odds of all together are clear above the others'.");
    } else {
        rc_text_add(text, " would be flown, one as well as another: they are GO, and their intervals for all together overlap, "
                          "so none of them is shown to be better.");
    }
}

void rc_compare_add_best(struct rc_text *text, const struct rc_compare *compare, const struct rc_compare_row *row)
{
    const int n_best = count_of(row->best);
    if (row->is_together && !compare->asks_same) {
        rc_text_add(text, "not compared: the campaigns do not ask the same");
    } else if (count_of(row->asked) < 2) {
        rc_text_add(text, "asked by ");
        rc_compare_add_letters(text, row->asked);
        rc_text_add(text, " only");
    } else if (n_best == 1) {
        rc_text_add(text, "best: ");
        rc_compare_add_letters(text, row->best);
        rc_text_add(text, ", its interval is above the others'");
    } else {
        rc_text_add(text, "best: not shown between ");
        rc_compare_add_letters(text, row->best);
        rc_text_add(text, "%s", row->best == row->asked ? ", their intervals overlap"
                                                         : ", whose intervals overlap; the rest is clear below the highest");
    }
}

const char *rc_compare_note(void)
{
    return "One store counts as better than another only where its interval lies above the other's, each at the confidence "
           "asked; intervals that overlap show no difference, though there may be one. Measures are over the flights that "
           "reached apogee; of a formula, those with a result.";
}
