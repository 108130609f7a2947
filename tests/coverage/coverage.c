/* Coverage, measured: many small campaigns with known odds go through the plans and the analysis; how often does a 95 % interval
 * hold the truth, and how often does a stop rule pass a design that just misses? Prints the tables of docs/coverage.md and fails
 * where an interval holds less than 94 %, or a rule passes more than 6 %, here twice the standard error of that aside.
 *
 * usage: coverage [CAMPAIGNS [all|rules|FLIGHTS [PLAN]]]: with `rules` only the stop rules, with FLIGHTS only the plans and only
 * campaigns of that many flights
 *
 * A flight's quantities are correlated normals, a lognormal, a uniform and a Weibull, each through its distribution; a flight
 * passes when a weighted sum of their normal scores is below a limit, so the odds are those of a normal variable and exact. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "rollcast/analysis.h"
#include "world.h"

enum { N_ODDS = 5, N_SIZES = 2, N_STATES_OF_ODDS = 2 };

static const double true_odds[N_ODDS] = {0.5, 0.9, 0.97, 0.99, 0.999};
static const int sizes[N_SIZES] = {512, 2048};

/* Campaigns of each size, in multiples of what is asked: an exact interval holds little more than 95 %, and 94 % must be told
 * from it. */
static const int repeats[N_SIZES] = {4, 2};

struct tally {
    int n, held, low_held, high_held;
    double width, standard_error, flights;
};

static int n_failed = 0;

static void hold(double share, double least, const char *what)
{
    n_failed += !world_holds(share, least, what);
}

/* Does a flight pass that passes below that limit? */
static int flies_well(const struct world *world, const struct rc_plan_kind *plan, double limit, uint64_t seed, uint64_t flight)
{
    double x[N_QUANTITIES];
    return world_score(world, plan, seed, flight, x) <= limit;
}

static struct rc_odds odds_of(const struct rc_replicates *replicates, const struct rc_plan_kind *plan,
                              const struct rc_criterion *criterion)
{
    if (plan->n_replicates > 0)
        return rc_odds_from_replicates(replicates, criterion);
    int64_t passed = 0;
    int64_t flights = 0;
    for (int index = 0; index < replicates->n; index++) {
        passed += replicates->passed[index];
        flights += replicates->flights[index];
    }
    return rc_odds_from_count(passed, flights, criterion);
}

/* One cell of the first table: a plan at a fixed number of flights. */
static void cover_fixed(const struct world *world, const struct rc_plan_kind *plan, double truth, int n_flights, int n_campaigns)
{
    const struct rc_criterion criterion = {.odds = truth, .confidence = 0.95};
    const double limit = rc_special_normal_quantile(truth);
    struct tally tally = {.n = 0};
    for (int campaign = 0; campaign < n_campaigns; campaign++) {
        struct rc_replicates replicates = {.n = RC_REPLICATES};
        for (int flight = 0; flight < n_flights; flight++) {
            if (plan->counts && !plan->counts(&world->sampling, (uint64_t)flight))
                continue;
            replicates.flights[flight % RC_REPLICATES]++;
            replicates.passed[flight % RC_REPLICATES] += flies_well(world, plan, limit, (uint64_t)campaign, (uint64_t)flight);
        }
        const struct rc_odds odds = odds_of(&replicates, plan, &criterion);
        tally.held += odds.interval_low <= truth && truth <= odds.interval_high;
        tally.low_held += odds.bound_low <= truth;
        tally.high_held += odds.bound_high >= truth;
        tally.width += odds.interval_high - odds.interval_low;
        tally.standard_error += (odds.estimate - truth) * (odds.estimate - truth);
    }
    const double n = n_campaigns;
    (void)printf("| %s | %.3f | %d | %d | %.4f | %.4f | %.4f | %.4f | %.4f |\n", plan->name, truth, n_flights, n_campaigns,
                 tally.held / n, tally.low_held / n, tally.high_held / n, tally.width / n, sqrt(tally.standard_error / n));
    char what[96];
    (void)snprintf(what, sizeof what, "%s, odds %.3f, %d flights: coverage", plan->name, truth, n_flights);
    hold(tally.held / n, 0.94, what);
    hold(tally.low_held / n, 0.94, what);
    hold(tally.high_held / n, 0.94, what);
    (void)fflush(stdout);
}

static int is_wanted(const struct rc_plan_kind *plan, const char *only_plan)
{
    return only_plan[0] == '\0' || strcmp(plan->name, only_plan) == 0;
}

static void table_of_plans(int n_campaigns, int only_size, const char *only_plan)
{
    for (int state = 0; state < N_STATES_OF_ODDS; state++) {
        (void)printf("\nLimit state: %s\n\n"
                     "| plan | true odds | flights | campaigns | two-sided | lower bound | upper bound | mean width | "
                     "rms error |\n"
                     "|---|---|---|---|---|---|---|---|---|\n",
                     world_name(state));
        for (int row = 0; row < rc_plan_count() * N_ODDS * N_SIZES; row++) {
            const int n_flights = sizes[row % N_SIZES];
            const double truth = true_odds[row / N_SIZES % N_ODDS];
            struct world world;
            const struct rc_plan_kind *plan = rc_plan_at(row / N_SIZES / N_ODDS);
            if ((only_size > 0 && n_flights != only_size) || !is_wanted(plan, only_plan) ||
                !world_make(&world, state, n_flights))
                continue;
            cover_fixed(&world, plan, truth, n_flights, n_campaigns * repeats[row % N_SIZES]);
            world_free(&world);
        }
    }
}

/* How a campaign under a stop rule ended. */
struct ended {
    struct rc_replicates counts;
    int64_t flights;
    struct rc_odds odds;           /* of the last look or of the end */
    int held;                      /* did every interval shown on the way, and every bound, hold the truth? */
};

enum { N_MOST = 4096 };

struct rule {
    const char *name;
    struct rc_stop_rule rule;
};

/* Replicated plans gain so much on the first limit state that they are asked for half the width. */
static const struct rule rules[] = {
    {"verdict", {.on_verdict = 1, .most = N_MOST}},
    {"width 0.06", {.width = 0.06, .most = N_MOST}},
    {"width 0.03", {.width = 0.03, .most = N_MOST}},
    {"time", {.seconds = 1.0, .most = N_MOST}},
    {"verdict or time", {.on_verdict = 1, .seconds = 1.0, .most = N_MOST}},
    {"verdict, width 0.03 or time", {.on_verdict = 1, .width = 0.03, .seconds = 1.0, .most = N_MOST}},
};

static void look(struct ended *ended, const struct rule *rule, const struct rc_criterion *criterion)
{
    const double truth = criterion->odds;
    ended->odds = rc_stop_odds(&ended->counts, &rule->rule, criterion);
    ended->held &= ended->odds.interval_low <= truth && truth <= ended->odds.interval_high;
}

/* Of independent flights the interval alone: bounds and flights still needed take a hundred times as long, at 80 looks. */
static void look_on_the_way(struct ended *ended, const struct rule *rule, const struct rc_criterion *criterion)
{
    if (ended->counts.n > 1) {
        look(ended, rule, criterion);
        return;
    }
    const struct rc_range range = rc_sequence_interval(ended->counts.passed[0], ended->counts.flights[0], criterion->confidence, 1.0);
    ended->held &= range.low <= criterion->odds && criterion->odds <= range.high;
}

/* The flights of every campaign of a plan, flown once for all odds and rules. */
struct flown {
    const struct rc_plan_kind *plan;
    float *score; /* (campaigns x N_MOST) of each flight; NAN where it does not count */
};
enum { N_FLOWN_MOST = 8 };

static struct ended end_under(const struct rule *rule, const struct flown *flown, const struct rc_criterion *criterion, int campaign)
{
    const int n_replicates = flown->plan->n_replicates;
    const float *score = flown->score + (size_t)campaign * N_MOST;
    const double limit = rc_special_normal_quantile(criterion->odds);
    struct ended ended = {.counts = {.n = n_replicates > 0 ? n_replicates : 1}, .held = 1};
    /* a run by wall time ends anywhere, unrelated to its outcomes */
    const int64_t n_most = rule->rule.seconds > 0.0 ? 300 + (int64_t)(rc_stream_mix((uint64_t)campaign) % 3500U) : N_MOST;
    int64_t next = rc_stop_next_look(&rule->rule, n_replicates, 1);
    while (ended.flights < n_most) {
        const int replicate = (int)(ended.flights % ended.counts.n);
        if (!isnan(score[ended.flights])) {
            ended.counts.flights[replicate]++;
            ended.counts.passed[replicate] += (double)score[ended.flights] <= limit;
        }
        ended.flights++;
        if (ended.flights != next)
            continue;
        look_on_the_way(&ended, rule, criterion);
        if (rc_stop_reached(&rule->rule, 1, &ended.counts, criterion) != RC_STOP_NONE)
            break;
        next = rc_stop_next_look(&rule->rule, n_replicates, next + 1);
    }
    look(&ended, rule, criterion);
    return ended;
}

/* One row of the second table: the design's true odds are just those asked for, the hardest case for an honest verdict. */
static void cover_rule(const struct rule *rule, const struct flown *flown, double truth, int n_campaigns)
{
    const struct rc_criterion criterion = {.odds = truth, .confidence = 0.95};
    int held = 0, n_go = 0, n_no_go = 0;
    double flights = 0.0, bias = 0.0;
    for (int campaign = 0; campaign < n_campaigns; campaign++) {
        const struct ended ended = end_under(rule, flown, &criterion, campaign);
        held += ended.held;
        n_go += ended.odds.verdict == RC_VERDICT_GO;
        n_no_go += ended.odds.verdict == RC_VERDICT_NO_GO;
        flights += (double)ended.flights;
        bias += ended.odds.estimate - truth;
    }
    const double n = n_campaigns, least = 0.94 - 2.0 * sqrt(0.94 * 0.06 / n); /* what chance leaves of 94 % */
    const char *plan = flown->plan->name;
    (void)printf("| %s | %s | %.2f | %.4f | %.4f | %.4f | %.0f | %+.5f |\n", rule->name, plan, truth, held / n, n_go / n,
                 n_no_go / n, flights / n, bias / n);
    char what[128];
    (void)snprintf(what, sizeof what, "%s, %s, odds %.2f: coverage", rule->name, plan, truth);
    hold(held / n, least, what);
    (void)snprintf(what, sizeof what, "%s, %s, odds %.2f: share without a false GO", rule->name, plan, truth);
    hold(1.0 - n_go / n, least, what);
    (void)snprintf(what, sizeof what, "%s, %s, odds %.2f: share without a false NO-GO", rule->name, plan, truth);
    hold(1.0 - n_no_go / n, least, what);
    (void)fflush(stdout);
}

/* Fly all campaigns of a plan. ends 0 without memory */
static int fly_all(struct flown *flown, int n_campaigns)
{
    struct world world;
    flown->score = malloc((size_t)n_campaigns * N_MOST * sizeof *flown->score);
    if (!flown->score || !world_make(&world, 0, N_MOST))
        return 0;
    for (int64_t at = 0; at < (int64_t)n_campaigns * N_MOST; at++) {
        const uint64_t flight = (uint64_t)(at % N_MOST);
        double x[N_QUANTITIES];
        flown->score[at] = rc_plan_counts(flown->plan, &world.sampling, flight)
                               ? (float)world_score(&world, flown->plan, (uint64_t)(at / N_MOST), flight, x)
                               : NAN;
    }
    world_free(&world);
    return 1;
}

static void table_of_rules(int n_campaigns, const char *only_plan)
{
    static const double asked[] = {0.5, 0.9, 0.97};
    struct flown flown[N_FLOWN_MOST];
    int n_flown = 0;
    for (int plan = 0; plan < rc_plan_count() && n_flown < N_FLOWN_MOST; plan++) {
        if (!is_wanted(rc_plan_at(plan), only_plan))
            continue;
        flown[n_flown] = (struct flown){.plan = rc_plan_at(plan)};
        if (!fly_all(&flown[n_flown++], n_campaigns)) {
            n_failed++;
            return;
        }
    }
    (void)printf("\nStop rules, true odds = odds asked for; %d campaigns a row, up to %d flights\n\n"
                 "| rule | plan | odds | all intervals hold | false GO | false NO-GO | mean flights | bias of the estimate |\n"
                 "|---|---|---|---|---|---|---|---|\n",
                 n_campaigns, N_MOST);
    for (size_t rule = 0; rule < sizeof rules / sizeof rules[0]; rule++)
        for (int row = 0; row < n_flown * 3; row++)
            /* a paired run ends by number or time only */
            if (!flown[row / 3].plan->counts || rc_stop_look_count(&rules[rule].rule) == 0)
                cover_rule(&rules[rule], &flown[row / 3], asked[row % 3], n_campaigns);
    for (int row = 0; row < n_flown; row++)
        free(flown[row].score);
}

int main(int n_arguments, char **argument)
{
    const int n_campaigns = n_arguments > 1 ? atoi(argument[1]) : 1000;
    const char *part = n_arguments > 2 ? argument[2] : "";
    const char *plan = n_arguments > 3 ? argument[3] : "";
    if (n_campaigns < 1000) {
        (void)fprintf(stderr, "usage: coverage [CAMPAIGNS [all|rules|FLIGHTS [PLAN]]], at least 1000 campaigns\n");
        return 2;
    }
    if (strcmp(part, "rules") != 0)
        table_of_plans(n_campaigns, atoi(part), plan);
    if (atoi(part) == 0)
        table_of_rules(n_campaigns, plan);
    (void)printf("\n%d failed\n", n_failed);
    return n_failed > 0;
}
