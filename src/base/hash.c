/* FNV-1a: a small stable hash for names and fingerprints. Not for adversaries. */
#include "base.h"

uint64_t rc_hash_bytes(uint64_t hash, const void *bytes, size_t n_bytes)
{
    const unsigned char *byte = bytes;
    for (size_t index = 0; index < n_bytes; index++) {
        hash ^= byte[index];
        hash *= 1099511628211ULL;
    }
    return hash;
}
