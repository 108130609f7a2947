/* A comparison of designs as CSV: a row for each setting, every figure in full. docs/commands.md lists the columns. */
#include "figures.h"
#include "trade.h"

static void write_setting(FILE *out, const struct rc_trade *trade, int index)
{
    const struct rc_trade_setting *setting = &trade->setting[index];
    const unsigned char *best = trade->met + trade->best * trade->n_flights, *met = trade->met + index * trade->n_flights;
    const struct rc_pairs pairs = rc_pairing_count(best, met, trade->n_flights);
    const struct rc_range range = rc_pairing_interval(&pairs, trade->criterion.confidence);
    const double n = (double)trade->n_flights;
    rc_figures_quoted(out, setting->name != NULL ? setting->name : "");
    for (int varied = 0; varied < trade->sweep.n_varied; varied++) {
        rc_figures_cell(out, setting->value[varied]);
    }
    fprintf(out, ",%lld,%lld", (long long)trade->n_flights, (long long)setting->n_met);
    const double figures[] = {(double)setting->n_met / n, setting->band.low, setting->band.high, setting->may_be_best ? 1.0 : 0.0,
                              (double)trade->setting[trade->best].n_met / n - (double)setting->n_met / n, range.low,
                              range.high, rc_pairing_test(&pairs)};
    for (size_t at = 0; at < sizeof figures / sizeof figures[0]; at++) {
        rc_figures_cell(out, figures[at]);
    }
    fputc('\n', out);
}

void rc_trade_write_csv(FILE *out, const struct rc_trade *trade)
{
    fputs("campaign", out);
    for (int varied = 0; varied < trade->sweep.n_varied; varied++) {
        fputc(',', out);
        rc_figures_quoted(out, trade->sweep.range[varied].path);
    }
    fputs(",flights,passed,odds,band_low,band_high,may_be_best,best_less_this,interval_low,interval_high,exact_p\n", out);
    for (int index = 0; index < trade->n; index++) {
        write_setting(out, trade, index);
    }
}
