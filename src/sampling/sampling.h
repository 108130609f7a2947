/* Front header of sampling: flight number -> a value for every uncertain quantity, computed from the number alone. */
#ifndef RC_SAMPLING_H
#define RC_SAMPLING_H

#include <stdbool.h>
#include <stdint.h>

#include "base/limits.h"
#include "numeric/numeric.h"

/* One uncertain quantity, in the campaign's unit. */
struct rc_uncertain {
    char path[RC_MAX_PATH_TEXT];          /* "fins[0].misalignment_deg[2]"                        */
    uint64_t path_hash;                   /* rc_hash_bytes over path: key of its stream           */
    struct rc_distribution distribution;
    double low, high;                     /* the quantity's allowed range: draws are held inside  */
};

struct rc_copula;

/* All uncertain quantities of a campaign, in the order of the store's columns. Zero-initialise what is not used. */
struct rc_sampling {
    int n;
    struct rc_uncertain *quantity;        /* (n), owned by whoever made it                                       */
    const struct rc_copula *copula;       /* which of them vary together; NULL = none; owned by whoever made it  */
    uint64_t n_planned;                   /* flights the campaign declares, which size a plan's strata; 0 = 16384 */
};

/* A sampling plan: one file in plans/, one row in plans.def. */
struct rc_plan_kind {
    const char *name;     /* key in a campaign, e.g. "plain" */
    const char *summary;
    int n_replicates;     /* independent replicates; flight f belongs to replicate f % n_replicates. 0 = all flights are
                           * independent */
    /* Can the plan serve these quantities and that many flights? NULL = always.
     * ends RC_OK, or RC_BAD_INPUT: more quantities or flights than it has */
    rc_status (*check)(const struct rc_sampling *sampling, uint64_t n_flights, struct rc_error *err);
    /* Is it one of the flights that are independent of each other, and so count for odds? NULL = all are (or, with replicates,
     * all count) */
    bool (*counts)(const struct rc_sampling *sampling, uint64_t flight);
    /* Fill values (n) for one flight. */
    void (*draw)(const struct rc_sampling *sampling, uint64_t seed, uint64_t flight, double *values);
};

/* Replicates of the plans that have them: enough for an interval from their spread, few enough that each is well filled. */
enum { RC_REPLICATES = 16 };

/* Is a flight one of those that count for odds? By the plan's `counts`; all do where it has none. */
bool rc_plan_counts(const struct rc_plan_kind *plan, const struct rc_sampling *sampling, uint64_t flight);

/* Number of plans, the plan at an index, and the plan of that name (NULL where there is none). */
int rc_plan_count(void);
const struct rc_plan_kind *rc_plan_at(int index);
const struct rc_plan_kind *rc_plan_find(const char *name);

/* What plans share: uniform numbers to values, through the copula where there is one, held in the allowed ranges.
 * in/out values  (n) in: uniform numbers in (0, 1); out: values */
void rc_plan_values(const struct rc_sampling *sampling, double *values);

/* What plans share: a uniform number from whole digits and what follows them, kept inside (0, 1).
 * in cell 0 .. n_cells-1; within in (0, 1) */
double rc_plan_uniform(uint64_t cell, double n_cells, double within);

/* Rank correlation wanted between two quantities. */
struct rc_rank_pair {
    int first, second;   /* 0 .. n-1 of rc_sampling.quantity                */
    double rank;         /* Spearman's rank correlation, between -1 and 1   */
};

/* Make a Gaussian copula: normal scores with correlation 2 sin(pi rank / 6), which is exact for continuous distributions.
 * out  copula   caller frees with rc_copula_free; untouched on error
 * in   sampling the quantities; pairs not named are uncorrelated
 * ends RC_OK; RC_BAD_INPUT with err->where "pairs[k]" and err->what: a pair with itself, given twice, out of range, or one that
 *      cannot be together with those named before it (says the range that could); RC_NO_MEMORY
 * cost O(m^3) for m quantities in pairs
 * source Iman and Conover 1982; the relation of the two correlations is Pearson 1907 */
rc_status rc_copula_create(struct rc_copula **copula, const struct rc_sampling *sampling, const struct rc_rank_pair *pair,
                           int n_pairs, struct rc_error *err) RC_MUST_CHECK;

/* Release it. NULL is fine. */
void rc_copula_free(struct rc_copula *copula);

/* Quantities it ties together, and the place (0 .. n-1 of rc_sampling.quantity) of its member `index`. */
int rc_copula_count(const struct rc_copula *copula);
int rc_copula_member(const struct rc_copula *copula, int index);

/* Correlated uniform number of member `index` as its two tails.
 * in  uniforms    (n of rc_sampling) independent ones
 * out lower, upper  sum to 1, each to its own precision */
void rc_copula_tails(const struct rc_copula *copula, int index, const double *uniforms, double *lower, double *upper);

#endif
