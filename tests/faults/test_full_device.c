/* A device that is really full: a small memory file system of this process's own. Needs the right to mount. */
#define _GNU_SOURCE

#include <errno.h>
#include <sched.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/stat.h>

#include <cmocka.h>

#include "support/made_store.h"

enum { N_FLIGHTS = 30000 };

/* Mount it where nobody else sees it; it goes with the process. ends whether it worked */
static bool mount_small(const char *folder, const char *size)
{
    if (unshare(CLONE_NEWNS) != 0 || mount("none", "/", NULL, MS_REC | MS_PRIVATE, NULL) != 0)
        return false;
    return mount("none", folder, "tmpfs", 0, size) == 0;
}

static void test_full_device__run_that_fills_it_is_safe_and_resumed(void **state)
{
    (void)state;
    const char *folder = made_path("small");
    char path[600];
    struct rc_store *store = NULL;
    struct rc_error err = {0};
    const struct rc_store_plan plan = made_plan(N_FLIGHTS);
    (void)mkdir(folder, 0777);
    if (!mount_small(folder, "size=1m")) {
        print_message("skipped: no right to mount a small file system here (%s)\n", strerror(errno));
        skip();
    }
    (void)snprintf(path, sizeof path, "%s/full.h5", folder);

    assert_int_equal(rc_store_create(&store, path, &plan, &err), RC_OK);
    assert_int_equal(made_append(store, N_FLIGHTS, 100, &err), RC_NO_SPACE);
    print_message("%s: %s\n", err.where, err.what);
    assert_non_null(strstr(err.what, "No space left on device"));
    assert_non_null(strstr(err.what, "flights are safe"));
    const int64_t safe = rc_store_flights(store);
    assert_true(safe > 1000 && safe < N_FLIGHTS);
    assert_int_equal(rc_store_close(store, &err), RC_NO_SPACE); /* nor is there room to fold */
    made_check(path, safe);

    /* Still full: resuming says so again, and loses nothing again. */
    const rc_status status = rc_store_resume(&store, path, &plan, &err);
    if (status == RC_OK) {
        assert_int_equal(made_append(store, N_FLIGHTS, 100, &err), RC_NO_SPACE);
        assert_int_equal(rc_store_close(store, &err), RC_NO_SPACE);
    } else {
        assert_int_equal(status, RC_NO_SPACE);
    }
    made_check(path, safe);

    assert_int_equal(mount("none", folder, "tmpfs", MS_REMOUNT, "size=64m"), 0); /* room again */
    assert_int_equal(rc_store_resume(&store, path, &plan, &err), RC_OK);
    assert_int_equal(rc_store_flights(store), safe);
    assert_int_equal(made_append(store, N_FLIGHTS, 100, &err), RC_OK);
    assert_int_equal(rc_store_close(store, &err), RC_OK);
    made_check(path, N_FLIGHTS);

    /* And a device that only reads. */
    assert_int_equal(mount("none", folder, "tmpfs", MS_REMOUNT | MS_RDONLY, "size=64m"), 0);
    made_check(path, N_FLIGHTS);
    assert_int_equal(rc_store_resume(&store, path, &plan, &err), RC_IO);
    assert_non_null(strstr(err.what, "Read-only file system"));
    (void)snprintf(path, sizeof path, "%s/new.h5", folder);
    assert_int_equal(rc_store_create(&store, path, &plan, &err), RC_IO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_full_device__run_that_fills_it_is_safe_and_resumed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
