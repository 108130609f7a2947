/* One fuzz target per table: bytes are read as that table, and what is accepted must keep the table's promises. */
#ifndef RC_CSV_TARGET_H
#define RC_CSV_TARGET_H

#include <stdint.h>

#include "campaign/tables.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Read the bytes as a table; aborts if an accepted one has too few rows, a value outside its range or rows that do not rise. */
void csv_target_run(enum rc_table table, const uint8_t *data, size_t size);

#endif
