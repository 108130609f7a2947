/* Front header of numeric: random streams, distributions, special functions. Lane arithmetic is in lane.h and table.h. */
#ifndef RC_NUMERIC_H
#define RC_NUMERIC_H

#include "distribution.h"
#include "pcg.h"
#include "special.h"
#include "stream.h"

#endif
