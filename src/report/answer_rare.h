/* The answer of a store whose run went after rare failures. */
#ifndef RC_ANSWER_RARE_H
#define RC_ANSWER_RARE_H

#include "answer.h"
#include "rollcast/report.h"

/* Write it: text, or JSON of schema "rollcast-rare/1". Arguments and ends as for rc_report_odds; a run that supports no claim, or
 * is unfinished, is NOT YET KNOWN.
 * cost reads one measure; goes through the method's steps without flying */
rc_status rc_answer_rare(FILE *out, enum rc_report_form form, const rc_results *results, const rc_campaign *campaign,
                         enum rc_verdict *verdict, struct rc_error *err) RC_MUST_CHECK;

#endif
