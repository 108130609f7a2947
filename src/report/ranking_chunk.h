/* A store's columns as ranking wants them, chunk by chunk. */
#ifndef RC_RANKING_CHUNK_H
#define RC_RANKING_CHUNK_H

#include "ranking.h"

/* Working memory: columns of RC_RANK_SAMPLE rows. */
struct rc_ranking_chunk {
    const rc_results *results;
    const rc_campaign *campaign;
    struct rc_ranking_target target;
    int n_quantities;
    int64_t first;
    int n;
    double **quantity;     /* (n_quantities) of (RC_RANK_SAMPLE) */
    double *outcome;       /* NAN = it has none                  */
    double *scratch;
    unsigned char *met;
};

/* Reserve the memory. out chunk ends with rc_ranking_chunk_free, also on error
 * ends RC_NO_MEMORY */
rc_status rc_ranking_chunk_begin(struct rc_ranking_chunk *chunk, const rc_results *results, const rc_campaign *campaign,
                                 const struct rc_ranking_target *target, struct rc_error *err) RC_MUST_CHECK;

/* Release it. */
void rc_ranking_chunk_free(struct rc_ranking_chunk *chunk);

/* Read outcome and marks of rows first .. first + n - 1, and with `quantities` these too. n at most RC_RANK_SAMPLE
 * ends RC_IO */
rc_status rc_ranking_chunk_read(struct rc_ranking_chunk *chunk, int64_t first, int n, int quantities,
                                struct rc_error *err) RC_MUST_CHECK;

#endif
