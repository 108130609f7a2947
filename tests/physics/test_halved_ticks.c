/* The demonstration campaign of every drive, and the first one with whatever else a platform may have, flown with the platform's
 * ticks at their usual length and at half or a quarter of it: the same flights, the same gyro noise, the vehicle's steps,
 * sensors, controller and cameras at their own rates. No measure of a flight moves by more than 0.1 % of its own size or of its
 * mean size over the flights, what is larger, or by the one frame that the last part of a tick may hold. A flight that does has
 * met a threshold so closely that it was passed in one run and not in the other: its history is looked through for that
 * decision, up to which both runs agree. */
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

enum { MOST_FLIGHTS = 512, N_PILOTS = 15, MAX_LANES = 32, MAX_MOMENTS = 200000 };

static const double degrees = 57.29577951308232;
/* What is flown: a campaign's flights with something added to all of them. */
struct flown {
    const rc_campaign *campaign;
    const char *name;
    int n_flights, most_moved;
    double mean_moves;       /* of its mean size, the mean of a measure at most                            */
    double near;             /* rates agree so closely up to where the runs part [deg/s]                   */
    double step;             /* by which a step of the encoder moves a command at least; 0: it has none [rad/s] */
    struct rc_layout layout;
    void (*add)(struct rc_design *design, double share); /* NULL, or share  0 .. 1, another one in each flight */
};

static void draw(const struct flown *flown, uint64_t flight, struct rc_design *design)
{
    const rc_campaign *const campaign = flown->campaign;
    double drawn[RC_MAX_UNCERTAIN];
    rc_campaign_plan(campaign)->draw(rc_campaign_sampling(campaign), rc_campaign_seed(campaign), flight, drawn);
    rc_campaign_design(campaign, drawn, design);
    if (flown->add != NULL)
        flown->add(design, fmod(0.6180339887498949 * (double)flight, 1.0));
}

/* So many times as many ticks to everything: each as much shorter. */
static void shorten(struct rc_model *model, int finer)
{
    struct rc_platform_clock *const clock = &model->clock;
    clock->tick_rate *= finer;
    clock->dt /= finer;
    clock->gyro_every *= finer;
    clock->control_every *= finer;
    clock->encoder_every *= finer;
    clock->full_span *= finer;
    model->band_ticks *= finer;
    model->gust_ticks *= finer;
    for (int slot = 0; slot < model->n_slots; slot++)
        model->slot_ticks[slot] *= finer;
}

/* The campaign's model, with ticks so much finer. */
static struct rc_model *make_model(const struct flown *flown, int finer)
{
    struct rc_design *const pilots = calloc(N_PILOTS, sizeof *pilots);
    struct rc_model *model = NULL;
    struct rc_error err = {.status = RC_OK};
    assert_non_null(pilots);
    for (int pilot = 0; pilot < N_PILOTS; pilot++)
        draw(flown, (uint64_t)pilot, &pilots[pilot]);
    const struct rc_design *const base = &rc_campaign_model(flown->campaign)->base;
    assert_int_equal(rc_model_create(&model, base, &flown->layout, pilots, N_PILOTS, &err), RC_OK);
    shorten(model, finer);
    free(pilots);
    return model;
}

static void fly(const struct flown *flown, int finer, double (*measure)[RC_N_MEASURES])
{
    static struct rc_design designs[MAX_LANES];
    static struct rc_record records[MAX_LANES];
    uint64_t flights[MAX_LANES];
    struct rc_block *block = NULL;
    struct rc_error err = {.status = RC_OK};
    struct rc_model *const model = make_model(flown, finer);
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    const int lanes = rc_block_lanes();
    assert_true(lanes <= MAX_LANES);
    for (int begin = 0; begin < flown->n_flights; begin += lanes) {
        const int count = flown->n_flights - begin < lanes ? flown->n_flights - begin : lanes;
        for (int lane = 0; lane < count; lane++) {
            flights[lane] = (uint64_t)(begin + lane);
            draw(flown, flights[lane], &designs[lane]);
            records[lane].bin = NULL;
        }
        rc_block_fly(block, designs, rc_campaign_seed(flown->campaign), flights, count, records, NULL, NULL);
        for (int lane = 0; lane < count; lane++)
            memcpy(measure[begin + lane], records[lane].measure, sizeof measure[0]);
    }
    rc_block_free(block);
    rc_model_free(model);
}

/* A flight's history. */
struct history {
    int n, span;              /* moments; ticks taken at once */
    double floor, deadband;   /* of its drive [rad/s]         */
    struct rc_moment *moment; /* (MAX_MOMENTS)                */
};

static void keep(void *user, const struct rc_moment *moment)
{
    struct history *const history = user;
    assert_true(history->n < MAX_MOMENTS);
    history->moment[history->n++] = *moment;
}

static struct history follow(const struct flown *flown, int finer, uint64_t flight)
{
    struct history history = {.moment = calloc(MAX_MOMENTS, sizeof *history.moment)};
    struct rc_design *const design = calloc(1, sizeof *design);
    struct rc_record record = {.bin = NULL};
    struct rc_block *block = NULL;
    struct rc_error err = {.status = RC_OK};
    struct rc_model *const model = make_model(flown, finer);
    assert_true(history.moment != NULL && design != NULL);
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    draw(flown, flight, design);
    rc_block_fly(block, design, rc_campaign_seed(flown->campaign), &flight, 1, &record, keep, &history);
    history.span = model->clock.span > 1 ? model->clock.span : 1;
    history.floor = design->drive.floor;
    history.deadband = design->drive.deadband;
    rc_block_free(block);
    rc_model_free(model);
    free(design);
    return history;
}

/* Is one of two commands beyond a limit of the drive's and the other not? Then one asks for motion, or ends a lock-out. */
static int are_parted(double a, double b, double limit)
{
    return (fabs(a) >= limit) != (fabs(b) >= limit);
}

/* Do the runs decide differently in a tick: does the drive something else or is told to, has the encoder passed a step, or is a
 * frame usable in one only? A drive's state is that of a span's end. */
static int differs(const struct flown *flown, const struct history *one, const struct history *fine, int at, int finer)
{
    const struct rc_moment *const now = &one->moment[at], *const then = &fine->moment[finer * (at + 1) - 1];
    for (int camera = 0; camera < now->n_cameras; camera++) {
        int ago = 0; /* in which part of the tick its frame was taken */
        while (ago < finer - 1 && !(then[-ago].frames[camera] > then[-ago - 1].frames[camera]))
            ago++;
        if (now->frames[camera] > now[-1].frames[camera] && now->is_usable[camera] != then[-ago].is_usable[camera])
            return 1;
    }
    if (flown->step > 0.0 && fabs(now->command - then->command) > 0.5 * flown->step)
        return 1;
    if (are_parted(now->command, then->command, one->floor) || are_parted(now->command, then->command, one->deadband))
        return 1;
    return (at + 1) % one->span == 0 && now->drive_state != then->drive_state;
}

/* Find the first decision that tells the runs of a flight apart, and require that they agree up to there. */
static void explain(const struct flown *flown, int finer, int flight, const char *measure)
{
    struct history one = follow(flown, 1, (uint64_t)flight), fine = follow(flown, finer, (uint64_t)flight);
    int at = 1;
    for (; at < one.n && finer * (at + 1) - 1 < fine.n && !differs(flown, &one, &fine, at, finer); at++)
        if ((at + 1) % one.span == 0)
            assert_true(fabs(one.moment[at].residual - fine.moment[finer * (at + 1) - 1].residual) * degrees < flown->near);
    assert_true(at < one.n && finer * (at + 1) - 1 < fine.n);
    const struct rc_moment *const a = &one.moment[at], *const b = &fine.moment[finer * (at + 1) - 1];
    print_message("%s, ticks by %d: %s of flight %d moves after %.3f s: command %.6f or %.6f deg/s, drive's state %.0f or %.0f, "
                  "smear %.6f or %.6f px\n", flown->name, finer, measure, flight, a->time, a->command * degrees,
                  b->command * degrees, a->drive_state, b->drive_state, a->smear[0], b->smear[0]);
    free(one.moment);
    free(fine.moment);
}

/* How much of a measure the one frame is worth that the last part of a tick may hold, and the one loss of steps that comes and
 * goes within microseconds, where a load just reaches pull-out; 0 for other measures. */
static double one_frame(const double *of, int measure)
{
    const double rate = 60.0; /* of the demonstrations' cameras */
    switch (measure) {
    case RC_MEASURE_usable_s:
    case RC_MEASURE_longest_clip_s:
    case RC_MEASURE_fixed_usable_s:
    case RC_MEASURE_fixed_longest_clip_s: return 1.000001 / rate;
    case RC_MEASURE_step_losses: return 1.0;
    case RC_MEASURE_usable_fraction:
    case RC_MEASURE_fixed_usable_fraction: return 1.01 / (rate * of[RC_MEASURE_ascent_s]);
    default: return 0.0;
    }
}

/* The flights in which a measure moves. out  moved (n_flights) 1 for those; ends how far its mean does, over its mean size */
static double find_moved(double (*one)[RC_N_MEASURES], double (*half)[RC_N_MEASURES], int measure, int n_flights, int *moved)
{
    double change = 0.0, size = 0.0;
    int n = 0;
    for (int flight = 0; flight < n_flights; flight++) {
        const double a = one[flight][measure], b = half[flight][measure];
        assert_int_equal(isnan(a), isnan(b));
        change += isnan(a) ? 0.0 : b - a;
        size += isnan(a) ? 0.0 : fabs(a);
        n += !isnan(a);
    }
    const double mean = n > 0 ? size / n : 0.0;
    for (int flight = 0; flight < n_flights; flight++) {
        const double a = one[flight][measure], b = half[flight][measure];
        moved[flight] = !isnan(a) && !(fabs(b - a) <= fmax(1e-3 * fmax(fabs(a), mean), one_frame(one[flight], measure)));
    }
    return size > 0.0 ? fabs(change) / size : fabs(change);
}

/* Hold ticks against finer ones. */
static void hold_against(const struct flown *flown, double (*one)[RC_N_MEASURES], int finer)
{
    double (*const fine)[RC_N_MEASURES] = calloc(MOST_FLIGHTS, sizeof *fine);
    int is_explained[MOST_FLIGHTS] = {0}, moved[MOST_FLIGHTS], n_moved = 0;
    const int n_flights = flown->n_flights;
    assert_non_null(fine);
    fly(flown, finer, fine);
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        const double change = find_moved(one, fine, measure, n_flights, moved);
        assert_true(change <= flown->mean_moves);
        for (int flight = 0; flight < n_flights; flight++) {
            if (!moved[flight] || is_explained[flight])
                continue;
            explain(flown, finer, flight, rc_measures_row(measure)->name);
            is_explained[flight] = 1;
            n_moved++;
        }
    }
    free(fine);
    print_message("%s, ticks by %d: a measure moves in %d of %d flights\n", flown->name, finer, n_moved, n_flights);
    assert_true(n_moved <= flown->most_moved);
}

static void load(struct flown *flown, rc_campaign **campaign, const char *name)
{
    char path[512];
    struct rc_issues issues = {0};
    (void)snprintf(path, sizeof path, "%s/campaigns/%s.json", RC_SOURCE_DIR, name);
    assert_int_equal(rc_campaign_load(campaign, path, &issues), RC_OK);
    *flown = (struct flown){ .campaign = *campaign, .name = name, .n_flights = MOST_FLIGHTS, .most_moved = 2,
                             .mean_moves = 1e-4, .near = 1e-3, .layout = *rc_campaign_layout(*campaign) };
}

static void hold_all(const struct flown *flown, int finest)
{
    double (*const one)[RC_N_MEASURES] = calloc(MOST_FLIGHTS, sizeof *one);
    assert_non_null(one);
    fly(flown, 1, one);
    for (int finer = 2; finer <= finest; finer *= 2)
        hold_against(flown, one, finer);
    free(one);
}

static void hold(const char *name)
{
    static struct flown flown;
    rc_campaign *campaign = NULL;
    load(&flown, &campaign, name);
    hold_all(&flown, 2);
    rc_campaign_free(campaign);
}

/* A campaign with a bit more: 96 flights, ticks by two and by four. in step  as in struct flown; mean_moves  likewise: one
 * flight that is decided otherwise weighs more among so few, and after it other starts fail */
static void hold_campaign_with(const char *name, const char *what, void (*arrange)(struct rc_layout *),
                               void (*add)(struct rc_design *, double), double step, double mean_moves)
{
    static struct flown flown;
    rc_campaign *campaign = NULL;
    load(&flown, &campaign, name);
    flown.name = what;
    flown.n_flights = 96;
    flown.mean_moves = mean_moves;
    if (step > 0.0) {
        flown.step = step;
        flown.most_moved = flown.n_flights;
    }
    flown.near = mean_moves > 1e-3 ? 5e-3 : 1e-3; /* long ramps, and heavy rings that the vehicle gives way to */
    flown.add = add;
    arrange(&flown.layout);
    hold_all(&flown, 4);
    rc_campaign_free(campaign);
}

static void hold_with(const char *what, void (*arrange)(struct rc_layout *), void (*add)(struct rc_design *, double), double step,
                      double mean_moves)
{
    hold_campaign_with("first", what, arrange, add, step, mean_moves);
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

static void arrange_gyro(struct rc_layout *layout)
{
    layout->has_gyro_extras = 1;
}

static void add_lag(struct rc_design *design, double share)
{
    design->gyro.bandwidth = 15.0 + 100.0 * share;
}

static void test_halved_ticks__move_no_measure_behind_a_gyros_lag(void **state)
{
    (void)state;
    hold_with("lag", arrange_gyro, add_lag, 0.0, 5e-4);
}

static void add_cross(struct rc_design *design, double share)
{
    design->gyro.cross[0] = 0.02 * (share - 0.5);
    design->gyro.cross[1] = 0.01;
    design->gyro.per_load = 1e-5;
    design->gyro.bias_drift = 1e-4 * share;
}

static void test_halved_ticks__move_no_measure_of_a_gyro_that_picks_up_and_drifts(void **state)
{
    (void)state;
    hold_with("cross-axis, load and drift", arrange_gyro, add_cross, 0.0, 5e-4);
}

static void arrange_latency(struct rc_layout *layout)
{
    layout->gyro_latency = 0.0137; /* neither whole samples nor whole ticks */
}

static void test_halved_ticks__move_no_measure_of_a_late_gyro(void **state)
{
    (void)state;
    hold_with("latency", arrange_latency, NULL, 0.0, 5e-4);
}

static void arrange_encoder(struct rc_layout *layout)
{
    layout->encoder_rate = 200;
    layout->has_control_extras = 1;
}

static void add_encoder(struct rc_design *design, double share)
{
    design->controller.feed_forward = 0.3 + 0.5 * share;
}

static void test_halved_ticks__move_no_measure_of_an_encoder(void **state)
{
    (void)state;
    hold_with("encoder", arrange_encoder, add_encoder, 0.0, 5e-4);
}

static void add_steps(struct rc_design *design, double share)
{
    design->gyro.encoder_step = 0.002 + 0.002 * share;
    design->controller.feed_forward = 0.3;
}

/* Every one of some thousand readings a flight decides between two steps, and an angle close to that border is rounded either
 * way. */
static void test_halved_ticks__move_no_measure_but_by_an_encoders_single_steps(void **state)
{
    (void)state;
    hold_with("encoder with steps", arrange_encoder, add_steps, 0.3 * 0.002 * 200.0, 5e-3);
}

static void arrange_retries(struct rc_layout *layout)
{
    layout->has_failed_starts = 1;
}

static void arrange_lockouts(struct rc_layout *layout)
{
    layout->has_failed_starts = 1;
    layout->failed_start = RC_FAILED_START_LOCK_OUT;
}

static void add_failures(struct rc_design *design, double share)
{
    design->drive.start_odds = 0.6;
    design->drive.retry_delay = 0.011 + 0.2 * share;
    design->drive.start_delay = 0.0133;
}

static void arrange_nothing(struct rc_layout *layout)
{
    (void)layout;
}

static void add_start_delay(struct rc_design *design, double share)
{
    design->drive.start_delay = 0.3 + 0.01 * share;
}

static void add_short_delay(struct rc_design *design, double share)
{
    design->drive.reversal_delay = 0.0;
    (void)share;
    design->drive.start_delay = 0.05;
}

static void add_no_delay(struct rc_design *design, double share)
{
    (void)share;
    design->drive.reversal_delay = 0.0;
}

static void test_halved_ticks__move_no_measure_of_starts_that_wait_or_do_not(void **state)
{
    (void)state;
    hold_with("start delay beyond the reversal's", arrange_nothing, add_start_delay, 0.0, 5e-4);
    hold_with("start delay alone", arrange_nothing, add_short_delay, 0.0, 5e-4);
    hold_with("no delay", arrange_nothing, add_no_delay, 0.0, 5e-4);
}

static void test_halved_ticks__move_no_measure_of_starts_that_fail(void **state)
{
    (void)state;
    hold_with("retries", arrange_retries, add_failures, 0.0, 5e-3);
    hold_with("lock-outs", arrange_lockouts, add_failures, 0.0, 5e-3);
}

static void arrange_limit(struct rc_layout *layout)
{
    layout->has_torque_limit = 1;
}

/* From motors that hardly turn their load to those that slew a bit slower. */
static void add_limit(struct rc_design *design, double share)
{
    design->drive.torque_limit = 0.0006 + 0.002 * share;
    design->drive.retry_delay = 0.05;
}

/* A ring so heavy, and so light to start, that the vehicle's own acceleration stalls them on the way. */
static void add_heavy(struct rc_design *design, double share)
{
    add_limit(design, share);
    design->platform.starting_ratio = 1.0;
    design->platform.inertia = 0.002;
}

static void test_halved_ticks__move_no_measure_of_a_weak_motor(void **state)
{
    (void)state;
    hold_with("torque limit", arrange_limit, add_limit, 0.0, 5e-3);
    hold_with("stalls", arrange_limit, add_heavy, 0.0, 5e-3);
}

static void arrange_all(struct rc_layout *layout)
{
    arrange_limit(layout);
    arrange_retries(layout);
    arrange_gyro(layout);
    arrange_latency(layout);
    arrange_encoder(layout);
}

static void add_all(struct rc_design *design, double share)
{
    add_lag(design, share);
    add_cross(design, share);
    add_encoder(design, share);
    add_failures(design, share);
    add_limit(design, share);
}

static void test_halved_ticks__move_no_measure_with_everything_at_once(void **state)
{
    (void)state;
    hold_with("everything", arrange_all, add_all, 0.0, 5e-3);
}

static void arrange_play(struct rc_layout *layout)
{
    layout->has_play = 1;
}

static void add_play(struct rc_design *design, double share)
{
    design->platform.backlash = 0.002 + 0.01 * share;
}

static void test_halved_ticks__move_no_measure_of_play_behind_the_sensorless_drive(void **state)
{
    (void)state;
    hold_with("play", arrange_play, add_play, 0.0, 5e-4);
}

static void arrange_all_and_play(struct rc_layout *layout)
{
    arrange_all(layout);
    arrange_play(layout);
}

/* With more of a feed-forward that late the platform swings in its play, and no computation can follow: five flights of 96 then
 * have a measure that moves if the play itself is another by 1e-12 of its size. With this much none has. */
static void add_all_and_play(struct rc_design *design, double share)
{
    add_all(design, share);
    add_play(design, 1.0 - share);
    design->controller.feed_forward = 0.2 + 0.2 * share;
}

static void test_halved_ticks__move_no_measure_of_play_with_everything_at_once(void **state)
{
    (void)state;
    hold_with("play and everything", arrange_all_and_play, add_all_and_play, 0.0, 5e-3);
}

static void test_halved_ticks__move_no_measure_of_a_servo_behind_a_slow_or_late_gyro(void **state)
{
    (void)state;
    hold_campaign_with("servo", "servo, lag", arrange_gyro, add_lag, 0.0, 5e-4);
    hold_campaign_with("servo", "servo, latency", arrange_latency, NULL, 0.0, 5e-4);
}

/* It naps whenever it has stood for a while, in a bearing so light that the platform slides until it has woken. */
static void add_naps(struct rc_design *design, double share)
{
    design->drive.sleep_after = 0.11 + 0.2 * share;
    design->drive.wake_command = 0.5;
    design->drive.wake_delay = 0.0237 + 0.1 * share;
    design->platform.coulomb *= 0.1;
    design->platform.gear_friction = 2e-4;
}

static void add_naps_and_play(struct rc_design *design, double share)
{
    add_naps(design, share);
    add_play(design, 1.0 - share);
}

/* Mean of a measure over the flights. */
static double mean_of(const struct flown *flown, int measure)
{
    double (*const one)[RC_N_MEASURES] = calloc(MOST_FLIGHTS, sizeof *one);
    double sum = 0.0;
    assert_non_null(one);
    fly(flown, 1, one);
    for (int flight = 0; flight < flown->n_flights; flight++)
        sum += one[flight][measure];
    free(one);
    return sum / flown->n_flights;
}

static void test_halved_ticks__move_no_measure_of_a_drive_that_naps(void **state)
{
    (void)state;
    static struct flown flown;
    rc_campaign *campaign = NULL;
    load(&flown, &campaign, "first");
    flown.n_flights = 96;
    flown.add = add_naps;
    assert_true(mean_of(&flown, RC_MEASURE_asleep_s) > 0.5 && mean_of(&flown, RC_MEASURE_drive_starts) > 10.0);
    rc_campaign_free(campaign);
    hold_with("naps", arrange_nothing, add_naps, 0.0, 5e-4);
    hold_with("naps and play", arrange_play, add_naps_and_play, 0.0, 5e-4);
}

static void add_cogs(struct rc_design *design, double share)
{
    design->drive.servo.cogs = 24.0;
    design->drive.servo.cogging *= 1.0 + share;
}

/* Of a motor behind a gear of eight, which goes over a thousand cogs a second. */
static void add_many_cogs(struct rc_design *design, double share)
{
    add_cogs(design, share);
    design->platform.gear_ratio = 8.0;
    design->platform.rotor_inertia *= 0.1;
    design->drive.servo.torque *= 0.125;
    design->drive.servo.stiffness *= 0.125;
    design->drive.servo.cogging *= 0.125;
}

static void test_halved_ticks__move_no_measure_of_a_servo_over_its_cogs(void **state)
{
    (void)state;
    hold_campaign_with("servo", "servo, cogs", arrange_nothing, add_cogs, 0.0, 5e-4);
    hold_campaign_with("servo", "servo, many cogs", arrange_nothing, add_many_cogs, 0.0, 5e-4);
}

static void test_halved_ticks__move_no_measure_of_a_servo_with_play(void **state)
{
    (void)state;
    hold_campaign_with("servo", "servo, play", arrange_play, add_play, 0.0, 5e-4);
}

static void arrange_swing(struct rc_layout *layout)
{
    arrange_gyro(layout);
    arrange_latency(layout);
    arrange_encoder(layout);
}

/* With all of this in the loop the servo swings to and fro through standstill, a hundred times and more. */
static void add_swing(struct rc_design *design, double share)
{
    add_lag(design, share);
    add_cross(design, share);
    add_encoder(design, share);
}

static void test_halved_ticks__move_no_measure_of_a_servo_that_swings(void **state)
{
    (void)state;
    hold_campaign_with("servo", "servo, swinging", arrange_swing, add_swing, 0.0, 5e-4);
}

static void arrange_loose_swing(struct rc_layout *layout)
{
    arrange_swing(layout);
    arrange_play(layout);
}

static void add_loose_swing(struct rc_design *design, double share)
{
    add_swing(design, share);
    add_play(design, 1.0 - share);
}

static void test_halved_ticks__move_no_measure_of_a_servo_that_swings_in_its_play(void **state)
{
    (void)state;
    hold_campaign_with("servo", "servo, swinging in its play", arrange_loose_swing, add_loose_swing, 0.0, 5e-4);
}

static void add_weakness(struct rc_design *design, double share)
{
    design->drive.stepper.torque_factor = 0.1 + 0.5 * share;
}

static void arrange_table(struct rc_layout *layout)
{
    layout->pull_out = (struct rc_pull_out_points){ .n = 4, .rate = { 0, 300, 600, 3000 },
                                                    .torque = { 0.018, 0.016, 0.018, 0.008 } };
}

/* A stepper too weak for some of its ramps, which slips for seconds in many a flight and loses thousands of steps. */
static void hold_slipping(const char *what, void (*arrange)(struct rc_layout *))
{
    static struct flown flown;
    rc_campaign *campaign = NULL;
    load(&flown, &campaign, "stepper");
    flown.name = what;
    flown.n_flights = 192;
    flown.most_moved = 1;
    flown.add = add_weakness;
    if (arrange != NULL)
        arrange(&flown.layout);
    assert_true(mean_of(&flown, RC_MEASURE_slipping_s) > 1.0);
    hold_all(&flown, 4);
    rc_campaign_free(campaign);
}

static void test_halved_ticks__move_no_measure_of_a_slipping_stepper(void **state)
{
    (void)state;
    hold_slipping("slipping", NULL);
}

static void test_halved_ticks__move_no_measure_of_a_stepper_with_play(void **state)
{
    (void)state;
    static struct flown flown;
    rc_campaign *campaign = NULL;
    load(&flown, &campaign, "stepper");
    flown.name = "stepper with play";
    flown.n_flights = 96;
    flown.add = add_play;
    arrange_play(&flown.layout);
    hold_all(&flown, 4);
    rc_campaign_free(campaign);
}

static void test_halved_ticks__move_no_measure_of_a_slipping_stepper_by_table(void **state)
{
    (void)state;
    hold_slipping("slipping, by table", arrange_table);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_the_sensorless_drive),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_the_stepper),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_the_servo),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_drive_asleep),
        cmocka_unit_test(test_halved_ticks__move_no_measure_behind_a_gyros_lag),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_gyro_that_picks_up_and_drifts),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_late_gyro),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_an_encoder),
        cmocka_unit_test(test_halved_ticks__move_no_measure_but_by_an_encoders_single_steps),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_starts_that_wait_or_do_not),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_starts_that_fail),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_weak_motor),
        cmocka_unit_test(test_halved_ticks__move_no_measure_with_everything_at_once),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_play_behind_the_sensorless_drive),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_play_with_everything_at_once),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_drive_that_naps),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_servo_behind_a_slow_or_late_gyro),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_servo_over_its_cogs),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_servo_with_play),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_servo_that_swings),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_servo_that_swings_in_its_play),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_slipping_stepper),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_slipping_stepper_by_table),
        cmocka_unit_test(test_halved_ticks__move_no_measure_of_a_stepper_with_play),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
