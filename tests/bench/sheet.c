/* Figures to the terminal and to JSON. */
#include "sheet.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { MAX_ROWS = 256 };

static struct {
    char key[64];
    char value[384]; /* as JSON */
} row[MAX_ROWS];
static int n_rows;

static void keep(const char *key, const char *value)
{
    if (n_rows == MAX_ROWS)
        return;
    (void)snprintf(row[n_rows].key, sizeof row[n_rows].key, "%s", key);
    (void)snprintf(row[n_rows].value, sizeof row[n_rows].value, "%s", value);
    n_rows++;
}

void sheet_heading(const char *text)
{
    printf("\n%s\n", text);
    (void)fflush(stdout);
}

void sheet_number(const char *key, const char *text, double value, const char *unit)
{
    char number[48] = "null";
    if (isfinite(value))
        (void)snprintf(number, sizeof number, "%.6g", value);
    keep(key, number);
    printf("  %-62s %10.4g %s\n", text, value, unit);
    (void)fflush(stdout);
}

void sheet_text(const char *key, const char *text, const char *value)
{
    char quoted[384];
    size_t used = 0;
    quoted[used++] = '"';
    for (const char *at = value; *at != '\0' && used + 4 < sizeof quoted; at++) {
        if ((unsigned char)*at < ' ')
            continue;
        if (*at == '"' || *at == '\\')
            quoted[used++] = '\\';
        quoted[used++] = *at;
    }
    quoted[used++] = '"';
    quoted[used] = '\0';
    keep(key, quoted);
    printf("  %-14s %s\n", text, value);
    (void)fflush(stdout);
}

int sheet_write(const char *path)
{
    if (path == NULL)
        return 0;
    FILE *const file = fopen(path, "w");
    if (file == NULL) {
        (void)fprintf(stderr, "bench: cannot write %s\n", path);
        return 1;
    }
    (void)fprintf(file, "{");
    for (int i = 0; i < n_rows; i++)
        (void)fprintf(file, "%s\n  \"%s\": %s", i > 0 ? "," : "", row[i].key, row[i].value);
    (void)fprintf(file, "\n}\n");
    if (fclose(file) != 0) {
        (void)fprintf(stderr, "bench: cannot write %s\n", path);
        return 1;
    }
    return 0;
}
