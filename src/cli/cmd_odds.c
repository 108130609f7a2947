/* `rollcast odds`: the answer of a store. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "commands.h"
#include "options.h"
#include "rollcast/rollcast.h"
#include "say.h"

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
static void print_answer(const char *text, size_t n_text, enum rc_verdict verdict, const struct asking *asking)
{
    static const char *const colour[] = {
        [RC_VERDICT_GO] = "\033[1;32m", [RC_VERDICT_NO_GO] = "\033[1;31m", [RC_VERDICT_NOT_YET_KNOWN] = "\033[1;33m"};
    const size_t n_verdict = strcspn(text, ":");

    if (asking->is_json || asking->is_csv) {
        fwrite(text, 1, n_text, stdout);
        return;
    }
    if (asking->n_stores > 1 || asking->measure != NULL || n_verdict >= n_text || !rc_say_is_coloured(1)) {
        rc_say_text(text, n_text);
        return;
    }
    fprintf(stdout, "%s%.*s\033[0m", colour[verdict], (int)n_verdict, text);
    rc_say_text(text + n_verdict, n_text - n_verdict);
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

/* The answer goes to memory first: an error on the way then leaves no half of it on standard output. */
static int answer(const struct asking *asking)
{
    char *text = NULL;
    size_t n_text = 0;
    struct rc_error err = {0};
    enum rc_verdict verdict = RC_VERDICT_NOT_YET_KNOWN;

    FILE *out = open_memstream(&text, &n_text);
    if (out == NULL) {
        rc_say_line("%s: %s", asking->path[0], rc_status_text(RC_NO_MEMORY));
        return rc_status_exit_code(RC_NO_MEMORY);
    }
    const rc_status status = report(out, asking, &verdict, &err);
    const int is_short_of_memory = fclose(out) != 0;
    int code = 0;
    if (status != RC_OK) {
        code = rc_say_error(&err, asking->path[0]);
    } else if (is_short_of_memory) {
        rc_say_line("%s: %s", asking->path[0], rc_status_text(RC_NO_MEMORY));
        code = rc_status_exit_code(RC_NO_MEMORY);
    } else {
        print_answer(text, n_text, verdict, asking);
        code = asking->is_strict && verdict != RC_VERDICT_GO ? 1 : 0;
    }
    free(text);
    return code;
}

/* Open a store and read the campaign it keeps. ends the exit code, 0 if it is open; what was wrong has been said */
static int open_store(struct asking *asking, int at)
{
    struct rc_issues issues = {0};
    struct rc_error err = {0};
    rc_status status = rc_results_open(&asking->results[at], asking->path[at], &err);
    if (status != RC_OK) {
        return rc_say_error(&err, asking->path[at]);
    }
    status = rc_run_campaign(&asking->campaign[at], asking->results[at], &issues);
    return status != RC_OK ? rc_say_issues(&issues, status, asking->path[at]) : 0;
}

int rc_cmd_odds(int argc, char **argv)
{
    struct asking asking = {.confidence = 0.95};
    int has_confidence = 0;
    const struct rc_option options[] = {
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "answer as JSON, every figure in full", .target = &asking.is_json},
        {.name = "csv", .kind = RC_OPTION_FLAG, .help = "answer of one store as a CSV table", .target = &asking.is_csv},
        {.name = "measure", .kind = RC_OPTION_TEXT, .value = "NAME", .target = &asking.measure,
         .help = "quantiles and tolerance limits of this measure instead"},
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

    if (asking.is_csv && (asking.is_json || asking.path[1] != NULL || asking.measure != NULL)) {
        rc_say_line("--csv goes with one store and without --json and --measure (see: rollcast odds --help)");
        return rc_status_exit_code(RC_USAGE);
    }

    int code = 0;
    while (code == 0 && asking.n_stores < RC_REPORT_MAX_STORES && asking.path[asking.n_stores] != NULL) {
        code = open_store(&asking, asking.n_stores++);
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
