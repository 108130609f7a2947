/* Stop rules: when to look, whether to end, and which interval then still holds. Counting flights is left to the caller. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "rollcast/analysis.h"

/* Under a plain plan the rule looks after every so many flights; the sequence would allow every flight. */
static const int64_t stride = 50;

/* Looks of a replicated plan begin here: fewer flights than this are too few for the spread of 16 replicates. */
static const int64_t first_look_least = 1024;
enum { LOOKS_MOST = 8 };

int rc_stop_is_set(const struct rc_stop_rule *rule)
{
    return rule->width > 0.0 || rule->seconds > 0.0 || rule->on_verdict;
}

static int looks_at_outcomes(const struct rc_stop_rule *rule)
{
    return rule->width > 0.0 || rule->on_verdict;
}

int rc_stop_look_count(const struct rc_stop_rule *rule)
{
    int n_looks = looks_at_outcomes(rule);
    while (n_looks > 0 && n_looks < LOOKS_MOST && rule->most >> n_looks >= first_look_least)
        n_looks++;
    return n_looks;
}

int64_t rc_stop_next_look(const struct rc_stop_rule *rule, int n_replicates, int64_t flights)
{
    if (!looks_at_outcomes(rule))
        return -1;
    if (n_replicates < 2)
        return flights < stride ? stride : (flights + stride - 1) / stride * stride;
    const int n_looks = rc_stop_look_count(rule);
    for (int look = 0; look < n_looks; look++) {
        const int64_t at = rc_looks_flights(rule->most, n_looks, look);
        if ((at < rule->most ? at : rule->most) >= flights)
            return at < rule->most ? at : rule->most;
    }
    return -1;
}

static void add_up(const struct rc_replicates *counts, int64_t *passed, int64_t *flights)
{
    *passed = *flights = 0;
    for (int index = 0; index < counts->n; index++) {
        *passed += counts->passed[index];
        *flights += counts->flights[index];
    }
}

/* The odds that a one-sided sequence parts from the true ones: the greatest that are GO, or the least that are NO-GO. */
static double sequence_bound(int64_t passed, int64_t flights, double confidence, enum rc_verdict side)
{
    double parted = side == RC_VERDICT_GO ? 0.0 : 1.0;
    double open = flights > 0 ? (double)passed / (double)flights : 1.0 - parted;
    for (int round = 0; round < 60; round++) {
        const struct rc_criterion at = {.odds = 0.5 * (parted + open), .confidence = confidence};
        if (rc_sequence_verdict(passed, flights, &at) == side)
            parted = at.odds;
        else
            open = at.odds;
    }
    return parted;
}

/* Flights until the sequence gives a verdict if the share of passes stays what it is. */
static int64_t more_by_sequence(const struct rc_odds *odds, const struct rc_criterion *criterion)
{
    const double most = 1e12;
    double unsettled = (double)odds->flights, settled = unsettled;
    do {
        settled *= 2.0;
        if (settled > most)
            return -1;
    } while (rc_sequence_verdict((int64_t)(odds->estimate * settled), (int64_t)settled, criterion) == RC_VERDICT_NOT_YET_KNOWN);
    while (settled - unsettled > 1.0) {
        const double middle = floor(0.5 * (unsettled + settled));
        if (rc_sequence_verdict((int64_t)(odds->estimate * middle), (int64_t)middle, criterion) == RC_VERDICT_NOT_YET_KNOWN)
            unsettled = middle;
        else
            settled = middle;
    }
    return (int64_t)settled - odds->flights;
}

static struct rc_odds odds_from_sequence(int64_t passed, int64_t flights, const struct rc_criterion *criterion)
{
    struct rc_odds odds = {.passed = passed, .flights = flights, .estimate = NAN, .interval_high = 1.0, .bound_high = 1.0,
                           .verdict = RC_VERDICT_NOT_YET_KNOWN, .more_flights = -1};
    if (flights < 1)
        return odds;
    const struct rc_range range = rc_sequence_interval(passed, flights, criterion->confidence, 1.0);
    odds.estimate = (double)passed / (double)flights;
    odds.interval_low = range.low;
    odds.interval_high = range.high;
    odds.bound_low = passed > 0 ? sequence_bound(passed, flights, criterion->confidence, RC_VERDICT_GO) : 0.0;
    odds.bound_high = passed < flights ? sequence_bound(passed, flights, criterion->confidence, RC_VERDICT_NO_GO) : 1.0;
    odds.verdict = rc_sequence_verdict(passed, flights, criterion);
    odds.more_flights = odds.verdict == RC_VERDICT_NOT_YET_KNOWN ? more_by_sequence(&odds, criterion) : 0;
    return odds;
}

struct rc_odds rc_stop_odds(const struct rc_replicates *counts, const struct rc_stop_rule *rule,
                            const struct rc_criterion *criterion)
{
    if (counts->n > 1) {
        const struct rc_criterion shared = rc_looks_criterion(criterion, rc_stop_look_count(rule) + 1);
        return rc_odds_from_replicates(counts, rc_stop_is_set(rule) ? &shared : criterion);
    }
    int64_t passed = 0, flights = 0;
    add_up(counts, &passed, &flights);
    return rc_stop_is_set(rule) ? odds_from_sequence(passed, flights, criterion) : rc_odds_from_count(passed, flights, criterion);
}

/* Verdict and width of one row, without what only an answer needs. */
static void look_at(enum rc_verdict *verdict, double *width, const struct rc_replicates *counts, const struct rc_stop_rule *rule,
                    const struct rc_criterion *criterion)
{
    if (counts->n > 1) {
        const struct rc_odds odds = rc_stop_odds(counts, rule, criterion);
        *verdict = odds.verdict;
        *width = odds.interval_high - odds.interval_low;
        return;
    }
    int64_t passed = 0, flights = 0;
    add_up(counts, &passed, &flights);
    const struct rc_range range = rc_sequence_interval(passed, flights, criterion->confidence, 1.0);
    *verdict = rc_sequence_verdict(passed, flights, criterion);
    *width = range.high - range.low;
}

enum rc_stop_reason rc_stop_reached(const struct rc_stop_rule *rule, int n_rows, const struct rc_replicates *counts,
                                    const struct rc_criterion *criteria)
{
    int n_go = 0, n_no_go = 0, n_narrow = 0;
    for (int row = 0; row < n_rows; row++) {
        enum rc_verdict verdict = RC_VERDICT_NOT_YET_KNOWN;
        double width = 1.0;
        look_at(&verdict, &width, &counts[row], rule, &criteria[row]);
        n_go += verdict == RC_VERDICT_GO;
        n_no_go += verdict == RC_VERDICT_NO_GO;
        n_narrow += width <= rule->width;
    }
    if (rule->on_verdict && (n_no_go > 0 || n_go == n_rows))
        return RC_STOP_VERDICT;
    return rule->width > 0.0 && n_narrow == n_rows ? RC_STOP_WIDTH : RC_STOP_NONE;
}

void rc_stop_write(const struct rc_stop_rule *rule, char *text)
{
    text[0] = '\0';
    if (rc_stop_is_set(rule))
        (void)snprintf(text, RC_STOP_TEXT, "width %llde-6, verdict %d, seconds %llde-3, of %lld flights",
                       llround(ceil(1e6 * rule->width)), rule->on_verdict != 0, llround(ceil(1e3 * rule->seconds)),
                       (long long)rule->most);
}

int rc_stop_read(struct rc_stop_rule *rule, const char *text)
{
    long long most = 0, width = 0, seconds = 0;
    *rule = (struct rc_stop_rule){0};
    if (text[0] == '\0')
        return 1;
    const int n = sscanf(text, "width %llde-6, verdict %d, seconds %llde-3, of %lld flights", &width, &rule->on_verdict,
                         &seconds, &most);
    rule->width = 1e-6 * (double)width;
    rule->seconds = 1e-3 * (double)seconds;
    rule->most = most;
    return n == 4 && width >= 0 && width <= 1000000 && seconds >= 0 && most >= 1 && rc_stop_is_set(rule);
}
