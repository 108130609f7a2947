/* Fixed entries: texts, integers, plain numbers, words of a list. */
#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static void test_setup__integers_are_integers(void **state)
{
    (void)state;
    fixture_refuses("\"count\": 4", "\"count\": 1.5", "/fins/0/count", "got 1.5|wanted an integer, the nearest is 2: |fins of the set");
    fixture_refuses("\"frame_rate_hz\": 60", "\"frame_rate_hz\": 59.94", "/cameras/0/frame_rate_hz", "got 59.94|nearest is 60: ");
    fixture_refuses("\"frame_rate_hz\": 60", "\"frame_rate_hz\": 0.2", "/cameras/0/frame_rate_hz", "got 0.2|nearest is 1: ");
    fixture_refuses("\"count\": 4", "\"count\": 0", "/fins/0/count", "got 0|wanted 2 to 8");
    fixture_refuses("\"count\": 4", "\"count\": 1", "/fins/0/count", "got 1|wanted 2 to 8");
    fixture_refuses("\"count\": 4", "\"count\": 9", "/fins/0/count", "got 9|wanted 2 to 8");
    fixture_refuses("\"count\": 4", "\"count\": \"4\"", "/fins/0/count", "got \"4\"|wanted an integer");
    fixture_refuses("\"rate_hz\": 500", "\"rate_hz\": 1e999", "/gyro/rate_hz", "too large for a double");
    fixture_refuses("\"seed\": 7", "\"seed\": -1", "/run/seed", "got -1|wanted 0 to 9007199254740991");
    fixture_refuses("\"seed\": 7", "\"seed\": 9007199254740992", "/run/seed", "wanted 0 to 9007199254740991");
    fixture_refuses("\"flights\": 500", "\"flights\": 0", "/run/flights", "got 0|wanted 1 to 4000000000000");
    fixture_refuses("\"flights\": 500", "\"flights\": 1e300", "/run/flights", "wanted 1 to 4000000000000");
}

static void test_setup__fixed_entries_cannot_be_uncertain(void **state)
{
    (void)state;
    const char *law = "{\"distribution\": \"uniform\", \"low\": 3, \"high\": 5}";
    char text[128];
    (void)snprintf(text, sizeof text, "\"count\": %s", law);
    fixture_refuses("\"count\": 4", text, "/fins/0/count", "got an object|integer|cannot be uncertain");
    (void)snprintf(text, sizeof text, "\"band_interval_s\": %s", law);
    fixture_refuses("\"band_interval_s\": 1", text, "/run/band_interval_s", "got an object|number|cannot be uncertain");
}

static void test_setup__words_are_those_of_the_list(void **state)
{
    (void)state;
    fixture_refuses("\"shape\": \"ogive\"", "\"shape\": \"ogve\"", "/vehicle/nose/shape",
                    "got \"ogve\"|\"cone\", \"ogive\"|mean \"ogive\"");
    fixture_refuses("\"plan\": \"plain\"", "\"plan\": \"grid\"", "/run/plan", "got \"grid\"|\"plain\"");
    fixture_refuses("\"geared_sensorless\"", "\"geared\"", "/drive/kind", "got \"geared\"|wanted one of \"geared_sensorless\"");
    fixture_refuses("\"mount\": \"platform\"", "\"mount\": 1", "/gyro/mount", "got 1|\"platform\", \"vehicle\"");
    fixture_refuses("\"acts_on\": \"rate\"", "\"acts_on\": \"torque\"", "/controller/acts_on",
                    "got \"torque\"|\"rate\", \"angle\"");
}

static void test_setup__texts_are_short_plain_lines(void **state)
{
    (void)state;
    fixture_refuses("\"name\": \"Test\"", "\"name\": 12", "/name", "got 12|wanted a text");
    fixture_refuses("\"name\": \"Test\"", "\"name\": \"\"", "/name", "0 bytes|wanted 1 to 63");
    fixture_refuses("\"name\": \"Test\"", "\"name\": \"a\\nb\"", "/name", "control character");
    char text[120] = "\"name\": \"";
    memset(text + 9, 'x', 64);
    memcpy(text + 73, "\"", 2);
    fixture_refuses("\"name\": \"Test\"", text, "/name", "64 bytes|wanted 1 to 63");
}

static void test_setup__plain_numbers_keep_their_range(void **state)
{
    (void)state;
    fixture_refuses("\"time_limit_s\": 100", "\"time_limit_s\": 0.5", "/run/time_limit_s", "got 0.5|wanted 1 to 600");
    fixture_refuses("\"time_limit_s\": 100", "\"time_limit_s\": []", "/run/time_limit_s", "got a list|wanted a number");
    fixture_refuses("\"odds\": 0.8", "\"odds\": 1.5", "/criteria/0/odds", "got 1.5|wanted 0 to 1");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_setup__integers_are_integers),
        cmocka_unit_test(test_setup__fixed_entries_cannot_be_uncertain),
        cmocka_unit_test(test_setup__words_are_those_of_the_list),
        cmocka_unit_test(test_setup__texts_are_short_plain_lines),
        cmocka_unit_test(test_setup__plain_numbers_keep_their_range),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
