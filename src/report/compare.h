/* Several stores' answers set side by side: which rows they share, where one is clear of the others, what their campaigns do not
 * have in common. Gathered once and then written as text or JSON. */
#ifndef RC_COMPARE_H
#define RC_COMPARE_H

#include "answer.h"
#include "rollcast/report.h"

enum {
    RC_COMPARE_MAX_ROWS = RC_REPORT_MAX_STORES * RC_MAX_CRITERIA + 1,
    RC_COMPARE_NAME = 96,
    RC_COMPARE_VALUE = 264
};

/* A criterion that one or more of the stores ask. Those that ask the same (name, measure, limits, odds, confidence) share a
 * row. */
struct rc_compare_row {
    const struct rc_criterion *criterion; /* of the first that asks it                                               */
    int is_together;                      /* "all together"                                                          */
    int at[RC_REPORT_MAX_STORES];         /* row of that store's answer, -1 where it does not ask this               */
    unsigned asked;                       /* bit per store                                                           */
    unsigned best;                        /* bit per store that is not shown to be below the one of greatest odds    */
};

/* An entry of the campaigns that is not the same in all of them, and that one of them says. Empty where a campaign has none. */
struct rc_compare_difference {
    char path[RC_COMPARE_NAME];
    char value[RC_REPORT_MAX_STORES][RC_COMPARE_VALUE];
    int is_said;                          /* some campaign gives it; else all that have it leave it to its default   */
};

/* Everything a comparison says. */
struct rc_compare {
    int n_stores;
    const struct rc_report_store *store;
    struct rc_answer answer[RC_REPORT_MAX_STORES];
    int n_rows;                           /* the last one is all together                                            */
    struct rc_compare_row row[RC_COMPARE_MAX_ROWS];
    int asks_same;                        /* every store asks every row                                              */
    unsigned go;                          /* bit per store whose verdict is GO                                       */
    unsigned flown;                       /* bit per store that would be flown: GO, and none of the GO ones is better */
    int n_differences;
    struct rc_compare_difference *difference; /* (n_differences)                                                     */
};

/* Gather the answers of all stores and set them side by side.
 * out  compare  caller frees with rc_compare_free; untouched on error
 * in   store    (n_stores) 2 .. RC_REPORT_MAX_STORES; borrowed
 * ends RC_BAD_INPUT, RC_IO, RC_NO_MEMORY; err names the store's path */
rc_status rc_compare_gather(struct rc_compare **compare, const struct rc_report_store *store, int n_stores,
                            struct rc_error *err) RC_MUST_CHECK;

/* The same of answers that are there already. in answer (n_stores) copied, stores' own */
rc_status rc_compare_settle(struct rc_compare **compare, const struct rc_report_store *store,
                            const struct rc_answer *const *answer, int n_stores, struct rc_error *err) RC_MUST_CHECK;

/* Do two criteria ask the same: name, measure, limits, odds and confidence? */
int rc_compare_is_same(const struct rc_criterion *one, const struct rc_criterion *other);

/* Release it. NULL is fine. */
void rc_compare_free(struct rc_compare *compare);

/* The letter of a store: 'A', 'B', ... */
char rc_compare_letter(int store);

/* Do several stores ask a row, so that they are compared in it? */
int rc_compare_is_compared(const struct rc_compare *compare, const struct rc_compare_row *row);

/* Add the letters of a set: "A", "A and B", "A, B and C". in set bit per store */
void rc_compare_add_letters(struct rc_text *text, unsigned set);

/* Which would be flown and why, one sentence or two. */
void rc_compare_add_choice(struct rc_text *text, const struct rc_compare *compare);

/* What a row shows between the stores that ask it: which is best, if any is clear of the others. */
void rc_compare_add_best(struct rc_text *text, const struct rc_compare *compare, const struct rc_compare_row *row);

/* How to read a comparison; one paragraph. */
const char *rc_compare_note(void);

/* Write it as text of 80 columns. Write errors stay in the stream's error flag. */
void rc_compare_write_text(FILE *out, const struct rc_compare *compare);

/* Write it as CSV: a row for each store and criterion, grouped by what is asked, then for each store and measure. Write errors
 * stay in the stream's error flag. */
void rc_compare_write_csv(FILE *out, const struct rc_compare *compare);

/* Write it as a JSON document of schema "rollcast-compare/1". Write errors stay in the stream's error flag. */
void rc_compare_write_json(FILE *out, const struct rc_compare *compare);

#endif
