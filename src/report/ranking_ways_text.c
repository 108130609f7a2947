/* The cheapest way to the odds, for people: what to tighten, what it costs, and how sure that is. */
#include "ranking.h"

#include <inttypes.h>
#include <math.h>

#include "figures.h"

/* "halve the spread of X and be rid of that of Y" */
static void steps_text(struct rc_text *text, const struct rc_ranking_way *way)
{
    for (int at = 0; at < way->n; at++) {
        const struct rc_ranking_step *step = &way->step[at];
        rc_text_add(text, "%s%s %s",
                    at == 0            ? ""
                    : at == way->n - 1 ? " and "
                                       : ", ",
                    step->change == RC_TIGHTEN_HALF ? "halve the spread of" : "be rid of the spread of", step->given);
    }
}

static void cost_text(struct rc_text *text, const struct rc_ranking *ranking, double cost)
{
    const char *unit = rc_campaign_cost_unit(ranking->campaign);
    rc_text_add(text, "%.10g%s%s", cost, unit[0] != '\0' ? " " : "", unit);
}

static double percent_down(double share)
{
    return floor(1000.0 * share) / 10.0;
}

/* Print and forget. */
static void flush(FILE *out, struct rc_text *text)
{
    rc_figures_wrap(out, text->failed || text->bytes == NULL ? "" : text->bytes, 0, 2);
    rc_text_free(text);
    *text = (struct rc_text){NULL, 0, 0, false};
}

/* What new flights say, way by way. */
static void write_flown(FILE *out, const struct rc_ranking *ranking)
{
    static const char *const said[] = {
        [RC_VERDICT_GO] = "confirmed", [RC_VERDICT_NO_GO] = "falls short", [RC_VERDICT_NOT_YET_KNOWN] = "not yet known"};
    const struct rc_ranking_ways *ways = &ranking->ways;
    struct rc_text text = {NULL, 0, 0, false};
    rc_text_add(
        &text, "Flown anew on other draws, by rising cost, %s flights each:", rc_figures_count(ways->flown_odds[0].flights).text);
    flush(out, &text);
    for (int at = 0; at < ways->n_flown; at++) {
        const struct rc_odds *odds = &ways->flown_odds[at];
        rc_text_add(&text, "- %s: ", said[odds->verdict]);
        steps_text(&text, &ways->flown[at]);
        rc_text_add(&text, ", for ");
        cost_text(&text, ranking, ways->flown[at].cost);
        rc_text_add(&text, ": %.1f %%, at least %.1f %%", 100.0 * odds->estimate, percent_down(odds->bound_low));
        flush(out, &text);
    }
    if (ways->flown_odds[ways->n_flown - 1].verdict != RC_VERDICT_GO) {
        rc_text_add(&text, "No way is confirmed; more flights may (--fly).");
        flush(out, &text);
    }
}

/* How far the flights carry the choice. */
static void write_doubts(FILE *out, const struct rc_ranking *ranking)
{
    const struct rc_ranking_ways *ways = &ranking->ways;
    struct rc_text text = {NULL, 0, 0, false};
    if (ways->cheaper.n >= 0 && ways->cheaper.cost < ways->way.cost) {
        rc_text_add(&text, "- perhaps enough, for ");
        cost_text(&text, ranking, ways->cheaper.cost);
        rc_text_add(&text, ": ");
        steps_text(&text, &ways->cheaper);
        rc_text_add(&text, "; its estimate reaches the odds (%.1f %%), its bound does not (%.1f %%)",
                    100.0 * ways->cheaper.after.odds, percent_down(ways->cheaper.after.low));
        flush(out, &text);
    }
    if (ways->n_unjudged > 0) {
        rc_text_add(&text,
                    "- not judged: %d cheaper %s, and what else one would tighten beside; too few of these flights lie where "
                    "that would draw",
                    ways->n_unjudged, ways->n_unjudged == 1 ? "way" : "ways");
        flush(out, &text);
    }
    if (ways->n_barred > 0) {
        rc_text_add(&text, "- %d quantities with a cost are left out: they vary together with others or take separate values",
                    ways->n_barred);
        flush(out, &text);
    }
    if (!ways->is_complete) {
        rc_text_add(&text, "- the search ended after %d ways: a cheaper one may have been missed", RC_CHEAPEST_MOST);
        flush(out, &text);
    }
}

/* What to fly where an estimate reaches the odds and its bound does not: of a cheaper way, else of the way itself. */
static void write_remedy(FILE *out, const struct rc_ranking *ranking)
{
    const struct rc_tightened *likely = rc_ranking_likely(ranking);
    const char *what = likely == &ranking->ways.cheaper.after ? "the cheaper way" : "it";
    struct rc_text text = {NULL, 0, 0, false};
    if (likely == NULL) {
        return;
    }
    const int64_t n = rc_ranking_flights_to_show(ranking);
    if (n > 0) {
        rc_text_add(&text,
                    "- about %s flights in all would show %s if the estimate is right (rollcast fly CAMPAIGN -o STORE --flights "
                    "%" PRId64 " --resume)",
                    rc_figures_count(n).text, what, n);
    } else {
        rc_text_add(&text, "- more of these flights would hardly show %s, as no more than %s are looked at; new ones may (--fly "
                    "N -o FOLDER)", what, rc_figures_count(RC_RANK_SAMPLE).text);
    }
    flush(out, &text);
}

/* The way itself, and its odds. */
static void write_way(FILE *out, const struct rc_ranking *ranking)
{
    const struct rc_ranking_ways *ways = &ranking->ways;
    const struct rc_tightened *after = &ways->way.after;
    struct rc_text text = {NULL, 0, 0, false};
    if (ways->way.n == 0 && ways->reaches) {
        rc_text_add(&text, "Nothing needs to be tightened for %.10g %%: the odds are %.1f %% as they are", 100.0 * ranking->need,
                    100.0 * after->odds);
    } else {
        rc_text_add(&text,
                    ways->reaches ? "Cheapest way to %.10g %%: " : "No way to %.10g %% found; the best these flights can judge: ",
                    100.0 * ranking->need);
        steps_text(&text, &ways->way);
        rc_text_add(&text, "%s, for ", ways->way.n == 0 ? "leave all as it is" : "");
        cost_text(&text, ranking, ways->way.cost);
        rc_text_add(&text, ". The odds are then %.1f %%", 100.0 * after->odds);
    }
    if (!after->is_supported) {
        rc_text_add(&text, "; the flights that judge do not carry it: %s.", after->why);
    } else {
        rc_text_add(&text, ", at least %.1f %% at %.10g %% confidence%s.", percent_down(after->low), 100.0 * ranking->confidence,
                    !ways->reaches || ways->is_shown ? "" : ", so that it may fall short");
    }
    flush(out, &text);
}

void rc_ranking_write_ways(FILE *out, const struct rc_ranking *ranking)
{
    const struct rc_ranking_ways *ways = &ranking->ways;
    if (ways->n_costs == 0) {
        if (ranking->is_need_asked) {
            rc_figures_wrap(out, "No cost_to_halve or cost_to_remove in the campaign, so there is no cheapest way.", 0, 0);
        }
        return;
    }
    fputc('\n', out);
    if (ways->way.n < 0) {
        rc_figures_wrap(out, "Cheapest way: not told, these flights judge no way, not even that nothing is tightened; fly more.",
                        0, 0);
        return;
    }
    write_way(out, ranking);
    write_doubts(out, ranking);
    write_remedy(out, ranking);
    if (ways->n_flown > 0) {
        write_flown(out, ranking);
    } else if (ways->way.n > 0) {
        rc_figures_wrap(
            out,
            "- one half of the flights, reweighted, chose the way, the other judged it; that is a promise: new flights "
            "(--fly N -o FOLDER) confirm it",
            0, 2);
    }
}
