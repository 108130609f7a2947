/* The nearest known name to a mistyped one. */
#ifndef RC_NEAREST_H
#define RC_NEAREST_H

/* The name that takes the fewest single-letter edits to reach.
 * in   wanted  what was typed
 * in   names   (n_names) known ones
 * ends borrowed from names; NULL if even the nearest is more than a third of its letters (at least two) away
 * source Levenshtein's distance */
const char *rc_nearest_name(const char *wanted, const char *const *names, int n_names);

#endif
