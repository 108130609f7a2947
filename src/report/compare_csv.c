/* A comparison as CSV: a row for each store and criterion, and for each store and measure, every figure in full.
 * docs/commands.md lists the columns. */
#include "compare.h"
#include "figures.h"

/* Whose row it is. */
static void write_store(FILE *out, const struct rc_compare *compare, int store)
{
    fprintf(out, "%c,", rc_compare_letter(store));
    rc_figures_quoted(out, compare->store[store].path);
    fputc(',', out);
    rc_figures_quoted(out, rc_campaign_name(compare->answer[store].campaign));
    fputc(',', out);
}

/* A store's row of the answer, and how it stands to those of the others that ask the same. */
static void write_criterion(FILE *out, const struct rc_compare *compare, int store, const struct rc_compare_row *row)
{
    write_store(out, compare, store);
    rc_answer_write_csv_criterion(out, &compare->answer[store], row->at[store]);
    if (rc_compare_is_compared(compare, row)) {
        fprintf(out, ",1,%d\n", (row->best & 1U << store) != 0);
    } else {
        fputs(",0,\n", out);
    }
}

static void write_measures(FILE *out, const struct rc_compare *compare, int store)
{
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        if (!rc_answer_is_left_out(&compare->answer[store], measure)) {
            write_store(out, compare, store);
            rc_answer_write_csv_measure(out, &compare->answer[store], measure);
            fputs(",,\n", out);
        }
    }
}

void rc_compare_write_csv(FILE *out, const struct rc_compare *compare)
{
    fprintf(out, "letter,store,campaign,%s,is_compared,is_best\n", rc_answer_csv_heads());
    for (int at = 0; at < compare->n_rows; at++) {
        for (int store = 0; store < compare->n_stores; store++) {
            if (compare->row[at].asked & 1U << store) {
                write_criterion(out, compare, store, &compare->row[at]);
            }
        }
    }
    for (int store = 0; store < compare->n_stores; store++) {
        write_measures(out, compare, store);
    }
}
