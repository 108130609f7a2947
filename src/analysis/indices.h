/* Shares of variance from the paired design, whose rows of n + 2 flights differ by one quantity at a time: first-order, total,
 * what two quantities do only together; and elementary effects for screening. */
#ifndef RC_INDICES_H
#define RC_INDICES_H

#include "rank.h"

struct rc_indices_options {
    int n_quantities;
    uint64_t seed;         /* of the resamples            */
    double confidence;     /* of the intervals, 0 .. 1    */
};

/* One quantity. */
struct rc_indices_row {
    struct rc_estimate first;    /* share that it has alone [1]                                                          */
    struct rc_estimate total;    /* share with everything it has a part in [1]                                           */
    struct rc_estimate effect;   /* mean size of the change when it alone is drawn anew, per whole range of its probability,
                                  * in the outcome's unit                                                                */
    double mean_effect;          /* the same with its sign                                                               */
    double effect_sd;            /* spread of these changes: interactions or a bend                                      */
};

/* Two quantities: the share that they have only together, with all others too. */
struct rc_indices_pair {
    int first, second;
    struct rc_estimate share;
};

struct rc_indices;

/* Begin.
 * out  indices  caller frees with rc_indices_free; untouched on error
 * ends RC_NO_MEMORY
 * cost 128 n (n + 10) bytes for n quantities, whatever the rows */
rc_status rc_indices_create(struct rc_indices **indices, const struct rc_indices_options *options,
                            struct rc_error *err) RC_MUST_CHECK;

/* Release it. NULL is fine. */
void rc_indices_free(struct rc_indices *indices);

/* Take the next row, in order. One with an outcome that is not finite counts as lost and is left out.
 * in   outcome  (n + 2) of A, of B, and of A with quantity i from B
 * in   moved    (n) by how much of its whole probability quantity i moved from A to B, -1 .. 1; moves below 0.05 give no
  * effect */
void rc_indices_add(struct rc_indices *indices, const double *outcome, const double *moved);

/* Rows taken, and rows lost. */
int64_t rc_indices_rows(const struct rc_indices *indices);
int64_t rc_indices_lost(const struct rc_indices *indices);

/* Work out rows and pairs; intervals as rc_rank_finish, resampling groups of rows. An outcome that never varied gives NAN.
 * out  row   (n)
 * out  pair  (n (n-1) / 2), first below second, in order
 * ends RC_NO_MEMORY
 * source first order: Saltelli et al. 2010, Comput. Phys. Commun. 181:259; total: Jansen 1999, Comput. Phys. Commun. 117:35;
 *        pairs: T_i + T_j - T_ij, where A with i from B and A with j from B differ by just both; effects: radial design of
 *        Campolongo, Saltelli and Cariboni 2011, Comput. Phys. Commun. 182:978, after Morris 1991 */
rc_status rc_indices_finish(const struct rc_indices *indices, struct rc_indices_row *row, struct rc_indices_pair *pair,
                            struct rc_error *err) RC_MUST_CHECK;

#endif
