/* The generator, its jumps and the keyed streams, bit for bit against published and independently computed outputs.
 * source tests/reference/pcg_vectors.csv and pcg_uniforms.csv: computed with the C++ reference headers 0.98 and again with big
 * integers; the first six outputs of seed 42, stream 54 are those printed at pcg-random.org. */
#include <inttypes.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "numeric/numeric.h"
#include "support/reference.h"

static uint64_t whole_number(const struct reference *table, int row, const char *column)
{
    return strtoull(reference_text(table, row, column), NULL, 0);
}

static void test_pcg__first_outputs_are_the_published(void **state)
{
    (void)state;
    const uint32_t published[6] = {0xa15c02b7, 0x7b47f409, 0xba1d3330, 0x83d2f293, 0xbfa4784b, 0xcbed606e};
    struct rc_pcg pcg = rc_pcg_init(42, 54);
    for (int index = 0; index < 6; index++)
        assert_int_equal(rc_pcg_next(&pcg), published[index]);
}

static void test_pcg__outputs_and_jumps_are_the_references(void **state)
{
    (void)state;
    struct reference *table = reference_open("pcg_vectors.csv");
    int n_checked = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        const char *check = reference_text(table, row, "check");
        if (strcmp(reference_text(table, row, "generator"), "pcg32") != 0 || (strcmp(check, "out") != 0 && strcmp(check, "jump") != 0))
            continue;
        struct rc_pcg pcg = rc_pcg_init(whole_number(table, row, "seed"), whole_number(table, row, "stream"));
        rc_pcg_advance(&pcg, whole_number(table, row, "advance"));
        rc_pcg_advance(&pcg, whole_number(table, row, "index"));
        assert_int_equal(rc_pcg_next(&pcg), whole_number(table, row, "output_dec"));
        n_checked++;
    }
    assert_int_equal(n_checked, 128 + 256);
    reference_close(table);
}

static void test_pcg__jump_equals_single_steps(void **state)
{
    (void)state;
    struct rc_pcg stepped = rc_pcg_init(7, 8);
    struct rc_pcg jumped = stepped;
    for (int step = 0; step < 12345; step++)
        (void)rc_pcg_next(&stepped);
    rc_pcg_advance(&jumped, 12345);
    assert_true(jumped.state == stepped.state);
    rc_pcg_advance(&jumped, (uint64_t)-12345); /* the period is 2^64: backwards is almost all the way round */
    assert_true(jumped.state == rc_pcg_init(7, 8).state);
}

static void test_pcg__stream_mixer_is_splitmix64(void **state)
{
    (void)state;
    struct reference *table = reference_open("pcg_uniforms.csv");
    int n_checked = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        if (strcmp(reference_text(table, row, "kind"), "splitmix64") != 0)
            continue;
        const uint64_t steps = whole_number(table, row, "index");
        const uint64_t mixed = rc_stream_mix(whole_number(table, row, "seed") + steps * 0x9E3779B97F4A7C15ULL);
        assert_true(mixed == whole_number(table, row, "value"));
        n_checked++;
    }
    assert_int_equal(n_checked, 24);
    reference_close(table);
}

static void test_pcg__stream_uniforms_are_the_references(void **state)
{
    (void)state;
    struct reference *table = reference_open("pcg_uniforms.csv");
    int n_checked = 0;
    for (int row = 0; row < reference_rows(table); row++) {
        if (strcmp(reference_text(table, row, "kind"), "pcg32 52-bit ((a>>6)*2^26+(b>>6)+0.5)/2^52") != 0)
            continue;
        struct rc_pcg pcg = rc_pcg_init(whole_number(table, row, "seed"), whole_number(table, row, "stream"));
        rc_pcg_advance(&pcg, 2 * whole_number(table, row, "index"));
        const double uniform = rc_stream_uniform(&pcg);
        const double wanted = reference_number(table, row, "value");
        assert_memory_equal(&uniform, &wanted, sizeof wanted);
        n_checked++;
    }
    assert_int_equal(n_checked, 16);
    reference_close(table);
}

/* Every part of the key, and its place, makes another stream; the same key makes the same one. */
static void test_pcg__stream_each_part_of_the_key_counts(void **state)
{
    (void)state;
    const uint64_t keys[][3] = {{1, 2, 3}, {1, 3, 2}, {2, 1, 3}, {0, 2, 3}, {1, 0, 3}, {1, 2, 0}, {0, 0, 0}, {1ULL << 63U, 2, 3}};
    const int n_keys = (int)(sizeof keys / sizeof keys[0]);
    for (int one = 0; one < n_keys; one++) {
        struct rc_pcg first = rc_stream_open(keys[one][0], keys[one][1], keys[one][2]);
        struct rc_pcg again = rc_stream_open(keys[one][0], keys[one][1], keys[one][2]);
        assert_true(rc_stream_uniform(&first) == rc_stream_uniform(&again));
        for (int other = 0; other < one; other++) {
            const struct rc_pcg pcg = rc_stream_open(keys[other][0], keys[other][1], keys[other][2]);
            again = rc_stream_open(keys[one][0], keys[one][1], keys[one][2]);
            assert_true(pcg.state != again.state);
            assert_true(pcg.increment != again.increment);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pcg__first_outputs_are_the_published),
        cmocka_unit_test(test_pcg__outputs_and_jumps_are_the_references),
        cmocka_unit_test(test_pcg__jump_equals_single_steps),
        cmocka_unit_test(test_pcg__stream_mixer_is_splitmix64),
        cmocka_unit_test(test_pcg__stream_uniforms_are_the_references),
        cmocka_unit_test(test_pcg__stream_each_part_of_the_key_counts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
