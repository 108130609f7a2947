/* A drawing of gnuplot's svg terminal made fit for a page that holds several. Tags are rewritten one by one; text between them,
 * which gnuplot has escaped, stays. */
#include "page.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

enum { MAX_VALUE = 8192, MAX_CLASS = 64 };

/* One tag as it is rewritten. */
struct tag {
    FILE *out;
    int number;            /* of the figure          */
    char class[MAX_CLASS]; /* classes gathered so far */
};

/* One attribute: borrowed stretches of the drawing. */
struct attribute {
    const char *name, *value;
    int n_name, n_value;
};

static int is_named(const struct attribute *at, const char *name)
{
    return (size_t)at->n_name == strlen(name) && strncmp(at->name, name, strlen(name)) == 0;
}

static int has_value(const struct attribute *at, const char *value)
{
    return (size_t)at->n_value == strlen(value) && strncmp(at->value, value, strlen(value)) == 0;
}

/* The class that stands for a colour: k ink, g grid, a digit of the palette; 0 for none of ours (none, currentColor, white). The
 * palette is written as rgb 1, 1, n by page_figure.c. */
static char colour_of(const struct attribute *at)
{
    char digits[MAX_CLASS];
    int red = 0, green = 0, blue = 0;
    if (has_value(at, "black") || has_value(at, "#000000")) {
        return 'k';
    }
    if (has_value(at, "gray") || has_value(at, "#C0C0C0")) {
        return 'g';
    }
    (void)snprintf(digits, sizeof digits, "%.*s", at->n_value, at->value);
    const int is_ours = sscanf(digits, "rgb( %d, %d, %d", &red, &green, &blue) == 3 ||
                        sscanf(digits, "#%2x%2x%2x", (unsigned *)&red, (unsigned *)&green, (unsigned *)&blue) == 3;
    if (is_ours && red == 190 && green == 190 && blue == 190) { /* gnuplot's gray, by number */
        return 'g';
    }
    return is_ours && red == 1 && green == 1 && blue >= 1 && blue <= 8 ? (char)('0' + blue) : 0;
}

static void add_class(struct tag *tag, const char *text, int n)
{
    const size_t used = strlen(tag->class);
    (void)snprintf(tag->class + used, sizeof tag->class - used, "%s%.*s", used > 0 ? " " : "", n, text);
}

/* A colour becomes a class, or stays where it is none of ours. ends 1 if it became one */
static int take_colour(struct tag *tag, const struct attribute *at)
{
    const char kind = is_named(at, "stroke") ? 'l' : is_named(at, "fill") ? 'a' : is_named(at, "color") ? 'p' : 0;
    const char colour = kind != 0 ? colour_of(at) : 0;
    if (colour == 0) {
        return 0;
    }
    const char text[] = {kind, colour};
    add_class(tag, text, 2);
    return 1;
}

static void write_attribute(struct tag *tag, const struct attribute *at)
{
    if (is_named(at, "class")) {
        add_class(tag, at->value, at->n_value);
    } else if (is_named(at, "font-family") || take_colour(tag, at)) {
        return;
    } else if (is_named(at, "id")) {
        fprintf(tag->out, " id=\"f%d-%.*s\"", tag->number, at->n_value, at->value);
    } else if (is_named(at, "xlink:href") && at->n_value > 1) {
        fprintf(tag->out, " href=\"#f%d-%.*s\"", tag->number, at->n_value - 1, at->value + 1);
    } else {
        fprintf(tag->out, " %.*s=\"%.*s\"", at->n_name, at->name, at->n_value, at->value);
    }
}

/* Read `name = "value"` in a tag. ends where it goes on, NULL if there is none before `end` */
static const char *read_attribute(struct attribute *at, const char *from, const char *end)
{
    while (from < end && isspace((unsigned char)*from)) {
        from++;
    }
    at->name = from;
    while (from < end && *from != '=' && !isspace((unsigned char)*from)) {
        from++;
    }
    at->n_name = (int)(from - at->name);
    while (from < end && (isspace((unsigned char)*from) || *from == '=')) {
        from++;
    }
    if (at->n_name == 0 || from >= end || (*from != '"' && *from != '\'')) {
        return NULL;
    }
    const char *close = memchr(from + 1, *from, (size_t)(end - from - 1));
    at->value = from + 1;
    at->n_value = close != NULL ? (int)(close - from - 1) : 0;
    return close != NULL ? close + 1 : NULL;
}

/* Write one tag, from its '<' to its '>'. */
static void write_tag(FILE *out, const char *from, const char *end, int number)
{
    struct tag tag = {.out = out, .number = number, .class = ""};
    struct attribute at;
    const char *name_end = from + 1;
    while (name_end < end && !isspace((unsigned char)*name_end) && *name_end != '>' &&
           (*name_end != '/' || name_end == from + 1)) {
        name_end++;
    }
    fwrite(from, 1, (size_t)(name_end - from), out);
    for (const char *next = name_end; (next = read_attribute(&at, next, end)) != NULL;) {
        write_attribute(&tag, &at);
    }
    if (tag.class[0] != '\0') {
        fprintf(out, " class=\"%s\"", tag.class);
    }
    fputs(end[-1] == '/' ? "/>" : ">", out);
}

static int starts(const char *text, const char *with)
{
    return strncmp(text, with, strlen(with)) == 0;
}

/* Past an element that is left out, with all it holds; `at` itself where the tag begins none. */
static const char *skip_element(const char *at)
{
    static const char *const left_out[][2] = {{"<title>", "</title>"}, {"<desc>", "</desc>"}, {"<filter ", "</filter>"}};
    for (size_t i = 0; i < sizeof left_out / sizeof left_out[0]; i++) {
        const char *close = starts(at, left_out[i][0]) ? strstr(at, left_out[i][1]) : NULL;
        if (close != NULL) {
            return close + strlen(left_out[i][1]);
        }
    }
    return at;
}

rc_status rc_page_svg_write(FILE *out, const char *svg, int number, const char *title, struct rc_error *err)
{
    const char *at = strstr(svg, "<svg");
    const char *box = at != NULL ? strstr(at, "viewBox=\"") : NULL;
    const char *body = box != NULL ? strchr(box, '>') : NULL;
    if (body == NULL || strstr(body, "</svg>") == NULL) {
        return rc_error_fill(err, RC_IO, "",
                             "gnuplot gave no drawing; the page needs gnuplot 5.4 or later with its svg terminal");
    }
    box += strlen("viewBox=\"");
    fprintf(out, "<svg viewBox=\"%.*s\" role=\"img\" aria-label=\"", (int)strcspn(box, "\""), box);
    rc_page_text(out, title);
    fputs("\">\n", out);
    for (at = body + 1; *at != '\0';) {
        const char *next = skip_element(at);
        if (next == at && *at == '<') {
            next = strchr(at, '>');
            if (next == NULL) {
                break;
            }
            write_tag(out, at, next, number);
            next++;
        } else if (next == at) {
            next = at + strcspn(at, "<");
            fwrite(at, 1, (size_t)(next - at), out);
        }
        at = next;
    }
    return RC_OK;
}
