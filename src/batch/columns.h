/* The columns of a campaign's store, and one flight's row of them. */
#ifndef RC_COLUMNS_H
#define RC_COLUMNS_H

#include "campaign/campaign.h"
#include "store/store.h"

/* Texts of one column. */
struct rc_columns_text {
    char name[160];
    char unit[RC_MAX_UNIT];
    char long_name[512];
};

/* In this order: uncertain quantities, measures, criteria, all criteria together, end. */
struct rc_columns {
    int n, n_quantities, n_measures, n_criteria;
    int measure[RC_N_MEASURES];       /* (n_measures) those that the campaign keeps */
    struct rc_columns_text *text;     /* (n) */
    struct rc_store_column *column;   /* (n) pointing into text */
};

/* List the columns of a campaign.
 * out  columns  ends with rc_columns_free, also on error
 * ends RC_NO_MEMORY */
rc_status rc_columns_list(struct rc_columns *columns, const rc_campaign *campaign, struct rc_error *err) RC_MUST_CHECK;

/* Release the list. */
void rc_columns_free(struct rc_columns *columns);

/* Put a flight's record behind its drawn values.
 * in/out row     (columns->n); the first n_quantities hold the values already
 * ends   whether the flight meets all criteria */
bool rc_columns_fill(const struct rc_columns *columns, const rc_campaign *campaign, const struct rc_record *record, double *row);

#endif
