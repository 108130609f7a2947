/* Several stores side by side, in the form asked for. Gathering and wording are in compare*.c. */
#include "rollcast/report.h"

#include "compare.h"

rc_status rc_report_compare(FILE *out, enum rc_report_form form, const struct rc_report_store *store, int n_stores,
                            enum rc_verdict *verdict, struct rc_error *err)
{
    struct rc_compare *compare = NULL;
    const rc_status status = rc_compare_gather(&compare, store, n_stores, err);
    if (status != RC_OK) {
        return status;
    }
    if (form == RC_REPORT_JSON) {
        rc_compare_write_json(out, compare);
    } else if (form == RC_REPORT_CSV) {
        rc_compare_write_csv(out, compare);
    } else {
        rc_compare_write_text(out, compare);
    }
    for (int at = 0; verdict != NULL && at < n_stores; at++) {
        *verdict = at == 0 ? compare->answer[0].verdict : rc_answer_worse(*verdict, compare->answer[at].verdict);
    }
    rc_compare_free(compare);
    return RC_OK;
}
