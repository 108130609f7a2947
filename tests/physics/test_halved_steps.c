/* Platforms whose friction hangs on what they carry, and a gyro that feels it, flown with the flight's own steps halved and quartered; the
 * platform's ticks stay as they are. What a bearing carries changes inside a step: no measure of the platform moves by more than
 * 0.1 % of its own or its mean size, but in one flight that meets a threshold. A bearing of plain bushings: friction coefficient 0.01
 * of bearing makers' catalogues, tests/reference/bearing_friction.csv. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "campaign/campaign.h"
#include "flight/model.h"

enum { N_FLIGHTS = 64, N_PILOTS = 15, MAX_LANES = 64, MOST_MOVED = 1 };

struct flown {
    const rc_campaign *campaign;
    struct rc_layout layout;
    void (*add)(struct rc_design *design);
};

static void draw(const struct flown *flown, uint64_t flight, struct rc_design *design)
{
    double drawn[RC_MAX_UNCERTAIN];
    rc_campaign_plan(flown->campaign)->draw(rc_campaign_sampling(flown->campaign), rc_campaign_seed(flown->campaign), flight, drawn);
    rc_campaign_design(flown->campaign, drawn, design);
    flown->add(design);
}

/* in shorter  each of the flight's steps takes so many times fewer ticks */
static void fly(const struct flown *flown, int shorter, double (*measure)[RC_N_MEASURES])
{
    static struct rc_design designs[MAX_LANES];
    static struct rc_record records[MAX_LANES];
    struct rc_model *model = NULL;
    struct rc_block *block = NULL;
    struct rc_error err = {.status = RC_OK};
    uint64_t flights[MAX_LANES];
    for (int pilot = 0; pilot < N_PILOTS; pilot++)
        draw(flown, (uint64_t)pilot, &designs[pilot]);
    assert_int_equal(rc_model_create(&model, &rc_campaign_model(flown->campaign)->base, &flown->layout, designs, N_PILOTS, &err), RC_OK);
    for (int slot = 0; slot < model->n_slots; slot++)
        model->slot_ticks[slot] = model->slot_ticks[slot] > shorter ? model->slot_ticks[slot] / shorter : 1;
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    const int lanes = rc_block_lanes();
    for (int begin = 0; begin < N_FLIGHTS; begin += lanes) {
        for (int lane = 0; lane < lanes; lane++) {
            flights[lane] = (uint64_t)(begin + lane);
            draw(flown, flights[lane], &designs[lane]);
            records[lane].bin = NULL;
        }
        rc_block_fly(block, designs, rc_campaign_seed(flown->campaign), flights, lanes, records, NULL, NULL);
        for (int lane = 0; lane < lanes; lane++)
            memcpy(measure[begin + lane], records[lane].measure, sizeof measure[0]);
    }
    rc_block_free(block);
    rc_model_free(model);
}

/* One more or less of what is counted, or one frame of 60 a second, is no move. */
static double least_move(int measure)
{
    switch (measure) {
    case RC_MEASURE_usable_s:
    case RC_MEASURE_longest_clip_s: return 1.000001 / 60.0;
    case RC_MEASURE_usable_fraction: return 1.01 / 60.0 / 20.0; /* an ascent takes more than 20 s */
    default: return 0.0;
    }
}

static const int watched[] = { RC_MEASURE_held_fraction, RC_MEASURE_residual_rms_dps, RC_MEASURE_residual_peak_dps, RC_MEASURE_usable_s,
                               RC_MEASURE_longest_clip_s, RC_MEASURE_usable_fraction, RC_MEASURE_turns_drifted,
                               RC_MEASURE_drive_starts, RC_MEASURE_gathered_turns, RC_MEASURE_slipping_s,
                               RC_MEASURE_lost_steps, RC_MEASURE_roll_peak_dps };
enum { N_WATCHED = sizeof watched / sizeof watched[0] };

/* ends how many flights have a measure that moves */
static int count_moved(double (*a)[RC_N_MEASURES], double (*b)[RC_N_MEASURES])
{
    int moved[N_FLIGHTS] = {0}, n = 0;
    for (int i = 0; i < N_WATCHED; i++) {
        const int measure = watched[i];
        double mean = 0.0;
        for (int flight = 0; flight < N_FLIGHTS; flight++)
            mean += fabs(a[flight][measure]) / N_FLIGHTS;
        for (int flight = 0; flight < N_FLIGHTS; flight++) {
            const double x = a[flight][measure], y = b[flight][measure];
            if (!(fabs(x - y) <= fmax(1e-3 * fmax(fabs(x), mean), least_move(measure))))
                moved[flight] = 1;
        }
    }
    for (int flight = 0; flight < N_FLIGHTS; flight++)
        n += moved[flight];
    return n;
}

static void hold(const char *name, int has_gyro_extras, void (*add)(struct rc_design *design))
{
    char path[512];
    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    double (*const usual)[RC_N_MEASURES] = calloc(N_FLIGHTS, sizeof *usual), (*const fine)[RC_N_MEASURES] = calloc(N_FLIGHTS, sizeof *fine);
    assert_true(usual != NULL && fine != NULL && N_FLIGHTS % rc_block_lanes() == 0);
    (void)snprintf(path, sizeof path, "%s/campaigns/%s.json", RC_SOURCE_DIR, name);
    assert_int_equal(rc_campaign_load(&campaign, path, &issues), RC_OK);
    struct flown flown = {.campaign = campaign, .layout = *rc_campaign_layout(campaign), .add = add};
    flown.layout.has_gyro_extras = has_gyro_extras;
    fly(&flown, 1, usual);
    for (int shorter = 2; shorter <= 4; shorter *= 2) {
        fly(&flown, shorter, fine);
        const int n = count_moved(usual, fine);
        print_message("%s, steps by %d: a measure moves in %d of %d flights\n", name, shorter, n, (int)N_FLIGHTS);
        assert_true(n <= MOST_MOVED);
    }
    rc_campaign_free(campaign);
    free(usual);
    free(fine);
}

static void add_burden(struct rc_design *design)
{
    design->platform.load_mu = 0.01;
    design->platform.mass = 1.0;
}

static void add_weak_motor(struct rc_design *design)
{
    add_burden(design);
    design->drive.stepper.holding_torque = 0.006;
}

/* 0.1 deg/s per g. */
static void add_feeling(struct rc_design *design)
{
    design->gyro.per_load = 0.1 * RC_DEGREE / 9.80665;
    design->drive.sleep_after = 0.0;
}

static void test_halved_steps__move_no_measure_of_a_weak_stepper_under_load(void **state)
{
    (void)state;
    hold("stepper", 0, add_weak_motor);
}

static void test_halved_steps__move_no_measure_of_a_servo_under_load(void **state)
{
    (void)state;
    hold("servo", 0, add_burden);
}

static void test_halved_steps__move_no_measure_of_a_gyro_that_feels_the_load(void **state)
{
    (void)state;
    hold("first", 1, add_feeling);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_halved_steps__move_no_measure_of_a_weak_stepper_under_load),
        cmocka_unit_test(test_halved_steps__move_no_measure_of_a_servo_under_load),
        cmocka_unit_test(test_halved_steps__move_no_measure_of_a_gyro_that_feels_the_load),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
