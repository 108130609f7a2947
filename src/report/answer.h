/* What a store answers, gathered once and then written as text or JSON. */
#ifndef RC_ANSWER_H
#define RC_ANSWER_H

#include <stdint.h>
#include <stdio.h>

#include "base/base.h"
#include "figures.h"
#include "json.h"
#include "measures/measures.h"
#include "rollcast/analysis.h"
#include "rollcast/campaign.h"
#include "rollcast/results.h"

/* Everything `odds` says. Borrows the campaign; holds no memory of its own. */
struct rc_answer {
    const rc_campaign *campaign;
    int n_replicates;                            /* of the campaign's plan; 0 = its flights are independent      */
    struct rc_stop_rule stop_rule;               /* of its run; all zeros where it could only end at its flights */
    char stop_text[RC_STOP_TEXT];                /* the same in words                                            */
    uint64_t seed;
    int64_t flights;                             /* in the store                                                 */
    int64_t flights_asked;
    int is_finished;
    int64_t n_ended[RC_N_ENDS + 1];              /* flights per end code; the last: codes this version lacks     */
    struct rc_odds odds[RC_MAX_CRITERIA];        /* per criterion, in file order                                 */
    struct rc_odds all_together;                 /* flights that meet every criterion                            */
    struct rc_spread spread[RC_N_MEASURES];      /* over the flights that reached apogee                         */
    struct rc_mean mean[RC_N_MEASURES];          /* the same, of those that count for odds                       */
    double mean_confidence;                      /* of the means' intervals                                      */
    int is_kept[RC_N_MEASURES];                  /* 0: the store, made by an older version, does not have it     */
    struct rc_dispersion landing;                /* of the flights that came down; n is 0 without a descent      */
    double landing_confidence;                   /* of its intervals                                             */
    int64_t n_unstable;                          /* flights whose centre of pressure was ahead of the centre of mass */
    int64_t n_aloft;                             /* flights given up on their way down: their landing is blank   */
    int64_t n_less_exact;                        /* flights whose step turned more pitch phase than is exact     */
    enum rc_verdict verdict;                     /* the worst of all: NO-GO before NOT YET KNOWN before GO       */
    int64_t more_flights;                        /* to settle a NOT YET KNOWN; 0 if settled, -1 beyond reckoning */
};

/* Greatest pitch phase per step up to which a flight is as exact as docs/theory.md states [rad]. */
#define RC_ANSWER_EXACT_PHASE 0.8

/* Confidence of the intervals of means, which no criterion sets. */
#define RC_ANSWER_MEAN_CONFIDENCE 0.95

/* Read a store's columns one after the other and gather the answer.
 * out  answer    untouched on error
 * in   campaign  the one the store keeps; borrowed by the answer
 * ends RC_IO (no flight yet, or reading failed), RC_NO_MEMORY
 * cost reads every measure once; holds one column and a byte per flight */
rc_status rc_answer_gather(struct rc_answer *answer, const rc_results *results, const rc_campaign *campaign,
                           struct rc_error *err) RC_MUST_CHECK;

/* Gather the landing points of a store that has them.
 * in/out east  (flights) scratch
 * ends RC_IO, RC_NO_MEMORY */
rc_status rc_answer_gather_landing(struct rc_answer *answer, const rc_results *results, double *east,
                                   struct rc_error *err) RC_MUST_CHECK;

/* Write what it found, or nothing where nothing came down. */
void rc_answer_write_landing(FILE *out, const struct rc_answer *answer);

/* Does the text leave a measure out? One that the store lacks, or that no flight has though some reached apogee (no descent). */
int rc_answer_is_left_out(const struct rc_answer *answer, int measure);

/* The criterion of a row: 0 .. n-1 as the campaign has them, n is all together. */
const struct rc_criterion *rc_answer_criterion(const struct rc_answer *answer, int row);

/* The odds of that row. */
const struct rc_odds *rc_answer_odds(const struct rc_answer *answer, int row);

/* How flights of an end code ended, in words that fit a vehicle or a formula. in end any value */
const char *rc_answer_end_text(const struct rc_answer *answer, int end);

/* Where the intervals come from, in one word: count, replicates, sequence or looks. */
const char *rc_answer_interval_from(const struct rc_answer *answer);

/* How the intervals come about; one paragraph. */
const char *rc_answer_interval_note(const struct rc_answer *answer);

/* What the figures are not; one paragraph that every form of the answer carries. */
const char *rc_answer_caution(void);

/* What the interval does not hold; one paragraph. in answer NULL where no stop rule is in play */
const char *rc_answer_model_note(const struct rc_answer *answer);

/* The worse of two verdicts: NO-GO before NOT YET KNOWN before GO. */
enum rc_verdict rc_answer_worse(enum rc_verdict one, enum rc_verdict other);

/* Names of the criteria with that verdict, "all together" among them, with commas between. */
void rc_answer_add_rows(struct rc_text *text, const struct rc_answer *answer, enum rc_verdict verdict);

/* Odds as a percentage with that many decimals; never 100 % or 0 % by rounding alone. No sign after it. */
struct rc_figure rc_answer_percent(const struct rc_odds *odds, int decimals);

/* A measure's figure in an answer whose spread of it is `width`; one that did not vary stands as it is. */
struct rc_figure rc_answer_measure(double value, double width);

/* Write the answer as CSV: a row for each criterion, all together and each measure. Write errors stay in the stream's error
 * flag. */
void rc_answer_write_csv(FILE *out, const struct rc_answer *answer);

/* Its parts, for tables with columns around them: heads of the columns, and the cells of a criterion (n is all together) or of a
 * measure; none of them ends its line. */
const char *rc_answer_csv_heads(void);
void rc_answer_write_csv_criterion(FILE *out, const struct rc_answer *answer, int row);
void rc_answer_write_csv_measure(FILE *out, const struct rc_answer *answer, int measure);

/* Write the answer as text of 80 columns. Write errors stay in the stream's error flag. */
void rc_answer_write_text(FILE *out, const struct rc_answer *answer);

/* Write the members of the answer's JSON object, into one that is open. Write errors stay in the stream's error flag. */
void rc_answer_write_members(struct rc_json *json, const struct rc_answer *answer);

/* Write the answer as a JSON document of schema "rollcast-odds/1". Write errors stay in the stream's error flag. */
void rc_answer_write_json(FILE *out, const struct rc_answer *answer);

#endif
