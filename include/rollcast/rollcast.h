/* All of Rollcast's public interface. */
#ifndef ROLLCAST_H
#define ROLLCAST_H

#include "rollcast/analysis.h"
#include "rollcast/campaign.h"
#include "rollcast/rare.h"
#include "rollcast/report.h"
#include "rollcast/results.h"
#include "rollcast/run.h"
#include "rollcast/status.h"

/* Version and build, e.g. "0.1.0"; constant text. */
const char *rc_version(void);

#endif
