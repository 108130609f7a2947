/* Which uncertain quantity matters most, gathered once from a store and then written as text, JSON or CSV. */
#ifndef RC_RANKING_H
#define RC_RANKING_H

#include <stdint.h>
#include <stdio.h>

#include "analysis/indices.h"
#include "analysis/rank.h"
#include "analysis/tighten.h"
#include "base/base.h"
#include "measures/measures.h"
#include "rollcast/analysis.h"
#include "rollcast/campaign.h"
#include "rollcast/results.h"

/* Fewest flights of a ranking, and fewest that meet and that miss for a yes-or-no outcome. */
enum { RC_RANKING_LEAST = 100, RC_RANKING_LEAST_EACH = 20 };

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

/* One entry of the campaign file: a quantity, or one for every fin. */
struct rc_ranking_row {
    char given[RC_MAX_PATH_TEXT];
    const char *unit, *meaning;
    char distribution[160];
    int n_members;                /* quantities that the entry stands for                                      */
    struct rc_rank_row rank;      /* share: sum over them; the others: of the one with the greatest separation */
    enum rc_ranking_bar bar;
    struct rc_tightened after[RC_N_TIGHTEN];
    double half_sd;               /* what RC_TIGHTEN_UP and _DOWN move it by, in its unit                      */
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
    struct rc_rank_row dummy;     /* greatest figures of pure chance      */
    int n_rows;
    struct rc_ranking_row *row;   /* (n_rows), what matters most first    */
    int has_rows;                 /* 0: too few flights are independent; only the paired design tells */
    struct rc_ranking_paired paired;
};

/* Find what a name stands for. in name NULL = all criteria together
 * ends RC_BAD_INPUT: no criterion or measure of that name, or a measure that the store does not keep (says which there are) */
rc_status rc_ranking_find(struct rc_ranking_target *target, const rc_results *results, const rc_campaign *campaign,
                          const char *name, struct rc_error *err) RC_MUST_CHECK;

/* Rank a store.
 * out  ranking  ends with rc_ranking_free; untouched on error
 * in   campaign the one the store keeps; borrowed
 * ends RC_IO (no flight yet), RC_BAD_INPUT (too few flights, or all of one kind: says how many more; nothing uncertain; an
 *      outcome that never varied), RC_NO_MEMORY
 * cost reads every quantity once, and the measures in question; memory does not grow with the flights */
rc_status rc_ranking_gather(struct rc_ranking *ranking, const rc_results *results, const rc_campaign *campaign, const char *of,
                            struct rc_error *err) RC_MUST_CHECK;

/* Release its rows. */
void rc_ranking_free(struct rc_ranking *ranking);

/* What a change is called: "half of its spread". */
const char *rc_ranking_change_text(enum rc_tighten_change change);

/* Why a row's odds are not told, in a few words; empty where they are. */
const char *rc_ranking_bar_text(enum rc_ranking_bar bar);

/* Write it as text of 80 columns, as JSON of schema "rollcast-rank/1", as CSV with a row for each entry. Write errors stay in the
 * stream's error flag. */
void rc_ranking_write_text(FILE *out, const struct rc_ranking *ranking);
void rc_ranking_write_json(FILE *out, const struct rc_ranking *ranking);
void rc_ranking_write_csv(FILE *out, const struct rc_ranking *ranking);

#endif
