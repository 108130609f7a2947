/* The layout of a campaign, for `check`. */
#ifndef RC_REPORT_LAYOUT_H
#define RC_REPORT_LAYOUT_H

#include <stdio.h>

#include "campaign/campaign.h"
#include "json.h"
#include "rollcast/report.h"

/* Write it as lines of text, each thing's name in front; of a formula which number is which of its inputs. Write errors stay in
 * the stream's error flag, here and below. */
void rc_report_layout_text(FILE *out, const rc_campaign *campaign);

/* Write it as the member `layout` of an object that is open; null with a formula. docs/commands.md lists the members. */
void rc_report_layout_json(struct rc_json *json, const rc_campaign *campaign);

#endif
