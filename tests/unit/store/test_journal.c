/* The journal: what is appended comes back; a torn or damaged record ends it, wherever the tear or the damage is. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "store/journal.h"
#include "support/made_store.h"

enum { HEAD = 80, RECORD = 32, SUM = 8, N_RECORDS = 3 };

static const int record_rows[N_RECORDS] = {2, 5, 3};

static const struct rc_journal_head head = {
    .shape = {.fingerprint = 11, .seed = 22, .columns = 33, .n_columns = MADE_COLUMNS, .n_signals = MADE_SIGNALS, .n_times = MADE_TIMES},
    .first = 100,
    .n_asked = 1000};

/* A journal of three records, flights 100 .. 109; flights before record r in before[r]. */
static void make(const char *path, int64_t before[N_RECORDS + 1], int64_t begin[N_RECORDS + 1])
{
    struct rc_journal journal = RC_JOURNAL_CLOSED;
    struct rc_error err = {0};
    double rows[8 * MADE_COLUMNS];
    uint16_t bins[8 * MADE_SIGNALS * MADE_TIMES];
    assert_int_equal(rc_journal_create(&journal, path, &head, &err), RC_OK);
    for (int record = 0; record < N_RECORDS; record++) {
        before[record] = journal.next;
        begin[record] = journal.length;
        made_rows(journal.next, record_rows[record], rows, bins);
        assert_int_equal(rc_journal_append(&journal, (uint32_t)record_rows[record], rows, bins, &err), RC_OK);
    }
    before[N_RECORDS] = journal.next;
    begin[N_RECORDS] = journal.length;
    rc_journal_close(&journal);
}

/* Flights that a reader finds; -1 where it finds no journal. */
static int64_t flights_in(const char *path, bool is_writer)
{
    struct rc_journal journal = RC_JOURNAL_CLOSED;
    struct rc_error err = {0};
    assert_int_equal(rc_journal_open(&journal, path, &head.shape, is_writer, &err), RC_OK);
    const int64_t next = journal.file < 0 ? -1 : journal.next;
    rc_journal_close(&journal);
    return next;
}

static void test_journal__rows_and_bins_come_back(void **state)
{
    (void)state;
    const char *path = made_path("a.journal");
    int64_t before[N_RECORDS + 1];
    int64_t begin[N_RECORDS + 1];
    struct rc_journal journal = RC_JOURNAL_CLOSED;
    struct rc_error err = {0};
    double rows[10 * MADE_COLUMNS];
    double wanted[10 * MADE_COLUMNS];
    uint16_t bins[10 * MADE_SIGNALS * MADE_TIMES];
    uint16_t wanted_bins[10 * MADE_SIGNALS * MADE_TIMES];
    make(path, before, begin);
    assert_int_equal(rc_journal_open(&journal, path, &head.shape, false, &err), RC_OK);
    assert_int_equal(journal.next, 110);
    assert_int_equal(journal.head.n_asked, 1000);
    for (int first = 100; first < 110; first++) /* every run of rows, across records */
        for (int n = 1; first + n <= 110; n++) {
            made_rows(first, n, wanted, wanted_bins);
            assert_int_equal(rc_journal_rows(&journal, first, n, rows, &err), RC_OK);
            assert_memory_equal(rows, wanted, (size_t)n * MADE_COLUMNS * sizeof *rows);
        }
    assert_int_equal(journal.n_records, N_RECORDS);
    for (size_t record = 0; record < journal.n_records; record++) {
        made_rows(journal.record[record].first, (int)journal.record[record].n, wanted, wanted_bins);
        assert_int_equal(rc_journal_bins(&journal, &journal.record[record], bins, &err), RC_OK);
        assert_memory_equal(bins, wanted_bins, journal.record[record].n * MADE_SIGNALS * MADE_TIMES * sizeof *bins);
    }
    rc_journal_close(&journal);
}

static void test_journal__torn_at_any_byte_ends_before_the_torn_record(void **state)
{
    (void)state;
    const char *path = made_path("torn.journal");
    const char *torn = made_path("torn2.journal");
    int64_t before[N_RECORDS + 1];
    int64_t begin[N_RECORDS + 1];
    size_t n_bytes = 0;
    make(path, before, begin);
    char *bytes = made_file(path, &n_bytes);
    assert_int_equal(n_bytes, begin[N_RECORDS]);
    assert_int_equal(begin[1] - begin[0], RECORD + 2 * (MADE_COLUMNS * 8 + MADE_SIGNALS * MADE_TIMES * 2) + SUM);
    int record = 0;
    for (size_t cut = 0; cut <= n_bytes; cut++) {
        size_t n_left = 0;
        while (record < N_RECORDS && (int64_t)cut >= begin[record + 1])
            record++;
        made_write(torn, bytes, cut);
        assert_int_equal(flights_in(torn, false), cut < HEAD ? -1 : before[record]);
        assert_int_equal(flights_in(torn, true), cut < HEAD ? -1 : before[record]);
        free(made_file(torn, &n_left)); /* the writer cuts the torn end off */
        assert_int_equal(n_left, cut < HEAD ? cut : (size_t)begin[record]);
    }
    free(bytes);
}

/* Every single bit of the file. */
static void test_journal__any_flipped_bit_is_seen(void **state)
{
    (void)state;
    const char *path = made_path("flip.journal");
    const char *bad = made_path("flip2.journal");
    int64_t before[N_RECORDS + 1];
    int64_t begin[N_RECORDS + 1];
    size_t n_bytes = 0;
    make(path, before, begin);
    char *bytes = made_file(path, &n_bytes);
    int record = 0;
    for (size_t at = 0; at < n_bytes; at++) {
        while ((int64_t)at >= begin[record + 1])
            record++;
        for (int bit = 0; bit < 8; bit++) {
            bytes[at] ^= (char)(1 << bit);
            made_write(bad, bytes, n_bytes);
            assert_int_equal(flights_in(bad, false), at < HEAD ? -1 : before[record]);
            bytes[at] ^= (char)(1 << bit);
        }
    }
    free(bytes);
}

static void test_journal__appending_goes_on_behind_the_last_whole_record(void **state)
{
    (void)state;
    const char *path = made_path("on.journal");
    int64_t before[N_RECORDS + 1];
    int64_t begin[N_RECORDS + 1];
    struct rc_journal journal = RC_JOURNAL_CLOSED;
    struct rc_error err = {0};
    double rows[10 * MADE_COLUMNS];
    double wanted[10 * MADE_COLUMNS];
    uint16_t bins[10 * MADE_SIGNALS * MADE_TIMES];
    size_t n_bytes = 0;
    make(path, before, begin);
    char *bytes = made_file(path, &n_bytes);
    made_write(path, bytes, n_bytes - 1);
    free(bytes);
    assert_int_equal(rc_journal_open(&journal, path, &head.shape, true, &err), RC_OK);
    assert_int_equal(journal.next, 107);
    made_rows(107, 3, rows, bins);
    assert_int_equal(rc_journal_append(&journal, 3, rows, bins, &err), RC_OK);
    rc_journal_close(&journal);
    assert_int_equal(flights_in(path, false), 110);
    assert_int_equal(rc_journal_open(&journal, path, &head.shape, false, &err), RC_OK);
    made_rows(100, 10, wanted, bins);
    assert_int_equal(rc_journal_rows(&journal, 100, 10, rows, &err), RC_OK);
    assert_memory_equal(rows, wanted, sizeof rows);
    rc_journal_close(&journal);
}

static void test_journal__other_run_is_refused(void **state)
{
    (void)state;
    const char *path = made_path("run.journal");
    int64_t before[N_RECORDS + 1];
    int64_t begin[N_RECORDS + 1];
    struct rc_journal journal = RC_JOURNAL_CLOSED;
    struct rc_error err = {0};
    make(path, before, begin);
    struct rc_journal_shape other[6] = {head.shape, head.shape, head.shape, head.shape, head.shape, head.shape};
    other[0].fingerprint++;
    other[1].seed++;
    other[2].columns++;
    other[3].n_columns++;
    other[4].n_signals++;
    other[5].n_times++;
    for (int index = 0; index < 6; index++) {
        assert_int_equal(rc_journal_open(&journal, path, &other[index], true, &err), RC_OTHER_STORE);
        assert_int_equal(journal.file, -1);
        assert_string_equal(err.where, path);
    }
    assert_int_equal(flights_in(path, false), 110);
    assert_int_equal(flights_in(made_path("none.journal"), true), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_journal__rows_and_bins_come_back),
        cmocka_unit_test(test_journal__torn_at_any_byte_ends_before_the_torn_record),
        cmocka_unit_test(test_journal__any_flipped_bit_is_seen),
        cmocka_unit_test(test_journal__appending_goes_on_behind_the_last_whole_record),
        cmocka_unit_test(test_journal__other_run_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
