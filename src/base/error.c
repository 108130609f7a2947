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

/* Control characters, in ASCII and in the two-byte range U+0080 to U+009F, could move a terminal's cursor. */
static void make_one_line(char *text)
{
    for (char *c = text; *c; c++) {
        const unsigned char byte = (unsigned char)*c;
        const unsigned char next = (unsigned char)c[1];
        if (byte < 0x20U || byte == 0x7FU) {
            *c = ' ';
        } else if (byte == 0xC2U && next >= 0x80U && next < 0xA0U) {
            c[0] = ' ';
            c[1] = ' ';
        }
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
