/* `rollcast replay`: one stored flight again, its bits compared, its history as CSV or JSON. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "commands.h"
#include "options.h"
#include "output.h"
#include "rollcast/rollcast.h"
#include "say.h"

/* What the command line asks for. */
struct replaying {
    const char *store_path;
    const char *path; /* of the history; "-" is standard output */
    int64_t flight;
    int has_flight;
    double interval;
    int overwrite, is_json;
};

static int replay(const struct replaying *replaying, const rc_results *results)
{
    struct rc_output history = {0};
    struct rc_error err = {0};
    int n_differing = 0;

    if (replaying->flight >= rc_results_flights(results)) {
        rc_say_line("%s: no flight %" PRId64 "; the store holds flights 0 to %" PRId64, replaying->store_path, replaying->flight,
                    rc_results_flights(results) - 1);
        return rc_status_exit_code(RC_BAD_INPUT);
    }
    int code = rc_output_open(&history, replaying->path, replaying->overwrite);
    if (code != 0) {
        return code;
    }
    const struct rc_report_flight asked = {.results = results, .flight = replaying->flight, .interval = replaying->interval};
    const rc_status status = rc_report_replay(history.out, replaying->is_json ? RC_REPORT_JSON : RC_REPORT_CSV, &asked,
                                              &n_differing, &err);
    const int is_write_error = status != RC_OK && ferror(history.out);
    code = rc_output_close(&history, status == RC_OK);
    if (status != RC_OK) {
        if (is_write_error && history.is_standard) {
            const int said = rc_say_error(&err, "standard output");
            return freopen("/dev/null", "w", stdout) != NULL ? said : rc_status_exit_code(RC_IO); /* or it would be said twice */
        }
        return rc_say_error(&err, is_write_error ? replaying->path : replaying->store_path);
    }
    if (code != 0) {
        return code;
    }
    if (n_differing != 0) {
        rc_say_line("flight %" PRId64 ": %d stored numbers differ in their bits; this is not the build that flew it, or a fault",
                    replaying->flight, n_differing);
        return rc_status_exit_code(RC_INTERNAL);
    }
    rc_say_line("flight %" PRId64 ": all stored numbers equal, bit for bit", replaying->flight);
    return 0;
}

/* Read the command line.
 * ends -1 to go on, otherwise the exit code */
static int read_command_line(struct replaying *replaying, int argc, char **argv)
{
    const struct rc_option options[] = {
        {.name = "flight", .kind = RC_OPTION_COUNT, .value = "N", .target = &replaying->flight, .least = 0,
         .greatest = INT64_C(4000000000000), .is_given = &replaying->has_flight, .help = "which flight, from 0; wanted"},
        {.name = "output", .letter = 'o', .kind = RC_OPTION_TEXT, .value = "FILE", .target = &replaying->path,
         .help = "the history's file; else standard output, as with -"},
        {.name = "every", .kind = RC_OPTION_SECONDS, .value = "SECONDS", .target = &replaying->interval,
         .help = "least time between rows; else every platform tick"},
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "the history as JSON instead", .target = &replaying->is_json},
        {.name = "overwrite", .kind = RC_OPTION_FLAG, .help = "replace FILE if it exists", .target = &replaying->overwrite},
    };
    const struct rc_command command = {"replay",
        "Fly one flight of a store again, compare every stored number bit by bit, and write the\n"
        "flight's history as CSV, units in the header row.",
        "STORE", 1, sizeof options / sizeof options[0], options};

    const enum rc_options_end end = rc_options_read(&command, argc, argv, &replaying->store_path);
    if (end == RC_OPTIONS_HELPED) {
        return 0;
    }
    if (end == RC_OPTIONS_READ && !replaying->has_flight) {
        rc_say_line("replay wants a flight: --flight N (see: rollcast replay --help)");
    } else if (end == RC_OPTIONS_READ) {
        return -1;
    }
    return rc_status_exit_code(RC_USAGE);
}

int rc_cmd_replay(int argc, char **argv)
{
    struct replaying replaying = {.path = "-"};
    const int ended = read_command_line(&replaying, argc, argv);
    if (ended >= 0) {
        return ended;
    }

    rc_results *results = NULL;
    struct rc_error err = {0};
    const rc_status status = rc_results_open(&results, replaying.store_path, &err);
    const int code = status == RC_OK ? replay(&replaying, results) : rc_say_error(&err, replaying.store_path);
    rc_results_close(results);
    return code;
}
