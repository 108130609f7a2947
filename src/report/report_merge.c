/* What a merge did, as JSON. */
#include "json.h"
#include "rollcast/report.h"

void rc_report_merge(FILE *out, const char *path, const struct rc_merged *merged)
{
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-merge/1");
    rc_json_text(&json, "store", path);
    rc_json_integer(&json, "flights", merged->flights);
    rc_json_integer(&json, "shards", merged->n_shards);
    rc_json_integer(&json, "flights_checked", merged->n_checked);
    rc_json_flag(&json, "is_mixed", merged->is_mixed != 0);
    rc_json_close(&json, '}');
}
