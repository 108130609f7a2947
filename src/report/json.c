/* The JSON writer: separators, indent, escapes. What the members mean is left to the callers. */
#include "json.h"

#include <inttypes.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>

int rc_json_utf8_length(const unsigned char *bytes)
{
    if (bytes[0] < 0x80) {
        return 1;
    }
    const int n = bytes[0] >= 0xf0 ? 4 : bytes[0] >= 0xe0 ? 3 : 2;
    if (bytes[0] < 0xc2 || bytes[0] > 0xf4) {
        return 0;
    }
    for (int at = 1; at < n; at++) {
        if ((bytes[at] & 0xc0) != 0x80) { /* also stops at the ending NUL */
            return 0;
        }
    }
    const bool is_overlong = (bytes[0] == 0xe0 && bytes[1] < 0xa0) || (bytes[0] == 0xf0 && bytes[1] < 0x90);
    const bool is_surrogate = bytes[0] == 0xed && bytes[1] > 0x9f;
    const bool is_beyond = bytes[0] == 0xf4 && bytes[1] > 0x8f;
    return is_overlong || is_surrogate || is_beyond ? 0 : n;
}

static void write_string(FILE *out, const char *text)
{
    const unsigned char *at = (const unsigned char *)text;

    fputc('"', out);
    while (*at != 0) {
        const int n = rc_json_utf8_length(at);
        if (n == 0) {
            fputs("\\ufffd", out);
            at++;
            continue;
        }
        if (*at == '"' || *at == '\\') {
            fprintf(out, "\\%c", *at);
        } else if (*at < 0x20 || *at == 0x7f) {
            fprintf(out, "\\u%04x", *at);
        } else {
            fwrite(at, 1, (size_t)n, out);
        }
        at += n;
    }
    fputc('"', out);
}

/* Everything before a member's value: comma, line break and indent, key. */
static void begin_member(struct rc_json *json, const char *key)
{
    if (json->has_member) {
        fputc(',', json->out);
    }
    if (json->is_flat) {
        fputs(json->has_member ? " " : "", json->out);
    } else if (json->depth > 0) {
        fprintf(json->out, "\n%*s", 2 * json->depth, "");
    }
    if (key != NULL) {
        write_string(json->out, key);
        fputs(": ", json->out);
    }
    json->has_member = true;
}

void rc_json_open(struct rc_json *json, const char *key, char brace)
{
    begin_member(json, key);
    fputc(brace, json->out);
    json->depth++;
    json->has_member = false;
}

void rc_json_close(struct rc_json *json, char brace)
{
    json->depth--;
    if (json->has_member && !json->is_flat) {
        fprintf(json->out, "\n%*s", 2 * json->depth, "");
    }
    fputc(brace, json->out);
    if (json->depth == 0) {
        fputc('\n', json->out);
    }
    json->has_member = true;
}

void rc_json_text(struct rc_json *json, const char *key, const char *text)
{
    begin_member(json, key);
    if (text == NULL) {
        fputs("null", json->out);
    } else {
        write_string(json->out, text);
    }
}

void rc_json_number(struct rc_json *json, const char *key, double value)
{
    begin_member(json, key);
    if (!isfinite(value)) {
        fputs("null", json->out);
        return;
    }
    /* The shortest of the two forms that gives the same bits back. */
    char text[40];
    snprintf(text, sizeof text, "%.15g", value);
    if (strtod(text, NULL) != value) {
        snprintf(text, sizeof text, "%.17g", value);
    }
    fputs(text, json->out);
}

void rc_json_integer(struct rc_json *json, const char *key, int64_t value)
{
    begin_member(json, key);
    fprintf(json->out, "%" PRId64, value);
}

void rc_json_count(struct rc_json *json, const char *key, int64_t value)
{
    if (value < 0) {
        rc_json_text(json, key, NULL);
    } else {
        rc_json_integer(json, key, value);
    }
}

void rc_json_unsigned(struct rc_json *json, const char *key, uint64_t value)
{
    begin_member(json, key);
    fprintf(json->out, "%" PRIu64, value);
}

void rc_json_flag(struct rc_json *json, const char *key, bool is_true)
{
    begin_member(json, key);
    fputs(is_true ? "true" : "false", json->out);
}

void rc_json_pair(struct rc_json *json, const char *key, double first, double second)
{
    rc_json_open(json, key, '[');
    json->is_flat = true;
    rc_json_number(json, NULL, first);
    rc_json_number(json, NULL, second);
    rc_json_close(json, ']');
    json->is_flat = false;
}
