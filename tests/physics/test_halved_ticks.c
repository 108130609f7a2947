/* The demonstration campaign of every drive, flown with the platform's ticks at their usual length and at half of it: the same
 * flights, the same gyro noise, the vehicle's steps, sensors, controller and cameras at their own rates. No measure moves by more
 * than 0.1 %: its mean over the flights, against the mean of its magnitude. In single
 * flights thresholds are met a tick earlier or later, and more may move; how many is printed. */
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

enum { N_FLIGHTS = 512, N_PILOTS = 15, MAX_LANES = 32 };


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

static void fly(const rc_campaign *campaign, int is_halved, double (*measure)[RC_N_MEASURES])
{
    static struct rc_design designs[MAX_LANES];
    static struct rc_record records[MAX_LANES];
    uint64_t flights[MAX_LANES];
    struct rc_design *const pilots = calloc(N_PILOTS, sizeof *pilots);
    struct rc_model *model = NULL;
    struct rc_block *block = NULL;
    struct rc_error err = {.status = RC_OK};
    assert_non_null(pilots);
    for (int pilot = 0; pilot < N_PILOTS; pilot++)
        draw(campaign, (uint64_t)pilot, &pilots[pilot]);
    assert_int_equal(rc_model_create(&model, &rc_campaign_model(campaign)->base, rc_campaign_layout(campaign), pilots, N_PILOTS, &err), RC_OK);
    if (is_halved)
        halve(model);
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
    free(pilots);
}

/* How far the mean of a measure moves, over the mean of its magnitude; 0 where it is zero or none throughout. */
static double moved(double (*one)[RC_N_MEASURES], double (*half)[RC_N_MEASURES], int measure, int *n_moved)
{
    double change = 0.0, size = 0.0;
    *n_moved = 0;
    for (int flight = 0; flight < N_FLIGHTS; flight++) {
        const double a = one[flight][measure], b = half[flight][measure];
        if (isnan(a) && isnan(b))
            continue;
        change += b - a;
        size += fabs(a);
        *n_moved += !(fabs(b - a) <= 1e-3 * fabs(a));
    }
    return size > 0.0 ? fabs(change) / size : fabs(change);
}

static void hold(const char *name)
{
    char path[512];
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    int n_bad = 0;
    (void)snprintf(path, sizeof path, "%s/campaigns/%s.json", RC_SOURCE_DIR, name);
    assert_int_equal(rc_campaign_load(&campaign, path, &issues), RC_OK);
    double (*const one)[RC_N_MEASURES] = calloc(N_FLIGHTS, sizeof *one);
    double (*const half)[RC_N_MEASURES] = calloc(N_FLIGHTS, sizeof *half);
    assert_true(one != NULL && half != NULL);
    fly(campaign, 0, one);
    fly(campaign, 1, half);
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        int n_moved = 0;
        const double by = moved(one, half, measure, &n_moved);
        if (by > 2e-4 || n_moved > N_FLIGHTS / 50)
            print_message("%s: %s moves by %.3f %%, in %d of %d flights by more than 0.1 %%\n", name,
                          rc_measures_row(measure)->name, 100.0 * by, n_moved, N_FLIGHTS);
        n_bad += !(by <= 1e-3);
    }
    free(one);
    free(half);
    rc_campaign_free(campaign);
    assert_int_equal(n_bad, 0);
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
