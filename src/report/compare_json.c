/* A comparison as JSON, schema "rollcast-compare/1": each store's own answer in full, then what is seen between them.
 * docs/commands.md lists the members. */
#include "compare.h"
#include "json.h"

/* A list of the letters of a set. */
static void write_letters(struct rc_json *json, const char *key, unsigned set)
{
    rc_json_open(json, key, '[');
    for (int store = 0; store < RC_REPORT_MAX_STORES; store++) {
        const char letter[2] = {rc_compare_letter(store), '\0'};
        if (set & 1U << store) {
            rc_json_text(json, NULL, letter);
        }
    }
    rc_json_close(json, ']');
}

static void write_store(struct rc_json *json, const struct rc_compare *compare, int store)
{
    const char letter[2] = {rc_compare_letter(store), '\0'};
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "letter", letter);
    rc_json_text(json, "store", compare->store[store].path);
    rc_json_open(json, "answer", '{');
    rc_answer_write_members(json, &compare->answer[store]);
    rc_json_close(json, '}');
    rc_json_close(json, '}');
}

static void write_row(struct rc_json *json, const struct rc_compare *compare, const struct rc_compare_row *row)
{
    const int is_compared = rc_compare_is_compared(compare, row);
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "name", row->is_together ? "all together" : row->criterion->name);
    write_letters(json, "asked_by", row->asked);
    rc_json_flag(json, "is_compared", is_compared);
    write_letters(json, "best", is_compared ? row->best : 0);
    rc_json_close(json, '}');
}

static void write_difference(struct rc_json *json, const struct rc_compare *compare, const struct rc_compare_difference *entry)
{
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "path", entry->path);
    rc_json_open(json, "values", '[');
    for (int store = 0; store < compare->n_stores; store++) {
        rc_json_text(json, NULL, entry->value[store][0] != '\0' ? entry->value[store] : NULL);
    }
    rc_json_close(json, ']');
    rc_json_close(json, '}');
}

void rc_compare_write_json(FILE *out, const struct rc_compare *compare)
{
    struct rc_json json = {.out = out};
    struct rc_text text = {NULL, 0, 0, false};

    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "schema", "rollcast-compare/1");
    write_letters(&json, "go", compare->go);
    write_letters(&json, "would_be_flown", compare->flown);
    rc_compare_add_choice(&text, compare);
    rc_json_text(&json, "why", text.failed ? NULL : text.bytes);
    rc_text_free(&text);
    rc_json_flag(&json, "asks_same", compare->asks_same != 0);

    rc_json_open(&json, "stores", '[');
    for (int store = 0; store < compare->n_stores; store++) {
        write_store(&json, compare, store);
    }
    rc_json_close(&json, ']');
    rc_json_open(&json, "rows", '[');
    for (int row = 0; row < compare->n_rows; row++) {
        write_row(&json, compare, &compare->row[row]);
    }
    rc_json_close(&json, ']');
    rc_json_open(&json, "differences", '[');
    for (int at = 0; at < compare->n_differences; at++) {
        write_difference(&json, compare, &compare->difference[at]);
    }
    rc_json_close(&json, ']');
    rc_json_text(&json, "reading", rc_compare_note());
    rc_json_close(&json, '}');
}
