/* Parsing with cJSON, and finding and naming places in the tree. What cJSON lets pass is caught before or after it: depth,
 * number of values, NUL bytes and doubled keys (walk.c), numbers beyond the range of a double (infinite afterwards). */
#include "read.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

/* Where a byte of a text stands; lines and columns count from 1, columns in bytes. */
struct position {
    int line, column;
};

static struct position position_of(const char *bytes, size_t at)
{
    struct position position = {1, 1};
    for (size_t i = 0; i < at; i++) {
        position.column++;
        if (bytes[i] == '\n') {
            position.line++;
            position.column = 1;
        }
    }
    return position;
}

static bool begins_with(const char *text, const char *word)
{
    return strncmp(text, word, strlen(word)) == 0;
}

RC_PRINTF(4, 5)
static rc_status refuse(struct rc_issues *issues, const struct rc_bundle_file *file, size_t at, const char *format, ...)
{
    char what[RC_ERROR_WHAT];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    const struct position position = position_of(file->bytes, at);
    char where[RC_ERROR_WHERE];
    (void)snprintf(where, sizeof where, "%.250s:%d:%d", file->name, position.line, position.column);
    rc_issues_add(issues, where, "%s", what);
    return RC_BAD_INPUT;
}

/* What would make the parser work too long or too deep, before it starts.
 * out is_open  a bracket or a text is not closed at the end */
static rc_status scan(const struct rc_bundle_file *file, bool *is_open, struct rc_issues *issues)
{
    int depth = 0;
    int n_values = 0;
    bool is_text = false;
    for (size_t at = 0; at < file->n_bytes; at++) {
        const char c = file->bytes[at];
        if (c == '\0')
            return refuse(issues, file, at, "got a NUL byte, wanted JSON text; save the file as UTF-8");
        if (is_text) {
            if (at + 6 <= file->n_bytes && memcmp(file->bytes + at, "\\u0000", 6) == 0)
                return refuse(issues, file, at, "got the character \\u0000 in a text, which would end there; remove it");
            if (c == '\\' && at + 1 < file->n_bytes && file->bytes[at + 1] != '\0')
                at++;
            else if (c == '"')
                is_text = false;
            continue;
        }
        is_text = c == '"';
        depth += (c == '{' || c == '[') - (c == '}' || c == ']');
        n_values += c == ',' || c == '{' || c == '[';
        if (depth > RC_MAX_JSON_DEPTH)
            return refuse(issues, file, at, "nested deeper than %d levels; no entry of a campaign needs that", RC_MAX_JSON_DEPTH);
        if (n_values > RC_MAX_JSON_VALUES)
            return refuse(issues, file, at, "more than %d values; put long tables into CSV files", RC_MAX_JSON_VALUES);
    }
    *is_open = depth > 0 || is_text;
    return RC_OK;
}

/* Where a key is wanted and something else stands, the parser stops one byte late. */
static size_t stopped_at(const char *bytes, size_t at)
{
    if (at == 0 || strchr("\" \t\r\n0123456789", bytes[at - 1]))
        return at;
    size_t before = at - 1;
    while (before > 0 && strchr(" \t\r\n", bytes[before - 1]))
        before--;
    return before > 0 && (bytes[before - 1] == ',' || bytes[before - 1] == '{') ? at - 1 : at;
}

/* Say what is wrong where the parser stopped. */
static rc_status refuse_syntax(const struct rc_bundle_file *file, size_t stop, bool is_open, struct rc_issues *issues)
{
    const size_t at = stopped_at(file->bytes, stop);
    static const char *const not_numbers[] = {"NaN", "nan", "Infinity", "-Infinity", "inf", "-inf", "Inf", "-NaN", "-nan", "+"};
    const char *rest = file->bytes + at;
    for (size_t word = 0; word < sizeof not_numbers / sizeof not_numbers[0]; word++) {
        if (begins_with(rest, not_numbers[word]))
            return refuse(issues, file, at, "got %s, which is not a JSON number; give a finite number without a plus sign",
                          not_numbers[word]);
    }
    if (begins_with(rest, "//") || begins_with(rest, "/*") || *rest == '#')
        return refuse(issues, file, at, "not JSON: comments are not allowed; put the remark into \"purpose\"");
    cJSON *start = cJSON_ParseWithLengthOpts(file->bytes, file->n_bytes + 1, NULL, false);
    const bool is_whole = start != NULL;
    cJSON_Delete(start);
    if (is_whole)
        return refuse(issues, file, at, "not JSON: there is more text after the end of the campaign; remove it");
    if (is_open && at + 1 >= file->n_bytes)
        return refuse(issues, file, at, "not JSON: the text ends too early; look for a missing } or ] or \"");
    int n = 0;
    while (n < 20 && rest[n] != '\0' && rest[n] != '\n')
        n++;
    return refuse(issues, file, at,
                  "not JSON near `%.*s`; look for a missing or doubled comma, colon, quote or bracket here or just before", n,
                  rest);
}

/* A file of another kind, as a slip of the shell's completion gives it: a store, or a table. */
static rc_status refuse_kind(const struct rc_bundle_file *file, size_t begin, struct rc_issues *issues)
{
    const char *text = file->bytes + begin;
    while (*text == '#' && strchr(text, '\n')) /* a table's remarks */
        text = strchr(text, '\n') + 1;
    const size_t n_line = strcspn(text, "\r\n");
    if (begins_with(text, "rollcast-store"))
        return refuse(issues, file, begin, "is a store, wanted a campaign: a JSON file; rollcast odds, rank and report take "
                                           "stores");
    if (memchr(text, ',', n_line) && !memchr(text, '"', n_line) && strcspn(text, "{[") > n_line)
        return refuse(issues, file, begin, "is a table, `%.*s`, wanted a campaign: a JSON file that names the table, such as by "
                                           "motor.thrust_csv", n_line < 40 ? (int)n_line : 40, text);
    return RC_OK;
}

static bool is_word(const cJSON *node, const char *word)
{
    return cJSON_IsString(node) && strcmp(node->valuestring, word) == 0;
}

rc_status rc_read_parse(struct rc_reader *reader, const struct rc_bundle_file *file, struct rc_issues *issues)
{
    *reader = (struct rc_reader){.file = file->name, .issues = issues};
    const size_t n_mark = file->n_bytes >= 3 && memcmp(file->bytes, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    if (file->n_bytes == n_mark || strspn(file->bytes + n_mark, " \t\r\n") == file->n_bytes - n_mark)
        return refuse(issues, file, 0, "the file is empty, wanted a campaign: a JSON object with name, run, vehicle and so on");
    if (file->n_bytes > RC_MAX_FILE_BYTES)
        return refuse(issues, file, 0, "has %zu bytes, at most %d are accepted; put tables into CSV files", file->n_bytes,
                      RC_MAX_FILE_BYTES);
    rc_status status = refuse_kind(file, n_mark, issues);
    if (status != RC_OK)
        return status;
    bool is_open = false;
    status = scan(file, &is_open, issues);
    if (status != RC_OK)
        return status;
    const char *end = file->bytes;
    cJSON *root = cJSON_ParseWithLengthOpts(file->bytes, file->n_bytes + 1, &end, true);
    if (!root)
        return refuse_syntax(file, (size_t)(end - file->bytes), is_open, issues);
    if (!cJSON_IsObject(root)) {
        cJSON_Delete(root);
        return refuse(issues, file, 0, "wanted a JSON object { ... } at the top of a campaign");
    }
    reader->root = root;
    reader->is_formula = rc_read_node(reader, "formula") != NULL;
    reader->has_wind_table = rc_read_node(reader, "wind.table_csv") != NULL;
    reader->has_gusts = rc_read_node(reader, "wind.gusts") != NULL;
    reader->has_descent = rc_read_node(reader, "descent") != NULL;
    reader->has_body = rc_read_node(reader, "body") != NULL;
    for (int drive = 0; drive < RC_N_DRIVES; drive++) {
        if (is_word(rc_read_node(reader, "drive.kind"), rc_platform_drive_at(drive)->name))
            reader->drive = drive;
    }
    reader->has_pull_out = rc_read_node(reader, "drive.pull_out_csv") != NULL;
    reader->has_play = rc_read_node(reader, "drive.backlash_deg") != NULL;
    reader->has_battery = rc_read_node(reader, "battery") != NULL;
    reader->has_encoder = rc_read_node(reader, "encoder") != NULL;
    reader->acts_on_angle = is_word(rc_read_node(reader, "controller.acts_on"), "angle");
    return RC_OK;
}

void rc_read_free(struct rc_reader *reader)
{
    cJSON_Delete((cJSON *)reader->root);
    reader->root = NULL;
}

int rc_read_drives(int when)
{
    int drives = when >= RC_WHEN_DRIVES ? when : 0;
    for (int drive = 0; when == RC_WHEN_WINDING && drive < RC_N_DRIVES; drive++)
        drives |= rc_platform_drive_at(drive)->takes_pull_out ? RC_WHEN_DRIVES << drive : 0;
    return drives;
}

void rc_read_drive_names(char *text, size_t n, int drives)
{
    size_t used = 0;
    text[0] = '\0';
    for (int drive = 0; drive < RC_N_DRIVES; drive++) {
        if ((drives & RC_WHEN_DRIVES << drive) == 0 || used >= n)
            continue;
        const bool is_last = drives / RC_WHEN_DRIVES >> (drive + 1) == 0;
        const char *const before = used == 0 ? "" : is_last ? " and " : ", ";
        used += (size_t)snprintf(text + used, n - used, "%s\"%s\"", before, rc_platform_drive_at(drive)->name);
    }
}

bool rc_read_applies(const struct rc_reader *reader, int when)
{
    if (when == RC_WHEN_SHARED)
        return true;
    if (reader->is_formula || when == RC_WHEN_FORMULA)
        return reader->is_formula && when == RC_WHEN_FORMULA;
    if (when >= RC_WHEN_DRIVES)
        return (when & RC_WHEN_DRIVES << reader->drive) != 0;
    switch (when) {
    case RC_WHEN_WIND_POWER_LAW:
        return !reader->has_wind_table;
    case RC_WHEN_WIND_TABLE:
        return reader->has_wind_table;
    case RC_WHEN_ACTS_ON_RATE:
        return !reader->acts_on_angle;
    case RC_WHEN_ACTS_ON_ANGLE:
        return reader->acts_on_angle;
    case RC_WHEN_GUSTS:
        return reader->has_gusts;
    case RC_WHEN_DESCENT:
        return reader->has_descent;
    case RC_WHEN_BODY:
        return reader->has_body;
    case RC_WHEN_WINDING:
        return (rc_read_drives(when) & RC_WHEN_DRIVES << reader->drive) != 0 && !reader->has_pull_out;
    case RC_WHEN_BATTERY:
        return reader->has_battery;
    case RC_WHEN_ENCODER:
        return reader->has_encoder;
    case RC_WHEN_ALWAYS:
    case RC_WHEN_FORMULA:
    case RC_WHEN_SHARED:
    default:
        break;
    }
    return true;
}

const cJSON *rc_read_node(const struct rc_reader *reader, const char *path)
{
    const cJSON *node = reader->root;
    while (node && *path != '\0') {
        if (*path == '[') {
            node = cJSON_IsArray(node) ? cJSON_GetArrayItem(node, atoi(path + 1)) : NULL;
            path += strcspn(path, "]") + 1;
        } else {
            path += *path == '.';
            char key[RC_MAX_PATH_TEXT];
            const size_t n = strcspn(path, ".[");
            (void)snprintf(key, sizeof key, "%.*s", (int)n, path);
            node = cJSON_IsObject(node) ? cJSON_GetObjectItemCaseSensitive(node, key) : NULL;
            path += n;
        }
    }
    return node;
}

void rc_read_path(char *path, const char *pattern, int member, int fin)
{
    const int index[] = {member, fin};
    int n_lists = 0;
    size_t n = 0;
    for (const char *c = pattern; *c != '\0' && n + 12 < RC_MAX_PATH_TEXT; c++) {
        if (*c != '[') {
            path[n++] = *c;
            continue;
        }
        if (n_lists < 2 && index[n_lists] >= 0)
            n += (size_t)snprintf(path + n, RC_MAX_PATH_TEXT - n, "[%d]", index[n_lists]);
        n_lists++;
        c++; /* the closing bracket */
    }
    path[n] = '\0';
}

/* Path and key as a JSON pointer. source RFC 6901: ~ and / inside a key are written ~0 and ~1 */
static void name_place(const struct rc_reader *reader, const char *path, const char *key, char *where)
{
    size_t n = (size_t)snprintf(where, RC_ERROR_WHERE, "%.120s: ", reader->file);
    if (*path != '\0')
        where[n++] = '/';
    for (const char *c = path; *c != '\0' && n + 3 < RC_ERROR_WHERE; c++) {
        if (*c != ']')
            where[n++] = *c == '.' || *c == '[' ? '/' : *c;
    }
    if (key)
        where[n++] = '/';
    for (const char *c = key ? key : ""; *c != '\0' && n + 3 < RC_ERROR_WHERE; c++) {
        if (*c == '~' || *c == '/')
            where[n++] = '~';
        where[n++] = *c;
        if (*c == '~' || *c == '/')
            where[n - 1] = *c == '~' ? '0' : '1';
    }
    if (*path == '\0' && !key)
        where[n++] = '/';
    where[n] = '\0';
}

void rc_read_report(const struct rc_reader *reader, const char *path, const char *key, const char *format, ...)
{
    char what[RC_ERROR_WHAT];
    char where[RC_ERROR_WHERE];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    name_place(reader, path, key, where);
    rc_issues_add(reader->issues, where, "%s", what);
}

void rc_read_warn(const struct rc_reader *reader, const char *path, const char *format, ...)
{
    char what[RC_ERROR_WHAT];
    char where[RC_ERROR_WHERE];
    va_list arguments;
    va_start(arguments, format);
    (void)vsnprintf(what, sizeof what, format, arguments);
    va_end(arguments);
    name_place(reader, path, NULL, where);
    rc_issues_warn(reader->issues, where, "%s", what);
}

void rc_read_describe(const cJSON *node, char *text)
{
    if (cJSON_IsNumber(node))
        (void)snprintf(text, RC_READ_GOT, "%.10g", node->valuedouble);
    else if (cJSON_IsString(node))
        (void)snprintf(text, RC_READ_GOT, "\"%.40s%s\"", node->valuestring, strlen(node->valuestring) > 40 ? "..." : "");
    else if (cJSON_IsBool(node))
        (void)snprintf(text, RC_READ_GOT, "%s", cJSON_IsTrue(node) ? "true" : "false");
    else
        (void)snprintf(text, RC_READ_GOT, "%s", cJSON_IsArray(node) ? "a list" : cJSON_IsObject(node) ? "an object" : "null");
}
