/* A ranking as JSON, schema "rollcast-rank/1", and as CSV: every figure in full. docs/commands.md lists the members. */
#include "figures.h"
#include "json.h"
#include "ranking_paired.h"

#include <math.h>

void rc_ranking_write_estimate(struct rc_json *json, const char *key, const struct rc_estimate *estimate)
{
    rc_json_open(json, key, '{');
    rc_json_number(json, "value", estimate->value);
    rc_json_pair(json, "interval", estimate->low, estimate->high);
    rc_json_close(json, '}');
}

static void write_after(struct rc_json *json, const struct rc_ranking_row *row, int change)
{
    const struct rc_tightened *after = &row->after[change];
    const int is_told = row->bar == RC_RANKING_TOLD;
    rc_json_open(json, rc_ranking_change_key((enum rc_tighten_change)change), '{');
    rc_json_flag(json, "is_supported", is_told && after->is_supported);
    rc_json_text(json, "from", rc_ranking_source_text(row->source[change]));
    rc_json_text(json, "why_not", is_told ? after->why : rc_ranking_bar_text(row->bar));
    if (is_told) {
        rc_json_number(json, "odds", after->odds);
        rc_json_pair(json, "interval", after->low, after->high);
        rc_json_number(json, "gain", after->gain);
        rc_json_pair(json, "gain_interval", after->gain_low, after->gain_high);
        rc_json_number(json, "effective_flights", after->effective);
        rc_json_count(json, "more_flights", after->more_flights);
    }
    rc_json_close(json, '}');
}

static void write_row(struct rc_json *json, const struct rc_ranking_row *row)
{
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "path", row->given);
    rc_json_text(json, "unit", row->unit);
    rc_json_text(json, "meaning", row->meaning);
    rc_json_text(json, "distribution", row->distribution);
    rc_json_integer(json, "quantities", row->n_members);
    rc_json_flag(json, "never_varied", row->rank.is_constant != 0);
    rc_json_flag(json, "is_noise", row->rank.is_noise != 0);
    rc_ranking_write_estimate(json, "share", &row->rank.share);
    rc_ranking_write_estimate(json, "rank_correlation", &row->rank.correlation);
    rc_ranking_write_estimate(json, "separation", &row->rank.separation);
    rc_json_number(json, "half_sd", row->half_sd);
    rc_json_number(json, "cost_to_halve", row->cost_to_halve);
    rc_json_number(json, "cost_to_remove", row->cost_to_remove);
    for (int change = 0; change < RC_N_TIGHTEN; change++) {
        write_after(json, row, change);
    }
    rc_json_close(json, '}');
}

/* Steps and cost of a way into an object that is open. */
static void write_steps(struct rc_json *json, const struct rc_ranking_way *way)
{
    rc_json_open(json, "steps", '[');
    for (int at = 0; at < way->n; at++) {
        rc_json_open(json, NULL, '{');
        rc_json_text(json, "path", way->step[at].given);
        rc_json_text(json, "to", way->step[at].change == RC_TIGHTEN_HALF ? "half" : "none");
        rc_json_number(json, "cost", way->step[at].cost);
        rc_json_close(json, '}');
    }
    rc_json_close(json, ']');
    rc_json_number(json, "cost", way->cost);
}

/* The same with its odds. */
static void write_way(struct rc_json *json, const struct rc_ranking_way *way)
{
    write_steps(json, way);
    rc_json_number(json, "odds", way->after.odds);
    rc_json_number(json, "bound_low", way->after.low);
    rc_json_number(json, "bound_high", way->after.high);
    rc_json_number(json, "effective_flights", way->after.effective);
}

static void write_flown(struct rc_json *json, const struct rc_ranking_ways *ways)
{
    rc_json_open(json, "flown", '[');
    for (int at = 0; at < ways->n_flown; at++) {
        const struct rc_odds *odds = &ways->flown_odds[at];
        rc_json_open(json, NULL, '{');
        write_steps(json, &ways->flown[at]);
        rc_json_integer(json, "flights", odds->flights);
        rc_json_integer(json, "passed", odds->passed);
        rc_json_number(json, "odds", odds->estimate);
        rc_json_number(json, "bound_low", odds->bound_low);
        rc_json_number(json, "bound_high", odds->bound_high);
        rc_json_text(json, "verdict", rc_odds_verdict_text(odds->verdict));
        rc_json_close(json, '}');
    }
    rc_json_close(json, ']');
}

static void write_ways(struct rc_json *json, const struct rc_ranking *ranking)
{
    const struct rc_ranking_ways *ways = &ranking->ways;
    if (ways->n_costs == 0 || ways->way.n < 0) {
        rc_json_text(json, "cheapest_way", NULL);
        return;
    }
    rc_json_open(json, "cheapest_way", '{');
    rc_json_number(json, "odds_needed", ranking->need);
    rc_json_text(json, "cost_unit", rc_campaign_cost_unit(ranking->campaign));
    rc_json_flag(json, "reaches", ways->reaches != 0);
    rc_json_flag(json, "is_shown", ways->is_shown != 0);
    write_way(json, &ways->way);
    rc_json_integer(json, "ways_judged", ways->n_judged);
    rc_json_integer(json, "ways_not_judged", ways->n_unjudged);
    rc_json_flag(json, "is_complete", ways->is_complete != 0);
    rc_json_integer(json, "costs_left_out", ways->n_barred);
    if (ways->cheaper.n >= 0 && ways->cheaper.cost < ways->way.cost) {
        rc_json_open(json, "cheaper_estimate", '{');
        write_way(json, &ways->cheaper);
        rc_json_close(json, '}');
    } else {
        rc_json_text(json, "cheaper_estimate", NULL);
    }
    rc_json_count(json, "flights_to_show", rc_ranking_flights_to_show(ranking));
    write_flown(json, ways);
    rc_json_close(json, '}');
}

void rc_ranking_write_json(FILE *out, const struct rc_ranking *ranking)
{
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-rank/1");
    rc_json_text(&json, "campaign", rc_campaign_name(ranking->campaign));
    rc_json_unsigned(&json, "seed", ranking->seed);
    rc_json_integer(&json, "flights", ranking->flights);
    rc_json_text(&json, "of", ranking->target.name);
    rc_json_text(&json, "criterion", ranking->criterion->name);
    rc_json_number(&json, "confidence", ranking->confidence);
    rc_json_integer(&json, "passed", ranking->total.n_met);
    rc_json_number(&json, "odds", (double)ranking->total.n_met / (double)ranking->total.n);
    rc_json_pair(&json, "interval", ranking->odds.low, ranking->odds.high);
    rc_json_integer(&json, "outcomes", ranking->total.n_outcomes);
    rc_json_number(&json, "outcome_mean", ranking->total.mean);
    rc_json_number(&json, "outcome_sd", ranking->total.sd);
    rc_json_open(&json, "noise", '{');
    rc_json_integer(&json, "dummies", ranking->has_rows ? RC_RANK_DUMMIES : 0);
    rc_json_number(&json, "share", ranking->dummy.share.value);
    rc_json_number(&json, "rank_correlation", ranking->dummy.correlation.value);
    rc_json_number(&json, "separation", ranking->dummy.separation.value);
    rc_json_close(&json, '}');
    rc_json_open(&json, "quantities", '[');
    for (int row = 0; ranking->has_rows && row < ranking->n_rows; row++) {
        write_row(&json, &ranking->row[row]);
    }
    rc_json_close(&json, ']');
    write_ways(&json, ranking);
    rc_json_integer(&json, "flights_new", ranking->n_flown);
    rc_ranking_paired_write_json(&json, &ranking->paired);
    rc_json_close(&json, '}');
}

static void write_cells(FILE *out, const struct rc_estimate *estimate)
{
    rc_figures_cell(out, estimate->value);
    rc_figures_cell(out, estimate->low);
    rc_figures_cell(out, estimate->high);
}

void rc_ranking_write_csv(FILE *out, const struct rc_ranking *ranking)
{
    fputs("path,unit,quantities,never_varied,is_noise,share,share_low,share_high,rank_correlation,rank_correlation_low,"
          "rank_correlation_high,separation,separation_low,separation_high", out);
    for (int change = 0; change < RC_N_TIGHTEN; change++) {
        const char *key = rc_ranking_change_key((enum rc_tighten_change)change);
        fprintf(out, ",%s_odds,%s_low,%s_high,%s_gain,%s_gain_low,%s_gain_high,%s_from", key, key, key, key, key, key, key);
    }
    fputs(",cost_to_halve,cost_to_remove", out);
    fputc('\n', out);
    for (int index = 0; ranking->has_rows && index < ranking->n_rows; index++) {
        const struct rc_ranking_row *row = &ranking->row[index];
        fprintf(out, "%s,%s,%d,%d,%d", row->given, row->unit, row->n_members, row->rank.is_constant, row->rank.is_noise);
        write_cells(out, &row->rank.share);
        write_cells(out, &row->rank.correlation);
        write_cells(out, &row->rank.separation);
        for (int change = 0; change < RC_N_TIGHTEN; change++) {
            const struct rc_tightened *after = &row->after[change];
            const int is_told = row->bar == RC_RANKING_TOLD && after->is_supported;
            const double cell[] = {after->odds, after->low, after->high, after->gain, after->gain_low, after->gain_high};
            for (int at = 0; at < 6; at++) {
                rc_figures_cell(out, is_told ? cell[at] : NAN);
            }
            const char *from = rc_ranking_source_text(row->source[change]);
            fprintf(out, ",%s", from != NULL ? from : "");
        }
        rc_figures_cell(out, row->cost_to_halve);
        rc_figures_cell(out, row->cost_to_remove);
        fputc('\n', out);
    }
}
