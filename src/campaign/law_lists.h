/* Lists of a distribution object: numbers in the text, or a column of a CSV file. */
#ifndef RC_LAW_LISTS_H
#define RC_LAW_LISTS_H

#include "numeric/numeric.h"
#include "read.h"

/* Lists as read, all of the same length. Zero-initialise. */
struct rc_law_lists {
    int n;
    double *list[RC_MAX_LISTS];
};

/* Key `index` of those that give a kind's lists, or NULL beyond: its lists' own, or "csv" and "column". */
const char *rc_law_lists_key(const struct rc_distribution_kind *kind, int index);

/* Is it one of them? */
bool rc_law_lists_has_key(const struct rc_distribution_kind *kind, const char *key);

/* Read the lists of a kind; nothing to do for kinds without.
 * out  lists  caller frees with rc_law_lists_free, also on false
 * ends false after reporting: a list is missing, no list, too long, not of numbers, of another length; or a file or column
 *      that is missing or not of numbers */
bool rc_law_lists_read(struct rc_law_lists *lists, const struct rc_distribution_kind *kind, const struct rc_reader *reader,
                       const cJSON *node, const char *path);

/* Release the lists. */
void rc_law_lists_free(struct rc_law_lists *lists);

#endif
