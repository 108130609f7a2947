/* `rollcast merge`: the shards of a run into one store. What must agree, and the copying, are the library's. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "commands.h"
#include "interrupt.h"
#include "options.h"
#include "rollcast/rollcast.h"
#include "say.h"

/* What the command line asks for. */
struct merging {
    const char **shard;      /* (n_shards), NULL after the last */
    int n_shards;
    const char *store_path;
    int is_json, is_quiet;
};

static int merge(const struct merging *merging)
{
    struct rc_merged merged = {0};
    struct rc_error err = {0};
    rc_interrupt_ignore();
    const rc_status status = rc_run_merge(merging->shard, merging->n_shards, merging->store_path, &merged, &err);
    if (status != RC_OK) {
        return rc_say_error(&err, merging->store_path);
    }
    if (merging->is_json) {
        rc_report_merge(stdout, merging->store_path, &merged);
    } else if (!merging->is_quiet) {
        char store[256];
        rc_say_shell_path(store, sizeof store, merging->store_path);
        fprintf(stderr, "%" PRId64 " flights of %d shards in %s, %d flown again, all bits equal; next: rollcast odds %s\n",
                merged.flights, merged.n_shards, store, merged.n_checked, store);
    }
    if (merged.is_mixed && !merging->is_quiet) {
        rc_say_line("some shards are of another compiler, lane count or system than this program; flights checked have its bits");
    }
    return 0;
}

int rc_cmd_merge(int argc, char **argv)
{
    struct merging merging = {.shard = calloc((size_t)argc + 1, sizeof *merging.shard)};
    const struct rc_option options[] = {
        {.name = "output", .letter = 'o', .kind = RC_OPTION_TEXT, .value = "STORE", .help = "the store to make; wanted",
         .target = &merging.store_path},
        {.name = "json", .kind = RC_OPTION_FLAG, .help = "say what was merged as JSON", .target = &merging.is_json},
        {.name = "quiet", .letter = 'q', .kind = RC_OPTION_FLAG, .help = "no closing line", .target = &merging.is_quiet},
    };
    const struct rc_command command = {"merge",
        "Put all shards of a run into one store, which has the bits of a run\n"
        "in one piece. Any order; each once; all of them, finished. Nothing is overwritten.",
        "SHARD", argc > 1 ? argc : 2, sizeof options / sizeof options[0], options};
    if (merging.shard == NULL) {
        rc_say_line("merge: %s", rc_status_text(RC_NO_MEMORY));
        return rc_status_exit_code(RC_NO_MEMORY);
    }

    int code = rc_status_exit_code(RC_USAGE);
    const enum rc_options_end end = rc_options_read(&command, argc, argv, merging.shard);
    while (end == RC_OPTIONS_READ && merging.shard[merging.n_shards] != NULL) {
        merging.n_shards++;
    }
    if (end == RC_OPTIONS_HELPED) {
        code = 0;
    } else if (end == RC_OPTIONS_READ && merging.store_path == NULL) {
        rc_say_line("merge wants a store to make: -o STORE (see: rollcast merge --help)");
    } else if (end == RC_OPTIONS_READ && strcmp(merging.store_path, "-") == 0) {
        rc_say_line("a store cannot be standard output: it is written in place; name a file");
    } else if (end == RC_OPTIONS_READ) {
        code = merge(&merging);
    }
    free(merging.shard);
    return code;
}
