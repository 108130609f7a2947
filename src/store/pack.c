/* The packing of a chunk: the bytes of one place of all numbers at a time, in pieces; a piece is laid down as it is or in a code
 * of its own with runs of equal bytes. How often bytes come up decides, so equal numbers give equal bytes. Which chunk it is,
 * and where it goes, is the caller's. */
#include "pack.h"

#include <stdbool.h>
#include <string.h>

#include "pack_code.h"

enum {
    PIECE = 1 << 15,         /* most bytes coded together; a block that is laid down may have 65,535 */
    N_BYTES = 8,             /* of a number                                                          */
    END_OF_BLOCK = 256,      /* symbols below are bytes, those above lengths of runs                 */
    SHORTEST_RUN = 3, LONGEST_RUN = 258,
    CHECKSUM_PRIME = 65521
};

/* Bits go into bytes from the low end on. */
struct bit_writer {
    uint8_t *to;
    uint64_t bits;
    unsigned n_bits;         /* below 32 between calls */
};

static void put(struct bit_writer *writer, uint64_t bits, unsigned n)
{
    writer->bits |= bits << writer->n_bits;
    writer->n_bits += n;
    if (writer->n_bits < 32)
        return;
    for (unsigned byte = 0; byte < 4; byte++)
        writer->to[byte] = (uint8_t)(writer->bits >> (8U * byte));
    writer->to += 4;
    writer->bits >>= 32U;
    writer->n_bits -= 32;
}

/* Zeros up to the next whole byte. */
static void fill_byte(struct bit_writer *writer)
{
    for (unsigned n = 0; n < writer->n_bits; n += 8, writer->bits >>= 8U)
        *writer->to++ = (uint8_t)writer->bits;
    writer->bits = 0;
    writer->n_bits = 0;
}

/* Bytes from `at` on that are equal to the one before, as far as one run may reach. */
static size_t run_at(const uint8_t *bytes, size_t at, size_t n)
{
    const uint8_t same = bytes[at - 1];
    const size_t most = n - at < LONGEST_RUN ? n - at : LONGEST_RUN;
    size_t run = 0;
    if (bytes[at] != same)
        return 0;
    for (uint64_t word = 0; run + sizeof word <= most; run += sizeof word) {
        memcpy(&word, bytes + at + run, sizeof word);
        if (word != same * 0x0101010101010101ULL)
            break;
    }
    while (run < most && bytes[at + run] == same)
        run++;
    return run;
}

/* The symbol of a run (RFC 1951, 3.2.5): three bits of its length at each scale. out extra, n_extra  bits that follow it */
static unsigned run_symbol(size_t run, unsigned *extra, unsigned *n_extra)
{
    const unsigned over = (unsigned)run - SHORTEST_RUN;
    unsigned n = 0;
    while (over >> n >= 8)
        n++;
    *n_extra = run == LONGEST_RUN ? 0 : n;
    *extra = over & ((1U << *n_extra) - 1U);
    return run == LONGEST_RUN ? RC_PACK_SYMBOLS - 1 : END_OF_BLOCK + 1 + 4 * n + (over >> n);
}

/* Bytes that are equal to the one before. */
static size_t count_equal(const uint8_t *bytes, size_t n)
{
    size_t n_equal = 0;
    for (size_t at = 1; at < n; at++)
        n_equal += bytes[at] == bytes[at - 1];
    return n_equal;
}

/* How often each symbol comes up, with runs. ends bits that follow them: of lengths of runs, and one of each run's distance */
static size_t count_runs(uint32_t *count, const uint8_t *bytes, size_t n)
{
    size_t n_more = 0;
    count[bytes[0]]++;
    for (size_t at = 1; at < n;) {
        const size_t run = run_at(bytes, at, n);
        unsigned extra = 0;
        unsigned n_extra = 0;
        if (run < SHORTEST_RUN) {
            count[bytes[at++]]++;
            continue;
        }
        count[run_symbol(run, &extra, &n_extra)]++;
        n_more += n_extra + 1;
        at += run;
    }
    return n_more;
}

/* How often each byte comes up. ends false where they are evenly mixed: the squares of how often then add up to n^2 / 256; an
 * eighth more is at least 7.8 bits a byte, or 3 % to be gained */
static bool count_bytes(uint32_t *count, const uint8_t *bytes, size_t n)
{
    uint32_t part[4][256] = {{0}};
    uint64_t squares = 0;
    for (size_t at = 0; at + 4 <= n; at += 4) /* four lists, so that no addition waits for the one before */
        for (size_t list = 0; list < 4; list++)
            part[list][bytes[at + list]]++;
    for (size_t at = n / 4 * 4; at < n; at++)
        part[0][bytes[at]]++;
    for (int byte = 0; byte < 256; byte++) {
        count[byte] = part[0][byte] + part[1][byte] + part[2][byte] + part[3][byte];
        squares += (uint64_t)count[byte] * count[byte];
    }
    return 8 * 256 * squares >= 9 * (uint64_t)n * n;
}

static void put_plain(struct bit_writer *writer, const uint8_t *bytes, size_t n, bool is_last)
{
    put(writer, is_last, 3);
    fill_byte(writer);
    put(writer, n | ((n ^ 0xffffU) << 16U), 32);
    memcpy(writer->to, bytes, n);
    writer->to += n;
}

static void put_runs(struct bit_writer *writer, const struct rc_pack_code *code, const uint8_t *bytes, size_t n)
{
    put(writer, code->bits[bytes[0]], code->length[bytes[0]]);
    for (size_t at = 1; at < n;) {
        const size_t run = run_at(bytes, at, n);
        unsigned extra = 0;
        unsigned n_extra = 0;
        if (run < SHORTEST_RUN) {
            put(writer, code->bits[bytes[at]], code->length[bytes[at]]);
            at++;
            continue;
        }
        const unsigned symbol = run_symbol(run, &extra, &n_extra);
        put(writer, code->bits[symbol], code->length[symbol]);
        put(writer, extra, n_extra + 1); /* and the distance's only code, a zero */
        at += run;
    }
}

static void put_bytes(struct bit_writer *writer, const struct rc_pack_code *code, const uint8_t *bytes, size_t n)
{
    for (size_t at = 0; at + 2 <= n; at += 2) {
        const uint8_t one = bytes[at];
        const uint8_t two = bytes[at + 1];
        put(writer, code->bits[one] | (uint64_t)code->bits[two] << code->length[one], code->length[one] + code->length[two]);
    }
    if (n % 2 > 0)
        put(writer, code->bits[bytes[n - 1]], code->length[bytes[n - 1]]);
}

/* A block's head and code, where it is shorter than the bytes as they are. ends false: it is not, nothing is written */
static bool put_code(struct bit_writer *writer, struct rc_pack_code *code, uint32_t *count, size_t n_more, size_t n,
                     bool is_last)
{
    struct rc_pack_table table;
    count[END_OF_BLOCK] = 1;
    rc_pack_code_make(code, &table, count);
    if (n_more + code->n_bits + table.n_bits + 8 > 8 * n)
        return false;
    put(writer, 4U | is_last, 3);
    for (int field = 0; field < table.n; field++)
        put(writer, table.value[field], table.n_value[field]);
    return true;
}

/* Runs are worth their codes where two of three bytes are like the one before. */
static void put_piece(struct bit_writer *writer, const uint8_t *bytes, size_t n, bool is_last)
{
    uint32_t count[RC_PACK_SYMBOLS] = {0};
    struct rc_pack_code code;
    const bool has_runs = 3 * count_equal(bytes, n) >= 2 * n;
    const size_t n_more = has_runs ? count_runs(count, bytes, n) : 0;
    if ((!has_runs && !count_bytes(count, bytes, n)) || !put_code(writer, &code, count, n_more, n, is_last)) {
        put_plain(writer, bytes, n, is_last);
        return;
    }
    (has_runs ? put_runs : put_bytes)(writer, &code, bytes, n);
    put(writer, code.bits[END_OF_BLOCK], code.length[END_OF_BLOCK]);
}

/* A piece of one byte over and over, as most of a column of zeros is, without looking at each. in n  at least LONGEST_RUN */
static void put_same(struct bit_writer *writer, uint8_t byte, size_t n, bool is_last)
{
    uint32_t count[RC_PACK_SYMBOLS] = {0};
    struct rc_pack_code code;
    unsigned extra = 0;
    unsigned n_extra = 0;
    const size_t n_runs = (n - 1) / LONGEST_RUN;
    size_t rest = (n - 1) % LONGEST_RUN;
    const unsigned symbol = rest >= SHORTEST_RUN ? run_symbol(rest, &extra, &n_extra) : byte;
    rest = rest >= SHORTEST_RUN ? 1 : rest;
    count[byte] = 1;
    count[RC_PACK_SYMBOLS - 1] = (uint32_t)n_runs;
    count[symbol] += (uint32_t)rest;
    (void)put_code(writer, &code, count, n_runs + n_extra + rest, n, is_last); /* surely shorter */
    put(writer, code.bits[byte], code.length[byte]);
    for (size_t run = 0; run < n_runs; run++)
        put(writer, code.bits[RC_PACK_SYMBOLS - 1], code.length[RC_PACK_SYMBOLS - 1] + 1U);
    for (; rest > 0; rest--) {
        put(writer, code.bits[symbol], code.length[symbol]);
        put(writer, extra, symbol == byte ? 0 : n_extra + 1);
    }
    put(writer, code.bits[END_OF_BLOCK], code.length[END_OF_BLOCK]);
}

/* Go on with the stream's checksum (RFC 1950, 8.2): the sum of all bytes, and the sum of that sum after each byte. Sums of every
 * sixteenth byte are kept apart, which the compiler makes vector code of. */
static uint32_t add_to_checksum(uint32_t checksum, const uint8_t *bytes, size_t n)
{
    enum { APART = 16, ROWS = 512 };
    uint64_t sum = checksum & 0xffffU;
    uint64_t sums = checksum >> 16U;
    while (n >= APART) {
        const size_t n_rows = n / APART < ROWS ? n / APART : ROWS;
        uint32_t part[APART] = {0};
        uint32_t parts[APART] = {0};
        for (size_t row = 0; row < n_rows; row++)
            for (size_t at = 0; at < APART; at++) {
                part[at] += bytes[row * APART + at];
                parts[at] += part[at];
            }
        sums += n_rows * APART * sum;
        for (size_t at = 0; at < APART; at++) {
            sum += part[at];
            sums += APART * (uint64_t)parts[at] - at * part[at];
        }
        sum %= CHECKSUM_PRIME;
        sums %= CHECKSUM_PRIME;
        bytes += n_rows * APART;
        n -= n_rows * APART;
    }
    for (; n > 0; n--) {
        sum += *bytes++;
        sums += sum;
    }
    return (uint32_t)(((sums % CHECKSUM_PRIME) << 16U) | (sum % CHECKSUM_PRIME));
}

/* The same for one byte n times. */
static uint32_t add_same_to_checksum(uint32_t checksum, uint8_t byte, uint64_t n)
{
    const uint64_t sum = (checksum & 0xffffU) + n * byte;
    const uint64_t sums = (checksum >> 16U) + n * (checksum & 0xffffU) + n * (n + 1) / 2 * byte;
    return (uint32_t)(((sums % CHECKSUM_PRIME) << 16U) | (sum % CHECKSUM_PRIME));
}

/* Bits in which any of the numbers differ. */
static uint64_t differing(const uint64_t *bits, size_t n)
{
    uint64_t differs = 0;
    for (size_t at = 1; at < n; at++)
        differs |= bits[at] ^ bits[0];
    return differs;
}

size_t rc_pack_room(size_t n)
{
    enum { HEAD = 2, SUM = 4, BLOCK = 6 };
    return HEAD + SUM + N_BYTES * (n + BLOCK * (n / PIECE + 1));
}

size_t rc_pack_numbers(uint8_t *packed, const uint64_t *bits, size_t n)
{
    struct bit_writer writer = {.to = packed};
    const uint64_t differs = differing(bits, n);
    uint8_t piece[PIECE];
    uint32_t checksum = 1;
    put(&writer, 0x0178, 16); /* a zlib stream, packed fast */
    for (unsigned shift = 0; shift < 8 * N_BYTES; shift += 8)
        for (size_t first = 0; first < n; first += PIECE) {
            const size_t n_piece = n - first < PIECE ? n - first : PIECE;
            const bool is_last = shift == 8 * (N_BYTES - 1) && first + n_piece == n;
            if ((differs >> shift & 0xffU) == 0 && n_piece >= LONGEST_RUN) {
                checksum = add_same_to_checksum(checksum, (uint8_t)(bits[0] >> shift), n_piece);
                put_same(&writer, (uint8_t)(bits[0] >> shift), n_piece, is_last);
                continue;
            }
            for (size_t at = 0; at < n_piece; at++)
                piece[at] = (uint8_t)(bits[first + at] >> shift);
            checksum = add_to_checksum(checksum, piece, n_piece);
            put_piece(&writer, piece, n_piece, is_last);
        }
    fill_byte(&writer);
    for (unsigned byte = 0; byte < 4; byte++) /* the other way round than all the rest */
        *writer.to++ = (uint8_t)(checksum >> (24U - 8U * byte));
    return (size_t)(writer.to - packed);
}
