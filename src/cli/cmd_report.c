/* `rollcast report`: stores as one page that stands alone. Wording and layout are the library's, drawing is gnuplot's. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "commands.h"
#include "gathered.h"
#include "gnuplot.h"
#include "options.h"
#include "output.h"
#include "rollcast/rollcast.h"
#include "say.h"
#include "stores.h"

/* What was asked for. */
struct reporting {
    int n_stores;
    const char *path[RC_REPORT_MAX_STORES];
    rc_results *results[RC_REPORT_MAX_STORES];
    rc_campaign *campaign[RC_REPORT_MAX_STORES];
    const char *page_path, *trade_folder, *trade_of;
    int overwrite, is_json;
};

/* Can anything be drawn? Asked first, so that nobody waits for a large store only to be told that gnuplot is not there. */
static int try_gnuplot(void)
{
    struct rc_error err = {0};
    char *svg = NULL;
    const rc_status status = rc_gnuplot_draw(NULL, "set terminal svg\n", &svg, &err);
    free(svg);
    return status == RC_OK ? 0 : rc_say_error(&err, "report");
}

/* in json where what the page shows goes, NULL = nowhere */
static int write_page(const struct reporting *reporting, FILE *json)
{
    struct rc_report_store store[RC_REPORT_MAX_STORES];
    const struct rc_report_drawing drawing = {.draw = rc_gnuplot_draw};
    const struct rc_report_swept trade = {.folder = reporting->trade_folder, .of = reporting->trade_of};
    struct rc_output page = {0};
    struct rc_error err = {0};

    for (int at = 0; at < reporting->n_stores; at++) {
        store[at] = (struct rc_report_store){reporting->path[at], reporting->results[at], reporting->campaign[at]};
    }
    int code = rc_output_open(&page, reporting->page_path, reporting->overwrite);
    if (code != 0) {
        return code;
    }
    const struct rc_page_request request = {.n_stores = reporting->n_stores,
                                            .store = store,
                                            .trade = trade.folder != NULL ? &trade : NULL,
                                            .drawing = &drawing,
                                            .path = reporting->page_path};
    const rc_status status = rc_report_page(page.out, json, &request, &err);
    code = rc_output_close(&page, status == RC_OK);
    return status != RC_OK ? rc_say_error(&err, reporting->path[0]) : code;
}

/* The page, and only once it is in its place what it shows. */
static int write_and_tell(const struct reporting *reporting)
{
    struct rc_gathered told = {.out = NULL};
    struct rc_error err = {0};
    if (!reporting->is_json) {
        return write_page(reporting, NULL);
    }
    int code = rc_gathered_open(&told) ? write_page(reporting, told.out) : 0;
    if (code == 0) {
        code = rc_gathered_close(&told, RC_OK, &err, reporting->page_path);
    }
    if (code == 0) {
        rc_gathered_print(&told, 1);
    }
    rc_gathered_free(&told);
    return code;
}

/* Read the command line.
 * ends -1 to go on, otherwise the exit code */
static int read_command_line(struct reporting *reporting, int argc, char **argv)
{
    const struct rc_option options[] = {
        {.name = "output",
         .letter = 'o',
         .kind = RC_OPTION_TEXT,
         .value = "FILE",
         .target = &reporting->page_path,
         .help = "the page; wanted. - is standard output"},
        {.name = "trade",
         .kind = RC_OPTION_TEXT,
         .value = "FOLDER",
         .target = &reporting->trade_folder,
         .help = "show the odds against the settings that rollcast trade --vary flew into FOLDER"},
        {.name = "of",
         .kind = RC_OPTION_TEXT,
         .value = "NAME",
         .target = &reporting->trade_of,
         .help = "with --trade: the criterion that counts; else all together"},
        {.name = "json",
         .kind = RC_OPTION_FLAG,
         .target = &reporting->is_json,
         .help = "say at the end as JSON what was written: stores, verdicts, odds"},
        {.name = "overwrite", .kind = RC_OPTION_FLAG, .help = "replace FILE if it exists", .target = &reporting->overwrite},
    };
    const struct rc_command command = {"report",
                                       "A store as one HTML page that needs no network: verdict, criteria, figures with their\n"
                                       "numbers, single flights, what was flown. Several stores stand side by side. Figures are\n"
                                       "drawn by gnuplot.",
                                       "STORE",
                                       RC_REPORT_MAX_STORES,
                                       sizeof options / sizeof options[0],
                                       options};

    const enum rc_options_end end = rc_options_read(&command, argc, argv, reporting->path);
    if (end == RC_OPTIONS_HELPED) {
        return 0;
    }
    if (end == RC_OPTIONS_READ && reporting->page_path == NULL) {
        rc_say_line("report wants a page to write: -o FILE (see: rollcast report --help)");
    } else if (end == RC_OPTIONS_READ && reporting->trade_of != NULL && reporting->trade_folder == NULL) {
        rc_say_line("--of goes with --trade FOLDER (see: rollcast report --help)");
    } else if (end == RC_OPTIONS_READ && reporting->is_json && strcmp(reporting->page_path, "-") == 0) {
        rc_say_line("--json goes with a page in a file: standard output is the answer's (see: rollcast report --help)");
    } else if (end == RC_OPTIONS_READ) {
        return -1;
    }
    return rc_status_exit_code(RC_USAGE);
}

int rc_cmd_report(int argc, char **argv)
{
    struct reporting reporting = {0};
    int code = read_command_line(&reporting, argc, argv);
    if (code >= 0) {
        return code;
    }
    code = try_gnuplot();
    while (code == 0 && reporting.n_stores < RC_REPORT_MAX_STORES && reporting.path[reporting.n_stores] != NULL) {
        const int at = reporting.n_stores++;
        code = rc_stores_open(&reporting.results[at], &reporting.campaign[at], reporting.path[at]);
    }
    if (code == 0) {
        code = write_and_tell(&reporting);
    }
    for (int at = 0; at < reporting.n_stores; at++) {
        rc_campaign_free(reporting.campaign[at]);
        rc_results_close(reporting.results[at]);
    }
    return code;
}
