/* Flies a campaign into a new store: `fly_narrow CAMPAIGN STORE FLIGHTS [SHARD SHARDS]`. Built with other lanes and without dispatch, to
 * be compared with the usual build. */
#include <stdio.h>
#include <stdlib.h>

#include "rollcast/rollcast.h"

int main(int argc, char **argv)
{
    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    struct rc_error err = {0};
    if (argc != 4 && argc != 6)
        return 2;
    rc_status status = rc_campaign_load(&campaign, argv[1], &issues);
    if (status == RC_OK) {
        const struct rc_run_options options = {.n_flights = atoll(argv[3]),
                                               .shard = argc > 4 ? atoi(argv[4]) : 0,
                                               .n_shards = argc > 4 ? atoi(argv[5]) : 0};
        status = rc_run_fly(campaign, argv[2], &options, NULL, &err);
    }
    if (status != RC_OK)
        (void)fprintf(stderr, "%s %s\n", rc_status_text(status), err.what);
    rc_campaign_free(campaign);
    return rc_status_exit_code(status);
}
