/* `rollcast fly`: a campaign into a store, new or resumed. Flying and keeping are the library's. */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include "commands.h"
#include "flight_watch.h"
#include "interrupt.h"
#include "options.h"
#include "rollcast/rollcast.h"
#include "say.h"

/* What the command line asks for. */
struct flying {
    const char *campaign_path;
    const char *store_path;
    int64_t n_flights; /* 0 = as the campaign says */
    uint64_t seed;
    int has_seed;
    int64_t n_threads; /* 0 = all cores */
    struct rc_stop_rule stop_rule;
    const char *rare_method, *rare_criterion; /* NULL = as the campaign says */
    const char *shard_text;              /* "K/N", NULL = all of it */
    int64_t shard, n_shards;
    int resume;
    int is_quiet, is_polite, is_json;
    int n_ranks;                         /* processes of this run: the others fly for this one */
    const char *status_path;             /* NULL = none */
};

/* Which shard: two whole numbers with a slash between. ends 0 where the text is none */
static int read_shard(struct flying *flying)
{
    char *end = NULL;
    const char *text = flying->shard_text;
    const size_t n_first = strspn(text, "0123456789");
    const size_t n_second = text[n_first] == '/' ? strspn(text + n_first + 1, "0123456789") : 0;
    if (n_first < 1 || n_first > 9 || n_second < 1 || n_second > 9 || text[n_first + 1 + n_second] != '\0') {
        return 0;
    }
    flying->shard = strtol(text, &end, 10);
    flying->n_shards = strtol(end + 1, NULL, 10);
    return flying->shard >= 1 && flying->shard <= flying->n_shards;
}

/* The command that goes on with this run. */
static void say_how_to_go_on(const struct flying *flying, int64_t n_done)
{
    char campaign[256], store[256], flights[40] = "", seed[40] = "", threads[40] = "", shard[48] = "";

    rc_say_shell_path(campaign, sizeof campaign, flying->campaign_path);
    rc_say_shell_path(store, sizeof store, flying->store_path);
    if (flying->n_flights > 0) {
        snprintf(flights, sizeof flights, " --flights %" PRId64, flying->n_flights);
    }
    if (flying->has_seed) {
        snprintf(seed, sizeof seed, " --seed %" PRIu64, flying->seed);
    }
    if (flying->n_threads > 0) {
        snprintf(threads, sizeof threads, " --threads %" PRId64, flying->n_threads);
    }
    if (flying->n_shards > 0) {
        snprintf(shard, sizeof shard, " --shard %" PRId64 "/%" PRId64, flying->shard, flying->n_shards);
    }
    rc_say_line("stopped after %" PRId64 " flights; go on with: rollcast fly %s -o %s%s%s%s%s --resume", n_done, campaign, store,
                shard, flights, seed, threads);
}

/* "subset or importance" */
static void rare_methods(char *text, size_t size)
{
    size_t n = 0;
    text[0] = '\0';
    for (int method = RC_RARE_NONE + 1; method < RC_RARE_METHODS_END && n < size; method++) {
        n += (size_t)snprintf(text + n, size - n, "%s%s", n > 0 ? " or " : "", rc_rare_name((enum rc_rare_method)method));
    }
}

/* Which criteria there are, where one was asked for that is not. */
static void say_no_criterion(const struct flying *flying, const rc_campaign *campaign)
{
    const char *name = flying->rare_criterion;
    const int n_criteria = rc_campaign_criteria_count(campaign);
    char known[512] = "";
    size_t n = 0;
    for (int row = 0; row < n_criteria && n < sizeof known; row++) {
        n += (size_t)snprintf(known + n, sizeof known - n, "%s'%s'", row > 0 ? ", " : "",
                              rc_campaign_criterion(campaign, row)->name);
    }
    rc_say_line("%s: no criterion has the name '%s'%s; name one of: %s%s", flying->campaign_path, name,
                strcmp(name, "all together") == 0 ? ", which is all of them at once: a run goes after the failures of one" : "",
                n_criteria > 0 ? known : "(it has none)", n < sizeof known ? "" : " ...");
}

/* Method and criterion by their names. ends 0, or the exit code */
static int read_rare_rule(struct rc_rare_rule *rule, const struct flying *flying, const rc_campaign *campaign)
{
    const char *method = flying->rare_method, *name = flying->rare_criterion;
    *rule = (struct rc_rare_rule){.criterion = -1};
    if (method == NULL && name != NULL) {
        rc_say_line("--criterion '%s' goes with --rare (see: rollcast fly --help)", name);
        return rc_status_exit_code(RC_USAGE);
    }
    rule->method = method != NULL ? rc_rare_find(method) : RC_RARE_NONE;
    if (method != NULL && rule->method == RC_RARE_NONE) {
        char methods[128];
        rare_methods(methods, sizeof methods);
        rc_say_line("--rare wants %s, got '%s' (see: rollcast fly --help)", methods, method);
        return rc_status_exit_code(RC_USAGE);
    }
    for (int row = 0; name != NULL && row < rc_campaign_criteria_count(campaign); row++) {
        if (strcmp(rc_campaign_criterion(campaign, row)->name, name) == 0) {
            rule->criterion = row;
        }
    }
    if (name != NULL && rule->criterion < 0) {
        say_no_criterion(flying, campaign);
        return rc_status_exit_code(RC_BAD_INPUT);
    }
    return 0;
}

static void say_done(const struct flying *flying, const struct rc_progress *ended)
{
    static const char *const reasons[] = {
        [RC_STOP_NONE] = "", [RC_STOP_VERDICT] = "the verdict is reached: ",
        [RC_STOP_WIDTH] = "the intervals are narrow enough: ", [RC_STOP_TIME] = "the time is over: "};
    char store[256];
    rc_say_shell_path(store, sizeof store, flying->store_path);
    fprintf(stderr, "%s%" PRId64 " flights in %s, %.0f flights/s; next: %s%s\n", reasons[ended->stopped], ended->done, store,
            rc_progress_rate(ended), ended->n_shards > 0 ? "rollcast merge of all shards" : "rollcast odds ",
            ended->n_shards > 0 ? "" : store);
}

/* Let others of this machine go first, and say where there are more threads than can run at once. */
static void settle_in(const struct flying *flying)
{
    const int n_cores = rc_run_cores();
    if (flying->is_polite && setpriority(PRIO_PROCESS, 0, 19) != 0) {
        rc_say_line("--polite: the priority stays as it is: %s", strerror(errno));
    }
    if (flying->n_threads > n_cores && !flying->is_quiet) {
        rc_say_line("%" PRId64 " threads on %d cores: more threads than cores are no faster", flying->n_threads, n_cores);
    }
}

static int fly(const struct flying *flying, const rc_campaign *campaign)
{
    struct rc_flight_watch watch = {.display.is_terminal = isatty(2), .is_quiet = flying->is_quiet,
                                    .status_path = flying->status_path,
                                    .run = {.campaign = flying->campaign_path, .store = flying->store_path}};
    struct rc_progress ended = {0};
    struct rc_error err = {0};
    struct rc_rare_rule rare_rule;
    const int wrong = read_rare_rule(&rare_rule, flying, campaign);
    if (wrong != 0) {
        return wrong;
    }
    const struct rc_run_options options = {
        .n_flights = flying->n_flights,
        .has_seed = flying->has_seed,
        .seed = flying->seed,
        .n_threads = (int)flying->n_threads,
        .n_ranks = flying->n_ranks,
        .shard = (int)flying->shard,
        .n_shards = (int)flying->n_shards,
        .resume = flying->resume,
        .stop_rule = flying->stop_rule,
        .rare_rule = rare_rule,
        .stop = rc_interrupt_watch(),
        .progress = rc_flight_watch_show,
        .user = &watch,
    };
    settle_in(flying);
    const int unwatched = rc_flight_watch_begin(&watch);
    if (unwatched != 0) {
        return unwatched;
    }

    const rc_status status = rc_run_fly(campaign, flying->store_path, &options, &ended, &err);
    rc_progress_clear(&watch.display);
    if (flying->is_json && (status == RC_OK || status == RC_STOPPED)) {
        const struct rc_report_run run = {.campaign = campaign, .store = flying->store_path, .shard = flying->shard_text,
                                          .seed = flying->has_seed ? flying->seed : rc_campaign_seed(campaign),
                                          .ended = &ended, .is_stopped = status == RC_STOPPED};
        rc_report_run(stdout, &run);
    }
    if (status == RC_EXISTS && !flying->resume) {
        const size_t n_what = strlen(err.what);
        snprintf(err.what + n_what, sizeof err.what - n_what, " (--resume goes on with it)");
    }
    rc_flight_watch_end(&watch, &ended, rc_status_exit_code(status), status == RC_OK ? NULL : err.what);
    if (status == RC_STOPPED) {
        say_how_to_go_on(flying, ended.done);
        return rc_status_exit_code(status);
    }
    if (status != RC_OK) {
        return rc_say_error(&err, status == RC_BAD_INPUT ? flying->campaign_path : flying->store_path);
    }
    if (!flying->is_quiet) {
        say_done(flying, &ended);
    }
    return 0;
}

/* Read the command line.
 * ends -1 to go on, otherwise the exit code */
static int read_command_line(struct flying *flying, int argc, char **argv)
{
    const struct rc_option options[] = {
        {.name = "output", .letter = 'o', .kind = RC_OPTION_TEXT, .value = "STORE", .help = "the store to fill; wanted",
         .target = &flying->store_path},
        {.name = "flights", .kind = RC_OPTION_COUNT, .value = "N", .target = &flying->n_flights, .least = 1,
         .greatest = INT64_C(4000000000000), .help = "flights in the store at the end; else as the campaign says"},
        {.name = "seed", .kind = RC_OPTION_UNSIGNED, .value = "N", .target = &flying->seed, .is_given = &flying->has_seed,
         .help = "master seed; else the campaign's"},
        {.name = "threads", .kind = RC_OPTION_COUNT, .value = "N", .target = &flying->n_threads, .least = 1, .greatest = 4096,
         .help = "threads; else one a core. Results do not depend on it"},
        {.name = "resume", .kind = RC_OPTION_FLAG, .help = "go on with a store that was stopped, or add flights to one",
         .target = &flying->resume},
        {.name = "stop-verdict", .kind = RC_OPTION_FLAG, .target = &flying->stop_rule.on_verdict,
         .help = "end as soon as the verdict is GO or NO-GO"},
        {.name = "stop-width", .kind = RC_OPTION_SHARE, .value = "SHARE", .target = &flying->stop_rule.width,
         .help = "end as soon as every interval is at most this wide, such as 0.02"},
        {.name = "stop-after", .kind = RC_OPTION_SECONDS, .value = "SECONDS", .target = &flying->stop_rule.seconds,
         .help = "end after this time; the store is then finished"},
        {.name = "shard", .kind = RC_OPTION_TEXT, .value = "K/N", .target = &flying->shard_text,
         .help = "fly shard K of N only, such as 2/8; `rollcast merge` puts all together"},
        {.name = "rare", .kind = RC_OPTION_TEXT, .value = "METHOD", .target = &flying->rare_method,
         .help = "go after rare failures of one criterion: subset or importance"},
        {.name = "criterion", .kind = RC_OPTION_TEXT, .value = "NAME", .target = &flying->rare_criterion,
         .help = "with --rare: which criterion, if the campaign has several"},
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "say at the end as JSON how the run went",
         .target = &flying->is_json},
        {.name = "status-file", .kind = RC_OPTION_TEXT, .value = "FILE", .target = &flying->status_path,
         .help = "keep a JSON file that says how the run stands, for scripts"},
        {.name = "polite", .kind = RC_OPTION_FLAG, .target = &flying->is_polite,
         .help = "lowest priority: other programs of this machine go first"},
        {.name = "quiet", .letter = 'q', .kind = RC_OPTION_FLAG, .help = "no progress and no closing line",
         .target = &flying->is_quiet},
    };
    const struct rc_command command = {"fly",
        "Fly a campaign into a store. Ctrl-C stops it after the blocks in work; --resume goes on\n"
        "where it stopped. Nothing is overwritten. CAMPAIGN - is standard input.",
        "CAMPAIGN", 1, sizeof options / sizeof options[0], options};

    const enum rc_options_end end = rc_options_read(&command, argc, argv, &flying->campaign_path);
    if (end == RC_OPTIONS_HELPED) {
        return 0;
    }
    if (end == RC_OPTIONS_READ && flying->store_path == NULL) {
        rc_say_line("fly wants a store to fill: -o STORE (see: rollcast fly --help)");
    } else if (end == RC_OPTIONS_READ && strcmp(flying->store_path, "-") == 0) {
        rc_say_line("a store cannot be standard output: it is written in place; name a file");
    } else if (end == RC_OPTIONS_READ && flying->n_ranks > 1 && flying->n_threads > 0) {
        rc_say_line("--threads does not go with ranks: each of them is a thread; start more of them");
    } else if (end == RC_OPTIONS_READ && flying->shard_text != NULL && !read_shard(flying)) {
        rc_say_line("--shard: got '%s', wanted K/N, shard K of N, such as 2/8: K from 1 to N", flying->shard_text);
    } else if (end == RC_OPTIONS_READ) {
        return -1;
    }
    return rc_status_exit_code(RC_USAGE);
}

static int fly_or_lead(int argc, char **argv, int n_ranks)
{
    struct flying flying = {.n_ranks = n_ranks};
    const int ended = read_command_line(&flying, argc, argv);
    if (ended >= 0) {
        return ended;
    }

    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    const rc_status status = rc_campaign_load(&campaign, flying.campaign_path, &issues);
    int code = rc_say_issues(&issues, status, flying.campaign_path);
    if (status == RC_OK) {
        code = fly(&flying, campaign);
    }
    rc_campaign_free(campaign);
    return code;
}

/* A rank that helps: what is to be said is said by rank 0. */
static int help(void)
{
    struct rc_error err = {0};
    const rc_status status = rc_run_help(rc_interrupt_watch(), &err);
    return status == RC_OK ? 0 : rc_say_error(&err, "a rank");
}

int rc_cmd_fly(int argc, char **argv)
{
    int rank = 0, n_ranks = 1;
    rc_run_join(&rank, &n_ranks);
    const int code = rank > 0 ? help() : fly_or_lead(argc, argv, n_ranks);
    rc_run_leave(rank, n_ranks);
    return code;
}
