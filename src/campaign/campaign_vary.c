/* A campaign with some of its numbers replaced: the text is changed and read anew, so that everything that holds for a file holds
 * for it, and a store of it explains itself. And the way back: which numbers of two campaigns differ. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "campaign_handle.h"
#include "locale_c.h"
#include "read.h"

/* What a path leads to, in words, for a message. */
static void refuse_place(struct rc_issues *issues, const cJSON *node, const char *path)
{
    char got[RC_READ_GOT];
    if (!node) {
        rc_issues_add(issues, path, "is not in the campaign file; give it there as a number first, so that it can be varied");
        return;
    }
    rc_read_describe(node, got);
    if (cJSON_GetObjectItemCaseSensitive(node, "distribution")) {
        const cJSON *first = node->child;
        while (first && !cJSON_IsNumber(first))
            first = first->next;
        rc_issues_add(issues, path, "is a distribution, not a number; vary one of its parameters, such as %s.%s", path,
                      first ? first->string : "mean");
    } else {
        rc_issues_add(issues, path, "is %s, not a number; name a number of the campaign file", got);
    }
}

/* The node at a path that a user typed; NULL too where its brackets are not whole. */
static const cJSON *node_at(const struct rc_reader *reader, const char *path)
{
    for (const char *c = path; (c = strchr(c, '[')) != NULL; c++) {
        const size_t n_digits = strspn(c + 1, "0123456789");
        if (n_digits < 1 || n_digits > 4 || c[1 + n_digits] != ']')
            return NULL;
    }
    return rc_read_node(reader, path);
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
        if (!cJSON_IsNumber(node)) {
            refuse_place(reader->issues, node, change[index].path);
            n_refused++;
        } else {
            (void)cJSON_SetNumberHelper(node, change[index].value);
        }
    }
    return n_refused;
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

rc_status rc_campaign_vary(rc_campaign **campaign, const rc_campaign *base, const struct rc_change *change, int n_changes,
                           struct rc_issues *issues)
{
    struct rc_reader reader = {.root = NULL};
    struct rc_bundle *bundle = calloc(1, sizeof *bundle);
    struct rc_error err = {.status = RC_OK};
    char *text = NULL;
    *issues = (struct rc_issues){0};
    rc_status status = bundle ? parse(&reader, base, issues) : RC_NO_MEMORY;
    if (status != RC_OK)
        goto done;
    if (put_numbers(&reader, change, n_changes) > 0) {
        status = RC_BAD_INPUT;
        goto done;
    }
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

rc_status rc_campaign_number(double *value, const rc_campaign *base, const char *path, struct rc_issues *issues)
{
    struct rc_reader reader = {.root = NULL};
    *issues = (struct rc_issues){0};
    rc_status status = parse(&reader, base, issues);
    if (status != RC_OK)
        return status;
    const cJSON *node = node_at(&reader, path);
    if (cJSON_IsNumber(node)) {
        *value = node->valuedouble;
    } else {
        refuse_place(issues, node, path);
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
    static const char *const aside[] = {"$schema", "name", "purpose", "run"};
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
