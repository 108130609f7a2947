/* Runs after rare outcomes, whatever their method: margin of a flight, the rule and its text, the table of methods. */
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/base.h"
#include "rollcast/rare.h"

/* Version of the methods' steps; goes up whenever they ask for other flights. */
enum { STEPS = 2 };

double rc_rare_margin(const struct rc_criterion *criterion, double value, double end)
{
    const double margin = fmin(value - criterion->at_least, criterion->at_most - value);
    if (!rc_odds_is_met(criterion, value, end))
        return isfinite(margin) && margin < 0.0 ? margin : -DBL_MAX / 4.0; /* finite, and beyond every other */
    return isfinite(margin) && margin > 0.0 ? margin : DBL_MIN;
}

/* What the table of methods holds of each. */
static const struct {
    const char *name, *label;
    rc_status (*run)(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_options *options,
                     struct rc_error *err);
    int64_t (*most)(const struct rc_rare_rule *rule);
} methods[] = {
#define METHOD(id, name, label, run, most) [RC_RARE_##id] = {name, label, run, most},
    RC_RARE_METHODS(METHOD)
#undef METHOD
};

enum rc_rare_method rc_rare_find(const char *name)
{
    for (int method = RC_RARE_NONE + 1; method < RC_RARE_METHODS_END; method++) {
        if (strcmp(methods[method].name, name) == 0)
            return (enum rc_rare_method)method;
    }
    return RC_RARE_NONE;
}

const char *rc_rare_name(enum rc_rare_method method)
{
    return methods[method].name;
}

const char *rc_rare_label(enum rc_rare_method method)
{
    return methods[method].label;
}

void rc_rare_write(const struct rc_rare_rule *rule, char *text)
{
    const int steps = rule->steps != 0 ? rule->steps : STEPS;
    text[0] = '\0';
    if (rule->method == RC_RARE_NONE)
        return;
    const int n = snprintf(text, RC_STOP_TEXT, "rare by %s, criterion %d, %d flights a level, %d repeats",
                           methods[rule->method].name, rule->criterion, rule->per_level, rule->repeats);
    if (steps > 1) /* the first version's text did not tell them */
        (void)snprintf(text + n, RC_STOP_TEXT - (size_t)n, ", steps %d", steps);
}

int rc_rare_read(struct rc_rare_rule *rule, const char *text)
{
    char method[16] = "";
    *rule = (struct rc_rare_rule){.method = RC_RARE_NONE, .steps = 1};
    if (sscanf(text, "rare by %15[a-z], criterion %d, %d flights a level, %d repeats, steps %d", method, &rule->criterion,
               &rule->per_level, &rule->repeats, &rule->steps) >= 4)
        rule->method = rc_rare_find(method);
    return rule->method != RC_RARE_NONE && rule->criterion >= 0;
}

rc_status rc_rare_run(struct rc_rare *rare, const struct rc_rare_problem *problem, const struct rc_rare_rule *rule,
                      const struct rc_rare_options *options, struct rc_error *err)
{
    struct rc_rare_options all = *options;
    if (rule->steps != 0 && rule->steps != STEPS)
        return rc_error_fill(err, RC_OTHER_STORE, NULL,
                             "its flights were chosen by steps %d of %s, this version has steps %d; use the version that filled "
                             "it", rule->steps, methods[rule->method].label, STEPS);
    all.n_per_level = rule->per_level;
    all.n_repeats = rule->repeats;
    all.n_levels = RC_RARE_LEVELS;
    return methods[rule->method].run(rare, problem, &all, err);
}

int64_t rc_rare_most_flights(const struct rc_rare_rule *rule)
{
    return methods[rule->method].most(rule);
}
