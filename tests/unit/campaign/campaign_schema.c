/* Writes the JSON Schema (2020-12) of campaigns from the tables that read a campaign, so that editors complete and check the files.
 * With a file's name it compares instead, so that a test can tell when the schema has fallen behind. */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "campaign/law.h"
#include "campaign/law_lists.h"
#include "campaign/quantities.h"
#include "campaign/settings.h"
#include "measures/measures.h"
#include "platform/platform.h"
#include "report/json.h"

enum { MOST_KEYS = 96, KEY = 64 };

/* One row of either table, as far as keys go. */
struct entry {
    const char *path;
    int when;
    bool is_required;
    const struct rc_setting_row *setting;   /* NULL: a quantity */
    const struct rc_quantity_row *quantity;
};

static int entry_count(void)
{
    return rc_settings_count() + rc_quantities_count();
}

static struct entry entry_at(int index)
{
    if (index < rc_settings_count()) {
        const struct rc_setting_row *row = rc_settings_row(index);
        return (struct entry){row->path, (int)row->when, row->fallback.kind == RC_DEFAULT_NONE, row, NULL};
    }
    const struct rc_quantity_row *row = rc_quantities_row(index - rc_settings_count());
    return (struct entry){row->path, row->when, row->fallback.kind == RC_DEFAULT_NONE, NULL, row};
}

/* What follows an object's pattern ("", "fins[]") in an entry's path, or NULL if the entry is not in it. */
static const char *below(const struct entry *entry, const char *object)
{
    const size_t n = strlen(object);
    if (n == 0)
        return entry->path;
    return strncmp(entry->path, object, n) == 0 && entry->path[n] == '.' ? entry->path + n + 1 : NULL;
}

/* Keys of one object, each once, in the tables' order. */
struct keys {
    int n;
    char key[MOST_KEYS][KEY];
};

static void add_key(struct keys *keys, const char *rest)
{
    char key[KEY];
    (void)snprintf(key, sizeof key, "%.*s", (int)strcspn(rest, ".["), rest);
    for (int at = 0; at < keys->n; at++) {
        if (strcmp(keys->key[at], key) == 0)
            return;
    }
    if (keys->n < MOST_KEYS)
        (void)snprintf(keys->key[keys->n++], KEY, "%s", key);
}

/* Does it depend on another entry of its own object whether a row applies? The others apply wherever their object stands. */
static bool is_conditional(int when)
{
    return when >= RC_WHEN_DRIVES || when == RC_WHEN_WIND_POWER_LAW || when == RC_WHEN_WIND_TABLE || when == RC_WHEN_ACTS_ON_RATE ||
           when == RC_WHEN_ACTS_ON_ANGLE || when == RC_WHEN_WINDING;
}

/* Objects that may be left out although they have required rows. */
static bool is_optional_part(int when)
{
    return when == RC_WHEN_GUSTS || when == RC_WHEN_DESCENT || when == RC_WHEN_BODY || when == RC_WHEN_BATTERY ||
           when == RC_WHEN_ENCODER;
}

static void write_keys(struct rc_json *json, const char *name, const struct keys *keys)
{
    if (keys->n == 0)
        return;
    rc_json_open(json, name, '[');
    for (int at = 0; at < keys->n; at++)
        rc_json_text(json, NULL, keys->key[at]);
    rc_json_close(json, ']');
}

static void write_range(struct rc_json *json, double low, double high)
{
    if (isfinite(low))
        rc_json_number(json, "minimum", low);
    if (isfinite(high))
        rc_json_number(json, "maximum", high);
}

static void write_setting(struct rc_json *json, const struct rc_setting_row *row)
{
    const bool is_measure = strcmp(row->path, "criteria[].measure") == 0;
    rc_json_text(json, "description", row->meaning);
    if (row->kind == RC_SETTING_CHOICE || is_measure) {
        rc_json_open(json, "enum", '[');
        for (int index = 0; !is_measure && row->choice(index); index++)
            rc_json_text(json, NULL, row->choice(index));
        for (int measure = 0; is_measure && measure < RC_N_MEASURES; measure++)
            rc_json_text(json, NULL, rc_measures_row(measure)->name);
        rc_json_close(json, ']');
    } else if (row->kind == RC_SETTING_TEXT || row->kind == RC_SETTING_FILE) {
        rc_json_text(json, "type", "string");
        rc_json_integer(json, "minLength", (int64_t)row->low);
        rc_json_integer(json, "maxLength", (int64_t)row->high);
    } else {
        rc_json_text(json, "type", row->kind == RC_SETTING_INTEGER ? "integer" : "number");
        write_range(json, row->low, row->high);
    }
    if (row->fallback.kind == RC_DEFAULT_VALUE && row->kind == RC_SETTING_CHOICE)
        rc_json_text(json, "default", row->choice((int)row->fallback.value));
    else if (row->fallback.kind == RC_DEFAULT_VALUE && row->kind >= RC_SETTING_INTEGER && isfinite(row->fallback.value))
        rc_json_number(json, "default", row->fallback.value);
}

/* A number in its range, or a distribution. */
static void write_value(struct rc_json *json, const struct rc_quantity_row *row)
{
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "type", row->is_whole ? "integer" : "number");
    write_range(json, row->low, row->high);
    rc_json_close(json, '}');
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "$ref", "#/$defs/distribution");
    rc_json_close(json, '}');
}

static void write_quantity(struct rc_json *json, const struct rc_quantity_row *row)
{
    struct rc_text meaning = {0};
    rc_text_add(&meaning, "%s%s%s%s", row->meaning, strcmp(row->unit, "1") != 0 ? " [" : "", strcmp(row->unit, "1") != 0 ? row->unit : "",
                strcmp(row->unit, "1") != 0 ? "]" : "");
    rc_json_text(json, "description", meaning.bytes);
    rc_text_free(&meaning);
    rc_json_open(json, "anyOf", '[');
    write_value(json, row);
    if (rc_quantities_is_per_fin(row)) {
        rc_json_open(json, NULL, '{');
        rc_json_text(json, "type", "array");
        rc_json_integer(json, "minItems", 1);
        rc_json_integer(json, "maxItems", RC_MAX_FINS);
        rc_json_open(json, "items", '{');
        rc_json_open(json, "anyOf", '[');
        write_value(json, row);
        rc_json_close(json, ']');
        rc_json_close(json, '}');
        rc_json_close(json, '}');
    }
    rc_json_close(json, ']');
    if (row->fallback.kind == RC_DEFAULT_VALUE)
        rc_json_number(json, "default", row->fallback.value);
}

static void write_object(struct rc_json *json, const char *object);

/* The schema of one key of an object. */
static void write_key(struct rc_json *json, const char *object, const char *key)
{
    char pattern[2 * KEY];
    rc_json_open(json, key, '{');
    for (int index = 0; index < entry_count(); index++) {
        const struct entry entry = entry_at(index);
        const char *rest = below(&entry, object);
        if (!rest || strncmp(rest, key, strlen(key)) != 0 || strcspn(rest, ".[") != strlen(key))
            continue;
        const char *after = rest + strlen(key);
        const bool is_list = strncmp(after, "[].", 3) == 0;
        (void)snprintf(pattern, sizeof pattern, "%s%s%s%s", object, *object != '\0' ? "." : "", key, is_list ? "[]" : "");
        if (is_list) {
            rc_json_text(json, "type", "array");
            rc_json_integer(json, "minItems", 1);
            rc_json_integer(json, "maxItems", rc_settings_list(pattern)->n_max);
            rc_json_open(json, "items", '{');
            write_object(json, pattern);
            rc_json_close(json, '}');
        } else if (*after == '.') {
            write_object(json, pattern);
        } else if (entry.setting) {
            write_setting(json, entry.setting);
        } else {
            write_quantity(json, entry.quantity);
        }
        break;
    }
    rc_json_close(json, '}');
}

/* Keys of an object, and those that must be there under any circumstances. */
static void collect(const char *object, struct keys *all, struct keys *required)
{
    const bool is_top = *object == '\0';
    *all = *required = (struct keys){0};
    for (int index = 0; index < entry_count(); index++) {
        const struct entry entry = entry_at(index);
        const char *rest = below(&entry, object);
        if (!rest)
            continue;
        add_key(all, rest);
        const bool is_deeper = strpbrk(rest, ".") != NULL;
        const bool is_told_below = is_deeper ? is_optional_part(entry.when) : is_conditional(entry.when);
        const bool is_of_one_kind = is_top && entry.when != RC_WHEN_SHARED;
        if (entry.is_required && !is_told_below && !is_of_one_kind && strcmp(rest, "correlations[].") != 0)
            add_key(required, rest);
    }
}

/* A condition on the entries of one object: what tells it, and which rows apply then. */
struct condition {
    const char *object;
    const char *key, *word;      /* "kind" is "stepper"; word NULL: the key is there */
    int applies, applies_not;    /* values of `when`: required and allowed here, forbidden here; -1 = none */
};

/* Is a row ruled by a side of the condition? */
static bool is_ruled(const struct condition *c, int when, bool is_then)
{
    const int wanted = is_then ? c->applies : c->applies_not;
    if (when >= RC_WHEN_DRIVES && c->applies >= RC_WHEN_DRIVES)
        return is_then == ((when & c->applies) != 0);
    return when == wanted;
}

/* Rows of one side: required, or forbidden. */
static void write_side(struct rc_json *json, const struct condition *c, bool is_then)
{
    struct keys required = {0}, forbidden = {0};
    for (int index = 0; index < entry_count(); index++) {
        const struct entry entry = entry_at(index);
        const char *rest = below(&entry, c->object);
        if (!rest || strpbrk(rest, ".") != NULL)
            continue;
        if (is_ruled(c, entry.when, is_then) && entry.is_required && (is_then || c->applies < RC_WHEN_DRIVES))
            add_key(&required, rest);
        if (is_ruled(c, entry.when, !is_then))
            add_key(&forbidden, rest);
    }
    rc_json_open(json, is_then ? "then" : "else", '{');
    write_keys(json, "required", &required);
    if (forbidden.n > 0 && (is_then || c->applies < RC_WHEN_DRIVES)) {
        rc_json_open(json, "properties", '{');
        for (int at = 0; at < forbidden.n; at++)
            rc_json_flag(json, forbidden.key[at], false);
        rc_json_close(json, '}');
    }
    rc_json_close(json, '}');
}

static void write_condition(struct rc_json *json, const struct condition *c)
{
    const struct keys key = {.n = 1};
    struct keys needed = key;
    (void)snprintf(needed.key[0], KEY, "%s", c->key);
    rc_json_open(json, NULL, '{');
    rc_json_open(json, "if", '{');
    write_keys(json, "required", &needed);
    if (c->word) {
        rc_json_open(json, "properties", '{');
        rc_json_open(json, c->key, '{');
        rc_json_text(json, "const", c->word);
        rc_json_close(json, '}');
        rc_json_close(json, '}');
    }
    rc_json_close(json, '}');
    write_side(json, c, true);
    write_side(json, c, false);
    rc_json_close(json, '}');
}

/* A stepper without a pull-out table needs its winding. */
static void write_winding(struct rc_json *json)
{
    struct keys required = {0};
    for (int index = 0; index < entry_count(); index++) {
        const struct entry entry = entry_at(index);
        const char *rest = below(&entry, "drive");
        if (rest && entry.when == RC_WHEN_WINDING && entry.is_required)
            add_key(&required, rest);
    }
    rc_json_open(json, NULL, '{');
    rc_json_open(json, "if", '{');
    rc_json_open(json, "properties", '{');
    rc_json_open(json, "kind", '{');
    rc_json_text(json, "const", "stepper");
    rc_json_close(json, '}');
    rc_json_flag(json, "pull_out_csv", false);
    rc_json_close(json, '}');
    rc_json_close(json, '}');
    rc_json_open(json, "then", '{');
    write_keys(json, "required", &required);
    rc_json_close(json, '}');
    rc_json_close(json, '}');
}

static void write_conditions(struct rc_json *json, const char *object)
{
    static const struct condition conditions[] = {
        {"wind", "table_csv", NULL, RC_WHEN_WIND_TABLE, RC_WHEN_WIND_POWER_LAW},
        {"controller", "acts_on", "rate", RC_WHEN_ACTS_ON_RATE, RC_WHEN_ACTS_ON_ANGLE},
    };
    const bool is_drive = strcmp(object, "drive") == 0;
    bool has_any = is_drive;
    for (size_t at = 0; at < sizeof conditions / sizeof conditions[0]; at++)
        has_any = has_any || strcmp(conditions[at].object, object) == 0;
    if (!has_any)
        return;
    rc_json_open(json, "allOf", '[');
    for (size_t at = 0; at < sizeof conditions / sizeof conditions[0]; at++) {
        if (strcmp(conditions[at].object, object) == 0)
            write_condition(json, &conditions[at]);
    }
    for (int drive = 0; is_drive && drive < RC_N_DRIVES; drive++) {
        const struct condition of_drive = {"drive", "kind", rc_platform_drive_at(drive)->name, RC_WHEN_DRIVES << drive, -1};
        write_condition(json, &of_drive);
    }
    if (is_drive)
        write_winding(json);
    rc_json_close(json, ']');
}

/* A campaign has a vehicle, or a formula and inputs. */
static void write_kinds(struct rc_json *json)
{
    struct keys of_formula = {0}, of_vehicle = {0}, needed_by_vehicle = {0}, formula = {.n = 1, .key = {"formula"}};
    for (int index = 0; index < entry_count(); index++) {
        const struct entry entry = entry_at(index);
        char key[KEY];
        (void)snprintf(key, sizeof key, "%.*s", (int)strcspn(entry.path, ".["), entry.path);
        if (entry.when == RC_WHEN_FORMULA)
            add_key(&of_formula, key);
        else if (entry.when != RC_WHEN_SHARED && strcmp(key, "run") != 0)
            add_key(&of_vehicle, key);
        if (entry.when != RC_WHEN_FORMULA && entry.when != RC_WHEN_SHARED && !is_optional_part(entry.when) && entry.is_required)
            add_key(&needed_by_vehicle, key);
    }
    rc_json_open(json, "if", '{');
    write_keys(json, "required", &formula);
    rc_json_close(json, '}');
    for (int is_formula = 1; is_formula >= 0; is_formula--) {
        const struct keys *forbidden = is_formula ? &of_vehicle : &of_formula;
        rc_json_open(json, is_formula ? "then" : "else", '{');
        write_keys(json, "required", is_formula ? &of_formula : &needed_by_vehicle);
        rc_json_open(json, "properties", '{');
        for (int at = 0; at < forbidden->n; at++)
            rc_json_flag(json, forbidden->key[at], false);
        rc_json_close(json, '}');
        rc_json_close(json, '}');
    }
}

/* The members of an object's schema, into one that is open. */
static void write_object(struct rc_json *json, const char *object)
{
    struct keys *all = calloc(2, sizeof *all);
    if (!all)
        exit(1);
    collect(object, &all[0], &all[1]);
    rc_json_text(json, "type", "object");
    rc_json_open(json, "properties", '{');
    for (int at = 0; at < all[0].n; at++)
        write_key(json, object, all[0].key[at]);
    rc_json_close(json, '}');
    write_keys(json, "required", &all[1]);
    rc_json_flag(json, "additionalProperties", false);
    if (strcmp(object, "criteria[]") == 0) {
        static const char *const limits[] = {"at_least", "at_most"};
        rc_json_open(json, "anyOf", '[');
        for (int at = 0; at < 2; at++) {
            struct keys limit = {.n = 1};
            (void)snprintf(limit.key[0], KEY, "%s", limits[at]);
            rc_json_open(json, NULL, '{');
            write_keys(json, "required", &limit);
            rc_json_close(json, '}');
        }
        rc_json_close(json, ']');
    }
    write_conditions(json, object);
    if (*object == '\0')
        write_kinds(json);
    free(all);
}

/* One distribution: its name, its parameters, nothing else. */
static void write_distribution(struct rc_json *json, const struct rc_distribution_kind *kind)
{
    struct keys required = {0};
    add_key(&required, "distribution");
    rc_json_open(json, NULL, '{');
    rc_json_text(json, "description", kind->summary);
    rc_json_text(json, "type", "object");
    rc_json_open(json, "properties", '{');
    rc_json_open(json, "distribution", '{');
    rc_json_text(json, "const", kind->name);
    rc_json_close(json, '}');
    for (int p = 0; p < kind->n_parameters; p++) {
        rc_json_open(json, kind->parameter[p].key, '{');
        rc_json_text(json, "description", kind->parameter[p].meaning);
        rc_json_text(json, "type", "number");
        rc_json_close(json, '}');
        add_key(&required, kind->parameter[p].key);
    }
    for (int list = 0; rc_law_lists_key(kind, list); list++) {
        rc_json_open(json, rc_law_lists_key(kind, list), '{');
        rc_json_text(json, "type", kind->is_column ? "string" : "array");
        if (!kind->is_column) {
            rc_json_open(json, "items", '{');
            rc_json_text(json, "type", "number");
            rc_json_close(json, '}');
        }
        rc_json_close(json, '}');
        add_key(&required, rc_law_lists_key(kind, list));
    }
    for (int extra = 0; extra < RC_N_LAW_ENTRIES; extra++) {
        const struct rc_law_row *row = rc_law_row((enum rc_law_entry)extra);
        rc_json_open(json, row->key, '{');
        rc_json_text(json, "description", row->meaning);
        rc_json_text(json, "type", "number");
        write_range(json, row->low, row->high);
        if (isfinite(row->fallback))
            rc_json_number(json, "default", row->fallback);
        rc_json_close(json, '}');
    }
    rc_json_close(json, '}');
    write_keys(json, "required", &required);
    rc_json_flag(json, "additionalProperties", false);
    rc_json_close(json, '}');
}

static void write_schema(FILE *out)
{
    struct rc_json json = {.out = out};
    rc_json_open(&json, NULL, '{');
    rc_json_text(&json, "$schema", "https://json-schema.org/draft/2020-12/schema");
    rc_json_text(&json, "title", "Rollcast campaign");
    rc_json_text(&json, "$comment", "Generated from the program's tables by the build target campaign_schema; do not edit.");
    write_object(&json, "");
    rc_json_open(&json, "$defs", '{');
    rc_json_open(&json, "distribution", '{');
    rc_json_open(&json, "oneOf", '[');
    for (int kind = 0; kind < rc_distribution_count(); kind++)
        write_distribution(&json, rc_distribution_at(kind));
    rc_json_close(&json, ']');
    rc_json_close(&json, '}');
    rc_json_close(&json, '}');
    rc_json_close(&json, '}');
}

int main(int n_arguments, char **argument)
{
    char *schema = NULL, *bytes = NULL;
    size_t n_schema = 0, n_bytes = 0;
    struct rc_error err = {.status = RC_OK};
    int code = 1;
    FILE *out = open_memstream(&schema, &n_schema);
    if (!out)
        return 1;
    write_schema(out);
    if (fclose(out) != 0)
        return 1;
    if (n_arguments < 2) {
        code = fwrite(schema, 1, n_schema, stdout) == n_schema && fflush(stdout) == 0 ? 0 : 1;
    } else if (rc_file_read(&bytes, &n_bytes, argument[1], RC_MAX_FILE_BYTES, &err) != RC_OK) {
        (void)fprintf(stderr, "%s: %s\n", err.where, err.what);
    } else if (n_bytes != n_schema || memcmp(bytes, schema, n_bytes) != 0) {
        (void)fprintf(stderr, "%s is not in step with the program's tables; write it anew: campaign_schema > %s\n", argument[1],
                      argument[1]);
    } else {
        code = 0;
    }
    free(bytes);
    free(schema);
    return code;
}
