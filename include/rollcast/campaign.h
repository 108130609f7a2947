/* A campaign: one JSON file and the tables it names, read, checked and made ready to fly. Opaque and constant. */
#ifndef ROLLCAST_CAMPAIGN_H
#define ROLLCAST_CAMPAIGN_H

#include <stdint.h>

#include "rollcast/status.h"

typedef struct rc_campaign rc_campaign;

/* Read a campaign file and the tables it names (their paths are relative to the campaign's folder).
 * out  campaign  caller frees with rc_campaign_free; untouched on error
 * in   path      the JSON file; "-" is standard input
 * out  issues    every error and warning found, capped; may not be NULL
 * ends RC_NO_FILE, RC_BAD_INPUT (issues say what), RC_NO_MEMORY */
rc_status rc_campaign_load(rc_campaign **campaign, const char *path, struct rc_issues *issues) RC_MUST_CHECK;

/* One number of a campaign file to be replaced. */
struct rc_change {
    const char *path;   /* of a number in the file: "drive.deadband_dps", or "drive.deadband_dps.mean" inside a distribution */
    double value;       /* in the file's unit                                                                              */
};

/* A campaign with some of its numbers replaced, named after them; all else, tables and seed too, stays.
 * out  campaign  caller frees with rc_campaign_free; untouched on error
 * out  issues    as for rc_campaign_load; a path that leads to no number, a value that the campaign does not take
 * ends RC_BAD_INPUT, RC_NO_MEMORY */
rc_status rc_campaign_vary(rc_campaign **campaign, const rc_campaign *base, const struct rc_change *change, int n_changes,
                           struct rc_issues *issues) RC_MUST_CHECK;

/* A distribution of a campaign file to be given another spread or place: a value becomes median + factor (value - median) +
 * shift. */
struct rc_reshape {
    const char *path;     /* of the entry in the file: rc_quantity_view.given                                            */
    double factor, shift; /* on top of what the entry says itself; shift in the quantity's unit                          */
};

/* A campaign with some spreads changed: by `spread_factor` and `shift` in its text, so that a store of it explains itself. All
 * else stays, so that flights of the same seed and number have the same draws.
 * ends and issues as rc_campaign_vary; an entry that is no distribution */
rc_status rc_campaign_reshape(rc_campaign **campaign, const rc_campaign *base, const struct rc_reshape *reshape, int n_reshapes,
                              struct rc_issues *issues) RC_MUST_CHECK;

/* The number that stands at a path of the file.
 * out  issues  why there is none
 * ends RC_BAD_INPUT, RC_NO_MEMORY */
rc_status rc_campaign_number(double *value, const rc_campaign *base, const char *path, struct rc_issues *issues) RC_MUST_CHECK;

/* The unit of the number at a path of the file: of a parameter of a distribution it is the quantity's, unless the parameter is a
 * plain number; of a criterion's limit its measure's. ends "1" for a plain number, and where neither stands at the path;
 * borrowed */
const char *rc_campaign_unit(const rc_campaign *campaign, const char *path);

/* Release a campaign. NULL is fine. */
void rc_campaign_free(rc_campaign *campaign);

/* Name and one-line purpose as the file gives them; borrowed, never NULL. */
const char *rc_campaign_name(const rc_campaign *campaign);
const char *rc_campaign_purpose(const rc_campaign *campaign);

/* One number of a campaign over a range. */
struct rc_sweep_range {
    char path[96];      /* as rc_change.path               */
    double from, to;    /* both ends are taken             */
    int count;          /* values, at least 2              */
};
enum { RC_SWEEP_VARIED = 2, RC_SWEEP_VALUES = 64, RC_SWEEP_SETTINGS = 256 }; /* numbers; values of each; settings in all */

/* The sweep that the file gives for `trade`: how many numbers it varies (0: it gives none), and number `index` of them. */
int rc_campaign_sweep_count(const rc_campaign *campaign);
struct rc_sweep_range rc_campaign_sweep(const rc_campaign *campaign, int index);

/* What the costs of tightening are counted in, as the file gives it; empty where it does not; borrowed. */
const char *rc_campaign_cost_unit(const rc_campaign *campaign);

/* Flights and master seed the file asks for. */
int64_t rc_campaign_flights(const rc_campaign *campaign);
uint64_t rc_campaign_seed(const rc_campaign *campaign);

/* Fingerprint over the campaign's text and tables: two stores with the same one hold the same campaign. */
uint64_t rc_campaign_fingerprint(const rc_campaign *campaign);

/* A limit on a measure and the odds it must be met with. */
struct rc_criterion {
    char name[64];       /* as the file gives it                                  */
    int measure;         /* row of the measure table                              */
    double at_least;     /* -INFINITY where no lower limit is set, measure's unit */
    double at_most;      /* +INFINITY where no upper limit is set                 */
    double odds;         /* share of flights that must meet it, 0 .. 1            */
    double confidence;   /* confidence asked for, 0 .. 1                          */
};

/* The criteria, in file order; row `rc_campaign_criteria_count` does not exist. The last one is never "all together". */
int rc_campaign_criteria_count(const rc_campaign *campaign);
const struct rc_criterion *rc_campaign_criterion(const rc_campaign *campaign, int index);

/* Odds and confidence asked for all criteria together (name "all together", no limits). */
const struct rc_criterion *rc_campaign_all_together(const rc_campaign *campaign);

/* When a run ends before all its flights are flown; zeros: never. */
struct rc_stop_rule {
    double width;      /* once the interval of every row of the answer is at most this wide, 0 .. 1            */
    double seconds;    /* once it has flown for this long [s]                                                  */
    int on_verdict;    /* once the verdict is GO or NO-GO                                                      */
    int64_t most;      /* flights it was settled for: where it looks under a replicated plan follows from them */
};

/* Methods for the odds of rare failures, one row each: ROW(identifier, name in campaigns and options, name in words, function
 * that runs it, function that tells the most flights it takes); the functions are those of rollcast/rare.h. */
#define RC_RARE_METHODS(ROW)                                                                                                     \
    ROW(SUBSET, "subset", "subset simulation", rc_subset_simulate, rc_subset_most)                                               \
    ROW(IMPORTANCE, "importance", "importance sampling", rc_importance_sample, rc_importance_most)

#define RC_RARE_IDENTIFIER(id, name, label, run, most) RC_RARE_##id,
enum rc_rare_method { RC_RARE_NONE = 0, RC_RARE_METHODS(RC_RARE_IDENTIFIER) RC_RARE_METHODS_END };
#undef RC_RARE_IDENTIFIER

/* How a run goes after the odds of failing one criterion, where those are rare. */
struct rc_rare_rule {
    enum rc_rare_method method;
    int criterion;     /* 0 .. rc_campaign_criteria_count() - 1; -1 not said      */
    int per_level;     /* flights of a level                                      */
    int repeats;       /* independent repeats                                     */
    int steps;         /* version of the method's steps that a store tells; 0: these */
};

/* The one that the file gives. */
struct rc_rare_rule rc_campaign_rare_rule(const rc_campaign *campaign);

/* The rule that the file gives; its `most` is rc_campaign_flights. */
struct rc_stop_rule rc_campaign_stop_rule(const rc_campaign *campaign);

/* One number of the campaign as read: for `check` and for the reference page. */
struct rc_quantity_view {
    char path[96];             /* "fins[0].cant_deg"                                                */
    char given[96];            /* the entry of the file it is from; one may stand for every fin     */
    const char *unit;          /* "deg"                                                             */
    const char *meaning;       /* one line                                                          */
    double value;              /* fixed value, or the distribution's median, in the unit above      */
    double low, high;          /* allowed range                                                     */
    int is_uncertain;          /* drawn anew for each flight                                        */
    int is_default;            /* the file does not give it                                         */
    char follows[96];          /* path of the uncertain number that this default goes with, empty where it does not */
    double share;              /* of that number                                                    */
    char distribution[160];    /* "normal(mean 0, sd 0.05)", empty where fixed                      */
    double cost_to_halve;      /* its spread, in rc_campaign_cost_unit; NAN where the file gives none */
    double cost_to_remove;     /* likewise                                                          */
};

/* How many numbers the campaign has, and number `index` of them (0 ..), in table order. */
int rc_campaign_quantity_count(const rc_campaign *campaign);
struct rc_quantity_view rc_campaign_quantity(const rc_campaign *campaign, int index);

/* How many of them are uncertain, and uncertain one `index` (in the order of the store's columns). */
int rc_campaign_uncertain_count(const rc_campaign *campaign);
struct rc_quantity_view rc_campaign_uncertain(const rc_campaign *campaign, int index);

/* One entry of the campaign that cannot be uncertain: a kind, a count, a rate, a file. */
struct rc_setting_view {
    char path[96];             /* "cameras[1].mount"                                                 */
    char value[256];           /* in words; of a file its name, size and a sum of its bytes; empty where not given */
    const char *meaning;       /* one line                                                           */
};

/* How many such entries the campaign has, and entry `index` of them (0 ..), in table order, lists member by member. Name,
 * purpose, flights, seed and what is asked have calls of their own and are not among them. */
int rc_campaign_setting_count(const rc_campaign *campaign);
struct rc_setting_view rc_campaign_setting(const rc_campaign *campaign, int index);

#endif
