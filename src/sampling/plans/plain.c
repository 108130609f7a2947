/* Plain random sampling: every quantity of every flight has a stream of its own, so that neither the number of quantities nor
 * their order touches any other draw. */
#include "sampling/sampling.h"

extern const struct rc_plan_kind rc_plain_plan;

static void draw(const struct rc_sampling *sampling, uint64_t seed, uint64_t flight, double *values)
{
    for (int index = 0; index < sampling->n; index++) {
        struct rc_pcg pcg = rc_stream_open(seed, flight, sampling->quantity[index].path_hash);
        values[index] = rc_stream_uniform(&pcg);
    }
    rc_plan_values(sampling, values);
}

const struct rc_plan_kind rc_plain_plan = {
    .name = "plain",
    .summary = "independent random draws: intervals for odds are exact",
    .draw = draw,
};
