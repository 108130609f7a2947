/* The figures of a bench run: each printed as it is found and kept for the JSON file. */
#ifndef RC_SHEET_H
#define RC_SHEET_H

/* Keep a figure under a key and print it: "  text   value unit". */
void sheet_number(const char *key, const char *text, double value, const char *unit);

/* Keep and print a word or sentence. */
void sheet_text(const char *key, const char *text, const char *value);

/* Print the heading of a section; nothing is kept. */
void sheet_heading(const char *text);

/* Write all kept so far as one JSON object. in path  NULL = do not write; ends 0, or 1 with the reason on stderr */
int sheet_write(const char *path);

#endif
