/* Coverage of the run modes for rare outcomes, measured: many runs on limit states whose odds are known; how often is a claim
 * made, and how often do its interval and its bounds hold the truth? Prints rows of docs/coverage.md.
 *
 * usage: rare_coverage [RUNS [FLIGHTS [REPEATS [METHOD [STATE]]]]]: runs of each row (a fifth of them where ten scores
 * or more are not simple, which takes long), flights a level, repeats, subset or importance, and the beginning of a limit state's
 * name
 *
 * It fails where the claims of a row hold so seldom that at a true coverage of 0.94 fewer than one row in a thousand would; where
 * all claims of a method together hold in less than 94 of 100; and where fewer than 90 of 100 runs on a simple state make a
 * claim, which is not asked of fewer than 300 flights a level. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "numeric/special.h"
#include "rollcast/rare.h"
#include "support/limit_states.h"

static const double wanted = 0.94, chance = 0.001, least_claims = 0.90;

/* Flights a level from which on a simple state must be claimed. */
enum { LEAST_SIMPLE = 300 };

struct tally {
    int runs, claims, held, low, high;
    double estimate, half_width, flights; /* sums over the claims, the runs' flights over all */
};

/* Would so few of n be met by chance less than once in a thousand rows, at a share of 0.94? */
static int is_too_few(int held, int n)
{
    return n > 0 && held < n && rc_special_beta_cdf(held + 1.0, n - held, wanted) > 1.0 - chance;
}

static void measure(struct tally *tally, const struct limit_state *state, double odds, const struct rc_rare_rule *rule)
{
    struct limit_state known = *state;
    const struct rc_rare_problem problem = {.n = state->n, .user = &known, .margins = limit_state_margins};
    for (int run = 0; run < tally->runs; run++) {
        const struct rc_rare_options options = {.seed = 1000 + (uint64_t)run, .confidence = 0.95};
        struct rc_rare rare = {.is_supported = 0};
        if (rc_rare_run(&rare, &problem, rule, &options, NULL) != RC_OK)
            exit(2);
        tally->flights += (double)rare.flights;
        if (!rare.is_supported)
            continue;
        tally->claims++;
        tally->held += rare.low <= odds && odds <= rare.high;
        tally->low += rare.bound_low <= odds;
        tally->high += odds <= rare.bound_high;
        tally->estimate += rare.odds / odds;
        tally->half_width += 0.5 * (rare.high - rare.low) / odds;
    }
}

/* One row of the table. ends what is wrong with it */
static const char *report(const struct tally *tally, const struct limit_state *state, double odds,
                          const struct rc_rare_rule *rule)
{
    const double n = tally->claims;
    printf("| %s | %s | %.3g | %d | %.3f |", rc_rare_name(rule->method), state->name, odds, tally->runs, n / tally->runs);
    if (tally->claims > 0)
        printf(" %.4f | %.4f | %.4f | %.3f | %+.3f |", tally->held / n, tally->low / n, tally->high / n, tally->half_width / n,
               tally->estimate / n - 1.0);
    else
        printf(" - | - | - | - | - |");
    printf(" %.0f |\n", tally->flights / tally->runs);
    (void)fflush(stdout);
    if (is_too_few(tally->held, tally->claims) || is_too_few(tally->low, tally->claims) || is_too_few(tally->high, tally->claims))
        return "claims that do not hold";
    const int must_claim = state->is_simple && rule->per_level >= LEAST_SIMPLE;
    return must_claim && n < least_claims * tally->runs ? "too few claims on a simple state" : NULL;
}

/* All rows of a method. ends how many are wrong */
static int measure_method(const struct rc_rare_rule *rule, int runs, const char *only, const struct reference *table)
{
    int claims = 0, held = 0, n_wrong = 0;
    for (int index = 0; index < limit_states_count; index++) {
        const struct limit_state *state = &limit_states[index];
        const double odds = limit_state_odds(state, table);
        struct tally tally = {.runs = state->n >= 10 && !state->is_simple ? (runs + 4) / 5 : runs};
        if (strncmp(state->name, only, strlen(only)) != 0)
            continue;
        measure(&tally, state, odds, rule);
        const char *wrong = report(&tally, state, odds, rule);
        if (wrong)
            printf("wrong: %s by %s: %s\n", state->name, rc_rare_name(rule->method), wrong);
        n_wrong += wrong != NULL;
        claims += tally.claims;
        held += tally.held;
    }
    printf("all claims by %s: %d of %d hold\n", rc_rare_name(rule->method), held, claims);
    return n_wrong + (held < wanted * claims);
}

int main(int argc, char **argv)
{
    const int runs = argc > 1 ? atoi(argv[1]) : 100;
    struct rc_rare_rule rule = {.per_level = argc > 2 ? atoi(argv[2]) : 300, .repeats = argc > 3 ? atoi(argv[3]) : 16};
    const enum rc_rare_method wanted_method = argc > 4 ? rc_rare_find(argv[4]) : RC_RARE_NONE;
    struct reference *table = reference_open("rare_event.csv");
    int n_wrong = 0;
    printf("| method | limit state | odds | runs | claims | interval | lower bound | upper bound | half width | bias | "
           "flights |\n"
           "|---|---|---|---|---|---|---|---|---|---|---|\n");
    for (int method = RC_RARE_NONE + 1; method < RC_RARE_METHODS_END; method++) {
        rule.method = (enum rc_rare_method)method;
        if (wanted_method == RC_RARE_NONE || wanted_method == rule.method)
            n_wrong += measure_method(&rule, runs, argc > 5 ? argv[5] : "", table);
    }
    reference_close(table);
    printf("%d rows wrong\n", n_wrong);
    return n_wrong > 0;
}
