/* What the entries of a campaign mean together. */
#ifndef RC_CHECKS_H
#define RC_CHECKS_H

#include "platform/parts.h"
#include "read.h"
#include "values.h"

/* Check settings and base design against each other; reports errors and a few warnings. Only to be called when every single
 * entry is good, so that no mistake is reported twice.
 * in  pull_out  a stepper's pull-out torque by table, n = 0 without one */
void rc_checks_run(const struct rc_reader *reader, const struct rc_settings *settings, const struct rc_values *values,
                   const struct rc_pull_out_points *pull_out);

/* Check one drawn flight: the relations between numbers that the base design meets too.
 * ends NULL, or what this flight breaks, with *path set to the entry; borrowed */
const char *rc_checks_flight(const struct rc_design *design, const struct rc_settings *settings, const char **path);

#endif
