/* Reads quantities by their table and turns drawn values into designs. What the numbers mean together is left to checks.c. */
#include "values.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void put(struct rc_design *design, size_t offset, double value)
{
    memcpy((char *)design + offset, &value, sizeof value);
}

static double value_at(const struct rc_design *design, size_t offset)
{
    double value = 0;
    memcpy(&value, (const char *)design + offset, sizeof value);
    return value;
}

/* The node of a quantity. A list with an entry per fin gives the fin's; one entry stands for every fin of the set.
 * out path  where it stands, for messages */
static const cJSON *node_of(const struct rc_reader *reader, const struct rc_entry *entry, int member, int fin, char *path)
{
    rc_read_path(path, entry->row->path, member, -1);
    const cJSON *node = rc_read_node(reader, path);
    if (fin >= 0 && cJSON_IsArray(node)) {
        memcpy(path, entry->path, RC_MAX_PATH_TEXT);
        node = rc_read_node(reader, path);
    }
    return node;
}

static void read_number(struct rc_entry *entry, const struct rc_reader *reader, const cJSON *node, const char *path)
{
    const struct rc_quantity_row *row = entry->row;
    const char *unit = rc_quantities_unit(row), *blank = *unit != '\0' ? " " : "";
    char got[RC_READ_GOT];
    rc_read_describe(node, got);
    const double value = cJSON_IsNumber(node) ? node->valuedouble : NAN;
    if (!cJSON_IsNumber(node))
        rc_read_report(reader, path, NULL, "got %s, wanted a number or a distribution object%s%s: %s", got,
                       *unit != '\0' ? " in " : "", unit, row->meaning);
    else if (!isfinite(value))
        rc_read_report(reader, path, NULL, "got a number too large for a double, wanted a finite one");
    else if (!(value >= row->low && value <= row->high))
        rc_read_report(reader, path, NULL, "got %s, wanted %.10g to %.10g%s%s: %s", got, row->low, row->high, blank, unit,
                       row->meaning);
    else if (row->is_whole && row->high > 1 && value != round(value))
        rc_read_report(reader, path, NULL, "got %s, wanted a whole number; nearest: %.0f: %s", got, round(value), row->meaning);
    else if (row->is_whole && value != round(value))
        rc_read_report(reader, path, NULL, "got %s, wanted %s: %s", got, rc_quantities_whole_wanted(row), row->meaning);
    else
        entry->value = value;
}

static void read_distribution(struct rc_values *values, struct rc_entry *entry, const struct rc_reader *reader, const cJSON *node,
                              const char *path)
{
    struct rc_distribution distribution = {0};
    if (!rc_law_read(&distribution, &entry->extras, reader, node, path, entry->row))
        return;
    if (values->sampling.n == RC_MAX_UNCERTAIN) {
        rc_read_report(reader, path, NULL, "more than %d uncertain quantities; make some of them fixed", RC_MAX_UNCERTAIN);
        rc_law_free(&distribution);
        return;
    }
    entry->value = rc_distribution_value(&distribution, 0.5);
    entry->uncertain = values->sampling.n++;
    rc_law_text(entry->distribution, sizeof entry->distribution, &distribution);
    struct rc_uncertain *uncertain = &values->uncertain[entry->uncertain];
    *uncertain = (struct rc_uncertain){.path_hash = rc_hash_bytes(RC_FNV_START, entry->path, strlen(entry->path)),
                                       .distribution = distribution,
                                       .low = entry->row->low,
                                       .high = entry->row->high};
    memcpy(uncertain->path, entry->path, sizeof uncertain->path);
    values->uncertain_entry[entry->uncertain] = values->n;
}

/* Read one quantity into the next entry. in member, fin -1 where its path has no such list */
static void read_entry(struct rc_values *values, const struct rc_reader *reader, const struct rc_quantity_row *row, int member,
                       int fin)
{
    if (values->n == RC_MAX_ENTRIES)
        return;
    const struct rc_list_row *list = rc_settings_list(row->path);
    struct rc_entry *entry = &values->entry[values->n];
    *entry = (struct rc_entry){.row = row, .offset = row->offset, .value = row->fallback.value, .uncertain = -1};
    entry->offset += list ? (size_t)member * list->design_stride : 0;
    entry->offset += fin >= 0 ? (size_t)fin * sizeof(double) : 0;
    rc_read_path(entry->path, row->path, member, fin);
    char path[RC_MAX_PATH_TEXT];
    const cJSON *node = node_of(reader, entry, member, fin, path);
    memcpy(entry->given, path, sizeof entry->given);
    entry->is_default = node == NULL;
    /* one entry for every fin: complain about it once, not once a fin */
    const bool is_repeat = fin > 0 && strcmp(path, entry->path) != 0;
    struct rc_issues unheard = {0};
    struct rc_reader quiet = *reader;
    quiet.issues = is_repeat ? &unheard : reader->issues;
    if (cJSON_IsObject(node))
        read_distribution(values, entry, &quiet, node, path);
    else if (node)
        read_number(entry, &quiet, node, path);
    put(&values->base, entry->offset, entry->value * row->to_si);
    values->n++;
}

/* Read a row for a list member: once, or once a fin. */
static void read_row(struct rc_values *values, const struct rc_reader *reader, const struct rc_quantity_row *row, int member,
                     int n_fins)
{
    if (!rc_quantities_is_per_fin(row)) {
        read_entry(values, reader, row, member, -1);
        return;
    }
    char path[RC_MAX_PATH_TEXT];
    rc_read_path(path, row->path, member, -1);
    const cJSON *node = rc_read_node(reader, path);
    if (cJSON_IsArray(node) && n_fins > 0 && cJSON_GetArraySize(node) != n_fins) {
        rc_read_report(reader, path, NULL, "got %d entries, wanted %d: one for each fin of the set, or a single one for all",
                       cJSON_GetArraySize(node), n_fins);
        return;
    }
    for (int fin = 0; fin < n_fins; fin++)
        read_entry(values, reader, row, member, fin);
}

/* Fields that follow another field by default take its value, in the design and (base only) in the view. */
static void follow(struct rc_design *design, const struct rc_values *values)
{
    for (int index = 0; index < values->n; index++) {
        const struct rc_entry *entry = &values->entry[index];
        if (entry->is_default && entry->row->fallback.kind == RC_DEFAULT_TIMES)
            put(design, entry->offset, value_at(design, entry->row->fallback.offset) * entry->row->fallback.value);
    }
}

void rc_values_read(struct rc_values *values, const struct rc_reader *reader, const struct rc_settings *settings)
{
    memset(values, 0, sizeof *values);
    values->sampling.quantity = values->uncertain;
    const int n_rows = rc_quantities_count();
    int end = 0;
    for (int first = 0; first < n_rows; first = end) {
        /* rows of one list stand together: read them member by member, so that a set's numbers stay together too */
        const struct rc_list_row *list = rc_settings_list(rc_quantities_row(first)->path);
        end = first + 1;
        while (end < n_rows && list && rc_settings_list(rc_quantities_row(end)->path) == list)
            end++;
        const int n_members = list ? rc_settings_list_count(settings, list) : 1;
        for (int member = 0; member < n_members; member++) {
            const int n_fins = list && member < RC_MAX_FIN_SETS ? (int)settings->fins[member].count : 0;
            for (int index = first; index < end; index++) {
                if (rc_read_applies(reader, rc_quantities_row(index)->when))
                    read_row(values, reader, rc_quantities_row(index), member, n_fins);
            }
        }
    }
    follow(&values->base, values);
    for (int index = 0; index < values->n; index++) {
        struct rc_entry *entry = &values->entry[index];
        if (entry->is_default && entry->row->fallback.kind == RC_DEFAULT_TIMES)
            entry->value = value_at(&values->base, entry->offset) / entry->row->to_si;
    }
}

bool rc_values_is_set(const struct rc_values *values, const char *path)
{
    for (int index = 0; index < values->n; index++) {
        const struct rc_entry *const entry = &values->entry[index];
        if (strcmp(entry->path, path) == 0)
            return entry->uncertain >= 0 || entry->value != entry->row->fallback.value;
    }
    return false;
}

void rc_values_free(struct rc_values *values)
{
    for (int index = 0; index < values->sampling.n; index++)
        rc_law_free(&values->uncertain[index].distribution);
}

void rc_values_design(struct rc_design *design, const struct rc_values *values, const double *drawn)
{
    *design = values->base;
    for (int index = 0; index < values->sampling.n; index++) {
        const struct rc_entry *entry = &values->entry[values->uncertain_entry[index]];
        put(design, entry->offset, drawn[index] * entry->row->to_si);
    }
    follow(design, values);
    if (design->drive.jump < design->drive.floor)
        design->drive.jump = design->drive.floor;
}
