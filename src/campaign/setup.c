/* Reads settings by their table. Which keys must be there is left to walk.c, what they mean together to checks.c. */
#include "setup.h"

#include <math.h>
#include <string.h>

#include "base/suggest.h"

/* One entry to be read: its row, its node, its path and where it goes. */
struct target {
    const struct rc_setting_row *row;
    const cJSON *node;
    const char *path;
    char *field;
};

static void read_text(const struct rc_reader *reader, const struct target *target)
{
    const struct rc_setting_row *row = target->row;
    char got[RC_READ_GOT];
    rc_read_describe(target->node, got);
    if (!cJSON_IsString(target->node)) {
        rc_read_report(reader, target->path, NULL, "got %s, wanted a text: %s", got, row->meaning);
        return;
    }
    const char *text = target->node->valuestring;
    const size_t n = strlen(text);
    if ((double)n < row->low || (double)n > row->high) {
        rc_read_report(reader, target->path, NULL, "got a text of %zu bytes, wanted %g to %g: %s", n, row->low, row->high,
                       row->meaning);
        return;
    }
    for (size_t at = 0; at < n; at++) {
        const unsigned char byte = (unsigned char)text[at];
        if (byte < 0x20U || byte == 0x7FU) {
            rc_read_report(reader, target->path, NULL, "got a control character in %s, wanted one line of plain text", got);
            return;
        }
    }
    memcpy(target->field, text, n + 1);
}

static void read_number(const struct rc_reader *reader, const struct target *target)
{
    const struct rc_setting_row *row = target->row;
    const bool is_integer = row->kind == RC_SETTING_INTEGER;
    char got[RC_READ_GOT];
    rc_read_describe(target->node, got);
    const double value = cJSON_IsNumber(target->node) ? target->node->valuedouble : NAN;
    if (cJSON_IsObject(target->node))
        rc_read_report(reader, target->path, NULL, "got an object, wanted a plain %s: this entry cannot be uncertain",
                       is_integer ? "integer" : "number");
    else if (!cJSON_IsNumber(target->node))
        rc_read_report(reader, target->path, NULL, "got %s, wanted a%s: %s", got, is_integer ? "n integer" : " number",
                       row->meaning);
    else if (!isfinite(value))
        rc_read_report(reader, target->path, NULL, "got a number too large for a double, wanted a finite one");
    else if (is_integer && value != floor(value))
        rc_read_report(reader, target->path, NULL, "got %s, wanted an integer, the nearest is %.0f: %s", got,
                       fmin(fmax(round(value), row->low), row->high), row->meaning);
    else if (!(value >= row->low && value <= row->high))
        rc_read_report(reader, target->path, NULL, "got %s, wanted %.17g to %.17g: %s", got, row->low, row->high, row->meaning);
    else if (is_integer)
        memcpy(target->field, &(int64_t){(int64_t)value}, sizeof(int64_t));
    else
        memcpy(target->field, &value, sizeof value);
}

static void read_choice(const struct rc_reader *reader, const struct target *target)
{
    char got[RC_READ_GOT];
    rc_read_describe(target->node, got);
    const char *text = cJSON_IsString(target->node) ? target->node->valuestring : "";
    struct rc_suggest search = {.wanted = text};
    char words[200] = "";
    for (int index = 0; target->row->choice(index); index++) {
        const char *word = target->row->choice(index);
        if (strcmp(word, text) == 0) {
            memcpy(target->field, &index, sizeof index);
            return;
        }
        rc_suggest_offer(&search, word, strlen(word));
        const size_t n = strlen(words);
        (void)snprintf(words + n, sizeof words - n, "%s\"%s\"", n > 0 ? ", " : "", word);
    }
    char hint[128];
    rc_suggest_text(&search, hint, sizeof hint);
    rc_read_report(reader, target->path, NULL, "got %s, wanted one of %s%s", got, words, hint);
}

static void take_default(const struct target *target)
{
    const double value = target->row->fallback.value;
    if (target->row->fallback.kind == RC_DEFAULT_NONE)
        return;
    if (target->row->kind == RC_SETTING_NUMBER)
        memcpy(target->field, &value, sizeof value);
    else if (target->row->kind == RC_SETTING_INTEGER)
        memcpy(target->field, &(int64_t){(int64_t)value}, sizeof(int64_t));
    else if (target->row->kind == RC_SETTING_CHOICE)
        memcpy(target->field, &(int){(int)value}, sizeof(int));
}

static void read_target(const struct rc_reader *reader, const struct target *target)
{
    if (!target->node) {
        take_default(target);
        return;
    }
    switch (target->row->kind) {
    case RC_SETTING_TEXT:
    case RC_SETTING_FILE:
        read_text(reader, target);
        break;
    case RC_SETTING_INTEGER:
    case RC_SETTING_NUMBER:
        read_number(reader, target);
        break;
    case RC_SETTING_CHOICE:
        read_choice(reader, target);
        break;
    }
}

/* Members of a list in the file, as far as they fit. */
static int members_of(const struct rc_reader *reader, const struct rc_list_row *list)
{
    const cJSON *node = rc_read_node(reader, list->name);
    const int n = cJSON_IsArray(node) ? cJSON_GetArraySize(node) : 0;
    return n < list->n_max ? n : list->n_max;
}

void rc_setup_read(struct rc_settings *settings, const struct rc_reader *reader)
{
    *settings = (struct rc_settings){0};
    settings->n_sections = members_of(reader, rc_settings_list("body[]")); /* the only list without settings of its own */
    for (int index = 0; index < rc_settings_count(); index++) {
        const struct rc_setting_row *row = rc_settings_row(index);
        const struct rc_list_row *list = rc_settings_list(row->path);
        const int n_members = list ? members_of(reader, list) : 1;
        if (list)
            memcpy((char *)settings + list->count_offset, &n_members, sizeof n_members);
        for (int member = 0; member < n_members; member++) {
            char path[RC_MAX_PATH_TEXT];
            rc_read_path(path, row->path, member, -1);
            const size_t stride = list ? list->settings_stride : 0;
            const struct target target = {row, rc_read_node(reader, path), path,
                                          (char *)settings + row->offset + (size_t)member * stride};
            read_target(reader, &target);
        }
    }
}
