/* The code of a packed piece: short for symbols that come up often, and the table that tells it. */
#ifndef RC_PACK_CODE_H
#define RC_PACK_CODE_H

#include <stddef.h>
#include <stdint.h>

/* Bytes 0 .. 255, the end, lengths of runs. */
enum { RC_PACK_SYMBOLS = 286 };

/* A code: length and bits of each symbol, bits in the order in which they are written; length 0 = does not come up. */
struct rc_pack_code {
    uint8_t length[RC_PACK_SYMBOLS];
    uint16_t bits[RC_PACK_SYMBOLS];
    size_t n_bits;                   /* of all symbols that come up together */
};

/* The fields that tell a code, one after the other: value and bits of each. */
struct rc_pack_table {
    uint16_t value[2 * RC_PACK_SYMBOLS + 32];
    uint8_t n_value[2 * RC_PACK_SYMBOLS + 32];
    int n;
    size_t n_bits;                   /* in all */
};

/* Make the code and its table.
 * in     count  (RC_PACK_SYMBOLS) how often each symbol comes up; two of them at least do, each less than 2^16 times
 * source RFC 1951, 3.2.2 and 3.2.7; Huffman 1952 for the lengths */
void rc_pack_code_make(struct rc_pack_code *code, struct rc_pack_table *table, const uint32_t *count);

#endif
