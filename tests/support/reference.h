/* Reference values for tests: a small reader for the CSV files in tests/reference. */
#ifndef RC_TEST_REFERENCE_H
#define RC_TEST_REFERENCE_H

struct reference;

/* Read a table of tests/reference. Lines that begin with '#' are notes; the first other line names the columns; fields may be
 * quoted. A file that cannot be read, or a row with more fields than columns, fails the test.
 * in   name  "intervals.csv"
 * ends the table; end it with reference_close */
struct reference *reference_open(const char *name);

/* Release a table. NULL is fine. */
void reference_close(struct reference *table);

/* Number of rows after the header. */
int reference_rows(const struct reference *table);

/* Field of a row; empty where the row is short. A column that does not exist fails the test. Borrowed. */
const char *reference_text(const struct reference *table, int row, const char *column);

/* The same as a number. A field that is not one fails the test. */
double reference_number(const struct reference *table, int row, const char *column);

#endif
