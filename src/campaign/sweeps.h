/* The sweep of a campaign: what `trade` varies where nothing else is asked. */
#ifndef RC_SWEEPS_H
#define RC_SWEEPS_H

#include "campaign_handle.h"
#include "read.h"

/* Does each sweep lead to a number, over a range that is none of a single value, whose ends the campaign takes? What does not is
 * reported.
 * in   campaign  read and without errors so far
 * ends RC_NO_MEMORY
 * cost makes the campaign twice for each number varied */
rc_status rc_sweeps_check(const struct rc_campaign *campaign, const struct rc_reader *reader) RC_MUST_CHECK;

#endif
