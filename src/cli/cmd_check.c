/* `rollcast check`: what a campaign means, or every mistake in it. */
#include "commands.h"
#include "gathered.h"
#include "options.h"
#include "rollcast/rollcast.h"
#include "say.h"

int rc_cmd_check(int argc, char **argv)
{
    int is_json = 0, is_aero = 0, is_csv = 0;
    const char *path = NULL;
    const struct rc_option options[] = {
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "answer as JSON", .target = &is_json},
        {.name = "aero", .kind = RC_OPTION_FLAG, .help = "answer with the aerodynamics over Mach", .target = &is_aero},
        {.name = "csv", .kind = RC_OPTION_FLAG, .help = "with --aero: as a CSV table", .target = &is_csv},
    };
    const struct rc_command command = {"check",
        "Say what a campaign means: its layout, what is uncertain, what is fixed and what is\n"
        "asked. Every mistake is one line on standard error. CAMPAIGN - is standard input.",
        "CAMPAIGN", 1, sizeof options / sizeof options[0], options};

    const enum rc_options_end end = rc_options_read(&command, argc, argv, &path);
    if (end != RC_OPTIONS_READ) {
        return end == RC_OPTIONS_HELPED ? 0 : rc_status_exit_code(RC_USAGE);
    }

    if (is_csv && (!is_aero || is_json)) {
        rc_say_line("--csv goes with --aero and without --json (see: rollcast check --help)");
        return rc_status_exit_code(RC_USAGE);
    }
    const enum rc_report_form form = is_json ? RC_REPORT_JSON : is_csv ? RC_REPORT_CSV : RC_REPORT_TEXT;

    rc_campaign *campaign = NULL;
    struct rc_gathered answer = {.out = NULL};
    struct rc_issues issues = {0};
    struct rc_error err = {0};

    rc_status status = rc_campaign_load(&campaign, path, &issues);
    int code = rc_say_issues(&issues, status, path);
    if (status == RC_OK && rc_gathered_open(&answer)) {
        status = is_aero ? rc_report_aero(answer.out, form, campaign, &err)
                         : rc_report_campaign(answer.out, form, campaign, &err);
    }
    if (code == 0) {
        code = rc_gathered_close(&answer, status, &err, path);
    }
    if (code == 0) {
        rc_gathered_print(&answer, form != RC_REPORT_TEXT);
    }
    rc_gathered_free(&answer);
    rc_campaign_free(campaign);
    return code;
}
