/* `rollcast odds`: the answer of a store. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "commands.h"
#include "options.h"
#include "rollcast/rollcast.h"
#include "say.h"

/* Print the answer; on a terminal with colour its verdict (the words before the first ':') stands out. */
static void print_answer(const char *text, size_t n_text, enum rc_verdict verdict, int is_json)
{
    static const char *const colour[] = {
        [RC_VERDICT_GO] = "\033[1;32m", [RC_VERDICT_NO_GO] = "\033[1;31m", [RC_VERDICT_NOT_YET_KNOWN] = "\033[1;33m"};
    const size_t n_verdict = strcspn(text, ":");

    if (is_json || n_verdict >= n_text || !rc_say_is_coloured(1)) {
        fwrite(text, 1, n_text, stdout);
        return;
    }
    fprintf(stdout, "%s%.*s\033[0m", colour[verdict], (int)n_verdict, text);
    fwrite(text + n_verdict, 1, n_text - n_verdict, stdout);
}

/* The answer goes to memory first: an error on the way then leaves no half of it on standard output. */
static int answer(const char *path, const rc_results *results, const rc_campaign *campaign, int is_json, int is_strict)
{
    char *text = NULL;
    size_t n_text = 0;
    struct rc_error err = {0};
    enum rc_verdict verdict = RC_VERDICT_NOT_YET_KNOWN;

    FILE *out = open_memstream(&text, &n_text);
    if (out == NULL) {
        rc_say_line("%s: %s", path, rc_status_text(RC_NO_MEMORY));
        return rc_status_exit_code(RC_NO_MEMORY);
    }
    const rc_status status = rc_report_odds(out, is_json ? RC_REPORT_JSON : RC_REPORT_TEXT, results, campaign, &verdict, &err);
    const int is_short_of_memory = fclose(out) != 0;
    int code = 0;
    if (status != RC_OK) {
        code = rc_say_error(&err, path);
    } else if (is_short_of_memory) {
        rc_say_line("%s: %s", path, rc_status_text(RC_NO_MEMORY));
        code = rc_status_exit_code(RC_NO_MEMORY);
    } else {
        print_answer(text, n_text, verdict, is_json);
        code = is_strict && verdict != RC_VERDICT_GO ? 1 : 0;
    }
    free(text);
    return code;
}

int rc_cmd_odds(int argc, char **argv)
{
    int is_json = 0, is_strict = 0;
    const char *path = NULL;
    const struct rc_option options[] = {
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "answer as JSON, every figure in full", .target = &is_json},
        {.name = "strict", .kind = RC_OPTION_FLAG, .help = "exit with 1 unless the verdict is GO", .target = &is_strict},
    };
    const struct rc_command command = {"odds",
        "Answer from a store: for each criterion and all together the odds, their exact interval\n"
        "and GO, NO-GO or NOT YET KNOWN; how flights ended; median and 90 % range of each measure.",
        "STORE", sizeof options / sizeof options[0], options};

    const enum rc_options_end end = rc_options_read(&command, argc, argv, &path);
    if (end != RC_OPTIONS_READ) {
        return end == RC_OPTIONS_HELPED ? 0 : rc_status_exit_code(RC_USAGE);
    }

    rc_results *results = NULL;
    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    struct rc_error err = {0};
    int code = 0;

    rc_status status = rc_results_open(&results, path, &err);
    if (status != RC_OK) {
        code = rc_say_error(&err, path);
        goto done;
    }
    status = rc_run_campaign(&campaign, results, &issues);
    if (status != RC_OK) {
        code = rc_say_issues(&issues, status, path);
        goto done;
    }
    code = answer(path, results, campaign, is_json, is_strict);

done:
    rc_campaign_free(campaign);
    rc_results_close(results);
    return code;
}
