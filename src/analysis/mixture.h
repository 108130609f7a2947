/* A mixture of normal densities of unit variance, fitted to failing flights: where importance sampling draws from. */
#ifndef RC_MIXTURE_H
#define RC_MIXTURE_H

#include "rollcast/status.h"

enum { RC_MIXTURE_MOST = 16 };

struct rc_mixture {
    int n;                             /* scores                                  */
    int n_parts;                       /* 1 .. RC_MIXTURE_MOST                    */
    double *centre;                    /* (RC_MIXTURE_MOST x n), by parts         */
    double share[RC_MIXTURE_MOST];     /* (n_parts) sum 1                         */
};

/* Points to fit it to. */
struct rc_mixture_points {
    int n;                   /* points, at least 1                                      */
    double n_independent;    /* as how many independent ones they count, at least 1     */
    const double *scores;    /* (n x mixture's n)                                       */
    const double *weight;    /* (n) sum 1                                               */
};

/* Take memory. out mixture ends with rc_mixture_end, also on error. ends RC_NO_MEMORY */
rc_status rc_mixture_begin(struct rc_mixture *mixture, int n, struct rc_error *err) RC_MUST_CHECK;

/* Release it. */
void rc_mixture_end(struct rc_mixture *mixture);

/* Fit parts and shares: least cross-entropy to the points' density, which for points given is most likelihood. It begins with one
 * part at their mean and adds one at the point it explains worst as long as the points' likelihood gains more than the part's
 * numbers
 * cost (Schwarz's criterion).
 * ends RC_NO_MEMORY
 * cost at most some 2,000 points x parts x scores x 300
 * source cross-entropy from a chain's points: Chan and Kroese 2012, Stat. Comput. 22:1031; the fit: Dempster, Laird and Rubin
 *        1977, J. R. Stat. Soc. B 39:1; the cost of a part: Schwarz 1978, Ann. Stat. 6:461 */
rc_status rc_mixture_fit(struct rc_mixture *mixture, const struct rc_mixture_points *points, struct rc_error *err) RC_MUST_CHECK;

/* Logarithm of the mixture's density over that of plain scores. in shares (n_parts) in place of the mixture's own */
double rc_mixture_log_ratio(const struct rc_mixture *mixture, const double *shares, const double *scores);

#endif
