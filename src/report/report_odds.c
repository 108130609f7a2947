/* The answer of a store, in the form asked for. Gathering and wording are in answer*.c. */
#include "rollcast/report.h"

#include "answer.h"

rc_status rc_report_odds(FILE *out, enum rc_report_form form, const rc_results *results, const rc_campaign *campaign,
                         enum rc_verdict *verdict, struct rc_error *err)
{
    struct rc_answer answer;
    const rc_status status = rc_answer_gather(&answer, results, campaign, err);
    if (status != RC_OK) {
        return status;
    }
    if (form == RC_REPORT_JSON) {
        rc_answer_write_json(out, &answer);
    } else {
        rc_answer_write_text(out, &answer);
    }
    if (verdict != NULL) {
        *verdict = answer.verdict;
    }
    return RC_OK;
}
