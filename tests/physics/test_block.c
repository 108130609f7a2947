/* Blocks of flights: no flight depends on its lane or block-mates, every way to end a flight, and the roll's momentum shared with the
 * platform. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "near.h"
#include "numeric/lane_math.h"
#include "support_vehicle.h"

enum { MAX_BINS = RC_N_SIGNALS * RC_MAX_BAND_TIMES };
struct kept {
    struct rc_record record;
    uint16_t bin[MAX_BINS];
};

/* Fly a block; the records with their bins are kept. */
static void fly_block(struct rc_block *block, const struct rc_design *designs, const uint64_t *flights, int n, struct kept *kept)
{
    struct rc_record records[RC_LANES];
    memset(records, 0, sizeof records);
    for (int lane = 0; lane < n; lane++)
        records[lane].bin = kept[lane].bin;
    rc_block_fly(block, designs, 77, flights, n, records, NULL, NULL);
    for (int lane = 0; lane < n; lane++)
        kept[lane].record = records[lane];
}

/* Byte for byte, NaN included. */
static void assert_same(const struct kept *a, const struct kept *b, int n_bins)
{
    for (int i = 0; i < RC_N_MEASURES; i++)
        if (memcmp(&a->record.measure[i], &b->record.measure[i], sizeof(double)) != 0)
            fail_msg("measure %s: %.17g and %.17g", rc_measures_row(i)->name, a->record.measure[i], b->record.measure[i]);
    assert_int_equal(a->record.end, b->record.end);
    assert_memory_equal(a->bin, b->bin, (size_t)n_bins * sizeof(uint16_t));
}

/* Company of every kind, by number: ordinary, never lifting off, leaving a rail late, coming to rest on it, tumbling, diverging,
 * with a sleeping drive, in another climate. in which any */
static void make_mate(const struct rc_design *base, int which, struct rc_design *mate)
{
    *mate = *base;
    mate->vehicle.fins[0].cant += 0.02 * RC_DEGREE * which;
    switch (which % 8) {
    case 1: mate->vehicle.mass_loaded = mate->vehicle.mass_burnt = 400.0; break;
    case 2: mate->site.rail_length = 60.0; break;
    case 3: mate->site.rail_length = 40.0; mate->motor.impulse_factor = 0.08; break;
    case 4: mate->vehicle.cm_loaded = mate->vehicle.cm_burnt = 2.3; break;
    case 5: mate->vehicle.iy_loaded = mate->vehicle.iy_burnt = 1e-9; break;
    case 6: mate->site.pad_wait = 2000.0; mate->wind.speed = 11.0; break;
    case 7: mate->site.temperature_offset = -20.0; mate->wind.exponent = 0.3; break;
    default: break;
    }
}

/* guarantee of the project (docs/architecture.md): a flight depends on the model, its design, the seed and its number alone. */
static void test_block__a_flight_is_the_same_in_any_lane_and_company(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    vehicle.design.gyro.noise = 0.01 * RC_DEGREE;
    vehicle.design.gyro.bias = 0.6 * RC_DEGREE;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    const int n_bins = RC_N_SIGNALS * vehicle.layout.n_band_times;
    struct rc_block *block = NULL;
    struct rc_error err;
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    static struct kept alone[2], full[RC_LANES];
    struct rc_design own[2], designs[RC_LANES];
    uint64_t flights[RC_LANES];
    const uint64_t number[2] = {123456789, 5};
    for (int which = 0; which < 2; which++) {
        make_mate(&vehicle.design, which == 0 ? 0 : 6, &own[which]);
        fly_block(block, &own[which], &number[which], 1, &alone[which]);
        assert_int_equal(alone[which].record.end, RC_END_APOGEE);
    }
    for (int lane = 0; lane < RC_LANES; lane++)
        for (int which = 0; which < 2; which++) {
            for (int other = 0; other < RC_LANES; other++) {
                make_mate(&vehicle.design, other + lane + which, &designs[other]);
                flights[other] = (uint64_t)(1000 + other);
            }
            designs[lane] = own[which];
            flights[lane] = number[which];
            const int n = which == 0 ? RC_LANES : lane + 1; /* full blocks and short ones */
            fly_block(block, designs, flights, n, full);
            assert_same(&full[lane], &alone[which], n_bins);
        }
    /* And the noise does matter: another flight number gives another record. */
    fly_block(block, &own[0], &number[1], 1, full);
    assert_true(full[0].record.measure[RC_MEASURE_residual_rms_dps] != alone[0].record.measure[RC_MEASURE_residual_rms_dps]);
    rc_block_free(block);
    rc_model_free(model);
}

/* Every end in one block, each as its code; the ordinary flight beside them is not touched. */
static void test_block__every_end_is_told_apart(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *block = NULL;
    struct rc_error err;
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    enum { N = 6 };
    static struct kept kept[N], alone;
    struct rc_design designs[N];
    static const int mate[N] = {0, 1, 3, 4, 5, 8};
    static const uint64_t flights[N] = {0, 1, 2, 3, 4, 5};
    for (int i = 0; i < N; i++)
        make_mate(&vehicle.design, mate[i], &designs[i]);
    designs[5].site.elevation = 85500.0; /* leaves the atmosphere's table on the way up */
    for (int first = 0; first < N; first += RC_LANES)
        fly_block(block, designs + first, flights + first, N - first < RC_LANES ? N - first : RC_LANES, kept + first);
    for (int i = 0; i < N; i++)
        print_message("flight %d: %s, apogee %g m, alpha %g deg\n", i, rc_measures_end_text(kept[i].record.end),
                      kept[i].record.measure[RC_MEASURE_apogee_m], kept[i].record.measure[RC_MEASURE_alpha_max_deg]);
    assert_int_equal(kept[0].record.end, RC_END_APOGEE);
    assert_int_equal(kept[1].record.end, RC_END_NO_LIFTOFF);
    assert_int_equal(kept[2].record.end, RC_END_ON_RAIL);
    assert_int_equal(kept[3].record.end, RC_END_APOGEE); /* tumbles, and still comes to the top of its flight */
    assert_true(kept[3].record.measure[RC_MEASURE_alpha_max_deg] > 45.0);
    assert_true(kept[3].record.measure[RC_MEASURE_static_margin_min_cal] < 0.0);
    assert_int_equal(kept[4].record.end, RC_END_DIVERGED);
    assert_int_equal(kept[5].record.end, RC_END_CEILING);
    /* Where there was no flight there are no measures; on the rail there is no apogee. */
    for (int i = 0; i < RC_N_MEASURES; i++)
        assert_true(isnan(kept[1].record.measure[i]) && isnan(kept[4].record.measure[i]));
    assert_true(isnan(kept[2].record.measure[RC_MEASURE_apogee_m]) && isnan(kept[2].record.measure[RC_MEASURE_rail_exit_mps]));
    fly_block(block, &designs[0], &flights[0], 1, &alone);
    assert_same(&alone, &kept[0], RC_N_SIGNALS * vehicle.layout.n_band_times);
    rc_block_free(block);
    rc_model_free(model);
}

static void test_block__the_time_limit_ends_a_flight(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    vehicle.layout.time_limit = 10.0;
    vehicle.layout.n_band_times = 21;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    const struct rc_record record = support_vehicle_fly(model, &vehicle.design, NULL, NULL);
    assert_int_equal(record.end, RC_END_TIME);
    assert_true(isnan(record.measure[RC_MEASURE_apogee_m]));
    assert_true(record.measure[RC_MEASURE_speed_max_mps] > 300.0);
    rc_model_free(model);
}

/* Angular momentum about the axis: vehicle and platform carried along, the platform's own turning, the rotor through the gear. */
static double roll_momentum(const struct rc_block *block, const struct rc_design *design)
{
    const double p = block->v.y[RC_STATE_ROLL_RATE][0], r = block->p.rate[0];
    const struct rc_platform_design *const parts = &design->platform;
    return design->vehicle.ix_burnt * p + parts->inertia * (p + r) + parts->gear_ratio * parts->rotor_inertia * r;
}

struct spun {
    const struct rc_block *block;
    const struct rc_design *design;
    double first, worst, fastest;
    int n;
};

/* Called after each tick; the block's roll rate is that of the step's end until the platform's share is taken from it, so only the
 * first tick of a step whose drive rate has not changed yet shows a finished step. */
static void watch_spin(void *user, const struct rc_moment *moment)
{
    struct spun *const spun = user;
    const struct rc_block *const block = spun->block;
    spun->fastest = fmax(spun->fastest, fabs(moment->drive_rate));
    if (moment->time < 1.0 || (int64_t)(moment->time / block->model->clock.dt + 0.5) != block->tick + 1)
        return;
    /* In a vacuum the rate is constant over the step: y holds what the step began with. The drive's rate then is what the vehicle
     * last knew: its momentum over the coupling. */
    const double p = block->v.y[RC_STATE_ROLL_RATE][0];
    const double momentum = (spun->design->vehicle.ix_burnt + spun->design->platform.inertia) * p + block->v.platform_momentum[0];
    spun->first = spun->n == 0 ? momentum : spun->first;
    spun->worst = fmax(spun->worst, fabs(momentum - spun->first));
    spun->n++;
}

/* closed form: without air nothing outside turns the vehicle about its axis; what the drive does inside changes no momentum. A gyro
 * that always reads 60 deg/s keeps the drive starting, slewing, stopping and reversing. */
static void test_block__the_drive_moves_momentum_and_makes_none(void **state)
{
    (void)state;
    static const double nothing[RC_N_FLAT_COLUMNS] = {[RC_AERO_XCP] = 1.9};
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    support_vehicle_flatten(&vehicle, nothing);
    vehicle.design.vehicle.ix_loaded = vehicle.design.vehicle.ix_burnt;
    vehicle.design.gyro.bias = 60.0 * RC_DEGREE;
    vehicle.layout.gyro_mount = RC_GYRO_ON_VEHICLE;
    vehicle.layout.time_limit = 200.0;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *block = NULL;
    struct rc_error err;
    struct rc_record record = {.bin = NULL};
    const uint64_t flight = 0;
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    struct spun spun = {.block = block, .design = &vehicle.design};
    rc_block_fly(block, &vehicle.design, 1, &flight, 1, &record, watch_spin, &spun);
    assert_int_equal(record.end, RC_END_APOGEE);
    const double end = roll_momentum(block, &vehicle.design);
    const double scale = block->p.coupling[0] * spun.fastest;
    print_message("%g starts, %g reversals, drive up to %.0f deg/s: momentum off by %.1e of the platform's, at the end by %.1e\n",
                  record.measure[RC_MEASURE_drive_starts], record.measure[RC_MEASURE_drive_reversals], spun.fastest / RC_DEGREE,
                  spun.worst / scale, fabs(end - spun.first) / scale);
    assert_true(record.measure[RC_MEASURE_drive_starts] > 5.0 && record.measure[RC_MEASURE_drive_reversals] > 2.0);
    assert_true(spun.n > 500);
    assert_near(spun.worst / scale, 0.0, 1e-12);
    assert_near((end - spun.first) / scale, 0.0, 1e-12);
    rc_block_free(block);
    rc_model_free(model);
}

/* Where nothing is skewed, the loop without those terms gives the same bits; where something is, it must not be taken. */
static void test_block__a_straight_vehicle_pays_for_nothing_and_flies_the_same(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    vehicle.design.vehicle.fins[0].misalignment[1] = 0.1 * RC_DEGREE;
    struct rc_record record[4];
    for (int i = 0; i < 4; i++) {
        vehicle.layout.is_straight = i % 2;
        vehicle.design.vehicle.cm_offset = i < 2 ? 0.0 : 0.002;
        struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
        record[i] = support_vehicle_fly(model, &vehicle.design, NULL, NULL);
        rc_model_free(model);
    }
    assert_memory_equal(record[0].measure, record[1].measure, sizeof record[0].measure);
    assert_memory_not_equal(record[2].measure, record[3].measure, sizeof record[2].measure);
}

/* What a sink was told. */
enum { MAX_TOLD = 20000 };
struct told {
    int n;
    double time[MAX_TOLD], residual[MAX_TOLD];
};

static void tell(void *user, const struct rc_moment *moment)
{
    struct told *const told = user;
    assert_true(told->n < MAX_TOLD);
    told->time[told->n] = moment->time;
    told->residual[told->n++] = moment->residual;
}

/* Whoever looks on sees the first flight, each tick once, though others of its block end before it or after. */
static void test_block__moments_are_the_first_flights_in_any_company(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *block = NULL;
    struct rc_error err;
    static struct told alone, mixed;
    static struct rc_design designs[RC_LANES];
    struct rc_record records[RC_LANES];
    uint64_t flights[RC_LANES];
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    alone.n = mixed.n = 0;
    memset(records, 0, sizeof records);
    for (int lane = 0; lane < RC_LANES; lane++) {
        make_mate(&vehicle.design, 0, &designs[lane]);
        designs[lane].motor.impulse_factor *= 1.0 + 0.01 * (lane % 2 == 0 ? lane : -lane);
        flights[lane] = (uint64_t)lane;
    }
    rc_block_fly(block, designs, 77, flights, 1, records, tell, &alone);
    rc_block_fly(block, designs, 77, flights, RC_LANES, records, tell, &mixed);
    assert_true(alone.n > 5000 && alone.n == mixed.n);
    assert_memory_equal(alone.time, mixed.time, (size_t)alone.n * sizeof(double));
    assert_memory_equal(alone.residual, mixed.residual, (size_t)alone.n * sizeof(double));
    if (RC_LANES > 1)
        assert_true(records[1].measure[RC_MEASURE_ascent_s] < records[0].measure[RC_MEASURE_ascent_s]);
    rc_block_free(block);
    rc_model_free(model);
}

/* A measure whose row names a part stays blank without that part, and no other one does: a vehicle without descent, battery and
 * fixed camera. */
static void test_block__what_a_flight_leaves_blank_is_what_needs_a_part(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    const struct rc_record record = support_vehicle_fly(model, &vehicle.design, NULL, NULL);
    assert_int_equal(record.end, RC_END_APOGEE);
    int n_blank[RC_N_NEEDS] = {0};
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        const struct rc_measure_row *const row = rc_measures_row(measure);
        if (rc_measures_is_formula(measure))
            continue; /* no column of a vehicle's store */
        if (isnan(record.measure[measure]) != (row->needs != RC_NEEDS_NOTHING))
            fail_msg("%s is %g, and its row says that it needs part %d", row->name, record.measure[measure], (int)row->needs);
        n_blank[row->needs] += isnan(record.measure[measure]);
    }
    for (int part = RC_NEEDS_NOTHING + 1; part < RC_NEEDS_FORMULA; part++)
        assert_true(n_blank[part] > 0);
    rc_model_free(model);
}

/* Whatever a table depends on parts the designs that share it: each number by itself, by a thousandth. What it does not depend on
 * does not. */
static void test_block__flights_share_tables_only_where_all_that_makes_them_is_the_same(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    struct rc_design other = vehicle.design;
    struct rc_vehicle_design *const v = &other.vehicle;
    double *const of_aero[] = {
        &v->diameter, &v->length, &v->nose_length, &v->nose_exponent, &v->roughness, &v->fins[0].root_chord, &v->fins[0].tip_chord,
        &v->fins[0].span, &v->fins[0].sweep, &v->fins[0].thickness, &v->fins[0].station, &v->fins[0].root_radius,
        &v->fins[0].front_share, &v->fins[0].back_share, &v->fins[1].back_share, &v->sections[0].station, &v->sections[0].length,
        &v->sections[0].fore_diameter, &v->sections[0].aft_diameter,
    };
    double *const of_air[] = {
        &other.wind.exponent, &other.wind.reference_height, &other.wind.spread, &other.site.elevation, &other.site.temperature_offset,
        &other.site.pressure_offset,
    };
    double *const of_none[] = {&other.wind.speed, &other.wind.from, &v->fins[0].cant, &v->fins[0].misalignment[2], &v->mass_loaded};
    for (size_t i = 0; i < sizeof of_aero / sizeof of_aero[0]; i++, other = vehicle.design) {
        *of_aero[i] += 1e-3;
        assert_false(rc_model_same_aero(&vehicle.design, &other));
        assert_true(rc_model_same_air(&vehicle.design, &other));
    }
    for (size_t i = 0; i < sizeof of_air / sizeof of_air[0]; i++, other = vehicle.design) {
        *of_air[i] += 1e-3;
        assert_false(rc_model_same_air(&vehicle.design, &other));
        assert_true(rc_model_same_aero(&vehicle.design, &other));
    }
    for (size_t i = 0; i < sizeof of_none / sizeof of_none[0]; i++, other = vehicle.design) {
        *of_none[i] += 1e-3;
        assert_true(rc_model_same_air(&vehicle.design, &other) && rc_model_same_aero(&vehicle.design, &other));
    }
}

/* A fin at roll position g pushes along -sin g, cos g: the second of four, deflected by d with the first at 30 degrees, stands at 120,
 * and cant adds nothing to the sum of four. */
static void test_block__a_fins_push_has_the_direction_of_its_roll_position(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    vehicle.design.vehicle.fins[0].first_angle = 30.0 * RC_DEGREE;
    vehicle.design.vehicle.fins[0].misalignment[1] = 0.01;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *const block = support_vehicle_block(model, &vehicle.design);
    assert_near(block->trim[0][0][0], -0.01 * sqrt(0.75), 1e-15);
    assert_near(block->trim[0][0][1], -0.01 * 0.5, 1e-15);
    assert_near(block->mean_deflection[0][0], 0.08 * RC_DEGREE + 0.0025, 1e-15);
    rc_block_free(block);
    rc_model_free(model);
}

/* What the middle of a burnt flight sees at 300 m/s, 1000 m up, with a side wind of its own motion. in east, north  across [m/s] */
static struct rc_block *see(const struct rc_model *model, const struct support_vehicle *vehicle, double east, double north)
{
    struct rc_block *const block = support_vehicle_block(model, &vehicle->design);
    struct rc_moment_lanes at;
    double y[RC_N_STATE], slope[RC_N_STATE];
    support_vehicle_moment(vehicle, 5.0, &at);
    support_vehicle_upright(1000.0, 300.0, y);
    y[RC_STATE_V_EAST] = east;
    y[RC_STATE_V_NORTH] = north;
    support_vehicle_slope(block, &at, y, slope);
    return block;
}

/* The shift moves the centre of pressure by itself, whatever the factor on the force; a body of revolution is pushed alike from all sides. */
static void test_block__a_shift_is_of_the_place_and_a_push_has_no_favoured_side(void **state)
{
    (void)state;
    double station[2], squared[3];
    for (int i = 0; i < 2; i++) {
        struct support_vehicle vehicle;
        double coefficient[RC_N_COEFFICIENTS];
        support_vehicle_demo(&vehicle);
        vehicle.design.wind.speed = 0.0;
        vehicle.design.aero.normal_factor = 0.5;
        vehicle.design.aero.cp_shift = 0.1 * i;
        struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
        for (int side = 0; side < 3; side++) {
            struct rc_block *const block = see(model, &vehicle, 10.0 * cos(side * RC_PI / 4.0), 10.0 * sin(side * RC_PI / 4.0));
            squared[side] = block->v.seen.lateral_squared[0];
            support_vehicle_coefficients(&block->v, coefficient);
            station[i] = coefficient[RC_C_NORMAL_X] / coefficient[RC_C_NORMAL];
            rc_block_free(block);
        }
        rc_model_free(model);
        assert_true(squared[0] > 1.0);
        assert_near(squared[1], squared[0], 1e-9 * squared[0]);
        assert_near(squared[2], squared[0], 1e-9 * squared[0]);
    }
    assert_near(station[1] - station[0], 0.1, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_block__a_straight_vehicle_pays_for_nothing_and_flies_the_same),
        cmocka_unit_test(test_block__a_flight_is_the_same_in_any_lane_and_company),
        cmocka_unit_test(test_block__every_end_is_told_apart),
        cmocka_unit_test(test_block__a_shift_is_of_the_place_and_a_push_has_no_favoured_side),
        cmocka_unit_test(test_block__flights_share_tables_only_where_all_that_makes_them_is_the_same),
        cmocka_unit_test(test_block__a_fins_push_has_the_direction_of_its_roll_position),
        cmocka_unit_test(test_block__the_time_limit_ends_a_flight),
        cmocka_unit_test(test_block__the_drive_moves_momentum_and_makes_none),
        cmocka_unit_test(test_block__what_a_flight_leaves_blank_is_what_needs_a_part),
        cmocka_unit_test(test_block__moments_are_the_first_flights_in_any_company),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
