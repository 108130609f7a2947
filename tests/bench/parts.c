/* Takes the time of each part of a flight. The linker puts these in place of the functions they are named after (--wrap); the
 * drive is watched through the model. Times are of this thread's whole block, so lanes share them. */
#include "flier.h"

#include <string.h>
#if defined(__x86_64__)
#include <x86intrin.h>
#else
#include <time.h>
#endif

#include "flight/lanes.h"

static double spent[FLIER_N_PARTS];
static double begun[FLIER_N_PARTS];
static const struct rc_drive_kind *true_drive;
static struct rc_drive_kind watched_drive;

static double now(void)
{
#if defined(__x86_64__)
    return (double)__rdtsc();
#else
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return 1e9 * (double)time.tv_sec + (double)time.tv_nsec;
#endif
}

void flier_enter(enum flier_part part)
{
    begun[part] = now();
    if (part == FLIER_ALL) /* a flight begins with its set-up, which ends in rc_advance_begin */
        begun[FLIER_SET_UP] = begun[part];
}

void flier_leave(enum flier_part part)
{
    spent[part] += now() - begun[part];
    spent[FLIER_N_SLOPES] += part == FLIER_RIGHT_HAND_SIDE;
}

void flier_parts(double *ticks)
{
    /* The step's own work is what is left of it without the right-hand sides inside; drawing is no part of the flight. */
    memcpy(ticks, spent, sizeof spent);
    ticks[FLIER_STEP] -= ticks[FLIER_RIGHT_HAND_SIDE];
    ticks[FLIER_ALL] += ticks[FLIER_DRAW];
    memset(spent, 0, sizeof spent);
}

static void watched_run(struct rc_platform_lanes *platform, const struct rc_platform_clock *clock,
                        const struct rc_platform_stretch *stretch)
{
    flier_enter(FLIER_PLATFORM);
    true_drive->run(platform, clock, stretch);
    flier_leave(FLIER_PLATFORM);
}

void flier_adopt(struct rc_model *model)
{
    true_drive = model->drive;
    watched_drive = *true_drive;
    watched_drive.run = watched_run;
    model->drive = &watched_drive;
}

/* The linker's names: the true function is __real_<name>, its stand-in __wrap_<name>. */
#define WATCH(part, name, parameters, arguments)   \
    void __real_##name parameters;                 \
    void __wrap_##name parameters;                 \
    void __wrap_##name parameters                  \
    {                                              \
        flier_enter(part);                         \
        __real_##name arguments;                   \
        flier_leave(part);                         \
    }

WATCH(FLIER_RIGHT_HAND_SIDE, rc_derive_state,
      (struct rc_block *block, const rc_lane *y, const struct rc_moment_lanes *at, rc_lane *slope), (block, y, at, slope))
WATCH(FLIER_RIGHT_HAND_SIDE, rc_derive_slope,
      (struct rc_block *block, const rc_lane *y, const struct rc_moment_lanes *at, rc_lane *slope), (block, y, at, slope))
WATCH(FLIER_STEP, rc_advance_look, (struct rc_block *block), (block))
WATCH(FLIER_STEP, rc_advance_step, (struct rc_block *block), (block))
WATCH(FLIER_OBSERVE, rc_observe_peaks, (struct rc_block *block), (block))
WATCH(FLIER_OBSERVE, rc_observe_bands, (struct rc_block *block, int index), (block, index))

void __real_rc_advance_begin(struct rc_block *block);
void __wrap_rc_advance_begin(struct rc_block *block);
void __wrap_rc_advance_begin(struct rc_block *block)
{
    __real_rc_advance_begin(block);
    flier_leave(FLIER_SET_UP);
}
