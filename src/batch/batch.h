/* Front header of batch for the layers above it: designs flown on the same flights, each into a store of its own. Single runs
 * are in rollcast/run.h. */
#ifndef RC_BATCH_H
#define RC_BATCH_H

#include <stdint.h>

#include "base/base.h"
#include "rollcast/analysis.h"
#include "rollcast/campaign.h"
#include "rollcast/run.h"

/* How designs are flown. */
struct rc_design_run {
    const char *folder;                   /* of their stores                                             */
    int criterion;                        /* that counts: 0 .. rc_campaign_criteria_count() is all together */
    const struct rc_run_options *options; /* seed, threads, resume, stop, progress                       */
};

/* A campaign with some numbers, or some spreads, changed. out campaign caller frees with rc_campaign_free
 * ends as rc_campaign_vary, the first error of its issues as the error */
rc_status rc_designs_vary(rc_campaign **campaign, const rc_campaign *base, const struct rc_change *change, int n_changes,
                          struct rc_error *err) RC_MUST_CHECK;
rc_status rc_designs_reshape(rc_campaign **campaign, const rc_campaign *base, const struct rc_reshape *reshape, int n_reshapes,
                             struct rc_error *err) RC_MUST_CHECK;

/* How far a number of the campaign can go. */
struct rc_reach {
    double present, edge;   /* as the file has it, and the furthest value found that the campaign takes */
    int is_limit;           /* beyond the edge it takes none (to a thousandth); else the search ended   */
};

/* Go outward from the present value, in steps that double, until the campaign takes no more; where its table of quantities allows
 * a range for the number, no further than that.
 * in   direction  1 up, -1 down
 * ends RC_BAD_INPUT: no number at that path; it cannot go that way at all
 * cost makes the campaign some 30 times */
rc_status rc_designs_reach(struct rc_reach *reach, const rc_campaign *base, const char *path, int direction,
                           struct rc_error *err) RC_MUST_CHECK;

/* Read which of a store's first flights met a criterion.
 * in   criterion  as in struct rc_design_run
 * out  met        (n_flights) 1 where the flight met
 * ends RC_IO, RC_NO_MEMORY */
rc_status rc_designs_read(unsigned char *met, const rc_results *results, const rc_campaign *campaign, int criterion,
                          int64_t n_flights, struct rc_error *err) RC_MUST_CHECK;

/* The same of a store by its path, and how many met. out met may be NULL
 * ends RC_IO, RC_NOT_STORE, RC_NO_MEMORY */
rc_status rc_designs_marks(unsigned char *met, int64_t *n_met, const rc_campaign *campaign, int criterion, const char *path,
                           int64_t n_flights, struct rc_error *err) RC_MUST_CHECK;

/* Fly one design into its store FOLDER/NAME.h5, or go on with it, and mark the flights that meet the criterion.
 * in   name       of the store, without folder and ".h5"
 * in   n_flights  in the store at the end
 * out  met        (n_flights) 1 where the flight met, may be NULL; n_met
 * ends RC_BAD_INPUT (a plan other than plain, a stop rule, a rare rule; too long a path), and as rc_run_fly */
rc_status rc_designs_fly(const struct rc_design_run *run, const rc_campaign *campaign, const char *name, int64_t n_flights,
                         unsigned char *met, int64_t *n_met, struct rc_error *err) RC_MUST_CHECK;

/* One number of a campaign over a range, or two: every combination is a setting, the first number changing slowest. */
struct rc_sweep {
    int n_varied;                            /* 1 .. RC_SWEEP_VARIED */
    struct rc_sweep_range range[RC_SWEEP_VARIED];
};

/* How many settings a sweep has. */
int rc_sweep_count(const struct rc_sweep *sweep);

/* The values of a setting. out value (n_varied) */
void rc_sweep_values(double value[RC_SWEEP_VARIED], const struct rc_sweep *sweep, int setting);

/* Fly all settings, stores "001", "002", ...; all are read before the first is flown, so that a mistake shows at once.
 * out  met    (settings x n_flights); n_met (settings)
 * ends RC_BAD_INPUT (a path or a value that the campaign does not take), as rc_designs_fly */
rc_status rc_sweep_fly(unsigned char *met, int64_t *n_met, const struct rc_sweep *sweep, const struct rc_design_run *run,
                       const rc_campaign *base, int64_t n_flights, struct rc_error *err) RC_MUST_CHECK;

enum { RC_RELAX_VALUES = 16 };

/* A search for the least demanding value of a number. */
struct rc_relax {
    const struct rc_design_run *run;
    const rc_campaign *base;
    const char *path;
    double from, to;                /* demanding end, relaxed end */
    double need, confidence;        /* odds wanted, of all verdicts together */
    int64_t n_most;                 /* flights of a value, about */
    /* filled by the search */
    double met_at, missed_at;       /* the most relaxed value shown to meet, the least relaxed shown to miss; NAN = none was */
    double odds, low;               /* at met_at: estimate and one-sided bound at the share of risk of a look */
    int n_values;
    double value[RC_RELAX_VALUES];  /* (n_values) tried so far */
    int64_t flights;                /* flown in all */
};

/* Search by halving, each value on as few flights as a verdict takes. Odds are taken to fall from `from` to `to`.
 * in/out relax  filled down to n_most on entry
 * ends   as rc_designs_fly */
rc_status rc_relax_search(struct rc_relax *relax, struct rc_error *err) RC_MUST_CHECK;

#endif
