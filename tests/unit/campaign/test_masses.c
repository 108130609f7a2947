/* Inertias that no body has, and propellant that cannot be. The bounds are those of any body of revolution: closed forms, by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "campaign/masses.h"
#include "fixture.h"

#define MASS "\"loaded_kg\": 16, \"burnt_kg\": 11.5, \"loaded_cm_m\": 1.45, \"burnt_cm_m\": 1.3,\n"
#define ROLL "\"loaded_roll_inertia_kgm2\": 0.028, \"burnt_roll_inertia_kgm2\": 0.024"
#define PITCH "\"loaded_pitch_inertia_kgm2\": 5.6, \"burnt_pitch_inertia_kgm2\": 4.6"
#define ROLLS(loaded, burnt) "\"loaded_roll_inertia_kgm2\": " loaded ", \"burnt_roll_inertia_kgm2\": " burnt
#define PITCHES(loaded, burnt) "\"loaded_pitch_inertia_kgm2\": " loaded ", \"burnt_pitch_inertia_kgm2\": " burnt

static void accepts(const char *find, const char *replacement)
{
    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    assert_int_equal(fixture_read(&campaign, find, replacement, &issues), RC_OK);
    rc_campaign_free(campaign);
}

/* Ix <= Iy + Iz = 2 Iy for every body; a disc has the equal sign. */
static void test_masses__roll_inertia_beyond_twice_the_pitch_inertia_is_refused(void **state)
{
    (void)state;
    fixture_refuses(ROLL, ROLLS("12", "0.024"), "/vehicle/mass/loaded_roll_inertia_kgm2", "got 12|twice loaded_pitch_inertia_kgm2");
    fixture_refuses(PITCH, PITCHES("5.6", "0.01"), "/vehicle/mass/burnt_roll_inertia_kgm2",
                    "got 0.024|twice burnt_pitch_inertia_kgm2");
}

/* All of the mass at the fins' tips, 0.15 m from the axis: 16 kg have 0.36 kg m2, 11.5 kg have 0.25875. */
static void test_masses__roll_inertia_beyond_all_mass_at_the_tips_is_refused(void **state)
{
    (void)state;
    fixture_refuses(ROLL, ROLLS("0.361", "0.35"), "/vehicle/mass/loaded_roll_inertia_kgm2", "got 0.361|outer radius");
    fixture_refuses(ROLL, ROLLS("0.3", "0.259"), "/vehicle/mass/burnt_roll_inertia_kgm2", "got 0.259|outer radius");
    accepts(ROLL, ROLLS("0.26", "0.2585"));
}

/* A mass m with its centre at x has most about it when it sits at both ends of its length L: m x (L - x), and half of its roll inertia;
 * here 16 kg, 1.45 m, 2.4 m: 22.04 + 0.015, the platform's 0.002 kg m2 counted; 11.5 kg, 1.3 m: 16.445 + 0.013. */
static void test_masses__pitch_inertia_beyond_all_mass_at_the_ends_is_refused(void **state)
{
    (void)state;
    fixture_refuses(PITCH, PITCHES("22.06", "4.6"), "/vehicle/mass/loaded_pitch_inertia_kgm2", "got 22.06|at the vehicle's two ends");
    fixture_refuses(PITCH, PITCHES("22.05", "16.46"), "/vehicle/mass/burnt_pitch_inertia_kgm2", "got 16.46|at the vehicle's two ends");
    accepts(PITCH, PITCHES("22.05", "16.45"));
}

/* 4.5 kg burn at (16 x 1.45 - 11.5 x 1.3)/4.5 = 1.8333 m. Iy of what is left and of what burns add up about the common centre:
 * Iy_burnt <= 5.6 - 11.5 x 0.15^2 - 4.5 x 0.3833^2 - 0.004/2 = 4.678, and 2 % of 5.6 for rounding. */
static void test_masses__propellant_that_cannot_be_is_refused(void **state)
{
    (void)state;
    fixture_refuses(PITCH, PITCHES("5.6", "4.8"), "/vehicle/mass/burnt_pitch_inertia_kgm2", "got 4.8|at most 4.678|4.5 kg|1.833 m");
    accepts(PITCH, PITCHES("5.6", "4.78"));
    fixture_refuses(MASS, "\"loaded_kg\": 16, \"burnt_kg\": 11.5, \"loaded_cm_m\": 1.45, \"burnt_cm_m\": 2.1,\n",
                    "/vehicle/mass/burnt_cm_m", "got 2.1|4.5 kg|outside the vehicle");
    fixture_refuses(MASS, "\"loaded_kg\": 16, \"burnt_kg\": 11.5, \"loaded_cm_m\": 1.75, \"burnt_cm_m\": 1.3,\n",
                    "/vehicle/mass/burnt_cm_m", "got 1.3|outside the vehicle");
    /* At the tube's wall, 0.05 m from the axis, 4.5 kg have 0.01125 kg m2. */
    fixture_refuses(ROLL, ROLLS("0.036", "0.024"), "/vehicle/mass/burnt_roll_inertia_kgm2", "got 0.024|at least 0.02475|tube's wall");
    /* Nothing burns and yet 0.004 kg m2 go. */
    fixture_refuses(MASS, "\"loaded_kg\": 16, \"burnt_kg\": 16, \"loaded_cm_m\": 1.45, \"burnt_cm_m\": 1.45,\n",
                    "/vehicle/mass/burnt_roll_inertia_kgm2", "got 0.024|at least 0.028|0 kg");
}

/* Drawn flights are held to what no body has, by their own numbers. */
static void test_masses__a_drawn_flight_is_held_to_it(void **state)
{
    (void)state;
    fixture_refuses(ROLL,
                    "\"loaded_roll_inertia_kgm2\": 0.27, \"burnt_roll_inertia_kgm2\": {\"distribution\": \"uniform\", \"low\": 0.249, "
                    "\"high\": 0.267}",
                    "/vehicle/mass/burnt_roll_inertia_kgm2", "drawn at random|of 256 flights|outer radius|narrow");
}

/* 4.5 kg would lie at (16 x 1.45 - 11.5 x cm)/4.5 m: behind the vehicle's end, 2.4 m, and the rounding of 0.33 kg m for a centre of mass
 * below (23.2 - 10.8 - 0.33)/11.5 = 1.0496 m. Some of the flights drawn are there. */
static void test_masses__drawn_propellant_outside_is_warned_of(void **state)
{
    (void)state;
    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    assert_int_equal(fixture_read(&campaign, MASS, "\"loaded_kg\": 16, \"burnt_kg\": 11.5, \"loaded_cm_m\": 1.45, \"burnt_cm_m\": "
                                  "{\"distribution\": \"uniform\", \"low\": 1.03, \"high\": 1.57},\n", &issues), RC_OK);
    assert_true(fixture_has_issue(&issues, "/vehicle/mass/burnt_cm_m", "of 256 flights|propellant would lie outside"));
    rc_campaign_free(campaign);
    struct rc_issues quiet = {0};
    assert_int_equal(fixture_read(&campaign, MASS, "\"loaded_kg\": 16, \"burnt_kg\": 11.5, \"loaded_cm_m\": 1.45, \"burnt_cm_m\": "
                                  "{\"distribution\": \"uniform\", \"low\": 1.05, \"high\": 1.55},\n", &quiet), RC_OK);
    assert_false(fixture_has_issue(&quiet, "/vehicle/mass/burnt_cm_m", "outside"));
    rc_campaign_free(campaign);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_masses__roll_inertia_beyond_twice_the_pitch_inertia_is_refused),
        cmocka_unit_test(test_masses__roll_inertia_beyond_all_mass_at_the_tips_is_refused),
        cmocka_unit_test(test_masses__pitch_inertia_beyond_all_mass_at_the_ends_is_refused),
        cmocka_unit_test(test_masses__propellant_that_cannot_be_is_refused),
        cmocka_unit_test(test_masses__a_drawn_flight_is_held_to_it),
        cmocka_unit_test(test_masses__drawn_propellant_outside_is_warned_of),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
