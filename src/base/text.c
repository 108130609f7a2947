/* Text that grows by doubling; a failed allocation is remembered instead of returned, so that callers check once. */
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base.h"

/* Make room for n_more bytes and a NUL. */
static bool reserve(struct rc_text *text, size_t n_more)
{
    if (text->failed)
        return false;
    if (n_more > SIZE_MAX / 4 - text->n_bytes) {
        text->failed = true;
        return false;
    }
    const size_t wanted = text->n_bytes + n_more + 1;
    if (wanted <= text->capacity)
        return true;
    size_t capacity = text->capacity ? text->capacity : 256;
    while (capacity < wanted)
        capacity *= 2;
    char *bytes = realloc(text->bytes, capacity);
    if (!bytes) {
        text->failed = true;
        return false;
    }
    text->bytes = bytes;
    text->capacity = capacity;
    return true;
}

void rc_text_add(struct rc_text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    va_list again;
    va_copy(again, arguments);
    const int n_wanted = vsnprintf(NULL, 0, format, arguments);
    if (n_wanted < 0) {
        text->failed = true;
    } else if (reserve(text, (size_t)n_wanted)) {
        (void)vsnprintf(text->bytes + text->n_bytes, (size_t)n_wanted + 1, format, again);
        text->n_bytes += (size_t)n_wanted;
    }
    va_end(again);
    va_end(arguments);
}

void rc_text_add_bytes(struct rc_text *text, const char *bytes, size_t n_bytes)
{
    if (!reserve(text, n_bytes))
        return;
    if (n_bytes > 0)
        memcpy(text->bytes + text->n_bytes, bytes, n_bytes);
    text->n_bytes += n_bytes;
    text->bytes[text->n_bytes] = '\0';
}

void rc_text_free(struct rc_text *text)
{
    if (!text)
        return;
    free(text->bytes);
    *text = (struct rc_text){0};
}
