/* Importance sampling against the repeats of subset simulation that led it, which are independent of its flights. */
#include "witness.h"

#include <math.h>

#include "repeats.h"

/* Failing flights that the weights must amount to, all repeats together. */
static const double least_effective = 400.0;

/* Share of the failures that the mixture may miss, in halves of the interval's width; above, the interval does not tell the
 * truth. */
static const double most_missed = 0.5;

/* So many times that share widens the upper side: where it is hardly reached, flights just short of the weightiest lack too. */
static const double widening = 2.0;

/* Where intervals of the sampling and of what led it at this confidence part, they disagree. */
static const double parting_confidence = 0.99;

/* Mean and interval of repeats at that confidence. */
static struct rc_rare surely(const double *odds, const struct rc_rare_options *options)
{
    struct rc_rare rare = rc_repeats_nothing();
    struct rc_rare_options surer = *options;
    surer.confidence = parting_confidence;
    rc_repeats_summarise(&rare, odds, &surer);
    return rare;
}

void rc_witness_judge(struct rc_rare *found, const struct rc_witness *witness, const struct rc_rare_options *options)
{
    const struct rc_rare sampled = surely(witness->odds, options), led = surely(witness->led, options);
    if (witness->effective < least_effective) {
        rc_repeats_refuse(found,
                          "the weights hang on %.0f flights' worth of failures, wanted %.0f: fly more per level, or use --rare "
                          "subset", witness->effective, least_effective);
    } else if (witness->missed * found->odds > most_missed * 0.5 * (found->high - found->low)) {
        rc_repeats_refuse(found,
                          "%.2g %% of the failures that led here lie where hardly a flight was drawn: fly more per level, or use "
                          "--rare subset", 100.0 * witness->missed);
    } else if (led.is_supported && (led.high < sampled.low || led.low > sampled.high)) {
        rc_repeats_refuse(found,
                          "sampling gives %.3g, the repeats that led it %.3g, which is no chance: fly more per level, or use "
                          "--rare subset", sampled.odds, led.odds);
    } else {
        const double more = widening * witness->missed * found->odds;
        found->high = fmin(found->high + more, 1.0);
        found->bound_high = fmin(found->bound_high + more, 1.0);
    }
}
