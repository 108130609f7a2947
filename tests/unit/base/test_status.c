/* The status table, in the order and with the exit codes that are promised. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "rollcast/rollcast.h"

/* Exit codes as docs/commands.md promises them to scripts. */
static void test_status__exit_codes_are_the_documented(void **state)
{
    (void)state;
    const struct {
        rc_status status;
        int exit_code;
    } promised[] = {{RC_OK, 0},        {RC_USAGE, 2},     {RC_BAD_INPUT, 3},   {RC_NO_FILE, 3}, {RC_IO, 4},         {RC_NO_SPACE, 4},
                    {RC_EXISTS, 4},    {RC_NOT_STORE, 4}, {RC_OTHER_STORE, 4}, {RC_STOPPED, 5}, {RC_NO_MEMORY, 70}, {RC_INTERNAL, 70}};
    assert_int_equal(sizeof promised / sizeof promised[0], RC_N_STATUS);
    for (size_t row = 0; row < RC_N_STATUS; row++) {
        assert_int_equal(promised[row].status, row);
        assert_int_equal(rc_status_exit_code(promised[row].status), promised[row].exit_code);
    }
}

static void test_status__texts_are_distinct(void **state)
{
    (void)state;
    for (int one = 0; one < RC_N_STATUS; one++) {
        assert_true(strlen(rc_status_text((rc_status)one)) > 0);
        for (int other = 0; other < one; other++)
            assert_string_not_equal(rc_status_text((rc_status)one), rc_status_text((rc_status)other));
    }
}

static void test_status__unknown_value_is_internal_error(void **state)
{
    (void)state;
    assert_string_equal(rc_status_text(RC_N_STATUS), "unknown status");
    assert_string_equal(rc_status_text((rc_status)-1), "unknown status");
    assert_int_equal(rc_status_exit_code((rc_status)1000), 70);
}

static void test_status__version_is_the_projects(void **state)
{
    (void)state;
    assert_string_equal(rc_version(), RC_TEST_VERSION);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_status__exit_codes_are_the_documented),
        cmocka_unit_test(test_status__texts_are_distinct),
        cmocka_unit_test(test_status__unknown_value_is_internal_error),
        cmocka_unit_test(test_status__version_is_the_projects),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
