/* Distributions of uncertain quantities: a registry of kinds, each sampled through its inverse distribution function. */
#ifndef RC_DISTRIBUTION_H
#define RC_DISTRIBUTION_H

#include <stdbool.h>

#include "rollcast/status.h"

enum { RC_MAX_PARAMETERS = 4 };

/* One parameter of a kind: its key in a campaign and what it means. Every parameter is required. */
struct rc_parameter_row {
    const char *key;
    const char *meaning;
};

/* A kind of distribution: one file in distributions/, one row in kinds.def. p is the array of parameters, in the unit of the
 * quantity. */
struct rc_distribution_kind {
    const char *name;      /* key in a campaign, e.g. "normal" */
    const char *summary;   /* one line for the reference page  */
    int n_parameters;
    struct rc_parameter_row parameter[RC_MAX_PARAMETERS];
    /* Are the parameters acceptable? ends RC_OK, or RC_BAD_INPUT with err->where the offending key and err->what got, wanted */
    rc_status (*check)(const double *p, struct rc_error *err);
    /* Value with lower-tail probability u; both tails accurate. in u in (0, 1); upper = 1 - u, exact */
    double (*quantile)(const double *p, double u, double upper);
    /* Probability of a value below x. */
    double (*cdf)(const double *p, double x);
    double (*mean)(const double *p);
    double (*sd)(const double *p);
    /* Least and greatest possible value, may be infinite. */
    void (*support)(const double *p, double *low, double *high);
};

/* One distribution: a kind with its parameters. */
struct rc_distribution {
    const struct rc_distribution_kind *kind;
    double p[RC_MAX_PARAMETERS];
};

/* Number of kinds, and the kind at an index 0 .. count-1 (NULL beyond). */
int rc_distribution_count(void);
const struct rc_distribution_kind *rc_distribution_at(int index);

/* The kind of that name, or NULL. */
const struct rc_distribution_kind *rc_distribution_find(const char *name);

/* Value of a distribution at a uniform number. in u in (0, 1) */
double rc_distribution_value(const struct rc_distribution *distribution, double u);

/* What the kinds' checks share: are all parameters finite? ends RC_OK, or RC_BAD_INPUT naming the key */
rc_status rc_distribution_check_finite(const struct rc_distribution_kind *kind, const double *p,
                                       struct rc_error *err) RC_MUST_CHECK;

/* And is the spread under that key above zero? ends RC_OK, or RC_BAD_INPUT; zero is told to give a plain number instead */
rc_status rc_distribution_check_spread(const char *key, double spread, struct rc_error *err) RC_MUST_CHECK;

#endif
