/* Numbers for people: as many digits as the interval around them supports, thousands set off, lines of 80 columns. */
#ifndef RC_FIGURES_H
#define RC_FIGURES_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

enum { RC_FIGURES_TEXT = 64, RC_FIGURES_COLUMNS = 80 };

/* A number as text. */
struct rc_figure {
    char text[RC_FIGURES_TEXT];
};

/* Which way a number is rounded: an interval's ends go outward, so that it never looks narrower than it is. */
enum rc_rounding { RC_ROUND_DOWN = -1, RC_ROUND_NEAREST = 0, RC_ROUND_UP = 1 };

/* Decimals that an interval supports: its last digit is about a twentieth of the whole width.
 * in   width  of the interval, > 0, in the unit that is printed
 * ends -9 .. 9; negative means rounding to tens, hundreds, ... ; 9 for a width that is not above zero */
int rc_figures_decimals(double width);

/* Decimals of a percentage between 0 and `most` that the interval of a share supports. in low, high  shares, not percentages */
int rc_figures_percent_decimals(double low, double high, int most);

/* Print a text as a cell of a CSV, in quotes, so that commas and quotes in names do no harm. */
void rc_figures_quoted(FILE *out, const char *text);

/* Print a cell of a CSV with its comma before it: a number in full, nothing where there is none. */
void rc_figures_cell(FILE *out, double value);

/* A number with that many decimals and thousands set off ("4,120").
 * ends "none" if it is not finite; four significant digits from 1e15 on */
struct rc_figure rc_figures_number(double value, int decimals, enum rc_rounding rounding);

/* A number as it was given, up to ten significant digits. */
struct rc_figure rc_figures_plain(double value);

/* A count ("10,000"). */
struct rc_figure rc_figures_count(int64_t count);

/* Columns a text takes: code points, not bytes. */
int rc_figures_columns(const char *text);

/* Print a text of unknown origin: control characters become '?', so that no name can steer a terminal; then pad to `columns`. */
void rc_figures_name(FILE *out, const char *text, int columns);

/* Print words, broken at blanks before column 80, each further line indented; ends the line.
 * in   column  where the first word stands, 0-based
 * in   indent  blanks before every further line */
void rc_figures_wrap(FILE *out, const char *text, int column, int indent);

#endif
