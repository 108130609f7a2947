/* `rollcast rank`: which uncertainty matters most, and what tightening each would buy. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands.h"
#include "interrupt.h"
#include "options.h"
#include "output.h"
#include "progress.h"
#include "rollcast/rollcast.h"
#include "say.h"

/* The words of the command line. */
struct ranking {
    const char *store_path, *of, *csv_path, *folder;
    int64_t n_fly, n_threads;
    double need;
    int is_json, is_quiet;
};

/* A text gathered in memory: an error on the way then leaves no half of it anywhere. */
struct gathered {
    FILE *out;
    char *bytes;
    size_t n_bytes;
};

static int open_memory(struct gathered *text)
{
    text->out = open_memstream(&text->bytes, &text->n_bytes);
    return text->out != NULL;
}

/* ends whether all of it is there */
static int close_memory(struct gathered *text)
{
    const int is_good = text->out != NULL && fclose(text->out) == 0;
    text->out = NULL;
    return is_good;
}

static int rank(const struct ranking *ranking, const rc_results *results, const rc_campaign *campaign)
{
    struct gathered answer = {.bytes = NULL}, csv = {.bytes = NULL};
    struct rc_error err = {0};
    struct rc_progress_display display = {.is_terminal = isatty(2)};
    const struct rc_run_options options = {.n_threads = (int)ranking->n_threads,
                                           .stop = ranking->n_fly > 0 ? rc_interrupt_watch() : NULL,
                                           .progress = ranking->is_quiet ? NULL : rc_progress_show, .user = &display};
    const struct rc_rank_request request = {.results = results, .campaign = campaign, .of = ranking->of, .need = ranking->need,
                                            .n_fly = ranking->n_fly, .folder = ranking->folder, .options = &options};
    int code = 0;

    if (ranking->n_fly > 0 && (code = rc_output_folder(ranking->folder)) != 0) {
        return code;
    }
    code = rc_status_exit_code(RC_NO_MEMORY);
    if (!open_memory(&answer) || !open_memory(&csv)) {
        rc_say_line("%s: %s", ranking->store_path, rc_status_text(RC_NO_MEMORY));
        goto done;
    }
    const rc_status status =
        rc_report_rank(answer.out, csv.out, ranking->is_json ? RC_REPORT_JSON : RC_REPORT_TEXT, &request, &err);
    rc_progress_clear(&display);
    if (status == RC_STOPPED) {
        rc_say_line("stopped; what was flown stays in %s, and the same command goes on", ranking->folder);
        code = rc_status_exit_code(status);
        goto done;
    }
    if (status != RC_OK) {
        code = rc_say_error(&err, ranking->store_path);
        goto done;
    }
    if (!close_memory(&answer) || !close_memory(&csv)) {
        rc_say_line("%s: %s", ranking->store_path, rc_status_text(RC_NO_MEMORY));
        goto done;
    }
    code = ranking->csv_path != NULL ? rc_output_write(ranking->csv_path, csv.bytes, csv.n_bytes) : 0;
    if (code == 0) {
        if (ranking->is_json) {
            fwrite(answer.bytes, 1, answer.n_bytes, stdout);
        } else {
            rc_say_text(answer.bytes, answer.n_bytes);
        }
    }

done:
    (void)close_memory(&answer);
    (void)close_memory(&csv);
    free(answer.bytes);
    free(csv.bytes);
    return code;
}

int rc_cmd_rank(int argc, char **argv)
{
    struct ranking ranking = {.of = NULL};
    const struct rc_option options[] = {
        {.name = "of", .kind = RC_OPTION_TEXT, .value = "NAME", .target = &ranking.of,
         .help = "criterion or measure to rank for; else all criteria together"},
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "answer as JSON, every figure in full", .target = &ranking.is_json},
        {.name = "csv", .kind = RC_OPTION_TEXT, .value = "FILE", .target = &ranking.csv_path,
         .help = "write a row for each quantity to FILE as well"},
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
    struct rc_issues issues = {0};
    struct rc_error err = {0};
    int code = 0;
    rc_status status = rc_results_open(&results, ranking.store_path, &err);
    if (status != RC_OK) {
        code = rc_say_error(&err, ranking.store_path);
        goto done;
    }
    status = rc_run_campaign(&campaign, results, &issues);
    if (status != RC_OK) {
        code = rc_say_issues(&issues, status, ranking.store_path);
        goto done;
    }
    code = rank(&ranking, results, campaign);

done:
    rc_campaign_free(campaign);
    rc_results_close(results);
    return code;
}
