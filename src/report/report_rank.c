/* The ranking of a store, in the form asked for. Gathering and wording are in ranking*.c. */
#include "ranking.h"
#include "rollcast/report.h"

rc_status rc_report_rank(FILE *out, enum rc_report_form form, const struct rc_rank_request *request, struct rc_error *err)
{
    struct rc_ranking ranking;
    const rc_status status = rc_ranking_gather(&ranking, request, err);
    if (status != RC_OK) {
        return status;
    }
    if (form == RC_REPORT_JSON) {
        rc_ranking_write_json(out, &ranking);
    } else if (form == RC_REPORT_CSV) {
        rc_ranking_write_csv(out, &ranking);
    } else {
        rc_ranking_write_text(out, &ranking);
    }
    rc_ranking_free(&ranking);
    return RC_OK;
}
