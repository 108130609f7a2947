/* The cheapest way to odds, from flights that are there: which quantities to tighten, each to half or to none of its spread. */
#ifndef RC_CHEAPEST_H
#define RC_CHEAPEST_H

#include <stdint.h>

#include "base/base.h"
#include "tighten.h"

enum {
    RC_CHEAPEST_ITEMS = 2 * RC_MAX_UNCERTAIN, /* tightenings on offer */
    RC_CHEAPEST_LONGEST = 16,                 /* of one way: flights support no more, each halving leaves two thirds of them */
    RC_CHEAPEST_MOST = 10000,                 /* ways that are looked at                                                     */
    RC_CHEAPEST_KEPT = 8                      /* ways kept that flights do not support: new flights may                      */
};

/* One tightening on offer. */
struct rc_cheapest_item {
    int row;               /* what it tightens: a way takes one item of a row at most  */
    double cost;           /* 0 or more                                                */
    const float *weight;   /* (n of the flights) as rc_tighten_weigh gives them        */
};

/* Flights that judge. */
struct rc_cheapest_flights {
    int n;
    int n_groups;               /* of replicates: flight f belongs to f % n_groups; 0 = independent */
    const unsigned char *met;   /* (n)                                                              */
};

/* Some of the items, together. */
struct rc_cheapest_way {
    int n;                            /* -1: there is none */
    int item[RC_CHEAPEST_LONGEST];    /* places in the list of items */
    double cost;
    struct rc_tightened after;        /* judged by the flights of the search: they chose it, so that it looks better than it is */
};

/* What a search found. */
struct rc_cheapest {
    struct rc_cheapest_way shown;     /* cheapest whose one-sided lower bound reaches the odds */
    struct rc_cheapest_way likely;    /* cheapest whose estimate does; never dearer            */
    struct rc_cheapest_way best;      /* of the greatest odds among those looked at            */
    int n_judged, n_unjudged;         /* ways looked at; those the flights do not support. Ways with more tightenings than one of
                                       * these are not counted */
    struct rc_cheapest_way unjudged[RC_CHEAPEST_KEPT]; /* the cheapest of those, fewer where n_unjudged is less */
    int is_complete;                  /* no cheaper way was left out; 0: the search ended after RC_CHEAPEST_MOST */
};

/* Look at ways by rising cost until one is shown to reach the odds.
 * in   item        (n_items) in any order
 * in   confidence  of the one-sided bounds
 * ends RC_NO_MEMORY
 * cost at most RC_CHEAPEST_MOST times the flights and the items of a way
 * source ways in the order of their costs: each has two successors, one with the next dearer item added, one with its dearest
 *        item replaced by the next dearer one; ours */
rc_status rc_cheapest_search(struct rc_cheapest *found, const struct rc_cheapest_item *item, int n_items,
                             const struct rc_cheapest_flights *flights, double need, double confidence,
                             struct rc_error *err) RC_MUST_CHECK;

/* Judge one way by flights, of its own number and weights in place of those of the search.
 * in   item    (n_items of the search)
 * ends RC_NO_MEMORY */
rc_status rc_cheapest_judge(struct rc_tightened *after, const struct rc_cheapest_way *way, const struct rc_cheapest_item *item,
                            const struct rc_cheapest_flights *flights, double confidence, struct rc_error *err) RC_MUST_CHECK;

#endif
