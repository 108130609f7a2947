/* Writes the campaign reference from the tables that read a campaign: quantities, settings, distributions, plans, measures, CSV
 * columns. With a file's name it compares instead, so that a test can tell when the page has fallen behind. */
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "base/base.h"
#include "campaign/law.h"
#include "campaign/law_lists.h"
#include "campaign/quantities.h"
#include "campaign/settings.h"
#include "campaign/tables.h"
#include "measures/measures.h"
#include "sampling/sampling.h"

static const char introduction[] =
    "# Campaign reference\n"
    "\n"
    "Generated from the program's own tables by the build target `campaign_reference`; do not edit. Regenerate after a change "
    "of\n"
    "`src/campaign/quantities.def`, `src/campaign/settings.def` or the other tables named here:\n"
    "\n"
    "    BUILD-FOLDER/tests/unit/campaign/campaign_reference > docs/campaign-reference.md\n"
    "\n"
    "A campaign is one JSON file and the CSV tables it names. Keys carry their unit: `_m` metre, `_kg` kilogram, `_s` second, "
    "`_K`\n"
    "kelvin, `_Pa` pascal, `_N` newton, `_Nm` newton metre, `_deg` degree, `_dps` degree per second, `_hz` per second, `_px` "
    "pixel.\n"
    "Stations count from the nose tip, aft positive; roll, cant and misalignment are positive by the right hand about the nose\n"
    "direction; azimuths and wind directions are clockwise from north. `rollcast check FILE` tells every mistake at once, with "
    "its place\n"
    "as a JSON pointer and the nearest known key. [first.json](../campaigns/first.json) is a complete example.\n"
    "Editors that know JSON Schema complete and check a campaign by [campaign.schema.json](campaign.schema.json), made of the same "
    "tables: name it in the\n"
    "file as `\"$schema\": \"PATH/campaign.schema.json\"`. What depends on several entries is checked by `rollcast check` alone.\n"
    "\n"
    "A row with an allowed range and a unit is a *quantity*: its value may be a plain number or a distribution, in the same "
    "unit. All other\n"
    "rows are fixed. With `formula` a campaign works out that formula instead of flying: it has `name`, `purpose`, `run` (`flights`,\n"
    "`seed`, `plan`), `formula`, `inputs`, `correlations`, `criteria` on `result`, and `all_together`; without it it has no `inputs`.\n"
    "A path such as `fins[].cant_deg` is the key `cant_deg` in each object of the list `fins`.\n";

static const char tables_text[] =
    "\n## CSV tables\n"
    "\n"
    "File names are relative to the campaign's folder; `..` is allowed, absolute paths are not. The first line names the "
    "columns, in any\n"
    "order; fields are separated by commas, numbers have points whatever the locale. A UTF-8 byte order mark, CRLF line ends, "
    "blank lines,\n"
    "lines that begin with `#` and spaces around fields are accepted. The first column below must rise from row to row.\n";

/* Top-level keys in the page's order. */
static const char *const groups[] = {"$schema", "name",       "purpose", "cost_unit", "run",     "formula", "inputs",    "vehicle",  "body",       "motor",       "fins",  "aero",
                                     "site",       "rail",    "pad",     "wind",     "descent",     "platform", "drive", "battery", "gyro", "encoder",
                                     "controller", "cameras", "footage", "correlations", "sweep", "criteria", "all_together"};

static bool is_in(const char *path, const char *group)
{
    const size_t n = strlen(group);
    return strncmp(path, group, n) == 0 && (path[n] == '\0' || path[n] == '.' || path[n] == '[');
}

/* The drives that have a row. */
static const char *drives_text(int when)
{
    static char text[200];
    int n_drives = 0;
    for (int drive = 0; drive < RC_N_DRIVES; drive++)
        n_drives += (when & RC_WHEN_DRIVES << drive) != 0;
    size_t n = (size_t)snprintf(text, sizeof text, " (drive kind%s", n_drives > 1 ? "s" : "");
    for (int drive = 0, told = 0; drive < RC_N_DRIVES; drive++) {
        if (when & RC_WHEN_DRIVES << drive)
            n += (size_t)snprintf(text + n, sizeof text - n, "%s%s", told++ > 0 ? " and " : " ", rc_platform_drive_at(drive)->name);
    }
    (void)snprintf(text + n, sizeof text - n, ")");
    return text;
}

static const char *when_text(int when)
{
    if (when >= RC_WHEN_DRIVES)
        return drives_text(when);
    switch (when) {
    case RC_WHEN_WIND_POWER_LAW:
        return " (without `wind.table_csv`)";
    case RC_WHEN_WIND_TABLE:
        return " (with `wind.table_csv`)";
    case RC_WHEN_ACTS_ON_RATE:
        return " (with `acts_on` rate)";
    case RC_WHEN_ACTS_ON_ANGLE:
        return " (with `acts_on` angle)";
    case RC_WHEN_GUSTS:
        return " (with `wind.gusts`)";
    case RC_WHEN_DESCENT:
        return " (with `descent`)";
    case RC_WHEN_BODY:
        return " (with `body`)";
    case RC_WHEN_WINDING:
        return " (drive kind stepper without `drive.pull_out_csv`)";
    case RC_WHEN_BATTERY:
        return " (with `battery`)";
    case RC_WHEN_ENCODER:
        return " (with `encoder`)";
    case RC_WHEN_FORMULA:
    case RC_WHEN_SHARED:
    case RC_WHEN_ALWAYS:
        break;
    }
    return "";
}

/* The path of the row whose field stands at an offset, for defaults that follow another quantity. */
static const char *path_at(size_t offset)
{
    for (int row = 0; row < rc_quantities_count(); row++) {
        if (rc_quantities_row(row)->offset == offset)
            return rc_quantities_row(row)->path;
    }
    return "?";
}

static void add_quantity(struct rc_text *page, const struct rc_quantity_row *row)
{
    rc_text_add(page, row->is_whole && row->high == 1 ? "| `%s` | %s | %.10g or %.10g | " : "| `%s` | %s | %.10g to %.10g | ", row->path, row->unit, row->low,
                row->high);
    if (row->fallback.kind == RC_DEFAULT_NONE)
        rc_text_add(page, "required");
    else if (row->fallback.kind == RC_DEFAULT_VALUE)
        rc_text_add(page, "%.10g", row->fallback.value);
    else if (row->fallback.value == 1)
        rc_text_add(page, "`%s`", path_at(row->fallback.offset));
    else
        rc_text_add(page, "%.10g `%s`", row->fallback.value, path_at(row->fallback.offset));
    rc_text_add(page, " | %s%s |\n", row->meaning, when_text(row->when));
}

static void add_setting(struct rc_text *page, const struct rc_setting_row *row)
{
    static const char *const kinds[] = {[RC_SETTING_TEXT] = "text",
                                        [RC_SETTING_FILE] = "file name",
                                        [RC_SETTING_INTEGER] = "integer",
                                        [RC_SETTING_NUMBER] = "fixed number",
                                        [RC_SETTING_CHOICE] = "word"};
    rc_text_add(page, "| `%s` | %s | ", row->path, kinds[row->kind]);
    for (int index = 0; row->choice(index); index++)
        rc_text_add(page, "%s`%s`", index > 0 ? ", " : "", row->choice(index));
    if (row->kind == RC_SETTING_TEXT || row->kind == RC_SETTING_FILE)
        rc_text_add(page, "%g to %g bytes", row->low, row->high);
    else if (row->kind != RC_SETTING_CHOICE)
        rc_text_add(page, "%.17g to %.17g", row->low, row->high);
    const char *fallback = row->kind == RC_SETTING_CHOICE ? row->choice((int)row->fallback.value) : NULL;
    if (row->fallback.kind == RC_DEFAULT_NONE)
        rc_text_add(page, " | required");
    else if (fallback)
        rc_text_add(page, " | `%s`", fallback);
    else if (row->kind == RC_SETTING_TEXT || row->kind == RC_SETTING_FILE || isinf(row->fallback.value))
        rc_text_add(page, " | none");
    else
        rc_text_add(page, " | %.10g", row->fallback.value);
    rc_text_add(page, " | %s |\n", row->meaning);
}

/* ends number of rows written */
static int add_group(struct rc_text *page, const char *group)
{
    int n_rows = 0;
    for (int index = 0; index < rc_settings_count(); index++) {
        if (is_in(rc_settings_row(index)->path, group)) {
            add_setting(page, rc_settings_row(index));
            n_rows++;
        }
    }
    for (int index = 0; index < rc_quantities_count(); index++) {
        if (is_in(rc_quantities_row(index)->path, group)) {
            add_quantity(page, rc_quantities_row(index));
            n_rows++;
        }
    }
    return n_rows;
}

static void add_distributions(struct rc_text *page)
{
    rc_text_add(
        page,
        "\n## Distributions\n\nA distribution is an object with its name and all its parameters, for instance\n"
        "`{\"distribution\": \"normal\", \"mean\": 0, \"sd\": 0.05}`. It may leave the quantity's allowed range in at most one\n"
        "flight in a million; draws outside are held at the range's edge.\n\n| name | parameters | meaning |\n|---|---|---|\n");
    for (int index = 0; index < rc_distribution_count(); index++) {
        const struct rc_distribution_kind *kind = rc_distribution_at(index);
        rc_text_add(page, "| `%s` | ", kind->name);
        for (int p = 0; p < kind->n_parameters; p++)
            rc_text_add(page, "%s`%s`: %s", p > 0 ? "; " : "", kind->parameter[p].key, kind->parameter[p].meaning);
        for (int list = 0; !kind->is_column && list < kind->n_lists; list++)
            rc_text_add(page, "%s`%s`: %s", list > 0 ? "; " : "", kind->list[list].key, kind->list[list].meaning);
        if (kind->is_column)
            rc_text_add(page, "; `%s`: file name; `%s`: its column, as the first line names it", rc_law_lists_key(kind, 0),
                        rc_law_lists_key(kind, 1));
        rc_text_add(page, " | %s |\n", kind->summary);
    }
    rc_text_add(page, "\nAny of them may have these entries too; its limits hold for what comes out.\n\n"
                      "| entry | allowed | default | meaning |\n|---|---|---|---|\n");
    for (int extra = 0; extra < RC_N_LAW_ENTRIES; extra++) {
        const struct rc_law_row *row = rc_law_row((enum rc_law_entry)extra);
        rc_text_add(page, "| `%s` | %.10g to %.10g | ", row->key, row->low, row->high);
        if (isfinite(row->fallback))
            rc_text_add(page, "%.10g", row->fallback);
        else
            rc_text_add(page, "none");
        rc_text_add(page, " | %s |\n", row->meaning);
    }
    rc_text_add(page, "\n## Sampling plans\n\n| name | meaning |\n|---|---|\n");
    for (int index = 0; index < rc_plan_count(); index++)
        rc_text_add(page, "| `%s` | %s |\n", rc_plan_at(index)->name, rc_plan_at(index)->summary);
}

static void add_measures(struct rc_text *page)
{
    rc_text_add(page, "\n## Measures\n\nWhat a criterion may be held against; limits are in the unit given.\n\n"
                      "| name | unit | meaning |\n|---|---|---|\n");
    for (int measure = 0; measure < RC_N_MEASURES; measure++) {
        const struct rc_measure_row *row = rc_measures_row(measure);
        rc_text_add(page, "| `%s` | %s | %s |\n", row->name, row->unit, row->meaning);
    }
}

static void add_tables(struct rc_text *page)
{
    rc_text_add(page, "%s", tables_text);
    for (int table = 0; table < RC_N_TABLES; table++) {
        const struct rc_csv_form *form = rc_tables_form((enum rc_table)table);
        rc_text_add(page, "\nThe %s has %d to %d rows:\n\n| column | allowed | | meaning |\n|---|---|---|---|\n", form->what,
                    form->n_rows_least, RC_MAX_TABLE_ROWS);
        for (int column = 0; column < form->n_columns; column++)
            rc_text_add(page, "| `%s` | %.10g to %.10g | %s | %s |\n", form->column[column].name, form->column[column].low,
                        form->column[column].high, form->column[column].is_required ? "required" : "optional",
                        form->column[column].meaning);
    }
}

static void add_limits(struct rc_text *page)
{
    rc_text_add(page, "\n## Limits\n\n| what | at most |\n|---|---|\n");
    rc_text_add(page,
                "| bytes of a campaign or table file | %d |\n| values of a campaign | %d |\n| uncertain quantities, for each of which plan "
                "`sobol` has directions | %d |\n",
                RC_MAX_FILE_BYTES, RC_MAX_JSON_VALUES, RC_MAX_UNCERTAIN);
    rc_text_add(page, "| fin sets | %d |\n| fins of a set | %d |\n| cameras | %d |\n| criteria | %d |\n| band times | %d |\n",
                RC_MAX_FIN_SETS, RC_MAX_FINS, RC_MAX_CAMERAS, RC_MAX_CRITERIA, RC_MAX_BAND_TIMES);
}

/* ends false if a row of a table belongs to no group */
static bool write_page(struct rc_text *page)
{
    int n_rows = 0;
    rc_text_add(page, "%s\n## Entries\n\n| path | unit or kind | allowed | default | meaning |\n|---|---|---|---|---|\n",
                introduction);
    for (size_t group = 0; group < sizeof groups / sizeof groups[0]; group++)
        n_rows += add_group(page, groups[group]);
    add_distributions(page);
    add_measures(page);
    add_tables(page);
    add_limits(page);
    return n_rows == rc_settings_count() + rc_quantities_count();
}

int main(int n_arguments, char **argument)
{
    struct rc_text page = {0};
    char *bytes = NULL;
    size_t n_bytes = 0;
    struct rc_error err = {.status = RC_OK};
    int code = 1;
    if (!write_page(&page) || page.failed) {
        (void)fprintf(stderr, "a row of the tables is in no group of this program: add its group\n");
    } else if (n_arguments < 2) {
        code = fwrite(page.bytes, 1, page.n_bytes, stdout) == page.n_bytes && fflush(stdout) == 0 ? 0 : 1;
    } else if (rc_file_read(&bytes, &n_bytes, argument[1], RC_MAX_FILE_BYTES, &err) != RC_OK) {
        (void)fprintf(stderr, "%s: %s\n", err.where, err.what);
    } else if (n_bytes != page.n_bytes || memcmp(bytes, page.bytes, n_bytes) != 0) {
        (void)fprintf(stderr, "%s is not in step with the program's tables; write it anew: campaign_reference > %s\n",
                      argument[1], argument[1]);
    } else {
        code = 0;
    }
    free(bytes);
    rc_text_free(&page);
    return code;
}
