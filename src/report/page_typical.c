/* The typical flight of a store: the one whose measures stand nearest to the middle of all flights, all of them together. One
 * measure alone would not do: a flight in the middle of the first criterion's may be far out in every other. */
#include "page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "campaign/campaign.h"
#include "numeric/sorted.h"

enum { MOST_NAME = 96 };

/* One column at a time, and what all of them add up to. */
struct middle {
    int64_t n_flights;
    double *value;  /* (n_flights) of the column                                                          */
    double *sorted; /* (n_flights) those of the candidates that have one, rising                          */
    double *sum;    /* (n_flights) of |rank / n - 1/2| over the columns so far; infinite: no candidate    */
};

/* How many of n rising values lie below `value`; with_equal: or are equal to it. */
static int64_t count_below(const double *sorted, int64_t n, double value, int with_equal)
{
    int64_t low = 0, high = n;
    while (low < high) {
        const int64_t mid = low + (high - low) / 2;
        if (sorted[mid] < value || (with_equal && sorted[mid] == value)) {
            low = mid + 1;
        } else {
            high = mid;
        }
    }
    return low;
}

/* Add the distances of the column that stands in `value`: equal values share their middle rank, and a flight without a value is
 * as far from the middle as one can be. */
static void add_column(struct middle *middle)
{
    int64_t n = 0;
    for (int64_t flight = 0; flight < middle->n_flights; flight++) {
        if (isfinite(middle->sum[flight]) && isfinite(middle->value[flight])) {
            middle->sorted[n++] = middle->value[flight];
        }
    }
    qsort(middle->sorted, (size_t)n, sizeof *middle->sorted, rc_sorted_rising);
    for (int64_t flight = 0; flight < middle->n_flights; flight++) {
        const double value = middle->value[flight];
        double distance = 0.5;
        if (isfinite(value) && n > 0) {
            const double below = (double)count_below(middle->sorted, n, value, 0);
            const double rank = 0.5 * (below + (double)count_below(middle->sorted, n, value, 1));
            distance = fabs(rank / (double)n - 0.5);
        }
        middle->sum[flight] += distance;
    }
}

/* Candidates: flights that reached apogee and have a value of the measure that best and worst go by. */
static rc_status find_candidates(struct middle *middle, const struct rc_page_facts *facts, const rc_results *results,
                                 struct rc_error *err)
{
    char name[MOST_NAME];
    (void)snprintf(name, sizeof name, "measures/%s", rc_measures_row(facts->chosen_by)->name);
    rc_status status = rc_results_column(results, name, 0, middle->n_flights, middle->value, err);
    if (status == RC_OK) {
        status = rc_results_column(results, "end", 0, middle->n_flights, middle->sum, err);
    }
    for (int64_t flight = 0; status == RC_OK && flight < middle->n_flights; flight++) {
        middle->sum[flight] = middle->sum[flight] == RC_END_APOGEE && isfinite(middle->value[flight]) ? 0.0 : INFINITY;
    }
    return status;
}

/* Names of the columns that count, each once: the criteria's measures, greatest roll rate, apogee. ends how many */
static int name_columns(char name[][MOST_NAME], const struct rc_report_store *store)
{
    static const char *const always[] = {"measures/roll_peak_dps", "measures/apogee_m"};
    const int n_criteria = rc_campaign_criteria_count(store->campaign), n_always = (int)(sizeof always / sizeof always[0]);
    int n = 0;
    for (int row = 0; row < n_criteria + n_always; row++) {
        if (row < n_criteria) {
            const struct rc_criterion *criterion = rc_campaign_criterion(store->campaign, row);
            (void)snprintf(name[n], MOST_NAME, "measures/%s", rc_measures_row(criterion->measure)->name);
        } else {
            (void)snprintf(name[n], MOST_NAME, "%s", always[row - n_criteria]);
        }
        int is_new = rc_results_has(store->results, name[n]);
        for (int other = 0; other < n && is_new; other++) {
            is_new = strcmp(name[other], name[n]) != 0;
        }
        n += is_new;
    }
    return n;
}

static rc_status choose(struct middle *middle, struct rc_page_facts *facts, const struct rc_report_store *store,
                        struct rc_error *err)
{
    char name[RC_MAX_CRITERIA + 3][MOST_NAME];
    const int n_columns = name_columns(name, store);
    rc_status status = find_candidates(middle, facts, store->results, err);
    for (int column = 0; column < n_columns && status == RC_OK; column++) {
        status = rc_results_column(store->results, name[column], 0, middle->n_flights, middle->value, err);
        if (status == RC_OK) {
            add_column(middle);
        }
    }
    int64_t best = -1;
    for (int64_t flight = 0; status == RC_OK && flight < middle->n_flights; flight++) {
        if (isfinite(middle->sum[flight]) && (best < 0 || middle->sum[flight] < middle->sum[best])) {
            best = flight;
        }
    }
    facts->history[0].flight = best;
    if (best >= 0) {
        (void)snprintf(name[0], MOST_NAME, "measures/%s", rc_measures_row(facts->chosen_by)->name);
        status = rc_results_column(store->results, name[0], best, 1, &facts->history[0].value, err);
    }
    return status;
}

rc_status rc_page_typical_choose(struct rc_page_facts *facts, const struct rc_report_store *store, struct rc_error *err)
{
    struct middle middle = {.n_flights = facts->answer.flights};
    char name[MOST_NAME];
    if (facts->chosen_by < 0) {
        return RC_OK;
    }
    (void)snprintf(name, sizeof name, "measures/%s", rc_measures_row(facts->chosen_by)->name);
    if (!rc_results_has(store->results, name)) {
        return RC_OK;
    }
    const size_t n_bytes = ((size_t)middle.n_flights + 1) * sizeof(double);
    middle.value = malloc(n_bytes);
    middle.sorted = malloc(n_bytes);
    middle.sum = malloc(n_bytes);
    const rc_status status = middle.value != NULL && middle.sorted != NULL && middle.sum != NULL
                                 ? choose(&middle, facts, store, err)
                                 : rc_error_fill(err, RC_NO_MEMORY, "", "no memory for the columns of a page");
    free(middle.value);
    free(middle.sorted);
    free(middle.sum);
    return status;
}
