/* Plain random sampling: every quantity of every flight has a stream of its own, so that neither the number of quantities nor
 * their order touches any other draw. */
#include <math.h>

#include "sampling/sampling.h"

extern const struct rc_plan_kind rc_plain_plan;

static void draw(const struct rc_sampling *sampling, uint64_t seed, uint64_t flight, double *values)
{
    for (int index = 0; index < sampling->n; index++) {
        const struct rc_uncertain *quantity = &sampling->quantity[index];
        struct rc_pcg pcg = rc_stream_open(seed, flight, quantity->path_hash);
        const double value = rc_distribution_value(&quantity->distribution, rc_stream_uniform(&pcg));
        values[index] = fmin(fmax(value, quantity->low), quantity->high);
    }
}

const struct rc_plan_kind rc_plain_plan = {
    .name = "plain",
    .summary = "independent random draws: intervals for odds are exact",
    .draw = draw,
};
