/* Packing a chunk of numbers of eight bytes so that HDF5's own filters, shuffle and deflate, unpack it: any HDF5 reads it.
 * HDF5 would pack a chunk whole, at 5 us a flight; most bytes of measured numbers are noise that nothing packs. Here the bytes
 * of each place in the numbers are looked at apart: noise is laid down as it is, the rest gets a code of its own. Needs no
 * library, so the bytes are the same everywhere. */
#ifndef RC_PACK_H
#define RC_PACK_H

#include <stddef.h>
#include <stdint.h>

/* Room that always suffices for n packed numbers [byte]. */
size_t rc_pack_room(size_t n);

/* Pack numbers, given as their bits; on disk they are little-endian.
 * out    packed  (rc_pack_room(n)) a zlib stream of the numbers' first bytes, then their second bytes, and so on
 * in     bits    (n), n > 0
 * ends   bytes packed
 * cost   time in proportion to n; 36 kB of stack
 * source RFC 1950 (stream, checksum), RFC 1951 (blocks, codes, runs) */
size_t rc_pack_numbers(uint8_t *packed, const uint64_t *bits, size_t n);

#endif
