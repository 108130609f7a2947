/* Settings (names, counts, kinds, rates, files, limits of criteria) from the tree. */
#ifndef RC_SETUP_H
#define RC_SETUP_H

#include "read.h"

/* Read every row of the table of settings, in every member of its list. Entries that are wrong are reported and keep zero;
 * missing ones get their default (rc_walk_keys reports those that must be there).
 * out  settings  filled */
void rc_setup_read(struct rc_settings *settings, const struct rc_reader *reader);

#endif
