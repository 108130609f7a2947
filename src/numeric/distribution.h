/* Distributions of uncertain quantities: a registry of kinds, each sampled through its inverse distribution function. */
#ifndef RC_DISTRIBUTION_H
#define RC_DISTRIBUTION_H

#include <stdbool.h>
#include <stddef.h>

#include "rollcast/status.h"

enum { RC_MAX_PARAMETERS = 4, RC_MAX_LISTS = 2 };

/* One parameter of a kind: its key in a campaign and what it means. Every parameter is required. */
struct rc_parameter_row {
    const char *key;
    const char *meaning;
    bool is_pure; /* a number without unit; the others are in the quantity's unit */
};

/* The lists of one distribution: as many as its kind has, all of the same length. Borrowed. */
struct rc_distribution_lists {
    int n;
    const double *list[RC_MAX_LISTS];  /* (n) each, in the kind's order */
};

/* A kind of distribution: one file in distributions/, one row in kinds.def. p is the array of parameters, in the unit of the
 * quantity. Of a kind with lists p is its table: the RC_MAX_PARAMETERS parameters, and behind them what pack made of the
 * lists. */
struct rc_distribution_kind {
    const char *name;      /* key in a campaign, e.g. "normal" */
    const char *summary;   /* one line for the reference page  */
    int n_parameters;
    struct rc_parameter_row parameter[RC_MAX_PARAMETERS];
    /* Are the parameters acceptable? ends RC_OK, or RC_BAD_INPUT with err->where the offending key and err->what got, wanted */
    rc_status (*check)(const double *p, struct rc_error *err);
    /* Value with lower-tail probability u; both tails accurate. in u in (0, 1); upper = 1 - u, exact */
    double (*quantile)(const double *p, double u, double upper);
    /* Probability of a value of at most x. */
    double (*cdf)(const double *p, double x);
    double (*mean)(const double *p);
    double (*sd)(const double *p);
    /* Least and greatest possible value, may be infinite. */
    void (*support)(const double *p, double *low, double *high);

    int n_lists;                                /* parameters that are lists of numbers; 0 for most kinds         */
    struct rc_parameter_row list[RC_MAX_LISTS];
    bool is_column;                             /* its one list is a column of a CSV file, not a list in the text */
    size_t n_table_per_entry;                   /* numbers of the table per entry of the lists, at most           */
    /* Check the lists and write the table behind the parameters, which stand there already and have passed `check`.
     * ends RC_OK, or RC_BAD_INPUT with err->where the offending key. NULL for kinds without lists */
    rc_status (*pack)(double *table, const struct rc_distribution_lists *lists, struct rc_error *err);
};

/* One distribution: a kind with its parameters, and what was done to it as a whole. */
struct rc_distribution {
    const struct rc_distribution_kind *kind;
    double p[RC_MAX_PARAMETERS];
    const double *table;  /* of a kind with lists: what rc_distribution_pack filled, borrowed; NULL for others */
    /* set by rc_distribution_reshape; zeros: as the parameters say */
    double narrowed;      /* share of its spread that is taken away: 1 leaves none, below 0 widens */
    double shift;         /* added to every value                                                  */
    double median;        /* around which it narrows                                               */
};

/* Number of kinds, and the kind at an index 0 .. count-1 (NULL beyond). */
int rc_distribution_count(void);
const struct rc_distribution_kind *rc_distribution_at(int index);

/* The kind of that name, or NULL. */
const struct rc_distribution_kind *rc_distribution_find(const char *name);

/* Change the spread of a whole distribution, whatever its kind: a value becomes median + factor (value - median) + shift.
 * in/out distribution  ready to draw, not reshaped before
 * in     factor        at least 0; 0 leaves the median alone */
void rc_distribution_reshape(struct rc_distribution *distribution, double factor, double shift);

/* Value of a distribution at a uniform number. in u in (0, 1) */
double rc_distribution_value(const struct rc_distribution *distribution, double u);

/* The same with the upper tail given to its own precision. in upper = 1 - u */
double rc_distribution_value_tails(const struct rc_distribution *distribution, double u, double upper);

/* What the kind's functions of the same name give, for any distribution. */
double rc_distribution_mean(const struct rc_distribution *distribution);
double rc_distribution_sd(const struct rc_distribution *distribution);

/* Probabilities of values below `low` and above `high`; a value on a bound is inside. out below, above */
void rc_distribution_outside(const struct rc_distribution *distribution, double low, double high, double *below, double *above);

/* Numbers in the table of a kind with lists of n entries each; 0 for kinds without lists. */
size_t rc_distribution_table_length(const struct rc_distribution_kind *kind, int n);

/* Check a distribution's parameters and, of a kind with lists, the lists, and make it ready to draw.
 * in/out distribution  kind and p are set; table is set on success
 * out    table         (rc_distribution_table_length) the caller's, outlives the distribution; NULL for kinds without lists
 * in     lists         NULL for kinds without lists
 * ends   RC_OK, or RC_BAD_INPUT with err->where the offending key */
rc_status rc_distribution_pack(struct rc_distribution *distribution, double *table, const struct rc_distribution_lists *lists,
                               struct rc_error *err) RC_MUST_CHECK;

/* What the kinds with lists share: put a list in rising order, each entry with its partner where there is one.
 * in/out values, partners  (n), partners may be NULL
 * ends   RC_OK, or RC_BAD_INPUT under `key`: an entry that is not finite */
rc_status rc_distribution_sort(double *values, double *partners, int n, const char *key, struct rc_error *err) RC_MUST_CHECK;

/* What the kinds' checks share: are all parameters finite? ends RC_OK, or RC_BAD_INPUT naming the key */
rc_status rc_distribution_check_finite(const struct rc_distribution_kind *kind, const double *p,
                                       struct rc_error *err) RC_MUST_CHECK;

/* And does "high" lie above "low"? ends RC_OK, or RC_BAD_INPUT; two that are equal are told to give a plain number instead */
rc_status rc_distribution_check_order(double low, double high, struct rc_error *err) RC_MUST_CHECK;

/* And is the spread under that key above zero? ends RC_OK, or RC_BAD_INPUT; zero is told to give a plain number instead */
rc_status rc_distribution_check_spread(const char *key, double spread, struct rc_error *err) RC_MUST_CHECK;

#endif
