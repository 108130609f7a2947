/* PCG32 (XSH-RR 64/32) after the published minimal implementation. source O'Neill 2014, HMC-CS-2014-0905.
 * Which generator belongs to which number is left to stream.c. */
#include "pcg.h"

struct rc_pcg rc_pcg_init(uint64_t seed, uint64_t stream)
{
    struct rc_pcg pcg = {.state = 0, .increment = (stream << 1U) | 1U};
    (void)rc_pcg_next(&pcg);
    pcg.state += seed;
    (void)rc_pcg_next(&pcg);
    return pcg;
}

uint32_t rc_pcg_next(struct rc_pcg *pcg)
{
    const uint64_t old = pcg->state;
    pcg->state = old * RC_PCG_MULTIPLIER + pcg->increment;
    return rc_pcg_output(old);
}

void rc_pcg_advance(struct rc_pcg *pcg, uint64_t n)
{
    uint64_t multiplier = RC_PCG_MULTIPLIER; /* of 2^k steps at once, k = 0, 1, ... */
    uint64_t increment = pcg->increment;
    uint64_t all_multiplier = 1; /* of the steps chosen so far */
    uint64_t all_increment = 0;
    for (uint64_t left = n; left > 0; left >>= 1U) {
        if (left & 1U) {
            all_multiplier *= multiplier;
            all_increment = all_increment * multiplier + increment;
        }
        increment *= multiplier + 1;
        multiplier *= multiplier;
    }
    pcg->state = all_multiplier * pcg->state + all_increment;
}
