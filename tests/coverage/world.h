/* A made-up campaign whose outcome is known exactly, for measuring coverage. Five quantities of four kinds, two pairs correlated,
 * go through a plan, the copula and their distributions; a weighted sum of their normal scores decides a flight. */
#ifndef RC_TEST_WORLD_H
#define RC_TEST_WORLD_H

#include "sampling/sampling.h"

enum { N_QUANTITIES = 5, N_LIMIT_STATES = 3 };

struct world {
    const double *weight;              /* (N_QUANTITIES) of the scores                               */
    double sd;                         /* of the weighted sum of scores                              */
    struct rc_uncertain quantity[N_QUANTITIES];
    struct rc_sampling sampling;
    struct rc_copula *copula;
};

/* The limit state in words. in limit_state 0 .. N_LIMIT_STATES - 1 */
const char *world_name(int limit_state);

/* Set one up; world_free releases it. in limit_state 0 one quantity rules, 1 all weigh the same, 2 there is one alone
 * ends 0 where there is no copula */
int world_make(struct world *world, int limit_state, int n_flights);
void world_free(struct world *world);

/* The weighted sum of a flight's scores over its standard deviation: standard normal. Scores come back from the drawn values, so
 * the way there and back is in the measurement. out x (N_QUANTITIES) the drawn values */
double world_score(const struct world *world, const struct rc_plan_kind *plan, uint64_t seed, uint64_t flight, double *x);

/* Say it, count it, and end false where a share is below what is wanted. */
int world_holds(double share, double least, const char *what);

#endif
