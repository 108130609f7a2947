/* Cameras: focal length, smear and limits against tests/reference/blur_check.csv (closed form f = (W/2)/tan(HFOV/2), smear = rate
 * x exposure x f), numbers of frames, and which frames count as usable on a scripted residual rate. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "numeric/lane_math.h"
#include "physics/near.h"
#include "platform/stages.h"
#include "rig.h"
#include "support/reference.h"

/* Give every lane a residual rate and let the cameras see one tick. */
static void see(struct rig *rig, double residual, double transverse)
{
    for (int lane = 0; lane < RC_LANES; lane++) {
        rig->p.residual[lane] = residual;
        rig->p.pitch[lane] = transverse;
    }
    const int64_t tick = rig->tick++;
    for (int camera = 0; camera < rig->clock.n_cameras; camera++) {
        const int64_t rate = rig->clock.frame_rate[camera], before = tick * rate / rig->clock.tick_rate;
        for (int64_t frame = before + 1; frame <= (tick + 1) * rate / rig->clock.tick_rate; frame++) {
            rc_stages_frame(&rig->p, &rig->clock, camera, rig->p.residual, rig->p.rate, rig->p.pitch);
            if (rig->clock.has_line_time[camera])
                rc_stages_skew(&rig->p, &rig->clock, camera, rig->p.residual, rig->p.rate, rig->p.pitch);
        }
    }
}

/* A rig with cameras that take one frame a tick. */
static void make_cameras(struct rig *rig, int n)
{
    rig_reset(rig);
    rig->clock.n_cameras = n;
    for (int camera = 0; camera < n; camera++)
        rig->clock.frame_rate[camera] = rig->clock.tick_rate;
    rig->tick = 0;
}

/* Is a frame at this rate usable? */
static int is_usable(struct rig *rig, double residual, double transverse)
{
    rig_begin(rig);
    see(rig, residual, transverse);
    assert_true(rig->p.tally.frames[0][rig->lane] == 1.0);
    return rig->p.tally.usable[0][rig->lane] == 1.0;
}

/* The table prints focal lengths to 0.001 px, smears to 0.0001 px and rates to 0.0001 deg/s; its exposures are 1/60, 1/240 and
 * 1/1000 s printed to a microsecond, and its smears follow from the unrounded ones. */
static void test_frames__smear_is_the_published(void **state)
{
    (void)state;
    struct reference *table = reference_open("blur_check.csv");
    assert_int_equal(reference_rows(table), 36);
    for (int row = 0; row < reference_rows(table); row++) {
        struct rig rig;
        make_cameras(&rig, 1);
        const double shutter = 1.0 / round(1.0 / reference_number(table, row, "t_exp_s"));
        rig.width_px[0] = (int)reference_number(table, row, "W_px");
        rig.camera[0] = (struct rc_camera_design){
            .field_of_view = reference_number(table, row, "HFOV_deg") * RC_DEGREE, .shutter = shutter, .smear_limit = 1.0,
            .rate_limit = 1e9, .lens_angle = 0.5 * RC_PI,
        };
        rig_begin(&rig);
        const double per_rate = rig.p.smear_per_rate[0][rig.lane];
        assert_near(per_rate / shutter, reference_number(table, row, "f_px"), 0.0005001);
        assert_near(per_rate * reference_number(table, row, "rate_dps") * RC_DEGREE, reference_number(table, row, "pan_smear_px"),
                    0.00005001);
        (void)is_usable(&rig, reference_number(table, row, "rate_dps") * RC_DEGREE, 0.0);
        assert_near(rc_platform_smear(&rig.p, &rig.clock, 0, rig.lane, rig.p.residual[rig.lane], 0.0, rig.p.pitch[rig.lane]), reference_number(table, row, "pan_smear_px"), 0.00005001);
        const double one_pixel = reference_number(table, row, "rate_for_1px_pan_dps");
        assert_true(is_usable(&rig, (one_pixel - 0.0001) * RC_DEGREE, 0.0));
        assert_true(is_usable(&rig, -(one_pixel - 0.0001) * RC_DEGREE, 0.0));
        assert_false(is_usable(&rig, (one_pixel + 0.0001) * RC_DEGREE, 0.0));
        assert_false(is_usable(&rig, -(one_pixel + 0.0001) * RC_DEGREE, 0.0));
    }
    reference_close(table);
}

/* A lens along the body: roll turns the picture, the corners smear by rate x exposure x half the diagonal, the table's other column. */
static void test_frames__lens_along_the_body_smears_corners_as_published(void **state)
{
    (void)state;
    struct reference *table = reference_open("blur_check.csv");
    for (int row = 0; row < reference_rows(table); row++) {
        for (int aft = 0; aft <= 1; aft++) {
            struct rig rig;
            make_cameras(&rig, 1);
            rig.width_px[0] = (int)reference_number(table, row, "W_px");
            rig.clock.height_px[0] = (int)reference_number(table, row, "H_px");
            const double smear = reference_number(table, row, "axis_corner_smear_px");
            rig.camera[0] = (struct rc_camera_design){
                .field_of_view = reference_number(table, row, "HFOV_deg") * RC_DEGREE,
                .shutter = 1.0 / round(1.0 / reference_number(table, row, "t_exp_s")), .rate_limit = 1e9,
                .lens_angle = aft * RC_PI,
            };
            const double rate = reference_number(table, row, "rate_dps") * RC_DEGREE;
            rig.camera[0].smear_limit = smear + 0.000051; /* printed to 0.0001 px */
            assert_true(is_usable(&rig, rate, 0.0) && is_usable(&rig, -rate, 0.0));
            assert_near(rc_platform_smear(&rig.p, &rig.clock, 0, rig.lane, rig.p.residual[rig.lane], 0.0, rig.p.pitch[rig.lane]), smear, 0.00005001);
            rig.camera[0].smear_limit = smear - 0.000051;
            assert_false(is_usable(&rig, rate, 0.0) || is_usable(&rig, -rate, 0.0));
        }
    }
    reference_close(table);
}

/* Full-HD pictures at a focal length of 1000 px: half a diagonal is 1101.45359 px, the root of both squares 1487.68276 px. */
static void make_wide(struct rig *rig, double lens_degrees)
{
    make_cameras(rig, 1);
    rig->clock.height_px[0] = 1080;
    rig->clock.has_line_time[0] = 1;
    rig->camera[0].field_of_view = 2.0 * atan(0.96);
    rig->camera[0].lens_angle = lens_degrees * RC_DEGREE;
    rig->camera[0].shutter = 0.004;
    rig->camera[0].line_time = 0.020 / 1079.0;
    rig->camera[0].skew_limit = 1.0;
}

/* Worked by hand: the whole rate pans by the sine of its angle to the lens and turns by the cosine, of the azimuths of the rate across the
 * roll axis the worst. A camera on the vehicle sees its roll in the same way. Replay, usability and skew, five exposures long, see the same. */
static void test_frames__roll_and_the_rate_across_smear_by_their_angle_to_the_lens(void **state)
{
    (void)state;
    static const struct {
        double degrees, roll, across, smear; /* [rad/s], [px/s] */
    } cases[] = {
        { 90.0, 0.3, 0.2, 0.3 * 1000.0 + 0.2 * 1101.45359 },                 /* outward: the roll pans, the rate across turns   */
        { 90.0, 0.1, 0.2, 1487.68276 * 0.22360680 },                         /* from 26.6 degrees to the lens: 42.2 is the most */
        { 90.0, 0.0, 0.2, 1487.68276 * 0.2 },
        { 90.0, 0.3, 0.0, 300.0 },
        { 30.0, 0.3, 0.2, 1487.68276 * 0.36055513 },                         /* from 3.7 to 63.7: 42.2 is between               */
        { 160.0, 0.02, 0.2, 0.18109811 * 1000.0 + 0.08719788 * 1101.45359 }, /* from 64.3 to 104.3: the first                   */
        { 10.0, 0.3, 0.05, 0.10133484 * 1000.0 + 0.28675992 * 1101.45359 },  /* from 0.5 to 19.5: the last                      */
        { 0.0, 0.3, 0.2, 0.2 * 1000.0 + 0.3 * 1101.45359 },                  /* along the body: 33.7 at every azimuth           */
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (int sense = -1; sense <= 1; sense += 2) {
            struct rig rig;
            make_wide(&rig, cases[i].degrees);
            const double roll = sense * cases[i].roll, across = cases[i].across, smear = 0.004 * cases[i].smear;
            rig.camera[0].smear_limit = smear * (1.0 + 1e-7);
            assert_true(is_usable(&rig, roll, across));
            assert_ratio(rc_platform_smear(&rig.p, &rig.clock, 0, rig.lane, roll, 0.0, rig.p.pitch[rig.lane]), smear, 5e-8);
            assert_ratio(rig.p.tally.skew_peak[0][rig.lane], 5.0 * smear, 5e-8);
            rig.camera[0].smear_limit = smear * (1.0 - 1e-7);
            assert_false(is_usable(&rig, roll, across));
            rig.clock.camera_mount[0] = RC_CAMERA_ON_VEHICLE;
            assert_ratio(rc_platform_smear(&rig.p, &rig.clock, 0, rig.lane, roll + 5.0, 5.0, rig.p.pitch[rig.lane]), smear, 5e-8);
        }
}

/* Greatest smear over the azimuths of the rate across the roll axis, one by one: lens and rate as vectors. The smear at an angle between
 * two of them is less than half the square of half their distance above [px] */
enum { AZIMUTHS = 2000 };
static double smear_over_azimuths(double lens_angle, double roll, double across, double focal, double half_diagonal)
{
    double greatest = 0.0;
    for (int i = 0; i <= AZIMUTHS; i++) { /* half a turn, the other mirrors it */
        const double azimuth = RC_PI * i / AZIMUTHS;
        const double rate[3] = { across * cos(azimuth), across * sin(azimuth), roll }, lens[3] = { sin(lens_angle), 0.0, cos(lens_angle) };
        const double along = rate[0] * lens[0] + rate[1] * lens[1] + rate[2] * lens[2];
        double square = 0.0;
        for (int k = 0; k < 3; k++)
            square += (rate[k] - along * lens[k]) * (rate[k] - along * lens[k]);
        greatest = fmax(greatest, focal * sqrt(square) + half_diagonal * fabs(along));
    }
    return greatest;
}

/* Every lens angle, view and pair of rates against that; the sway of single steps on top is never less than the same as roll. */
static void test_frames__smear_is_the_greatest_over_all_azimuths(void **state)
{
    (void)state;
    static const double lens[] = { 0.0, 1.0, 10.0, 20.0, 30.0, 45.0, 60.0, 75.0, 89.0, 90.0, 91.0, 120.0, 160.0, 180.0 };
    static const double view[] = { 20.0, 60.0, 82.0, 110.0, 150.0 };
    static const double rate[] = { 0.0, 0.01, 0.1, 0.25, 0.7, 2.0 };
    const double finest = 0.5 * (0.5 * RC_PI / AZIMUTHS) * (0.5 * RC_PI / AZIMUTHS), half_diagonal = 0.5 * hypot(1920.0, 1080.0);
    for (size_t i = 0; i < sizeof lens / sizeof lens[0] * (sizeof view / sizeof view[0]); i++) {
        struct rig rig;
        make_wide(&rig, lens[i / 5]);
        rig.camera[0].field_of_view = view[i % 5] * RC_DEGREE;
        rig_begin(&rig);
        const double focal = 960.0 / tan(0.5 * view[i % 5] * RC_DEGREE), angle = lens[i / 5] * RC_DEGREE;
        for (size_t pair = 0; pair < 36; pair++) {
            const double roll = rate[pair / 6], across = rate[pair % 6];
            rig.p.pitch[rig.lane] = across;
            rig.p.ripple[rig.lane] = 0.0;
            const double wanted = 0.004 * smear_over_azimuths(angle, roll, across, focal, half_diagonal);
            const double smear = rc_platform_smear(&rig.p, &rig.clock, 0, rig.lane, -roll, 0.0, rig.p.pitch[rig.lane]);
            if (!(smear >= wanted * (1.0 - 1e-14) && smear <= wanted * (1.0 + finest) + 1e-13))
                fail_msg("lens %g, view %g, rates %g and %g: smear %.12g, over azimuths %.12g", lens[i / 5], view[i % 5], roll, across, smear, wanted);
            rig.p.ripple[rig.lane] = 0.05;
            rig.p.ripple_sway[rig.lane] = 1.0;
            const double swayed = rc_platform_smear(&rig.p, &rig.clock, 0, rig.lane, roll, 0.0, rig.p.pitch[rig.lane]);
            const double as_roll = 0.004 * smear_over_azimuths(angle, roll + 0.05, across, focal, half_diagonal);
            assert_true(swayed >= as_roll * (1.0 - 1e-14) && (across > 0.0 || swayed <= as_roll * (1.0 + 1e-14)));
        }
    }
}

/* Single steps smear as the roll does: at 20 degrees to the tail sin 20 of it by the focal length, cos 20 by half the diagonal, for the
 * exposure, or by the whole swing where that is less. By hand. A camera on the vehicle does not sway with the platform. */
static void test_frames__single_steps_smear_by_the_lens_angle(void **state)
{
    (void)state;
    static const struct {
        double degrees, lever; /* [px]: of 1920 by 1080 at a focal length of 1000 */
    } lens[] = { { 160.0, 0.34202014 * 1000.0 + 0.93969262 * 1101.45359 }, { 180.0, 1101.45359 }, { 0.0, 1101.45359 }, { 90.0, 1000.0 } };
    for (int i = 0; i < 4; i++) {
        struct rig rig;
        make_cameras(&rig, 2);
        rig.clock.camera_mount[1] = RC_CAMERA_ON_VEHICLE;
        for (int camera = 0; camera < 2; camera++) {
            rig.clock.height_px[camera] = 1080;
            rig.camera[camera].field_of_view = 2.0 * atan(0.96);
            rig.camera[camera].lens_angle = lens[i].degrees * RC_DEGREE;
            rig.camera[camera].shutter = 0.004;
        }
        rig_begin(&rig);
        rig.p.ripple[rig.lane] = 0.5;
        rig.p.ripple_sway[rig.lane] = 0.01; /* the exposure is over before it is through */
        assert_near(rc_platform_smear(&rig.p, &rig.clock, 0, rig.lane, 0.0, 0.0, rig.p.pitch[rig.lane]), 0.5 * 0.004 * lens[i].lever, 1e-5);
        rig.p.ripple_sway[rig.lane] = 0.001;
        assert_near(rc_platform_smear(&rig.p, &rig.clock, 0, rig.lane, 0.0, 0.0, rig.p.pitch[rig.lane]), 0.001 * lens[i].lever, 1e-5);
        assert_near(rc_platform_smear(&rig.p, &rig.clock, 1, rig.lane, 0.0, 0.0, rig.p.pitch[rig.lane]), 0.0, 1e-12);
        /* On top of what the roll smears; the limit knows it. */
        rig.p.smear_limit[0][rig.lane] = (0.001 + 0.004 * 0.2) * lens[i].lever * 1.0001;
        assert_true(rc_platform_is_usable(&rig.p, &rig.clock, 0, rig.lane, -0.2, 0.0, rig.p.pitch[rig.lane]));
        rig.p.smear_limit[0][rig.lane] *= 0.9998;
        assert_false(rc_platform_is_usable(&rig.p, &rig.clock, 0, rig.lane, -0.2, 0.0, rig.p.pitch[rig.lane]));
    }
}

/* Fixed to the vehicle it sees the vehicle's roll, residual less the platform's own rate. */
static void test_frames__camera_on_the_vehicle_sees_its_roll(void **state)
{
    (void)state;
    struct rig rig;
    make_cameras(&rig, 2);
    rig.clock.camera_mount[1] = RC_CAMERA_ON_VEHICLE;
    rig.camera[0].rate_limit = rig.camera[1].rate_limit = 0.1;
    rig.camera[0].smear_limit = rig.camera[1].smear_limit = 1e6;
    rig_begin(&rig);
    rig_spin(&rig, -4.0);
    see(&rig, 0.05, 0.0);
    assert_true(rig.p.tally.usable[0][rig.lane] == 1.0 && rig.p.tally.usable[1][rig.lane] == 0.0);
    rig_spin(&rig, 4.0);
    see(&rig, 4.05, 0.0);
    assert_true(rig.p.tally.usable[0][rig.lane] == 1.0 && rig.p.tally.usable[1][rig.lane] == 1.0);
}

/* Worked by hand: 30 deg/s over 20 ms of read-out is 0.6 degrees, 14 pixels at a focal length of 1371 (1920 px, 70 degrees). */
static void test_frames__rolling_shutter_skews_by_the_read_out(void **state)
{
    (void)state;
    struct rig rig;
    make_cameras(&rig, 1);
    rig.clock.height_px[0] = 1081;
    rig.clock.has_line_time[0] = 1;
    rig.camera[0].field_of_view = 70.0 * RC_DEGREE;
    rig.camera[0].line_time = 0.020 / 1080.0;
    rig.camera[0].skew_limit = 14.0;
    rig_begin(&rig);
    see(&rig, -30.0 * RC_DEGREE, 0.0);
    assert_near(rig.p.tally.skew_peak[0][rig.lane], 30.0 * RC_DEGREE * 0.020 * 1371.022, 1e-4);
    assert_true(rig.p.tally.skewed[0][rig.lane] == 1.0);
    see(&rig, 29.0 * RC_DEGREE, 0.0);
    assert_true(rig.p.tally.skewed[0][rig.lane] == 1.0);
    /* Along the body the read-out turns the picture: 0.6 degrees by half the diagonal of 1920 by 1081, 1101.699 px. */
    rig.camera[0].lens_angle = RC_PI;
    rig_begin(&rig);
    see(&rig, -30.0 * RC_DEGREE, 0.0);
    assert_near(rig.p.tally.skew_peak[0][rig.lane], 30.0 * RC_DEGREE * 0.020 * 1101.699, 1e-4);
    rig.camera[0].lens_angle = 0.5 * RC_PI;
    /* It is scored on its own: the frames stay usable or not by their smear. */
    rig.camera[0].smear_limit = 1e6;
    rig.camera[0].skew_limit = 1e-3;
    rig_begin(&rig);
    see(&rig, 1.0, 0.0);
    assert_true(rig.p.tally.skewed[0][rig.lane] == 1.0 && rig.p.tally.usable[0][rig.lane] == 1.0);
}

static void test_frames__rate_limit_counts_roll_alone(void **state)
{
    (void)state;
    struct rig rig;
    make_cameras(&rig, 1);
    rig.camera[0].smear_limit = 1e6;
    rig.camera[0].rate_limit = 0.25;
    assert_true(is_usable(&rig, 0.25, 100.0));
    assert_true(is_usable(&rig, -0.25, 100.0));
    assert_false(is_usable(&rig, nextafter(0.25, 1.0), 0.0));
    assert_false(is_usable(&rig, nextafter(-0.25, -1.0), 0.0));
}

/* Frames after any time are the whole part of rate x time, also where the camera is faster than the ticks. */
static void test_frames__number_is_rate_times_time(void **state)
{
    (void)state;
    static const int tick_rate[] = { 400, 500, 512, 1000 };
    static const int frame_rate[RC_MAX_CAMERAS] = { 24, 30, 120, 1000 };
    for (int i = 0; i < 4; i++) {
        struct rig rig;
        make_cameras(&rig, RC_MAX_CAMERAS);
        rig.clock.tick_rate = tick_rate[i];
        rig.clock.dt = 1.0 / tick_rate[i];
        for (int camera = 0; camera < RC_MAX_CAMERAS; camera++)
            rig.clock.frame_rate[camera] = frame_rate[camera];
        rig_begin(&rig);
        for (int tick = 1; tick <= 10 * tick_rate[i]; tick++) {
            see(&rig, 0.0, 0.0);
            for (int camera = 0; camera < RC_MAX_CAMERAS; camera++) {
                const int wanted = tick * frame_rate[camera] / tick_rate[i];
                assert_true(rig.p.tally.frames[camera][rig.lane] == wanted);
            }
        }
        for (int camera = 0; camera < RC_MAX_CAMERAS; camera++)
            assert_true(rig.p.tally.frames[camera][rig.lane] == 10.0 * frame_rate[camera]);
    }
}

/* '+' a good frame, '-' a bad one; what is left in between is counted by hand. */
static void test_frames__runs_of_usable_frames_are_counted(void **state)
{
    (void)state;
    static const struct {
        const char *script;
        int usable, run, longest;
    } cases[] = {
        { "++-+++-+", 6, 1, 3 }, { "--------", 0, 0, 0 }, { "++++++++", 8, 8, 8 }, { "++++---+", 5, 1, 4 },
        { "-+-++---", 3, 0, 2 }, { "", 0, 0, 0 },
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct rig rig;
        make_cameras(&rig, 1);
        rig.camera[0].rate_limit = 1.0;
        rig.camera[0].smear_limit = 1e6;
        rig_begin(&rig);
        int n = 0;
        for (const char *frame = cases[i].script; *frame != '\0'; frame++, n++)
            see(&rig, *frame == '+' ? 0.9 : -1.1, 0.0);
        const struct rc_tally *const tally = &rig.p.tally;
        assert_true(tally->frames[0][rig.lane] == n && tally->usable[0][rig.lane] == cases[i].usable);
        assert_true(tally->run[0][rig.lane] == cases[i].run && tally->longest[0][rig.lane] == cases[i].longest);
    }
}

/* Each camera by its own limits. */
static void test_frames__cameras_are_scored_apart(void **state)
{
    (void)state;
    struct rig rig;
    make_cameras(&rig, 2);
    rig_silence(&rig);
    rig.tick = 512;
    rig.clock.frame_rate[0] = 64;
    rig.clock.frame_rate[1] = 32;
    rig.camera[0].smear_limit = rig.camera[1].smear_limit = 1e6;
    rig.camera[0].rate_limit = 1.0;
    rig.camera[1].rate_limit = 2.0;
    rig_begin(&rig);
    rig_run_ramp(&rig, 0.0, 4.0, 512); /* the rate passes 1 after 1/4 s, 2 after 1/2 s; a frame lies on each of them */
    const struct rc_tally *const tally = &rig.p.tally;
    assert_true(tally->frames[0][rig.lane] == 64.0 && tally->frames[1][rig.lane] == 32.0);
    assert_true(tally->usable[0][rig.lane] == 16.0 && tally->longest[0][rig.lane] == 16.0);
    assert_true(tally->usable[1][rig.lane] == 16.0 && tally->run[1][rig.lane] == 0.0);
}

/* Frame k is taken k/(frame rate) after lift-off, not at the tick before or after: with every drive at rest against a vehicle whose roll
 * rises evenly, tick by tick and in spans of eight, a limit just above the rate at the tenth frame lets ten pass, just below nine. */
static void test_frames__are_taken_at_their_moment(void **state)
{
    (void)state;
    for (int kind = 0; kind < rc_platform_drive_count(); kind++)
        for (int span = 1; span <= 8; span += 7)
            for (int more = -1; more <= 1; more += 2) {
                struct rig rig;
                rig_reset(&rig);
                rig_silence(&rig);
                rig.kind = rc_platform_drive_at(kind)->name;
                rig.clock.span = rc_platform_drive_at(kind)->spans ? span : 1;
                rig.clock.n_cameras = 1;
                rig.parts.coulomb = 100.0;
                rig.drive.stepper = (struct rc_stepper_design){ .steps = 200.0, .microsteps = 16.0, .holding_torque = 1e3,
                    .current = 0.6, .resistance = 6.5, .inductance = 0.0017, .supply = 12.0, .torque_factor = 1.0, .damping = 0.1 };
                rig.drive.servo = (struct rc_servo_design){ .stiffness = 0.01, .torque = 0.05, .cogs = 12.0 };
                rig.camera[0].smear_limit = 1e9;
                rig.camera[0].rate_limit = 4.0 * (10.0 / 30.0) + more * 1e-9;
                rig.tick = 0;
                rig_begin(&rig);
                rig_command(&rig, 0.0);
                rig_run_ramp(&rig, 0.0, 4.0, 512);
                assert_true(rig_rate(&rig) == 0.0 && rig.p.tally.frames[0][rig.lane] == 30.0);
                assert_true(rig.p.tally.usable[0][rig.lane] == (more > 0 ? 10.0 : 9.0));
            }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_frames__smear_is_the_published),
        cmocka_unit_test(test_frames__lens_along_the_body_smears_corners_as_published),
        cmocka_unit_test(test_frames__roll_and_the_rate_across_smear_by_their_angle_to_the_lens),
        cmocka_unit_test(test_frames__smear_is_the_greatest_over_all_azimuths),
        cmocka_unit_test(test_frames__single_steps_smear_by_the_lens_angle),
        cmocka_unit_test(test_frames__camera_on_the_vehicle_sees_its_roll),
        cmocka_unit_test(test_frames__rolling_shutter_skews_by_the_read_out),
        cmocka_unit_test(test_frames__rate_limit_counts_roll_alone),
        cmocka_unit_test(test_frames__number_is_rate_times_time),
        cmocka_unit_test(test_frames__runs_of_usable_frames_are_counted),
        cmocka_unit_test(test_frames__cameras_are_scored_apart),
        cmocka_unit_test(test_frames__are_taken_at_their_moment),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
