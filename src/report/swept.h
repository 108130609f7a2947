/* The settings of a trade, read back from the folder that it flew them into. */
#ifndef RC_SWEPT_H
#define RC_SWEPT_H

#include "base/base.h"
#include "rollcast/analysis.h"
#include "rollcast/campaign.h"
#include "rollcast/report.h"
#include "trade.h"

/* What stands in the folder. Settings are in the order flown: the first path's value changes slowest. */
struct rc_swept {
    int n, n_varied;
    int count[RC_SWEEP_VARIED];                     /* values of each path                                */
    char path[RC_SWEEP_VARIED][RC_MAX_PATH_TEXT];   /* of the numbers varied                              */
    double (*value)[RC_SWEEP_VARIED];               /* (n)                                                */
    int64_t n_flights;                              /* of each setting                                    */
    int64_t *n_met;                                 /* (n)                                                */
    struct rc_range *band;                          /* (n) holds all settings' odds at once               */
    int *may_be_best;                               /* (n)                                                */
    int best;                                       /* of greatest odds                                   */
    struct rc_trade_criterion criterion;            /* that counts; its confidence is the band's           */
    rc_campaign *campaign;                          /* of the first setting                               */
};

/* Read it.
 * out  swept  ends with rc_swept_free, also on error
 * ends RC_BAD_INPUT (no folder of a sweep, settings of different trades or lengths, no such criterion), RC_IO, RC_NOT_STORE,
 *      RC_NO_MEMORY; err names the store
 * cost as rc_pairing_band; reads the criteria's columns; a byte for each flight of each setting */
rc_status rc_swept_gather(struct rc_swept *swept, const struct rc_report_swept *asked, struct rc_error *err) RC_MUST_CHECK;

/* Release it. */
void rc_swept_free(struct rc_swept *swept);

/* Is a campaign that of the trade, but for the numbers varied? out value its own, in the trade's order
 * ends RC_BAD_INPUT (it is of another design: err says where it differs), RC_NO_MEMORY */
rc_status rc_swept_place(double value[RC_SWEEP_VARIED], const struct rc_swept *swept, const rc_campaign *campaign,
                         struct rc_error *err) RC_MUST_CHECK;

#endif
