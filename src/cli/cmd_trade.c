/* `rollcast trade`: designs compared on the same flights, and how far a number may be relaxed. */
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "commands.h"
#include "gathered.h"
#include "interrupt.h"
#include "options.h"
#include "output.h"
#include "progress.h"
#include "rollcast/rollcast.h"
#include "say.h"

/* The words of the command line. */
struct trading {
    const char *campaign_path[2];
    const char *vary[2], *relax, *of, *folder;
    int64_t n_flights, n_threads;
    uint64_t seed;
    double need;
    int has_need, has_seed, resume, is_json, is_csv, is_quiet;
};

static int refuse(const char *text)
{
    rc_say_line("%s (see: rollcast trade --help)", text);
    return rc_status_exit_code(RC_USAGE);
}

/* Do the words go together? ends -1 to go on, otherwise the exit code */
static int check_words(const struct trading *trading)
{
    if (trading->folder == NULL) {
        return refuse("trade wants a folder for its stores: -o FOLDER");
    }
    if (trading->campaign_path[1] != NULL && (trading->vary[0] != NULL || trading->relax != NULL)) {
        return refuse("two campaigns are compared as they are; give --vary or --relax with one only");
    }
    if (trading->vary[0] != NULL && trading->relax != NULL) {
        return refuse("give --vary or --relax, not both");
    }
    if (trading->is_csv && (trading->is_json || trading->relax != NULL)) {
        return refuse("--csv goes without --json and --relax");
    }
    if ((trading->relax != NULL) != trading->has_need) {
        return refuse("--need and --relax go together");
    }
    return -1;
}

static int trade(const struct trading *trading, rc_campaign *const campaign[2])
{
    struct rc_progress_display display = {.is_terminal = isatty(2)};
    struct rc_error err = {0};
    const struct rc_run_options options = {.n_flights = trading->n_flights, .has_seed = trading->has_seed, .seed = trading->seed,
                                           .n_threads = (int)trading->n_threads, .resume = trading->resume,
                                           .stop = rc_interrupt_watch(),
                                           .progress = trading->is_quiet ? NULL : rc_progress_show, .user = &display};
    const struct rc_trade_request request = {
        .n_campaigns = campaign[1] != NULL ? 2 : 1, .campaign = {campaign[0], campaign[1]},
        .name = {trading->campaign_path[0], trading->campaign_path[1]},
        .n_vary = trading->vary[1] != NULL ? 2 : trading->vary[0] != NULL ? 1 : 0, .vary = {trading->vary[0], trading->vary[1]},
        .relax = trading->relax, .need = trading->need, .of = trading->of, .folder = trading->folder, .options = &options};
    struct rc_issues issues;
    if (rc_report_trade_review(&issues, &request) == RC_OK) {
        (void)rc_say_issues(&issues, RC_OK, trading->campaign_path[0]);
    }
    int is_new = 0;
    int code = rc_output_folder(trading->folder, &is_new);
    if (code != 0) {
        return code;
    }
    const enum rc_report_form form = trading->is_json ? RC_REPORT_JSON : trading->is_csv ? RC_REPORT_CSV : RC_REPORT_TEXT;
    struct rc_gathered answer = {.out = NULL};
    const rc_status status =
        rc_gathered_open(&answer)
            ? rc_report_trade(answer.out, form, &request, &err)
            : RC_NO_MEMORY;
    rc_progress_clear(&display);
    if (status == RC_STOPPED) {
        rc_say_line("stopped; what was flown stays in %s, and the same command with --resume goes on", trading->folder);
        code = rc_status_exit_code(status);
    } else {
        code = rc_gathered_close(&answer, status, &err, trading->campaign_path[0]);
    }
    if (code == 0) {
        rc_gathered_print(&answer, form != RC_REPORT_TEXT);
    }
    rc_output_drop_folder(trading->folder, is_new);
    rc_gathered_free(&answer);
    return code;
}

static int read_command_line(struct trading *trading, int argc, char **argv)
{
    const struct rc_option options[] = {
        {.name = "output", .letter = 'o', .kind = RC_OPTION_TEXT, .value = "FOLDER", .target = &trading->folder,
         .help = "where the stores go, one for each setting; wanted"},
        {.name = "vary", .kind = RC_OPTION_TEXTS, .value = "RANGE", .target = trading->vary, .greatest = 2,
         .help = "PATH=FROM:TO:N, a number of the campaign at N values; twice for a map"},
        {.name = "need", .kind = RC_OPTION_SHARE, .value = "ODDS", .target = &trading->need, .is_given = &trading->has_need,
         .help = "odds that must still be met, with --relax"},
        {.name = "relax", .kind = RC_OPTION_TEXT, .value = "RANGE", .target = &trading->relax,
         .help = "PATH=FROM:TO, demanding end first: how far may it go? PATH alone: as far as it can"},
        {.name = "of", .kind = RC_OPTION_TEXT, .value = "NAME", .target = &trading->of,
         .help = "criterion; else all criteria together"},
        {.name = "flights", .kind = RC_OPTION_COUNT, .value = "N", .target = &trading->n_flights, .least = 1,
         .greatest = INT64_C(100000000), .help = "flights of each setting; else as the campaign says"},
        {.name = "seed", .kind = RC_OPTION_UNSIGNED, .value = "N", .target = &trading->seed, .is_given = &trading->has_seed,
         .help = "master seed of all settings; else the first campaign's"},
        {.name = "threads", .kind = RC_OPTION_COUNT, .value = "N", .target = &trading->n_threads, .least = 1, .greatest = 4096,
         .help = "threads; else one a core. Results do not depend on it"},
        {.name = "resume", .kind = RC_OPTION_FLAG, .help = "go on with the stores that FOLDER has", .target = &trading->resume},
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "answer as JSON, every figure in full", .target = &trading->is_json},
        {.name = "csv", .kind = RC_OPTION_FLAG, .help = "the settings as a CSV table, every figure in full",
         .target = &trading->is_csv},
        {.name = "quiet", .letter = 'q', .kind = RC_OPTION_FLAG, .help = "no progress", .target = &trading->is_quiet},
    };
    const struct rc_command command = {"trade",
        "Compare designs on the same flights: a number of the campaign over a range (else the\n"
        "campaign's own sweep), or two campaigns. Says the odds of each, the best, and which cannot\n"
        "be told from it. With --need and --relax: the least demanding value that still meets them.",
        "CAMPAIGN", 2, sizeof options / sizeof options[0], options};
    const enum rc_options_end end = rc_options_read(&command, argc, argv, trading->campaign_path);
    return end == RC_OPTIONS_READ ? -1 : end == RC_OPTIONS_HELPED ? 0 : rc_status_exit_code(RC_USAGE);
}

int rc_cmd_trade(int argc, char **argv)
{
    struct trading trading = {.folder = NULL};
    rc_campaign *campaign[2] = {NULL, NULL};
    int code = read_command_line(&trading, argc, argv);
    if (code < 0) {
        code = check_words(&trading);
    }
    if (code >= 0) {
        return code;
    }
    rc_status status = RC_OK;
    for (int index = 0; status == RC_OK && index < 2 && trading.campaign_path[index] != NULL; index++) {
        struct rc_issues issues = {0};
        status = rc_campaign_load(&campaign[index], trading.campaign_path[index], &issues);
        code = rc_say_issues(&issues, status, trading.campaign_path[index]);
    }
    if (status == RC_OK) {
        if (campaign[1] != NULL && !trading.has_seed) { /* both fly the same draws */
            trading.has_seed = 1;
            trading.seed = rc_campaign_seed(campaign[0]);
        }
        code = trade(&trading, campaign);
    }
    rc_campaign_free(campaign[0]);
    rc_campaign_free(campaign[1]);
    return code;
}
