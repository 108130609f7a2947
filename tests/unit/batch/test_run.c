/* Flying into a store and replaying: what the rows hold, options, refusals. Bits over threads and stops are in determinism/. */
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>
#include <hdf5.h>

#include "campaign/campaign.h"
#include "rollcast/rollcast.h"
#include "store/seal.h"
#include "support/made_store.h"
#include "unit/campaign/fixture.h"

enum { N_FLIGHTS = 70 };

static rc_campaign *read_campaign(const char *search, const char *replacement)
{
    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    if (fixture_read(&campaign, search, replacement, &issues) != RC_OK)
        fail_msg("%s: %s", issues.item[0].where, issues.item[0].what);
    return campaign;
}

static rc_campaign *fixture(void)
{
    return read_campaign("unit tests", "unit tests");
}

static rc_results *open_ok(const char *path)
{
    rc_results *results = NULL;
    struct rc_error err = {0};
    if (rc_results_open(&results, path, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    return results;
}

static double *column(const rc_results *results, const char *name)
{
    const int64_t n = rc_results_flights(results);
    double *values = malloc((size_t)(n + 1) * sizeof *values);
    struct rc_error err = {0};
    assert_non_null(values);
    if (rc_results_column(results, name, 0, n, values, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    return values;
}

/* A finished store of the fixture; flown once for all tests, which do not write to it. */
static const char *flown(void)
{
    const char *path = made_path("flown.h5");
    const struct rc_run_options options = {.n_flights = N_FLIGHTS};
    struct rc_error err = {0};
    if (rc_file_exists(path))
        return path;
    rc_campaign *campaign = fixture();
    if (rc_run_fly(campaign, path, &options, NULL, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    rc_campaign_free(campaign);
    return path;
}

/* A copy of it that a test may change. */
static const char *flown_copy(const char *name)
{
    const char *path = made_path(name);
    size_t n_bytes = 0;
    char *bytes = made_file(flown(), &n_bytes);
    made_write(path, bytes, n_bytes);
    free(bytes);
    return path;
}

static void test_run__fly_quantities_are_the_plans_draws(void **state)
{
    (void)state;
    rc_campaign *campaign = fixture();
    rc_results *results = open_ok(flown());
    const struct rc_sampling *sampling = rc_campaign_sampling(campaign);
    double drawn[RC_MAX_UNCERTAIN];
    assert_int_equal(rc_results_flights(results), N_FLIGHTS);
    assert_int_equal(rc_results_seed(results), 7);
    assert_int_equal(rc_results_fingerprint(results), rc_campaign_fingerprint(campaign));
    for (int index = 0; index < sampling->n; index++) {
        char name[160];
        (void)snprintf(name, sizeof name, "quantities/%s", sampling->quantity[index].path);
        double *stored = column(results, name);
        for (int flight = 0; flight < N_FLIGHTS; flight++) {
            rc_campaign_plan(campaign)->draw(sampling, 7, (uint64_t)flight, drawn);
            assert_memory_equal(&stored[flight], &drawn[index], sizeof(double));
        }
        free(stored);
    }
    rc_results_close(results);
    rc_campaign_free(campaign);
}

static void test_run__fly_criteria_columns_follow_measure_and_end(void **state)
{
    (void)state;
    const char *path = made_path("criteria.h5");
    rc_campaign *campaign = read_campaign("\"at_least\": 0.6", "\"at_least\": 0.88"); /* about half of the flights */
    const struct rc_run_options options = {.n_flights = N_FLIGHTS};
    struct rc_error err = {0};
    made_remove(path);
    assert_int_equal(rc_run_fly(campaign, path, &options, NULL, &err), RC_OK);
    rc_results *results = open_ok(path);
    double *held = column(results, "measures/held_fraction");
    double *end = column(results, "end");
    double *met = column(results, "criteria/held");
    double *all = column(results, "criteria/all together");
    int n_met = 0;
    for (int flight = 0; flight < N_FLIGHTS; flight++) {
        const int wanted = end[flight] == 0.0 && held[flight] >= 0.88;
        assert_true(met[flight] == (double)wanted);
        assert_true(all[flight] == met[flight]); /* there is one criterion */
        n_met += wanted;
    }
    assert_true(n_met > 0 && n_met < N_FLIGHTS);
    free(held);
    free(end);
    free(met);
    free(all);
    rc_results_close(results);
    rc_campaign_free(campaign);
}

/* Flights that still fly at a time are those whose ascent lasts that long. */
static void test_run__fly_bands_count_the_flights_still_flying(void **state)
{
    (void)state;
    rc_results *results = open_ok(flown());
    double *ascent = column(results, "measures/ascent_s");
    const int n_times = rc_results_band_times(results);
    double *time = malloc((size_t)n_times * sizeof *time);
    double *curve = malloc((size_t)(RC_N_PERCENTILES * n_times) * sizeof *curve);
    int64_t *alive = malloc((size_t)n_times * sizeof *alive);
    struct rc_error err = {0};
    assert_non_null(time);
    assert_non_null(curve);
    assert_non_null(alive);
    assert_int_equal(rc_results_signal_count(results), 6);
    assert_string_equal(rc_results_signal(results, 0).unit, "m");
    assert_int_equal(rc_results_band(results, 0, time, curve, alive, &err), RC_OK);
    for (int at = 0; at < n_times; at++) {
        int n_later = 0;
        int n_near = 0;
        for (int flight = 0; flight < N_FLIGHTS; flight++) {
            n_later += ascent[flight] >= time[at];
            n_near += fabs(ascent[flight] - time[at]) < 0.01; /* on which side of a tick an end falls is the flight's affair */
        }
        assert_true(llabs(alive[at] - n_later) <= n_near);
        for (int index = 1; index < RC_N_PERCENTILES && alive[at] > 0; index++)
            assert_true(curve[index * n_times + at] >= curve[(index - 1) * n_times + at]);
    }
    assert_int_equal(alive[0], N_FLIGHTS);
    free(time);
    free(curve);
    free(alive);
    free(ascent);
    rc_results_close(results);
}

struct seen {
    int n;
    int64_t asked;
    struct rc_progress last;
};

static void see(void *user, const struct rc_progress *progress)
{
    struct seen *seen = user;
    assert_true(progress->done > seen->last.done);
    assert_true(progress->seconds >= seen->last.seconds + 0.19 || seen->n == 0);
    assert_int_equal(progress->asked, seen->asked);
    seen->last = *progress;
    seen->n++;
}

/* More and more flights are added until a run has lasted long enough to show progress. */
static void test_run__fly_progress_and_end_tell_how_the_run_stands(void **state)
{
    (void)state;
    const char *path = made_path("progress.h5");
    rc_campaign *campaign = fixture();
    struct seen seen = {0};
    struct rc_progress ended = {0};
    struct rc_error err = {0};
    struct rc_run_options options = {.n_flights = 10};
    int64_t n_passed = 0;
    made_remove(path);
    assert_int_equal(rc_run_fly(campaign, path, &options, &ended, &err), RC_OK);
    assert_int_equal(ended.done, 10);
    options = (struct rc_run_options){.resume = 1, .progress = see, .user = &seen};
    int64_t begin = 10;
    for (int64_t n = 64; seen.n == 0 && n < 100000; n *= 2) {
        begin = ended.done;
        seen.asked = options.n_flights = begin + n;
        assert_int_equal(rc_run_fly(campaign, path, &options, &ended, &err), RC_OK);
        assert_int_equal(ended.done, begin + n);
        assert_int_equal(ended.asked, begin + n);
        assert_int_equal(ended.begun_with, begin);
    }
    assert_true(seen.n >= 1);
    assert_true(ended.seconds >= seen.last.seconds);
    rc_results *results = open_ok(path);
    double *all = column(results, "criteria/all together");
    for (int64_t flight = 0; flight < ended.done; flight++) /* those of the run before too */
        n_passed += all[flight] == 1.0;
    assert_int_equal(ended.odds.passed, n_passed);
    assert_int_equal(ended.odds.flights, ended.done);
    free(all);
    rc_results_close(results);
    rc_campaign_free(campaign);
}

static void test_run__fly_stop_before_the_first_flight_leaves_a_store_to_resume(void **state)
{
    (void)state;
    const char *path = made_path("stop.h5");
    const atomic_int stop = 1;
    rc_campaign *campaign = fixture();
    struct rc_progress ended = {0};
    struct rc_error err = {0};
    struct rc_run_options options = {.n_flights = 20, .stop = &stop};
    made_remove(path);
    assert_int_equal(rc_run_fly(campaign, path, &options, &ended, &err), RC_STOPPED);
    assert_non_null(strstr(err.what, "resume"));
    assert_int_equal(ended.done, 0);
    rc_results *results = open_ok(path);
    assert_int_equal(rc_results_flights(results), 0);
    assert_int_equal(rc_results_flights_asked(results), 20);
    assert_false(rc_results_is_finished(results));
    rc_results_close(results);
    options = (struct rc_run_options){.resume = 1}; /* what was asked for stands in the store */
    assert_int_equal(rc_run_fly(campaign, path, &options, NULL, NULL), RC_OK);
    results = open_ok(path);
    assert_int_equal(rc_results_flights(results), 20);
    assert_true(rc_results_is_finished(results));
    rc_results_close(results);
    rc_campaign_free(campaign);
}

static void test_run__fly_seed_is_the_stores_on_resuming(void **state)
{
    (void)state;
    const char *path = made_path("seed.h5");
    const char *paths[2] = {path, made_path("seed2.h5")};
    rc_campaign *campaign = fixture();
    struct rc_error err = {0};
    struct rc_run_options options = {.n_flights = 40, .has_seed = 1, .seed = 123456789012345ULL};
    made_remove(path);
    made_remove(paths[1]);
    assert_int_equal(rc_run_fly(campaign, paths[1], &options, NULL, &err), RC_OK);
    options.n_flights = 21;
    assert_int_equal(rc_run_fly(campaign, path, &options, NULL, &err), RC_OK);
    options = (struct rc_run_options){.n_flights = 40, .resume = 1};
    assert_int_equal(rc_run_fly(campaign, path, &options, NULL, &err), RC_OK);
    assert_int_equal(made_compare(paths, 2), 0);
    options.has_seed = 1;
    options.seed = 8;
    assert_int_equal(rc_run_fly(campaign, path, &options, NULL, &err), RC_OTHER_STORE);
    assert_non_null(strstr(err.what, "seed 123456789012345"));
    assert_int_equal(made_compare(paths, 2), 0);
    rc_campaign_free(campaign);
}

static void test_run__fly_wrong_stores_are_refused_and_left_alone(void **state)
{
    (void)state;
    const char *path = flown_copy("refused.h5");
    rc_campaign *campaign = fixture();
    rc_campaign *other = read_campaign("\"elevation_m\": 1200", "\"elevation_m\": 1201");
    struct rc_run_options options = {.n_flights = N_FLIGHTS};
    struct rc_error err = {0};
    size_t n_before = 0;
    size_t n_after = 0;
    char *before = made_file(path, &n_before);
    assert_int_equal(rc_run_fly(campaign, path, &options, NULL, &err), RC_EXISTS);
    options.resume = 1;
    assert_int_equal(rc_run_fly(other, path, &options, NULL, &err), RC_OTHER_STORE);
    options.n_flights = N_FLIGHTS + 10;
    assert_int_equal(rc_run_fly(other, path, &options, NULL, &err), RC_OTHER_STORE);
    char *after = made_file(path, &n_after);
    assert_int_equal(n_after, n_before);
    assert_memory_equal(after, before, n_before);
    assert_int_equal(rc_run_fly(campaign, made_path("absent.h5"), &options, NULL, &err), RC_IO);
    made_remove(path);
    made_write(path, "text", 4);
    assert_int_equal(rc_run_fly(campaign, path, &options, NULL, &err), RC_NOT_STORE);
    options.resume = 0;
    assert_int_equal(rc_run_fly(campaign, made_path("no folder/x.h5"), &options, NULL, &err), RC_IO);
    free(before);
    free(after);
    rc_campaign_free(other);
    rc_campaign_free(campaign);
}

static void test_run__replay_writes_a_history_that_ends_as_the_row_says(void **state)
{
    (void)state;
    rc_results *results = open_ok(flown());
    double *apogee = column(results, "measures/apogee_m");
    double *ascent = column(results, "measures/ascent_s");
    struct rc_error err = {0};
    for (int flight = 0; flight < N_FLIGHTS; flight += 23) {
        int n_differing = -1;
        char line[1024];
        double time = -1.0;
        double height = 0.0;
        int n_rows = 0;
        FILE *csv = tmpfile();
        assert_non_null(csv);
        assert_int_equal(rc_run_replay(results, flight, csv, flight == 0 ? 0.0 : 0.1, &n_differing, &err), RC_OK);
        assert_int_equal(n_differing, 0);
        rewind(csv);
        assert_non_null(fgets(line, sizeof line, csv));
        assert_memory_equal(line, "time_s,east_m,north_m,height_m,", 31);
        int n_columns = 0;
        for (const char *at = line; *at; at++)
            n_columns += *at == ',';
        while (fgets(line, sizeof line, csv)) {
            double now = 0.0;
            double east = 0.0;
            double north = 0.0;
            int n = 0;
            for (const char *at = line; *at; at++)
                n += *at == ',';
            assert_int_equal(n, n_columns);
            assert_int_equal(sscanf(line, "%lf,%lf,%lf,%lf", &now, &east, &north, &height), 4);
            assert_true(now > time);
            assert_true(flight == 0 || time < 0.0 || now - time > 0.099);
            time = now;
            n_rows++;
        }
        assert_int_equal(fclose(csv), 0);
        assert_true(n_rows > (flight == 0 ? 2000 : 100));
        assert_true(fabs(time - ascent[flight]) < (flight == 0 ? 0.011 : 0.111)); /* a tick, or a row's interval and a tick */
        assert_true(fabs(height - apogee[flight]) < 0.5 * 9.9 * 0.13 * 0.13);     /* what it climbs in that time */
    }
    free(apogee);
    free(ascent);
    rc_results_close(results);
}

static void test_run__replay_a_changed_number_is_found(void **state)
{
    (void)state;
    const char *path = flown_copy("changed.h5");
    struct rc_error err = {0};
    double values[N_FLIGHTS];
    int n_differing = -1;
    const hid_t file = H5Fopen(path, H5F_ACC_RDWR, H5P_DEFAULT);
    const hid_t dataset = H5Dopen2(file, "measures/mach_max", H5P_DEFAULT);
    assert_true(H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values) >= 0);
    values[5] = nextafter(values[5], 2.0); /* the least change there is */
    assert_true(H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values) >= 0);
    assert_true(H5Dclose(dataset) >= 0 && H5Fclose(file) >= 0);
    assert_int_equal(rc_seal_write(path, &err), RC_OK); /* or the store would be refused as changed */
    rc_results *results = open_ok(path);
    assert_int_equal(rc_run_replay(results, 4, NULL, 0.0, &n_differing, &err), RC_OK);
    assert_int_equal(n_differing, 0);
    assert_int_equal(rc_run_replay(results, 5, NULL, 0.0, &n_differing, &err), RC_OK);
    assert_int_equal(n_differing, 1);
    rc_results_close(results);
}

static void test_run__replay_bad_flights_and_full_outputs_are_said(void **state)
{
    (void)state;
    rc_results *results = open_ok(flown());
    struct rc_error err = {0};
    int n_differing = 0;
    assert_int_equal(rc_run_replay(results, -1, NULL, 0.0, &n_differing, &err), RC_BAD_INPUT);
    assert_int_equal(rc_run_replay(results, N_FLIGHTS, NULL, 0.0, &n_differing, &err), RC_BAD_INPUT);
    assert_non_null(strstr(err.what, "0 to 69"));
    FILE *full = fopen("/dev/full", "w");
    if (full) {
        assert_int_equal(rc_run_replay(results, 0, full, 0.0, &n_differing, &err), RC_NO_SPACE);
        (void)fclose(full);
    }
    rc_results_close(results);
}

static void test_run__campaign_store_gives_the_campaign_back(void **state)
{
    (void)state;
    rc_campaign *campaign = fixture();
    rc_campaign *kept = NULL;
    struct rc_issues issues = {0};
    rc_results *results = open_ok(flown());
    assert_int_equal(rc_run_campaign(&kept, results, &issues), RC_OK);
    assert_int_equal(rc_campaign_fingerprint(kept), rc_campaign_fingerprint(campaign));
    assert_string_equal(rc_campaign_name(kept), "Test");
    assert_string_equal(rc_results_origin(results).campaign_name, "Test");
    assert_string_equal(rc_results_origin(results).version, rc_version());
    assert_non_null(strstr(rc_results_origin(results).host, "lanes: "));
    rc_campaign_free(kept);
    rc_results_close(results);
    rc_campaign_free(campaign);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_run__fly_quantities_are_the_plans_draws),
        cmocka_unit_test(test_run__fly_criteria_columns_follow_measure_and_end),
        cmocka_unit_test(test_run__fly_bands_count_the_flights_still_flying),
        cmocka_unit_test(test_run__fly_progress_and_end_tell_how_the_run_stands),
        cmocka_unit_test(test_run__fly_stop_before_the_first_flight_leaves_a_store_to_resume),
        cmocka_unit_test(test_run__fly_seed_is_the_stores_on_resuming),
        cmocka_unit_test(test_run__fly_wrong_stores_are_refused_and_left_alone),
        cmocka_unit_test(test_run__replay_writes_a_history_that_ends_as_the_row_says),
        cmocka_unit_test(test_run__replay_a_changed_number_is_found),
        cmocka_unit_test(test_run__replay_bad_flights_and_full_outputs_are_said),
        cmocka_unit_test(test_run__campaign_store_gives_the_campaign_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
