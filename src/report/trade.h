/* Settings of a design, or designs, flown on the same flights and compared. */
#ifndef RC_TRADE_H
#define RC_TRADE_H

#include <stdint.h>
#include <stdio.h>

#include "analysis/pairing.h"
#include "base/base.h"
#include "rollcast/analysis.h"
#include "rollcast/report.h"

enum { RC_TRADE_MOST = 256, RC_TRADE_VARIED = 2, RC_TRADE_VALUES = 16 };

/* One setting: its values, or the name of its campaign. */
struct rc_trade_setting {
    double value[RC_TRADE_VARIED];
    const char *name;              /* NULL where values are varied */
    int64_t n_met;
    struct rc_range band;          /* holds all settings' odds at once */
    int may_be_best;
};

/* A comparison. */
struct rc_trade {
    const struct rc_trade_request *request;
    int n_varied;
    char path[RC_TRADE_VARIED][RC_MAX_PATH_TEXT];
    double from[RC_TRADE_VARIED], to[RC_TRADE_VARIED];
    int count[RC_TRADE_VARIED];
    const char *criterion;
    double confidence;
    int64_t n_flights;
    int n;                          /* settings */
    struct rc_trade_setting *setting;
    unsigned char *met;             /* (n x n_flights) */
    int best;                       /* of greatest odds */
};

/* A search for the least demanding value. */
struct rc_trade_search {
    const struct rc_trade_request *request;
    char path[RC_MAX_PATH_TEXT];
    double from, to;                /* demanding end, relaxed end */
    double met_at, missed_at;       /* the most relaxed value shown to meet, the least relaxed shown to miss; NAN = none was */
    double odds, low;               /* at met_at: estimate and one-sided bound at the share of risk of a look */
    const char *criterion;
    double confidence;
    int n_values;
    double value[RC_TRADE_VALUES];  /* (n_values) tried so far */
    int64_t flights;                /* flown in all */
};

/* Read "PATH=FROM:TO:N" (or, with `counts` 0, "PATH=FROM:TO").
 * ends RC_BAD_INPUT: not of that form, an empty range, too many settings */
rc_status rc_trade_range(char path[RC_MAX_PATH_TEXT], double ends[2], int *count, const char *text,
                         struct rc_error *err) RC_MUST_CHECK;

/* Fly and count. out trade ends with rc_trade_free, also on error
 * ends as rc_report_trade */
rc_status rc_trade_gather(struct rc_trade *trade, const struct rc_trade_request *request, struct rc_error *err) RC_MUST_CHECK;

/* Release it. */
void rc_trade_free(struct rc_trade *trade);

/* Search. ends as rc_report_trade */
rc_status rc_trade_relax(struct rc_trade_search *search, const struct rc_trade_request *request,
                          struct rc_error *err) RC_MUST_CHECK;

/* Fly one setting into its store of the folder, or go on with it, and count flights that meet.
 * in   n_flights  in the store at the end
 * out  met        (n_flights), may be NULL; n_met
 * ends as rc_run_fly */
rc_status rc_trade_fly(const struct rc_trade_request *request, const rc_campaign *campaign, const char *name, int64_t n_flights,
                       unsigned char *met, int64_t *n_met, struct rc_error *err) RC_MUST_CHECK;

/* Write text of 80 columns, or JSON of schema "rollcast-trade/1". Write errors stay in the stream's error flag. */
void rc_trade_write_text(FILE *out, const struct rc_trade *trade);
void rc_trade_write_json(FILE *out, const struct rc_trade *trade);
void rc_trade_write_search(FILE *out, enum rc_report_form form, const struct rc_trade_search *search);

#endif
