/* `rollcast size`: how many flights a demonstration takes, and what flights show. Takes no file. */
#include "commands.h"
#include "gathered.h"
#include "options.h"
#include "rollcast/rollcast.h"
#include "say.h"

int rc_cmd_size(int argc, char **argv)
{
    int is_json = 0, is_csv = 0;
    struct rc_report_size asked = {.confidence = 0.95};
    const struct rc_option options[] = {
        {.name = "odds", .kind = RC_OPTION_SHARE, .value = "SHARE", .target = &asked.odds,
         .help = "odds to be shown, such as 0.99"},
        {.name = "confidence", .kind = RC_OPTION_SHARE, .value = "SHARE", .target = &asked.confidence, .help = "else 0.95"},
        {.name = "flights", .kind = RC_OPTION_COUNT, .value = "N", .target = &asked.flights, .least = 1,
         .greatest = INT64_C(1000000000000), .help = "flights of the demonstration"},
        {.name = "failures", .kind = RC_OPTION_COUNT, .value = "N", .target = &asked.failures, .least = 0,
         .greatest = INT64_C(1000000000), .help = "of them that fail; else 0"},
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "answer as JSON", .target = &is_json},
        {.name = "csv", .kind = RC_OPTION_FLAG, .help = "answer as a CSV table", .target = &is_csv},
    };
    const struct rc_command command = {"size",
        "Sizes of demonstrations, exact. With --odds: how many flights show them; with --flights\n"
        "too: how many of these may fail. With --flights and --failures: the odds they show.",
        NULL, 0, sizeof options / sizeof options[0], options};

    const enum rc_options_end end = rc_options_read(&command, argc, argv, NULL);
    if (end != RC_OPTIONS_READ) {
        return end == RC_OPTIONS_HELPED ? 0 : rc_status_exit_code(RC_USAGE);
    }
    if (!(asked.odds > 0.0) && asked.flights < 1) {
        rc_say_line("size wants --odds, --flights or both (see: rollcast size --help)");
        return rc_status_exit_code(RC_USAGE);
    }
    if (is_csv && is_json) {
        rc_say_line("--csv goes without --json (see: rollcast size --help)");
        return rc_status_exit_code(RC_USAGE);
    }
    const enum rc_report_form form = is_json ? RC_REPORT_JSON : is_csv ? RC_REPORT_CSV : RC_REPORT_TEXT;
    struct rc_error err = {0};
    struct rc_gathered answer = {.out = NULL};
    const rc_status status = rc_gathered_open(&answer) ? rc_report_size(answer.out, form, &asked, &err) : RC_NO_MEMORY;
    const int code = rc_gathered_close(&answer, status, &err, NULL);
    if (code == 0) {
        rc_gathered_print(&answer, form != RC_REPORT_TEXT);
    }
    rc_gathered_free(&answer);
    return code;
}
