/* The JSON writer against RFC 8259 and RFC 3629 (UTF-8): expected texts are written out by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "report/json.h"

/* A document in memory. */
struct document {
    char *bytes;
    size_t n_bytes;
    struct rc_json json;
};

static void begin(struct document *document)
{
    *document = (struct document){.bytes = NULL};
    document->json.out = open_memstream(&document->bytes, &document->n_bytes);
    assert_non_null(document->json.out);
}

static void expect(struct document *document, const char *wanted)
{
    assert_int_equal(fclose(document->json.out), 0);
    assert_string_equal(document->bytes, wanted);
    free(document->bytes);
}

static void test_json__members_are_separated_and_indented(void **state)
{
    (void)state;
    struct document document;
    begin(&document);
    rc_json_open(&document.json, NULL, '{');
    rc_json_text(&document.json, "name", "first");
    rc_json_open(&document.json, "list", '[');
    rc_json_integer(&document.json, NULL, INT64_MIN);
    rc_json_unsigned(&document.json, NULL, UINT64_MAX);
    rc_json_flag(&document.json, NULL, true);
    rc_json_close(&document.json, ']');
    rc_json_open(&document.json, "empty", '[');
    rc_json_close(&document.json, ']');
    rc_json_pair(&document.json, "pair", 0.5, 1);
    rc_json_text(&document.json, "none", NULL);
    rc_json_close(&document.json, '}');
    expect(&document, "{\n  \"name\": \"first\",\n"
                      "  \"list\": [\n    -9223372036854775808,\n    18446744073709551615,\n    true\n  ],\n"
                      "  \"empty\": [],\n  \"pair\": [0.5, 1],\n  \"none\": null\n}\n");
}

static void test_json__text_is_escaped_and_stays_utf8(void **state)
{
    (void)state;
    static const char *const cases[][2] = {
        {"a\"b\\c", "\"a\\\"b\\\\c\""},
        {"\n\t\x01\x7f", "\"\\u000a\\u0009\\u0001\\u007f\""},
        /* two, three and four bytes */
        {"\xc3\xa9\xe2\x82\xac\xf0\x9f\x9a\x80", "\"\xc3\xa9\xe2\x82\xac\xf0\x9f\x9a\x80\""},
        /* never a byte of UTF-8 */
        {"a\xff" "b", "\"a\\ufffdb\""},
        /* overlong solidus, in two and in three bytes */
        {"\xc0\xaf", "\"\\ufffd\\ufffd\""},
        {"\xe0\x80\xaf", "\"\\ufffd\\ufffd\\ufffd\""},
        /* half of a surrogate pair */
        {"\xed\xa0\x80", "\"\\ufffd\\ufffd\\ufffd\""},
        /* beyond U+10FFFF */
        {"\xf4\x90\x80\x80", "\"\\ufffd\\ufffd\\ufffd\\ufffd\""},
        /* cut short: must not read past the end */
        {"\xe2\x82", "\"\\ufffd\\ufffd\""},
    };
    for (size_t row = 0; row < sizeof cases / sizeof cases[0]; row++) {
        struct document document;
        begin(&document);
        rc_json_text(&document.json, NULL, cases[row][0]);
        expect(&document, cases[row][1]);
    }
}

static void test_json__numbers_read_back_to_the_same_bits(void **state)
{
    (void)state;
    static const double values[] = {0.1, 1.0 / 3.0, 5e-324, 1.7976931348623157e308, -0.0, 123456789012345678.0, 0.6123};
    for (size_t row = 0; row < sizeof values / sizeof values[0]; row++) {
        struct document document;
        begin(&document);
        rc_json_number(&document.json, NULL, values[row]);
        assert_int_equal(fclose(document.json.out), 0);
        const double back = strtod(document.bytes, NULL);
        assert_memory_equal(&back, &values[row], sizeof back);
        free(document.bytes);
    }
}

static void test_json__what_json_lacks_is_null(void **state)
{
    (void)state;
    static const double values[] = {NAN, INFINITY, -INFINITY};
    for (size_t row = 0; row < sizeof values / sizeof values[0]; row++) {
        struct document document;
        begin(&document);
        rc_json_number(&document.json, NULL, values[row]);
        expect(&document, "null");
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_json__members_are_separated_and_indented),
        cmocka_unit_test(test_json__text_is_escaped_and_stays_utf8),
        cmocka_unit_test(test_json__numbers_read_back_to_the_same_bits),
        cmocka_unit_test(test_json__what_json_lacks_is_null),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
