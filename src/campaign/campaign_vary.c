/* A campaign with some of its numbers or spreads replaced: the text is changed and read anew, so that everything that holds for a
 * file holds for it, and a store of it explains itself. And the way back: which numbers of two campaigns differ. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "campaign_handle.h"
#include "law.h"
#include "locale_c.h"
#include "read.h"
#include "base/suggest.h"

/* Has every bracket of a path that a user typed its number and its end? */
static bool is_whole(const char *path)
{
    for (const char *c = path; (c = strchr(c, '[')) != NULL; c++) {
        const size_t n_digits = strspn(c + 1, "0123456789");
        if (n_digits < 1 || n_digits > 4 || c[1 + n_digits] != ']')
            return false;
    }
    return true;
}

/* The node at a path that a user typed; NULL too where its brackets are not whole. */
static const cJSON *node_at(const struct rc_reader *reader, const char *path)
{
    return is_whole(path) ? rc_read_node(reader, path) : NULL;
}

/* Does a path lead into the run's settings? They say how often and how, not what is flown. */
static bool is_of_run(const char *path)
{
    return strncmp(path, "run", 3) == 0 && (path[3] == '.' || path[3] == '\0');
}

/* How many bytes of a path lead to something that stands there, and to what: all up to the first key that does not. */
static size_t lead(const struct rc_reader *reader, const char *path, const cJSON **node)
{
    char part[RC_MAX_PATH_TEXT];
    size_t n_led = 0;
    *node = reader->root;
    for (size_t n = strcspn(path, ".["); n < sizeof part && path[n] != '\0'; n += 1 + strcspn(path + n + 1, ".[")) {
        (void)snprintf(part, sizeof part, "%.*s", (int)n, path);
        const cJSON *next = node_at(reader, part);
        if (!next)
            break;
        *node = next;
        n_led = n;
    }
    return n_led;
}

/* The key that may have been meant by the first one of a path that is not there. out hint n bytes, empty if none is near */
static void suggest_key(const struct rc_reader *reader, const char *path, char *hint, size_t n)
{
    char key[RC_MAX_PATH_TEXT];
    const cJSON *node = NULL;
    const char *missing = path + lead(reader, path, &node);
    missing += *missing == '.';
    (void)snprintf(key, sizeof key, "%.*s", (int)strcspn(missing, ".["), missing);
    struct rc_suggest search = {.wanted = key};
    for (const cJSON *child = cJSON_IsObject(node) ? node->child : NULL; child; child = child->next)
        rc_suggest_offer(&search, child->string, strlen(child->string));
    rc_suggest_text(&search, hint, n);
}

/* What a path leads to, in words, for a message. */
static void refuse_place(const struct rc_reader *reader, const cJSON *node, const char *path)
{
    char got[RC_READ_GOT];
    char hint[128];
    if (is_of_run(path)) {
        rc_read_report(reader, path, NULL,
                       "says how the campaign is flown, not what is flown, and cannot be varied; name a number outside \"run\"");
        return;
    }
    if (!is_whole(path)) {
        char where[RC_ERROR_WHERE]; /* as it was typed: a pointer would hide the bracket */
        (void)snprintf(where, sizeof where, "%.120s: %.95s", reader->file, path);
        rc_issues_add(reader->issues, where, "is no path: a [ lacks its number or its ]; wanted one such as fins[0].cant_deg");
        return;
    }
    if (!node) {
        suggest_key(reader, path, hint, sizeof hint);
        rc_read_report(reader, path, NULL, "is not in the campaign file%s",
                       *hint != '\0' ? hint : "; give it there as a number first, so that it can be varied");
        return;
    }
    rc_read_describe(node, got);
    if (cJSON_GetObjectItemCaseSensitive(node, "distribution")) {
        const cJSON *first = node->child;
        while (first && !cJSON_IsNumber(first))
            first = first->next;
        rc_read_report(reader, path, NULL, "is a distribution, not a number; vary one of its parameters, such as %s.%s", path,
                       first ? first->string : "mean");
    } else {
        rc_read_report(reader, path, NULL, "is %s, not a number; name a number of the campaign file", got);
    }
}

/* Parse a campaign's text, numbers with points whatever the program's locale. */
static rc_status parse(struct rc_reader *reader, const rc_campaign *base, struct rc_issues *issues)
{
    struct rc_locale numbers;
    if (!rc_locale_enter(&numbers))
        return RC_NO_MEMORY;
    const rc_status status = rc_read_parse(reader, &base->bundle.file[0], issues);
    rc_locale_leave(&numbers);
    return status;
}

/* The tree as text, in the same way. ends NULL without memory; else to be freed with cJSON_free */
static char *print(const struct rc_reader *reader)
{
    struct rc_locale numbers;
    if (!rc_locale_enter(&numbers))
        return NULL;
    char *text = cJSON_Print(reader->root);
    rc_locale_leave(&numbers);
    return text;
}

/* Put the numbers into the tree. ends how many could not be */
static int put_numbers(const struct rc_reader *reader, const struct rc_change *change, int n_changes)
{
    int n_refused = 0;
    for (int index = 0; index < n_changes; index++) {
        /* the tree is this function's own: it was parsed to be changed */
        cJSON *node = (cJSON *)node_at(reader, change[index].path);
        if (!cJSON_IsNumber(node) || is_of_run(change[index].path)) {
            refuse_place(reader, node, change[index].path);
            n_refused++;
        } else {
            (void)cJSON_SetNumberHelper(node, change[index].value);
        }
    }
    return n_refused;
}

/* Give an entry of a distribution another value, whether it stands there or not. ends whether it could be */
static bool put_extra(cJSON *law, enum rc_law_entry entry, double value)
{
    const char *key = rc_law_row(entry)->key;
    cJSON *node = cJSON_GetObjectItemCaseSensitive(law, key);
    if (!node)
        return cJSON_AddNumberToObject(law, key, value) != NULL;
    (void)cJSON_SetNumberHelper(node, value);
    return true;
}

static double extra_of(const cJSON *law, enum rc_law_entry entry)
{
    const cJSON *node = cJSON_GetObjectItemCaseSensitive(law, rc_law_row(entry)->key);
    return cJSON_IsNumber(node) ? node->valuedouble : rc_law_row(entry)->fallback;
}

/* Put the other spreads into the tree: factors on top of those that stand there, shifts too. */
static rc_status put_reshapes(const struct rc_reader *reader, const struct rc_reshape *reshape, int n_reshapes)
{
    for (int index = 0; index < n_reshapes; index++) {
        const struct rc_reshape *one = &reshape[index];
        cJSON *law = (cJSON *)node_at(reader, one->path); /* the tree is this function's own */
        if (!cJSON_IsObject(law)) {
            rc_issues_add(reader->issues, one->path,
                          "is no distribution, so it has no spread to change; name an uncertain entry");
            return RC_BAD_INPUT;
        }
        const double factor = one->factor * extra_of(law, RC_LAW_SPREAD_FACTOR);
        const double shift = one->shift + extra_of(law, RC_LAW_SHIFT);
        if (!put_extra(law, RC_LAW_SPREAD_FACTOR, factor) || !put_extra(law, RC_LAW_SHIFT, shift))
            return RC_NO_MEMORY;
    }
    return RC_OK;
}

/* Where a text may be cut: not inside a character of several bytes. */
static size_t cut_at(const char *text, size_t most)
{
    size_t n = strlen(text);
    n = n < most ? n : most;
    while (n > 0 && ((unsigned char)text[n] & 0xC0U) == 0x80U)
        n--;
    return n;
}

/* Name the changed campaign after the change, so that the stores of a sweep can be told apart: "Lapwing; rail.length_m = 4". */
static rc_status name_after(const struct rc_reader *reader, const char *change)
{
    enum { MOST_NAME = 63, LEAST_KEPT = 12 };
    cJSON *node = cJSON_GetObjectItemCaseSensitive(reader->root, "name");
    if (!cJSON_IsString(node))
        return RC_OK; /* refused when it is read */
    char name[MOST_NAME + 1];
    const size_t n_most = MOST_NAME - LEAST_KEPT - 2;
    const size_t n_change = strlen(change) < n_most ? strlen(change) : n_most;
    const size_t n_kept = cut_at(node->valuestring, MOST_NAME - 2 - n_change);
    /* of a long change the end tells more: the value stands there */
    (void)snprintf(name, sizeof name, "%.*s; %s", (int)n_kept, node->valuestring, change + strlen(change) - n_change);
    return cJSON_SetValuestring(node, name) ? RC_OK : RC_NO_MEMORY;
}

/* The changed text as file 0 of a bundle, and the campaign's tables beside it. */
static rc_status bundle_of(struct rc_bundle *bundle, const rc_campaign *base, const char *text, struct rc_error *err)
{
    rc_status status = rc_bundle_add(bundle, base->bundle.file[0].name, text, strlen(text), err);
    for (int index = 1; status == RC_OK && index < base->bundle.n_files; index++) {
        const struct rc_bundle_file *file = &base->bundle.file[index];
        status = rc_bundle_add(bundle, file->name, file->bytes, file->n_bytes, err);
    }
    return status;
}

/* What is to be changed, and how it is put. */
struct changes {
    const struct rc_change *change;
    int n_changes;
    const struct rc_reshape *reshape;
    int n_reshapes;
};

/* What changes, in words; numbers with points whatever the program's locale. */
static rc_status tell(struct rc_text *said, const struct changes *changes)
{
    struct rc_locale numbers;
    if (!rc_locale_enter(&numbers))
        return RC_NO_MEMORY;
    for (int index = 0; index < changes->n_changes; index++)
        rc_text_add(said, "%s%s = %.6g", index > 0 ? ", " : "", changes->change[index].path, changes->change[index].value);
    for (int index = 0; index < changes->n_reshapes; index++) {
        const struct rc_reshape *one = &changes->reshape[index];
        rc_text_add(said, "%s%s", index > 0 ? ", " : "", one->path);
        if (one->factor != 1.0)
            rc_text_add(said, " spread x %.6g", one->factor);
        if (one->shift != 0.0)
            rc_text_add(said, " shift %+.6g", one->shift);
    }
    rc_locale_leave(&numbers);
    return said->failed ? RC_NO_MEMORY : RC_OK;
}

static rc_status put(const struct rc_reader *reader, const struct changes *changes)
{
    struct rc_text said = {0};
    rc_status status = tell(&said, changes);
    if (status == RC_OK && put_numbers(reader, changes->change, changes->n_changes) > 0)
        status = RC_BAD_INPUT;
    if (status == RC_OK)
        status = put_reshapes(reader, changes->reshape, changes->n_reshapes);
    if (status == RC_OK)
        status = name_after(reader, said.bytes); /* last, so that what is refused is told as it stands in the file */
    rc_text_free(&said);
    return status;
}

/* Read the text, change it, read the changed text. */
static rc_status remake(rc_campaign **campaign, const rc_campaign *base, const struct changes *changes, struct rc_issues *issues)
{
    struct rc_reader reader = {.root = NULL};
    struct rc_bundle *bundle = calloc(1, sizeof *bundle);
    struct rc_error err = {.status = RC_OK};
    char *text = NULL;
    *issues = (struct rc_issues){0};
    rc_status status = bundle ? parse(&reader, base, issues) : RC_NO_MEMORY;
    if (status == RC_OK)
        status = put(&reader, changes);
    if (status != RC_OK)
        goto done;
    cJSON_DeleteItemFromObjectCaseSensitive((cJSON *)reader.root, "sweep"); /* it is one setting of it now */
    text = print(&reader);
    status = text ? bundle_of(bundle, base, text, &err) : RC_NO_MEMORY;
    if (status == RC_OK)
        status = rc_campaign_from_bundle(campaign, bundle, issues);
done:
    if (reader.root)
        rc_read_free(&reader);
    cJSON_free(text);
    if (bundle)
        rc_bundle_free(bundle);
    free(bundle);
    return status;
}

rc_status rc_campaign_vary(rc_campaign **campaign, const rc_campaign *base, const struct rc_change *change, int n_changes,
                           struct rc_issues *issues)
{
    const struct changes changes = {.change = change, .n_changes = n_changes};
    return remake(campaign, base, &changes, issues);
}

rc_status rc_campaign_reshape(rc_campaign **campaign, const rc_campaign *base, const struct rc_reshape *reshape, int n_reshapes,
                              struct rc_issues *issues)
{
    const struct changes changes = {.reshape = reshape, .n_reshapes = n_reshapes};
    return remake(campaign, base, &changes, issues);
}

rc_status rc_campaign_number(double *value, const rc_campaign *base, const char *path, struct rc_issues *issues)
{
    struct rc_reader reader = {.root = NULL};
    *issues = (struct rc_issues){0};
    rc_status status = parse(&reader, base, issues);
    if (status != RC_OK)
        return status;
    const cJSON *node = node_at(&reader, path);
    if (cJSON_IsNumber(node) && !is_of_run(path)) {
        *value = node->valuedouble;
    } else {
        refuse_place(&reader, node, path);
        status = RC_BAD_INPUT;
    }
    rc_read_free(&reader);
    return status;
}

/* Note a place where numbers differ. */
static void note_number(struct rc_campaign_differences *differences, const char *path)
{
    if (differences->n < RC_CAMPAIGN_MOST_DIFFERENCES)
        (void)snprintf(differences->path[differences->n], RC_MAX_PATH_TEXT, "%s", path);
    differences->n++;
}

/* Note a place where more than a number differs; the first is kept. */
static void note_other(struct rc_campaign_differences *differences, const char *path)
{
    if (differences->other[0] == '\0')
        (void)snprintf(differences->other, sizeof differences->other, "%s", path);
}

/* The member of a node that stands where `child`, member `index` of another one, does; NULL if there is none. */
static const cJSON *counterpart(const cJSON *node, const cJSON *child, int index)
{
    return cJSON_IsArray(node) ? cJSON_GetArrayItem(node, index) : cJSON_GetObjectItemCaseSensitive(node, child->string);
}

/* Can the members of two nodes be compared one by one? */
static bool is_alike(const cJSON *one, const cJSON *other)
{
    return (cJSON_IsArray(one) && cJSON_IsArray(other)) || (cJSON_IsObject(one) && cJSON_IsObject(other));
}

/* The path of a member. ends false where it stands aside: what says who asks and how often, not what is flown */
static bool path_below(char *below, const char *path, const cJSON *node, const cJSON *child, int index)
{
    static const char *const aside[] = {"$schema", "name", "purpose", "run", "sweep"};
    if (cJSON_IsArray(node)) {
        (void)snprintf(below, RC_MAX_PATH_TEXT, "%s[%d]", path, index);
        return true;
    }
    (void)snprintf(below, RC_MAX_PATH_TEXT, "%s%s%s", path, *path != '\0' ? "." : "", child->string);
    for (size_t i = 0; *path == '\0' && i < sizeof aside / sizeof aside[0]; i++) {
        if (strcmp(below, aside[i]) == 0)
            return false;
    }
    return true;
}

/* Compare what stands at a path and below. Nesting is bounded by RC_MAX_JSON_DEPTH. */
static void differ_below(struct rc_campaign_differences *differences, const cJSON *one, const cJSON *other, const char *path)
{
    char below[RC_MAX_PATH_TEXT];
    if (cJSON_IsNumber(one) && cJSON_IsNumber(other)) {
        if (one->valuedouble != other->valuedouble)
            note_number(differences, path);
        return;
    }
    if (!is_alike(one, other)) {
        if (!cJSON_Compare(one, other, true))
            note_other(differences, path);
        return;
    }
    int index = 0;
    for (const cJSON *child = one->child; child; child = child->next, index++) {
        if (path_below(below, path, one, child, index))
            differ_below(differences, child, counterpart(other, child, index), below);
    }
    index = 0;
    for (const cJSON *child = other->child; child; child = child->next, index++) {
        if (path_below(below, path, other, child, index) && !counterpart(one, child, index))
            note_other(differences, below);
    }
}

/* Compare the tables, which stand behind the text. */
static void differ_tables(struct rc_campaign_differences *differences, const rc_campaign *one, const rc_campaign *other)
{
    for (int index = 1; index < one->bundle.n_files; index++) { /* names that differ differ in the text as well */
        const struct rc_bundle_file *file = &one->bundle.file[index];
        const struct rc_bundle_file *twin = rc_bundle_find(&other->bundle, file->name);
        if (!twin || twin->n_bytes != file->n_bytes || memcmp(twin->bytes, file->bytes, file->n_bytes) != 0)
            note_other(differences, file->name);
    }
}

rc_status rc_campaign_differ(struct rc_campaign_differences *differences, const rc_campaign *one, const rc_campaign *other)
{
    struct rc_reader reader = {.root = NULL}, twin = {.root = NULL};
    struct rc_issues *issues = calloc(1, sizeof *issues);
    *differences = (struct rc_campaign_differences){.n = 0};
    rc_status status = issues ? parse(&reader, one, issues) : RC_NO_MEMORY;
    if (status == RC_OK)
        status = parse(&twin, other, issues);
    if (status == RC_OK) {
        differ_below(differences, reader.root, twin.root, "");
        differ_tables(differences, one, other);
    }
    if (reader.root)
        rc_read_free(&reader);
    if (twin.root)
        rc_read_free(&twin);
    free(issues);
    return status;
}
