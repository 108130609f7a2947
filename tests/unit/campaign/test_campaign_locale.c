/* A campaign under a locale with decimal commas. Making that locale takes seconds, so this stands apart. */
#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static int index_of(const rc_campaign *campaign, const char *path)
{
    for (int index = 0; index < rc_campaign_quantity_count(campaign); index++) {
        if (strcmp(rc_campaign_quantity(campaign, index).path, path) == 0)
            return index;
    }
    print_error("no quantity %s\n", path);
    fail();
    return -1;
}

/* A program under a locale with decimal commas reads the same numbers. Skipped where the machine neither has such a locale nor
 * the means to make one. */
static void test_campaign_locale__numbers_do_not_depend_on_the_locale(void **state)
{
    (void)state;
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "de_DE"};
    assert_int_equal(setenv("LOCPATH", RC_TEST_SCRATCH, 1), 0);
    const int made = system("localedef -i de_DE -f UTF-8 " RC_TEST_SCRATCH "/RC_COMMA >/dev/null 2>&1");
    const char *set = made == 0 ? setlocale(LC_ALL, "RC_COMMA") : NULL;
    (void)unsetenv("LOCPATH");
    for (size_t name = 0; name < sizeof names / sizeof names[0] && !set; name++)
        set = setlocale(LC_ALL, names[name]);
    if (!set)
        skip();
    char comma[16];
    (void)snprintf(comma, sizeof comma, "%.1f", 0.5);
    assert_string_equal(comma, "0,5");
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(fixture_read(&campaign, "Test", "Test", &issues), RC_OK);
    assert_true(rc_campaign_quantity(campaign, index_of(campaign, "vehicle.nose.length_m")).value == 0.45);
    assert_true(rc_campaign_layout(campaign)->thrust.time[1] == 0.05);
    assert_string_equal(rc_campaign_quantity(campaign, index_of(campaign, "fins[0].cant_deg")).distribution,
                        "normal(mean 0, sd 0.03)");
    (void)snprintf(comma, sizeof comma, "%.1f", 0.5);
    assert_string_equal(comma, "0,5"); /* the caller's locale is back */
    rc_campaign_free(campaign);
    (void)setlocale(LC_ALL, "C");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_campaign_locale__numbers_do_not_depend_on_the_locale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
