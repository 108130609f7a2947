/* Reads the lists of distribution objects. What the numbers mean together is left to the kind. */
#include "law_lists.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "tables.h"

static const char *const column_keys[] = {"csv", "column"};

const char *rc_law_lists_key(const struct rc_distribution_kind *kind, int index)
{
    if (kind->is_column)
        return index < 2 ? column_keys[index] : NULL;
    return index < kind->n_lists ? kind->list[index].key : NULL;
}

bool rc_law_lists_has_key(const struct rc_distribution_kind *kind, const char *key)
{
    for (int index = 0; rc_law_lists_key(kind, index); index++) {
        if (strcmp(rc_law_lists_key(kind, index), key) == 0)
            return true;
    }
    return false;
}

/* The node under a key; a missing one is reported. */
static const cJSON *wanted_node(const struct rc_reader *reader, const cJSON *node, const char *path, const char *key,
                                const char *meaning)
{
    const cJSON *found = cJSON_GetObjectItemCaseSensitive(node, key);
    if (!found)
        rc_read_report(reader, path, key, "the parameter \"%s\" is missing; add it: %s", key, meaning);
    return found;
}

/* One list of numbers. ends NULL after reporting */
static double *read_list(int *n, const struct rc_reader *reader, const cJSON *node, const char *path,
                         const struct rc_parameter_row *row)
{
    const cJSON *found = wanted_node(reader, node, path, row->key, row->meaning);
    if (!found)
        return NULL;
    char got[RC_READ_GOT];
    rc_read_describe(found, got);
    *n = cJSON_IsArray(found) ? cJSON_GetArraySize(found) : 0;
    if (cJSON_IsArray(found) && *n < 1)
        (void)snprintf(got, sizeof got, "an empty list");
    else if (cJSON_IsArray(found))
        (void)snprintf(got, sizeof got, "a list of %d", *n);
    if (*n < 1 || *n > RC_MAX_TABLE_ROWS) {
        rc_read_report(reader, path, row->key, "got %s, wanted a list of 1 to %d numbers: %s", got, RC_MAX_TABLE_ROWS,
                       row->meaning);
        return NULL;
    }
    double *values = calloc((size_t)*n, sizeof *values);
    int index = 0;
    for (const cJSON *entry = found->child; entry && values; entry = entry->next, index++) {
        if (cJSON_IsNumber(entry) && isfinite(entry->valuedouble)) {
            values[index] = entry->valuedouble;
            continue;
        }
        rc_read_describe(entry, got);
        rc_read_report(reader, path, row->key, "entry %d is %s, wanted a finite number", index + 1, got);
        free(values);
        return NULL;
    }
    if (!values)
        rc_read_report(reader, path, row->key, "no memory for %d numbers", *n);
    return values;
}

/* A text under a key. ends NULL after reporting */
static const char *read_text(const struct rc_reader *reader, const cJSON *node, const char *path, const char *key,
                             const char *meaning)
{
    const cJSON *found = wanted_node(reader, node, path, key, meaning);
    if (!found)
        return NULL;
    char got[RC_READ_GOT];
    rc_read_describe(found, got);
    if (cJSON_IsString(found) && found->valuestring[0] != '\0' && strlen(found->valuestring) < RC_MAX_SETTING_TEXT)
        return found->valuestring;
    rc_read_report(reader, path, key, "got %s, wanted a text of 1 to %d bytes: %s", got, RC_MAX_SETTING_TEXT - 1, meaning);
    return NULL;
}

static bool read_column(struct rc_law_lists *lists, const struct rc_reader *reader, const cJSON *node, const char *path)
{
    const char *file = read_text(reader, node, path, column_keys[0], "CSV file that holds the measured values");
    const char *column = read_text(reader, node, path, column_keys[1], "its column, as its first line names it");
    if (!file || !column)
        return false;
    char place[RC_MAX_PATH_TEXT + 8];
    (void)snprintf(place, sizeof place, "%s.%s", path, column_keys[0]);
    struct rc_csv csv;
    const rc_status status = rc_tables_column(&csv, reader, place, file, column);
    if (status != RC_OK)
        rc_read_report(reader, path, NULL, "no memory for the values of \"%.80s\"", file);
    lists->n = csv.n_rows;
    lists->list[0] = csv.column[0];
    csv.column[0] = NULL; /* the lists own it now */
    rc_csv_free(&csv);
    return status == RC_OK && lists->n > 0;
}

bool rc_law_lists_read(struct rc_law_lists *lists, const struct rc_distribution_kind *kind, const struct rc_reader *reader,
                       const cJSON *node, const char *path)
{
    if (kind->is_column)
        return read_column(lists, reader, node, path);
    for (int index = 0; index < kind->n_lists; index++) {
        int n = 0;
        lists->list[index] = read_list(&n, reader, node, path, &kind->list[index]);
        if (!lists->list[index])
            return false;
        if (index > 0 && n != lists->n) {
            rc_read_report(reader, path, kind->list[index].key, "got %d numbers, wanted %d: one for each of %s", n, lists->n,
                           kind->list[0].key);
            return false;
        }
        lists->n = n;
    }
    return true;
}

void rc_law_lists_free(struct rc_law_lists *lists)
{
    for (int index = 0; index < RC_MAX_LISTS; index++)
        free(lists->list[index]);
    *lists = (struct rc_law_lists){0};
}
