/* One stored flight again, from what the store keeps: the same draw, a block with one live lane, every stored number
 * compared bit by bit, the history as CSV. */
#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "rollcast/rare.h"
#include "rollcast/rollcast.h"
#include "replay.h"

static const double degrees = 57.29577951308232; /* in one radian */

/* Where the moments go. */
struct history {
    FILE *csv;
    double interval;   /* least time between rows [s]  */
    double next;       /* no row before this time [s]  */
};

static const char header[] =
    "time_s,east_m,north_m,height_m,east_mps,north_mps,up_mps,axis_east,axis_north,axis_up,mach,q_Pa,alpha_deg,thrust_N,mass_kg,"
    "pitch_rate_dps,yaw_rate_dps,roll_rate_dps,roll_angle_deg,residual_dps,drive_rate_dps,command_dps,gyro_dps,drive_state";

/* ends EOF if it could not be written */
static int write_header(FILE *csv, const rc_campaign *campaign)
{
    if (rc_campaign_formula(campaign))
        return fputs("result\n", csv);
    int n = fputs(header, csv);
    for (int camera = 0; camera < rc_campaign_layout(campaign)->n_cameras && n != EOF; camera++)
        n = fprintf(csv, ",smear_%d_px,frames_%d,usable_%d", camera, camera, camera) < 0 ? EOF : n;
    return n == EOF ? EOF : fputc('\n', csv);
}

static void write_moment(void *user, const struct rc_moment *moment)
{
    struct history *history = user;
    if (moment->time < history->next)
        return;
    history->next = moment->time + history->interval * (1.0 - 1e-9);
    const double column[] = {
        moment->time, moment->position[0], moment->position[1], moment->position[2], moment->velocity[0], moment->velocity[1],
        moment->velocity[2], moment->axis[0], moment->axis[1], moment->axis[2], moment->mach, moment->q,
        moment->alpha * degrees, moment->thrust, moment->mass, moment->pitch_rate * degrees, moment->yaw_rate * degrees,
        moment->roll_rate * degrees, moment->roll_angle * degrees, moment->residual * degrees, moment->drive_rate * degrees,
        moment->command * degrees, moment->gyro * degrees, moment->drive_state};
    const size_t n = sizeof column / sizeof column[0];
    for (size_t index = 0; index < n; index++)
        (void)fprintf(history->csv, "%s%.10g", index > 0 ? "," : "", column[index]); /* ferror() tells at the end */
    for (int camera = 0; camera < moment->n_cameras; camera++)
        (void)fprintf(history->csv, ",%.10g,%" PRId64 ",%d", moment->smear[camera], moment->frames[camera],
                      moment->is_usable[camera]);
    (void)fputc('\n', history->csv);
}

/* What its quantities are: drawn by the plan again, or, where a method chose them, as the store has them. out row  its head */
static rc_status fill_quantities(const rc_results *results, int64_t flight, const struct rc_worker_plan *plan, double *row,
                                 struct rc_error *err)
{
    struct rc_rare_rule rule;
    rc_status status = RC_OK;
    if (!rc_rare_read(&rule, rc_results_run_rule(results))) {
        const uint64_t number = (uint64_t)(rc_results_shard(results).first + flight);
        rc_campaign_plan(plan->campaign)->draw(rc_campaign_sampling(plan->campaign), plan->seed, number, row);
        return RC_OK;
    }
    for (int index = 0; index < plan->columns->n_quantities && status == RC_OK; index++)
        status = rc_results_column(results, plan->columns->column[index].name, flight, 1, &row[index], err);
    return status;
}

/* Fly it with one live lane. in/out row  quantities in, every number the store should hold */
static rc_status fly_one(const struct rc_worker_plan *plan, int64_t flight, struct history *history, double *row,
                         struct rc_error *err)
{
    struct rc_worker worker = {.block = NULL};
    const uint64_t number = (uint64_t)flight;
    const rc_status status = rc_worker_begin(&worker, plan, err);
    if (status == RC_OK) {
        rc_campaign_design(plan->campaign, row, &worker.designs[0]);
        worker.flights[0] = number;
        worker.records[0].bin = NULL;
        rc_worker_lanes(&worker, plan, 1, history->csv ? write_moment : NULL, history);
        if (history->csv && rc_campaign_formula(plan->campaign))
            (void)fprintf(history->csv, "%.17g\n", worker.records[0].measure[RC_MEASURE_result]);
        (void)rc_columns_fill(plan->columns, plan->campaign, &worker.records[0], row);
    }
    rc_worker_free(&worker);
    return status;
}

/* Bits, not values: a NAN is to be the same NAN, and -0 is not 0. */
static rc_status compare(const rc_results *results, int64_t flight, const struct rc_columns *columns, const double *row,
                         int *n_differing, struct rc_error *err)
{
    int n = 0;
    for (int index = 0; index < columns->n; index++) {
        double stored = 0.0;
        const rc_status status = rc_results_column(results, columns->column[index].name, flight, 1, &stored, err);
        if (status != RC_OK)
            return status;
        /* NOLINTNEXTLINE(bugprone-suspicious-memory-comparison): bits are what is promised */
        n += memcmp(&stored, &row[index], sizeof stored) != 0;
    }
    *n_differing = n;
    return RC_OK;
}

rc_status rc_run_replay_row(const rc_results *results, const struct rc_worker_plan *plan, int64_t row, int *n_differing,
                            struct rc_error *err)
{
    struct history history = {.csv = NULL};
    double *values = malloc((size_t)plan->columns->n * sizeof *values);
    if (!values)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a flight's numbers");
    rc_status status = fill_quantities(results, row, plan, values, err);
    if (status == RC_OK)
        status = fly_one(plan, rc_results_shard(results).first + row, &history, values, err);
    if (status == RC_OK)
        status = compare(results, row, plan->columns, values, n_differing, err);
    free(values);
    return status;
}

/* Does the store have every number of a flight? Another version may have kept others. */
static rc_status expect_columns(const rc_results *results, const struct rc_columns *columns, struct rc_error *err)
{
    const char *filled_by = rc_results_origin(results).version;
    for (int index = 0; index < columns->n; index++) {
        const bool is_stored = rc_results_has(results, columns->column[index].name);
        if (!is_stored && strcmp(filled_by, rc_version()) != 0)
            return rc_error_fill(err, RC_OTHER_STORE, NULL,
                                 "was filled by %s, this is %s: it has no column %s; replay it with the version that filled it",
                                 filled_by, rc_version(), columns->column[index].name);
        if (!is_stored)
            return rc_error_fill(err, RC_OTHER_STORE, NULL, "has no column %s; use a good copy or fly again",
                                 columns->column[index].name);
    }
    return RC_OK;
}

static rc_status campaign_of(rc_campaign **campaign, const rc_results *results, struct rc_error *err)
{
    struct rc_issues *issues = calloc(1, sizeof *issues);
    if (!issues)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory to read the store's campaign");
    const rc_status status = rc_run_campaign(campaign, results, issues);
    struct rc_error first = {.status = RC_OK};
    if (status != RC_OK && rc_issues_first_error(issues, status, &first) != RC_OK)
        (void)rc_error_fill(err, status, first.where,
                            "the campaign that the store keeps, filled by %s, is not accepted by this program, %s: %s",
                            rc_results_origin(results).version, rc_version(), first.what);
    free(issues);
    return status;
}

rc_status rc_run_campaign(rc_campaign **campaign, const rc_results *results, struct rc_issues *issues)
{
    return rc_campaign_from_bundle(campaign, rc_results_bundle(results), issues);
}

rc_status rc_run_replay(const rc_results *results, int64_t flight, FILE *csv, double interval, int *n_differing,
                        struct rc_error *err)
{
    rc_campaign *campaign = NULL;
    struct rc_columns columns = {0};
    struct history history = {.csv = csv, .interval = interval > 0.0 ? interval : 0.0, .next = -1e300};
    double *row = NULL;
    rc_status status = RC_OK;
    if (flight < 0 || flight >= rc_results_flights(results))
        return rc_error_fill(err, RC_BAD_INPUT, NULL, "there is no flight %lld; the store holds flights 0 to %lld",
                             (long long)flight, (long long)rc_results_flights(results) - 1);
    status = campaign_of(&campaign, results, err);
    if (status == RC_OK)
        status = rc_columns_list(&columns, campaign, err);
    if (status == RC_OK)
        status = expect_columns(results, &columns, err);
    if (status != RC_OK)
        goto done;
    row = malloc((size_t)columns.n * sizeof *row);
    if (!row || (csv && write_header(csv, campaign) == EOF)) {
        status = row ? rc_error_fill(err, RC_IO, NULL, "the history cannot be written: %s", strerror(errno))
                     : rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for a flight's numbers");
        goto done;
    }
    const struct rc_worker_plan plan = {.campaign = campaign, .columns = &columns, .seed = rc_results_seed(results)};
    status = fill_quantities(results, flight, &plan, row, err);
    if (status == RC_OK)
        status = fly_one(&plan, flight, &history, row, err);
    if (status == RC_OK)
        status = compare(results, flight, &columns, row, n_differing, err);
    if (status == RC_OK && csv && (fflush(csv) == EOF || ferror(csv)))
        status =
            rc_error_fill(err, errno == ENOSPC ? RC_NO_SPACE : RC_IO, NULL, "the history cannot be written: %s", strerror(errno));
done:
    free(row);
    rc_columns_free(&columns);
    rc_campaign_free(campaign);
    return status;
}
