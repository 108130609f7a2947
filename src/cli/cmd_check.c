/* `rollcast check`: what a campaign means, or every mistake in it. */
#include <stdio.h>

#include "commands.h"
#include "options.h"
#include "rollcast/rollcast.h"
#include "say.h"

int rc_cmd_check(int argc, char **argv)
{
    int is_json = 0;
    const char *path = NULL;
    const struct rc_option options[] = {
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "answer as JSON", .target = &is_json},
    };
    const struct rc_command command = {"check",
        "Say what a campaign means: its layout, what is uncertain, what is fixed and what is\n"
        "asked. Every mistake is one line on standard error. CAMPAIGN - is standard input.",
        "CAMPAIGN", sizeof options / sizeof options[0], options};

    const enum rc_options_end end = rc_options_read(&command, argc, argv, &path);
    if (end != RC_OPTIONS_READ) {
        return end == RC_OPTIONS_HELPED ? 0 : rc_status_exit_code(RC_USAGE);
    }

    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    struct rc_error err = {0};

    rc_status status = rc_campaign_load(&campaign, path, &issues);
    int code = rc_say_issues(&issues, status, path);
    if (status != RC_OK) {
        goto done;
    }
    status = rc_report_campaign(stdout, is_json ? RC_REPORT_JSON : RC_REPORT_TEXT, campaign, &err);
    if (status != RC_OK && status != RC_IO) { /* a failed write is said once, when standard output is closed */
        code = rc_say_error(&err, path);
    }

done:
    rc_campaign_free(campaign);
    return code;
}
