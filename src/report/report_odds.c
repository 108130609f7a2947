/* The answer of a store, in the form asked for. Gathering and wording are in answer*.c. */
#include "rollcast/report.h"

#include "answer_rare.h"
#include "rollcast/rare.h"

rc_status rc_report_odds(FILE *out, enum rc_report_form form, const rc_results *results, const rc_campaign *campaign,
                         enum rc_verdict *verdict, struct rc_error *err)
{
    struct rc_answer answer;
    struct rc_rare_rule rare;
    if (rc_rare_read(&rare, rc_results_run_rule(results))) {
        if (form == RC_REPORT_CSV) {
            return rc_error_fill(err, RC_BAD_INPUT, "", "its run went after rare failures, whose answer has no table; leave "
                                 "out --csv");
        }
        return rc_answer_rare(out, form, results, campaign, verdict, err);
    }
    const rc_status status = rc_answer_gather(&answer, results, campaign, err);
    if (status != RC_OK) {
        return status;
    }
    if (form == RC_REPORT_JSON) {
        rc_answer_write_json(out, &answer);
    } else if (form == RC_REPORT_CSV) {
        rc_answer_write_csv(out, &answer);
    } else {
        rc_answer_write_text(out, &answer);
    }
    if (verdict != NULL) {
        *verdict = answer.verdict;
    }
    return RC_OK;
}
