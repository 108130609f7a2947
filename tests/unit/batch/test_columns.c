/* Columns of a campaign's store: names, units, and how a record becomes a row. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "batch/columns.h"
#include "unit/campaign/fixture.h"

/* Measures of a flight: all but a formula's result. */
enum { N_FLOWN = RC_N_MEASURES - 1 };

static const char one[] = "{\"name\": \"held\", \"measure\": \"held_fraction\", \"at_least\": 0.6, \"odds\": 0.8, \"confidence\": 0.95}";

static const char many[] =
    "{\"name\": \"clip / long\", \"measure\": \"longest_clip_s\", \"at_least\": 5, \"at_most\": 50, \"odds\": 0.8, \"confidence\": 0.9},"
    "{\"name\": \"clip | long\", \"measure\": \"apogee_m\", \"at_most\": 4000, \"odds\": 0.8, \"confidence\": 0.9},"
    "{\"name\": \"clip | long (2)\", \"measure\": \"apogee_m\", \"at_most\": 4100, \"odds\": 0.8, \"confidence\": 0.9},"
    "{\"name\": \".\", \"measure\": \"apogee_m\", \"at_least\": 100, \"odds\": 0.8, \"confidence\": 0.9}";

static rc_campaign *read_campaign(const char *criteria)
{
    rc_campaign *campaign = NULL;
    struct rc_issues issues = {0};
    if (fixture_read(&campaign, one, criteria, &issues) != RC_OK)
        fail_msg("%s: %s", issues.item[0].where, issues.item[0].what);
    return campaign;
}

static int find(const struct rc_columns *columns, const char *name)
{
    for (int index = 0; index < columns->n; index++)
        if (strcmp(columns->column[index].name, name) == 0)
            return index;
    fail_msg("there is no column %s", name);
    return -1;
}

static void test_columns__follow_the_tables_in_order(void **state)
{
    (void)state;
    rc_campaign *campaign = read_campaign(one);
    struct rc_columns columns;
    struct rc_error err = {0};
    assert_int_equal(rc_columns_list(&columns, campaign, &err), RC_OK);
    const int n = rc_campaign_uncertain_count(campaign);
    assert_true(n > 3);
    assert_int_equal(columns.n, n + N_FLOWN + 1 + 2);
    for (int index = 0; index < n; index++) {
        const struct rc_quantity_view view = rc_campaign_uncertain(campaign, index);
        assert_memory_equal(columns.column[index].name, "quantities/", 11);
        assert_string_equal(columns.column[index].name + 11, view.path);
        assert_string_equal(columns.column[index].name + 11, rc_campaign_sampling(campaign)->quantity[index].path);
        assert_string_equal(columns.column[index].unit, view.unit);
        assert_string_equal(columns.column[index].long_name, view.meaning);
    }
    assert_int_equal(find(&columns, "measures/held_fraction"), n + RC_MEASURE_held_fraction);
    assert_string_equal(columns.column[find(&columns, "measures/apogee_m")].unit, "m");
    assert_int_equal(find(&columns, "criteria/held"), n + N_FLOWN);
    assert_int_equal(find(&columns, "criteria/all together"), columns.n - 2);
    assert_int_equal(find(&columns, "end"), columns.n - 1);
    assert_non_null(strstr(columns.column[columns.n - 1].long_name, "0 "));
    assert_non_null(strstr(columns.column[columns.n - 3].long_name, "held_fraction at least 0.6"));
    rc_columns_free(&columns);
    rc_campaign_free(campaign);
}

static void test_columns__names_that_hdf5_would_split_stay_one_and_unique(void **state)
{
    (void)state;
    rc_campaign *campaign = read_campaign(many);
    struct rc_columns columns;
    struct rc_error err = {0};
    assert_int_equal(rc_columns_list(&columns, campaign, &err), RC_OK);
    const int first = columns.n_quantities + N_FLOWN;
    assert_string_equal(columns.column[first].name, "criteria/clip | long");
    assert_string_equal(columns.column[first + 3].name, "criteria/_.");
    for (int index = 0; index < columns.n; index++) {
        assert_int_equal(find(&columns, columns.column[index].name), index); /* no two are equal */
        const char *slash = strchr(columns.column[index].name, '/');
        assert_true(!slash || !strchr(slash + 1, '/'));
    }
    rc_columns_free(&columns);
    rc_campaign_free(campaign);
}

/* A record that meets both limits of all four criteria, on the limits themselves where there are any. */
static struct rc_record good_record(void)
{
    struct rc_record record = {.end = RC_END_APOGEE};
    record.measure[RC_MEASURE_longest_clip_s] = 5.0;
    record.measure[RC_MEASURE_apogee_m] = 4000.0;
    return record;
}

static void test_columns__criteria_hold_on_their_limits_and_fail_for_nan_and_other_ends(void **state)
{
    (void)state;
    rc_campaign *campaign = read_campaign(many);
    struct rc_columns columns;
    struct rc_error err = {0};
    double row[256];
    assert_int_equal(rc_columns_list(&columns, campaign, &err), RC_OK);
    assert_true(columns.n <= 256);
    const double *criteria = row + columns.n_quantities + N_FLOWN;
    struct rc_record record = good_record();
    assert_true(rc_columns_fill(&columns, campaign, &record, row));
    for (int index = 0; index < 5; index++)
        assert_true(criteria[index] == 1.0);
    assert_true(criteria[5] == (double)RC_END_APOGEE);
    assert_true(row[columns.n_quantities + RC_MEASURE_apogee_m] == 4000.0);

    record.measure[RC_MEASURE_longest_clip_s] = nextafter(5.0, 0.0);
    assert_false(rc_columns_fill(&columns, campaign, &record, row));
    assert_true(criteria[0] == 0.0 && criteria[1] == 1.0 && criteria[4] == 0.0);
    record.measure[RC_MEASURE_longest_clip_s] = nextafter(50.0, 60.0);
    assert_false(rc_columns_fill(&columns, campaign, &record, row));
    assert_true(criteria[0] == 0.0 && criteria[4] == 0.0);
    record.measure[RC_MEASURE_longest_clip_s] = NAN;
    assert_false(rc_columns_fill(&columns, campaign, &record, row));
    assert_true(criteria[0] == 0.0 && criteria[4] == 0.0);

    record = good_record();
    record.end = RC_END_TIME;
    assert_false(rc_columns_fill(&columns, campaign, &record, row));
    for (int index = 0; index < 5; index++)
        assert_true(criteria[index] == 0.0);
    assert_true(criteria[5] == (double)RC_END_TIME);
    rc_columns_free(&columns);
    rc_campaign_free(campaign);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_columns__follow_the_tables_in_order),
        cmocka_unit_test(test_columns__names_that_hdf5_would_split_stay_one_and_unique),
        cmocka_unit_test(test_columns__criteria_hold_on_their_limits_and_fail_for_nan_and_other_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
