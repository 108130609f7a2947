/* The program's entry: which command, its help, version and exit code. Each command is in its cmd_*.c. */
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "commands.h"
#include "nearest.h"
#include "rollcast/rollcast.h"
#include "say.h"

/* One command of the program. */
struct verb {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *summary;
};

static const struct verb verbs[] = {
    {"check", rc_cmd_check, "say what a campaign means, and every mistake in it"},
    {"fly", rc_cmd_fly, "fly a campaign into a store, or go on with one"},
    {"merge", rc_cmd_merge, "put the shards of a run into one store"},
    {"odds", rc_cmd_odds, "answer from a store: the odds of every criterion, GO or NO-GO"},
    {"rank", rc_cmd_rank, "which uncertainty matters most, and what tightening each would buy"},
    {"report", rc_cmd_report, "write stores as one HTML page with figures"},
    {"size", rc_cmd_size, "how many flights a demonstration takes, and what flights show"},
    {"trade", rc_cmd_trade, "compare designs on the same flights; how far may a number be relaxed?"},
    {"replay", rc_cmd_replay, "fly one stored flight again and write its history as CSV"},
};
enum { N_VERBS = sizeof verbs / sizeof verbs[0] };

static void print_usage(FILE *out)
{
    fprintf(out, "Usage: rollcast COMMAND [OPTION]... FILE\n"
                 "Odds of usable footage from a camera platform that a motor turns against the roll.\n\n"
                 "Commands:\n");
    for (int verb = 0; verb < N_VERBS; verb++) {
        fprintf(out, "  %-8s %s\n", verbs[verb].name, verbs[verb].summary);
    }
    fprintf(out, "\nOptions:\n"
                 "  -h, --help     print this help; after a command: that command's help\n"
                 "      --version  print the version\n\n"
                 "Exit codes: 0 done, 1 the verdict is not GO (odds --strict), 2 usage, 3 bad input,\n"
                 "4 reading, writing or the store, 5 stopped early but can be resumed, 70 internal.\n");
}

/* A store opened on a closed standard descriptor would receive our messages: fill the gaps with descriptors that
 * refuse what the standard one is for, so that writing an answer still fails and is noticed. */
static int fill_standard_descriptors(void)
{
    for (int descriptor = 0; descriptor <= 2; descriptor++) {
        if (fcntl(descriptor, F_GETFD) == -1 && open("/dev/null", descriptor == 0 ? O_WRONLY : O_RDONLY) != descriptor) {
            return 0;
        }
    }
    return 1;
}

static int refuse(const char *word)
{
    const char *names[N_VERBS];
    for (int verb = 0; verb < N_VERBS; verb++) {
        names[verb] = verbs[verb].name;
    }
    const char *nearest = rc_nearest_name(word, names, N_VERBS);
    const char *kind = word[0] == '-' ? "option" : "command";
    if (nearest != NULL && word[0] != '-') {
        rc_say_line("unknown %s '%s'; the nearest is '%s' (see: rollcast --help)", kind, word, nearest);
    } else {
        rc_say_line("unknown %s '%s' (see: rollcast --help)", kind, word);
    }
    return rc_status_exit_code(RC_USAGE);
}

static int run(int argc, char **argv)
{
    if (argc < 2) {
        print_usage(stderr);
        return rc_status_exit_code(RC_USAGE);
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        print_usage(stdout);
        return 0;
    }
    if (strcmp(argv[1], "--version") == 0) {
        printf("rollcast %s\n", rc_version());
        return 0;
    }
    for (int verb = 0; verb < N_VERBS; verb++) {
        if (strcmp(argv[1], verbs[verb].name) == 0) {
            return verbs[verb].run(argc - 1, argv + 1);
        }
    }
    return refuse(argv[1]);
}

int main(int argc, char **argv)
{
    if (!fill_standard_descriptors()) {
        return rc_status_exit_code(RC_IO);
    }
    return rc_say_finish(run(argc, argv));
}
