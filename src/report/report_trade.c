/* Designs compared on the same flights, or the least demanding value searched for, in the form asked for. */
#include "rollcast/report.h"

#include "trade.h"

rc_status rc_report_trade(FILE *out, enum rc_report_form form, const struct rc_trade_request *request, struct rc_error *err)
{
    if (request->relax != NULL) {
        struct rc_trade_search search;
        const rc_status searched = rc_trade_relax(&search, request, err);
        if (searched == RC_OK) {
            rc_trade_write_search(out, form, &search);
        }
        return searched;
    }
    struct rc_trade trade;
    const rc_status status = rc_trade_gather(&trade, request, err);
    if (status == RC_OK && form == RC_REPORT_JSON) {
        rc_trade_write_json(out, &trade);
    } else if (status == RC_OK && form == RC_REPORT_CSV) {
        rc_trade_write_csv(out, &trade);
    } else if (status == RC_OK) {
        rc_trade_write_text(out, &trade);
    }
    rc_trade_free(&trade);
    return status;
}
