/* The C interface from end to end: load a campaign, say what is wrong with it, fly it into a store, read measures back.
 *
 *     cc fly_and_read.c $(pkg-config --cflags --libs rollcast) -o fly_and_read
 *     ./fly_and_read first.json first.h5 1000 */
#include <rollcast/rollcast.h>

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

static int complain(const struct rc_error *err)
{
    fprintf(stderr, "%s: %s\n", err->where, err->what);
    return rc_status_exit_code(err->status);
}

/* The mean of a measure over the flights that have it, read a thousand flights at a time. */
static rc_status mean_of(const rc_results *results, const char *column, double *mean, struct rc_error *err)
{
    enum { PIECE = 1000 };
    double values[PIECE], sum = 0.0;
    int64_t n_values = 0;
    for (int64_t first = 0; first < rc_results_flights(results); first += PIECE) {
        const int64_t left = rc_results_flights(results) - first, n = left < PIECE ? left : PIECE;
        const rc_status status = rc_results_column(results, column, first, n, values, err);
        if (status != RC_OK) {
            return status;
        }
        for (int64_t at = 0; at < n; at++) {
            if (values[at] == values[at]) { /* a flight without that measure has NAN */
                sum += values[at];
                n_values++;
            }
        }
    }
    *mean = sum / (double)n_values;
    return RC_OK;
}

int main(int argc, char **argv)
{
    rc_campaign *campaign = NULL;
    rc_results *results = NULL;
    struct rc_issues issues = {0};
    struct rc_error err = {0};
    double held = 0.0;

    if (argc != 4) {
        fprintf(stderr, "usage: fly_and_read CAMPAIGN STORE FLIGHTS\n");
        return 2;
    }
    rc_status status = rc_campaign_load(&campaign, argv[1], &issues);
    for (int issue = 0; issue < issues.n_kept; issue++) {
        complain(&issues.item[issue]);
    }
    if (status != RC_OK) {
        return rc_status_exit_code(status);
    }

    const struct rc_run_options options = {.n_flights = strtoll(argv[3], NULL, 10)};
    status = rc_run_fly(campaign, argv[2], &options, NULL, &err);
    if (status == RC_OK) {
        status = rc_results_open(&results, argv[2], &err);
    }
    if (status == RC_OK) {
        status = mean_of(results, "measures/held_fraction", &held, &err);
    }
    if (status == RC_OK) {
        printf("%s: %" PRId64 " flights, held %.6f of the ascent in the mean\n", rc_campaign_name(campaign),
               rc_results_flights(results), held);
    }
    rc_results_close(results);
    rc_campaign_free(campaign);
    return status == RC_OK ? 0 : complain(&err);
}
