/* Opening what a command answers from. */
#ifndef RC_STORES_H
#define RC_STORES_H

#include "rollcast/campaign.h"
#include "rollcast/results.h"

/* Open a store and read the campaign it keeps.
 * out  results, campaign  caller releases both, also on error
 * ends the exit code, 0 if it is open; what was wrong has been said */
int rc_stores_open(rc_results **results, rc_campaign **campaign, const char *path);

#endif
