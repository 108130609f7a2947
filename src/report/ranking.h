/* Which uncertain quantity matters most, gathered once from a store and then written as text, JSON or CSV. */
#ifndef RC_RANKING_H
#define RC_RANKING_H

#include <stdint.h>
#include <stdio.h>

#include "analysis/cheapest.h"
#include "analysis/indices.h"
#include "analysis/rank.h"
#include "analysis/tighten.h"
#include "base/base.h"
#include "figures.h"
#include "measures/measures.h"
#include "rollcast/analysis.h"
#include "rollcast/campaign.h"
#include "rollcast/report.h"
#include "rollcast/results.h"

/* Fewest flights of a ranking, and fewest that meet and that miss for a yes-or-no outcome. */
enum { RC_RANKING_LEAST = 100, RC_RANKING_LEAST_EACH = 20 };

/* Most ways that are flown anew: those not judged, the one that is likely, the one that is shown. */
enum { RC_RANKING_MOST_FLOWN = RC_CHEAPEST_KEPT + 2 };

/* What is ranked for: a criterion, all of them, or a measure. */
struct rc_ranking_target {
    const char *name;             /* of the criterion or measure                                           */
    int measure;                  /* row of the measure table, -1 for a criterion: its outcome is yes or no */
    int criterion;                /* whose odds are told: 0 .. n-1, n is all together                       */
};

/* Why the odds after a change are not told. */
enum rc_ranking_bar {
    RC_RANKING_TOLD = 0,
    RC_RANKING_SEPARATE,          /* takes separate values only          */
    RC_RANKING_TIED,              /* varies together with other ones     */
    RC_RANKING_ONE_KIND           /* all flights met, or none            */
};

/* What tells the odds after a change. */
enum rc_ranking_source { RC_RANKING_UNTOLD = 0, RC_RANKING_REWEIGHTED, RC_RANKING_FLOWN };

/* One entry of the campaign file: a quantity, or one for every fin. */
struct rc_ranking_row {
    char given[RC_MAX_PATH_TEXT];
    const char *unit, *meaning;
    char distribution[160];
    int n_members;                /* quantities that the entry stands for                                      */
    struct rc_rank_row rank;      /* share: sum over them; the others: of the one with the greatest separation */
    enum rc_ranking_bar bar;
    struct rc_tightened after[RC_N_TIGHTEN];
    enum rc_ranking_source source[RC_N_TIGHTEN];
    double half_sd;               /* what RC_TIGHTEN_UP and _DOWN move it by, in its unit                      */
    double cost_to_halve, cost_to_remove; /* NAN = none given                                                  */
};

/* One tightening of a way to the odds. */
struct rc_ranking_step {
    char given[RC_MAX_PATH_TEXT];
    enum rc_tighten_change change;
    double cost;
};

/* A way: what is tightened, the greatest cost first. */
struct rc_ranking_way {
    int n;                        /* -1 = there is none, 0 = nothing needs to be tightened */
    struct rc_ranking_step step[RC_CHEAPEST_LONGEST];
    double cost;
    struct rc_tightened after;    /* `low` and `high` are one-sided bounds */
};

/* The cheapest way to the odds. */
struct rc_ranking_ways {
    int n_costs, n_barred;        /* costs given; rows that have one but cannot be reweighted               */
    int reaches;                  /* `way` reaches the odds by the flights that chose it; 0: the best there is */
    int is_shown;                 /* and is shown to by those that did not                                  */
    struct rc_ranking_way way;    /* judged by flights that had no part in the choice                       */
    struct rc_ranking_way cheaper; /* whose estimate reached the odds, but no more, when it was chosen      */
    int n_judged, n_unjudged, is_complete;
    struct rc_ranking_way unjudged[RC_CHEAPEST_KEPT]; /* the cheapest that these flights do not support    */
    int n_flown;                  /* ways flown anew, by rising cost, until one was confirmed               */
    struct rc_ranking_way flown[RC_RANKING_MOST_FLOWN];
    struct rc_odds flown_odds[RC_RANKING_MOST_FLOWN]; /* bounds and verdicts share the risk                 */
};

/* Of the paired design. All zero under other plans. */
struct rc_ranking_paired {
    const rc_campaign *campaign;
    int n, n_pairs;
    int64_t n_rows, n_lost;
    struct rc_indices *indices;
    struct rc_indices_row *row;    /* (n)                                */
    struct rc_indices_pair *pair;  /* (n_pairs), the greatest first      */
    int *order;                    /* (n) rows, the greatest total first */
};

struct rc_ranking {
    const rc_campaign *campaign;
    struct rc_ranking_target target;
    const struct rc_criterion *criterion;
    uint64_t seed;
    int64_t flights;
    int n_replicates;
    double confidence;
    struct rc_rank_total total;
    struct rc_range odds;         /* interval of the odds as flown        */
    struct rc_rank_row dummy;     /* greatest of pure chance; NAN: no rows */
    int n_rows;
    struct rc_ranking_row *row;   /* (n_rows), what matters most first    */
    int has_rows;                 /* 0: too few flights are independent; only the paired design tells */
    struct rc_ranking_paired paired;
    double need;                  /* odds that the cheapest way must reach */
    int is_need_asked;            /* they were asked for, not the criterion's own */
    struct rc_ranking_ways ways;
    int64_t n_flown;              /* new flights */
};

/* Find what a name stands for. in name NULL = all criteria together
 * ends RC_BAD_INPUT: no criterion or measure of that name, or a measure that the store does not keep (says which there are) */
rc_status rc_ranking_find(struct rc_ranking_target *target, const rc_results *results, const rc_campaign *campaign,
                          const char *name, struct rc_error *err) RC_MUST_CHECK;

/* Rank a store.
 * out  ranking  ends with rc_ranking_free; untouched on error
 * in   request  its campaign is the one the store keeps; borrowed
 * ends RC_IO (no flight yet), RC_BAD_INPUT (too few flights, or all of one kind: says how many more; nothing uncertain; an
 *      outcome that never varied), RC_NO_MEMORY
 * cost reads every quantity once, and the measures in question; memory does not grow with the flights */
rc_status rc_ranking_gather(struct rc_ranking *ranking, const struct rc_rank_request *request,
                            struct rc_error *err) RC_MUST_CHECK;

/* The estimate that reaches the odds needed while its bound does not: of a cheaper way, else of the way found.
 * ends NULL if there is none */
const struct rc_tightened *rc_ranking_likely(const struct rc_ranking *ranking);

/* About how many flights in all would raise its bound to the odds, were it right: the distance of the two shrinks as the root of
 * their number. ends -1 where no number would of those that are looked at, or nothing is likely */
int64_t rc_ranking_flights_to_show(const struct rc_ranking *ranking);

/* Release its rows. */
void rc_ranking_free(struct rc_ranking *ranking);

/* What a change is called: "half of its spread". */
const char *rc_ranking_change_text(enum rc_tighten_change change);

/* Its key in JSON and CSV and in the names of stores: "half". */
const char *rc_ranking_change_key(enum rc_tighten_change change);

/* What tells it, in words; NULL where nothing does. */
const char *rc_ranking_source_text(enum rc_ranking_source source);

/* Why a row's odds are not told, in a few words; empty where they are. */
const char *rc_ranking_bar_text(enum rc_ranking_bar bar);

/* A share in percent with its interval, "12.5 % (±3.1)"; without one that is finite the share alone. */
struct rc_figure rc_ranking_percent(const struct rc_estimate *estimate);

/* Write it as text of 80 columns, as JSON of schema "rollcast-rank/1", as CSV with a row for each entry. Write errors stay in the
 * stream's error flag. */
void rc_ranking_write_text(FILE *out, const struct rc_ranking *ranking);
void rc_ranking_write_json(FILE *out, const struct rc_ranking *ranking);
void rc_ranking_write_csv(FILE *out, const struct rc_ranking *ranking);

/* The text's part on the cheapest way; nothing where no cost is given. */
void rc_ranking_write_ways(FILE *out, const struct rc_ranking *ranking);

#endif
