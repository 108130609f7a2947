/* One message in one line: formatting, cutting to fit, and making foreign text harmless for a terminal. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base.h"

/* Step back over the bytes of a UTF-8 character that the cut at `n` went through. */
static size_t whole_characters(const char *text, size_t n)
{
    size_t lead = n;
    while (lead > 0 && n - lead < 4 && ((unsigned char)text[lead - 1] & 0xC0U) == 0x80U)
        lead--;
    if (lead == 0 || (unsigned char)text[lead - 1] < 0xC0U)
        return n;
    const unsigned char first = (unsigned char)text[lead - 1];
    const size_t length = first >= 0xF0U ? 4 : first >= 0xE0U ? 3 : 2;
    return n - (lead - 1) < length ? lead - 1 : n;
}

/* Bytes of the UTF-8 character that begins here; 0 = none begins. */
static size_t character_length(const char *text)
{
    const unsigned char first = (unsigned char)text[0];
    const size_t length = first < 0x80U ? 1 : first < 0xC2U ? 0 : first < 0xE0U ? 2 : first < 0xF0U ? 3 : first < 0xF5U ? 4 : 0;
    for (size_t at = 1; at < length; at++) {
        if (((unsigned char)text[at] & 0xC0U) != 0x80U)
            return 0;
    }
    return length;
}

/* Control characters, in ASCII and in the two-byte range U+0080 to U+009F, could move a terminal's cursor, and so could bytes
 * that are no UTF-8. */
static void make_one_line(char *text)
{
    for (char *c = text; *c;) {
        const unsigned char byte = (unsigned char)*c;
        const size_t length = character_length(c);
        if (length == 0) {
            *c = '?';
        } else if (byte < 0x20U || byte == 0x7FU) {
            *c = ' ';
        } else if (byte == 0xC2U && (unsigned char)c[1] < 0xA0U) {
            c[0] = ' ';
            c[1] = ' ';
        }
        c += length > 0 ? length : 1;
    }
}

static void finish(char *text, size_t capacity, int n_wanted)
{
    if (n_wanted < 0)
        text[0] = '\0';
    else if ((size_t)n_wanted >= capacity)
        text[whole_characters(text, capacity - 1)] = '\0';
    make_one_line(text);
}

rc_status rc_error_fill(struct rc_error *err, rc_status status, const char *where, const char *format, ...)
{
    if (!err)
        return status;
    err->status = status;
    finish(err->where, sizeof err->where, snprintf(err->where, sizeof err->where, "%s", where ? where : ""));
    va_list arguments;
    va_start(arguments, format);
    const int n_wanted = vsnprintf(err->what, sizeof err->what, format, arguments);
    va_end(arguments);
    finish(err->what, sizeof err->what, n_wanted);
    return status;
}
