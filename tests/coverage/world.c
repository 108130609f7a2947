/* The made-up campaign for measuring coverage. */
#include "world.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/base.h"

static const struct {
    const char *name;
    double weight[N_QUANTITIES];
} limit_states[N_LIMIT_STATES] = {
    {"one rules", {0.9, 0.3, 0.2, 0.15, 0.1}}, {"all alike", {1.0, 1.0, 1.0, 1.0, 1.0}}, {"one alone", {1.0, 0.0, 0.0, 0.0, 0.0}}};

static const struct rc_rank_pair pairs[] = {{0, 1, 0.5}, {2, 3, -0.3}};

const char *world_name(int limit_state)
{
    return limit_states[limit_state].name;
}

int world_make(struct world *world, int limit_state, int n_flights)
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
    world->sd = sqrt(variance);
    return 1;
}

void world_free(struct world *world)
{
    rc_copula_free(world->copula);
}

double world_score(const struct world *world, const struct rc_plan_kind *plan, uint64_t seed, uint64_t flight, double *x)
{
    plan->draw(&world->sampling, seed, flight, x);
    double sum = 0.0;
    for (int index = 0; index < N_QUANTITIES; index++) {
        const struct rc_distribution *law = &world->quantity[index].distribution;
        sum += world->weight[index] * rc_special_normal_quantile(law->kind->cdf(law->p, x[index]));
    }
    return sum / world->sd;
}

int world_holds(double share, double least, const char *what)
{
    if (share >= least)
        return 1;
    (void)printf("FAILED: %s %.4f, wanted at least %.2f\n", what, share, least);
    return 0;
}
