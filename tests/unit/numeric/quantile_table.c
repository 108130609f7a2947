/* Prints quantiles of many distributions for referee_scipy.py: kind, parameters, lower tail, upper tail, value. */
#include <math.h>
#include <stdio.h>

#include "numeric/numeric.h"

static const struct {
    const char *kind;
    double p[RC_MAX_PARAMETERS];
} examples[] = {
    {"normal", {0.0, 1.0}},
    {"normal", {12.5, 0.35}},
    {"lognormal", {3.0, 0.25}},
    {"lognormal", {1.0, 2.0}},
    {"uniform", {-3.0, 7.0}},
    {"triangular", {0.0, 2.0, 10.0}},
    {"truncated_normal", {5.0, 2.0, 0.0, 6.0}},
    {"beta", {2.0, 5.0, 0.0, 1.0}},
    {"beta", {0.5, 0.5, 0.0, 1.0}},
    {"beta", {30.0, 0.7, 0.0, 1.0}},
    {"beta", {400.0, 900.0, 0.0, 1.0}},
    {"weibull", {0.8, 1.0}},
    {"weibull", {2.0, 8.5}},
    {"weibull", {25.0, 3.0}},
    {"student_t", {0.0, 1.0, 1.0}},
    {"student_t", {0.0, 1.0, 2.5}},
    {"student_t", {0.0, 1.0, 7.0}},
    {"student_t", {0.0, 1.0, 300.0}},
    {"von_mises", {0.0, 0.5}},
    {"von_mises", {0.0, 8.0}},
    {"measured", {4.0, 0.5}},
    {"measured_within", {4.0, 0.5}},
};

int main(void)
{
    static const double tails[] = {1e-12, 1e-9, 1e-6, 1e-3, 0.02, 0.1, 0.25, 0.4};
    for (size_t row = 0; row < sizeof examples / sizeof examples[0]; row++) {
        const struct rc_distribution_kind *kind = rc_distribution_find(examples[row].kind);
        const double *p = examples[row].p;
        for (size_t tail = 0; tail < sizeof tails / sizeof tails[0]; tail++) {
            (void)printf("%s,%.17g,%.17g,%.17g,%.17g,lower,%.17g,%.17g\n", kind->name, p[0], p[1], p[2], p[3], tails[tail],
                         kind->quantile(p, tails[tail], 1.0 - tails[tail]));
            (void)printf("%s,%.17g,%.17g,%.17g,%.17g,upper,%.17g,%.17g\n", kind->name, p[0], p[1], p[2], p[3], tails[tail],
                         kind->quantile(p, 1.0 - tails[tail], tails[tail]));
        }
    }
    return 0;
}
