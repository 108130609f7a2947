/* Growing text, hash and bundles: bytes in, the same bytes out, and a fingerprint that sees every difference. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "base/base.h"

static void test_bundle__text_appends_add_up(void **state)
{
    (void)state;
    struct rc_text text = {0};
    for (int number = 0; number < 1000; number++)
        rc_text_add(&text, "%04d,", number);
    rc_text_add_bytes(&text, "e\0nd", 4);
    rc_text_add_bytes(&text, NULL, 0);
    assert_false(text.failed);
    assert_int_equal(text.n_bytes, 5004);
    assert_memory_equal(text.bytes, "0000,0001,", 10);
    assert_memory_equal(text.bytes + 4995, "0999,e\0nd", 10);
    rc_text_free(&text);
    assert_null(text.bytes);
    assert_int_equal(text.n_bytes, 0);
    rc_text_free(NULL);
}

static void test_bundle__text_impossible_size_is_remembered(void **state)
{
    (void)state;
    struct rc_text text = {0};
    rc_text_add(&text, "kept");
    rc_text_add_bytes(&text, "", SIZE_MAX / 2);
    assert_true(text.failed);
    rc_text_add(&text, "dropped");
    assert_string_equal(text.bytes, "kept");
    rc_text_free(&text);
}

/* source Fowler, Noll, Vo, Eastlake: The FNV Non-Cryptographic Hash Algorithm, test vectors for FNV-1a 64 (from memory) */
static void test_bundle__hash_published_vectors(void **state)
{
    (void)state;
    assert_true(rc_hash_bytes(RC_FNV_START, "", 0) == 0xcbf29ce484222325ULL);
    assert_true(rc_hash_bytes(RC_FNV_START, "a", 1) == 0xaf63dc4c8601ec8cULL);
    assert_true(rc_hash_bytes(RC_FNV_START, "foobar", 6) == 0x85944171f73967e8ULL);
    assert_true(rc_hash_bytes(rc_hash_bytes(RC_FNV_START, "foo", 3), "bar", 3) == 0x85944171f73967e8ULL);
}

static void test_bundle__keeps_copies_and_first_bytes(void **state)
{
    (void)state;
    struct rc_bundle bundle = {0};
    char bytes[] = "thrust";
    assert_int_equal(rc_bundle_add(&bundle, "t.csv", bytes, 6, NULL), RC_OK);
    bytes[0] = 'X';
    assert_int_equal(rc_bundle_add(&bundle, "t.csv", bytes, 6, NULL), RC_OK);
    assert_int_equal(bundle.n_files, 1);
    const struct rc_bundle_file *file = rc_bundle_find(&bundle, "t.csv");
    assert_non_null(file);
    assert_string_equal(file->bytes, "thrust");
    assert_int_equal(file->n_bytes, 6);
    assert_null(rc_bundle_find(&bundle, "u.csv"));
    rc_bundle_free(&bundle);
    assert_int_equal(bundle.n_files, 0);
    rc_bundle_free(NULL);
}

static void test_bundle__too_many_files_are_refused(void **state)
{
    (void)state;
    struct rc_bundle bundle = {0};
    char name[] = "a.csv";
    for (int number = 0; number < RC_MAX_BUNDLE_FILES; number++, name[0]++)
        assert_int_equal(rc_bundle_add(&bundle, name, "", 0, NULL), RC_OK);
    struct rc_error err;
    assert_int_equal(rc_bundle_add(&bundle, name, "", 0, &err), RC_BAD_INPUT);
    assert_string_equal(err.where, name);
    assert_int_equal(bundle.n_files, RC_MAX_BUNDLE_FILES);
    rc_bundle_free(&bundle);
}

static uint64_t fingerprint_of(const char *const parts[], int n_files)
{
    struct rc_bundle bundle = {0};
    for (int file = 0; file < n_files; file++)
        assert_int_equal(rc_bundle_add(&bundle, parts[2 * file], parts[2 * file + 1], strlen(parts[2 * file + 1]), NULL), RC_OK);
    const uint64_t fingerprint = rc_bundle_fingerprint(&bundle);
    rc_bundle_free(&bundle);
    return fingerprint;
}

static void test_bundle__fingerprint_sees_names_bytes_borders_and_order(void **state)
{
    (void)state;
    const char *const base[] = {"a", "xy", "b", "z"};
    const char *const same[] = {"a", "xy", "b", "z"};
    const char *const byte[] = {"a", "xz", "b", "z"};
    const char *const name[] = {"a", "xy", "c", "z"};
    const char *const border[] = {"ax", "y", "b", "z"};
    const char *const order[] = {"b", "z", "a", "xy"};
    assert_true(fingerprint_of(base, 2) == fingerprint_of(same, 2));
    assert_true(fingerprint_of(base, 2) != fingerprint_of(byte, 2));
    assert_true(fingerprint_of(base, 2) != fingerprint_of(name, 2));
    assert_true(fingerprint_of(base, 2) != fingerprint_of(border, 2));
    assert_true(fingerprint_of(base, 2) != fingerprint_of(order, 2));
    assert_true(fingerprint_of(base, 2) != fingerprint_of(base, 1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bundle__text_appends_add_up),
        cmocka_unit_test(test_bundle__text_impossible_size_is_remembered),
        cmocka_unit_test(test_bundle__hash_published_vectors),
        cmocka_unit_test(test_bundle__keeps_copies_and_first_bytes),
        cmocka_unit_test(test_bundle__too_many_files_are_refused),
        cmocka_unit_test(test_bundle__fingerprint_sees_names_bytes_borders_and_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
