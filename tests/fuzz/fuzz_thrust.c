/* Any bytes as a thrust table. */
#include "csv_target.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    csv_target_run(RC_TABLE_THRUST, data, size);
    return 0;
}
