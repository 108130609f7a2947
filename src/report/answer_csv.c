/* The answer as CSV: a row for each criterion, for all together and for each measure, every figure in full. */
#include "answer.h"
#include "figures.h"

#include <math.h>

void rc_answer_write_csv_criterion(FILE *out, const struct rc_answer *answer, int row)
{
    const struct rc_criterion *criterion = rc_answer_criterion(answer, row);
    const struct rc_odds *odds = rc_answer_odds(answer, row);
    const int is_together = row == rc_campaign_criteria_count(answer->campaign);
    fputs("criterion,", out);
    rc_figures_quoted(out, is_together ? "all together" : criterion->name);
    fprintf(out, ",%s,%s", is_together ? "" : rc_measures_row(criterion->measure)->name,
            is_together ? "" : rc_measures_row(criterion->measure)->unit);
    rc_figures_cell(out, is_together ? NAN : criterion->at_least);
    rc_figures_cell(out, is_together ? NAN : criterion->at_most);
    fprintf(out, ",%lld,%lld", (long long)odds->flights, (long long)odds->passed);
    const double figures[] = {odds->estimate,   odds->interval_low, odds->interval_high,  odds->bound_low,
                              odds->bound_high, criterion->odds,    criterion->confidence};
    for (size_t at = 0; at < sizeof figures / sizeof figures[0]; at++) {
        rc_figures_cell(out, figures[at]);
    }
    fprintf(out, ",%s,,,,,,,,,", rc_odds_verdict_text(odds->verdict));
}

void rc_answer_write_csv_measure(FILE *out, const struct rc_answer *answer, int measure)
{
    const struct rc_measure_row *row = rc_measures_row(measure);
    const struct rc_spread *spread = &answer->spread[measure];
    const struct rc_mean *mean = &answer->mean[measure];
    fprintf(out, "measure,\"%s\",%s,%s,,,%lld,,,,,,,", row->name, row->name, row->unit, (long long)spread->n);
    rc_figures_cell(out, answer->mean_confidence);
    fputc(',', out); /* no verdict */
    const double figures[] = {spread->median, spread->p05,   spread->p95,     spread->mean,
                              spread->sd,     spread->least, spread->greatest, mean->low,    mean->high};
    for (size_t at = 0; at < sizeof figures / sizeof figures[0]; at++) {
        rc_figures_cell(out, figures[at]);
    }
}

const char *rc_answer_csv_heads(void)
{
    return "row,name,measure,unit,at_least,at_most,flights,passed,odds,interval_low,interval_high,bound_low,bound_high,"
           "odds_asked,confidence,verdict,median,p05,p95,mean,sd,least,greatest,mean_low,mean_high";
}

void rc_answer_write_csv(FILE *out, const struct rc_answer *answer)
{
    fprintf(out, "%s\n", rc_answer_csv_heads());
    for (int row = 0; row <= rc_campaign_criteria_count(answer->campaign); row++) {
        rc_answer_write_csv_criterion(out, answer, row);
        fputc('\n', out);
    }
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        if (!rc_answer_is_left_out(answer, measure)) {
            rc_answer_write_csv_measure(out, answer, measure);
            fputc('\n', out);
        }
    }
}
