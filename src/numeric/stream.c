/* Streams keyed by (seed, flight, name): a splitmix64 chain gives the generator's state and its stream number.
 * Chaining all three through the mixer, instead of numbering streams by flight, is what keeps neighbours uncorrelated. */
#include "stream.h"

/* 2^64 / golden ratio, odd: the increment of splitmix64. source Steele, Lea and Flood 2014, OOPSLA, p. 453 */
static const uint64_t golden_gamma = 0x9E3779B97F4A7C15ULL;

uint64_t rc_stream_mix(uint64_t state)
{
    uint64_t mixed = state + golden_gamma;
    mixed = (mixed ^ (mixed >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    mixed = (mixed ^ (mixed >> 27U)) * 0x94D049BB133111EBULL;
    return mixed ^ (mixed >> 31U);
}

struct rc_pcg rc_stream_open(uint64_t seed, uint64_t flight, uint64_t name_hash)
{
    const uint64_t by_seed = rc_stream_mix(seed);
    const uint64_t by_flight = rc_stream_mix(by_seed ^ flight);
    const uint64_t key = rc_stream_mix(by_flight ^ name_hash);
    return rc_pcg_init(rc_stream_mix(key), rc_stream_mix(key + golden_gamma));
}

double rc_stream_uniform(struct rc_pcg *pcg)
{
    const uint32_t high = rc_pcg_next(pcg) >> 6U;
    const uint32_t low = rc_pcg_next(pcg) >> 6U;
    return ((double)high * 67108864.0 + (double)low + 0.5) / 4503599627370496.0; /* 2^26 and 2^52 */
}
