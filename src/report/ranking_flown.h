/* New flights of a ranking: where reweighting does not support a change, and to confirm the cheapest way. */
#ifndef RC_RANKING_FLOWN_H
#define RC_RANKING_FLOWN_H

#include "ranking.h"
#include "rollcast/report.h"

/* May new flights be paired with the store's?
 * ends RC_BAD_INPUT: another plan than plain, a store that a rule ended, more flights than the store has */
rc_status rc_ranking_flown_check(const struct rc_rank_request *request, struct rc_error *err) RC_MUST_CHECK;

/* Fly every change of a row that reweighting does not support: same seed and flight numbers as the store's, the spread changed, a
 * store of its own in the folder. A row told that way has the exact interval of its flights, and the gain's is that of pairs.
 * in/out ranking  gathered
 * ends as rc_run_fly */
rc_status rc_ranking_flown_rows(struct rc_ranking *ranking, const struct rc_rank_request *request,
                                struct rc_error *err) RC_MUST_CHECK;

/* Fly ways to the odds by rising cost until one is confirmed, on other draws than those that chose them; those that could not be
 * judged by reweighting are among them. They share the risk. Nothing to do where there is none.
 * ends as rc_run_fly */
rc_status rc_ranking_flown_ways(struct rc_ranking *ranking, const struct rc_rank_request *request,
                                struct rc_error *err) RC_MUST_CHECK;

#endif
