/* Coverage of what is said of a measure, measured: many small campaigns whose means and quantiles are known exactly; how often
 * does the interval of a mean, of a quantile, or a tolerance limit hold what it says? Prints tables of docs/coverage.md. It fails
 * where a 95 % interval or limit holds in less than 94 %, twice the standard error of that aside (see least_of_mean for the one
 * exception), and where an interval of a mean holds in more than 97.5 %.
 *
 * usage: measure_coverage [CAMPAIGNS [FLIGHTS]]: at least 1000 campaigns a row; without FLIGHTS campaigns of 512 and of 2048 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "numeric/sorted.h"
#include "rollcast/analysis.h"
#include "world.h"

enum { N_MEASURES = 2, N_SIZES = 2, N_MOST = 2048, ALL_ALIKE = 1 };

static const int sizes[N_SIZES] = {512, 2048};
static const double confidence = 0.95, least_share = 0.94, greatest_share = 0.975;
static int n_failed = 0;

/* What an interval of a mean holds at least. Student's t takes the replicates' means for normal; those of a skewed measure that
 * hangs on one quantity are not, as the farthest stratum or cell decides them, and 16 are few. docs/KNOWN_LIMITS.md says so. */
static double least_of_mean(int is_replicated, int is_skewed, int state)
{
    return is_replicated && is_skewed && state != ALL_ALIKE ? 0.90 : least_share;
}

/* A share less twice its standard error: what chance leaves of it. */
static double by_chance(double share, int n_campaigns)
{
    return share - 2.0 * sqrt(share * (1.0 - share) / n_campaigns);
}

static const char *const measure_names[N_MEASURES] = {"sum of the values", "exp of half the score"};

/* What a flight measures: a sum of what was drawn, each over its standard deviation, and a skewed measure of the outcome. */
static void measure(const struct world *world, const double *x, double score, double *value)
{
    value[0] = 0.0;
    for (int index = 0; index < N_QUANTITIES; index++)
        value[0] += world->weight[index] * x[index] / rc_distribution_sd(&world->quantity[index].distribution);
    value[1] = exp(0.5 * score);
}

/* Their means; that of a lognormal variable is exp(s^2/2) (any textbook). */
static void true_means(const struct world *world, double *mean)
{
    mean[0] = 0.0;
    for (int index = 0; index < N_QUANTITIES; index++) {
        const struct rc_distribution *law = &world->quantity[index].distribution;
        mean[0] += world->weight[index] * rc_distribution_mean(law) / rc_distribution_sd(law);
    }
    mean[1] = exp(0.125);
}

struct tally {
    int held;
    double width, square;
};

static void report_mean(const struct tally *tally, const char *plan, const char *name, double least, int n_flights,
                        int n_campaigns)
{
    const double n = n_campaigns, share = tally->held / n;
    char what[128];
    (void)printf("| %s | %s | %d | %d | %.4f | %.5f | %.5f |\n", plan, name, n_flights, n_campaigns, share, tally->width / n,
                 sqrt(tally->square / n));
    (void)fflush(stdout);
    (void)snprintf(what, sizeof what, "%s, mean of the %s, %d flights: coverage", plan, name, n_flights);
    n_failed += !world_holds(share, by_chance(least, n_campaigns), what);
    (void)snprintf(what, sizeof what, "%s, mean of the %s, %d flights: share that misses", plan, name, n_flights);
    n_failed += !world_holds(1.0 - share, 1.0 - greatest_share, what);
}

/* Two rows of the first table: a plan at a number of flights. */
static void cover_means(const struct world *world, int state, const struct rc_plan_kind *plan, int n_flights, int n_campaigns)
{
    struct tally tally[N_MEASURES] = {{0, 0.0, 0.0}};
    double truth[N_MEASURES];
    true_means(world, truth);
    for (int campaign = 0; campaign < n_campaigns; campaign++) {
        struct rc_mean_tally sums[N_MEASURES] = {{.n_replicates = plan->n_replicates}, {.n_replicates = plan->n_replicates}};
        for (int flight = 0; flight < n_flights; flight++) {
            double x[N_QUANTITIES], value[N_MEASURES];
            if (!rc_plan_counts(plan, &world->sampling, (uint64_t)flight))
                continue;
            measure(world, x, world_score(world, plan, (uint64_t)campaign, (uint64_t)flight, x), value);
            for (int index = 0; index < N_MEASURES; index++)
                rc_mean_add(&sums[index], flight, value[index]);
        }
        for (int index = 0; index < N_MEASURES; index++) {
            const struct rc_mean mean = rc_mean_of(&sums[index], confidence);
            tally[index].held += mean.low <= truth[index] && truth[index] <= mean.high;
            tally[index].width += mean.high - mean.low;
            tally[index].square += (mean.mean - truth[index]) * (mean.mean - truth[index]);
        }
    }
    for (int index = 0; index < N_MEASURES; index++)
        report_mean(&tally[index], plan->name, measure_names[index], least_of_mean(plan->n_replicates > 0, index == 1, state),
                    n_flights, n_campaigns);
}

static void table_of_means(int n_campaigns, int only_size)
{
    for (int state = 0; state < N_LIMIT_STATES; state++) {
        struct world world;
        for (int row = 0; row < rc_plan_count() * N_SIZES; row++) {
            const int n_flights = sizes[row % N_SIZES];
            if (!world_make(&world, state, n_flights))
                continue;
            if (row == 0)
                (void)printf("\nMeans, limit state: %s\n\n| plan | mean of the | flights | campaigns | interval | mean width | "
                             "rms error |\n|---|---|---|---|---|---|---|\n",
                             world_name(state));
            if (only_size == 0 || n_flights == only_size)
                cover_means(&world, state, rc_plan_at(row / N_SIZES), n_flights, n_campaigns);
            world_free(&world);
        }
    }
}

static const double shares[] = {0.01, 0.05, 0.25, 0.5, 0.75, 0.95, 0.99};
static const double coverages[] = {0.9, 0.95, 0.99};
enum { N_SHARES = sizeof shares / sizeof shares[0], N_COVERAGES = sizeof coverages / sizeof coverages[0], N_KINDS = 3 };
static const char *const kinds[N_KINDS] = {"above", "below", "between"};

struct ranks {
    int quantile[N_SHARES], limit[N_COVERAGES][N_KINDS]; /* campaigns in which it held */
};

/* The share of flights beyond a limit by rank, exactly: values are standard normal. Too few for a limit: all. */
static void count_limits(struct ranks *ranks, const double *value, int64_t n)
{
    for (int index = 0; index < N_COVERAGES; index++) {
        const int64_t one = rc_order_tolerance_order(coverages[index], confidence, 1, n);
        const int64_t two = rc_order_tolerance_order(coverages[index], confidence, 2, n);
        const double above = one > 0 ? rc_special_normal_cdf(-value[one - 1]) : 1.0;
        const double below = one > 0 ? rc_special_normal_cdf(value[n - one]) : 1.0;
        const double between = two > 0 ? rc_special_normal_cdf(value[n - two]) - rc_special_normal_cdf(value[two - 1]) : 1.0;
        ranks->limit[index][0] += above >= coverages[index];
        ranks->limit[index][1] += below >= coverages[index];
        ranks->limit[index][2] += between >= coverages[index];
    }
}

static void count_quantiles(struct ranks *ranks, const double *value, int64_t n)
{
    for (int index = 0; index < N_SHARES; index++) {
        const struct rc_order order = rc_order_interval(n, shares[index], confidence);
        const double truth = rc_special_normal_quantile(shares[index]);
        ranks->quantile[index] += (order.lower < 1 || value[order.lower - 1] <= truth) &&
                                  (order.upper < 1 || truth <= value[order.upper - 1]);
    }
}

static void report_share(const char *plan, const char *name, double share_asked, int n_flights, int n_campaigns, int held)
{
    char what[128];
    (void)snprintf(what, sizeof what, "%s, %s of %.2f, %d flights: coverage", plan, name, share_asked, n_flights);
    (void)printf("| %s | %s | %.2f | %d | %d | %.4f |\n", plan, name, share_asked, n_flights, n_campaigns,
                 held / (double)n_campaigns);
    n_failed += !world_holds(held / (double)n_campaigns, by_chance(least_share, n_campaigns), what);
}

static void cover_ranks(const struct world *world, const struct rc_plan_kind *plan, int n_flights, int n_campaigns)
{
    struct ranks ranks = {{0}, {{0}}};
    for (int campaign = 0; campaign < n_campaigns; campaign++) {
        double value[N_MOST], x[N_QUANTITIES];
        int64_t n = 0;
        for (int flight = 0; flight < n_flights; flight++) {
            if (rc_plan_counts(plan, &world->sampling, (uint64_t)flight))
                value[n++] = world_score(world, plan, (uint64_t)campaign, (uint64_t)flight, x);
        }
        qsort(value, (size_t)n, sizeof value[0], rc_sorted_rising);
        count_quantiles(&ranks, value, n);
        count_limits(&ranks, value, n);
    }
    for (int index = 0; index < N_SHARES; index++)
        report_share(plan->name, "quantile", shares[index], n_flights, n_campaigns, ranks.quantile[index]);
    for (int row = 0; row < N_COVERAGES * N_KINDS; row++)
        report_share(plan->name, kinds[row % N_KINDS], coverages[row / N_KINDS], n_flights, n_campaigns,
                     ranks.limit[row / N_KINDS][row % N_KINDS]);
    (void)fflush(stdout);
}

static void table_of_ranks(int n_campaigns, int only_size)
{
    (void)printf("\nQuantiles and tolerance limits by rank\n\n| plan | what | share | flights | campaigns | holds |\n"
                 "|---|---|---|---|---|---|\n");
    for (int row = 0; row < rc_plan_count() * N_SIZES; row++) {
        struct world world;
        const struct rc_plan_kind *plan = rc_plan_at(row / N_SIZES);
        const int n_flights = sizes[row % N_SIZES];
        /* flights of a replicated plan depend on each other: no ranks are told of them */
        if (plan->n_replicates > 0 || (only_size > 0 && n_flights != only_size) || !world_make(&world, 1, n_flights))
            continue;
        cover_ranks(&world, plan, n_flights, n_campaigns);
        world_free(&world);
    }
}

int main(int n_arguments, char **argument)
{
    const int n_campaigns = n_arguments > 1 ? atoi(argument[1]) : 1000;
    const int only_size = n_arguments > 2 ? atoi(argument[2]) : 0;
    if (n_campaigns < 1000 || (only_size != 0 && only_size != sizes[0] && only_size != sizes[1])) {
        (void)fprintf(stderr, "usage: measure_coverage [CAMPAIGNS [FLIGHTS]], at least 1000 campaigns, 512 or 2048 flights\n");
        return 2;
    }
    table_of_means(n_campaigns, only_size);
    table_of_ranks(n_campaigns, only_size);
    (void)printf("\n%d failed\n", n_failed);
    return n_failed > 0;
}
