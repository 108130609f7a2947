/* Turns the settings of criteria into criteria. Types and ranges of single entries are setup.c's; odds are analysis's. */
#include "criteria.h"

#include <math.h>
#include <string.h>

#include "measures/measures.h"
#include "base/suggest.h"

static const char together_name[] = "all together";

static void check_share(const struct rc_reader *reader, const char *path, const char *key, double value)
{
    char place[RC_MAX_PATH_TEXT + 16];
    (void)snprintf(place, sizeof place, "%s.%s", path, key);
    const cJSON *node = rc_read_node(reader, place);
    if (!cJSON_IsNumber(node) || node->valuedouble < 0 || node->valuedouble > 1)
        return; /* missing or refused: said where entries are read */
    if (!(value > 0 && value < 1))
        rc_read_report(reader, path, key, "got %.10g, wanted a share above 0 and below 1, such as 0.9", value);
}

static void check_limits(const struct rc_reader *reader, const char *path, const struct rc_criterion_settings *settings)
{
    if (isinf(settings->at_least) && isinf(settings->at_most))
        rc_read_report(reader, path, NULL, "has no limit; give at_least, at_most or both");
    else if (settings->at_least > settings->at_most)
        rc_read_report(reader, path, NULL, "at_least is %.10g, above at_most, which is %.10g: no value can meet both",
                       settings->at_least, settings->at_most);
}

static int find_measure(const struct rc_reader *reader, const char *path, const char *name)
{
    const int measure = rc_measures_find(name);
    if (name[0] == '\0' || (measure >= 0 && rc_measures_is_formula(measure) == reader->is_formula))
        return measure;
    if (measure >= 0) {
        rc_read_report(reader, path, "measure", "got \"%.60s\", wanted %s", name,
                       reader->is_formula ? "\"result\", the only measure of a formula"
                                          : "a measure of a flight: only a campaign with \"formula\" has a result");
        return -1;
    }
    struct rc_suggest search = {.wanted = name};
    for (int index = 0; index < RC_N_MEASURES; index++)
        if (rc_measures_is_formula(index) == reader->is_formula)
            rc_suggest_offer(&search, rc_measures_row(index)->name, strlen(rc_measures_row(index)->name));
    char hint[128];
    rc_suggest_text(&search, hint, sizeof hint);
    rc_read_report(reader, path, "measure", "unknown measure \"%.60s\"%s", name,
                   hint[0] != '\0' ? hint : "; the campaign reference lists the known ones");
    return -1;
}

static void check_name(const struct rc_reader *reader, const char *path, const struct rc_settings *settings, int index)
{
    const char *name = settings->criteria[index].name;
    if (strcmp(name, together_name) == 0)
        rc_read_report(reader, path, "name", "\"%s\" is the name of the line for all criteria; choose another", together_name);
    for (int other = 0; other < index && name[0] != '\0'; other++) {
        if (strcmp(settings->criteria[other].name, name) == 0)
            rc_read_report(reader, path, "name", "the name \"%s\" is that of criterion %d too; choose another", name, other);
    }
}

/* The criterion whose failures a run is to go after must be there; levels are whole tenths. */
static void check_rare(const struct rc_reader *reader, const struct rc_settings *settings)
{
    const char *name = settings->rare_criterion;
    bool is_known = name[0] == '\0';
    for (int index = 0; index < settings->n_criteria && !is_known; index++)
        is_known = strcmp(settings->criteria[index].name, name) == 0;
    if (!is_known)
        rc_read_report(reader, "run.rare.criterion", NULL, "no criterion has the name \"%.60s\"%s", name,
                       strcmp(name, together_name) == 0 ? ", which is all of them at once; name one" : "");
    else if (settings->rare_method != 0 && name[0] == '\0' && settings->n_criteria > 1)
        rc_read_report(reader, "run.rare.criterion", NULL, "is missing: wanted the name of the criterion whose failures are"
                       " rare");
    if (settings->rare_method != 0 && (settings->stop_on_verdict || settings->stop_width > 0 || settings->stop_seconds > 0))
        rc_read_report(reader, "run.stop", NULL,
                       "does not go with run.rare, whose method ends by itself; take out one of them");
    if (settings->rare_per_level % 10 != 0)
        rc_read_report(reader, "run.rare.flights_per_level", NULL, "got %lld, wanted a multiple of 10",
                       (long long)settings->rare_per_level);
}

void rc_criteria_make(struct rc_criterion *criterion, struct rc_criterion *together, const struct rc_reader *reader,
                      const struct rc_settings *settings)
{
    for (int index = 0; index < settings->n_criteria; index++) {
        const struct rc_criterion_settings *from = &settings->criteria[index];
        char path[RC_MAX_PATH_TEXT];
        (void)snprintf(path, sizeof path, "criteria[%d]", index);
        criterion[index] = (struct rc_criterion){.measure = find_measure(reader, path, from->measure),
                                                 .at_least = from->at_least,
                                                 .at_most = from->at_most,
                                                 .odds = from->odds,
                                                 .confidence = from->confidence};
        memcpy(criterion[index].name, from->name, sizeof criterion[index].name);
        criterion[index].name[sizeof criterion[index].name - 1] = '\0';
        check_name(reader, path, settings, index);
        check_limits(reader, path, from);
        check_share(reader, path, "odds", from->odds);
        check_share(reader, path, "confidence", from->confidence);
    }
    check_rare(reader, settings);
    *together = (struct rc_criterion){.measure = -1,
                                      .at_least = -INFINITY,
                                      .at_most = INFINITY,
                                      .odds = settings->all_together.odds,
                                      .confidence = settings->all_together.confidence};
    memcpy(together->name, together_name, sizeof together_name);
    check_share(reader, "all_together", "odds", settings->all_together.odds);
    check_share(reader, "all_together", "confidence", settings->all_together.confidence);
}
