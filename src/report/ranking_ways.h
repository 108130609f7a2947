/* The cheapest way to the odds asked, where the campaign says what tightening costs. */
#ifndef RC_RANKING_WAYS_H
#define RC_RANKING_WAYS_H

#include "analysis/cheapest.h"
#include "ranking.h"

/* What is gathered while the first flights are read: even ones choose the way, odd ones judge it. */
struct rc_ways {
    int n_items;
    struct rc_cheapest_item *item;     /* (n_items) with the weights of even flights                 */
    float **even, **odd;               /* (n_items) weights of flights of even and odd number        */
    enum rc_tighten_change *change;    /* (n_items) to half or to a tenth                            */
    int n_half;                        /* flights of either kind                                     */
    unsigned char *met, *other_met;    /* (n_half)                                                   */
};

/* Reserve room for the rows that have a cost and can be reweighted. out ways ends with rc_ranking_ways_free, also on error
 * ends RC_NO_MEMORY
 * cost a quarter of a megabyte for each cost given */
rc_status rc_ranking_ways_begin(struct rc_ways *ways, const struct rc_ranking *ranking, struct rc_error *err) RC_MUST_CHECK;

/* Take marks and weights of a row's change over the first chunk of flights (rows 0 .. n-1). */
void rc_ranking_ways_take_marks(struct rc_ways *ways, const unsigned char *met, int n);
void rc_ranking_ways_take_weights(struct rc_ways *ways, int row, enum rc_tighten_change change, const double *weights, int n);

/* Find the way. in/out ranking its rows still in the order they had; ways of it is filled
 * ends RC_NO_MEMORY */
rc_status rc_ranking_ways_finish(struct rc_ranking *ranking, const struct rc_ways *ways, struct rc_error *err) RC_MUST_CHECK;

/* Release it. */
void rc_ranking_ways_free(struct rc_ways *ways);

#endif
