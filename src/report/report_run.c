/* How a run went, as JSON. */
#include "json.h"
#include "rollcast/report.h"

void rc_report_run(FILE *out, const struct rc_report_run *run)
{
    static const char *const ended_by[] = {[RC_STOP_NONE] = "flights", [RC_STOP_VERDICT] = "verdict", [RC_STOP_WIDTH] = "width",
                                           [RC_STOP_TIME] = "time"};
    const struct rc_progress *ended = run->ended;
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-fly/1");
    rc_json_text(&json, "campaign", rc_campaign_name(run->campaign));
    rc_json_text(&json, "store", run->store);
    rc_json_unsigned(&json, "seed", run->seed);
    rc_json_text(&json, "shard", run->shard);
    rc_json_integer(&json, "flights", ended->done);
    rc_json_integer(&json, "flights_asked", ended->asked);
    rc_json_integer(&json, "flights_before", ended->begun_with);
    rc_json_flag(&json, "is_finished", run->is_stopped == 0);
    rc_json_text(&json, "ended_by", run->is_stopped ? "signal" : ended_by[ended->stopped]);
    rc_json_number(&json, "seconds", ended->seconds);
    rc_json_close(&json, '}');
}
