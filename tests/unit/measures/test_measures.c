/* The table of outcomes and the bins of percentile bands: closed forms, and every bin there and back. */
#include <float.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "measures/measures.h"
#include "physics/near.h"

static void test_measures__names_are_unique_and_found(void **state)
{
    (void)state;
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        const struct rc_measure_row *row = rc_measures_row(measure);
        assert_true(row->name[0] != '\0' && row->unit[0] != '\0' && row->reduction[0] != '\0' && row->meaning[0] != '\0');
        assert_int_equal(strspn(row->name, "abcdefghijklmnopqrstuvwxyzPQAV0123456789_"), strlen(row->name));
        /* unique: the search gives the first of that name */
        assert_int_equal(rc_measures_find(row->name), measure);
    }
    assert_int_equal(rc_measures_find("held_fractio"), -1);
    assert_int_equal(rc_measures_find("held_fraction "), -1);
    assert_int_equal(rc_measures_find(""), -1);
    assert_int_equal(rc_measures_find("held_fraction"), RC_MEASURE_held_fraction);
}

/* House convention: at borders the unit is in the name. */
static void test_measures__names_end_in_their_unit(void **state)
{
    (void)state;
    static const struct {
        const char *unit, *ending;
    } units[] = {
        { "s", "_s" }, { "deg/s", "_dps" }, { "m", "_m" }, { "m/s", "_mps" }, { "Pa", "_Pa" }, { "deg", "_deg" }, { "px", "_px" }, { "V", "_V" },
    };
    int n_checked = 0;
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        const struct rc_measure_row *row = rc_measures_row(measure);
        for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
            if (strcmp(row->unit, units[i].unit) != 0)
                continue;
            const size_t length = strlen(row->name), ending = strlen(units[i].ending);
            assert_true(length > ending);
            assert_string_equal(row->name + length - ending, units[i].ending);
            n_checked++;
        }
    }
    assert_true(n_checked >= 12);
}

static void test_measures__signals_have_names(void **state)
{
    (void)state;
    for (int signal = 0; signal < RC_N_SIGNALS; signal++) {
        const struct rc_measure_row *row = rc_measures_signal_row(signal);
        assert_true(row->name[0] != '\0' && row->unit[0] != '\0' && row->meaning[0] != '\0');
        for (int other = 0; other < signal; other++)
            assert_string_not_equal(row->name, rc_measures_signal_row(other)->name);
    }
}

static void test_measures__every_end_has_its_text(void **state)
{
    (void)state;
    for (int end = 0; end < RC_N_ENDS; end++) {
        assert_true(rc_measures_end_text(end)[0] != '\0');
        for (int other = 0; other < end; other++)
            assert_string_not_equal(rc_measures_end_text(end), rc_measures_end_text(other));
    }
    assert_string_equal(rc_measures_end_text(-1), rc_measures_end_text(RC_N_ENDS));
    assert_string_not_equal(rc_measures_end_text(-1), rc_measures_end_text(RC_END_APOGEE));
}

/* An edge belongs to the bin farther from zero; anything inside to the bin it lies in. */
static void test_measures__bins_go_there_and_back(void **state)
{
    (void)state;
    for (int bin = 0; bin < RC_BAND_BINS; bin++) {
        const double low = rc_measures_bin_edge(bin), high = rc_measures_bin_edge(bin + 1);
        assert_true(low < high);
        assert_int_equal(rc_measures_bin(0.5 * (low + high)), bin);
        assert_int_equal(rc_measures_bin(nextafter(low, high)), bin);
        assert_int_equal(rc_measures_bin(nextafter(high, low)), bin);
        if (bin > RC_BAND_HALF)
            assert_int_equal(rc_measures_bin(low), bin);
        if (bin < RC_BAND_HALF)
            assert_int_equal(rc_measures_bin(high), bin);
    }
}

static void test_measures__bins_mirror_about_zero(void **state)
{
    (void)state;
    for (int bin = 0; bin <= RC_BAND_BINS; bin++)
        assert_true(rc_measures_bin_edge(bin) == -rc_measures_bin_edge(RC_BAND_BINS - bin));
    for (double value = 1e-4; value < 1e6; value *= 1.01)
        assert_int_equal(rc_measures_bin(-value), RC_BAND_BINS - 1 - rc_measures_bin(value));
}

/* As the header says: octaves from 2^-7 to 2^18, 32 bins each. */
static void test_measures__bins_are_a_thirtysecond_of_their_octave(void **state)
{
    (void)state;
    assert_true(rc_measures_bin_edge(RC_BAND_HALF) == -0x1p-7 && rc_measures_bin_edge(RC_BAND_HALF + 1) == 0x1p-7);
    assert_true(rc_measures_bin_edge(RC_BAND_BINS) == 0x1p18 && rc_measures_bin_edge(0) == -0x1p18);
    for (int bin = RC_BAND_HALF + 1; bin < RC_BAND_BINS; bin++) {
        const double low = rc_measures_bin_edge(bin), width = rc_measures_bin_edge(bin + 1) - low;
        assert_true(width <= low / 32.0 && width > low / 65.0);
    }
    for (int octave = 0; octave <= 25; octave++)
        assert_true(rc_measures_bin_edge(RC_BAND_HALF + 1 + 32 * octave) == ldexp(1.0, octave - 7));
}

static void test_measures__bins_rise_with_the_value(void **state)
{
    (void)state;
    int before = 0;
    for (double value = -4e5; value < -1e-3; value *= 0.999) {
        const int bin = rc_measures_bin(value);
        assert_true(bin >= before && bin <= before + 1);
        before = bin;
    }
    assert_int_equal(before, RC_BAND_HALF);
    for (double value = 1e-3; value < 4e5; value *= 1.001) {
        const int bin = rc_measures_bin(value);
        assert_true(bin >= before && bin <= before + 1);
        before = bin;
    }
    assert_int_equal(before, RC_BAND_BINS - 1);
}

static void test_measures__extremes_fall_into_the_outermost_bins(void **state)
{
    (void)state;
    assert_int_equal(rc_measures_bin(0x1p18), RC_BAND_BINS - 1);
    assert_int_equal(rc_measures_bin(-0x1p18), 0);
    assert_int_equal(rc_measures_bin(DBL_MAX), RC_BAND_BINS - 1);
    assert_int_equal(rc_measures_bin(-DBL_MAX), 0);
    assert_int_equal(rc_measures_bin(0.0), RC_BAND_HALF);
    assert_int_equal(rc_measures_bin(-0.0), RC_BAND_HALF);
    assert_int_equal(rc_measures_bin(DBL_TRUE_MIN), RC_BAND_HALF);
    assert_int_equal(rc_measures_bin(-DBL_TRUE_MIN), RC_BAND_HALF);
    assert_int_equal(rc_measures_bin(NAN), RC_BAND_NONE);
    assert_int_equal(rc_measures_bin(INFINITY), RC_BAND_NONE);
    assert_int_equal(rc_measures_bin(-INFINITY), RC_BAND_NONE);
    assert_true(RC_BAND_BINS < RC_BAND_NONE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_measures__names_are_unique_and_found),
        cmocka_unit_test(test_measures__names_end_in_their_unit),
        cmocka_unit_test(test_measures__signals_have_names),
        cmocka_unit_test(test_measures__every_end_has_its_text),
        cmocka_unit_test(test_measures__bins_go_there_and_back),
        cmocka_unit_test(test_measures__bins_mirror_about_zero),
        cmocka_unit_test(test_measures__bins_are_a_thirtysecond_of_their_octave),
        cmocka_unit_test(test_measures__bins_rise_with_the_value),
        cmocka_unit_test(test_measures__extremes_fall_into_the_outermost_bins),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
