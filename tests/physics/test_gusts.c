/* Gusts against the Dryden forms: scale lengths and intensities over height, variance, spectrum and autocorrelation of what is
 * made, independence, and that neither the step nor the company matters. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "flight/gusts.h"
#include "near.h"
#include "numeric/lane_math.h"
#include "support/reference.h"
#include "support_vehicle.h"

/* source dryden_check.csv (MIL-F-8785C low-altitude model, formulas from memory, numbers computed there) */
static void test_gusts__scales_and_intensities_are_those_of_the_military_specification(void **state)
{
    (void)state;
    struct reference *const table = reference_open("dryden_check.csv");
    for (int row = 0; row < reference_rows(table); row++) {
        const struct rc_gust_scale scale = rc_gusts_scale(reference_number(table, row, "h_m"));
        assert_ratio(scale.horizontal_length, reference_number(table, row, "Lu_m"), 1e-5);
        assert_ratio(scale.vertical_length, reference_number(table, row, "Lw_8785C_m"), 1e-5);
        assert_ratio(scale.ratio, reference_number(table, row, "sigma_u_mps") / reference_number(table, row, "sigma_w_mps"), 1e-4);
        assert_near(scale.low_weight, 1.0, 1e-12);
    }
    /* source the same specification: isotropic with 1750 ft from 2000 ft up; straight in between. */
    const struct rc_gust_scale high = rc_gusts_scale(2000.0 * RC_GUST_FOOT), middle = rc_gusts_scale(1500.0 * RC_GUST_FOOT);
    assert_ratio(high.vertical_length, 533.4, 1e-12);
    assert_ratio(high.horizontal_length, 533.4, 1e-12);
    assert_near(high.ratio, 1.0, 1e-12);
    assert_near(high.low_weight, 0.0, 1e-12);
    assert_ratio(middle.vertical_length, 0.5 * (304.8 + 533.4), 1e-12);
    reference_close(table);
}

enum { N_SAMPLES = 2048, N_BLOCKS = 50, N_LAGS = 4, N_BANDS = 7, N_AXES = 3 };
static const int lag_of[N_LAGS] = {1, 8, 40, 120};
static const int band_of[N_BANDS] = {3, 6, 12, 24, 48, 96, 200};

/* What many gust histories at one height and airspeed show: sums over the histories, and over their squares for the error. */
struct shown {
    double variance[N_AXES], product[N_AXES][N_LAGS], power[N_AXES][N_BANDS], power_square[N_AXES][N_BANDS];
    double cross[N_AXES], between;
    int n;
};

/* Add one history of one lane. in g  (N_SAMPLES) */
static void add_history(struct shown *shown, int axis, const double *g)
{
    for (int lag = 0; lag < N_LAGS; lag++) {
        double sum = 0.0;
        for (int i = 0; i + lag_of[lag] < N_SAMPLES; i++)
            sum += g[i] * g[i + lag_of[lag]];
        shown->product[axis][lag] += sum / (N_SAMPLES - lag_of[lag]);
    }
    for (int i = 0; i < N_SAMPLES; i++)
        shown->variance[axis] += g[i] * g[i] / N_SAMPLES;
    for (int band = 0; band < N_BANDS; band++) {
        /* Hann window, so that the slow swings do not leak into the fast ones. */
        double even = 0.0, odd = 0.0;
        for (int i = 0; i < N_SAMPLES; i++) {
            const double window = 0.5 - 0.5 * cos(2.0 * RC_PI * i / N_SAMPLES);
            even += g[i] * window * cos(2.0 * RC_PI * band_of[band] * i / N_SAMPLES);
            odd += g[i] * window * sin(2.0 * RC_PI * band_of[band] * i / N_SAMPLES);
        }
        const double power = (even * even + odd * odd) * 2.0 / (0.375 * N_SAMPLES); /* one-sided, per sample */
        shown->power[axis][band] += power;
        shown->power_square[axis][band] += power * power;
    }
}

enum { TOGETHER = RC_LANES > 16 ? RC_LANES : 16 }; /* histories looked at together, in blocks of as many lanes as there are */

static double gust[TOGETHER][N_AXES][N_SAMPLES];

/* Hold a block at a height and airspeed and let it make gusts, from history `first` on. */
static void make_gusts(struct rc_block *block, double height, double speed, uint64_t first_flight, int first)
{
    uint64_t flights[RC_LANES];
    for (int lane = 0; lane < RC_LANES; lane++)
        flights[lane] = first_flight + (uint64_t)(first + lane);
    rc_gusts_begin(block, 99, flights, RC_LANES);
    for (int lane = 0; lane < RC_LANES; lane++) {
        block->v.y[RC_STATE_UP][lane] = height;
        block->v.seen.speed[lane] = speed;
    }
    for (int i = 0; i <= N_SAMPLES; i++) {
        block->tick = (int64_t)i * block->model->gust_ticks;
        block->time = i * block->model->gust_interval;
        rc_gusts_advance(block);
        for (int lane = 0; lane < RC_LANES && i > 0; lane++)
            for (int axis = 0; axis < N_AXES; axis++)
                gust[first + lane][axis][i - 1] = block->v.gust[axis][lane];
    }
}

static void look_at(struct shown *shown, struct rc_block *block, double height, double speed)
{
    memset(shown, 0, sizeof *shown);
    for (int round = 0; round < N_BLOCKS; round++) {
        for (int first = 0; first < TOGETHER; first += RC_LANES)
            make_gusts(block, height, speed, (uint64_t)(1000 * round), first);
        for (int lane = 0; lane < TOGETHER; lane++) {
            const int other = (lane + 1) % TOGETHER;
            for (int axis = 0; axis < N_AXES; axis++)
                add_history(shown, axis, gust[lane][axis]);
            for (int i = 0; i < N_SAMPLES; i++) {
                for (int axis = 0; axis < N_AXES; axis++)
                    shown->cross[axis] += gust[lane][axis][i] * gust[lane][(axis + 1) % N_AXES][i] / N_SAMPLES;
                shown->between += gust[lane][1][i] * gust[other][1][i] / N_SAMPLES;
            }
            shown->n++;
        }
    }
}

/* The two-sided spectrum of a sampled process of unit variance from its autocorrelation, one-sided and per sample as above.
 * in  rho  its closed form, of the lag over the correlation length */
static double sampled_spectrum(double (*rho)(double), double per_sample, double phase)
{
    double sum = 1.0;
    for (int lag = 1; lag * per_sample < 40.0; lag++)
        sum += 2.0 * rho(lag * per_sample) * cos(phase * lag);
    return 2.0 * sum;
}

/* closed form: transforms of the Dryden spectra, s = V tau / L. */
static double rho_along(double s)
{
    return exp(-s);
}

static double rho_across(double s)
{
    return exp(-s) * (1.0 - 0.5 * s);
}

/* The Dryden spectra themselves (MIL-F-8785C forms, one-sided, per hertz times the sample interval), of a process of unit variance.
 * in  a = V dt / L, phase = omega dt */
static double dryden(int is_along, double a, double phase)
{
    const double w = phase / a, square = w * w; /* L Omega */
    const double density = is_along ? (2.0 / RC_PI) / (1.0 + square) : (1.0 / RC_PI) * (1.0 + 3.0 * square) / ((1.0 + square) * (1.0 + square));
    return density * 2.0 * RC_PI / a;
}

static void hold_against_dryden(struct rc_block *block, double height, double speed, const double *sigma)
{
    const struct rc_gust_scale scale = rc_gusts_scale(height);
    struct shown shown;
    look_at(&shown, block, height, speed);
    double worst_low = 0.0, worst_alias = 0.0, worst_sigma = 0.0;
    for (int axis = 0; axis < N_AXES; axis++) {
        const int is_along = axis == 0;
        const double length = is_along ? scale.vertical_length : scale.horizontal_length;
        const double a = speed * block->model->gust_interval / length, square = sigma[axis] * sigma[axis];
        /* Histories are as many independent values of the variance as they are correlation lengths long, about: standard error of
         * the variance sqrt(2 / that). Four of them. */
        const double n_free = shown.n * fmax(1.0, N_SAMPLES * a);
        const double tolerance = 4.0 * sqrt(2.0 * 2.0 / n_free);
        const double variance = shown.variance[axis] / shown.n / square;
        print_message("  axis %d: variance over the form's %.4f (tolerance %.4f)\n", axis, variance, tolerance);
        assert_near(variance, 1.0, tolerance);
        worst_sigma = fmax(worst_sigma, fabs(variance - 1.0));
        for (int lag = 0; lag < N_LAGS; lag++) {
            const double s = a * lag_of[lag];
            assert_near(shown.product[axis][lag] / shown.n / square, is_along ? rho_along(s) : rho_across(s), tolerance);
        }
        for (int band = 0; band < N_BANDS; band++) {
            const double phase = 2.0 * RC_PI * band_of[band] / N_SAMPLES;
            const double mean = shown.power[axis][band] / shown.n;
            const double error = sqrt((shown.power_square[axis][band] / shown.n - mean * mean) / shown.n);
            const double wanted = square * sampled_spectrum(is_along ? rho_along : rho_across, a, phase);
            const double form = square * dryden(is_along, a, phase);
            worst_low = fmax(worst_low, fabs(mean - wanted) / error);
            worst_alias = fmax(worst_alias, fabs(mean / form - 1.0));
            /* Four and a half standard errors, and a percent for what the window smears. */
            assert_near(mean, wanted, 4.5 * error + 0.01 * wanted);
            /* The specification's own form, before sampling: beyond a tenth of the sampling rate the folded tail shows. */
            if (band_of[band] <= N_SAMPLES / 20)
                assert_near(mean, form, 4.5 * error + 0.05 * form);
        }
        const double next = sigma[(axis + 1) % N_AXES] * sigma[axis];
        assert_near(shown.cross[axis] / shown.n / next, 0.0, tolerance);
    }
    assert_near(shown.between / shown.n / (sigma[1] * sigma[1]), 0.0, 4.0 * sqrt(4.0 / (shown.n * fmax(1.0, N_SAMPLES * 0.01))));
    print_message("height %.0f m at %.0f m/s, %d histories: variance within %.4f, spectrum within %.1f standard errors, of the form %.3f\n",
                  height, speed, shown.n, worst_sigma, worst_low, worst_alias);
}

/* source MIL-F-8785C spectra and the autocorrelations they are the transforms of: near the ground, where the intensities follow the
 * wind at 20 ft, and aloft. */
static void test_gusts__variance_spectrum_and_correlation_are_drydens(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    vehicle.layout.has_gusts = 1;
    vehicle.design.wind.gust_factor = 1.0;
    vehicle.design.wind.gust_high = 1.5;
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *const block = support_vehicle_block(model, &vehicle.design);
    const double w20 = 3.2 * pow(20.0 * RC_GUST_FOOT / 10.0, 0.16);
    static const struct {
        double height, speed;
    } at[3] = {{152.4, 100.0}, {1500.0, 300.0}, {457.2, 60.0}};
    for (int i = 0; i < 3; i++) {
        const struct rc_gust_scale scale = rc_gusts_scale(at[i].height);
        /* Lengths, ratio and weight go straight from knot to knot of the air table: at most half a percent off here. */
        const double vertical = scale.low_weight * 0.1 * w20 + (1.0 - scale.low_weight) * 1.5;
        const double sigma[N_AXES] = {vertical, vertical * scale.ratio, vertical * scale.ratio};
        double y[RC_N_STATE], slope[RC_N_STATE];
        struct rc_moment_lanes burnt_out;
        support_vehicle_upright(at[i].height, at[i].speed, y);
        support_vehicle_moment(&vehicle, 30.0, &burnt_out);
        support_vehicle_slope(block, &burnt_out, y, slope); /* fetches the air there */
        hold_against_dryden(block, at[i].height, at[i].speed, sigma);
    }
    rc_block_free(block);
    rc_model_free(model);
}

struct history {
    double time[8192], along[8192], across[8192];
    int n;
    const struct rc_block *block;
};

static void note_gust(void *user, const struct rc_moment *moment)
{
    struct history *const history = user;
    (void)moment;
    const struct rc_vehicle_lanes *const v = &history->block->v;
    const int at = (int)(history->block->gust_time / RC_GUST_INTERVAL + 0.5);
    if (at < 8192) {
        history->time[at] = history->block->gust_time;
        history->along[at] = v->gust[0][0];
        history->across[at] = v->gust[1][0];
        history->n = at + 1;
    }
}

static void fly_gusty(struct support_vehicle *vehicle, double scale, struct history *history, struct rc_record *record)
{
    struct rc_block *block = NULL;
    struct rc_error err;
    const uint64_t flight = 4;
    vehicle->layout.step_scale = scale;
    struct rc_model *const model = support_vehicle_model(vehicle, NULL, 0);
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    memset(history, 0, sizeof *history);
    memset(record, 0, sizeof *record);
    history->block = block;
    rc_block_fly(block, &vehicle->design, 5, &flight, 1, record, note_gust, history);
    rc_block_free(block);
    rc_model_free(model);
}

static void gusty_demo(struct support_vehicle *vehicle)
{
    support_vehicle_demo(vehicle);
    vehicle->layout.has_gusts = 1;
    vehicle->design.wind.gust_factor = 1.0;
    vehicle->design.wind.gust_high = 1.5;
    vehicle->design.wind.speed = 6.0;
}

/* A flight's gusts are its own, whatever the steps: with steps and ticks halved they differ by what the airspeed does. */
static void test_gusts__halving_the_steps_leaves_them_as_they_are(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    static struct history usual, half;
    struct rc_record a, b;
    gusty_demo(&vehicle);
    fly_gusty(&vehicle, 1.0, &usual, &a);
    fly_gusty(&vehicle, 0.5, &half, &b);
    assert_int_equal(a.end, RC_END_APOGEE);
    assert_true(usual.n > 400 && usual.n == half.n);
    double worst = 0.0, greatest = 0.0;
    for (int i = 0; i < usual.n; i++) {
        worst = fmax(worst, fmax(fabs(usual.along[i] - half.along[i]), fabs(usual.across[i] - half.across[i])));
        greatest = fmax(greatest, fabs(usual.across[i]));
    }
    print_message("%d gust times, gusts up to %.2f m/s, off by %.1e m/s; apogee off by %.4f m\n", usual.n, greatest, worst,
                  a.measure[RC_MEASURE_apogee_m] - b.measure[RC_MEASURE_apogee_m]);
    assert_true(greatest > 1.0);
    assert_near(worst, 0.0, 2e-3);
    assert_near(a.measure[RC_MEASURE_apogee_m], b.measure[RC_MEASURE_apogee_m], 0.1);
}

/* Strength zero is the same flight as none at all, apart from the steps that end on gust times. */
static void test_gusts__of_no_strength_change_nothing_but_the_steps(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    support_vehicle_demo(&vehicle);
    struct rc_model *calm = support_vehicle_model(&vehicle, NULL, 0);
    const struct rc_record none = support_vehicle_fly(calm, &vehicle.design, NULL, NULL);
    /* Numbers of gusts without gusts in the layout: byte for byte the same. */
    struct rc_design numbered = vehicle.design;
    numbered.wind.gust_factor = 1.0;
    numbered.wind.gust_high = 5.0;
    const struct rc_record unused = support_vehicle_fly(calm, &numbered, NULL, NULL);
    assert_memory_equal(none.measure, unused.measure, sizeof none.measure);
    vehicle.layout.has_gusts = 1;
    struct rc_model *const still = support_vehicle_model(&vehicle, NULL, 0);
    const struct rc_record zero = support_vehicle_fly(still, &vehicle.design, NULL, NULL);
    assert_near(zero.measure[RC_MEASURE_apogee_m], none.measure[RC_MEASURE_apogee_m], 0.05);
    struct rc_design gusty = vehicle.design;
    gusty.wind.gust_factor = 1.0;
    gusty.wind.gust_high = 1.5;
    const struct rc_record moved = support_vehicle_fly(still, &gusty, NULL, NULL);
    assert_true(moved.measure[RC_MEASURE_alpha_max_deg] != zero.measure[RC_MEASURE_alpha_max_deg]);
    rc_model_free(calm);
    rc_model_free(still);
}

/* guarantee of the project: nothing but the flight's own numbers decides its gusts; here with mates that sit on the rail longer. */
static void test_gusts__are_the_same_in_any_company(void **state)
{
    (void)state;
    struct support_vehicle vehicle;
    gusty_demo(&vehicle);
    struct rc_model *const model = support_vehicle_model(&vehicle, NULL, 0);
    struct rc_block *block = NULL;
    struct rc_error err;
    assert_int_equal(rc_block_create(&block, model, &err), RC_OK);
    enum { LOOKED = RC_LANES > 3 ? 3 : 0 };
    struct rc_design designs[RC_LANES];
    uint64_t flights[RC_LANES];
    struct rc_record records[RC_LANES], alone = {.bin = NULL};
    memset(records, 0, sizeof records);
    for (int lane = 0; lane < RC_LANES; lane++) {
        designs[lane] = vehicle.design;
        designs[lane].site.rail_length = lane == LOOKED ? 5.2 : 20.0 + lane;
        designs[lane].wind.speed = lane == LOOKED ? 6.0 : 2.0 + lane;
        flights[lane] = (uint64_t)lane;
    }
    rc_block_fly(block, designs, 5, flights, RC_LANES, records, NULL, NULL);
    rc_block_fly(block, &designs[LOOKED], 5, &flights[LOOKED], 1, &alone, NULL, NULL);
    assert_int_equal(alone.end, RC_END_APOGEE);
    assert_memory_equal(alone.measure, records[LOOKED].measure, sizeof alone.measure);
    /* Another flight number is another gust history. */
    const uint64_t other = 77;
    struct rc_record moved = {.bin = NULL};
    rc_block_fly(block, &designs[LOOKED], 5, &other, 1, &moved, NULL, NULL);
    assert_true(moved.measure[RC_MEASURE_alpha_max_deg] != alone.measure[RC_MEASURE_alpha_max_deg]);
    rc_block_free(block);
    rc_model_free(model);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gusts__scales_and_intensities_are_those_of_the_military_specification),
        cmocka_unit_test(test_gusts__variance_spectrum_and_correlation_are_drydens),
        cmocka_unit_test(test_gusts__halving_the_steps_leaves_them_as_they_are),
        cmocka_unit_test(test_gusts__of_no_strength_change_nothing_but_the_steps),
        cmocka_unit_test(test_gusts__are_the_same_in_any_company),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
