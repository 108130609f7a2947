/* Edit distance with neighbouring letters swapped counting once; capitals count as small letters do, and another unit at the
 * end counts once.
 * Which words are known is left to the caller. */
#include "suggest.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

enum { N_LETTERS = 64 };

static int small(char letter)
{
    return letter >= 'A' && letter <= 'Z' ? letter - 'A' + 'a' : letter;
}

static int least(int a, int b)
{
    return a < b ? a : b;
}

/* Optimal string alignment over two rows and the one before them. */
static int distance_of(const char *a, size_t n_a, const char *b, size_t n_b)
{
    int row[3][N_LETTERS + 1];
    for (size_t j = 0; j <= n_b; j++)
        row[0][j] = (int)j;
    for (size_t i = 1; i <= n_a; i++) {
        int *now = row[i % 3];
        const int *before = row[(i - 1) % 3];
        now[0] = (int)i;
        for (size_t j = 1; j <= n_b; j++) {
            const int differs = small(a[i - 1]) != small(b[j - 1]);
            now[j] = least(least(before[j] + 1, now[j - 1] + 1), before[j - 1] + differs);
            if (i > 1 && j > 1 && small(a[i - 1]) == small(b[j - 2]) && small(a[i - 2]) == small(b[j - 1]))
                now[j] = least(now[j], row[(i - 2) % 3][j - 2] + 1);
        }
    }
    return row[n_a % 3][n_b];
}

/* Length of a word up to the unit at its end, which stands behind the last '_'; all of it where there is none. */
static size_t stem_length(const char *word, size_t n)
{
    for (size_t at = n; at > 0; at--) {
        if (word[at - 1] == '_')
            return at - 1;
    }
    return n;
}

/* Are two words the same but for their units? */
static bool is_same_stem(const char *a, size_t n_a, const char *b, size_t n_b)
{
    const size_t n = stem_length(a, n_a);
    if (n == n_a || n == 0 || stem_length(b, n_b) != n || n == n_b)
        return false;
    for (size_t at = 0; at < n; at++) {
        if (small(a[at]) != small(b[at]))
            return false;
    }
    return true;
}

void rc_suggest_offer(struct rc_suggest *search, const char *word, size_t n_word)
{
    const size_t n_wanted = strlen(search->wanted);
    if (n_wanted > N_LETTERS || n_word > N_LETTERS)
        return;
    const int edits = distance_of(search->wanted, n_wanted, word, n_word);
    const int distance = is_same_stem(search->wanted, n_wanted, word, n_word) ? least(edits, 1) : edits;
    if (search->word && distance >= search->distance)
        return;
    search->word = word;
    search->n_word = n_word;
    search->distance = distance;
}

void rc_suggest_text(const struct rc_suggest *search, char *text, size_t n)
{
    text[0] = '\0';
    const int near = search->n_word > 6 ? (int)search->n_word / 3 : 2;
    if (search->word && search->distance <= near && search->distance < (int)search->n_word)
        (void)snprintf(text, n, "; did you mean \"%.*s\"?", (int)search->n_word, search->word);
}
