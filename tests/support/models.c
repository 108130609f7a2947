/* Models with known indices. Their inputs are uniform numbers, so that any plan and any column can serve them. */
#include "models.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "numeric/numeric.h"

static const double pi = 3.14159265358979323846;

static double ishigami(const double *u)
{
    const double x[3] = {pi * (2.0 * u[0] - 1.0), pi * (2.0 * u[1] - 1.0), pi * (2.0 * u[2] - 1.0)};
    return sin(x[0]) + 7.0 * sin(x[1]) * sin(x[1]) + 0.1 * pow(x[2], 4.0) * sin(x[0]);
}

static double g(const double *u)
{
    static const double a[8] = {0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0};
    double product = 1.0;
    for (int input = 0; input < 8; input++)
        product *= (fabs(4.0 * u[input] - 2.0) + a[input]) / (1.0 + a[input]);
    return product;
}

static double linear(const double *u)
{
    static const double slope[5] = {1.0, 2.0, 3.0, 0.5, 0.0};
    static const double sd[5] = {1.0, 0.5, 0.2, 1.0, 1.0};
    double sum = 10.0;
    for (int input = 0; input < 5; input++)
        sum += slope[input] * sd[input] * rc_special_normal_quantile(u[input]);
    return sum;
}

static double product(const double *u)
{
    return rc_special_normal_quantile(u[0]) * rc_special_normal_quantile(u[1]);
}

static double half_space(const double *u)
{
    return sqrt(0.6) * rc_special_normal_quantile(u[0]) + sqrt(0.3) * rc_special_normal_quantile(u[1]) +
           sqrt(0.1) * rc_special_normal_quantile(u[2]);
}

const struct model model_ishigami = {"ishigami(a=7 b=0.1)", 3, ishigami};
const struct model model_g = {"gfunction8(0 1 4.5 9 99 99 99 99)", 8, g};
const struct model model_linear = {"linear-gaussian Y=10+1*X1+2*X2+3*X3+0.5*X4+0*X5; sd=(1 0.5 0.2 1 1)", 5, linear};
const struct model model_product = {"closed form: all variance in the interaction of the first two", 3, product};
const struct model model_half_space = {"binary 1{sqrt(.6)X1+sqrt(.3)X2+sqrt(.1)X3>t} Xi~N(0 1) p=0.1", 3, half_space};

double model_uniform(uint64_t seed, uint64_t flight, int input)
{
    struct rc_pcg pcg = rc_stream_open(seed, flight, (uint64_t)input + 1);
    return rc_stream_uniform(&pcg);
}

double model_known(const struct reference *table, const char *model, const char *input, const char *quantity)
{
    for (int row = 0; row < reference_rows(table); row++) {
        if (strcmp(reference_text(table, row, "model"), model) == 0 && strcmp(reference_text(table, row, "input"), input) == 0 &&
            strcmp(reference_text(table, row, "quantity"), quantity) == 0)
            return reference_number(table, row, "value");
    }
    fail_msg("no %s of %s of %s in the table", quantity, input, model);
    return NAN;
}
