/* Edit distance over short words, for suggestions. */
#include "nearest.h"

#include <stddef.h>
#include <string.h>

enum { LETTERS_MAX = 63 };

static size_t least_of(size_t first, size_t second)
{
    return first < second ? first : second;
}

static size_t edits_between(const char *from, const char *to)
{
    size_t row[LETTERS_MAX + 1];
    const size_t n_from = strlen(from);
    const size_t n_to = strlen(to);

    if (n_from > LETTERS_MAX || n_to > LETTERS_MAX) {
        return LETTERS_MAX + 1;
    }
    for (size_t column = 0; column <= n_to; column++) {
        row[column] = column;
    }
    for (size_t letter = 1; letter <= n_from; letter++) {
        size_t diagonal = row[0];
        row[0] = letter;
        for (size_t column = 1; column <= n_to; column++) {
            const size_t change = diagonal + (from[letter - 1] != to[column - 1]);
            diagonal = row[column];
            row[column] = least_of(change, 1 + least_of(row[column], row[column - 1]));
        }
    }
    return row[n_to];
}

const char *rc_nearest_name(const char *wanted, const char *const *names, int n_names)
{
    const char *nearest = NULL;
    size_t n_least = LETTERS_MAX + 1;
    for (int index = 0; index < n_names; index++) {
        const size_t n_edits = edits_between(wanted, names[index]);
        if (n_edits < n_least) {
            n_least = n_edits;
            nearest = names[index];
        }
    }
    if (nearest == NULL) {
        return NULL;
    }
    const size_t third = strlen(nearest) / 3;
    return n_least <= (third > 2 ? third : 2) ? nearest : NULL;
}
