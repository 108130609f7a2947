/* Scrambled Sobol' sequences, in replicates: flight f is point f / 16 of replicate f % 16, each replicate with scrambles of
 * its own. Dimension d serves quantity d of the list. The scramble is Owen's nested uniform one: a digit is flipped by a bit
 * that hangs on all digits above it, taken from a keyed hash instead of a stored tree; digits beyond the 32 of the sequence
 * are random. */
#include "base/base.h"
#include "sampling/sampling.h"

extern const struct rc_plan_kind rc_sobol_plan;

enum { N_DIGITS = 32, MAX_DEGREE = 13 };

static const struct direction {
    unsigned degree, a;
    uint32_t m[MAX_DEGREE];
} directions[] = {
    {0, 0, {1}}, /* dimension 1, van der Corput: every m is 1 */
#define RC_DIRECTION(degree, a, ...) {degree, a, {__VA_ARGS__}},
#include "sobol_directions.def"
#undef RC_DIRECTION
};

enum { N_DIMENSIONS = sizeof directions / sizeof directions[0] };

static const uint64_t n_points = UINT64_C(1) << N_DIGITS; /* of one replicate */

static rc_status check(const struct rc_sampling *sampling, uint64_t n_flights, struct rc_error *err)
{
    if (sampling->n > N_DIMENSIONS)
        return rc_error_fill(err, RC_BAD_INPUT, "run.plan",
                             "%d uncertain quantities, sobol has directions for %d; hold some at plain numbers or use latin",
                             sampling->n, N_DIMENSIONS);
    if (n_flights > n_points * RC_REPLICATES)
        return rc_error_fill(err, RC_BAD_INPUT, "run.plan", "%llu flights, sobol has %llu points; use plain",
                             (unsigned long long)n_flights, (unsigned long long)n_points * RC_REPLICATES);
    return RC_OK;
}

/* Point `index` of one dimension, in natural order, as 32 binary digits. source Joe and Kuo 2008; the recurrence is Bratley and
 * Fox 1988, algorithm 659 */
static uint32_t sobol_digits(const struct direction *direction, uint64_t index)
{
    const unsigned degree = direction->degree;
    uint32_t v[N_DIGITS];
    uint32_t digits = 0;
    for (unsigned k = 0; k < N_DIGITS && index >> k != 0; k++) {
        if (degree == 0) {
            v[k] = UINT32_C(1) << (31U - k);
        } else if (k < degree) {
            v[k] = direction->m[k] << (31U - k);
        } else {
            v[k] = v[k - degree] ^ (v[k - degree] >> degree);
            for (unsigned j = 1; j < degree; j++)
                v[k] ^= (direction->a >> (degree - 1U - j) & 1U) ? v[k - j] : 0U;
        }
        if (index >> k & 1U)
            digits ^= v[k];
    }
    return digits;
}

/* source Owen 1995, "Randomly permuted (t,m,s)-nets and (t,s)-sequences"; a hash in place of the tree as Burley 2020, JCGT
 * 9(4) */
static uint32_t scramble(uint32_t digits, uint64_t key)
{
    uint32_t flips = 0;
    for (unsigned digit = 0; digit < N_DIGITS; digit++) {
        /* the digits above, with a leading one that tells how many they are */
        const uint64_t above = UINT64_C(1) << digit | (uint64_t)digits >> (N_DIGITS - digit);
        flips |= (uint32_t)(rc_stream_mix(key ^ above) >> 63U) << (N_DIGITS - 1U - digit);
    }
    return digits ^ flips;
}

static void draw(const struct rc_sampling *sampling, uint64_t seed, uint64_t flight, double *values)
{
    const uint64_t point = flight / RC_REPLICATES;
    const uint64_t net_key = rc_stream_mix(rc_stream_mix(seed ^ UINT64_C(0x536F626F6C)) ^ flight % RC_REPLICATES);
    for (int index = 0; index < sampling->n; index++) {
        const uint64_t path_hash = sampling->quantity[index].path_hash;
        struct rc_pcg pcg = rc_stream_open(seed, flight, path_hash);
        const uint32_t digits = sobol_digits(&directions[index % N_DIMENSIONS], point % n_points);
        values[index] = rc_plan_uniform(scramble(digits, rc_stream_mix(net_key ^ path_hash)), (double)n_points,
                                        rc_stream_uniform(&pcg));
    }
    rc_plan_values(sampling, values);
}

const struct rc_plan_kind rc_sobol_plan = {
    .name = "sobol",
    .summary = "scrambled Sobol' sequences in 16 replicates: much sharper means, somewhat sharper odds; best at powers of two",
    .n_replicates = RC_REPLICATES,
    .check = check,
    .draw = draw,
};
