/* PCG32 (XSH-RR 64/32): the published generator, small and exact. Keyed streams are in stream.h. */
#ifndef RC_PCG_H
#define RC_PCG_H

#include <stdint.h>

/* 6364136223846793005: the published multiplier. source O'Neill 2014, HMC-CS-2014-0905 */
#define RC_PCG_MULTIPLIER 6364136223846793005ULL

struct rc_pcg {
    uint64_t state;
    uint64_t increment; /* odd */
};

/* Start a generator as the published reference does: state 0, increment 2*stream+1, step, add seed, step. */
struct rc_pcg rc_pcg_init(uint64_t seed, uint64_t stream);

/* The next 32 bits: permutes the old state, then steps. Bits 0..31 of a uint64_t so that lane loops share it. */
static inline uint32_t rc_pcg_output(uint64_t state)
{
    const uint32_t xorshifted = (uint32_t)(((state >> 18U) ^ state) >> 27U);
    const uint32_t rotation = (uint32_t)(state >> 59U);
    return (xorshifted >> rotation) | (xorshifted << ((32U - rotation) & 31U));
}

/* The next 32 bits of a generator, which steps. */
uint32_t rc_pcg_next(struct rc_pcg *pcg);

/* Jump ahead by `n` steps in O(log n). source Brown 1994, as in the published reference */
void rc_pcg_advance(struct rc_pcg *pcg, uint64_t n);

#endif
