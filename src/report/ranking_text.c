/* A ranking for people, 80 columns: what matters in one sentence, the table, what could not be told and how to fly it. */
#include "figures.h"
#include "ranking_paired.h"
#include "wording.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

/* Cells have room for " (+/-0.50) f", which the plus-minus sign is where the locale is not UTF-8. */
enum { NAME_COLUMNS = 28, ODDS_COLUMNS = 17, LONGEST_SAID = 3, MEASURE_NAME_COLUMNS = 44 };

struct rc_figure rc_ranking_percent(const struct rc_estimate *estimate)
{
    struct rc_figure figure;
    const double shown = fmax(estimate->value, 0.0);
    const double reach = 100.0 * fmax(estimate->high - shown, shown - estimate->low);
    int decimals = isfinite(reach) ? rc_figures_decimals(2.0 * reach) : 0;
    decimals = decimals < 0 ? 0 : decimals > 1 ? 1 : decimals;
    const struct rc_figure value = rc_figures_number(100.0 * shown, decimals, RC_ROUND_NEAREST);
    if (isfinite(reach)) {
        snprintf(figure.text, sizeof figure.text, "%.20s %% (\u00b1%.20s)", value.text,
                 rc_figures_number(reach, decimals, RC_ROUND_UP).text);
    } else {
        snprintf(figure.text, sizeof figure.text, "%.20s %%", value.text);
    }
    return figure;
}

/* "78.2 % (±2)": the larger half of the interval, rounded up. */
static void odds_text(char text[64], const struct rc_tightened *after, const char *percent)
{
    const double reach = 100.0 * fmax(after->high - after->odds, after->odds - after->low);
    int decimals = rc_figures_decimals(2.0 * reach);
    decimals = decimals < 0 ? 0 : decimals > 2 ? 2 : decimals;
    snprintf(text, 64, "%.20s%s (\u00b1%.20s)", rc_figures_number(100.0 * after->odds, decimals, RC_ROUND_NEAREST).text, percent,
             rc_figures_number(reach, decimals, RC_ROUND_UP).text);
}

static struct rc_figure flown_odds(const struct rc_ranking *ranking)
{
    const double odds = 100.0 * (double)ranking->total.n_met / (double)ranking->total.n;
    const int decimals = rc_figures_percent_decimals(ranking->odds.low, ranking->odds.high, 2);
    return rc_figures_number(odds, decimals, RC_ROUND_NEAREST);
}

/* Is the gain surely not nothing? */
static int is_sure(const struct rc_tightened *after)
{
    return after->is_supported && (after->gain_low > 0.0 || after->gain_high < 0.0);
}

/* "halving the spread of X lifts the odds of held from 61 % to 78 % (±2)". */
static void write_sentence(FILE *out, const struct rc_ranking *ranking, const struct rc_ranking_row *row, const char *what,
                           const struct rc_tightened *after)
{
    char odds[64];
    char text[400];
    odds_text(odds, after, " %");
    snprintf(text, sizeof text, "- %s %s %s the odds of %s from %s %% to %s", what, row->given,
             after->gain > 0.0 ? "lifts" : "lowers", ranking->criterion->name, flown_odds(ranking).text, odds);
    rc_figures_wrap(out, text, 0, 2);
}

/* A measure's greatest shares: the odds are of another thing. */
static void write_shares(FILE *out, const struct rc_ranking *ranking)
{
    int n_said = 0;
    for (int index = 0; index < ranking->n_rows && n_said < LONGEST_SAID; index++) {
        const struct rc_ranking_row *row = &ranking->row[index];
        char text[400];
        if (!row->rank.is_noise && !row->rank.is_constant && row->rank.share.low > 0.0) {
            snprintf(text, sizeof text, "- %s: %.0f %% of %s's variance", row->given, 100.0 * row->rank.share.value,
                     ranking->target.name);
            rc_figures_wrap(out, text, 0, 2);
            n_said++;
        }
    }
    if (n_said == 0) {
        rc_figures_wrap(out, "- no quantity alone is shown to have a share of the variance", 0, 2);
    }
}

/* What tightening and moving would do, the surest gains first. */
static void write_sentences(FILE *out, const struct rc_ranking *ranking)
{
    int n_said = 0;
    for (int index = 0; index < ranking->n_rows && n_said < LONGEST_SAID; index++) {
        const struct rc_ranking_row *row = &ranking->row[index];
        if (row->bar == RC_RANKING_TOLD && !row->rank.is_noise && is_sure(&row->after[RC_TIGHTEN_HALF])) {
            write_sentence(out, ranking, row, "halving the spread of", &row->after[RC_TIGHTEN_HALF]);
            n_said++;
        }
    }
    if (n_said == 0) {
        rc_figures_wrap(out, "- halving the spread of any one quantity changes the odds by less than these flights can tell", 0,
                        2);
    }
    const struct rc_ranking_row *best = NULL;
    enum rc_tighten_change way = RC_TIGHTEN_UP;
    for (int index = 0; index < ranking->n_rows; index++) {
        const struct rc_ranking_row *row = &ranking->row[index];
        const int is_worth = row->bar == RC_RANKING_TOLD && !row->rank.is_noise;
        for (int change = RC_TIGHTEN_UP; is_worth && change <= RC_TIGHTEN_DOWN; change++) {
            if (is_sure(&row->after[change]) && row->after[change].gain > (best != NULL ? best->after[way].gain : 0.0)) {
                best = row;
                way = (enum rc_tighten_change)change;
            }
        }
    }
    if (best != NULL) {
        char what[120];
        snprintf(what, sizeof what, "moving the middle of its distribution by %s%s %s in", way == RC_TIGHTEN_UP ? "+" : "",
                 rc_figures_number(way == RC_TIGHTEN_UP ? best->half_sd : -best->half_sd,
                                   rc_figures_decimals(best->half_sd), RC_ROUND_NEAREST).text, rc_wording_unit(best->unit));
        write_sentence(out, ranking, best, what, &best->after[way]);
    }
}

static void write_odds(FILE *out, const struct rc_ranking_row *row, enum rc_tighten_change change)
{
    char text[64] = "-";
    if (row->bar == RC_RANKING_TOLD && row->after[change].is_supported) {
        odds_text(text, &row->after[change], "");
        if (row->source[change] == RC_RANKING_FLOWN) {
            const size_t n = strlen(text);
            snprintf(text + n, sizeof text - n, " f");
        }
    }
    rc_figures_name(out, text, ODDS_COLUMNS);
}

/* The first cell; a longer name has a line of its own. */
static void write_name(FILE *out, const struct rc_ranking_row *row, int columns)
{
    char name[RC_MAX_PATH_TEXT + 16];
    if (row->n_members > 1) {
        snprintf(name, sizeof name, "%s (%d)", row->given, row->n_members);
    } else {
        snprintf(name, sizeof name, "%s", row->given);
    }
    rc_figures_name(out, name, columns);
    fprintf(out, rc_figures_columns(name) > columns ? "\n%*s " : " ", columns, "");
}

/* What there is of a measure: share of its variance and rank correlation, with their intervals. */
static void write_measure_row(FILE *out, const struct rc_ranking_row *row)
{
    const struct rc_estimate *correlation = &row->rank.correlation;
    const double reach = fmax(correlation->high - correlation->value, correlation->value - correlation->low);
    write_name(out, row, MEASURE_NAME_COLUMNS);
    if (row->rank.is_constant) {
        fputs("never varied in these flights\n", out);
        return;
    }
    rc_figures_name(out, rc_ranking_percent(&row->rank.share).text, ODDS_COLUMNS);
    fprintf(out, "%5s (\u00b1%s)\n", rc_figures_number(correlation->value, 2, RC_ROUND_NEAREST).text,
            rc_figures_number(reach, 2, RC_ROUND_UP).text);
}

static void write_row(FILE *out, const struct rc_ranking_row *row)
{
    write_name(out, row, NAME_COLUMNS);
    if (row->rank.is_constant) {
        fputs("never varied in these flights\n", out);
        return;
    }
    write_odds(out, row, RC_TIGHTEN_HALF);
    write_odds(out, row, RC_TIGHTEN_TENTH);
    fprintf(out, "%3.0f %% %5s %5s\n", fmax(100.0 * row->rank.share.value, 0.0),
            rc_figures_number(row->rank.correlation.value, 2, RC_ROUND_NEAREST).text,
            rc_figures_number(row->rank.separation.value, 2, RC_ROUND_NEAREST).text);
}

static void write_heading(FILE *out, const struct rc_ranking *ranking, int has_odds)
{
    if (!has_odds) {
        fprintf(out, "%-*s %-*s%5s\n", MEASURE_NAME_COLUMNS, "Quantity", ODDS_COLUMNS, "share", "rank");
        return;
    }
    if (ranking->target.measure >= 0) {
        char text[300];
        snprintf(text, sizeof text, "odds of %s in %%, were its spread", ranking->criterion->name);
        fprintf(out, "%*s ", NAME_COLUMNS, "");
        rc_figures_wrap(out, text, NAME_COLUMNS + 1, NAME_COLUMNS + 1);
    } else {
        fprintf(out, "%*s odds in %%, were its spread\n", NAME_COLUMNS, "");
    }
    fprintf(out, "%-*s %-*s%-*s%5s %5s %5s\n", NAME_COLUMNS, "Quantity", ODDS_COLUMNS, "half", ODDS_COLUMNS, "a tenth", "share",
            "rank", "sep.");
}

/* What stands over the rows that chance would do as well. */
static void write_noise(FILE *out, const struct rc_ranking *ranking, int has_odds)
{
    char text[300], separation[40] = "";
    if (has_odds) {
        snprintf(separation, sizeof separation, ", sep. %.2f", ranking->dummy.separation.value);
    }
    snprintf(text, sizeof text, "Cannot be told from noise (%d dummies of pure chance reach a share of %.1f %%, rank %.2f%s%s):",
             RC_RANK_DUMMIES, 100.0 * ranking->dummy.share.value, ranking->dummy.correlation.value, separation,
             ranking->target.measure < 0 ? "; halving changes no more than chance among all rows" : "");
    rc_figures_wrap(out, text, 0, 0);
}

static void write_table(FILE *out, const struct rc_ranking *ranking, int has_odds)
{
    int said_noise = 0;
    fputc('\n', out);
    write_heading(out, ranking, has_odds);
    for (int index = 0; index < ranking->n_rows; index++) {
        const struct rc_ranking_row *row = &ranking->row[index];
        if (row->rank.is_noise && !row->rank.is_constant && !said_noise) {
            write_noise(out, ranking, has_odds);
            said_noise = 1;
        }
        if (has_odds) {
            write_row(out, row);
        } else {
            write_measure_row(out, row);
        }
    }
}

/* Is some row told by new flights? */
static int has_flown(const struct rc_ranking *ranking)
{
    int found = 0;
    for (int row = 0; row < ranking->n_rows; row++) {
        for (int change = 0; change < RC_N_TIGHTEN; change++) {
            found |= ranking->row[row].source[change] == RC_RANKING_FLOWN;
        }
    }
    return found;
}

/* What the odds are from. */
static void write_sources(FILE *out, const struct rc_ranking *ranking)
{
    char text[400];
    snprintf(text, sizeof text, "Odds come from these flights reweighted, with their interval at %.10g %%; a tenth of the spread "
             "stands for none. One quantity is changed at a time, the others keep their spread.", 100.0 * ranking->confidence);
    rc_figures_wrap(out, text, 0, 0);
    if (has_flown(ranking)) {
        rc_figures_wrap(out, "f: from new flights instead, paired with the store's (same numbers, same draws, the spread "
                             "changed); under \"a tenth\" these have no spread at all.", 0, 0);
    }
}

/* Rows that reweighting cannot serve, and what would. */
static void write_lacks(FILE *out, const struct rc_ranking *ranking)
{
    for (int index = 0; index < ranking->n_rows; index++) {
        const struct rc_ranking_row *row = &ranking->row[index];
        char text[400];
        if (row->rank.is_constant || row->bar == RC_RANKING_ONE_KIND) {
            continue;
        }
        if (row->bar != RC_RANKING_TOLD) {
            snprintf(text, sizeof text, "No odds for %s: it %s.", row->given, rc_ranking_bar_text(row->bar));
            rc_figures_wrap(out, text, 0, 0);
            continue;
        }
        for (int change = 0; change <= RC_TIGHTEN_TENTH; change++) {
            const struct rc_tightened *after = &row->after[change];
            if (!after->is_supported) {
                snprintf(text, sizeof text, "No odds for %s at %s: %s.%s%s%s", row->given,
                         rc_ranking_change_text((enum rc_tighten_change)change), after->why,
                         after->more_flights > 0 ? " About " : "",
                         after->more_flights > 0 ? rc_figures_count(after->more_flights).text : "",
                         after->more_flights > 0 ? " more flights would serve, or --fly." : "");
                rc_figures_wrap(out, text, 0, 0);
            }
        }
    }
}

/* What is ranked, as a whole: a measure's mean and spread, or how many flights meet a criterion. */
static void write_whole(FILE *out, const struct rc_ranking *ranking)
{
    const struct rc_rank_total *total = &ranking->total;
    const int measure = ranking->target.measure;
    char text[400];
    if (measure >= 0) {
        const char *unit = rc_wording_unit(rc_measures_row(measure)->unit), *blank = *unit != '\0' ? " " : "";
        const int decimals = rc_figures_decimals(total->sd);
        snprintf(text, sizeof text, "What matters most for %s: mean %s%s%s, standard deviation %s%s%s, of %s flights.",
                 ranking->target.name, rc_figures_number(total->mean, decimals, RC_ROUND_NEAREST).text, blank, unit,
                 rc_figures_number(total->sd, decimals, RC_ROUND_NEAREST).text, blank, unit,
                 rc_figures_count(total->n_outcomes).text);
    } else {
        snprintf(text, sizeof text, "What matters most for %s: %s of %s flights meet %s, %s %%.", ranking->target.name,
                 rc_figures_count(total->n_met).text, rc_figures_count(total->n).text, ranking->criterion->name,
                 flown_odds(ranking).text);
    }
    rc_figures_wrap(out, text, 0, 0);
}

/* What the columns of the table are. */
static void write_columns(FILE *out, const struct rc_ranking *ranking, int has_odds)
{
    char text[500], separation[300] = "";
    if (has_odds) {
        snprintf(separation, sizeof separation, " sep.: distance between its values in flights that meet %s and that miss it, "
                 "above 0 where meeting goes with greater values.", ranking->criterion->name);
    }
    snprintf(text, sizeof text, "share: of the variance of %s that would go if the quantity were known. rank: rank correlation "
             "with it.%s", ranking->target.measure >= 0 ? ranking->target.name : "the yes or no", separation);
    fputc('\n', out);
    rc_figures_wrap(out, text, 0, 0);
    if (has_odds) {
        write_sources(out, ranking);
    } else {
        snprintf(text, sizeof text, "Intervals hold at %.10g %%.", 100.0 * ranking->confidence);
        rc_figures_wrap(out, text, 0, 0);
    }
}

void rc_ranking_write_text(FILE *out, const struct rc_ranking *ranking)
{
    const int is_measure = ranking->target.measure >= 0;
    const int has_odds = !is_measure || ranking->is_need_asked || has_flown(ranking) || ranking->ways.n_flown > 0;
    rc_ranking_paired_write_text(out, &ranking->paired, is_measure ? ranking->target.name : "the yes or no");
    if (!ranking->has_rows) {
        return;
    }
    write_whole(out, ranking);
    if (is_measure) {
        write_shares(out, ranking);
    } else {
        write_sentences(out, ranking);
    }
    write_table(out, ranking, has_odds);
    if (has_odds) {
        write_lacks(out, ranking);
        rc_ranking_write_ways(out, ranking);
    }
    write_columns(out, ranking, has_odds);
}
