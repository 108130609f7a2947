/* Answers as text and JSON. */
#ifndef ROLLCAST_REPORT_H
#define ROLLCAST_REPORT_H

#include <stdio.h>

#include "rollcast/analysis.h"
#include "rollcast/campaign.h"
#include "rollcast/results.h"
#include "rollcast/run.h"
#include "rollcast/status.h"

/* CSV: of rc_report_aero, _compare, _odds, _quantiles, _replay, _size, and _trade without a search; elsewhere it gives text. */
enum rc_report_form { RC_REPORT_TEXT = 0, RC_REPORT_JSON, RC_REPORT_CSV };

/* The answer of a store: odds per criterion and for all together, verdicts, spread of each measure, caution.
 * in   out      where to write; the caller checks for write errors
 * out  verdict  of all criteria together and each one: the worst; may be NULL
 * ends RC_BAD_INPUT (no finished flight yet), RC_IO, RC_NO_MEMORY */
rc_status rc_report_odds(FILE *out, enum rc_report_form form, const rc_results *results, const rc_campaign *campaign,
                         enum rc_verdict *verdict, struct rc_error *err) RC_MUST_CHECK;

/* One of several stores that are set side by side. */
struct rc_report_store {
    const char *path;               /* as the user named it  */
    const rc_results *results;
    const rc_campaign *campaign;    /* the one the store keeps */
};
enum { RC_REPORT_MAX_STORES = 8 };

/* The answers of several stores side by side: verdict and odds of every criterion in a column per store, which of them would be
 * flown and why, medians of the measures that differ, and what differs between the campaigns. A store is said to be better only
 * where its interval is clear of the others'. Text fits 80 columns; JSON is of schema rollcast-compare/1; CSV has a row for each
 * store and criterion, and for each store and measure.
 * in   store     (n_stores) 2 .. RC_REPORT_MAX_STORES
 * out  verdict   the worst of all stores; may be NULL
 * ends RC_BAD_INPUT (number of stores), RC_IO (no finished flight in one; err names its path), RC_NO_MEMORY */
rc_status rc_report_compare(FILE *out, enum rc_report_form form, const struct rc_report_store *store, int n_stores,
                            enum rc_verdict *verdict, struct rc_error *err) RC_MUST_CHECK;

/* What is asked about the size of a demonstration; 0 = not given. */
struct rc_report_size {
    double odds, confidence;
    int64_t flights, failures;
};

/* How many flights show odds (given those), how many of given flights may fail (given both), what odds given flights with
 * failures show (given flights): text, JSON of schema rollcast-size/1, or CSV. Exact binomial.
 * ends RC_USAGE (more failures than flights) */
rc_status rc_report_size(FILE *out, enum rc_report_form form, const struct rc_report_size *asked,
                         struct rc_error *err) RC_MUST_CHECK;

/* Which measure's mean and quantiles are asked. */
struct rc_report_quantiles {
    const rc_results *results;
    const rc_campaign *campaign;    /* the one the store keeps        */
    const char *measure;
    double confidence;              /* of each interval and limit     */
};

/* Mean of one measure with a Student t interval, over the flights or over a plan's replicates; where flights are independent of
 * each other also quantiles with order-statistic intervals, and tolerance limits for 90, 95 and 99 % of flights: text, or JSON of
 * schema rollcast-quantiles/1.
 * ends RC_BAD_INPUT (no such measure, or flights of a run after rare failures), RC_IO (no value), RC_NO_MEMORY
 * cost reads the measure and sorts it */
rc_status rc_report_quantiles(FILE *out, enum rc_report_form form, const struct rc_report_quantiles *asked,
                              struct rc_error *err) RC_MUST_CHECK;

/* What is to be ranked. */
struct rc_rank_request {
    const rc_results *results;
    const rc_campaign *campaign;   /* the one the store keeps                                */
    const char *of;                /* criterion or measure; NULL = all criteria together     */
    double need;                   /* odds that the cheapest way must reach; 0 = as the campaign asks */
    int64_t n_fly;                 /* new flights for each change that reweighting does not support; 0 = none */
    const char *folder;            /* with n_fly: where their stores go, gone on with where they are there */
    const struct rc_run_options *options; /* with n_fly: threads, stop, progress */
};

/* Which uncertain quantity matters most, from a store's flights alone: shares, rank correlations, separation of flights that met
 * from those that missed, and what half of the spread, none of it, or another middle would do to the odds.
 * in   form  as CSV a row for each quantity
 * ends RC_IO (no flight yet), RC_BAD_INPUT (no such criterion or measure, too few flights or all of one kind: says how many
 *      more), RC_NO_MEMORY
 * cost reads every quantity once; memory does not grow with the flights */
rc_status rc_report_rank(FILE *out, enum rc_report_form form, const struct rc_rank_request *request,
                         struct rc_error *err) RC_MUST_CHECK;

/* Who draws: the library writes what is to be drawn as gnuplot commands, the caller runs gnuplot. */
struct rc_report_drawing {
    /* Draw.
     * in   script  gnuplot commands that write one SVG to standard output
     * out  svg     NUL-terminated, freed by the library with free(); untouched on error
     * ends RC_IO (no gnuplot, or it failed: says so), RC_NO_MEMORY */
    rc_status (*draw)(void *user, const char *script, char **svg, struct rc_error *err);
    void *user;
};

/* A trade whose curve a page shows. */
struct rc_report_swept {
    const char *folder;  /* that rc_report_trade filled, with values varied            */
    const char *of;      /* criterion that counts; NULL = all together                 */
};

/* What a page is to show. */
struct rc_page_request {
    int n_stores;                            /* 1 .. RC_REPORT_MAX_STORES                       */
    const struct rc_report_store *store;     /* (n_stores) open                                 */
    const struct rc_report_swept *trade;     /* NULL = none                                     */
    const struct rc_report_drawing *drawing;
    const char *path;                        /* of the page as the user named it, for the JSON  */
};

/* One or several stores as one HTML page that stands alone: verdict, criteria, figures with their data, a trade's odds against
 * its settings, single flights, the campaign in words, what the model leaves out.
 * in   out   where the page goes; json: where what it shows goes as JSON of schema rollcast-report/1, NULL = nowhere
 * ends RC_BAD_INPUT (number of stores, no such trade or criterion), RC_IO (no flight in one, drawing or writing failed),
 *      RC_NO_MEMORY; err names the store
 * cost holds one column of a store at a time; flies three flights of each store again; of a trade a byte for each
 *      flight of each setting */
rc_status rc_report_page(FILE *out, FILE *json, const struct rc_page_request *request, struct rc_error *err) RC_MUST_CHECK;

/* Designs to be compared on the same flights. */
struct rc_trade_request {
    int n_campaigns;                        /* 1, or 2 to be compared with each other                                          */
    const rc_campaign *campaign[2];
    const char *name[2];                    /* as the user named them                                                          */
    int n_vary;                             /* with one campaign: values varied, 1 or 2; 0 = those of its own sweep            */
    const char *vary[2];                    /* "PATH=FROM:TO:N"                                                                */
    const char *relax;                      /* a search instead: "PATH=FROM:TO", the demanding end first; or "PATH", "PATH=up" or
                                             * "PATH=down", from the campaign's value as far as it takes it; NULL = no search  */
    double need;                            /* odds wanted                                                                     */
    const char *of;                         /* criterion; NULL = all together                                                  */
    const char *folder;                     /* where the stores go, one for each setting; must be there                        */
    const struct rc_run_options *options;   /* flights of each setting (0 = as the campaign says), seed, threads, resume, stop */
};

/* Look at the ends of the ranges that were asked for, without flying.
 * out  issues  warnings that the campaign has with the value at an end and not as it is; what is refused there, rc_report_trade
 *              tells
 * ends RC_NO_MEMORY
 * cost reads the campaign three times for each range */
rc_status rc_report_trade_review(struct rc_issues *issues, const struct rc_trade_request *request) RC_MUST_CHECK;

/* Fly designs on the same flights, every setting into a store of its own, and compare them: the odds of each with a band that
 * holds all at once, the best, which others cannot be told from it, exact paired tests; or search for the least demanding value
 * that still meets the odds. Flights need the plan plain and no stop rule.
 * ends RC_USAGE (a range that cannot be read), RC_BAD_INPUT (no such criterion, no such number, no sweep, another plan), and
 *      those of rc_run_fly:
 *      RC_EXISTS (a store is there and resume is not set), RC_STOPPED (resumable)
 * cost flights of all settings; a byte for each flight of each setting */
rc_status rc_report_trade(FILE *out, enum rc_report_form form, const struct rc_trade_request *request,
                          struct rc_error *err) RC_MUST_CHECK;

/* A run as its status file tells it. */
struct rc_report_state {
    const char *state;                   /* "starting", "flying", "finished", "stopped", "failed"  */
    const char *campaign, *store;        /* as the user named them                                 */
    const struct rc_progress *progress;  /* NULL before the first flight                           */
    int exit_code;                       /* -1 while it runs                                       */
    const char *message;                 /* of an error; NULL                                      */
};

/* Write the status of a run as JSON, schema rollcast-status/1: a file beside it is filled, flushed to the device and put in its
 * place, so that a reader finds the one before or this one, whole. Only a status file, or an empty file, is ever replaced.
 * ends RC_EXISTS (something else is there), RC_IO, RC_NO_SPACE, RC_NO_MEMORY */
rc_status rc_report_status(const char *path, const struct rc_report_state *run, struct rc_error *err) RC_MUST_CHECK;

/* What a merge did: JSON of schema rollcast-merge/1.
 * in   path  the store that was made */
void rc_report_merge(FILE *out, const char *path, const struct rc_merged *merged);

/* How a run ended. */
struct rc_report_run {
    const rc_campaign *campaign;
    const char *store;                  /* its path as the user named it        */
    const char *shard;                  /* "K/N", NULL = the whole run          */
    uint64_t seed;
    const struct rc_progress *ended;    /* as rc_run_fly left it                */
    int is_stopped;                     /* it ended with RC_STOPPED             */
};

/* Write it as JSON of schema rollcast-fly/1. Write errors stay in the stream's error flag. */
void rc_report_run(FILE *out, const struct rc_report_run *run);

/* Which flight is flown again. */
struct rc_report_flight {
    const rc_results *results;
    int64_t flight;
    double interval;                    /* least time between rows, 0 = every tick of the platform [s] */
};

/* A flight's history as rc_run_replay writes it, or as JSON of schema rollcast-replay/1.
 * out  n_differing  stored numbers that are not the same, bit for bit
 * ends as rc_run_replay
 * cost as JSON the whole history is in memory once */
rc_status rc_report_replay(FILE *out, enum rc_report_form form, const struct rc_report_flight *asked, int *n_differing,
                           struct rc_error *err) RC_MUST_CHECK;

/* What a campaign means: vehicle, drive, what is uncertain, criteria, in words and numbers. */
rc_status rc_report_campaign(FILE *out, enum rc_report_form form, const rc_campaign *campaign,
                             struct rc_error *err) RC_MUST_CHECK;

/* A campaign's aerodynamic coefficients over Mach 0 to 5 as they are flown with the middle of every distribution: tables,
 * estimate, factors. Text shows chosen Mach numbers in 80 columns; JSON (schema rollcast-aero/1) and CSV every knot of the table.
 * ends RC_BAD_INPUT (a formula has none), RC_IO, RC_NO_MEMORY */
rc_status rc_report_aero(FILE *out, enum rc_report_form form, const rc_campaign *campaign, struct rc_error *err) RC_MUST_CHECK;

#endif
