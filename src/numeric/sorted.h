/* Numbers in rising order, and quantiles of them. */
#ifndef RC_SORTED_H
#define RC_SORTED_H

#include <stdint.h>

/* For qsort over doubles: rising order. in one, other  doubles, none of them NAN */
int rc_sorted_rising(const void *one, const void *other);

/* Quantile between order statistics at (n - 1) share.
 * in   value  (n) in rising order, n at least 1; share 0 .. 1
 * source Hyndman and Fan 1996, Am. Stat. 50:361, type 7 */
double rc_sorted_quantile(const double *value, int64_t n, double share);

#endif
