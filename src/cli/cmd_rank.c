/* `rollcast rank`: which uncertainty matters most, and what tightening each would buy. */
#include <unistd.h>

#include "commands.h"
#include "gathered.h"
#include "interrupt.h"
#include "options.h"
#include "output.h"
#include "progress.h"
#include "rollcast/rollcast.h"
#include "say.h"
#include "stores.h"

/* The words of the command line. */
struct ranking {
    const char *store_path, *of, *folder;
    int64_t n_fly, n_threads;
    double need;
    int is_json, is_csv, is_quiet;
};

static int rank(const struct ranking *ranking, const rc_results *results, const rc_campaign *campaign)
{
    struct rc_gathered answer = {.out = NULL};
    struct rc_error err = {0};
    struct rc_progress_display display = {.is_terminal = isatty(2)};
    const struct rc_run_options options = {.n_threads = (int)ranking->n_threads,
                                           .stop = ranking->n_fly > 0 ? rc_interrupt_watch() : NULL,
                                           .progress = ranking->is_quiet ? NULL : rc_progress_show, .user = &display};
    const struct rc_rank_request request = {.results = results, .campaign = campaign, .of = ranking->of, .need = ranking->need,
                                            .n_fly = ranking->n_fly, .folder = ranking->folder, .options = &options};
    const enum rc_report_form form = ranking->is_json ? RC_REPORT_JSON : ranking->is_csv ? RC_REPORT_CSV : RC_REPORT_TEXT;
    int is_new = 0;
    int code = ranking->n_fly > 0 ? rc_output_folder(ranking->folder, &is_new) : 0;
    if (code != 0) {
        return code;
    }
    const rc_status status = rc_gathered_open(&answer) ? rc_report_rank(answer.out, form, &request, &err) : RC_NO_MEMORY;
    rc_progress_clear(&display);
    if (status == RC_STOPPED) {
        rc_say_line("stopped; what was flown stays in %s, and the same command goes on", ranking->folder);
        code = rc_status_exit_code(status);
    } else {
        code = rc_gathered_close(&answer, status, &err, ranking->store_path);
    }
    if (code == 0) {
        rc_gathered_print(&answer, form != RC_REPORT_TEXT);
    }
    rc_output_drop_folder(ranking->folder, is_new);
    rc_gathered_free(&answer);
    return code;
}

int rc_cmd_rank(int argc, char **argv)
{
    struct ranking ranking = {.of = NULL};
    const struct rc_option options[] = {
        {.name = "of", .kind = RC_OPTION_TEXT, .value = "NAME", .target = &ranking.of,
         .help = "criterion or measure to rank for; else all criteria together"},
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "answer as JSON, every figure in full", .target = &ranking.is_json},
        {.name = "csv", .kind = RC_OPTION_FLAG, .help = "answer as a CSV table, a row for each quantity",
         .target = &ranking.is_csv},
        {.name = "need", .kind = RC_OPTION_SHARE, .value = "ODDS", .target = &ranking.need,
         .help = "odds that the cheapest way must reach; else as the campaign asks"},
        {.name = "fly", .kind = RC_OPTION_COUNT, .value = "N", .target = &ranking.n_fly, .least = 1,
         .greatest = INT64_C(100000000), .help = "new flights for what stored ones do not support"},
        {.name = "output", .letter = 'o', .kind = RC_OPTION_TEXT, .value = "FOLDER", .target = &ranking.folder,
         .help = "with --fly: where the stores of new flights go"},
        {.name = "threads", .kind = RC_OPTION_COUNT, .value = "N", .target = &ranking.n_threads, .least = 1, .greatest = 4096,
         .help = "with --fly: threads; else one a core"},
        {.name = "quiet", .letter = 'q', .kind = RC_OPTION_FLAG, .help = "no progress", .target = &ranking.is_quiet},
    };
    const struct rc_command command = {"rank",
        "Which uncertain quantity matters most, from a store's flights alone: its share of the\n"
        "variance, rank correlation, distance between flights that meet and that miss, and the odds\n"
        "were its spread halved or gone; with costs in the campaign, the cheapest way to the odds.\n"
        "STORE needs 100 flights, 20 of either kind.",
        "STORE", 1, sizeof options / sizeof options[0], options};

    const enum rc_options_end end = rc_options_read(&command, argc, argv, &ranking.store_path);
    if (end != RC_OPTIONS_READ) {
        return end == RC_OPTIONS_HELPED ? 0 : rc_status_exit_code(RC_USAGE);
    }

    if (ranking.is_csv && ranking.is_json) {
        rc_say_line("--csv goes without --json (see: rollcast rank --help)");
        return rc_status_exit_code(RC_USAGE);
    }
    if (ranking.n_fly > 0 && ranking.folder == NULL) {
        rc_say_line("--fly wants a folder for its stores: -o FOLDER (see: rollcast rank --help)");
        return rc_status_exit_code(RC_USAGE);
    }
    if (ranking.n_fly == 0 && ranking.folder != NULL) {
        rc_say_line("-o is where --fly puts its stores; give --fly N too (see: rollcast rank --help)");
        return rc_status_exit_code(RC_USAGE);
    }
    rc_results *results = NULL;
    rc_campaign *campaign = NULL;
    int code = rc_stores_open(&results, &campaign, ranking.store_path);
    if (code == 0) {
        code = rank(&ranking, results, campaign);
    }
    rc_campaign_free(campaign);
    rc_results_close(results);
    return code;
}
