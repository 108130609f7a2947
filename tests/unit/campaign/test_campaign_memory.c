/* Reading a campaign with the n-th allocation failing, for every n: it must say so, give no campaign and leave nothing behind (a
 * sanitizer build sees leaks). The linker sends the program's malloc, calloc and realloc here; cJSON's own are not caught. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

void *__real_malloc(size_t n);
void *__real_calloc(size_t n, size_t size);
void *__real_realloc(void *block, size_t n);
void *__wrap_malloc(size_t n);
void *__wrap_calloc(size_t n, size_t size);
void *__wrap_realloc(void *block, size_t n);

static int n_left = -1; /* allocations until one fails; negative = none does */

static bool is_failing(void)
{
    return n_left >= 0 && n_left-- == 0;
}

void *__wrap_malloc(size_t n)
{
    return is_failing() ? NULL : __real_malloc(n);
}

void *__wrap_calloc(size_t n, size_t size)
{
    return is_failing() ? NULL : __real_calloc(n, size);
}

void *__wrap_realloc(void *block, size_t n)
{
    return is_failing() ? NULL : __real_realloc(block, n);
}

enum { N_MOST = 1000 };

static void test_campaign_memory__nth_failing_allocation_of_a_bundle_is_told(void **state)
{
    (void)state;
    struct rc_bundle bundle = fixture_bundle(fixture_campaign);
    int n_failed = 0;
    for (int n = 0; n < N_MOST; n++) {
        struct rc_issues issues = {0};
        rc_campaign *campaign = NULL;
        n_left = n;
        const rc_status status = rc_campaign_from_bundle(&campaign, &bundle, &issues);
        const bool is_over = n_left >= 0;
        n_left = -1;
        if (is_over) {
            assert_int_equal(status, RC_OK);
            rc_campaign_free(campaign);
            break;
        }
        assert_int_equal(status, RC_NO_MEMORY);
        assert_null(campaign);
        n_failed++;
    }
    assert_true(n_failed > 10 && n_failed < N_MOST);
    rc_bundle_free(&bundle);
}

static void test_campaign_memory__nth_failing_allocation_of_a_file_is_told(void **state)
{
    (void)state;
    char path[512];
    fixture_write("thrust.csv", fixture_thrust, path, sizeof path);
    fixture_write("aero.csv", fixture_aero, path, sizeof path);
    fixture_write("memory.json", fixture_campaign, path, sizeof path);
    int n_failed = 0;
    for (int n = 0; n < N_MOST; n++) {
        struct rc_issues issues = {0};
        rc_campaign *campaign = NULL;
        n_left = n;
        const rc_status status = rc_campaign_load(&campaign, path, &issues);
        const bool is_over = n_left >= 0;
        n_left = -1;
        if (is_over) {
            assert_int_equal(status, RC_OK);
            rc_campaign_free(campaign);
            break;
        }
        assert_int_equal(status, RC_NO_MEMORY);
        assert_null(campaign);
        n_failed++;
    }
    assert_true(n_failed > 10 && n_failed < N_MOST);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_campaign_memory__nth_failing_allocation_of_a_bundle_is_told),
        cmocka_unit_test(test_campaign_memory__nth_failing_allocation_of_a_file_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
