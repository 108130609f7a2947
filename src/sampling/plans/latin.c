/* Latin hypercubes, in replicates: of a replicate's N points every quantity has exactly one in each Nth of its probability.
 * Flight f is point f / 16 of replicate f % 16; N is what the declared flights give each replicate. Flights beyond the
 * declared ones go into further hypercubes of the same size. A point's stratum comes from a keyed bijection of 0 .. N-1, so
 * no list of strata is kept and any flight can be drawn alone. */
#include "sampling/sampling.h"

extern const struct rc_plan_kind rc_latin_plan;

/* Rounds of the bijection: with fewer than six, neighbouring strata of small cubes are visibly tied. */
enum { N_ROUNDS = 8 };

static uint64_t round_key(uint64_t key, unsigned round, uint64_t half)
{
    return rc_stream_mix(rc_stream_mix(key + round) ^ half);
}

/* A Feistel network on 2 n_bits bits. source Luby and Rackoff 1988, SIAM J. Comput. 17:373 */
static uint64_t shuffle_bits(uint64_t number, unsigned n_bits, uint64_t key)
{
    const uint64_t mask = (UINT64_C(1) << n_bits) - 1U;
    uint64_t left = number >> n_bits;
    uint64_t right = number & mask;
    for (unsigned round = 0; round < N_ROUNDS; round++) {
        const uint64_t mixed = left ^ (round_key(key, round, right) & mask);
        left = right;
        right = mixed;
    }
    return left << n_bits | right;
}

/* A bijection of 0 .. n-1: the network over the next even power of two, walked on until it is back inside.
 * source Black and Rogaway 2002, CT-RSA, cycle walking */
static uint64_t shuffle(uint64_t number, uint64_t n, uint64_t key)
{
    unsigned n_bits = 1;
    while ((n - 1U) >> (2U * n_bits) != 0U)
        n_bits++;
    do
        number = shuffle_bits(number, n_bits, key);
    while (number >= n);
    return number;
}

static uint64_t points_of(const struct rc_sampling *sampling)
{
    const uint64_t n_planned = sampling->n_planned > 0 ? sampling->n_planned : 16384;
    return (n_planned + RC_REPLICATES - 1U) / RC_REPLICATES;
}

static void draw(const struct rc_sampling *sampling, uint64_t seed, uint64_t flight, double *values)
{
    const uint64_t n_points = points_of(sampling);
    const uint64_t point = flight / RC_REPLICATES;
    const uint64_t cube = point / n_points * RC_REPLICATES + flight % RC_REPLICATES;
    const uint64_t cube_key = rc_stream_mix(rc_stream_mix(seed ^ UINT64_C(0x4C6174696E)) ^ cube);
    for (int index = 0; index < sampling->n; index++) {
        const uint64_t path_hash = sampling->quantity[index].path_hash;
        struct rc_pcg pcg = rc_stream_open(seed, flight, path_hash);
        const uint64_t stratum = shuffle(point % n_points, n_points, rc_stream_mix(cube_key ^ path_hash));
        values[index] = rc_plan_uniform(stratum, (double)n_points, rc_stream_uniform(&pcg));
    }
    rc_plan_values(sampling, values);
}

const struct rc_plan_kind rc_latin_plan = {
    .name = "latin",
    .summary = "Latin hypercubes in 16 replicates: each quantity evenly spread on its own; sharper means, little sharper odds",
    .n_replicates = RC_REPLICATES,
    .draw = draw,
};
