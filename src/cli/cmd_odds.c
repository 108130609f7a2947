/* `rollcast odds`: the answer of a store. */
#include <stdio.h>
#include <string.h>

#include "commands.h"
#include "gathered.h"
#include "options.h"
#include "rollcast/rollcast.h"
#include "say.h"
#include "stores.h"

/* What was asked for: stores and form. */
struct asking {
    int is_json, is_csv, is_strict;
    const char *measure;   /* NULL: the whole answer */
    double confidence;
    int n_stores;
    const char *path[RC_REPORT_MAX_STORES];
    rc_results *results[RC_REPORT_MAX_STORES];
    rc_campaign *campaign[RC_REPORT_MAX_STORES];
};

/* Print the answer; on a terminal with colour its verdict (the words before the first ':') stands out. */
static void print_answer(const struct rc_gathered *answer, enum rc_verdict verdict, const struct asking *asking)
{
    static const char *const colour[] = {
        [RC_VERDICT_GO] = "\033[1;32m", [RC_VERDICT_NO_GO] = "\033[1;31m", [RC_VERDICT_NOT_YET_KNOWN] = "\033[1;33m"};
    const size_t n_verdict = strcspn(answer->bytes, ":");

    if (asking->is_json || asking->is_csv || asking->n_stores > 1 || asking->measure != NULL || n_verdict >= answer->n_bytes ||
        !rc_say_is_coloured(1)) {
        rc_gathered_print(answer, asking->is_json || asking->is_csv);
        return;
    }
    fprintf(stdout, "%s%.*s\033[0m", colour[verdict], (int)n_verdict, answer->bytes);
    rc_say_text(answer->bytes + n_verdict, answer->n_bytes - n_verdict);
}

/* The answer of one store, or of several side by side. */
static rc_status report(FILE *out, const struct asking *asking, enum rc_verdict *verdict, struct rc_error *err)
{
    const enum rc_report_form form = asking->is_json ? RC_REPORT_JSON : asking->is_csv ? RC_REPORT_CSV : RC_REPORT_TEXT;
    struct rc_report_store store[RC_REPORT_MAX_STORES];
    if (asking->measure != NULL) {
        const struct rc_report_quantiles asked = {asking->results[0], asking->campaign[0], asking->measure, asking->confidence};
        return rc_report_quantiles(out, form, &asked, err);
    }
    if (asking->n_stores == 1) {
        return rc_report_odds(out, form, asking->results[0], asking->campaign[0], verdict, err);
    }
    for (int at = 0; at < asking->n_stores; at++) {
        store[at] = (struct rc_report_store){asking->path[at], asking->results[at], asking->campaign[at]};
    }
    return rc_report_compare(out, form, store, asking->n_stores, verdict, err);
}

static int answer(const struct asking *asking)
{
    struct rc_gathered gathered = {.out = NULL};
    struct rc_error err = {0};
    enum rc_verdict verdict = RC_VERDICT_NOT_YET_KNOWN;
    const rc_status status = rc_gathered_open(&gathered) ? report(gathered.out, asking, &verdict, &err) : RC_NO_MEMORY;
    int code = rc_gathered_close(&gathered, status, &err, asking->path[0]);
    if (code == 0) {
        print_answer(&gathered, verdict, asking);
        code = asking->is_strict && verdict != RC_VERDICT_GO ? 1 : 0;
    }
    rc_gathered_free(&gathered);
    return code;
}

int rc_cmd_odds(int argc, char **argv)
{
    struct asking asking = {.confidence = 0.95};
    int has_confidence = 0;
    const struct rc_option options[] = {
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "answer as JSON, every figure in full", .target = &asking.is_json},
        {.name = "csv", .kind = RC_OPTION_FLAG, .help = "answer as a CSV table, of several stores too", .target = &asking.is_csv},
        {.name = "measure", .kind = RC_OPTION_TEXT, .value = "NAME", .target = &asking.measure,
         .help = "mean, quantiles and tolerance limits of this measure instead"},
        {.name = "confidence", .kind = RC_OPTION_SHARE, .value = "SHARE", .target = &asking.confidence,
         .is_given = &has_confidence,
         .help = "with --measure: of its intervals and limits; else 0.95"},
        {.name = "strict", .kind = RC_OPTION_FLAG, .help = "exit with 1 unless every verdict is GO", .target = &asking.is_strict},
    };
    const struct rc_command command = {"odds",
        "Answer from a store: for each criterion and all together the odds, their exact interval\n"
        "and GO, NO-GO or NOT YET KNOWN; how flights ended; median and 90 % range of each measure.\n"
        "With several stores: their odds side by side, which would be flown and why, and what\n"
        "differs between their campaigns.",
        "STORE", RC_REPORT_MAX_STORES, sizeof options / sizeof options[0], options};

    const enum rc_options_end end = rc_options_read(&command, argc, argv, asking.path);
    if (end != RC_OPTIONS_READ) {
        return end == RC_OPTIONS_HELPED ? 0 : rc_status_exit_code(RC_USAGE);
    }

    if ((asking.measure != NULL && (asking.path[1] != NULL || asking.is_strict)) || (asking.measure == NULL && has_confidence)) {
        rc_say_line(asking.measure != NULL ? "--measure goes with one store and without --strict (see: rollcast odds --help)"
                                           : "--confidence goes with --measure (see: rollcast odds --help)");
        return rc_status_exit_code(RC_USAGE);
    }

    if (asking.is_csv && asking.is_json) {
        rc_say_line("--csv goes without --json (see: rollcast odds --help)");
        return rc_status_exit_code(RC_USAGE);
    }

    int code = 0;
    while (code == 0 && asking.n_stores < RC_REPORT_MAX_STORES && asking.path[asking.n_stores] != NULL) {
        const int at = asking.n_stores++;
        code = rc_stores_open(&asking.results[at], &asking.campaign[at], asking.path[at]);
    }
    if (code == 0) {
        code = answer(&asking);
    }
    for (int at = 0; at < asking.n_stores; at++) {
        rc_campaign_free(asking.campaign[at]);
        rc_results_close(asking.results[at]);
    }
    return code;
}
