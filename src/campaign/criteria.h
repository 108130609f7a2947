/* The criteria of a campaign from its settings. */
#ifndef RC_CRITERIA_H
#define RC_CRITERIA_H

#include "read.h"
#include "rollcast/campaign.h"

/* Make criteria ready to be held against measures. Reports unknown measures, missing or crossed limits, odds and confidence
 * that are not inside (0, 1), and names used twice.
 * out  criterion  (settings->n_criteria)
 * out  together   named "all together" */
void rc_criteria_make(struct rc_criterion *criterion, struct rc_criterion *together, const struct rc_reader *reader,
                      const struct rc_settings *settings);

#endif
