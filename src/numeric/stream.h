/* Keyed random streams: a number depends on (seed, flight, name) and on nothing else. */
#ifndef RC_STREAM_H
#define RC_STREAM_H

#include <stdint.h>

#include "pcg.h"

/* One output of the splitmix64 mixer for a state. source Steele, Lea, Flood 2014; vectors in tests/reference/pcg_uniforms.csv */
uint64_t rc_stream_mix(uint64_t state);

/* The generator of one stream. State and stream number both come from a splitmix64 chain over seed, flight and name, since
 * numbering PCG streams by flight alone correlates them (docs/theory.md, "Random streams").
 * in   seed       the campaign run's master seed
 * in   flight     flight number
 * in   name_hash  rc_hash_bytes of the quantity's path or the noise source's name */
struct rc_pcg rc_stream_open(uint64_t seed, uint64_t flight, uint64_t name_hash);

/* A uniform number strictly inside (0, 1) from two words a, b: ((a>>6) 2^26 + (b>>6) + 0.5) / 2^52; 1 minus it is exact too. */
double rc_stream_uniform(struct rc_pcg *pcg);

#endif
