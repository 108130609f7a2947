/* A store of made-up rows. */
#include "made_store.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

static const struct rc_bundle bundle = {
    .n_files = 3,
    .file = {{(char *)"made.json", (char *)"{\"name\": \"made up \xc3\xa4\"}\n", 23},
             {(char *)"tables/thrust.csv", (char *)"time_s,thrust_N\n0,100\n1,0\n", 26},
             {(char *)"empty.csv", (char *)"", 0}}};

static const struct rc_store_column columns[MADE_COLUMNS] = {
    {"quantities/fins[0].cant_deg", "deg", "cant of the fins"},
    {"quantities/drive.floor_dps", "deg/s", "slowest turning of the drive"},
    {"measures/held_fraction", "1", "share of the ascent that is held"},
    {"measures/apogee_m", "m", "height of apogee above the pad"},
    {"criteria/clip | long", "1", "a criterion"},
    {"criteria/all together", "1", "1 where the flight met all criteria, else 0"},
    {"end", "1", "how the flight ended"}};

static const struct rc_store_signal signals[MADE_SIGNALS] = {
    {"roll", "deg/s", "roll rate"},
    {"height", "m", "height above the pad"}};

static const double edges[MADE_BINS + 1] = {-16.0, -8.0, -4.0, -2.0, -1.0, 1.0, 2.0, 4.0, 8.0, 16.0};

struct rc_store_plan made_plan(int64_t n_flights)
{
    return (struct rc_store_plan){.bundle = &bundle, .fingerprint = rc_bundle_fingerprint(&bundle), .seed = 20261125,
                                  .n_flights = n_flights, .campaign_name = "made up \xc3\xa4", .version = "0.0.1",
                                  .host_facts = "compiler: a\nsystem: b\n", .n_columns = MADE_COLUMNS, .column = columns,
                                  .n_signals = MADE_SIGNALS, .n_times = MADE_TIMES, .n_bins = MADE_BINS, .signal = signals,
                                  .time_step = 0.5, .bin_edge = edges};
}

static uint64_t mixed(int64_t flight, int a, int b)
{
    const int64_t key[3] = {flight, a, b};
    return rc_hash_bytes(RC_FNV_START, key, sizeof key);
}

double made_value(int64_t flight, int column)
{
    const uint64_t mix = mixed(flight, column, 1);
    if (column >= 4)
        return column == 6 ? (double)(mix % 3) : (double)(mix & 1);
    if (mix % 97 == 0)
        return NAN;
    if (mix % 89 == 0)
        return -INFINITY;
    if (mix % 83 == 0)
        return -0.0;
    return ((double)(mix >> 11) / 9007199254740992.0 - 0.5) * (column == 3 ? 4000.0 : 1.0);
}

uint16_t made_bin(int64_t flight, int signal, int time)
{
    const uint64_t alive = 2 + mixed(flight, signal, 2) % MADE_TIMES;
    return (uint64_t)time < alive ? (uint16_t)(mixed(flight, signal, 10 + time) % MADE_BINS) : 0xffff;
}

void made_rows(int64_t first, int n, double *rows, uint16_t *bins)
{
    for (int row = 0; row < n; row++)
        for (int column = 0; column < MADE_COLUMNS; column++)
            *rows++ = made_value(first + row, column);
    for (int row = 0; row < n; row++)
        for (int cell = 0; cell < MADE_SIGNALS * MADE_TIMES; cell++)
            *bins++ = made_bin(first + row, cell / MADE_TIMES, cell % MADE_TIMES);
}

rc_status made_append(struct rc_store *store, int64_t end, int unit, struct rc_error *err)
{
    double *rows = malloc((size_t)unit * 2 * MADE_COLUMNS * sizeof *rows);
    uint16_t *bins = malloc((size_t)unit * 2 * MADE_SIGNALS * MADE_TIMES * sizeof *bins);
    rc_status status = rows && bins ? RC_OK : RC_NO_MEMORY;
    while (status == RC_OK && rc_store_flights(store) < end) {
        const int64_t first = rc_store_flights(store);
        int64_t n = unit + first % unit;
        if (n > end - first)
            n = end - first;
        made_rows(first, (int)n, rows, bins);
        status = rc_store_append(store, (int)n, rows, bins, err);
    }
    free(rows);
    free(bins);
    return status;
}

void made_complete(const char *path, int64_t n, int unit)
{
    const struct rc_store_plan plan = made_plan(n);
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    made_remove(path);
    assert_int_equal(rc_store_create(&store, path, &plan, &err), RC_OK);
    assert_int_equal(made_append(store, n, unit, &err), RC_OK);
    assert_int_equal(rc_store_close(store, &err), RC_OK);
}

/* Counts and curve of a band, straight from the made-up bins. */
static void check_band(const rc_results *results, int signal, int64_t n)
{
    double time[MADE_TIMES];
    double curve[RC_N_PERCENTILES * MADE_TIMES];
    int64_t alive[MADE_TIMES];
    struct rc_error err = {0};
    assert_int_equal(rc_results_band(results, signal, time, curve, alive, &err), RC_OK);
    for (int at = 0; at < MADE_TIMES; at++) {
        int64_t count[MADE_BINS] = {0};
        int64_t total = 0;
        for (int64_t flight = 0; flight < n; flight++) {
            const uint16_t bin = made_bin(flight, signal, at);
            if (bin == 0xffff)
                continue;
            count[bin]++;
            total++;
        }
        assert_int_equal(alive[at], total);
        assert_true(time[at] == 0.5 * at);
        for (int index = 0; index < RC_N_PERCENTILES; index++) {
            const double value = curve[index * MADE_TIMES + at];
            double below = 0.0;
            if (total == 0) {
                assert_true(isnan(value));
                continue;
            }
            for (int bin = 0; bin < MADE_BINS; bin++) { /* the share below the curve is the percentile it stands for */
                const double share = (value - edges[bin]) / (edges[bin + 1] - edges[bin]);
                below += (double)count[bin] * (share < 0.0 ? 0.0 : share > 1.0 ? 1.0 : share);
            }
            assert_true(fabs(below - rc_results_percentile(index) / 100.0 * (double)total) < 1e-9 * (double)total);
        }
    }
}

void made_check(const char *path, int64_t n)
{
    rc_results *results = NULL;
    struct rc_error err = {0};
    double *values = malloc(((size_t)n + 1) * sizeof *values);
    assert_non_null(values);
    if (rc_results_open(&results, path, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    assert_int_equal(rc_results_flights(results), n);
    assert_int_equal(rc_results_column_count(results), MADE_COLUMNS);
    for (int column = 0; column < MADE_COLUMNS; column++) {
        assert_string_equal(rc_results_column_view(results, column).name, columns[column].name);
        assert_int_equal(rc_results_column(results, columns[column].name, 0, n, values, &err), RC_OK);
        for (int64_t flight = 0; flight < n; flight++) {
            const double wanted = made_value(flight, column);
            if (memcmp(&wanted, &values[flight], sizeof wanted) != 0)
                fail_msg("%s: flight %lld of %s is %.17g, wanted %.17g", path, (long long)flight, columns[column].name,
                         values[flight], wanted);
        }
    }
    for (int signal = 0; signal < MADE_SIGNALS; signal++)
        check_band(results, signal, n);
    rc_results_close(results);
    free(values);
}

int made_compare(const char *const *paths, int n)
{
    struct rc_text command = {0};
    rc_text_add(&command, "%s -B %s/tests/support/compare_stores.py", RC_TEST_PYTHON, RC_SOURCE_DIR);
    for (int index = 0; index < n; index++)
        rc_text_add(&command, " '%s'", paths[index]);
    const int result = command.failed ? -1 : system(command.bytes);
    rc_text_free(&command);
    return result;
}

const char *made_path(const char *name)
{
    static char paths[8][512];
    static int next;
    char *path = paths[next++ % 8];
    (void)mkdir(RC_TEST_SCRATCH, 0777);
    (void)snprintf(path, sizeof paths[0], "%s/%ld", RC_TEST_SCRATCH, (long)getpid());
    (void)mkdir(path, 0777);
    (void)snprintf(path, sizeof paths[0], "%s/%ld/%s", RC_TEST_SCRATCH, (long)getpid(), name);
    return path;
}

void made_remove(const char *path)
{
    static const char *const suffixes[] = {"", ".journal", ".tmp", ".lock"};
    for (size_t index = 0; index < sizeof suffixes / sizeof suffixes[0]; index++) {
        char name[600];
        (void)snprintf(name, sizeof name, "%s%s", path, suffixes[index]);
        (void)unlink(name);
    }
}

char *made_file(const char *path, size_t *n_bytes)
{
    char *bytes = NULL;
    struct rc_error err = {0};
    if (rc_file_read(&bytes, n_bytes, path, (size_t)1 << 30, &err) != RC_OK)
        fail_msg("%s: %s", err.where, err.what);
    return bytes;
}

void made_write(const char *path, const char *bytes, size_t n_bytes)
{
    (void)unlink(path); /* a new file: some file systems flush one that is cut to nothing, which takes its time */
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, n_bytes, file), n_bytes);
    assert_int_equal(fclose(file), 0);
}
