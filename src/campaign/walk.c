/* Walks the tree along the path patterns of both tables. A pattern's next part says what a key must hold. */
#include "walk.h"

#include <string.h>

#include "base/suggest.h"

enum { N_KEYS_MOST = 64 }; /* keys of one object: more than any known object has */

enum key_kind { KEY_UNKNOWN = 0, KEY_OTHER_TIME, KEY_END, KEY_OBJECT, KEY_LIST };

/* An object on the way: its pattern ("fins[]") and its path ("fins[0]"). */
struct place {
    const cJSON *node;
    const char *pattern;
    const char *path;
};

/* One row of either table, as far as keys go. */
struct entry {
    const char *path;
    int when;
    bool is_required;
};

static int entry_count(void)
{
    return rc_settings_count() + rc_quantities_count();
}

static struct entry entry_at(int index)
{
    if (index < rc_settings_count()) {
        const struct rc_setting_row *row = rc_settings_row(index);
        return (struct entry){row->path, (int)row->when, row->fallback.kind == RC_DEFAULT_NONE};
    }
    const struct rc_quantity_row *row = rc_quantities_row(index - rc_settings_count());
    return (struct entry){row->path, row->when, row->fallback.kind == RC_DEFAULT_NONE};
}

/* What follows a pattern in an entry's path, or NULL if the entry is not below it. */
static const char *below(const struct entry *entry, const char *pattern)
{
    const size_t n = strlen(pattern);
    if (n == 0)
        return entry->path;
    return strncmp(entry->path, pattern, n) == 0 && entry->path[n] == '.' ? entry->path + n + 1 : NULL;
}

static size_t key_length(const char *rest)
{
    return strcspn(rest, ".[");
}

static enum key_kind kind_after(const char *rest)
{
    const char *after = rest + key_length(rest);
    if (*after == '.')
        return KEY_OBJECT;
    return *after == '[' && after[2] == '.' ? KEY_LIST : KEY_END;
}

static bool is_key(const char *rest, const char *key)
{
    return rest && strlen(key) == key_length(rest) && strncmp(rest, key, key_length(rest)) == 0;
}

/* What a key below a pattern must hold; the search takes every known key of that object.
 * out when  of a key that does not apply: when it would (enum rc_when, or drives) */
static enum key_kind look_up(const struct rc_reader *reader, const char *pattern, const char *key, struct rc_suggest *search,
                             int *when)
{
    enum key_kind kind = KEY_UNKNOWN;
    for (int index = 0; index < entry_count(); index++) {
        const struct entry entry = entry_at(index);
        const char *rest = below(&entry, pattern);
        if (!rest)
            continue;
        const bool applies = rc_read_applies(reader, entry.when);
        if (is_key(rest, key) && (applies || kind == KEY_UNKNOWN)) {
            kind = applies ? kind_after(rest) : KEY_OTHER_TIME;
            *when = entry.when;
        }
        if (applies)
            rc_suggest_offer(search, rest, key_length(rest));
    }
    return kind;
}

static bool is_first_of_its_key(const cJSON *object, const cJSON *node)
{
    for (const cJSON *other = object->child; other != node; other = other->next) {
        if (strcmp(other->string, node->string) == 0)
            return false;
    }
    return true;
}

static void walk_object(const struct rc_reader *reader, struct place place);

static void walk_list(const struct rc_reader *reader, struct place place)
{
    const struct rc_list_row *list = rc_settings_list(place.pattern);
    const int n = cJSON_GetArraySize(place.node);
    char path[RC_MAX_PATH_TEXT];
    (void)snprintf(path, sizeof path, "%s", list->name);
    if (n < 1 || n > list->n_max)
        rc_read_report(reader, path, NULL, "got %d members, wanted 1 to %d", n, list->n_max);
    int index = 0;
    for (const cJSON *member = place.node->child; member && index < list->n_max; member = member->next, index++) {
        (void)snprintf(path, sizeof path, "%s[%d]", list->name, index);
        if (cJSON_IsObject(member))
            walk_object(reader, (struct place){member, place.pattern, path});
        else
            rc_read_report(reader, path, NULL, "wanted an object { ... } in the list \"%s\"", list->name);
    }
}

/* Go on with what stands under a known key. */
static void walk_key(const struct rc_reader *reader, struct place parent, const cJSON *node, enum key_kind kind)
{
    char got[RC_READ_GOT];
    char pattern[RC_MAX_PATH_TEXT];
    char path[RC_MAX_PATH_TEXT];
    const char *dot = *parent.pattern == '\0' ? "" : ".";
    (void)snprintf(pattern, sizeof pattern, "%.40s%s%.40s%s", parent.pattern, dot, node->string, kind == KEY_LIST ? "[]" : "");
    (void)snprintf(path, sizeof path, "%.40s%s%.40s", parent.path, dot, node->string);
    rc_read_describe(node, got);
    if (kind == KEY_OBJECT && !cJSON_IsObject(node))
        rc_read_report(reader, path, NULL, "got %s, wanted an object { ... }", got);
    else if (kind == KEY_LIST && !cJSON_IsArray(node))
        rc_read_report(reader, path, NULL, "got %s, wanted a list [ { ... } ]", got);
    else if (kind == KEY_OBJECT)
        walk_object(reader, (struct place){node, pattern, path});
    else if (kind == KEY_LIST)
        walk_list(reader, (struct place){node, pattern, path});
}

/* Add the suggested entry's unit to a hint, where the key that was given names another one. */
static void add_unit(char *hint, size_t n, const char *pattern, const struct rc_suggest *search)
{
    const size_t n_wanted = strlen(search->wanted), n_hint = strlen(hint);
    const char *unit = strrchr(search->wanted, '_');
    const size_t n_unit = unit ? n_wanted - (size_t)(unit - search->wanted) : 0;
    if (n_hint == 0 || n_unit == 0 ||
        (n_unit < search->n_word && strncmp(search->word + search->n_word - n_unit, unit, n_unit) == 0))
        return;
    for (int index = 0; index < rc_quantities_count(); index++) {
        const struct rc_quantity_row *row = rc_quantities_row(index);
        const struct entry entry = {row->path, row->when, false};
        const char *rest = below(&entry, pattern);
        if (rest && key_length(rest) == search->n_word && strncmp(rest, search->word, search->n_word) == 0) {
            if (*rc_quantities_unit(row) != '\0')
                (void)snprintf(hint + n_hint, n - n_hint, " its unit is %s", rc_quantities_unit(row));
            return;
        }
    }
}

/* Why a key that goes with something else does not apply here, and what to do. */
static void explain(const struct rc_reader *reader, int when, char *why, size_t n)
{
    static const char *const other_time[] = {
        [RC_WHEN_WIND_POWER_LAW] = "does not go with wind.table_csv; give speed_factor and from_shift_deg instead",
        [RC_WHEN_WIND_TABLE] = "only goes with wind.table_csv; name a wind table or remove it",
        [RC_WHEN_ACTS_ON_RATE] = "only goes with acts_on \"rate\"; on angle give gain_per_s, integral_gain_per_s2 and still_deg",
        [RC_WHEN_ACTS_ON_ANGLE] = "only goes with acts_on \"angle\"; on rate give gain, integral_gain_per_s and still_dps",
        [RC_WHEN_WINDING] = "only goes without drive.pull_out_csv; remove one of them",
        [RC_WHEN_FORMULA] = "only goes with \"formula\"; add the formula or remove it",
    };
    const int drives = rc_read_drives(when);
    if (reader->is_formula) {
        (void)snprintf(why, n, "is a vehicle's and does not go with \"formula\": a formula has inputs; remove one of them");
    } else if (drives != 0 && (drives & RC_WHEN_DRIVES << reader->drive) == 0) {
        char names[128];
        rc_read_drive_names(names, sizeof names, drives);
        (void)snprintf(why, n, "is no number of drive.kind \"%s\" but of %.80s; remove it, or change the kind",
                       rc_platform_drive_at(reader->drive)->name, names);
    } else {
        const char *const known = when <= RC_WHEN_FORMULA ? other_time[when] : NULL;
        (void)snprintf(why, n, "%s", known != NULL ? known : "does not apply here; remove it");
    }
}

/* ends the search that ended in a suggestion for an unknown key, otherwise an empty one */
static struct rc_suggest check_key(const struct rc_reader *reader, struct place place, const cJSON *node)
{
    struct rc_suggest search = {.wanted = node->string};
    int when = RC_WHEN_ALWAYS;
    const enum key_kind kind = look_up(reader, place.pattern, node->string, &search, &when);
    char hint[128];
    if (!is_first_of_its_key(place.node, node)) {
        rc_read_report(reader, place.path, node->string, "the key \"%.60s\" stands here twice; keep one", node->string);
    } else if (kind == KEY_UNKNOWN) {
        rc_suggest_text(&search, hint, sizeof hint);
        add_unit(hint, sizeof hint, place.pattern, &search);
        rc_read_report(reader, place.path, node->string, "unknown key \"%.60s\"%s", node->string,
                       *hint != '\0' ? hint : "; the campaign reference lists the known ones");
        if (*hint != '\0')
            return search;
    } else if (kind == KEY_OTHER_TIME) {
        char why[160];
        explain(reader, when, why, sizeof why);
        rc_read_report(reader, place.path, node->string, "\"%.60s\" %s", node->string, why);
    } else {
        walk_key(reader, place, node, kind);
    }
    return (struct rc_suggest){.wanted = NULL};
}

/* Was the key suggested in place of an unknown one? Then it is not missing but misspelt, and that has been said. */
static bool is_suggested(const struct rc_suggest *suggested, int n_suggested, const char *key)
{
    for (int index = 0; index < n_suggested; index++) {
        const struct rc_suggest *one = &suggested[index];
        if (one->word && strlen(key) == one->n_word && strncmp(one->word, key, one->n_word) == 0)
            return true;
    }
    return false;
}

/* Report a key once, at the first required entry at or below it. */
static void check_missing(const struct rc_reader *reader, struct place place, const struct rc_suggest *suggested, int n_suggested)
{
    char seen[N_KEYS_MOST][RC_MAX_NAME];
    int n_seen = 0;
    for (int index = 0; index < entry_count(); index++) {
        const struct entry entry = entry_at(index);
        const char *rest = below(&entry, place.pattern);
        if (!rest || !entry.is_required || !rc_read_applies(reader, entry.when))
            continue;
        char key[RC_MAX_NAME];
        (void)snprintf(key, sizeof key, "%.*s", (int)key_length(rest), rest);
        bool is_done = cJSON_GetObjectItemCaseSensitive(place.node, key) != NULL || n_seen == N_KEYS_MOST;
        for (int other = 0; other < n_seen && !is_done; other++)
            is_done = strcmp(seen[other], key) == 0;
        if (is_done || is_suggested(suggested, n_suggested, key))
            continue;
        memcpy(seen[n_seen++], key, sizeof key);
        rc_read_report(reader, place.path, key, "the %s \"%s\" is missing; add it",
                       kind_after(rest) == KEY_OBJECT ? "object"
                       : kind_after(rest) == KEY_LIST ? "list"
                                                      : "entry",
                       key);
    }
}

static void walk_object(const struct rc_reader *reader, struct place place)
{
    struct rc_suggest suggested[N_KEYS_MOST];
    int n_keys = 0;
    for (const cJSON *node = place.node->child; node; node = node->next) {
        if (n_keys == N_KEYS_MOST) {
            rc_read_report(reader, place.path, NULL, "has more than %d keys, no object of a campaign has", N_KEYS_MOST);
            break;
        }
        suggested[n_keys++] = check_key(reader, place, node);
    }
    check_missing(reader, place, suggested, n_keys);
}

void rc_walk_keys(const struct rc_reader *reader)
{
    walk_object(reader, (struct place){reader->root, "", ""});
}
