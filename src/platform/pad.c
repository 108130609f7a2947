/* Nudges on the pad, one by one: nothing else happens to a drive there. */
#include "pad.h"

#include <math.h>

#include "base/base.h"
#include "numeric/stream.h"

double rc_pad_idle(const struct rc_platform_setup *setup)
{
    const struct rc_drive_design *const drive = setup->drive;
    const double interval = fmax(drive->nudge_interval, RC_PAD_NUDGE_LEAST), sleep_after = drive->sleep_after;
    if (!(drive->nudge_interval > 0.0) || !(sleep_after > 0.0) || !(drive->nudge_odds > 0.0))
        return setup->powered;
    const double n_nudges = floor(setup->powered / interval);
    if (drive->nudge_odds >= 1.0)
        return interval < sleep_after ? setup->powered - n_nudges * interval : setup->powered;
    static const char name[] = "noise/nudges";
    struct rc_pcg stream = rc_stream_open(setup->seed, setup->flight, rc_hash_bytes(RC_FNV_START, name, sizeof name - 1));
    double kept_awake = 0.0; /* when it last was [s] */
    for (double nudge = 1.0; nudge <= n_nudges; nudge += 1.0) {
        if (nudge * interval - kept_awake >= sleep_after)
            break;
        if (rc_pcg_next(&stream) * (1.0 / 4294967296.0) < drive->nudge_odds)
            kept_awake = nudge * interval;
    }
    return setup->powered - kept_awake;
}
