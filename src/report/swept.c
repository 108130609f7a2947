/* A trade read back: which numbers its settings vary is found in the campaigns that the stores keep, so that nothing but the
 * folder is needed. Counting flights is batch's, bands and the best are analysis'. */
#include "swept.h"

#include <stdlib.h>
#include <string.h>

#include "analysis/pairing.h"
#include "campaign/campaign.h"
#include "trade.h"

enum { PATH = 512 };

/* One store of the folder while it is read. */
struct setting {
    char path[PATH];
    rc_results *results;
    rc_campaign *campaign;
};

static void store_path(char *path, const char *folder, int index)
{
    (void)snprintf(path, PATH, "%.490s/%03d.h5", folder, index + 1);
}

static void close_setting(struct setting *setting)
{
    rc_campaign_free(setting->campaign);
    rc_results_close(setting->results);
    *setting = (struct setting){.results = NULL};
}

/* Open a store of the folder, which has to be a whole one. out setting ends with close_setting, also on error */
static rc_status open_setting(struct setting *setting, const char *folder, int index, struct rc_error *err)
{
    struct rc_issues *issues = calloc(1, sizeof *issues);
    *setting = (struct setting){.results = NULL};
    store_path(setting->path, folder, index);
    rc_status status = issues != NULL ? rc_results_open(&setting->results, setting->path, err)
                                      : rc_error_fill(err, RC_NO_MEMORY, setting->path, "no memory for a setting");
    if (status == RC_OK) {
        status = rc_run_campaign(&setting->campaign, setting->results, issues);
        if (status != RC_OK) {
            (void)rc_error_fill(err, status, setting->path, "%s", rc_status_text(status));
        }
    }
    free(issues);
    if (status == RC_OK && !rc_results_is_finished(setting->results)) {
        status = rc_error_fill(err, RC_BAD_INPUT, setting->path,
                               "holds %lld of %lld flights: the trade is not done; the same trade with --resume goes on",
                               (long long)rc_results_flights(setting->results),
                               (long long)rc_results_flights_asked(setting->results));
    }
    return status;
}

/* How many settings there are. ends RC_BAD_INPUT where there is no sweep */
static rc_status count_settings(struct rc_swept *swept, const char *folder, struct rc_error *err)
{
    char path[PATH];
    if (strlen(folder) > 480) {
        return rc_error_fill(err, RC_BAD_INPUT, "", "the name of the trade's folder is too long");
    }
    for (store_path(path, folder, swept->n); swept->n < RC_SWEEP_SETTINGS && rc_file_exists(path);) {
        store_path(path, folder, ++swept->n);
    }
    (void)snprintf(path, sizeof path, "%s/a.h5", folder);
    if (swept->n < 2 && rc_file_exists(path)) {
        return rc_error_fill(err, RC_BAD_INPUT, folder,
                             "holds two designs, no sweep; report %.100s/a.h5 %.100s/b.h5 sets them side by side", folder,
                             folder);
    }
    if (swept->n < 2) {
        return rc_error_fill(err, RC_BAD_INPUT, folder,
                             "holds no settings 001.h5, 002.h5, ...; wanted the folder that rollcast trade --vary filled");
    }
    return RC_OK;
}

/* Add the numbers in which a setting differs from the first to those varied. */
static rc_status add_varied(struct rc_swept *swept, const struct setting *first, const struct setting *other,
                            struct rc_error *err)
{
    struct rc_campaign_differences differences;
    if (rc_campaign_differ(&differences, first->campaign, other->campaign) != RC_OK) {
        return rc_error_fill(err, RC_NO_MEMORY, other->path, "no memory for a setting");
    }
    if (differences.other[0] != '\0' || differences.n < 1 || differences.n > RC_SWEEP_VARIED) {
        return rc_error_fill(err, RC_BAD_INPUT, other->path, "is no setting of the same trade as 001.h5: it differs %s%s",
                             differences.n < 1 && differences.other[0] == '\0' ? "in nothing" : "in more than two numbers",
                             differences.other[0] != '\0' ? ", or an entry that is no number" : "");
    }
    for (int at = 0; at < differences.n; at++) {
        if (swept->n_varied == 0 || (swept->n_varied == 1 && strcmp(differences.path[at], swept->path[0]) != 0)) {
            memcpy(swept->path[swept->n_varied++], differences.path[at], RC_MAX_PATH_TEXT);
        }
    }
    return RC_OK;
}

/* Which numbers are varied: the second setting has another value of the fast one, the last another one of the slow one. */
static rc_status find_varied(struct rc_swept *swept, const struct setting *first, const char *folder, struct rc_error *err)
{
    const int other[] = {1, swept->n - 1};
    rc_status status = RC_OK;
    for (int at = 0; at < 2 && status == RC_OK; at++) {
        struct setting setting;
        status = open_setting(&setting, folder, other[at], err);
        if (status == RC_OK) {
            status = add_varied(swept, first, &setting, err);
        }
        close_setting(&setting);
    }
    return status;
}

rc_status rc_swept_place(double value[RC_SWEEP_VARIED], const struct rc_swept *swept, const rc_campaign *campaign,
                         struct rc_error *err)
{
    struct rc_campaign_differences differences;
    struct rc_issues *issues = calloc(1, sizeof *issues);
    rc_status status = issues != NULL ? rc_campaign_differ(&differences, swept->campaign, campaign) : RC_NO_MEMORY;
    if (status != RC_OK) {
        free(issues);
        return rc_error_fill(err, status, "", "no memory for a setting");
    }
    const char *elsewhere = differences.other;
    for (int at = 0; at < differences.n && at < RC_CAMPAIGN_MOST_DIFFERENCES && *elsewhere == '\0'; at++) {
        const int is_varied = strcmp(differences.path[at], swept->path[0]) == 0 ||
                              (swept->n_varied > 1 && strcmp(differences.path[at], swept->path[1]) == 0);
        elsewhere = is_varied ? elsewhere : differences.path[at];
    }
    for (int varied = 0; varied < swept->n_varied && *elsewhere == '\0'; varied++) {
        if (rc_campaign_number(&value[varied], campaign, swept->path[varied], issues) != RC_OK) {
            elsewhere = swept->path[varied];
        }
    }
    free(issues);
    return *elsewhere == '\0'
               ? RC_OK
               : rc_error_fill(err, RC_BAD_INPUT, "", "differs from the trade's settings at %s", elsewhere);
}

/* Does a setting belong to the trade: same flights, same design but for the numbers varied? */
static rc_status check_setting(struct rc_swept *swept, int index, const struct setting *setting, uint64_t seed,
                               struct rc_error *err)
{
    struct rc_error why = {.status = RC_OK};
    if (rc_results_seed(setting->results) != seed || rc_campaign_plan(setting->campaign) != rc_plan_find("plain") ||
        rc_results_run_rule(setting->results)[0] != '\0') {
        return rc_error_fill(err, RC_BAD_INPUT, setting->path, "is no setting of the same trade as 001.h5: it has other flights");
    }
    if (rc_results_flights(setting->results) != swept->n_flights) {
        return rc_error_fill(err, RC_BAD_INPUT, setting->path,
                             "holds %lld flights, 001.h5 %lld; the same trade with --resume makes them as many",
                             (long long)rc_results_flights(setting->results), (long long)swept->n_flights);
    }
    const rc_status status = rc_swept_place(swept->value[index], swept, setting->campaign, &why);
    return status == RC_OK ? RC_OK : rc_error_fill(err, status, setting->path, "is no setting of the same trade: %s", why.what);
}

static rc_status read_setting(struct rc_swept *swept, int index, const struct rc_report_swept *asked, uint64_t seed,
                              unsigned char *met, struct rc_error *err)
{
    struct setting setting;
    rc_status status = open_setting(&setting, asked->folder, index, err);
    if (status == RC_OK) {
        status = check_setting(swept, index, &setting, seed, err);
    }
    if (status == RC_OK) {
        status = rc_designs_marks(met + index * swept->n_flights, &swept->n_met[index], setting.campaign, swept->criterion.index,
                                  setting.path, swept->n_flights, err);
    }
    close_setting(&setting);
    return status;
}

/* Rows and columns of a map: the first path's value changes slowest. */
static rc_status lay_map(struct rc_swept *swept, const char *folder, struct rc_error *err)
{
    swept->count[0] = swept->n;
    swept->count[1] = 1;
    if (swept->n_varied < RC_SWEEP_VARIED) {
        return RC_OK;
    }
    const int slow = swept->value[0][0] == swept->value[1][0] ? 0 : 1;
    if (slow == 1) {
        char path[RC_MAX_PATH_TEXT];
        memcpy(path, swept->path[0], sizeof path);
        memcpy(swept->path[0], swept->path[1], sizeof path);
        memcpy(swept->path[1], path, sizeof path);
        for (int index = 0; index < swept->n; index++) {
            const double fast = swept->value[index][0];
            swept->value[index][0] = swept->value[index][1];
            swept->value[index][1] = fast;
        }
    }
    while (swept->count[1] < swept->n && swept->value[swept->count[1]][0] == swept->value[0][0]) {
        swept->count[1]++;
    }
    swept->count[0] = swept->n / swept->count[1];
    return swept->count[0] * swept->count[1] == swept->n
               ? RC_OK
               : rc_error_fill(err, RC_BAD_INPUT, folder, "holds %d settings, which fill no map: the trade is not done; the same "
                                                          "trade with --resume goes on", swept->n);
}

/* The band over all settings and the set of the best, from every flight's marks. */
static rc_status settle(struct rc_swept *swept, const unsigned char *met, struct rc_error *err)
{
    const struct rc_designs designs = {swept->n, swept->n_flights, met};
    for (int index = 0; index < swept->n; index++) {
        swept->best = swept->n_met[index] > swept->n_met[swept->best] ? index : swept->best;
    }
    rc_pairing_best(swept->may_be_best, &designs, swept->criterion.confidence);
    return rc_pairing_band(swept->band, &designs, swept->criterion.confidence, rc_campaign_seed(swept->campaign), err);
}

rc_status rc_swept_gather(struct rc_swept *swept, const struct rc_report_swept *asked, struct rc_error *err)
{
    struct setting first = {.results = NULL};
    unsigned char *met = NULL;
    *swept = (struct rc_swept){.n = 0};
    rc_status status = count_settings(swept, asked->folder, err);
    if (status == RC_OK) {
        status = open_setting(&first, asked->folder, 0, err);
    }
    if (status == RC_OK) {
        status = find_varied(swept, &first, asked->folder, err);
    }
    if (status != RC_OK) {
        goto done;
    }
    swept->n_flights = rc_results_flights(first.results);
    const uint64_t seed = rc_results_seed(first.results);
    swept->campaign = first.campaign;
    first.campaign = NULL;
    status = rc_trade_criterion(&swept->criterion, swept->campaign, asked->of, err);
    if (status != RC_OK) {
        goto done;
    }
    const size_t n = (size_t)swept->n;
    swept->value = calloc(n, sizeof *swept->value);
    swept->n_met = calloc(n, sizeof *swept->n_met);
    swept->band = calloc(n, sizeof *swept->band);
    swept->may_be_best = calloc(n, sizeof *swept->may_be_best);
    met = (uint64_t)swept->n_flights < SIZE_MAX / RC_SWEEP_SETTINGS ? malloc(n * (size_t)swept->n_flights + 1) : NULL;
    if (swept->value == NULL || swept->n_met == NULL || swept->band == NULL || swept->may_be_best == NULL || met == NULL) {
        status = rc_error_fill(err, RC_NO_MEMORY, "", "no memory for %d settings of %lld flights", swept->n,
                               (long long)swept->n_flights);
        goto done;
    }
    for (int index = 0; index < swept->n && status == RC_OK; index++) {
        status = read_setting(swept, index, asked, seed, met, err);
    }
    if (status == RC_OK) {
        status = lay_map(swept, asked->folder, err);
    }
    if (status == RC_OK) {
        status = settle(swept, met, err);
    }
done:
    close_setting(&first);
    free(met);
    return status;
}

void rc_swept_free(struct rc_swept *swept)
{
    rc_campaign_free(swept->campaign);
    free(swept->value);
    free(swept->n_met);
    free(swept->band);
    free(swept->may_be_best);
    *swept = (struct rc_swept){.n = 0};
}
