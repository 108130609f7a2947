/* Codes by how often symbols come up, and how deflate tells them. Which symbols stand for what is the caller's, but for the ends
 * of the alphabet. */
#include "pack_code.h"

#include <string.h>

enum {
    N_BYTES = 256,
    N_STEPS = 19,            /* symbols that tell the lengths of codes: 0 .. 15 themselves, then runs */
    REPEAT = 16, ZEROS = 17, MANY_ZEROS = 18,
    LONGEST = 15, LONGEST_STEP = 7
};

/* Put symbols in the order of one byte of their counts; equal ones stay as they are. */
static void sort_by_byte(uint16_t *to, const uint16_t *from, int n, const uint32_t *count, unsigned shift)
{
    uint16_t place[257] = {0};
    for (int at = 0; at < n; at++)
        place[(count[from[at]] >> shift & 0xffU) + 1]++;
    for (int byte = 1; byte < 256; byte++)
        place[byte] = (uint16_t)(place[byte] + place[byte - 1]);
    for (int at = 0; at < n; at++)
        to[place[count[from[at]] >> shift & 0xffU]++] = from[at];
}

/* Symbols that come up, the rarest first; of equal ones the lower first. ends how many */
static int sort(uint16_t *symbols, const uint32_t *count, int n_all)
{
    uint16_t other[RC_PACK_SYMBOLS];
    int n = 0;
    for (int symbol = 0; symbol < n_all; symbol++)
        if (count[symbol] > 0)
            symbols[n++] = (uint16_t)symbol;
    sort_by_byte(other, symbols, n, count, 0);
    sort_by_byte(symbols, other, n, count, 8);
    return n;
}

/* Lengths of codes: join the two rarest until all are one; a symbol's length is how often it was joined.
 * ends the longest */
static int join(uint8_t *length, const uint32_t *count, int n_all)
{
    uint16_t order[RC_PACK_SYMBOLS];
    uint32_t weight[2 * RC_PACK_SYMBOLS];
    uint16_t above[2 * RC_PACK_SYMBOLS];
    uint8_t depth[2 * RC_PACK_SYMBOLS] = {0};
    const int n = sort(order, count, n_all);
    int leaf = 0;
    int joined = n;
    for (int at = 0; at < n; at++)
        weight[at] = count[order[at]];
    for (int made = n; made < 2 * n - 1; made++) {
        weight[made] = 0;
        for (int part = 0; part < 2; part++) {
            const int least = leaf < n && (joined == made || weight[leaf] <= weight[joined]) ? leaf++ : joined++;
            weight[made] += weight[least];
            above[least] = (uint16_t)made;
        }
    }
    for (int at = 2 * n - 3; at >= 0; at--)
        depth[at] = (uint8_t)(depth[above[at]] + 1);
    memset(length, 0, (size_t)n_all);
    for (int at = 0; at < n; at++)
        length[order[at]] = depth[at];
    return depth[0];
}

/* Lengths within a limit: where they are longer, the differences are halved until they are not. */
static void choose_lengths(uint8_t *length, const uint32_t *count, int n, int limit)
{
    uint32_t flatter[RC_PACK_SYMBOLS];
    memcpy(flatter, count, (size_t)n * sizeof *flatter);
    while (join(length, flatter, n) > limit)
        for (int symbol = 0; symbol < n; symbol++)
            flatter[symbol] = (flatter[symbol] + 1) / 2;
}

/* The same bits the other way round. */
static unsigned turn(unsigned bits, unsigned n)
{
    bits = (bits & 0x5555U) << 1U | (bits >> 1U & 0x5555U);
    bits = (bits & 0x3333U) << 2U | (bits >> 2U & 0x3333U);
    bits = (bits & 0x0f0fU) << 4U | (bits >> 4U & 0x0f0fU);
    bits = (bits & 0x00ffU) << 8U | bits >> 8U;
    return bits >> (16 - n);
}

/* The bits that go with the lengths: in the order of lengths, then of symbols; turned, as the first of them is written first. */
static void choose_bits(uint16_t *bits, const uint8_t *length, int n)
{
    unsigned next[LONGEST + 2] = {0};
    for (int symbol = 0; symbol < n; symbol++)
        next[length[symbol] + 1] += length[symbol] > 0;
    for (int longer = 1; longer <= LONGEST; longer++)
        next[longer] = (next[longer - 1] + next[longer]) * 2; /* the first of each length */
    for (int symbol = 0; symbol < n; symbol++)
        bits[symbol] = length[symbol] > 0 ? (uint16_t)turn(next[length[symbol]]++, length[symbol]) : 0;
}

/* The lengths told in steps. */
struct steps {
    uint8_t symbol[RC_PACK_SYMBOLS + 1], more[RC_PACK_SYMBOLS + 1];   /* what follows it */
    int n;
};

static void step(struct steps *steps, int symbol, int more)
{
    steps->symbol[steps->n] = (uint8_t)symbol;
    steps->more[steps->n++] = (uint8_t)more;
}

static int lesser(int a, int b)
{
    return a < b ? a : b;
}

/* n equal lengths */
static void step_over(struct steps *steps, int length, int n)
{
    enum { LEAST = 3, LEAST_MANY = 11, MOST_ZEROS = 138, MOST_REPEATS = 6 };
    while (length == 0 && n >= LEAST) {
        const int run = lesser(n, MOST_ZEROS);
        step(steps, run >= LEAST_MANY ? MANY_ZEROS : ZEROS, run - (run >= LEAST_MANY ? LEAST_MANY : LEAST));
        n -= run;
    }
    if (n > 0)
        step(steps, length, 0);
    for (n--; n >= LEAST;) {
        const int run = lesser(n, MOST_REPEATS);
        step(steps, REPEAT, run - LEAST);
        n -= run;
    }
    for (; n > 0; n--)
        step(steps, length, 0);
}

static void tell(struct rc_pack_table *table, unsigned value, unsigned n_bits)
{
    table->value[table->n] = (uint16_t)value;
    table->n_value[table->n++] = (uint8_t)n_bits;
    table->n_bits += n_bits;
}

/* The table (RFC 1951, 3.2.7): how many symbols, the code of the steps, the steps. */
static void tell_steps(struct rc_pack_table *table, const struct steps *steps, int n_symbols)
{
    static const uint8_t order[N_STEPS] = {16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15};
    static const uint8_t n_more[N_STEPS] = {[REPEAT] = 2, [ZEROS] = 3, [MANY_ZEROS] = 7};
    uint32_t count[N_STEPS] = {0};
    uint8_t length[N_STEPS];
    uint16_t bits[N_STEPS];
    int n_told = N_STEPS;
    for (int at = 0; at < steps->n; at++)
        count[steps->symbol[at]]++;
    choose_lengths(length, count, N_STEPS, LONGEST_STEP);
    choose_bits(bits, length, N_STEPS);
    while (n_told > 4 && length[order[n_told - 1]] == 0)
        n_told--;
    tell(table, (unsigned)n_symbols - N_BYTES - 1, 5);
    tell(table, 0, 5); /* one distance */
    tell(table, (unsigned)n_told - 4, 4);
    for (int at = 0; at < n_told; at++)
        tell(table, length[order[at]], 3);
    for (int at = 0; at < steps->n; at++) {
        tell(table, bits[steps->symbol[at]], length[steps->symbol[at]]);
        tell(table, steps->more[at], n_more[steps->symbol[at]]);
    }
}

void rc_pack_code_make(struct rc_pack_code *code, struct rc_pack_table *table, const uint32_t *count)
{
    struct steps steps = {.n = 0};
    int n = RC_PACK_SYMBOLS;
    choose_lengths(code->length, count, n, LONGEST);
    choose_bits(code->bits, code->length, n);
    code->n_bits = 0;
    for (int symbol = 0; symbol < n; symbol++)
        code->n_bits += (size_t)count[symbol] * code->length[symbol];
    while (n > N_BYTES + 1 && code->length[n - 1] == 0)
        n--;
    for (int at = 0, end = 0; at < n; at = end) {
        while (end < n && code->length[end] == code->length[at])
            end++;
        step_over(&steps, code->length[at], end - at);
    }
    step(&steps, 1, 0); /* the distance's */
    *table = (struct rc_pack_table){.n = 0};
    tell_steps(table, &steps, n);
}
