/* One build of the flight code behind a table of functions, so that builds which share all their names can be loaded side by
 * side in one process and take turns. */
#ifndef RC_FLIER_H
#define RC_FLIER_H

#include <stdint.h>

#include "measures/measures.h"

/* A row holds all measures, then how the flight ended. */
enum { FLIER_COLUMNS = RC_N_MEASURES + 1 };

/* Parts of a flight's time, as a build with `parts` counts them. */
enum flier_part {
    FLIER_DRAW, FLIER_SET_UP, FLIER_RIGHT_HAND_SIDE, FLIER_STEP, FLIER_PLATFORM, FLIER_OBSERVE, FLIER_ALL,
    FLIER_N_SLOPES, /* no time: how many right-hand sides of a block there were */ FLIER_N_PARTS
};

/* How CVODE goes about it. */
enum flier_solver { FLIER_ADAMS_FIXED_POINT, FLIER_ADAMS_NEWTON, FLIER_BDF_NEWTON, FLIER_N_SOLVERS,
                    FLIER_AS_WRITTEN = FLIER_N_SOLVERS /* Adams, as one would write it first: see advance_cvode.c */ };

struct flier;

struct flier_build {
    int lanes;
    /* Load a campaign and make its model; step_scale 1 takes the campaign's own. ends NULL with the reason on stderr. */
    struct flier *(*open)(const char *campaign, double step_scale);
    void (*close)(struct flier *flier);
    /* Band bins of one flight. */
    int (*cells)(const struct flier *flier);
    /* Draw and fly flights first .. first + n - 1. out rows (n x FLIER_COLUMNS), bins (n x cells), may be NULL */
    void (*fly)(struct flier *flier, int64_t first, int n, double *rows, uint16_t *bins);
};

#define FLIER_EXPORT __attribute__((visibility("default")))

/* What every build exports. */
FLIER_EXPORT const struct flier_build *flier_build(void);

/* Only of the build that takes times: clock ticks that each part has taken since the last call. out ticks (FLIER_N_PARTS) */
FLIER_EXPORT void flier_parts(double *ticks);

/* Only of the build with CVODE: choose method and relative tolerance for what is flown next. */
FLIER_EXPORT void flier_solve_with(enum flier_solver solver, double tolerance);

/* Only of the build with CVODE: right-hand sides and steps it has taken since the last call. */
FLIER_EXPORT void flier_counts(double *n_slopes, double *n_steps);

/* Inside the build that takes times: a part begins or ends, and a model is about to be flown. */
struct rc_model;
#ifdef FLIER_TIMED
void flier_enter(enum flier_part part);
void flier_leave(enum flier_part part);
void flier_adopt(struct rc_model *model);
#else
static inline void flier_enter(enum flier_part part)
{
    (void)part;
}
static inline void flier_leave(enum flier_part part)
{
    (void)part;
}
static inline void flier_adopt(struct rc_model *model)
{
    (void)model;
}
#endif

#endif
