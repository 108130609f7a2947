/* Campaigns of a formula: what they yield, and what is refused. The language itself is test_formula's. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "fixture.h"

static const char product[] =
    "{\"name\": \"product\", \"formula\": \"a * b + 1\","
    " \"inputs\": [{\"name\": \"a\", \"value\": {\"distribution\": \"normal\", \"mean\": 2, \"sd\": 1}}, {\"name\": \"b\", \"value\": 3}],"
    " \"criteria\": [{\"name\": \"up\", \"measure\": \"result\", \"at_least\": 0, \"odds\": 0.9, \"confidence\": 0.9}],"
    " \"all_together\": {\"odds\": 0.9, \"confidence\": 0.9}}";

static rc_status read_product(rc_campaign **campaign, const char *find, const char *replacement, struct rc_issues *issues)
{
    char *text = fixture_replace(product, find, replacement);
    struct rc_bundle bundle = {0};
    assert_int_equal(rc_bundle_add(&bundle, "test.json", text, strlen(text), NULL), RC_OK);
    const rc_status status = rc_campaign_from_bundle(campaign, &bundle, issues);
    rc_bundle_free(&bundle);
    free(text);
    return status;
}

static void test_inputs__formula_takes_the_drawn_inputs(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    struct rc_design design;
    const double drawn = 5.0;
    assert_int_equal(read_product(&campaign, "a * b", "a * b", &issues), RC_OK);
    assert_int_equal(issues.n_warnings, 0);
    assert_int_equal(rc_campaign_uncertain_count(campaign), 1);
    assert_string_equal(rc_campaign_uncertain(campaign, 0).path, "inputs[0].value");
    assert_string_equal(rc_campaign_input_name(campaign, 1), "b");
    rc_campaign_design(campaign, &drawn, &design);
    assert_true(rc_formula_value(rc_campaign_formula(campaign), design.formula.input) == 16.0);
    assert_null(rc_campaign_model(campaign));
    for (int measure = 0; measure < RC_N_MEASURES; measure++)
        assert_int_equal(rc_campaign_yields(campaign, measure), measure == RC_MEASURE_result);
    rc_campaign_free(campaign);
}

static void refuses(const char *find, const char *replacement, const char *place, const char *words)
{
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(read_product(&campaign, find, replacement, &issues), RC_BAD_INPUT);
    assert_null(campaign);
    if (!fixture_has_issue(&issues, place, words))
        fail_msg("%s -> %s: got %s: %s", find, replacement, issues.item[0].where, issues.item[0].what);
}

static void test_inputs__mistakes_are_refused_with_their_place(void **state)
{
    (void)state;
    refuses("a * b + 1", "a * c + 1", "/formula", "at character 5|`c + 1`|neither an input's name");
    refuses("a * b + 1", "", "/formula", "got a text of 0 bytes");
    refuses("\"a * b + 1\"", "7", "/formula", "got 7|wanted a text");
    refuses("\"name\": \"b\"", "\"name\": \"a\"", "/inputs/1/name", "input 0");
    refuses("\"name\": \"b\"", "\"name\": \"sin\"", "/inputs/1/name", "no function's name");
    refuses("\"name\": \"b\"", "\"name\": \"b c\"", "/inputs/1/name", "letters, digits and _");
    refuses(", \"value\": 3", "", "/inputs/1/value", "missing");
    refuses("\"value\": 3", "\"value\": \"3\"", "/inputs/1/value", "wanted a number or a distribution");
    refuses("\"measure\": \"result\"", "\"measure\": \"apogee_m\"", "/criteria/0/measure", "\"result\"|only measure of a formula");
    refuses("\"measure\": \"result\"", "\"measure\": \"reslt\"", "/criteria/0/measure", "did you mean \"result\"");
    refuses("\"formula\"", "\"vehicle\": {}, \"formula\"", "/vehicle", "does not go with \"formula\"");
    refuses("\"formula\": \"a * b + 1\",", "", "/inputs", "only goes with \"formula\"");
    refuses("[{\"name\": \"a\"", "[], \"purpose\": [{\"name\": \"a\"", "/inputs", "0 members");
}

static void test_inputs__a_flight_has_no_result(void **state)
{
    (void)state;
    fixture_refuses("\"held_fraction\"", "\"result\"", "/criteria/0/measure", "only a campaign with \"formula\" has a result");
}

static void test_inputs__a_middle_without_value_is_warned_of(void **state)
{
    (void)state;
    struct rc_issues issues = {0};
    rc_campaign *campaign = NULL;
    assert_int_equal(read_product(&campaign, "a * b + 1", "log(a - 2)", &issues), RC_OK);
    assert_true(fixture_has_issue(&issues, "/formula", "no finite value"));
    rc_campaign_free(campaign);
    assert_int_equal(read_product(&campaign, "{\"distribution\": \"normal\", \"mean\": 2, \"sd\": 1}", "2", &issues), RC_OK);
    assert_true(fixture_has_issue(&issues, "/inputs", "nothing is uncertain"));
    rc_campaign_free(campaign);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_inputs__formula_takes_the_drawn_inputs),
        cmocka_unit_test(test_inputs__mistakes_are_refused_with_their_place),
        cmocka_unit_test(test_inputs__a_flight_has_no_result),
        cmocka_unit_test(test_inputs__a_middle_without_value_is_warned_of),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
