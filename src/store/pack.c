/* The packing of a chunk: the bytes of one place of all numbers at a time, in pieces; zlib lays a piece down as it is, codes its
 * bytes by how often they come up, or looks for runs of equal bytes. What comes up decides, so equal numbers give equal bytes
 * wherever zlib is the same. Which chunk it is, and where it goes, is the caller's. */
#include "pack.h"

#include <stdbool.h>

#include <zlib.h>

enum {
    PIECE = 1 << 15,         /* most bytes looked at together */
    N_BYTES = 8              /* of a number                   */
};

/* How zlib is to take a piece. */
struct way {
    int level, strategy;
};
static const struct way as_it_is = { Z_NO_COMPRESSION, Z_DEFAULT_STRATEGY };
static const struct way by_runs = { Z_BEST_SPEED, Z_RLE };
static const struct way by_bytes = { Z_BEST_SPEED, Z_HUFFMAN_ONLY };

/* Are two of three bytes like the one before? Then runs are worth looking for. */
static bool has_runs(const uint8_t *bytes, size_t n)
{
    size_t n_equal = 1;
    for (size_t at = 1; at < n; at++)
        n_equal += bytes[at] == bytes[at - 1];
    return 3 * n_equal >= 2 * n;
}

/* Are the bytes so evenly mixed that a code would take 7 bits for each or more? Squares of how often each comes up add up to
 * n^2 / 256 where all do alike, and to twice that with 7 bits. */
static bool is_noise(const uint8_t *bytes, size_t n)
{
    uint32_t part[4][256] = {{0}};
    uint64_t squares = 0;
    for (size_t at = 0; at + 4 <= n; at += 4) /* four lists, so that no addition waits for the one before */
        for (size_t list = 0; list < 4; list++)
            part[list][bytes[at + list]]++;
    for (size_t at = n / 4 * 4; at < n; at++)
        part[0][bytes[at]]++;
    for (int byte = 0; byte < 256; byte++) {
        const uint64_t count = part[0][byte] + part[1][byte] + part[2][byte] + part[3][byte];
        squares += count * count;
    }
    return 256 * squares < 2 * (uint64_t)n * n;
}

static struct way way_of(const uint8_t *bytes, size_t n)
{
    return has_runs(bytes, n) ? by_runs : (is_noise(bytes, n) ? as_it_is : by_bytes);
}

/* ends true if zlib took all of it */
static bool put_piece(z_stream *stream, uint8_t *bytes, size_t n)
{
    const struct way way = way_of(bytes, n);
    if (deflateParams(stream, way.level, way.strategy) != Z_OK)
        return false;
    stream->next_in = bytes;
    stream->avail_in = (uInt)n;
    return deflate(stream, Z_NO_FLUSH) == Z_OK && stream->avail_in == 0;
}

/* in  bits (n); ends true if all went in */
static bool put_numbers(z_stream *stream, const uint64_t *bits, size_t n)
{
    uint8_t piece[PIECE];
    for (unsigned shift = 0; shift < 8 * N_BYTES; shift += 8)
        for (size_t first = 0; first < n; first += PIECE) {
            const size_t n_piece = n - first < PIECE ? n - first : PIECE;
            for (size_t at = 0; at < n_piece; at++)
                piece[at] = (uint8_t)(bits[first + at] >> shift);
            if (!put_piece(stream, piece, n_piece))
                return false;
        }
    return deflate(stream, Z_FINISH) == Z_STREAM_END;
}

size_t rc_pack_room(size_t n)
{
    /* Where nothing packs zlib adds 5 bytes to at most each 16 kB, and a byte or two at a change of ways. */
    enum { ENDS = 64, CHANGE = 64, KB = 1024, A_KB = 8 };
    return ENDS + N_BYTES * (n + CHANGE * (n / PIECE + 1) + A_KB * (n / KB));
}

size_t rc_pack_numbers(uint8_t *packed, const uint64_t *bits, size_t n)
{
    enum { WINDOW_BITS = 13, MEMORY = 6 }; /* as much as a piece of 4,096 bytes can use */
    z_stream stream = { .avail_out = (uInt)rc_pack_room(n) };
    stream.next_out = packed;
    if (deflateInit2(&stream, Z_BEST_SPEED, Z_DEFLATED, WINDOW_BITS, MEMORY, Z_DEFAULT_STRATEGY) != Z_OK)
        return 0;
    const bool is_whole = put_numbers(&stream, bits, n);
    const size_t n_packed = stream.total_out;
    (void)deflateEnd(&stream);
    return is_whole ? n_packed : 0;
}
