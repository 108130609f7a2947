/* Reads CSV tables line by line. What the columns mean is left to tables.c. */
#include "csv.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "base/suggest.h"

enum {
    N_FIELDS_MOST = 32, /* fields of one line             */
    N_ISSUES_MOST = 5,  /* complaints about one table     */
    N_NUMBER_MOST = 48  /* characters of one number       */
};

/* Part of the file's text. */
struct span {
    const char *bytes;
    size_t n;
};

/* Where the reading stands. */
struct cursor {
    const struct rc_bundle_file *file;
    const struct rc_csv_form *form;
    struct rc_issues *issues;
    size_t at; /* next byte                              */
    int line;  /* number of the line just taken, from 1  */
    bool is_column; /* one column is wanted: others are passed over, rows need not rise */
    int n_issues;
    int n_fields; /* as the header has them                 */
    int column_of_field[N_FIELDS_MOST];
};

RC_PRINTF(2, 3)
static void report(struct cursor *cursor, const char *format, ...)
{
    if (++cursor->n_issues > N_ISSUES_MOST)
        return;
    char what[RC_ERROR_WHAT];
    char where[RC_ERROR_WHERE];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    (void)snprintf(where, sizeof where, "%.250s:%d", cursor->file->name, cursor->line > 0 ? cursor->line : 1);
    rc_issues_add(cursor->issues, where, "%s", what);
}

static struct span trimmed(struct span text)
{
    while (text.n > 0 && (text.bytes[0] == ' ' || text.bytes[0] == '\t')) {
        text.bytes++;
        text.n--;
    }
    while (text.n > 0 && strchr(" \t\r", text.bytes[text.n - 1]) && text.bytes[text.n - 1] != '\0')
        text.n--;
    return text;
}

/* The next line that is neither blank nor a remark. ends false at the end of the file */
static bool next_line(struct cursor *cursor, struct span *line)
{
    while (cursor->at < cursor->file->n_bytes) {
        const char *start = cursor->file->bytes + cursor->at;
        const size_t n_left = cursor->file->n_bytes - cursor->at;
        const char *end = memchr(start, '\n', n_left);
        const size_t n = end ? (size_t)(end - start) : n_left;
        cursor->at += n + 1;
        cursor->line++;
        *line = trimmed((struct span){start, n});
        if (line->n > 0 && line->bytes[0] != '#')
            return true;
    }
    return false;
}

/* Cut a line at its commas. ends number of fields, also those beyond N_FIELDS_MOST */
static int split(struct span line, struct span *field)
{
    int n_fields = 0;
    for (;;) {
        const char *comma = line.n > 0 ? memchr(line.bytes, ',', line.n) : NULL;
        const size_t n = comma ? (size_t)(comma - line.bytes) : line.n;
        if (n_fields < N_FIELDS_MOST)
            field[n_fields] = trimmed((struct span){line.bytes, n});
        n_fields++;
        if (!comma)
            return n_fields;
        line = (struct span){comma + 1, line.n - n - 1};
    }
}

/* The field as text for messages and comparisons, cut to fit. */
static void copy_field(char *text, size_t capacity, struct span field)
{
    (void)snprintf(text, capacity, "%.*s", (int)field.n, field.bytes);
}

/* Where no name is near enough to be meant: all there are. */
static void list_columns(const struct rc_csv_form *form, char *text, size_t capacity)
{
    size_t n = (size_t)snprintf(text, capacity, "; wanted");
    for (int column = 0; column < form->n_columns && n < capacity; column++)
        n += (size_t)snprintf(text + n, capacity - n, "%s %s", column == 0 ? "" : column + 1 < form->n_columns ? "," : " or",
                              form->column[column].name);
}

static void name_column(struct cursor *cursor, int field, struct span name)
{
    const struct rc_csv_form *form = cursor->form;
    char text[N_NUMBER_MOST];
    copy_field(text, sizeof text, name);
    struct rc_suggest search = {.wanted = text};
    for (int column = 0; column < form->n_columns; column++) {
        const char *known = form->column[column].name;
        if (strcmp(known, text) == 0) {
            cursor->column_of_field[field] = column;
            return;
        }
        rc_suggest_offer(&search, known, strlen(known));
    }
    char hint[RC_ERROR_WHAT - 128];
    rc_suggest_text(&search, hint, sizeof hint);
    if (hint[0] == '\0')
        list_columns(form, hint, sizeof hint);
    cursor->column_of_field[field] = -1;
    if (!cursor->is_column)
        report(cursor, "unknown column \"%s\" in the %s%s", text, form->what, hint);
}

static bool is_named(const struct cursor *cursor, int column, int n_fields)
{
    for (int field = 0; field < n_fields; field++) {
        if (cursor->column_of_field[field] == column)
            return true;
    }
    return false;
}

/* A table has no control characters but tabs and line ends. A file that has others is none: one complaint, and its bytes stay
 * off the screen.
 * ends false after reporting */
static bool is_text(struct cursor *cursor)
{
    const struct rc_bundle_file *file = cursor->file;
    int line = 1;
    for (size_t at = 0; at < file->n_bytes; at++) {
        const unsigned char byte = (unsigned char)file->bytes[at];
        line += byte == '\n';
        if ((byte >= ' ' && byte != 0x7F) || byte == '\t' || byte == '\r' || byte == '\n')
            continue;
        cursor->line = line;
        report(cursor, "got the byte 0x%02X, which is no text; wanted a CSV file: save the %s as plain text", byte,
               cursor->form->what);
        return false;
    }
    return true;
}

static const char semicolons[] = "columns are separated by \";\", wanted \",\" (and points in numbers)";

/* Names in quotes are no names here: every other complaint would follow from that. ends true after reporting */
static bool has_quotes(struct cursor *cursor, struct span line)
{
    if (!memchr(line.bytes, '"', line.n))
        return false;
    report(cursor, "the first line has quotes (\"), wanted bare names of the columns: save the %s without quotes around texts",
           cursor->form->what);
    return true;
}

static void read_header(struct cursor *cursor, struct span line)
{
    if (memchr(line.bytes, ';', line.n)) { /* every other complaint would follow from this one */
        report(cursor, semicolons);
        return;
    }
    if (has_quotes(cursor, line))
        return;
    struct span field[N_FIELDS_MOST] = {{NULL, 0}};
    const int n_fields = split(line, field);
    cursor->n_fields = n_fields < N_FIELDS_MOST ? n_fields : N_FIELDS_MOST;
    if (n_fields > N_FIELDS_MOST)
        report(cursor, "got %d columns, at most %d are accepted", n_fields, N_FIELDS_MOST);
    for (int index = 0; index < cursor->n_fields; index++) {
        name_column(cursor, index, field[index]);
        const int column = cursor->column_of_field[index];
        if (column >= 0 && is_named(cursor, column, index))
            report(cursor, "the column \"%s\" stands here twice; keep one", cursor->form->column[column].name);
    }
    for (int column = 0; column < cursor->form->n_columns; column++) {
        if (cursor->form->column[column].is_required && !is_named(cursor, column, cursor->n_fields))
            report(cursor, "the column \"%s\" of the %s is missing; the first line must name the columns",
                   cursor->form->column[column].name, cursor->form->what);
    }
}

static size_t digits(const char *text)
{
    return strspn(text, "0123456789");
}

/* Is it a plain decimal number? (strtod alone would take hexadecimal, inf and nan) */
static bool is_decimal(const char *text)
{
    text += *text == '-' || *text == '+';
    const size_t n_whole = digits(text);
    text += n_whole;
    size_t n_fraction = 0;
    if (*text == '.') {
        n_fraction = digits(++text);
        text += n_fraction;
    }
    if (n_whole + n_fraction == 0)
        return false;
    if (*text == 'e' || *text == 'E') {
        text++;
        text += *text == '-' || *text == '+';
        const size_t n_exponent = digits(text);
        if (n_exponent == 0)
            return false;
        text += n_exponent;
    }
    return *text == '\0';
}

static bool is_not_finite_word(const char *text)
{
    text += *text == '-' || *text == '+';
    return strncmp(text, "nan", 3) == 0 || strncmp(text, "NaN", 3) == 0 || strncmp(text, "NAN", 3) == 0 ||
           strncmp(text, "inf", 3) == 0 || strncmp(text, "Inf", 3) == 0 || strncmp(text, "INF", 3) == 0;
}

/* ends false after reporting */
static bool read_number(struct cursor *cursor, struct span field, const struct rc_csv_column *column, double *number)
{
    char text[N_NUMBER_MOST];
    copy_field(text, sizeof text, field);
    if (field.n == 0) {
        report(cursor, "the field of %s is empty, wanted a number", column->name);
        return false;
    }
    if (is_not_finite_word(text)) {
        report(cursor, "got %s in %s, wanted a finite number", text, column->name);
        return false;
    }
    if (field.n >= N_NUMBER_MOST || strlen(text) != field.n || !is_decimal(text)) {
        report(cursor, "got \"%.40s\" in %s, wanted a number such as 12.5 or 1.2e3", text, column->name);
        return false;
    }
    *number = strtod(text, NULL);
    if (!isfinite(*number)) {
        report(cursor, "got %s in %s, which is too large for a double; wanted a finite number", text, column->name);
        return false;
    }
    if (!(*number >= column->low && *number <= column->high)) {
        report(cursor, "got %s in %s, wanted %.10g to %.10g", text, column->name, column->low, column->high);
        return false;
    }
    return true;
}

static void check_rising(struct cursor *cursor, const double *column, int row)
{
    if (row == 0 || cursor->is_column || column[row] > column[row - 1])
        return;
    report(cursor, "%s is %.10g after %.10g; wanted values that rise from row to row: %s", cursor->form->column[0].name,
           column[row], column[row - 1], column[row] < column[row - 1] ? "sort the rows" : "remove the repeated row");
}

/* Read one line of numbers as the next row. */
static void read_row(struct cursor *cursor, struct rc_csv *csv, struct span line)
{
    struct span field[N_FIELDS_MOST] = {{NULL, 0}};
    const int n_fields = split(line, field);
    if (memchr(line.bytes, ';', line.n)) {
        report(cursor, semicolons);
        cursor->at = cursor->file->n_bytes; /* all other rows will have them too */
        return;
    }
    if (n_fields != cursor->n_fields) {
        report(cursor, "got %d fields, wanted %d as in the first line", n_fields, cursor->n_fields);
        return;
    }
    bool is_good = true;
    for (int index = 0; index < n_fields; index++) {
        const int column = cursor->column_of_field[index];
        if (column >= 0 && !read_number(cursor, field[index], &cursor->form->column[column], &csv->column[column][csv->n_rows]))
            is_good = false;
    }
    if (!is_good)
        return;
    check_rising(cursor, csv->column[0], csv->n_rows);
    csv->n_rows++;
}

/* The letter that makes one row several. */
static const char *plural(int n)
{
    return n == 1 ? "" : "s";
}

static void read_rows(struct cursor *cursor, struct rc_csv *csv)
{
    struct span line;
    while (cursor->n_issues < N_ISSUES_MOST && next_line(cursor, &line)) {
        if (csv->n_rows == RC_MAX_TABLE_ROWS) {
            report(cursor, "more than %d rows; thin the %s out", RC_MAX_TABLE_ROWS, cursor->form->what);
            return;
        }
        read_row(cursor, csv, line);
    }
    if (cursor->n_issues == 0 && csv->n_rows < cursor->form->n_rows_least)
        report(cursor, "the %s has %d row%s of numbers, wanted at least %d", cursor->form->what, csv->n_rows,
               plural(csv->n_rows), cursor->form->n_rows_least);
}

static rc_status read_file(struct rc_csv *csv, struct cursor *cursor)
{
    const struct rc_bundle_file *file = cursor->file;
    const struct rc_csv_form *form = cursor->form;
    *csv = (struct rc_csv){0};
    if (file->n_bytes >= 3 && memcmp(file->bytes, "\xEF\xBB\xBF", 3) == 0)
        cursor->at = 3;
    struct span line;
    if (!is_text(cursor))
        return RC_BAD_INPUT;
    if (!next_line(cursor, &line)) {
        report(cursor, "the %s is empty, wanted a first line that names the columns and at least %d row%s of numbers",
               form->what, form->n_rows_least, plural(form->n_rows_least));
        return RC_BAD_INPUT;
    }
    read_header(cursor, line);
    if (cursor->n_issues > 0)
        return RC_BAD_INPUT;
    for (int column = 0; column < form->n_columns; column++) {
        if (!is_named(cursor, column, cursor->n_fields))
            continue;
        csv->column[column] = calloc(RC_MAX_TABLE_ROWS, sizeof(double));
        if (!csv->column[column])
            return RC_NO_MEMORY;
    }
    read_rows(cursor, csv);
    return cursor->n_issues > 0 ? RC_BAD_INPUT : RC_OK;
}

rc_status rc_csv_read(struct rc_csv *csv, const struct rc_bundle_file *file, const struct rc_csv_form *form,
                      struct rc_issues *issues)
{
    struct cursor cursor = {.file = file, .form = form, .issues = issues};
    return read_file(csv, &cursor);
}

rc_status rc_csv_column(struct rc_csv *csv, const struct rc_bundle_file *file, const char *name, struct rc_issues *issues)
{
    const struct rc_csv_form form = {"file of measured values", 1, 1, {{name, true, -1e300, 1e300, ""}}};
    struct cursor cursor = {.file = file, .form = &form, .issues = issues, .is_column = true};
    return read_file(csv, &cursor);
}

void rc_csv_free(struct rc_csv *csv)
{
    for (int column = 0; column < RC_MAX_CSV_COLUMNS; column++)
        free(csv->column[column]);
    *csv = (struct rc_csv){0};
}
