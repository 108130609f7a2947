/* What a store of the paired design tells beside: shares with all interactions, which two quantities act together, and elementary
 * effects. */
#ifndef RC_RANKING_PAIRED_H
#define RC_RANKING_PAIRED_H

#include "json.h"
#include "ranking.h"

/* Begin to take rows.
 * out  paired  ends with rc_ranking_paired_free, also on error; untouched where the campaign's plan is another one
 * ends RC_NO_MEMORY */
rc_status rc_ranking_paired_begin(struct rc_ranking_paired *paired, const rc_campaign *campaign, uint64_t seed, double confidence,
                                  struct rc_error *err) RC_MUST_CHECK;

/* Flights of a row of the design; 0 where the plan is another one. */
int rc_ranking_paired_length(const struct rc_ranking_paired *paired);

/* Take the whole rows of a chunk that begins with one.
 * in   quantity, outcome  (n) columns
 * ends RC_NO_MEMORY */
rc_status rc_ranking_paired_add(struct rc_ranking_paired *paired, const double *const *quantity, const double *outcome, int n,
                                struct rc_error *err) RC_MUST_CHECK;

/* Work out the figures.
 * ends RC_BAD_INPUT (too few rows: says how many flights more; the outcome never varied), RC_NO_MEMORY */
rc_status rc_ranking_paired_finish(struct rc_ranking_paired *paired, const char *name, struct rc_error *err) RC_MUST_CHECK;

/* Release it. */
void rc_ranking_paired_free(struct rc_ranking_paired *paired);

/* Write a figure with its interval, in either part of a ranking's JSON. */
void rc_ranking_write_estimate(struct rc_json *json, const char *key, const struct rc_estimate *estimate);

/* Write it, after the rest. Nothing where the plan is another one; JSON then has null. */
void rc_ranking_paired_write_text(FILE *out, const struct rc_ranking_paired *paired, const char *name);
void rc_ranking_paired_write_json(struct rc_json *json, const struct rc_ranking_paired *paired);

#endif
