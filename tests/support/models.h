/* Models whose sensitivity indices are known in closed form, and where the known values stand. */
#ifndef RC_TEST_MODELS_H
#define RC_TEST_MODELS_H

#include <stdint.h>

#include "reference.h"

/* A model of independent inputs. */
struct model {
    const char *name;       /* as in tests/reference/sensitivity.csv, or where its values come from */
    int n;                  /* inputs */
    double (*outcome)(const double *u); /* from uniform numbers (n) in (0, 1) */
};

/* Ishigami and Homma 1990, a = 7, b = 0.1; the g-function of Sobol' with a = 0, 1, 4.5, 9, 99 ...; a linear Gaussian one; and a
 * pure interaction: the product of two normal scores, beside an inert third. */
extern const struct model model_ishigami, model_g, model_linear, model_product;

/* The half-space model sqrt(.6) z1 + sqrt(.3) z2 + sqrt(.1) z3: its outcome, of which failures are those above a threshold. */
extern const struct model model_half_space;

/* Uniform number `input` of flight `flight`. */
double model_uniform(uint64_t seed, uint64_t flight, int input);

/* A value of the table sensitivity.csv. A row that is not there fails the test. */
double model_known(const struct reference *table, const char *model, const char *input, const char *quantity);

#endif
