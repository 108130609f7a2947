/* Limit states whose odds of failure are known: margins over independent standard normal scores. */
#ifndef RC_TEST_LIMIT_STATES_H
#define RC_TEST_LIMIT_STATES_H

#include "support/reference.h"

/* One limit state. */
struct limit_state {
    const char *name;      /* its row of tests/reference/rare_event.csv, with " in N" where the row leaves the dimension open; */
                           /* or a name of ours, and then `odds` is set                                                      */
    int n;                 /* scores */
    double limit, odds;    /* limit where the kind has one; exact odds where no row holds them, else 0 */
    int is_simple;         /* few scores, odds above 1e-7: a run of 300 flights a level can support a claim */
    double (*margin)(const struct limit_state *state, const double *scores); /* failure at or below 0 */
};

/* The table of them, and how many. */
extern const struct limit_state limit_states[];
extern const int limit_states_count;

/* The one of that name. A name that is not there fails the test. */
const struct limit_state *limit_state_find(const char *name);

/* Its odds of failure, from the table of reference where a row holds them. */
double limit_state_odds(const struct limit_state *state, const struct reference *table);

/* As the margins of a problem whose user is a struct limit_state. */
void limit_state_margins(void *user, const double *scores, int n_flights, double *margins);

#endif
