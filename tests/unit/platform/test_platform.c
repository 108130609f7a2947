/* Setting a platform up, the registry of drives, and the promise that a flight's bits depend neither on its lane, nor on its
 * block-mates, nor on how its ticks are cut into stretches. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "rig.h"

static void test_platform__drives_are_found_by_name(void **state)
{
    (void)state;
    const int n = rc_platform_drive_count();
    assert_true(n >= 1);
    for (int index = 0; index < n; index++) {
        const struct rc_drive_kind *kind = rc_platform_drive_at(index);
        assert_non_null(kind);
        assert_true(kind->run != NULL && kind->summary[0] != '\0');
        assert_ptr_equal(rc_platform_drive_find(kind->name), kind);
    }
    assert_string_equal(rc_platform_drive_find("geared_sensorless")->name, "geared_sensorless");
    assert_null(rc_platform_drive_find("geared_sensorles"));
    assert_null(rc_platform_drive_find(""));
    assert_null(rc_platform_drive_at(-1));
    assert_null(rc_platform_drive_at(n));
}

/* A campaign's worth of numbers, so that everything in the tick does something. */
static void make_busy(struct rig *rig)
{
    rig_reset(rig);
    rig->clock.gyro_every = 2;
    rig->clock.control_every = 4;
    rig->clock.n_cameras = 2;
    rig->clock.frame_rate[1] = 240;
    rig->parts = (struct rc_platform_design){
        .inertia = 2e-3, .mass = 0.4, .coulomb = 2e-3, .viscous = 1e-4, .load_mu = 0.0015, .bearing_diameter = 0.05,
        .starting_ratio = 1.5, .gear_ratio = 20.0, .rotor_inertia = 1e-6, .gear_friction = 1e-3,
    };
    rig->drive = (struct rc_drive_design){
        .floor = 0.7, .jump = 0.9, .deadband = 0.2, .top = 30.0, .slew = 60.0, .reversal_delay = 0.05, .sleep_after = 10.0,
        .wake_command = 4.0, .wake_delay = 0.3,
    };
    rig->gyro = (struct rc_gyro_design){ .range = 35.0, .bias = 0.02, .scale = 0.01, .noise = 0.005 };
    rig->controller = (struct rc_controller_design){ .gain = 6.0, .integral = 1.0, .windup = 40.0 };
    rig->idle = 30.0;
}

static void test_platform__begin_works_out_the_constants(void **state)
{
    (void)state;
    struct rig rig;
    make_busy(&rig);
    rig_begin(&rig);
    const struct rc_platform_lanes *const p = &rig.p;
    const int lane = rig.lane;
    assert_near(p->coupling[lane], 2e-3 + 20.0 * 1e-6, 1e-17);
    assert_ratio(p->per_own_inertia[lane], 1.0 / (2e-3 + 400.0 * 1e-6), 1e-15);
    assert_near(p->friction[lane], 3e-3, 1e-17);
    assert_ratio(p->friction_per_accel[lane], 0.5 * 0.0015 * 0.4 * 0.05, 1e-15);
    assert_ratio(p->slew_step[lane], 60.0 / 512.0, 1e-15);
    assert_ratio(p->gyro_noise[lane], 0.005 * sqrt(256.0 / 2.0), 1e-15);
    /* exp(-k dt) and the integral of exp(-k t) over a tick */
    const double k = 1e-4 / 2.4e-3;
    assert_ratio(p->decay[lane], exp(-k / 512.0), 1e-15);
    assert_ratio(p->decay_time[lane], (1.0 - exp(-k / 512.0)) / k, 1e-11);
    assert_true(p->mode[lane] == RC_DRIVE_ASLEEP && p->idle[lane] == 30.0 && p->rate[lane] == 0.0);
    /* without viscous friction nothing decays */
    rig.parts.viscous = 0.0;
    rig_begin(&rig);
    assert_true(p->decay[lane] == 1.0 && p->decay_time[lane] == rig.clock.dt);
    /* a tiny one must not lose the digits to cancellation */
    rig.parts.viscous = 1e-15;
    rig_begin(&rig);
    assert_ratio(p->decay_time[lane], rig.clock.dt, 1e-12);
}

/* Every lane array of the block, one after the other: it holds nothing else. */
static const rc_lane *fields(const struct rc_platform_lanes *p)
{
    return (const rc_lane *)(const void *)p;
}

enum { N_FIELDS = sizeof(struct rc_platform_lanes) / sizeof(rc_lane) };

static void assert_same_bits(const struct rc_platform_lanes *a, int lane_a, const struct rc_platform_lanes *b, int lane_b)
{
    for (int field = 0; field < N_FIELDS; field++)
        if (memcmp(&fields(a)[field][lane_a], &fields(b)[field][lane_b], sizeof(double)) != 0)
            fail_msg("array %d differs: %.17g in lane %d, %.17g in lane %d", field, fields(a)[field][lane_a], lane_a,
                     fields(b)[field][lane_b], lane_b);
}

static void test_platform__begin_fills_its_lane_and_no_other(void **state)
{
    (void)state;
    struct rig rig, before;
    make_busy(&rig);
    memset(&rig.p, 0x41, sizeof rig.p);
    before = rig;
    const struct rc_platform_setup setup = {
        .kind = rc_platform_drive_find(rig.kind), .parts = &rig.parts, .drive = &rig.drive, .gyro = &rig.gyro, .controller = &rig.controller, .camera = rig.camera,
        .footage = &rig.footage, .width_px = rig.width_px, .powered = rig.idle, .seed = 3, .flight = 4,
    };
    rc_platform_begin(&rig.p, 0, &rig.clock, &setup);
    for (int lane = 1; lane < RC_LANES; lane++)
        assert_same_bits(&rig.p, lane, &before.p, lane);
    const rc_lane *const tally = (const rc_lane *)(const void *)&rig.p.tally;
    for (size_t field = 0; field < sizeof rig.p.tally / sizeof *tally; field++)
        assert_true(tally[field][0] == 0.0);
    /* What was left of a flight before does not show in the next. */
    rc_platform_begin(&before.p, 0, &before.clock, &setup);
    rig_run(&rig, 9.0, 500);
    rc_platform_begin(&rig.p, 0, &rig.clock, &setup);
    for (int camera = rig.clock.n_cameras; camera < RC_MAX_CAMERAS; camera++) /* unused: never looked at */
        rig.p.smear_per_rate[camera][0] = rig.p.smear_limit[camera][0] = rig.p.rate_limit[camera][0] =
            before.p.smear_per_rate[camera][0] = before.p.smear_limit[camera][0] = before.p.rate_limit[camera][0] = 0.0;
    assert_same_bits(&rig.p, 0, &before.p, 0);
}

/* A flight's roll: up, over the top and down below the floor, with load and transverse rate. */
static void fly(struct rig *rig, int lane, double scale, double load)
{
    static const double roll[4] = { 0.0, 60.0, -85.0, 23.0 };
    for (int k = 0; k < 4; k++)
        rig->p.roll[k][lane] = roll[k] * scale;
    rig->p.load[lane] = load;
    rig->p.pitch[lane] = 1e-2 * fabs(scale);
}

/* The flight looked at in one lane, a different one in every other. */
static void fly_block(struct rig *rig, int lane, double mates)
{
    make_busy(rig);
    rig->lane = lane;
    rig_begin(rig);
    for (int other = 0; other < RC_LANES; other++) {
        const int is_mate = other != lane;
        const double variant = is_mate ? mates + 0.1 * other : 0.0;
        struct rc_drive_design drive = rig->drive;
        drive.floor += variant;
        drive.jump += variant;
        const struct rc_platform_setup setup = {
            .kind = rc_platform_drive_find(rig->kind), .parts = &rig->parts, .drive = &drive, .gyro = &rig->gyro, .controller = &rig->controller, .camera = rig->camera,
            .footage = &rig->footage, .width_px = rig->width_px, .powered = is_mate ? 5.0 * variant : rig->idle,
            .seed = rig->seed, .flight = is_mate ? 100 + (uint64_t)other : 7,
        };
        rc_platform_begin(&rig->p, other, &rig->clock, &setup);
        fly(rig, other, is_mate ? 1.0 - variant : 1.0, is_mate ? 10.0 * variant : 30.0);
    }
}

/* Run the block's ticks 0 .. n_ticks as the whole of a step, cut into stretches. */
static void run_cut(struct rig *rig, int n_ticks, int cut)
{
    for (int done = 0; done < n_ticks; done += cut) {
        const struct rc_platform_stretch stretch = {
            .first = done, .n_ticks = done + cut < n_ticks ? cut : n_ticks - done, .n_of_step = n_ticks, .offset = done,
        };
        rc_platform_drive_find("geared_sensorless")->run(&rig->p, &rig->clock, &stretch);
    }
}

static void test_platform__a_flight_is_the_same_in_every_lane_and_company(void **state)
{
    (void)state;
    static struct rig first, other;
    fly_block(&first, 0, 0.3);
    run_cut(&first, 3000, 3000);
    const struct rc_tally *const tally = &first.p.tally;
    /* It must have seen sleep, starts, a reversal, and time both within and beyond the target. */
    assert_true(tally->asleep[0] > 0.1 && tally->starts[0] >= 2.0 && tally->reversals[0] > 0.0);
    assert_true(tally->held[0] > 0.1 && tally->held[0] < 5.5 && tally->usable[0][0] > 0.0);
    for (int lane = 0; lane < RC_LANES; lane++) {
        fly_block(&other, lane, lane % 2 == 0 ? 0.3 : -0.2);
        run_cut(&other, 3000, 3000);
        assert_same_bits(&first.p, 0, &other.p, lane);
    }
}

static void test_platform__cutting_a_step_changes_no_bit(void **state)
{
    (void)state;
    static struct rig whole, cut;
    fly_block(&whole, 0, 0.3);
    run_cut(&whole, 3000, 3000);
    static const int length[] = { 1, 7, 64, 1499 };
    for (int i = 0; i < 4; i++) {
        fly_block(&cut, 0, 0.3);
        run_cut(&cut, 3000, length[i]);
        for (int lane = 0; lane < RC_LANES; lane++)
            assert_same_bits(&whole.p, lane, &cut.p, lane);
    }
}

struct watcher {
    int n, last;
};

static void watch(void *user, int tick)
{
    struct watcher *const watcher = user;
    watcher->n++;
    assert_int_equal(tick, watcher->last + 1);
    watcher->last = tick;
}

static void test_platform__watcher_sees_every_tick_by_its_number_in_the_step(void **state)
{
    (void)state;
    struct rig rig;
    make_busy(&rig);
    rig_begin(&rig);
    struct watcher watcher = { .last = 3 };
    const struct rc_platform_stretch stretch = {
        .first = 1003, .n_ticks = 5, .n_of_step = 10, .offset = 3, .watch = watch, .user = &watcher,
    };
    rc_platform_drive_find("geared_sensorless")->run(&rig.p, &rig.clock, &stretch);
    assert_int_equal(watcher.n, 5);
    assert_int_equal(watcher.last, 8);
}

/* Closed form: held rigidly to the vehicle, the platform's drift is the vehicle's roll angle, the trapezium's error apart. */
static void test_platform__drift_is_the_angle(void **state)
{
    (void)state;
    struct rig rig;
    rig_reset(&rig);
    rig_silence(&rig); /* no command: awake, it holds */
    rig_begin(&rig);
    const double roll[4] = { 1.0, 30.0, -40.0, 12.0 };
    const int n = 1024;
    rig_run_cubic(&rig, roll, n);
    const double seconds = n * rig.clock.dt;
    const double angle = seconds * (roll[0] + roll[1] / 2.0 + roll[2] / 3.0 + roll[3] / 4.0);
    /* T dt^2 max|p''| / 12, with p'' up to 80 per theta squared, theta = t / T */
    const double bound = seconds * rig.clock.dt * rig.clock.dt * 80.0 / (seconds * seconds) / 12.0;
    assert_near(rig.p.tally.drift[rig.lane], angle, bound);
    assert_true(rig.p.tally.residual_peak[rig.lane] > 7.0);
}

/* Closed form: what the drive gives the platform, (J + N Jr) w, the free vehicle's roll loses; a rail takes it instead. The gyro,
 * the residual and the roll's peak see the vehicle as it then turns. */
static void test_platform__free_vehicle_takes_the_reaction(void **state)
{
    (void)state;
    for (int is_vehicle_free = 0; is_vehicle_free < 2; is_vehicle_free++) {
        struct rig rig;
        rig_reset(&rig);
        rig.parts.gear_ratio = 20.0;
        rig.parts.rotor_inertia = 5e-6;
        rig.clock.gyro_mount = RC_GYRO_ON_VEHICLE;
        rig.clock.control_mode = RC_CONTROL_RATE;
        rig.clock.control_every = 1024; /* one command */
        rig.controller.gain = 0.5;
        rig_begin(&rig);
        rc_lane ix, is_free;
        for (int lane = 0; lane < RC_LANES; lane++) {
            ix[lane] = 0.02;
            is_free[lane] = is_vehicle_free;
        }
        rc_platform_meet(&rig.p, rig.clock.dt, ix, is_free);
        rig_run(&rig, 8.0, 10);
        const double rate = -4.0, roll = 8.0 + is_vehicle_free * 4.0 * (1e-3 + 20.0 * 5e-6) / 0.02;
        assert_true(rig_rate(&rig) == rate);
        assert_near(rig.p.reading[rig.lane], roll, 1e-14);
        assert_near(rig.p.residual[rig.lane], roll + rate, 1e-14);
        assert_near(rig.p.tally.roll_peak[rig.lane], roll, 1e-14);
        assert_near(rig.p.tally.drift[rig.lane], 10.0 * rig.clock.dt * (roll + rate), 1e-7); /* its ramp takes 4 ns */
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_platform__drives_are_found_by_name),
        cmocka_unit_test(test_platform__begin_works_out_the_constants),
        cmocka_unit_test(test_platform__begin_fills_its_lane_and_no_other),
        cmocka_unit_test(test_platform__a_flight_is_the_same_in_every_lane_and_company),
        cmocka_unit_test(test_platform__cutting_a_step_changes_no_bit),
        cmocka_unit_test(test_platform__watcher_sees_every_tick_by_its_number_in_the_step),
        cmocka_unit_test(test_platform__drift_is_the_angle),
        cmocka_unit_test(test_platform__free_vehicle_takes_the_reaction),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
