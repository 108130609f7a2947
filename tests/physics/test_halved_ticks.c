/* The demonstration campaign of every drive, flown with the platform's ticks at their usual length and at half of it: the same
 * flights, the same gyro noise, the vehicle's steps, sensors, controller and cameras at their own rates. No measure of a flight
 * moves by more than 0.1 % of its own size or of its mean size over the flights, what is larger, or by the one frame that the
 * last part of a tick may hold. A flight that does has met a threshold so closely that it was passed in one run and not in the
 * other: its history is looked through for that decision, up to which both runs agree. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "campaign/campaign.h"
#include "flight/model.h"

enum { N_FLIGHTS = 512, N_PILOTS = 15, MAX_LANES = 32, MAX_MOMENTS = 100000, MOST_MOVED = 2 };

static const double degrees = 57.29577951308232;
static const double mean_moves = 1e-4; /* of its mean size, the mean of a measure at most */


static void draw(const rc_campaign *campaign, uint64_t flight, struct rc_design *design)
{
    double drawn[RC_MAX_UNCERTAIN];
    rc_campaign_plan(campaign)->draw(rc_campaign_sampling(campaign), rc_campaign_seed(campaign), flight, drawn);
    rc_campaign_design(campaign, drawn, design);
}

/* Twice as many ticks to everything: each half as long. */
static void halve(struct rc_model *model)
{
    struct rc_platform_clock *const clock = &model->clock;
    clock->tick_rate *= 2;
    clock->dt *= 0.5;
    clock->gyro_every *= 2;
    clock->control_every *= 2;
    clock->encoder_every *= 2;
    clock->latency *= 2;
    model->band_ticks *= 2;
    model->gust_ticks *= 2;
    for (int slot = 0; slot < model->n_slots; slot++)
        model->slot_ticks[slot] *= 2;
}

/* The campaign's model, with usual or halved ticks. */
static struct rc_model *make_model(const rc_campaign *campaign, int is_halved)
{
    struct rc_design *const pilots = calloc(N_PILOTS, sizeof *pilots);
    struct rc_model *model = NULL;
    struct rc_error err = {.status = RC_OK};
    assert_non_null(pilots);
    for (int pilot = 0; pilot < N_PILOTS; pilot++)
        draw(campaign, (uint64_t)pilot, &pilots[pilot]);
    const struct rc_design *const base = &rc_campaign_model(campaign)->base;
    assert_int_equal(rc_model_create(&model, base, rc_campaign_layout(campaign), pilots, N_PILOTS, &err), RC_OK);
    if (is_halved)
        halve(model);
    free(pilots);
    return model;
}

static void fly(const rc_campaign *campaign, int is_halved, double (*measure)[RC_N_MEASURES])
{
    static struct rc_design designs[MAX_LANES];
    static struct rc_record records[MAX_LANES];
    uint64_t flights[MAX_LANES];
    struct rc_block *block = NULL;
    struct rc_error err = {.status = RC_OK};
    struct rc_model *const model = make_model(campaign, is_halved);
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    const int lanes = rc_block_lanes();
    assert_true(lanes <= MAX_LANES);
    for (int begin = 0; begin < N_FLIGHTS; begin += lanes) {
        const int count = N_FLIGHTS - begin < lanes ? N_FLIGHTS - begin : lanes;
        for (int lane = 0; lane < count; lane++) {
            flights[lane] = (uint64_t)(begin + lane);
            draw(campaign, flights[lane], &designs[lane]);
            records[lane].bin = NULL;
        }
        rc_block_fly(block, designs, rc_campaign_seed(campaign), flights, count, records, NULL, NULL);
        for (int lane = 0; lane < count; lane++)
            memcpy(measure[begin + lane], records[lane].measure, sizeof measure[0]);
    }
    rc_block_free(block);
    rc_model_free(model);
}

/* A flight's history. */
struct history {
    int n, span;              /* moments; ticks taken at once */
    struct rc_moment *moment; /* (MAX_MOMENTS)                */
};

static void keep(void *user, const struct rc_moment *moment)
{
    struct history *const history = user;
    assert_true(history->n < MAX_MOMENTS);
    history->moment[history->n++] = *moment;
}

static struct history follow(const rc_campaign *campaign, int is_halved, uint64_t flight)
{
    struct history history = {.moment = calloc(MAX_MOMENTS, sizeof *history.moment)};
    struct rc_design *const design = calloc(1, sizeof *design);
    struct rc_record record = {.bin = NULL};
    struct rc_block *block = NULL;
    struct rc_error err = {.status = RC_OK};
    struct rc_model *const model = make_model(campaign, is_halved);
    assert_true(history.moment != NULL && design != NULL);
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    draw(campaign, flight, design);
    rc_block_fly(block, design, rc_campaign_seed(campaign), &flight, 1, &record, keep, &history);
    history.span = model->clock.span > 1 ? model->clock.span : 1;
    rc_block_free(block);
    rc_model_free(model);
    free(design);
    return history;
}

/* Do the runs decide differently in a tick: does the drive something else, or is a frame usable in one only? A drive's state is
 * that of a span's end. */
static int differs(const struct history *one, const struct history *half, int at)
{
    const struct rc_moment *const now = &one->moment[at], *const then = &half->moment[2 * at + 1];
    for (int camera = 0; camera < now->n_cameras; camera++) {
        const int is_early = then[-1].frames[camera] > then[-2].frames[camera]; /* in the first half of the tick */
        if (now->frames[camera] > now[-1].frames[camera] && now->is_usable[camera] != then[is_early ? -1 : 0].is_usable[camera])
            return 1;
    }
    return (at + 1) % one->span == 0 && now->drive_state != then->drive_state;
}

/* Find the first decision that tells the runs of a flight apart, and require that they agree up to there: rates to 1e-3 deg/s. */
static void explain(const rc_campaign *campaign, const char *name, int flight, const char *measure)
{
    struct history one = follow(campaign, 0, (uint64_t)flight), half = follow(campaign, 1, (uint64_t)flight);
    int at = 1;
    for (; at < one.n && 2 * at + 1 < half.n && !differs(&one, &half, at); at++)
        if ((at + 1) % one.span == 0)
            assert_true(fabs(one.moment[at].residual - half.moment[2 * at + 1].residual) * degrees < 1e-3);
    assert_true(at < one.n && 2 * at + 1 < half.n);
    const struct rc_moment *const a = &one.moment[at], *const b = &half.moment[2 * at + 1];
    print_message("%s: %s of flight %d moves after %.3f s: command %.6f or %.6f deg/s, drive's state %.0f or %.0f, "
                  "smear %.6f or %.6f px\n", name, measure, flight, a->time, a->command * degrees, b->command * degrees,
                  a->drive_state, b->drive_state, a->smear[0], b->smear[0]);
    free(one.moment);
    free(half.moment);
}

/* How much of a measure the one frame is worth that the last part of a tick may hold; 0 for other measures. */
static double one_frame(const double *of, int measure)
{
    const double rate = 60.0; /* of the demonstrations' cameras */
    switch (measure) {
    case RC_MEASURE_usable_s:
    case RC_MEASURE_longest_clip_s:
    case RC_MEASURE_fixed_usable_s:
    case RC_MEASURE_fixed_longest_clip_s: return 1.000001 / rate;
    case RC_MEASURE_usable_fraction:
    case RC_MEASURE_fixed_usable_fraction: return 1.01 / (rate * of[RC_MEASURE_ascent_s]);
    default: return 0.0;
    }
}

/* The flights in which a measure moves. out  moved (N_FLIGHTS) 1 for those; ends how far its mean does, over its mean size */
static double find_moved(double (*one)[RC_N_MEASURES], double (*half)[RC_N_MEASURES], int measure, int *moved)
{
    double change = 0.0, size = 0.0;
    int n = 0;
    for (int flight = 0; flight < N_FLIGHTS; flight++) {
        const double a = one[flight][measure], b = half[flight][measure];
        assert_int_equal(isnan(a), isnan(b));
        change += isnan(a) ? 0.0 : b - a;
        size += isnan(a) ? 0.0 : fabs(a);
        n += !isnan(a);
    }
    const double mean = n > 0 ? size / n : 0.0;
    for (int flight = 0; flight < N_FLIGHTS; flight++) {
        const double a = one[flight][measure], b = half[flight][measure];
        moved[flight] = !isnan(a) && !(fabs(b - a) <= fmax(1e-3 * fmax(fabs(a), mean), one_frame(one[flight], measure)));
    }
    return size > 0.0 ? fabs(change) / size : fabs(change);
}

static void hold(const char *name)
{
    char path[512];
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    (void)snprintf(path, sizeof path, "%s/campaigns/%s.json", RC_SOURCE_DIR, name);
    assert_int_equal(rc_campaign_load(&campaign, path, &issues), RC_OK);
    double (*const one)[RC_N_MEASURES] = calloc(N_FLIGHTS, sizeof *one);
    double (*const half)[RC_N_MEASURES] = calloc(N_FLIGHTS, sizeof *half);
    int is_explained[N_FLIGHTS] = {0}, moved[N_FLIGHTS], n_moved = 0;
    assert_true(one != NULL && half != NULL);
    fly(campaign, 0, one);
    fly(campaign, 1, half);
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        assert_true(find_moved(one, half, measure, moved) <= mean_moves);
        for (int flight = 0; flight < N_FLIGHTS; flight++) {
            if (!moved[flight] || is_explained[flight])
                continue;
            explain(campaign, name, flight, rc_measures_row(measure)->name);
            is_explained[flight] = 1;
            n_moved++;
        }
    }
    free(one);
    free(half);
    rc_campaign_free(campaign);
    assert_true(n_moved <= MOST_MOVED);
}

static void test_halved_ticks__move_no_measure_of_the_sensorless_drive(void **state)
{
    (void)state;
    hold("first");
}

static void test_halved_ticks__move_no_measure_of_the_stepper(void **state)
{
    (void)state;
    hold("stepper");
}

static void test_halved_ticks__move_no_measure_of_the_servo(void **state)
{
    (void)state;
    hold("servo");
}

static void test_halved_ticks__move_no_measure_of_a_drive_asleep(void **state)
{
    (void)state;
    hold("asleep");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_the_sensorless_drive),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_the_stepper),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_the_servo),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_drive_asleep),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
