/* A comparison of designs, or a search among them, for people (80 columns) and as JSON of schema "rollcast-trade/1". */
#include <math.h>
#include <string.h>

#include "figures.h"
#include "json.h"
#include "trade.h"
#include "wording.h"

static double share(const struct rc_trade *trade, int index)
{
    return (double)trade->setting[index].n_met / (double)trade->n_flights;
}

static struct rc_pairs pairs_of(const struct rc_trade *trade, int first, int second)
{
    return rc_pairing_count(trade->met + first * trade->n_flights, trade->met + second * trade->n_flights, trade->n_flights);
}

/* A number of a campaign with its unit: "20 deg/s". */
static void number_text(char *text, size_t size, const rc_campaign *campaign, const char *path, double value)
{
    const char *unit = rc_wording_unit(rc_campaign_unit(campaign, path));
    snprintf(text, size, "%.6g%s%.40s", value, *unit != '\0' ? " " : "", unit);
}

/* A setting's name, or its values. */
static void setting_text(char *text, size_t size, const struct rc_trade *trade, int index)
{
    const struct rc_trade_setting *setting = &trade->setting[index];
    char value[RC_SWEEP_VARIED][64];
    for (int varied = 0; varied < trade->sweep.n_varied; varied++) {
        number_text(value[varied], sizeof value[varied], trade->request->campaign[0], trade->sweep.range[varied].path,
                    setting->value[varied]);
    }
    if (trade->sweep.n_varied == 0) {
        snprintf(text, size, "%s", setting->name);
    } else if (trade->sweep.n_varied == 1) {
        snprintf(text, size, "%s", value[0]);
    } else {
        snprintf(text, size, "%-14s %s", value[0], value[1]);
    }
}

/* What the best is, and what cannot be told from it. */
static void write_best(FILE *out, const struct rc_trade *trade)
{
    struct rc_text text = {NULL, 0, 0, false};
    char name[300];
    int n_others = 0;
    for (int index = 0; index < trade->n; index++) {
        n_others += trade->setting[index].may_be_best && index != trade->best;
    }
    setting_text(name, sizeof name, trade, trade->best);
    if (n_others == trade->n - 1) {
        rc_text_add(&text, "No best: none of %d settings can be told from the others by %s paired flights each.", trade->n,
                    rc_figures_count(trade->n_flights).text);
    } else {
        rc_text_add(&text, "Best: %s, %.1f %% of %s flights meet %s; %d of the other %d cannot be told from it.", name,
                    100.0 * share(trade, trade->best), rc_figures_count(trade->n_flights).text, trade->criterion.name, n_others,
                    trade->n - 1);
    }
    rc_figures_wrap(out, text.failed ? "" : text.bytes, 0, 0);
    rc_text_free(&text);
}

/* A bar of odds: 20 columns for 0 to 100 %. */
static void write_bar(FILE *out, double odds)
{
    const int n = (int)lrint(20.0 * odds);
    for (int column = 0; column < n; column++) {
        fputc('#', out);
    }
}

static void write_row(FILE *out, const struct rc_trade *trade, int index)
{
    const struct rc_trade_setting *setting = &trade->setting[index];
    char name[300];
    char band[64];
    setting_text(name, sizeof name, trade, index);
    rc_figures_name(out, name, 28);
    if (rc_figures_columns(name) > 28) {
        fprintf(out, "\n%*s", 28, "");
    }
    snprintf(band, sizeof band, "%.20s to %.20s", rc_figures_number(100.0 * setting->band.low, 1, RC_ROUND_DOWN).text,
             rc_figures_number(100.0 * setting->band.high, 1, RC_ROUND_UP).text);
    fprintf(out, "%6.1f %% %15s  %c ", 100.0 * share(trade, index), band,
            index == trade->best ? '*' : setting->may_be_best ? '=' : ' ');
    write_bar(out, share(trade, index));
    fputc('\n', out);
}

/* The exact test between two designs. */
static void write_tests(FILE *out, const struct rc_trade *trade)
{
    char text[400];
    if (trade->sweep.n_varied > 0) {
        return;
    }
    const struct rc_pairs pairs = pairs_of(trade, 0, 1);
    const struct rc_range range = rc_pairing_interval(&pairs, trade->criterion.confidence);
    const double less = 100.0 * (share(trade, 0) - share(trade, 1));
    snprintf(text, sizeof text,
             "First less second: %s%s %% (%s to %s at %.10g %%). %lld flights meet with the first "
             "only, %lld with the "
             "second only; were both equally good, pairs so uneven had a chance of %.2g (exact).",
             less >= 0.005 ? "+" : "", rc_figures_number(less, 2, RC_ROUND_NEAREST).text,
             rc_figures_number(100.0 * range.low, 2, RC_ROUND_DOWN).text,
             rc_figures_number(100.0 * range.high, 2, RC_ROUND_UP).text,
             100.0 * trade->criterion.confidence, (long long)pairs.only_first, (long long)pairs.only_second,
             rc_pairing_test(&pairs));
    fputc('\n', out);
    rc_figures_wrap(out, text, 0, 0);
}

void rc_trade_write_text(FILE *out, const struct rc_trade *trade)
{
    char text[500];
    write_best(out, trade);
    fputc('\n', out);
    for (int varied = 0; varied < trade->sweep.n_varied; varied++) {
        fprintf(out, "%s%s", varied > 0 ? ", " : "", trade->sweep.range[varied].path);
    }
    const int is_sweep = trade->sweep.n_varied > 0;
    fprintf(out, "%s%-28s%8s %15s  %s\n", is_sweep ? "\n" : "", is_sweep ? "" : "Campaign", "odds", "band of all %",
            "* best, = may be");
    for (int index = 0; index < trade->n; index++) {
        write_row(out, trade, index);
    }
    write_tests(out, trade);
    fputc('\n', out);
    snprintf(text, sizeof text, "Every setting flew the same %s flights: same seed, same draws. The band holds the true "
                                "odds of all settings at "
             "once at %.10g %%. A setting that is not marked is worse than some other by an exact paired test; the truly "
             "best one is marked at "
             "that confidence.", rc_figures_count(trade->n_flights).text, 100.0 * trade->criterion.confidence);
    rc_figures_wrap(out, text, 0, 0);
}

static void write_setting(struct rc_json *json, const struct rc_trade *trade, int index)
{
    const struct rc_trade_setting *setting = &trade->setting[index];
    const struct rc_pairs pairs = pairs_of(trade, trade->best, index);
    const struct rc_range range = rc_pairing_interval(&pairs, trade->criterion.confidence);
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "campaign", setting->name);
    rc_json_open(json, "values", '[');
    for (int varied = 0; varied < trade->sweep.n_varied; varied++) {
        rc_json_number(json, NULL, setting->value[varied]);
    }
    rc_json_close(json, ']');
    rc_json_integer(json, "passed", setting->n_met);
    rc_json_number(json, "odds", share(trade, index));
    rc_json_pair(json, "band", setting->band.low, setting->band.high);
    rc_json_flag(json, "may_be_best", setting->may_be_best != 0);
    rc_json_open(json, "against_best", '{');
    rc_json_integer(json, "both", pairs.both);
    rc_json_integer(json, "only_best", pairs.only_first);
    rc_json_integer(json, "only_this", pairs.only_second);
    rc_json_integer(json, "neither", pairs.neither);
    rc_json_number(json, "best_less_this", share(trade, trade->best) - share(trade, index));
    rc_json_pair(json, "interval", range.low, range.high);
    rc_json_number(json, "exact_p", rc_pairing_test(&pairs));
    rc_json_close(json, '}');
    rc_json_close(json, '}');
}

void rc_trade_write_json(FILE *out, const struct rc_trade *trade)
{
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-trade/1");
    rc_json_text(&json, "criterion", trade->criterion.name);
    rc_json_number(&json, "confidence", trade->criterion.confidence);
    rc_json_integer(&json, "flights", trade->n_flights);
    rc_json_open(&json, "varied", '[');
    for (int varied = 0; varied < trade->sweep.n_varied; varied++) {
        rc_json_text(&json, NULL, trade->sweep.range[varied].path);
    }
    rc_json_close(&json, ']');
    rc_json_integer(&json, "best", trade->best);
    rc_json_open(&json, "settings", '[');
    for (int index = 0; index < trade->n; index++) {
        write_setting(&json, trade, index);
    }
    rc_json_close(&json, ']');
    /* the exact test between any two, first below second, in order */
    rc_json_open(&json, "exact_p_of_pairs", '[');
    for (int first = 0; first < trade->n; first++) {
        for (int second = first + 1; second < trade->n; second++) {
            const struct rc_pairs pairs = pairs_of(trade, first, second);
            rc_json_number(&json, NULL, rc_pairing_test(&pairs));
        }
    }
    rc_json_close(&json, ']');
    rc_json_close(&json, '}');
}

static void write_search_text(FILE *out, const struct rc_trade_search *search)
{
    char text[600];
    const struct rc_relax *found = &search->found;
    const char *path = search->range.path;
    const char *criterion = search->criterion.name;
    const double need = 100.0 * search->request->need;
    const double low = floor(1000.0 * found->low) / 10.0;
    const rc_campaign *campaign = search->request->campaign[0];
    char from[64], to[64], met[64], missed[64];
    number_text(from, sizeof from, campaign, path, found->from);
    number_text(to, sizeof to, campaign, path, found->to);
    number_text(met, sizeof met, campaign, path, found->met_at);
    number_text(missed, sizeof missed, campaign, path, found->missed_at);
    if (!isfinite(found->met_at)) {
        snprintf(text, sizeof text, "None found: at its demanding end, %s = %s, %s %s %.10g %%%s", path, from, criterion,
                 isfinite(found->missed_at) ? "falls short of" : "is not shown to reach", need,
                 search->range_from[0] != '\0' ? "; name a more demanding value first: PATH=FROM:TO." : ".");
    } else if (found->met_at == found->to) {
        snprintf(text, sizeof text, "The whole range will do: at %s = %s %s still has %.1f %%, shown to be at least %.1f %%.",
                 path, to, criterion, 100.0 * found->odds, low);
    } else {
        snprintf(text, sizeof text,
                 "%s may be relaxed to %s: %s then has %.1f %%, shown to be at least %.1f %%, of %.10g %% needed.", path,
                 met, criterion, 100.0 * found->odds, low, need);
    }
    rc_figures_wrap(out, text, 0, 0);
    if (isfinite(found->met_at) && isfinite(found->missed_at)) {
        snprintf(text, sizeof text, "The limit lies between %s, shown to meet, and %s, shown to miss.", met, missed);
        rc_figures_wrap(out, text, 0, 0);
    } else if (isfinite(found->met_at) && found->met_at != found->to) {
        snprintf(text, sizeof text,
                 "The limit lies beyond %s; no value up to %s is shown to miss. More flights (--flights) tell.",
                 met, to);
        rc_figures_wrap(out, text, 0, 0);
    }
    if (search->range_from[0] != '\0') {
        snprintf(text, sizeof text, "Range looked at: %s.", search->range_from);
        rc_figures_wrap(out, text, 0, 0);
    }
    snprintf(text, sizeof text,
             "%d value%s tried, %s flights in all. All verdicts hold together at %.10g %%, if the odds fall from %s to "
             "%s.",
             found->n_values, found->n_values == 1 ? "" : "s", rc_figures_count(found->flights).text,
             100.0 * search->criterion.confidence, from, to);
    rc_figures_wrap(out, text, 0, 0);
}

void rc_trade_write_search(FILE *out, enum rc_report_form form, const struct rc_trade_search *search)
{
    const struct rc_relax *found = &search->found;
    struct rc_json json = {.out = out};
    if (form != RC_REPORT_JSON) {
        write_search_text(out, search);
        return;
    }
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-trade/1");
    rc_json_text(&json, "criterion", search->criterion.name);
    rc_json_number(&json, "confidence", search->criterion.confidence);
    rc_json_text(&json, "relaxed", search->range.path);
    rc_json_pair(&json, "range", found->from, found->to);
    rc_json_text(&json, "range_from", search->range_from[0] != '\0' ? search->range_from : "as asked");
    rc_json_number(&json, "odds_needed", search->request->need);
    rc_json_number(&json, "met_at", found->met_at);
    rc_json_number(&json, "missed_at", found->missed_at);
    rc_json_number(&json, "odds", found->odds);
    rc_json_number(&json, "bound_low", found->low);
    rc_json_integer(&json, "values_tried", found->n_values);
    rc_json_integer(&json, "flights", found->flights);
    rc_json_close(&json, '}');
}
