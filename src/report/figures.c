/* Number and line forming for the text answers. What is printed where is left to the callers. */
#include "figures.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

int rc_figures_decimals(double width)
{
    if (!(width > 0.0) || !isfinite(width)) {
        return 9;
    }
    const double decimals = ceil(1.0 - log10(0.5 * width));
    return decimals < -9.0 ? -9 : decimals > 9.0 ? 9 : (int)decimals;
}

/* Set a comma after every third digit of the whole part, counted from its end. */
static struct rc_figure set_off_thousands(const char *digits)
{
    struct rc_figure figure = {""};
    const size_t n_sign = digits[0] == '-' ? 1 : 0;
    const size_t n_whole = strspn(digits + n_sign, "0123456789");
    size_t n = 0;

    for (size_t at = 0; digits[at] != '\0' && n + 2 < sizeof figure.text; at++) {
        if (at > n_sign && at < n_sign + n_whole && (n_whole - (at - n_sign)) % 3 == 0) {
            figure.text[n++] = ',';
        }
        figure.text[n++] = digits[at];
    }
    figure.text[n] = '\0';
    return figure;
}

int rc_figures_percent_decimals(double low, double high, int most)
{
    const int fitting = rc_figures_decimals(100.0 * (high - low));
    return fitting < 0 ? 0 : fitting > most ? most : fitting;
}

void rc_figures_quoted(FILE *out, const char *text)
{
    fputc('"', out);
    for (const char *at = text; *at != '\0'; at++) {
        fputs(*at == '"' ? "\"\"" : (const char[]){*at, '\0'}, out);
    }
    fputc('"', out);
}

void rc_figures_cell(FILE *out, double value)
{
    if (isfinite(value)) {
        fprintf(out, ",%.17g", value);
    } else {
        fputc(',', out);
    }
}

struct rc_figure rc_figures_number(double value, int decimals, enum rc_rounding rounding)
{
    struct rc_figure figure = {"none"};
    if (!isfinite(value)) {
        return figure;
    }
    if (fabs(value) >= 1e15) {
        snprintf(figure.text, sizeof figure.text, "%.4g", value);
        return figure;
    }
    /* Nudged by a billionth of a digit, so that a decimal number that binary cannot hold is not pushed to its neighbour. */
    const double scaled = value * pow(10.0, decimals);
    const double rounded = rounding == RC_ROUND_DOWN ? floor(scaled + 1e-9)
                         : rounding == RC_ROUND_UP   ? ceil(scaled - 1e-9)
                                                     : rint(scaled);
    const double shown = rounded == 0.0 ? 0.0 : rounded / pow(10.0, decimals);
    snprintf(figure.text, sizeof figure.text, "%.*f", decimals < 0 ? 0 : decimals, shown);
    return set_off_thousands(figure.text);
}

struct rc_figure rc_figures_plain(double value)
{
    struct rc_figure figure = {"none"};
    if (isfinite(value)) {
        snprintf(figure.text, sizeof figure.text, "%.10g", value);
    }
    return figure;
}

struct rc_figure rc_figures_count(int64_t count)
{
    char digits[RC_FIGURES_TEXT / 2];
    snprintf(digits, sizeof digits, "%" PRId64, count);
    return set_off_thousands(digits);
}

int rc_figures_columns(const char *text)
{
    int n_columns = 0;
    for (const char *at = text; *at != '\0'; at++) {
        n_columns += ((unsigned char)*at & 0xc0) != 0x80; /* bytes that go on with a code point do not count */
    }
    return n_columns;
}

void rc_figures_name(FILE *out, const char *text, int columns)
{
    for (const unsigned char *at = (const unsigned char *)text; *at != 0; at++) {
        if (at[0] == 0xc2 && at[1] >= 0x80 && at[1] < 0xa0) { /* C1 controls as UTF-8: terminals obey them too */
            at++;
            fputc('?', out);
        } else {
            fputc(*at < 0x20 || *at == 0x7f ? '?' : *at, out);
        }
    }
    const int n_blanks = columns - rc_figures_columns(text);
    if (n_blanks > 0) {
        fprintf(out, "%*s", n_blanks, "");
    }
}

static int count_signs(const char *text)
{
    int n_signs = 0;
    for (const char *at = strstr(text, "\u00b1"); at != NULL; at = strstr(at + 1, "\u00b1")) {
        n_signs++;
    }
    return n_signs;
}

void rc_figures_wrap(FILE *out, const char *text, int column, int indent)
{
    const char *at = text + strspn(text, " \t\r\n");
    int used = column;
    const char *gap = "";

    while (*at != '\0') {
        char word[256];
        const size_t n_word = strcspn(at, " \t\r\n");
        snprintf(word, sizeof word, "%.*s", (int)(n_word < sizeof word ? n_word : sizeof word - 1), at);
        const int n_columns = rc_figures_columns(word) + 2 * count_signs(word); /* "+/-" where the terminal has no other */
        if (*gap != '\0' && used + 1 + n_columns > RC_FIGURES_COLUMNS) {
            fprintf(out, "\n%*s", indent, "");
            used = indent;
            gap = "";
        }
        fputs(gap, out);
        rc_figures_name(out, word, 0);
        used += n_columns + (*gap != '\0');
        gap = " ";
        at += n_word < sizeof word ? n_word : sizeof word - 1;
        at += strspn(at, " \t\r\n");
    }
    fputc('\n', out);
}
