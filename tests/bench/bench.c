/* Speed of flights: the library's lanes, the same source with one lane, CVODE in the place of the steps, the store, threads, and
 * where the time goes. Builds that are compared take turns in one process; times are processor time of the thread, so that other
 * load on the machine disturbs ratios little, except where it says wall. How to read it: docs/performance.md. */
#include <dlfcn.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "accuracy.h"
#include "clocked_store.h"
#include "machine.h"
#include "rollcast/rollcast.h"
#include "rollcast/run.h"
#include "sheet.h"

enum { MAX_REPEATS = 31, MAX_BUILDS = 12, CHECKED_FLIGHTS = 256, PART_FLIGHTS = 2048, STORE_FLIGHTS = 10000 };

/* One build that takes part. */
struct entrant {
    char name[32];
    const struct flier_build *build;
    struct flier *flier;
    void (*parts)(double *ticks);
    void (*solve_with)(enum flier_solver solver, double tolerance);
    void (*counts)(double *n_slopes, double *n_steps);
    double *rows;
    uint16_t *bins;
    int n;                       /* flights in one turn                */
    double rate[MAX_REPEATS];    /* flights per second of each turn    */
    double best, median;
};

static struct {
    const char *campaign, *json;
    int repeats, only_store, only_drives;
    double turn;                 /* wanted length of one turn [s] */
} options = {RC_SOURCE_DIR "/campaigns/first.json", NULL, 7, 0, 0, 0.4};

static double seconds(clockid_t clock)
{
    struct timespec time;
    (void)clock_gettime(clock, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static void *allocate(size_t n, size_t size)
{
    void *const memory = calloc(n, size);
    if (memory == NULL) {
        (void)fprintf(stderr, "bench: no memory\n");
        exit(1);
    }
    return memory;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median_of(const double *values, int n)
{
    double sorted[MAX_REPEATS];
    memcpy(sorted, values, (size_t)n * sizeof *values);
    qsort(sorted, (size_t)n, sizeof *sorted, rising);
    return 0.5 * (sorted[(n - 1) / 2] + sorted[n / 2]);
}

static double best_of(const double *values, int n)
{
    double best = values[0];
    for (int i = 1; i < n; i++)
        best = fmax(best, values[i]);
    return best;
}

/* A function of a loaded build. in needed  ends the program where it is missing */
static void *symbol(void *handle, const char *name, int needed)
{
    void *const found = dlsym(handle, name);
    if (found == NULL && needed) {
        (void)fprintf(stderr, "bench: a build lacks %s\n", name);
        exit(1);
    }
    return found;
}

/* Load a build and a campaign into it. */
static struct entrant *enter_with(const char *name, double step_scale, const char *campaign)
{
    char path[1024];
    struct entrant *const entrant = allocate(1, sizeof *entrant);
    (void)snprintf(entrant->name, sizeof entrant->name, "%s", name);
    (void)snprintf(path, sizeof path, "%s/libflier_%s.so", BENCH_BUILDS, name);
    void *const handle = dlopen(path, RTLD_NOW | RTLD_LOCAL);
    if (handle == NULL) {
        (void)fprintf(stderr, "bench: %s\n", dlerror());
        exit(1);
    }
    const struct flier_build *(*build)(void);
    /* POSIX lets a pointer from dlsym be a function; C does not, hence the copies. */
    *(void **)&build = symbol(handle, "flier_build", 1);
    *(void **)&entrant->parts = symbol(handle, "flier_parts", 0);
    *(void **)&entrant->solve_with = symbol(handle, "flier_solve_with", 0);
    *(void **)&entrant->counts = symbol(handle, "flier_counts", 0);
    entrant->build = build();
    entrant->flier = entrant->build->open(campaign, step_scale);
    if (entrant->flier == NULL)
        exit(1);
    return entrant;
}

static struct entrant *enter(const char *name, double step_scale)
{
    return enter_with(name, step_scale, options.campaign);
}

static void leave(struct entrant *entrant)
{
    entrant->build->close(entrant->flier);
    free(entrant->rows);
    free(entrant->bins);
    free(entrant);
}

static void make_room(struct entrant *entrant, int n)
{
    free(entrant->rows);
    free(entrant->bins);
    entrant->n = n;
    entrant->rows = allocate((size_t)n * FLIER_COLUMNS, sizeof *entrant->rows);
    entrant->bins = allocate((size_t)n * (size_t)entrant->build->cells(entrant->flier), sizeof *entrant->bins);
}

/* Flights 0 .. n-1. ends processor time taken [s] */
static double fly(struct entrant *entrant)
{
    const double begun = seconds(CLOCK_THREAD_CPUTIME_ID);
    entrant->build->fly(entrant->flier, 0, entrant->n, entrant->rows, entrant->bins);
    return seconds(CLOCK_THREAD_CPUTIME_ID) - begun;
}

/* Warm up, and size the turns: whole blocks of the widest build, about as long as wanted. */
static void warm_up(struct entrant *entrant)
{
    make_room(entrant, ACCURACY_FLIGHTS);
    (void)fly(entrant);
    const double taken = fly(entrant);
    const int blocks = (int)fmax(1.0, options.turn / taken);
    make_room(entrant, ACCURACY_FLIGHTS * blocks);
    (void)fly(entrant);
}

static void take_turns(struct entrant *const *entrants, int n)
{
    for (int i = 0; i < n; i++)
        warm_up(entrants[i]);
    for (int turn = 0; turn < options.repeats; turn++)
        for (int i = 0; i < n; i++)
            entrants[i]->rate[turn] = entrants[i]->n / fly(entrants[i]);
    for (int i = 0; i < n; i++) {
        entrants[i]->best = best_of(entrants[i]->rate, options.repeats);
        entrants[i]->median = median_of(entrants[i]->rate, options.repeats);
    }
}

static void say_machine(void)
{
    char line[256], cpu[256] = "unknown", commit[80] = "unknown", text[384];
    FILE *file = fopen("/proc/cpuinfo", "r");
    while (file != NULL && fgets(line, sizeof line, file) != NULL)
        if (strncmp(line, "model name", 10) == 0 && strchr(line, ':') != NULL)
            (void)snprintf(cpu, sizeof cpu, "%.*s", (int)strcspn(strchr(line, ':') + 2, "\n"), strchr(line, ':') + 2);
    if (file != NULL)
        (void)fclose(file);
    file = popen("git -C '" RC_SOURCE_DIR "' describe --always --dirty 2>/dev/null", "r");
    if (file != NULL && fgets(line, sizeof line, file) != NULL)
        (void)snprintf(commit, sizeof commit, "%.*s", (int)strcspn(line, "\n"), line);
    if (file != NULL)
        (void)pclose(file);
    sheet_heading("Machine and build");
    sheet_text("cpu", "processor", cpu);
    (void)snprintf(text, sizeof text, "%ld", sysconf(_SC_NPROCESSORS_ONLN));
    sheet_text("cores", "cores", text);
    sheet_text("compiler", "compiler", __VERSION__);
    sheet_text("build_type", "build type", BENCH_BUILD_TYPE);
    sheet_text("flags", "flags", BENCH_FLAGS);
    (void)snprintf(text, sizeof text, "%s (%s)", rc_version(), commit);
    sheet_text("version", "version", text);
    (void)snprintf(text, sizeof text, "%d turns after a warm-up, each about %g s, builds taking turns; processor time",
                   options.repeats, options.turn);
    sheet_text("method", "method", text);
}

/* The same flights must have the same bits in every build of our own source. */
static int check_bits(struct entrant *lanes, struct entrant *other)
{
    char text[128];
    const size_t cells = (size_t)lanes->build->cells(lanes->flier);
    make_room(lanes, CHECKED_FLIGHTS);
    make_room(other, CHECKED_FLIGHTS);
    (void)fly(lanes);
    (void)fly(other);
    const int same = memcmp(lanes->rows, other->rows, CHECKED_FLIGHTS * FLIER_COLUMNS * sizeof *lanes->rows) == 0 &&
                     memcmp(lanes->bins, other->bins, CHECKED_FLIGHTS * cells * sizeof *lanes->bins) == 0;
    (void)snprintf(text, sizeof text, "%s: %d flights, all measures and bands %s", other->name, CHECKED_FLIGHTS,
                   same ? "identical" : "DIFFER");
    char key[64];
    (void)snprintf(key, sizeof key, "bits_%s", other->name);
    sheet_text(key, "bits", text);
    return same ? 0 : 1;
}

static void say_rate(const struct entrant *entrant, const char *text)
{
    char key[64], line[96];
    (void)snprintf(key, sizeof key, "%s_best", entrant->name);
    (void)snprintf(line, sizeof line, "%s, best", text);
    sheet_number(key, line, entrant->best, "flights/s");
    (void)snprintf(key, sizeof key, "%s_median", entrant->name);
    (void)snprintf(line, sizeof line, "%s, median", text);
    sheet_number(key, line, entrant->median, "flights/s");
}

/* The same flights by CVODE at the tightest tolerance, with the same platform ticks: what errors are counted from. */
static void make_reference(struct entrant *cvode, double *reference)
{
    const double tightest = 1e-11;
    struct entrant *const fine = enter("lanes", 1.0 / 16.0);
    make_room(cvode, ACCURACY_FLIGHTS);
    cvode->solve_with(FLIER_ADAMS_FIXED_POINT, tightest);
    (void)fly(cvode);
    memcpy(reference, cvode->rows, ACCURACY_FLIGHTS * FLIER_COLUMNS * sizeof *reference);
    make_room(fine, ACCURACY_FLIGHTS);
    (void)fly(fine);
    const struct accuracy check = accuracy_of(fine->rows, reference);
    sheet_number("reference_check_mm", "our steps at 1/16 against the reference: greatest difference in apogee", 1e3 * check.apogee, "mm");
    sheet_number("tick_bias_held", "  and in mean held fraction (ticks 16 times finer)", check.held_mean, "");
    leave(fine);
}

static void say_accuracy(const char *key, const char *text, const struct accuracy *accuracy)
{
    char name[64], line[96];
    (void)snprintf(name, sizeof name, "%s_apogee_mm", key);
    (void)snprintf(line, sizeof line, "%s: greatest error of apogee", text);
    sheet_number(name, line, 1e3 * accuracy->apogee, "mm");
    (void)snprintf(name, sizeof name, "%s_held_median", key);
    (void)snprintf(line, sizeof line, "%s: held fraction, median error", text);
    sheet_number(name, line, accuracy->held_median, "");
    (void)snprintf(name, sizeof name, "%s_held_worst", key);
    (void)snprintf(line, sizeof line, "%s: held fraction, greatest error", text);
    sheet_number(name, line, accuracy->held_worst, "");
}

/* Loosest tolerance, by halves of a decade, at which CVODE is as exact as asked. out reached its errors, rate flights per second
 * ends 0 where none is */
static double find_tolerance(struct entrant *cvode, enum flier_solver solver, const double *reference, double apogee,
                             struct accuracy *reached, double *rate)
{
    double n_slopes, n_steps;
    for (int half = 8; half <= 18; half++) {
        const double tolerance = pow(10.0, -0.5 * half);
        cvode->solve_with(solver, tolerance);
        cvode->counts(&n_slopes, &n_steps);
        const double taken = fly(cvode);
        *reached = accuracy_of(cvode->rows, reference);
        *rate = ACCURACY_FLIGHTS / taken;
        if (accuracy_is_reached(reached, apogee))
            return tolerance;
    }
    return 0.0;
}

/* Choose CVODE's method and tolerance: the fastest that is as exact as our own steps, or within the bound where ours are better. */
static void settle_cvode(struct entrant *lanes, struct entrant *cvode, struct entrant *written)
{
    static const char *const name[FLIER_N_SOLVERS] = {"Adams, fixed point", "Adams, Newton", "BDF, Newton"};
    static double reference[ACCURACY_FLIGHTS * FLIER_COLUMNS];
    char text[160];
    sheet_heading("Accuracy, over 64 flights, against CVODE at 1e-11 with the same platform ticks");
    make_reference(cvode, reference);
    make_room(lanes, ACCURACY_FLIGHTS);
    (void)fly(lanes);
    const struct accuracy ours = accuracy_of(lanes->rows, reference);
    say_accuracy("ours", "our steps", &ours);
    const double asked = fmax(ours.apogee, ACCURACY_APOGEE);
    sheet_number("asked_apogee_mm", "asked of CVODE", 1e3 * asked, "mm");
    struct accuracy best_reached = {0.0, 0.0, 0.0, 0.0};
    double best_rate = 0.0, best_tolerance = 1e-9;
    enum flier_solver best = FLIER_ADAMS_FIXED_POINT;
    for (int solver = 0; solver < FLIER_N_SOLVERS; solver++) {
        struct accuracy reached;
        double rate;
        const double tolerance = find_tolerance(cvode, (enum flier_solver)solver, reference, asked, &reached, &rate);
        printf("  CVODE %-20s loosest tolerance %.1e, about %.0f flights/s\n", name[solver], tolerance, rate);
        if (tolerance > 0.0 && rate > best_rate) {
            best_rate = rate;
            best_tolerance = tolerance;
            best_reached = reached;
            best = (enum flier_solver)solver;
        }
    }
    (void)snprintf(text, sizeof text, "%s, relative tolerance %.1e", name[best], best_tolerance);
    sheet_text("cvode_method", "CVODE", text);
    sheet_number("cvode_tolerance", "CVODE: relative tolerance", best_tolerance, "");
    say_accuracy("cvode", "CVODE", &best_reached);
    cvode->solve_with(best, best_tolerance);
    make_room(written, ACCURACY_FLIGHTS);
    const double tolerance = find_tolerance(written, FLIER_AS_WRITTEN, reference, asked, &best_reached, &best_rate);
    sheet_number("written_tolerance", "CVODE as one would write it first: relative tolerance", tolerance, "");
    written->solve_with(FLIER_AS_WRITTEN, tolerance > 0.0 ? tolerance : 1e-9);
}

static void say_ratio(const char *key, const char *text, const struct entrant *fast, const struct entrant *slow)
{
    double ratio[MAX_REPEATS];
    char line[160];
    for (int turn = 0; turn < options.repeats; turn++)
        ratio[turn] = fast->rate[turn] / slow->rate[turn];
    (void)snprintf(line, sizeof line, "%s, median of the turns' ratios", text);
    sheet_number(key, line, median_of(ratio, options.repeats), "times");
}

/* Flights without a store. ends how many builds' bits differ */
static int compare_builds(struct entrant *lanes, struct entrant *cvode, struct entrant *written)
{
    struct entrant *all[MAX_BUILDS] = {lanes, cvode, enter("single", 1.0), enter("single_v3", 1.0), written};
    char more[64] = BENCH_LANES, name[32], key[64], line[96];
    int n = 5, n_bad = 0;
    for (char *width = strtok(more, ";, "); width != NULL && n < MAX_BUILDS; width = strtok(NULL, ";, ")) {
        (void)snprintf(name, sizeof name, "lanes_%.20s", width);
        all[n++] = enter(name, 1.0);
    }
    sheet_heading("The same bits from every build of our own source");
    for (int i = 2; i < n; i++)
        n_bad += i != 4 ? check_bits(lanes, all[i]) : 0;
    take_turns(all, n);
    sheet_heading("Flights per second and core: drawn, flown, all measures and bands, no store");
    say_rate(lanes, "the library");
    say_rate(all[2], "one lane");
    say_rate(all[3], "one lane, compiled for x86-64-v3");
    say_rate(cvode, "CVODE, one flight at a time, x86-64-v3");
    const struct entrant *const single = all[2]->median > all[3]->median ? all[2] : all[3];
    say_ratio("ratio_single", "the library against one lane (the faster)", lanes, single);
    say_ratio("ratio_cvode", "the library against CVODE at equal accuracy", lanes, cvode);
    say_rate(written, "CVODE as one would write it first, x86-64-v3");
    say_ratio("ratio_written", "the library against that", lanes, written);
    say_ratio("ratio_single_cvode", "one lane against CVODE: the steps' own share", single, cvode);
    for (int i = 5; i < n; i++) {
        (void)snprintf(line, sizeof line, "%d lanes against the library's %d", all[i]->build->lanes, lanes->build->lanes);
        (void)snprintf(key, sizeof key, "ratio_%s", all[i]->name);
        say_ratio(key, line, all[i], lanes);
    }
    for (int i = 2; i < n; i++)
        if (i != 4)
            leave(all[i]);
    return n_bad;
}

/* What the vehicle's further physics costs: campaigns with gusts, thrust line, mass beside the axis, induced roll, exit pressure and descent
 * against the first campaign, which has none of them. */
static void compare_terms(void)
{
    struct entrant *const all[3] = {enter_with("lanes", 1.0, RC_SOURCE_DIR "/campaigns/first.json"),
                                    enter_with("lanes", 1.0, RC_SOURCE_DIR "/campaigns/readiness.json"),
                                    enter_with("lanes", 1.0, RC_SOURCE_DIR "/campaigns/spun.json")};
    take_turns(all, 3);
    sheet_heading("All of the vehicle's physics");
    say_ratio("cost_readiness", "time of a flight of readiness.json over one of first.json", all[0], all[1]);
    say_ratio("cost_spun", "the same of spun.json, through resonance", all[0], all[2]);
    for (int i = 0; i < 3; i++)
        leave(all[i]);
}

/* How long this thread has waited for a processor that others had [s]; 0 where the system does not say. */
static double queued(void)
{
    double waited = 0.0;
    FILE *file = fopen("/proc/thread-self/schedstat", "r");
    if (file == NULL || fscanf(file, "%*f %lf", &waited) != 1)
        waited = 0.0;
    if (file != NULL)
        (void)fclose(file);
    return 1e-9 * waited;
}

/* One run into a store. out cpu processor time of all threads [s]; own  wall time without waiting for a processor [s]; ends wall
 * time [s] */
static double run_store(const rc_campaign *campaign, int threads, double *cpu, double *own)
{
    static const char path[] = "bench.h5";
    const struct rc_run_options how = {.n_flights = STORE_FLIGHTS, .n_threads = threads};
    struct rc_error err = {.status = RC_OK};
    (void)remove(path);
    (void)remove("bench.h5.journal");
    const double cpu_begun = seconds(CLOCK_PROCESS_CPUTIME_ID), begun = seconds(CLOCK_MONOTONIC), queued_before = queued();
    if (rc_run_fly(campaign, path, &how, NULL, &err) != RC_OK) {
        (void)fprintf(stderr, "bench: %s\n", err.what);
        exit(1);
    }
    const double wall = seconds(CLOCK_MONOTONIC) - begun;
    *cpu = seconds(CLOCK_PROCESS_CPUTIME_ID) - cpu_begun;
    *own = wall - (queued() - queued_before);
    (void)remove(path);
    return wall;
}

/* Runs into a store with one and two threads, and flights without one, taking turns. What the store costs is clocked in its own
 * functions; the difference to flights without a store is small beside what a busy machine does to both. */
static void compare_runs(struct entrant *lanes)
{
    double share[MAX_REPEATS], gain[MAX_REPEATS], wall_1[MAX_REPEATS], wall_2[MAX_REPEATS], rate[MAX_REPEATS], same[MAX_REPEATS], cpu;
    double clocked[MAX_REPEATS], micros[MAX_REPEATS], own_gain[MAX_REPEATS], own, own_of_one;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    if (rc_campaign_load(&campaign, options.campaign, &issues) != RC_OK)
        exit(1);
    make_room(lanes, STORE_FLIGHTS);
    (void)run_store(campaign, 2, &cpu, &own);
    for (int turn = 0; turn < options.repeats; turn++) {
        const double flown = fly(lanes);
        (void)clocked_store_seconds();
        wall_1[turn] = STORE_FLIGHTS / run_store(campaign, 1, &cpu, &own_of_one);
        const double stored = clocked_store_seconds();
        share[turn] = 100.0 * (1.0 - flown / cpu);
        clocked[turn] = 100.0 * stored / cpu;
        micros[turn] = 1e6 * stored / STORE_FLIGHTS;
        rate[turn] = STORE_FLIGHTS / cpu;
        const double cpu_of_one = cpu;
        wall_2[turn] = STORE_FLIGHTS / run_store(campaign, 2, &cpu, &own);
        same[turn] = cpu_of_one / cpu;
        gain[turn] = wall_2[turn] / wall_1[turn];
        own_gain[turn] = own_of_one / own;
    }
    sheet_heading("Into a store");
    sheet_number("store_best", "one thread, processor time, best", best_of(rate, options.repeats), "flights/s");
    sheet_number("store_median", "one thread, processor time, median", median_of(rate, options.repeats), "flights/s");
    sheet_number("store_share", "share of the store in that, clocked in it, median", median_of(clocked, options.repeats), "%");
    sheet_number("store_micros", "the same of a flight", median_of(micros, options.repeats), "us");
    sheet_number("store_difference", "all that a run does beyond flying, median", median_of(share, options.repeats), "%");
    sheet_heading("Threads, into a store");
    sheet_number("threads_1_wall", "one thread, wall time, best", best_of(wall_1, options.repeats), "flights/s");
    sheet_number("threads_2_wall", "two threads, wall time, best", best_of(wall_2, options.repeats), "flights/s");
    sheet_number("threads_gain", "gain by the second, wall time, median of the turns' ratios", median_of(gain, options.repeats), "times");
    sheet_number("threads_gain_best", "gain by the second, wall time, best against best",
                 best_of(wall_2, options.repeats) / best_of(wall_1, options.repeats), "times");
    sheet_number("threads_gain_own", "gain by the second, waits for a processor that others had left out, median",
                 median_of(own_gain, options.repeats), "times");
    sheet_number("threads_work", "work of one thread over work of two (1 = nothing lost)", median_of(same, options.repeats), "");
    rc_campaign_free(campaign);
}

/* What a drive costs over another one, per flight: the median of the turns' ratios [%]. */
static double drive_cost(const struct entrant *drive, const struct entrant *over)
{
    double cost[MAX_REPEATS];
    for (int turn = 0; turn < options.repeats; turn++)
        cost[turn] = 100.0 * (over->rate[turn] / drive->rate[turn] - 1.0);
    return median_of(cost, options.repeats);
}

/* The demonstration campaign of each drive, and the stepper's with a pull-out table or slipping, taking turns: what a flight costs
 * over one with the sensorless drive. The servo's has a controller of 250 Hz, not 100, and a second camera, so it is held against the
 * sensorless drive under these too. */
static void compare_drives(void)
{
    static const char *const name[] = {"sensorless", "stepper", "stepper_table", "stepper_slipping", "servo", "sensorless_quick"};
    static const char *const file[] = {"campaigns/first", "campaigns/stepper", "tests/bench/stepper-table",
                                       "tests/bench/stepper-slipping", "campaigns/servo", "tests/bench/sensorless-quick"};
    enum { N_DRIVES = sizeof name / sizeof name[0], SERVO = N_DRIVES - 2, QUICK = N_DRIVES - 1 };
    struct entrant *drive[N_DRIVES];
    char path[512], key[64], line[96];
    for (int i = 0; i < N_DRIVES; i++) {
        (void)snprintf(path, sizeof path, "%s/%s.json", RC_SOURCE_DIR, file[i]);
        drive[i] = enter_with("lanes", 1.0, path);
        (void)snprintf(drive[i]->name, sizeof drive[i]->name, "drive_%s", name[i]);
    }
    take_turns(drive, N_DRIVES);
    sheet_heading("Drives side by side, no store");
    for (int i = 0; i < N_DRIVES; i++)
        say_rate(drive[i], name[i]);
    for (int i = 1; i < N_DRIVES; i++) {
        (void)snprintf(key, sizeof key, "drive_%s_cost", name[i]);
        (void)snprintf(line, sizeof line, "%s over sensorless, per flight, median (asked: at most 25)", name[i]);
        sheet_number(key, line, drive_cost(drive[i], drive[0]), "%");
    }
    sheet_number("drive_servo_cost_alike", "servo over sensorless under the same controller and cameras (asked: at most 25)",
                 drive_cost(drive[SERVO], drive[QUICK]), "%");
    for (int i = 0; i < N_DRIVES; i++)
        leave(drive[i]);
}

/* The bare problem: the library with its platform at 500 Hz, and the flight alone in NumPy, all flights at once. */
static void compare_bare(void)
{
    static const char campaign[] = RC_SOURCE_DIR "/tests/bench/bare.json";
    enum { NUMPY_FLIGHTS = 4000, BARE_FLIGHTS = 2048 };
    struct entrant *const bare = enter_with("lanes", 1.0, campaign);
    double apogee = 0.0, error = 0.0, mean = 0.0;
    take_turns(&bare, 1);
    make_room(bare, BARE_FLIGHTS);
    (void)fly(bare);
    for (int flight = 0; flight < BARE_FLIGHTS; flight++)
        mean += bare->rows[flight * FLIER_COLUMNS + RC_MEASURE_apogee_m] / BARE_FLIGHTS;
    sheet_heading("The bare problem (tests/bench/bare.json)");
    sheet_number("bare_best", "the library, platform at 500 Hz, best", bare->best, "flights/s");
    sheet_number("bare_median", "the library, platform at 500 Hz, median", bare->median, "flights/s");
    const double numpy = machine_numpy(campaign, NUMPY_FLIGHTS, &apogee, &error);
    sheet_number("numpy", "NumPy batch, without a platform", numpy, "flights/s");
    sheet_number("numpy_apogee", "  its mean apogee", apogee, "m");
    sheet_number("numpy_apogee_off", "  off ours by, in standard errors of both", (apogee - mean) / (error * sqrt(3.0)), "");
    sheet_number("ratio_numpy", "the library with platform against NumPy without", numpy > 0.0 ? bare->median / numpy : NAN, "times");
    leave(bare);
}

/* The right-hand side against the core's peak. in seconds_each  of one right-hand side and lane */
static void say_limits(double seconds_each)
{
    const double apart = machine_peak(0), fused = machine_peak(1);
    const double operations = machine_operations(BENCH_BUILDS "/libflier_lanes.so");
    sheet_heading("The right-hand side against the core (AVX2)");
    sheet_number("peak_apart", "peak, multiplies and adds apart", 1e-9 * apart, "GFlop/s");
    sheet_number("peak_fused", "peak, fused", 1e-9 * fused, "GFlop/s");
    sheet_number("operations", "arithmetic of one right-hand side and lane", operations, "");
    sheet_number("rate_slope", "rate reached there", 1e-9 * operations / seconds_each, "GFlop/s");
    sheet_number("share_apart", "share of the peak apart", 100.0 * operations / seconds_each / apart, "%");
    sheet_number("share_fused", "share of the fused peak", 100.0 * operations / seconds_each / fused, "%");
}

/* Memory and bytes of a run, short and ten times as long. */
static void say_memory(void)
{
    enum { FEW = 4096, MANY = 10 * FEW };
    double bytes = NAN;
    sheet_heading("Memory and store of one thread");
    sheet_number("memory_few", "greatest memory, 4,096 flights", machine_memory(options.campaign, FEW, &bytes), "MB");
    sheet_number("bytes_few", "store, 4,096 flights", bytes, "bytes a flight");
    sheet_number("memory_many", "greatest memory, 40,960 flights", machine_memory(options.campaign, MANY, &bytes), "MB");
    sheet_number("bytes_many", "store, 40,960 flights", bytes, "bytes a flight");
}

static void say_parts(void)
{
    static const struct {
        enum flier_part part;
        const char *key, *text;
    } row[] = {
        {FLIER_DRAW, "part_draw", "drawing the design"},
        {FLIER_SET_UP, "part_set_up", "set-up: tables of a flight's own air, deflections, platform"},
        {FLIER_RIGHT_HAND_SIDE, "part_right_hand_side", "right-hand side of the vehicle"},
        {FLIER_STEP, "part_step", "Runge-Kutta sums, motor, rail"},
        {FLIER_PLATFORM, "part_platform", "platform: gyro, controller, drive, frames, tallies"},
        {FLIER_OBSERVE, "part_observe", "peaks and bands"},
    };
    struct entrant *const timed = enter("parts", 1.0);
    double ticks[FLIER_N_PARTS], rest = 100.0;
    make_room(timed, PART_FLIGHTS);
    (void)fly(timed);
    timed->parts(ticks);
    const double taken = fly(timed);
    timed->parts(ticks);
    sheet_heading("Where the time goes (a build with a clock at each border)");
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        const double share = 100.0 * ticks[row[i].part] / ticks[FLIER_ALL];
        rest -= share;
        sheet_number(row[i].key, row[i].text, share, "%");
    }
    sheet_number("part_rest", "the rest: events, coupling, records", rest, "%");
    const double n_slopes = ticks[FLIER_N_SLOPES] / PART_FLIGHTS * timed->build->lanes;
    sheet_number("slopes", "right-hand sides a flight", n_slopes, "");
    for (size_t i = 2; i < sizeof row / sizeof row[0]; i++) {
        char key[64], line[96];
        (void)snprintf(key, sizeof key, "%s_ticks", row[i].key);
        (void)snprintf(line, sizeof line, "clock ticks a step and lane: %s", row[i].text);
        sheet_number(key, line, ticks[row[i].part] / PART_FLIGHTS / (0.25 * n_slopes), "");
    }
    const double share = ticks[FLIER_RIGHT_HAND_SIDE] / ticks[FLIER_ALL];
    say_limits(taken * share / PART_FLIGHTS / n_slopes);
    leave(timed);
}

static void read_options(int argc, char **argv)
{
    for (int i = 1; i < argc; i += 2) {
        const char *const value = i + 1 < argc ? argv[i + 1] : NULL;
        if (value != NULL && strcmp(argv[i], "--json") == 0)
            options.json = value;
        else if (value != NULL && strcmp(argv[i], "--campaign") == 0)
            options.campaign = value;
        else if (value != NULL && strcmp(argv[i], "--repeats") == 0 && atoi(value) > 0 && atoi(value) <= MAX_REPEATS)
            options.repeats = atoi(value);
        else if (value != NULL && strcmp(argv[i], "--only") == 0 && strcmp(value, "store") == 0)
            options.only_store = 1;
        else if (value != NULL && strcmp(argv[i], "--only") == 0 && strcmp(value, "drives") == 0)
            options.only_drives = 1;
        else {
            (void)fprintf(stderr, "usage: bench_speed [--json FILE] [--campaign FILE] [--repeats 1..%d] [--only store|drives]\n",
                          MAX_REPEATS);
            exit(2);
        }
    }
}

int main(int argc, char **argv)
{
    read_options(argc, argv);
    say_machine();
    if (options.only_drives) {
        compare_drives();
        return sheet_write(options.json);
    }
    struct entrant *const lanes = enter("lanes", 1.0);
    if (options.only_store) {
        compare_runs(lanes);
        leave(lanes);
        return sheet_write(options.json);
    }
    struct entrant *const cvode = enter("cvode", 1.0);
    struct entrant *const written = enter("written", 1.0);
    settle_cvode(lanes, cvode, written);
    const int n_bad = compare_builds(lanes, cvode, written);
    compare_drives();
    compare_terms();
    compare_runs(lanes);
    compare_bare();
    say_parts();
    say_memory();
    leave(lanes);
    leave(cvode);
    leave(written);
    return sheet_write(options.json) != 0 || n_bad > 0;
}
