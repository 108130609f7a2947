/* The nearest known word. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "base/suggest.h"

static void expect(const char *wanted, const char *hint)
{
    static const char *const known[] = {"diameter_m", "length_m", "odds", "gain", "held_fraction"};
    struct rc_suggest search = {.wanted = wanted};
    for (size_t word = 0; word < sizeof known / sizeof known[0]; word++)
        rc_suggest_offer(&search, known[word], strlen(known[word]));
    char text[128];
    rc_suggest_text(&search, text, sizeof text);
    assert_string_equal(text, hint);
}

static void test_suggest__near_words_are_found(void **state)
{
    (void)state;
    expect("diametre_m", "; did you mean \"diameter_m\"?"); /* neighbours swapped */
    expect("diameter", "; did you mean \"diameter_m\"?");   /* unit left out      */
    expect("Diameter_M", "; did you mean \"diameter_m\"?");
    expect("gian", "; did you mean \"gain\"?");
    expect("held_fracton", "; did you mean \"held_fraction\"?");
    expect("length_inches", "; did you mean \"length_m\"?"); /* another unit */
    expect("length_of_all_of_it", "");
}

static void test_suggest__far_words_are_not(void **state)
{
    (void)state;
    expect("weather", "");
    expect("", "");
    expect("zzzz", "");
    expect("a_word_of_far_more_than_sixty_four_letters_that_no_table_of_ours_will_ever_hold", "");
}

/* Known distances: "kitten" to "sitting" 3, a swap of neighbours 1. source Levenshtein 1966 and Damerau 1964, examples from memory */
static void test_suggest__distance_counts_edits(void **state)
{
    (void)state;
    struct rc_suggest search = {.wanted = "kitten"};
    rc_suggest_offer(&search, "sitting", 7);
    assert_int_equal(search.distance, 3);
    search = (struct rc_suggest){.wanted = "ab"};
    rc_suggest_offer(&search, "ba", 2);
    assert_int_equal(search.distance, 1);
    search = (struct rc_suggest){.wanted = "same"};
    rc_suggest_offer(&search, "same", 4);
    assert_int_equal(search.distance, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_suggest__near_words_are_found),
        cmocka_unit_test(test_suggest__far_words_are_not),
        cmocka_unit_test(test_suggest__distance_counts_edits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
