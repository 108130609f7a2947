/* Coverage, measured: many small campaigns with known odds go through the plans and the analysis; how often does a 95 % interval
 * hold the truth, and how often does a stop rule pass a design that just misses? Prints the tables of docs/coverage.md and fails
 * where an interval holds less than 94 %, or a rule passes more than 6 %.
 *
 * usage: coverage [CAMPAIGNS [FLIGHTS]]: with FLIGHTS, only the plans and only campaigns of that many flights
 *
 * A flight's quantities are correlated normals, a lognormal, a uniform and a Weibull, each through its distribution; a flight
 * passes when a weighted sum of their normal scores is below a limit, so the odds are those of a normal variable and exact. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "rollcast/analysis.h"
#include "sampling/sampling.h"

enum { N_QUANTITIES = 5, N_ODDS = 5, N_SIZES = 2, N_LOOKS = 6 };

static const double true_odds[N_ODDS] = {0.5, 0.9, 0.97, 0.99, 0.999};
static const int sizes[N_SIZES] = {512, 2048};

/* Campaigns of each size, in multiples of what is asked: an exact interval holds little more than 95 %, and 94 % must be told
 * from it. */
static const int repeats[N_SIZES] = {4, 2};

/* What passes: one quantity rules, or all weigh the same. */
static const struct {
    const char *name;
    double weight[N_QUANTITIES];
} limit_states[] = {{"one rules", {0.9, 0.3, 0.2, 0.15, 0.1}}, {"all alike", {1.0, 1.0, 1.0, 1.0, 1.0}}};

struct world {
    struct rc_uncertain quantity[N_QUANTITIES];
    struct rc_sampling sampling;
    struct rc_copula *copula;
    double limit;              /* the weighted sum of scores that a passing flight stays below */
    const double *weight;
};

static const struct rc_rank_pair pairs[] = {{0, 1, 0.5}, {2, 3, -0.3}};

static int make_world(struct world *world, int limit_state, double odds, int n_flights)
{
    static const struct {
        const char *kind;
        double first, second;
    } law[N_QUANTITIES] = {{"normal", 3.0, 2.0}, {"lognormal", 1.0, 0.4}, {"uniform", -1.0, 1.0}, {"weibull", 2.0, 8.0},
                           {"normal", 0.0, 1.0}};
    memset(world, 0, sizeof *world);
    for (int index = 0; index < N_QUANTITIES; index++) {
        struct rc_uncertain *quantity = &world->quantity[index];
        (void)snprintf(quantity->path, sizeof quantity->path, "x[%d]", index);
        quantity->path_hash = rc_hash_bytes(RC_FNV_START, quantity->path, strlen(quantity->path));
        quantity->distribution.kind = rc_distribution_find(law[index].kind);
        quantity->distribution.p[0] = law[index].first;
        quantity->distribution.p[1] = law[index].second;
        quantity->low = -INFINITY;
        quantity->high = INFINITY;
    }
    world->sampling = (struct rc_sampling){.n = N_QUANTITIES, .quantity = world->quantity, .n_planned = (uint64_t)n_flights};
    struct rc_error err;
    if (rc_copula_create(&world->copula, &world->sampling, pairs, 2, &err) != RC_OK)
        return 0;
    world->sampling.copula = world->copula;
    world->weight = limit_states[limit_state].weight;
    double variance = 0.0;
    for (int index = 0; index < N_QUANTITIES; index++)
        variance += world->weight[index] * world->weight[index];
    for (int pair = 0; pair < 2; pair++)
        variance += 2.0 * world->weight[pairs[pair].first] * world->weight[pairs[pair].second] * 2.0 *
                    sin(acos(-1.0) / 6.0 * pairs[pair].rank);
    world->limit = sqrt(variance) * rc_special_normal_quantile(odds);
    return 1;
}

/* Does a flight pass? Scores come back from the drawn values, so the way there and back is in the measurement. */
static int flies_well(const struct world *world, const struct rc_plan_kind *plan, uint64_t seed, uint64_t flight)
{
    double x[N_QUANTITIES];
    plan->draw(&world->sampling, seed, flight, x);
    double sum = 0.0;
    for (int index = 0; index < N_QUANTITIES; index++) {
        const struct rc_distribution *law = &world->quantity[index].distribution;
        sum += world->weight[index] * rc_special_normal_quantile(law->kind->cdf(law->p, x[index]));
    }
    return sum <= world->limit;
}

struct tally {
    int n, held, low_held, high_held;
    double width, standard_error, flights;
};

static int n_failed = 0;

static void hold(double share, double least, const char *what)
{
    if (share >= least)
        return;
    n_failed++;
    (void)printf("FAILED: %s %.4f, wanted at least %.2f\n", what, share, least);
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
    struct tally tally = {.n = 0};
    for (int campaign = 0; campaign < n_campaigns; campaign++) {
        struct rc_replicates replicates = {.n = RC_REPLICATES};
        for (int flight = 0; flight < n_flights; flight++) {
            replicates.flights[flight % RC_REPLICATES]++;
            replicates.passed[flight % RC_REPLICATES] += flies_well(world, plan, (uint64_t)campaign, (uint64_t)flight);
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

static void table_of_plans(int n_campaigns, int only_size)
{
    for (size_t state = 0; state < sizeof limit_states / sizeof limit_states[0]; state++) {
        (void)printf("\nLimit state: %s\n\n"
                     "| plan | true odds | flights | campaigns | two-sided | lower bound | upper bound | mean width | "
                     "rms error |\n"
                     "|---|---|---|---|---|---|---|---|---|\n",
                     limit_states[state].name);
        for (int row = 0; row < rc_plan_count() * N_ODDS * N_SIZES; row++) {
            const int n_flights = sizes[row % N_SIZES];
            const double truth = true_odds[row / N_SIZES % N_ODDS];
            struct world world;
            if ((only_size > 0 && n_flights != only_size) || !make_world(&world, (int)state, truth, n_flights))
                continue;
            cover_fixed(&world, rc_plan_at(row / N_SIZES / N_ODDS), truth, n_flights, n_campaigns * repeats[row % N_SIZES]);
            rc_copula_free(world.copula);
        }
    }
}

/* How a campaign under a stop rule ended. */
struct ended {
    int64_t passed, flights;
    struct rc_replicates replicates;
    enum rc_verdict verdict;
    int held;                      /* did every interval shown on the way hold the truth? */
};

struct rule {
    const char *name;
    /* Look at the flights so far. ends whether to stop */
    int (*is_over)(struct ended *ended, const struct rc_plan_kind *plan, const struct rc_criterion *criterion, double truth);
    int first_look, every;   /* flights; every 0: doubling from the first look on */
    int needs_plain;
};

/* Doubling looks at exact or replicate bounds, each with its share of the risk. */
static int over_by_looks(struct ended *ended, const struct rc_plan_kind *plan, const struct rc_criterion *criterion, double truth)
{
    const struct rc_criterion stricter = rc_looks_criterion(criterion, N_LOOKS);
    const struct rc_odds odds = odds_of(&ended->replicates, plan, &stricter);
    ended->verdict = odds.verdict;
    ended->held &= odds.bound_low <= truth;
    return odds.verdict != RC_VERDICT_NOT_YET_KNOWN;
}

/* A verdict that may be read at any time. */
static int over_by_sequence(struct ended *ended, const struct rc_plan_kind *plan, const struct rc_criterion *criterion,
                            double truth)
{
    (void)plan;
    const struct rc_range range = rc_sequence_interval(ended->passed, ended->flights, criterion->confidence, 1.0);
    ended->verdict = rc_sequence_verdict(ended->passed, ended->flights, criterion);
    ended->held &= range.low <= truth && truth <= range.high;
    return ended->verdict != RC_VERDICT_NOT_YET_KNOWN;
}

/* Until the confidence sequence is narrow. */
static int over_by_width(struct ended *ended, const struct rc_plan_kind *plan, const struct rc_criterion *criterion, double truth)
{
    (void)plan;
    const struct rc_range range = rc_sequence_interval(ended->passed, ended->flights, criterion->confidence, 1.0);
    ended->held &= range.low <= truth && truth <= range.high;
    return range.high - range.low <= 0.06;
}

/* Until the replicates' interval is narrow, looking at doubling sizes with shared risk. */
static int over_by_replicate_width(struct ended *ended, const struct rc_plan_kind *plan, const struct rc_criterion *criterion,
                                   double truth)
{
    const struct rc_criterion stricter = rc_looks_criterion(criterion, N_LOOKS);
    const struct rc_odds odds = odds_of(&ended->replicates, plan, &stricter);
    ended->held &= odds.interval_low <= truth && truth <= odds.interval_high;
    return odds.interval_high - odds.interval_low <= 0.03;
}

/* A run of unforeseen length, as by wall time: the interval of that one look. */
static int over_by_time(struct ended *ended, const struct rc_plan_kind *plan, const struct rc_criterion *criterion, double truth)
{
    const struct rc_odds odds = odds_of(&ended->replicates, plan, criterion);
    ended->held &= odds.interval_low <= truth && truth <= odds.interval_high;
    ended->verdict = odds.verdict;
    return 1;
}

static const struct rule rules[] = {
    {"verdict, 6 doubling looks", over_by_looks, 128, 0, 0},
    {"verdict, any time", over_by_sequence, 10, 10, 1},
    {"width, any time", over_by_width, 10, 10, 1},
    {"width, 6 doubling looks", over_by_replicate_width, 128, 0, 0},
    {"wall time", over_by_time, 0, 0, 0},
};

static struct ended fly_under(const struct rule *rule, const struct world *world, const struct rc_plan_kind *plan,
                              const struct rc_criterion *criterion, uint64_t seed)
{
    struct ended ended = {.replicates = {.n = RC_REPLICATES}, .held = 1, .verdict = RC_VERDICT_NOT_YET_KNOWN};
    /* a run by wall time ends anywhere, unrelated to its outcomes */
    int64_t look = rule->first_look > 0 ? rule->first_look : 300 + (int64_t)(rc_stream_mix(seed) % 2000U);
    for (int64_t flight = 0; flight < 128 << (N_LOOKS - 1); flight++) {
        const int passed = flies_well(world, plan, seed, (uint64_t)flight);
        ended.passed += passed;
        ended.flights++;
        ended.replicates.flights[flight % RC_REPLICATES]++;
        ended.replicates.passed[flight % RC_REPLICATES] += passed;
        if (ended.flights < look)
            continue;
        if (rule->is_over(&ended, plan, criterion, criterion->odds))
            break;
        look += rule->every > 0 ? rule->every : look;
    }
    return ended;
}

/* One row of the second table: the design's true odds are just those asked for, the hardest case for an honest verdict. */
static void cover_rule(const struct rule *rule, const struct rc_plan_kind *plan, double truth, int n_campaigns)
{
    struct world world;
    if (!make_world(&world, 0, truth, 128 << (N_LOOKS - 1)))
        return;
    const struct rc_criterion criterion = {.odds = truth, .confidence = 0.95};
    int held = 0;
    int n_go = 0;
    int n_no_go = 0;
    double flights = 0.0;
    double bias = 0.0;
    for (int campaign = 0; campaign < n_campaigns; campaign++) {
        const struct ended ended = fly_under(rule, &world, plan, &criterion, (uint64_t)campaign);
        held += ended.held;
        n_go += ended.verdict == RC_VERDICT_GO;
        n_no_go += ended.verdict == RC_VERDICT_NO_GO;
        flights += (double)ended.flights;
        bias += (double)ended.passed / (double)ended.flights - truth;
    }
    rc_copula_free(world.copula);
    const double n = n_campaigns;
    (void)printf("| %s | %s | %.2f | %.4f | %.4f | %.4f | %.0f | %+.5f |\n", rule->name, plan->name, truth, held / n, n_go / n,
                 n_no_go / n, flights / n, bias / n);
    char what[128];
    (void)snprintf(what, sizeof what, "%s, %s, odds %.2f: coverage", rule->name, plan->name, truth);
    hold(held / n, 0.94, what);
    (void)snprintf(what, sizeof what, "%s, %s, odds %.2f: share without a false GO", rule->name, plan->name, truth);
    hold(1.0 - n_go / n, 0.94, what);
    (void)snprintf(what, sizeof what, "%s, %s, odds %.2f: share without a false NO-GO", rule->name, plan->name, truth);
    hold(1.0 - n_no_go / n, 0.94, what);
    (void)fflush(stdout);
}

static void table_of_rules(int n_campaigns)
{
    (void)printf("\nStop rules, true odds = odds asked for; %d campaigns a row, up to %d flights\n\n"
                 "| rule | plan | odds | all intervals hold | false GO | false NO-GO | mean flights | bias of the estimate |\n"
                 "|---|---|---|---|---|---|---|---|\n",
                 n_campaigns, 128 << (N_LOOKS - 1));
    static const double asked[] = {0.9, 0.97};
    for (size_t rule = 0; rule < sizeof rules / sizeof rules[0]; rule++) {
        for (int row = 0; row < rc_plan_count() * 2; row++) {
            const struct rc_plan_kind *plan = rc_plan_at(row / 2);
            if (!rules[rule].needs_plain || plan->n_replicates == 0)
                cover_rule(&rules[rule], plan, asked[row % 2], n_campaigns);
        }
    }
}

int main(int n_arguments, char **argument)
{
    const int n_campaigns = n_arguments > 1 ? atoi(argument[1]) : 1000;
    const int only_size = n_arguments > 2 ? atoi(argument[2]) : 0;
    if (n_campaigns < 1000) {
        (void)fprintf(stderr, "usage: coverage [CAMPAIGNS [FLIGHTS]], at least 1000 campaigns\n");
        return 2;
    }
    table_of_plans(n_campaigns, only_size);
    if (only_size == 0)
        table_of_rules(n_campaigns);
    (void)printf("\n%d failed\n", n_failed);
    return n_failed > 0;
}
