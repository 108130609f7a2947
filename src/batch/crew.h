/* A run on several ranks: rank 0 hands out units of flights and takes their rows, in order; the others fly them. How messages
 * travel is in ranks/. A unit's rows do not depend on who flew it. */
#ifndef RC_CREW_H
#define RC_CREW_H

#include "frame.h"
#include "ranks/ranks.h"
#include "worker.h"

/* What every rank is told before the first unit; the campaign's files follow. */
struct rc_crew_job {
    uint64_t seed, fingerprint, version;  /* version: a hash of its text                          */
    int64_t is_over;                      /* there is no job: leave                               */
    int64_t first, rows, n_unit;          /* flight of row 0; rows to fly in all; flights of a unit */
    int64_t n_bytes;                      /* of the campaign's files, as rc_crew_pack makes them  */
};

/* What stands before the rows that come back. */
struct rc_crew_result {
    int64_t unit, status;   /* an rc_status; where it is not RC_OK a text follows in place of rows */
};

/* What a unit is asked by: its number, or -1 when there is none left. */
enum { RC_CREW_NO_UNIT = -1, RC_CREW_TEXT = RC_ERROR_WHAT };

/* What becomes of a unit. In order of their numbers.
 * in   is_whole  false: it was not flown to its end */
typedef void rc_crew_hand_in(void *user, const struct rc_worker_unit *unit, bool is_whole);

/* A run as rank 0 sees it. */
struct rc_crew {
    struct rc_frame *frame;
    const struct rc_worker_plan *plan;
    int n_unit;
    int64_t first_row;           /* row of unit 0 */
    rc_crew_hand_in *hand_in;
    bool (*is_over)(void *user); /* no further unit is wanted */
    void *user;
};

/* Fly all units on the other ranks.
 * ends when every unit is handed in, or none is wanted any more; what went wrong is in the frame */
void rc_crew_fly(const struct rc_crew *crew);

/* Bytes of one unit's result with all its rows and bins. */
size_t rc_crew_result_bytes(const struct rc_worker_plan *plan, int64_t n_unit);

/* Write a campaign's files into a text that can be sent, and read it back.
 * out  packed  ends with rc_text_free;  bundle  with rc_bundle_free
 * ends RC_NO_MEMORY; RC_INTERNAL where the text is none */
rc_status rc_crew_pack(struct rc_text *packed, const struct rc_bundle *bundle, struct rc_error *err) RC_MUST_CHECK;
rc_status rc_crew_unpack(struct rc_bundle *bundle, const char *bytes, size_t n_bytes, struct rc_error *err) RC_MUST_CHECK;

/* A hash of this program's version: ranks of another one give no rows. */
uint64_t rc_crew_version(void);

#endif
