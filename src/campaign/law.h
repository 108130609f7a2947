/* Distribution objects of a campaign: {"distribution": "normal", "mean": 0, "sd": 0.05}. */
#ifndef RC_LAW_H
#define RC_LAW_H

#include "numeric/numeric.h"
#include "read.h"

/* Read the distribution of a quantity and hold it against the quantity's allowed range.
 * out  distribution  set on true; release it with rc_law_free
 * in   node   an object
 * in   path   of the quantity or of the entry that stands for several fins
 * ends false after reporting: unknown kind or parameter, missing parameter, wrong type, what the kind's own check finds, median
 *      outside the range, or more than one flight in a million outside it */
bool rc_law_read(struct rc_distribution *distribution, const struct rc_reader *reader, const cJSON *node, const char *path,
                 const struct rc_quantity_row *row);

/* Release the table of a distribution that was read. */
void rc_law_free(struct rc_distribution *distribution);

/* Write a distribution as text: "normal(mean 0, sd 0.05)", "discrete(3 values)". out text n bytes, cut to fit */
void rc_law_text(char *text, size_t n, const struct rc_distribution *distribution);

#endif
