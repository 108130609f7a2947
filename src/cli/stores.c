/* Opens stores and says what is wrong with them. */
#include "stores.h"

#include "rollcast/rollcast.h"
#include "say.h"

int rc_stores_open(rc_results **results, rc_campaign **campaign, const char *path)
{
    struct rc_issues issues = {0};
    struct rc_error err = {0};
    rc_status status = rc_results_open(results, path, &err);
    if (status != RC_OK) {
        return rc_say_error(&err, path);
    }
    status = rc_run_campaign(campaign, *results, &issues);
    return status != RC_OK ? rc_say_issues(&issues, status, path) : 0;
}
