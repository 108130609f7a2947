/* Cheap standardised deviates for noise that is drawn thousands of times a flight. */
#ifndef RC_NOISE_H
#define RC_NOISE_H

#include <stdint.h>

#include "lane.h"
#include "pcg.h"

/* Sum of the four bytes of a word. */
RC_INLINE uint32_t rc_noise_byte_sum(uint32_t word)
{
    const uint32_t pairs = (word & 0x00ff00ffU) + ((word >> 8) & 0x00ff00ffU);
    return (pairs & 0xffffU) + (pairs >> 16);
}

/* A standardised deviate: the sum of eight uniform bytes of two PCG words, mean 1020, variance 8 (256^2 - 1) / 12.
 * Exact mean and variance, excess kurtosis -0.15, largest 4.9 standard deviations: for noise only, not for uncertain quantities.
 * in/out state  of the lane's generator; in increment */
RC_INLINE double rc_noise_deviate(uint64_t *state, uint64_t increment)
{
    const uint64_t first = *state;
    const uint64_t second = first * RC_PCG_MULTIPLIER + increment;
    *state = second * RC_PCG_MULTIPLIER + increment;
    const uint32_t sum = rc_noise_byte_sum(rc_pcg_output(first)) + rc_noise_byte_sum(rc_pcg_output(second));
    return ((double)(int32_t)sum - 1020.0) * (1.0 / 209.02152999152983);
}

/* How a generator gets past deviates that nobody wants: state = state * multiplier + increment * addend. */
struct rc_noise_jump {
    uint64_t multiplier, addend;
};

/* The jump over n deviates. in n >= 0, small: it is worked out step by step */
static inline struct rc_noise_jump rc_noise_jump_over(int64_t n)
{
    struct rc_noise_jump jump = { 1, 0 };
    for (int64_t word = 0; word < 2 * n; word++) {
        jump.multiplier *= RC_PCG_MULTIPLIER;
        jump.addend = jump.addend * RC_PCG_MULTIPLIER + 1;
    }
    return jump;
}

#endif
