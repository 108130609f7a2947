/* Packing a chunk of numbers of eight bytes so that HDF5's own filters, shuffle and deflate, unpack it: any HDF5 reads it.
 * HDF5 would have zlib search a whole chunk for what it has seen before; most bytes of measured numbers are noise in which
 * nothing is found. Here zlib is told apart, for the bytes of each place in the numbers, how hard to try. */
#ifndef RC_PACK_H
#define RC_PACK_H

#include <stddef.h>
#include <stdint.h>

/* Room that always suffices for n packed numbers [byte]. */
size_t rc_pack_room(size_t n);

/* Pack numbers, given as their bits; on disk they are little-endian.
 * out    packed  (rc_pack_room(n)) a zlib stream of the numbers' first bytes, then their second bytes, and so on
 * in     bits    (n), n > 0
 * ends   bytes packed; 0 where zlib found no memory
 * cost   time in proportion to n; 36 kB of stack and zlib's 270 kB
 * source the stream is RFC 1950's and RFC 1951's, made by zlib */
size_t rc_pack_numbers(uint8_t *packed, const uint64_t *bits, size_t n);

#endif
