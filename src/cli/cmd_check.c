/* `rollcast check`: what a campaign means, or every mistake in it. */
#include <stdio.h>
#include <stdlib.h>

#include "commands.h"
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
    char *text = NULL;
    size_t n_text = 0;
    struct rc_issues issues = {0};
    struct rc_error err = {0};

    rc_status status = rc_campaign_load(&campaign, path, &issues);
    int code = rc_say_issues(&issues, status, path);
    if (status != RC_OK) {
        goto done;
    }
    FILE *out = open_memstream(&text, &n_text);
    if (out == NULL) {
        rc_say_line("%s: %s", path, rc_status_text(RC_NO_MEMORY));
        code = rc_status_exit_code(RC_NO_MEMORY);
        goto done;
    }
    status = is_aero ? rc_report_aero(out, form, campaign, &err) : rc_report_campaign(out, form, campaign, &err);
    const int is_short_of_memory = fclose(out) != 0;
    if (status != RC_OK || is_short_of_memory) {
        code = status != RC_OK ? rc_say_error(&err, path) : rc_status_exit_code(RC_NO_MEMORY);
    } else if (form == RC_REPORT_TEXT) {
        rc_say_text(text, n_text);
    } else {
        fwrite(text, 1, n_text, stdout);
    }

done:
    free(text);
    rc_campaign_free(campaign);
    return code;
}
