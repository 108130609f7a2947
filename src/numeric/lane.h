/* Lanes: RC_LANES flights side by side, one array element each. A lane loop has no branch on one lane's values, so that the
 * compiler turns it into vector code; nothing is ever added up across lanes, so that no flight depends on its block-mates. */
#ifndef RC_LANE_H
#define RC_LANE_H

#include <stdint.h>

#ifndef RC_LANES
#define RC_LANES 16
#endif

/* Whole vectors start on cache lines: a misaligned block makes the compiler peel scalar iterations. */
#define RC_LANE_ALIGN (RC_LANES >= 8 ? 64 : 8 * RC_LANES)

typedef double rc_lane[RC_LANES] __attribute__((aligned(RC_LANE_ALIGN)));
typedef uint64_t rc_lane_bits[RC_LANES] __attribute__((aligned(RC_LANE_ALIGN)));

/* for (int lane = 0 ..) as vector code. */
#define RC_FOR_LANES(lane) _Pragma("omp simd") for (int lane = 0; lane < RC_LANES; lane++)

/* What a lane loop calls must be inlined into it, in that loop's instruction set, or the loop stays scalar. */
#if defined(__GNUC__)
#define RC_INLINE static inline __attribute__((always_inline))
#else
#define RC_INLINE static inline
#endif

/* Functions with lane loops are built once per instruction set and chosen when the program starts. Without contraction and
 * reassociation (see rc_math in src/modules.cmake) all of them give the same bits. */
#if defined(RC_DISPATCH) && defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__)
#define RC_KERNEL __attribute__((target_clones("arch=x86-64-v4", "arch=x86-64-v3", "default")))
#else
#define RC_KERNEL
#endif

#endif
