/* Settings of a design, or designs, flown on the same flights and compared. */
#ifndef RC_TRADE_H
#define RC_TRADE_H

#include <stdint.h>
#include <stdio.h>

#include "analysis/pairing.h"
#include "base/base.h"
#include "batch/batch.h"
#include "rollcast/analysis.h"
#include "rollcast/report.h"

/* The criterion whose odds are compared. */
struct rc_trade_criterion {
    int index;                     /* in the campaign; its number of criteria stands for all together */
    const char *name;
    double confidence;
};

/* One setting: its values, or the name of its campaign. */
struct rc_trade_setting {
    double value[RC_SWEEP_VARIED];
    const char *name;              /* NULL where values are varied */
    int64_t n_met;
    struct rc_range band;          /* holds all settings' odds at once */
    int may_be_best;
};

/* A comparison. */
struct rc_trade {
    const struct rc_trade_request *request;
    struct rc_sweep sweep;          /* none of two campaigns */
    struct rc_trade_criterion criterion;
    int64_t n_flights;
    int n;                          /* settings */
    struct rc_trade_setting *setting;
    unsigned char *met;             /* (n x n_flights) */
    int best;                       /* of greatest odds */
};

/* A search for the least demanding value. */
struct rc_trade_search {
    const struct rc_trade_request *request;
    struct rc_trade_criterion criterion;
    struct rc_sweep_range range;    /* demanding end, relaxed end */
    char range_from[160];           /* where its ends are from, in words; empty where they were asked for */
    struct rc_relax found;
};

/* Read "PATH=FROM:TO:N" (or, without `has_count`, "PATH=FROM:TO").
 * ends RC_USAGE: not of that form, an empty range, too many values */
rc_status rc_trade_range(struct rc_sweep_range *range, int has_count, const char *text, struct rc_error *err) RC_MUST_CHECK;

/* Find a criterion. in name NULL = all together
 * ends RC_BAD_INPUT: no criterion of that name (suggests the nearest) */
rc_status rc_trade_criterion(struct rc_trade_criterion *found, const rc_campaign *campaign, const char *name,
                             struct rc_error *err) RC_MUST_CHECK;

/* Fly and count. out trade ends with rc_trade_free, also on error
 * ends as rc_report_trade */
rc_status rc_trade_gather(struct rc_trade *trade, const struct rc_trade_request *request, struct rc_error *err) RC_MUST_CHECK;

/* Release it. */
void rc_trade_free(struct rc_trade *trade);

/* Search. ends as rc_report_trade */
rc_status rc_trade_relax(struct rc_trade_search *search, const struct rc_trade_request *request,
                          struct rc_error *err) RC_MUST_CHECK;

/* Write text of 80 columns, JSON of schema "rollcast-trade/1", or CSV. Write errors stay in the stream's error flag. */
void rc_trade_write_text(FILE *out, const struct rc_trade *trade);
void rc_trade_write_csv(FILE *out, const struct rc_trade *trade);
void rc_trade_write_json(FILE *out, const struct rc_trade *trade);
void rc_trade_write_search(FILE *out, enum rc_report_form form, const struct rc_trade_search *search);

#endif
