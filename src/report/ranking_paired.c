/* The paired design's part of a ranking: rows of flights to analysis, and its figures in words. */
#include "ranking_paired.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "campaign/campaign.h"
#include "figures.h"
#include "wording.h"

enum { LEAST_ROWS = 20, NAME_COLUMNS = 34, SHARE_COLUMNS = 17 };

rc_status rc_ranking_paired_begin(struct rc_ranking_paired *paired, const rc_campaign *campaign, uint64_t seed, double confidence,
                                  struct rc_error *err)
{
    if (rc_campaign_plan(campaign) != rc_plan_find("paired")) {
        return RC_OK;
    }
    const int n = rc_campaign_uncertain_count(campaign);
    const struct rc_indices_options options = {.n_quantities = n, .seed = seed, .confidence = confidence};
    paired->campaign = campaign;
    paired->n = n;
    paired->row = calloc((size_t)n, sizeof *paired->row);
    paired->pair = calloc((size_t)n * (size_t)n, sizeof *paired->pair);
    paired->order = calloc((size_t)n, sizeof *paired->order);
    if (paired->row == NULL || paired->pair == NULL || paired->order == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for the shares of %d quantities", n);
    }
    return rc_indices_create(&paired->indices, &options, err);
}

int rc_ranking_paired_length(const struct rc_ranking_paired *paired)
{
    return paired->n > 0 ? paired->n + 2 : 0;
}

/* Where a value lies in the whole probability of its quantity. */
static double place_of(const struct rc_ranking_paired *paired, int quantity, double value)
{
    double below = 0.0;
    double above = 0.0;
    rc_distribution_outside(&rc_campaign_sampling(paired->campaign)->quantity[quantity].distribution, value, value, &below,
                            &above);
    return below;
}

rc_status rc_ranking_paired_add(struct rc_ranking_paired *paired, const double *const *quantity, const double *outcome, int n,
                                struct rc_error *err)
{
    double *moved = malloc((size_t)paired->n * sizeof *moved);
    if (moved == NULL) {
        return rc_error_fill(err, RC_NO_MEMORY, "", "no memory for a row of the design");
    }
    for (int first = 0; first + paired->n + 2 <= n; first += paired->n + 2) {
        for (int index = 0; index < paired->n; index++) {
            moved[index] = place_of(paired, index, quantity[index][first + index + 2]) -
                           place_of(paired, index, quantity[index][first]);
        }
        rc_indices_add(paired->indices, outcome + first, moved);
    }
    free(moved);
    return RC_OK;
}

static int by_share(const void *first, const void *second)
{
    const double a = ((const struct rc_indices_pair *)first)->share.value;
    const double b = ((const struct rc_indices_pair *)second)->share.value;
    return (a < b) - (a > b);
}

/* The greatest total first, and the greatest pair. */
static void sort(struct rc_ranking_paired *paired)
{
    for (int index = 0; index < paired->n; index++) {
        int at = index;
        while (at > 0 && paired->row[paired->order[at - 1]].total.value < paired->row[index].total.value) {
            paired->order[at] = paired->order[at - 1];
            at--;
        }
        paired->order[at] = index;
    }
    qsort(paired->pair, (size_t)paired->n_pairs, sizeof *paired->pair, by_share);
}

rc_status rc_ranking_paired_finish(struct rc_ranking_paired *paired, const char *name, struct rc_error *err)
{
    paired->n_rows = rc_indices_rows(paired->indices);
    paired->n_lost = rc_indices_lost(paired->indices);
    if (paired->n_rows < LEAST_ROWS) {
        return rc_error_fill(err, RC_BAD_INPUT, "",
                             "holds %lld whole rows of the paired design, ranking takes %d: about %lld more flights",
                             (long long)paired->n_rows, LEAST_ROWS, (long long)(LEAST_ROWS - paired->n_rows) * (paired->n + 2));
    }
    const rc_status status = rc_indices_finish(paired->indices, paired->row, paired->pair, err);
    if (status != RC_OK) {
        return status;
    }
    if (!isfinite(paired->row[0].total.value)) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "%s is the same in every flight: there is nothing to rank; name another one",
                             name);
    }
    paired->n_pairs = paired->n * (paired->n - 1) / 2;
    sort(paired);
    return RC_OK;
}

void rc_ranking_paired_free(struct rc_ranking_paired *paired)
{
    rc_indices_free(paired->indices);
    free(paired->row);
    free(paired->pair);
    free(paired->order);
    *paired = (struct rc_ranking_paired){.campaign = NULL};
}

static void write_pairs(FILE *out, const struct rc_ranking_paired *paired)
{
    int n_told = 0;
    for (int index = 0; index < paired->n_pairs && index < 5; index++) {
        const struct rc_indices_pair *pair = &paired->pair[index];
        char text[400];
        if (pair->share.low > 0.0) {
            snprintf(text, sizeof text, "- %s and %s act together: %s of the variance is theirs only jointly",
                     rc_campaign_uncertain(paired->campaign, pair->first).path,
                     rc_campaign_uncertain(paired->campaign, pair->second).path, rc_ranking_percent(&pair->share).text);
            rc_figures_wrap(out, text, 0, 2);
            n_told++;
        }
    }
    if (n_told == 0) {
        rc_figures_wrap(out, "- no two quantities are shown to act together", 0, 2);
    }
}

/* What few rows do to the shares. */
static void write_chance(FILE *out, const struct rc_ranking_paired *paired)
{
    int is_above = 0, is_bare = 0;
    for (int index = 0; index < paired->n; index++) {
        const struct rc_indices_row *row = &paired->row[index];
        is_above |= row->first.value > 1.0 || row->total.value > 1.0;
        is_bare |= !isfinite(row->first.high) || !isfinite(row->total.high);
    }
    if (is_above) {
        rc_figures_wrap(out, "A share above 100 % is too great by chance; more rows bring it down.", 0, 0);
    }
    if (is_bare) {
        rc_figures_wrap(out, "Shares without \u00b1 have no interval: too few of these rows have an outcome that differs; fly "
                        "more.", 0, 0);
    }
}

void rc_ranking_paired_write_text(FILE *out, const struct rc_ranking_paired *paired, const char *name)
{
    char text[300];
    if (paired->n == 0) {
        return;
    }
    snprintf(text, sizeof text, "Paired design, %s rows of %d flights%s: shares of the variance of %s.",
             rc_figures_count(paired->n_rows).text, paired->n + 2,
             paired->n_lost > 0 ? ", rows without an outcome left out" : "", name);
    rc_figures_wrap(out, text, 0, 0);
    write_pairs(out, paired);
    fprintf(out, "\n%-*s %-*s%-*s%11s\n", NAME_COLUMNS, "Quantity", SHARE_COLUMNS, "alone", SHARE_COLUMNS, "in all", "effect");
    for (int place = 0; place < paired->n; place++) {
        const struct rc_indices_row *row = &paired->row[paired->order[place]];
        const char *path = rc_campaign_uncertain(paired->campaign, paired->order[place]).path;
        rc_figures_name(out, path, NAME_COLUMNS);
        fprintf(out, rc_figures_columns(path) > NAME_COLUMNS ? "\n%*s " : " ", NAME_COLUMNS, "");
        rc_figures_name(out, rc_ranking_percent(&row->first).text, SHARE_COLUMNS);
        rc_figures_name(out, rc_ranking_percent(&row->total).text, SHARE_COLUMNS);
        fprintf(out, "%11.3g\n", row->effect.value);
    }
    write_chance(out, paired);
    rc_figures_wrap(out, "alone: what would go if the quantity were known. in all: what would stay if only it were unknown. "
                    "effect: mean size of the change when it alone is drawn anew, per whole range of its probability.", 0, 0);
    fputc('\n', out);
}

void rc_ranking_paired_write_json(struct rc_json *json, const struct rc_ranking_paired *paired)
{
    if (paired->n == 0) {
        rc_json_text(json, "paired_design", NULL);
        return;
    }
    rc_json_open(json, "paired_design", '{');
    rc_json_integer(json, "rows", paired->n_rows);
    rc_json_integer(json, "rows_lost", paired->n_lost);
    rc_json_open(json, "quantities", '[');
    for (int place = 0; place < paired->n; place++) {
        const struct rc_indices_row *row = &paired->row[paired->order[place]];
        rc_json_open(json, NULL, '{');
        rc_json_text(json, "path", rc_campaign_uncertain(paired->campaign, paired->order[place]).path);
        rc_ranking_write_estimate(json, "alone", &row->first);
        rc_ranking_write_estimate(json, "in_all", &row->total);
        rc_ranking_write_estimate(json, "effect", &row->effect);
        rc_json_number(json, "mean_effect", row->mean_effect);
        rc_json_number(json, "effect_sd", row->effect_sd);
        rc_json_close(json, '}');
    }
    rc_json_close(json, ']');
    rc_json_open(json, "together", '[');
    for (int index = 0; index < paired->n_pairs; index++) {
        const struct rc_indices_pair *pair = &paired->pair[index];
        rc_json_open(json, NULL, '{');
        rc_json_text(json, "first", rc_campaign_uncertain(paired->campaign, pair->first).path);
        rc_json_text(json, "second", rc_campaign_uncertain(paired->campaign, pair->second).path);
        rc_ranking_write_estimate(json, "share", &pair->share);
        rc_json_close(json, '}');
    }
    rc_json_close(json, ']');
    rc_json_close(json, '}');
}
