/* What is packed piece by piece is unpacked by HDF5's own filters. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <hdf5.h>

#include "base/base.h"
#include "store/hdf.h"
#include "store/pack.h"

enum { MOST = 70000 };

static uint64_t mixed(uint64_t number)
{
    return rc_hash_bytes(RC_FNV_START, &number, sizeof number) ^ number >> 1U;
}

/* A file in memory. */
static hid_t open_file(void)
{
    const hid_t access = H5Pcreate(H5P_FILE_ACCESS);
    assert_true(H5Pset_fapl_core(access, 1 << 20, 0) >= 0);
    const hid_t file = H5Fcreate("pack.h5", H5F_ACC_TRUNC, H5P_DEFAULT, access);
    assert_true(file >= 0);
    assert_true(H5Pclose(access) >= 0);
    return file;
}

/* Pack n numbers into a dataset's only chunk and read them back. ends bytes packed */
static size_t go_round(const uint64_t *bits, size_t n)
{
    static uint64_t read[MOST];
    const hsize_t size = n;
    hsize_t n_packed = 0;
    const hid_t file = open_file();
    const hid_t dataset = rc_hdf_array(file, "x", H5T_STD_U64LE, 1, &size, &size);
    assert_int_equal(rc_hdf_put_chunk(dataset, &(hsize_t){0}, n, bits), 0);
    assert_true(H5Dget_chunk_storage_size(dataset, &(hsize_t){0}, &n_packed) >= 0);
    assert_true(n_packed <= rc_pack_room(n));
    if (H5Dread(dataset, H5T_NATIVE_UINT64, H5S_ALL, H5S_ALL, H5P_DEFAULT, read) < 0)
        fail_msg("%zu numbers cannot be read", n);
    assert_memory_equal(read, bits, n * sizeof *bits);
    assert_true(H5Dclose(dataset) >= 0 && H5Fclose(file) >= 0);
    return (size_t)n_packed;
}

/* Numbers whose lowest byte is one of `n_kinds` in runs about so long, the others noise or the same. */
static void make(uint64_t *bits, size_t n, uint64_t n_kinds, uint64_t run, uint64_t noise)
{
    uint64_t left = 0;
    uint64_t byte = 0;
    for (size_t at = 0; at < n; at++, left--) {
        if (left == 0) {
            byte = mixed(at + n) % n_kinds;
            left = 1 + mixed(at + 7 * n) % (2 * run - 1);
        }
        bits[at] = (mixed(at * 31 + n) & noise) << 8U | byte;
    }
}

static void test_pack__any_numbers_are_unpacked_by_hdf5(void **state)
{
    (void)state;
    static const size_t lengths[] = {1,   2,   3,   4,   5,   17,   255,  256,   257,   258,   259,   260,  261,
                                     262, 263, 300, 516, 517, 518,  519,  1000,  4096,  32767, 32768, 32769, MOST};
    static const uint64_t noises[] = {0, 0x0100, 0xff, 0xfff, 0x3fffffffffff, UINT64_MAX};
    static const uint64_t kinds[] = {1, 2, 3, 20, 256};
    static const uint64_t runs[] = {1, 2, 5, 100, 300, 3000};
    static uint64_t bits[MOST];
    for (size_t length = 0; length < sizeof lengths / sizeof *lengths; length++)
        for (size_t kind = 0; kind < sizeof kinds / sizeof *kinds; kind++)
            for (size_t run = 0; run < sizeof runs / sizeof *runs; run++) {
                make(bits, lengths[length], kinds[kind], runs[run], noises[(kind + run) % 6]);
                (void)go_round(bits, lengths[length]);
            }
}

static void test_pack__each_length_of_a_run_is_unpacked(void **state)
{
    (void)state;
    static uint64_t bits[4096];
    for (size_t run = 1; run <= 600; run++) {
        for (size_t at = 0; at < 4096; at++)
            bits[at] = at / run;
        (void)go_round(bits, 4096);
        memset(bits, 0x5a, run * sizeof *bits); /* one byte alone */
        (void)go_round(bits, run);
    }
}

/* Noise costs what it is, and the rest little. */
static void test_pack__sizes_are_near_what_there_is_to_tell(void **state)
{
    (void)state;
    static uint64_t bits[4096];
    memset(bits, 0, sizeof bits);
    assert_true(go_round(bits, 4096) < 8 * 24);
    for (size_t at = 0; at < 4096; at++)
        bits[at] = mixed(at);
    assert_in_range(go_round(bits, 4096), 8 * 4096 - 64, 8 * 4096 + 8 * 8); /* one byte of the mix is not quite even */
    for (size_t at = 0; at < 4096; at++)
        bits[at] = mixed(at) >> 33U & 1U ? 0x3ff0000000000000 : 0; /* ones and zeros, a code of 1, 2 and, for the end, 2 bits */
    assert_in_range(go_round(bits, 4096), 2 * 740, 2 * 800 + 8 * 40);
    for (size_t at = 0; at < 4096; at++)
        bits[at] = 0x3ff0000000000000 | mixed(at) >> 12U; /* between 1 and 2 */
    assert_in_range(go_round(bits, 4096), 6 * 4096 + 2048, 6 * 4096 + 2048 + 300);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pack__any_numbers_are_unpacked_by_hdf5),
        cmocka_unit_test(test_pack__each_length_of_a_run_is_unpacked),
        cmocka_unit_test(test_pack__sizes_are_near_what_there_is_to_tell),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
