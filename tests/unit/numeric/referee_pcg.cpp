/* Our generator against the packaged reference implementation, the C++ header pcg_random.hpp (Debian libpcg-cpp-dev), on a few
 * hundred seeds and streams, with jumps. */
extern "C" {
#include "numeric/pcg.h"
}

#include <cinttypes>
#include <cstdio>
#include <pcg_random.hpp>

namespace {

int n_wrong = 0;

void compare(std::uint64_t seed, std::uint64_t stream, std::uint64_t jump)
{
    pcg32 theirs(seed, stream);
    struct rc_pcg ours = rc_pcg_init(seed, stream);
    for (int round = 0; round < 3; round++) {
        for (int index = 0; index < 50; index++) {
            if (theirs() != rc_pcg_next(&ours))
                n_wrong++;
        }
        theirs.advance(jump);
        rc_pcg_advance(&ours, jump);
    }
    if (n_wrong > 0)
        std::fprintf(stderr, "differs at seed %" PRIu64 ", stream %" PRIu64 ", jump %" PRIu64 "\n", seed, stream, jump);
}

}

int main()
{
    const std::uint64_t jumps[] = {0, 1, 2, 3, 1000, 1ULL << 32, 1ULL << 48, 0x123456789abcdefULL, ~0ULL};
    std::uint64_t seed = 1;
    int n_compared = 0;
    for (int round = 0; round < 40 && n_wrong == 0; round++) {
        for (const std::uint64_t jump : jumps) {
            compare(seed, seed >> 7, jump);
            seed = seed * 6364136223846793005ULL + 99; /* any spread of test cases will do */
            n_compared++;
        }
    }
    std::printf("%d generators compared, %d outputs differ\n", n_compared, n_wrong);
    return n_wrong == 0 && n_compared == 360 ? 0 : 1;
}
