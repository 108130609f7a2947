/* Quantities for tests of sampling. */
#include "sampling_case.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "base/base.h"

struct rc_uncertain sampling_quantity(const char *path, const char *kind, double first, double second)
{
    struct rc_uncertain quantity = {.low = -1e9, .high = 1e9};
    (void)snprintf(quantity.path, sizeof quantity.path, "%s", path);
    quantity.path_hash = rc_hash_bytes(RC_FNV_START, path, strlen(path));
    quantity.distribution.kind = rc_distribution_find(kind);
    assert_non_null(quantity.distribution.kind);
    quantity.distribution.p[0] = first;
    quantity.distribution.p[1] = second;
    return quantity;
}

void sampling_unit_cube(struct rc_uncertain *quantity, int n)
{
    for (int index = 0; index < n; index++) {
        char path[32];
        (void)snprintf(path, sizeof path, "x[%d]", index);
        quantity[index] = sampling_quantity(path, "uniform", 0.0, 1.0);
    }
}
