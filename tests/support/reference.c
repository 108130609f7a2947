/* Reading tests/reference: the file is kept whole and its fields are cut in place. */
#include "support/reference.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

struct reference {
    char *bytes;
    int n_columns, n_rows;
    const char **field; /* ((1 + n_rows) x n_columns), row 0 is the header */
};

static void *checked(void *memory)
{
    if (!memory)
        fail_msg("no memory for a reference table");
    return memory;
}

static char *whole_file(const char *name)
{
    char path[1024];
    (void)snprintf(path, sizeof path, "%s/%s", RC_TEST_REFERENCE, name);
    FILE *file = fopen(path, "rb");
    if (!file)
        fail_msg("%s cannot be opened", path);
    size_t n_bytes = 0;
    size_t capacity = 1U << 16U;
    char *bytes = checked(malloc(capacity));
    for (size_t got = 0; (got = fread(bytes + n_bytes, 1, capacity - n_bytes - 1, file)) > 0;) {
        n_bytes += got;
        if (capacity - n_bytes < 2)
            bytes = checked(realloc(bytes, capacity *= 2));
    }
    (void)fclose(file);
    bytes[n_bytes] = '\0';
    return bytes;
}

/* Cut one field out of a line, in place. ends where the next one begins, or NULL after the last */
static char *cut_field(char *at, const char **field)
{
    char *write = at;
    *field = at;
    if (*at == '"') {
        for (at++; *at && !(*at == '"' && at[1] != '"'); at++) {
            at += *at == '"';
            *write++ = *at;
        }
        at += *at == '"';
    } else {
        while (*at && *at != ',')
            *write++ = *at++;
    }
    char *next = *at == ',' ? at + 1 : NULL;
    *write = '\0';
    return next;
}

static void cut_line(struct reference *table, char *line, const char *name)
{
    const char **row = table->field + (size_t)(table->n_rows + 1) * (size_t)table->n_columns;
    int column = 0;
    for (char *at = line; at; column++) {
        if (column == table->n_columns)
            fail_msg("%s: row %d has more fields than the %d columns", name, table->n_rows + 1, table->n_columns);
        at = cut_field(at, &row[column]);
    }
    while (column < table->n_columns)
        row[column++] = "";
    table->n_rows++;
}

struct reference *reference_open(const char *name)
{
    struct reference *table = checked(calloc(1, sizeof *table));
    table->bytes = whole_file(name);
    table->n_rows = -1;
    size_t n_lines = 1;
    for (const char *c = table->bytes; *c; c++)
        n_lines += *c == '\n';
    for (char *line = table->bytes, *next = NULL; line; line = next) {
        next = strchr(line, '\n');
        if (next)
            *next++ = '\0';
        line[strcspn(line, "\r")] = '\0';
        if (*line == '\0' || *line == '#')
            continue;
        if (!table->field) {
            table->n_columns = 1;
            for (const char *c = line; *c; c++)
                table->n_columns += *c == ',';
            table->field = checked(calloc(n_lines * (size_t)table->n_columns, sizeof *table->field));
        }
        cut_line(table, line, name);
    }
    if (table->n_rows < 1)
        fail_msg("%s has no rows", name);
    return table;
}

void reference_close(struct reference *table)
{
    if (!table)
        return;
    free(table->field);
    free(table->bytes);
    free(table);
}

int reference_rows(const struct reference *table)
{
    return table->n_rows;
}

const char *reference_text(const struct reference *table, int row, const char *column)
{
    assert_in_range(row, 0, table->n_rows - 1);
    for (int index = 0; index < table->n_columns; index++) {
        if (strcmp(table->field[index], column) == 0)
            return table->field[(size_t)(row + 1) * (size_t)table->n_columns + (size_t)index];
    }
    fail_msg("no column %s", column);
    return "";
}

double reference_number(const struct reference *table, int row, const char *column)
{
    const char *text = reference_text(table, row, column);
    char *end = NULL;
    const double value = strtod(text, &end);
    if (end == text || *end != '\0')
        fail_msg("column %s of row %d is \"%s\", not a number", column, row + 1, text);
    return value;
}
