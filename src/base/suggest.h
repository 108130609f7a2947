/* The nearest known word to a mistyped one. */
#ifndef RC_SUGGEST_H
#define RC_SUGGEST_H

#include <stddef.h>

/* Search for the nearest word. Start with {.wanted = text}; `word` is the best so far. */
struct rc_suggest {
    const char *wanted;
    const char *word; /* not NUL-terminated: n_word bytes; NULL = none yet */
    size_t n_word;
    int distance; /* edits from `wanted`; at most 1 where only the units at the end differ */
};

/* Offer one known word. in word n_word bytes that outlive the search. cost product of both lengths, cut at 64 */
void rc_suggest_offer(struct rc_suggest *search, const char *word, size_t n_word);

/* Write `; did you mean "..."?` if a word is near enough (2 edits, or a third of its length), or an empty text.
 * out text n bytes */
void rc_suggest_text(const struct rc_suggest *search, char *text, size_t n);

#endif
