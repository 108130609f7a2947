/* Turns pairs of paths into a copula. Whether the correlations can be together is sampling's to say. */
#include "correlations.h"

#include <stdlib.h>
#include <string.h>

#include "base/suggest.h"

/* The uncertain quantity of a path. ends -1 after reporting */
static int find_quantity(const struct rc_reader *reader, const struct rc_settings *settings, const struct rc_values *values,
                         const char *place, const char *key, const char *path)
{
    struct rc_suggest search = {.wanted = path};
    for (int index = 0; index < values->sampling.n; index++) {
        const char *known = values->uncertain[index].path;
        if (strcmp(known, path) == 0)
            return index;
        rc_suggest_offer(&search, known, strlen(known));
    }
    for (int index = 0; index < values->n; index++) {
        if (strcmp(values->entry[index].path, path) == 0) {
            rc_read_report(reader, place, key, "\"%.95s\" is fixed, wanted an uncertain quantity; give it a distribution", path);
            return -1;
        }
    }
    for (int index = 0; index < settings->n_inputs; index++) {
        if (strcmp(settings->inputs[index].name, path) == 0) {
            rc_read_report(reader, place, key, "\"%.63s\" is an input's name, wanted the path of its value: \"inputs[%d].value\"",
                           path, index);
            return -1;
        }
    }
    char hint[128];
    rc_suggest_text(&search, hint, sizeof hint);
    rc_read_report(reader, place, key, "got \"%.95s\", wanted the path of an uncertain quantity, as `check` names it%s", path,
                   hint);
    return -1;
}

/* Put a complaint about pair k of the copula at pair k of the list. */
static void report_pair(const struct rc_reader *reader, const struct rc_error *err)
{
    int index = -1;
    char place[RC_MAX_PATH_TEXT] = "correlations";
    if (sscanf(err->where, "pairs[%d]", &index) == 1)
        (void)snprintf(place, sizeof place, "correlations[%d]", index);
    rc_read_report(reader, place, NULL, "%s", err->what);
}

rc_status rc_correlations_make(struct rc_copula **copula, const struct rc_reader *reader, const struct rc_settings *settings,
                               const struct rc_values *values)
{
    struct rc_rank_pair pair[RC_MAX_CORRELATIONS];
    struct rc_error err = {.status = RC_OK};
    bool is_good = true;
    for (int index = 0; index < settings->n_correlations; index++) {
        const struct rc_correlation_settings *from = &settings->correlations[index];
        char place[RC_MAX_PATH_TEXT];
        (void)snprintf(place, sizeof place, "correlations[%d]", index);
        pair[index] = (struct rc_rank_pair){.first = find_quantity(reader, settings, values, place, "first", from->first),
                                            .second = find_quantity(reader, settings, values, place, "second", from->second),
                                            .rank = from->rank};
        is_good = is_good && pair[index].first >= 0 && pair[index].second >= 0;
    }
    if (!is_good || settings->n_correlations == 0)
        return RC_OK;
    const rc_status status = rc_copula_create(copula, &values->sampling, pair, settings->n_correlations, &err);
    if (status == RC_BAD_INPUT)
        report_pair(reader, &err);
    return status == RC_BAD_INPUT ? RC_OK : status;
}
