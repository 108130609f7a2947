/* The answer as JSON, schema "rollcast-odds/1": every figure in full, nothing rounded. docs/commands.md lists the members. */
#include "answer.h"
#include "json.h"

static void write_row(struct rc_json *json, const struct rc_answer *answer, int row, const char *key)
{
    const struct rc_criterion *criterion = rc_answer_criterion(answer, row);
    const struct rc_odds *odds = rc_answer_odds(answer, row);

    rc_json_open(json, key, '{');
    if (row < rc_campaign_criteria_count(answer->campaign)) {
        rc_json_text(json, "name", criterion->name);
        rc_json_text(json, "measure", rc_measures_row(criterion->measure)->name);
        rc_json_text(json, "unit", rc_measures_row(criterion->measure)->unit);
        rc_json_number(json, "at_least", criterion->at_least);
        rc_json_number(json, "at_most", criterion->at_most);
    }
    rc_json_text(json, "interval_from", rc_answer_interval_from(answer));
    rc_json_integer(json, "passed", odds->passed);
    rc_json_integer(json, "flights", odds->flights);
    rc_json_number(json, "odds", odds->estimate);
    rc_json_pair(json, "interval", odds->interval_low, odds->interval_high);
    rc_json_number(json, "bound_low", odds->bound_low);
    rc_json_number(json, "bound_high", odds->bound_high);
    rc_json_number(json, "odds_asked", criterion->odds);
    rc_json_number(json, "confidence", criterion->confidence);
    rc_json_integer(json, "least_flights", rc_demonstration_flights(criterion->odds, criterion->confidence, 0));
    rc_json_text(json, "verdict", rc_odds_verdict_text(odds->verdict));
    rc_json_count(json, "more_flights", odds->more_flights);
    rc_json_close(json, '}');
}

static void write_ends(struct rc_json *json, const struct rc_answer *answer)
{
    rc_json_open(json, "ended", '[');
    for (int end = 0; end <= RC_N_ENDS; end++) {
        if (answer->n_ended[end] > 0) {
            rc_json_open(json, NULL, '{');
            rc_json_integer(json, "code", end < RC_N_ENDS ? end : -1);
            rc_json_text(json, "meaning", rc_answer_end_text(answer, end < RC_N_ENDS ? end : -1));
            rc_json_integer(json, "flights", answer->n_ended[end]);
            rc_json_close(json, '}');
        }
    }
    rc_json_close(json, ']');
}

static void write_measure(struct rc_json *json, const struct rc_answer *answer, int measure)
{
    const struct rc_measure_row *row = rc_measures_row(measure);
    const struct rc_spread *spread = &answer->spread[measure];
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "name", row->name);
    rc_json_text(json, "unit", row->unit);
    rc_json_text(json, "meaning", row->meaning);
    rc_json_integer(json, "flights", spread->n);
    rc_json_number(json, "median", spread->median);
    rc_json_number(json, "p05", spread->p05);
    rc_json_number(json, "p95", spread->p95);
    rc_json_number(json, "mean", spread->mean);
    rc_json_pair(json, "mean_interval", answer->mean[measure].low, answer->mean[measure].high);
    rc_json_number(json, "confidence", answer->mean_confidence);
    rc_json_number(json, "sd", spread->sd);
    rc_json_number(json, "least", spread->least);
    rc_json_number(json, "greatest", spread->greatest);
    rc_json_close(json, '}');
}

/* Where the flights came down; null without a descent. */
static void write_landing(struct rc_json *json, const struct rc_answer *answer)
{
    const struct rc_dispersion *const landing = &answer->landing;
    if (landing->n == 0) {
        rc_json_text(json, "landing", NULL);
        return;
    }
    rc_json_open(json, "landing", '{');
    rc_json_integer(json, "flights", landing->n);
    rc_json_number(json, "centre_east_m", landing->centre_east);
    rc_json_number(json, "centre_north_m", landing->centre_north);
    rc_json_number(json, "long_axis_deg", landing->azimuth * (180.0 / 3.14159265358979323846));
    rc_json_number(json, "long_axis_sd_m", landing->major_sd);
    rc_json_number(json, "short_axis_sd_m", landing->minor_sd);
    rc_json_number(json, "confidence", answer->landing_confidence);
    rc_json_text(json, "interval_from", "ranks");
    rc_json_flag(json, "is_indicative", answer->n_replicates > 0);
    rc_json_open(json, "ellipses", '[');
    for (int i = 0; i < RC_N_ELLIPSES; i++) {
        const struct rc_ellipse *const ellipse = &landing->ellipse[i];
        rc_json_open(json, NULL, '{');
        rc_json_number(json, "share", ellipse->share);
        rc_json_number(json, "half_long_axis_m", landing->major_sd * ellipse->scale);
        rc_json_number(json, "half_short_axis_m", landing->minor_sd * ellipse->scale);
        rc_json_number(json, "area_m2", rc_ellipse_area(landing, ellipse->scale));
        rc_json_pair(json, "scale_interval", ellipse->scale_low, ellipse->scale_high);
        rc_json_number(json, "scale", ellipse->scale);
        rc_json_close(json, '}');
    }
    rc_json_close(json, ']');
    rc_json_close(json, '}');
}

void rc_answer_write_members(struct rc_json *json, const struct rc_answer *answer)
{
    const int n_criteria = rc_campaign_criteria_count(answer->campaign);

    rc_json_text(json, "schema", "rollcast-odds/1");
    rc_json_text(json, "campaign", rc_campaign_name(answer->campaign));
    rc_json_text(json, "purpose", rc_campaign_purpose(answer->campaign));
    rc_json_unsigned(json, "seed", answer->seed);
    rc_json_integer(json, "flights", answer->flights);
    rc_json_integer(json, "flights_asked", answer->flights_asked);
    rc_json_flag(json, "is_finished", answer->is_finished != 0);
    rc_json_text(json, "stop_rule", rc_stop_is_set(&answer->stop_rule) ? answer->stop_text : NULL);
    write_ends(json, answer);
    rc_json_text(json, "verdict", rc_odds_verdict_text(answer->verdict));
    rc_json_count(json, "more_flights", answer->more_flights);

    rc_json_open(json, "criteria", '[');
    for (int row = 0; row < n_criteria; row++) {
        write_row(json, answer, row, NULL);
    }
    rc_json_close(json, ']');
    write_row(json, answer, n_criteria, "all_together");

    rc_json_open(json, "measures", '[');
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        if (answer->is_kept[measure]) {
            write_measure(json, answer, measure);
        }
    }
    rc_json_close(json, ']');
    write_landing(json, answer);

    rc_json_integer(json, "less_exact_flights", answer->n_less_exact);
    rc_json_integer(json, "unstable_flights", answer->n_unstable);
    rc_json_integer(json, "aloft_flights", answer->n_aloft);
    rc_json_text(json, "error_kinds", rc_answer_model_note(answer));
    rc_json_text(json, "caution", rc_answer_caution());
}

void rc_answer_write_json(FILE *out, const struct rc_answer *answer)
{
    struct rc_json json = {.out = out};

    rc_json_open(&json, NULL, '{');
    rc_answer_write_members(&json, answer);
    rc_json_close(&json, '}');
}
