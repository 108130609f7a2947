/* A small JSON writer: RFC 8259 text, two blanks of indent, straight to a stream. Knows nothing of what it writes. */
#ifndef RC_JSON_H
#define RC_JSON_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

/* One document being written. Fill with {.out = stream}. */
struct rc_json {
    FILE *out;
    int depth;       /* open objects and arrays                      */
    bool has_member; /* the innermost one holds a member already     */
    bool is_flat;    /* the innermost one stands on a single line    */
};

/* Length of the well-formed UTF-8 sequence at the start of a NUL-terminated text, 0 if there is none.
 * source RFC 3629, section 4 */
int rc_json_utf8_length(const unsigned char *bytes);

/* Open an object '{' or an array '['.
 * in   key    member name in an object; NULL in an array and at the top
 * in   brace  '{' or '['
 * ends nothing; write errors stay in the stream's error flag, here and below */
void rc_json_open(struct rc_json *json, const char *key, char brace);

/* Close the innermost one. in brace '}' or ']' ; the outermost also ends the line */
void rc_json_close(struct rc_json *json, char brace);

/* Write a text member; NULL gives null. Control characters are escaped, bytes that are no UTF-8 become U+FFFD. */
void rc_json_text(struct rc_json *json, const char *key, const char *text);

/* Write a number so that it reads back to the same bits; NAN and infinities, which JSON does not have, give null. */
void rc_json_number(struct rc_json *json, const char *key, double value);

/* Write a whole number. */
void rc_json_integer(struct rc_json *json, const char *key, int64_t value);

/* Write a count, null where it is negative: there is none. */
void rc_json_count(struct rc_json *json, const char *key, int64_t value);

/* Write an unsigned whole number. */
void rc_json_unsigned(struct rc_json *json, const char *key, uint64_t value);

/* Write true or false. */
void rc_json_flag(struct rc_json *json, const char *key, bool is_true);

/* Write an array of two numbers on one line. */
void rc_json_pair(struct rc_json *json, const char *key, double first, double second);

#endif
