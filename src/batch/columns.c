/* The columns of a campaign's store. What a column's numbers mean is said by the tables of quantities and measures. */
#include "columns.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "rollcast/analysis.h"

/* "criteria/<name>": a slash in the name would make a group, and "." means the group itself. */
static void criterion_name(char *name, size_t size, const char *criterion)
{
    (void)snprintf(name, size, "criteria/%s%s", strcmp(criterion, ".") == 0 ? "_" : "", criterion);
    for (char *at = name + strlen("criteria/"); *at; at++)
        if (*at == '/')
            *at = '|';
}

/* Names that became equal by the replacement above get a number. */
static void make_unique(struct rc_columns *columns, int index)
{
    struct rc_columns_text *text = &columns->text[index];
    const size_t length = strlen(text->name);
    int copy = 1;
    for (int other = 0; other < index; other++) {
        if (strcmp(columns->text[other].name, text->name) != 0)
            continue;
        (void)snprintf(text->name + length, sizeof text->name - length, " (%d)", ++copy);
        other = -1; /* the new name may be taken as well */
    }
}

static void criterion_text(struct rc_columns_text *text, const struct rc_criterion *criterion)
{
    const struct rc_measure_row *row = rc_measures_row(criterion->measure);
    char limits[96] = "";
    size_t used = 0;
    if (isfinite(criterion->at_least))
        used = (size_t)snprintf(limits, sizeof limits, " at least %.9g %s", criterion->at_least, row->unit);
    if (isfinite(criterion->at_most))
        (void)snprintf(limits + used, sizeof limits - used, "%s at most %.9g %s", used > 0 ? " and" : "", criterion->at_most,
                       row->unit);
    criterion_name(text->name, sizeof text->name, criterion->name);
    (void)snprintf(text->unit, sizeof text->unit, "1");
    const char *where = rc_measures_is_formula(criterion->measure) ? "formula has a" : "flight reached apogee with";
    (void)snprintf(text->long_name, sizeof text->long_name, "1 where the %s %s%s, else 0", where, row->name, limits);
}

static void end_text(struct rc_columns_text *text)
{
    (void)snprintf(text->name, sizeof text->name, "end");
    (void)snprintf(text->unit, sizeof text->unit, "1");
    size_t used = (size_t)snprintf(text->long_name, sizeof text->long_name, "how the flight ended:");
    for (int end = 0; end < RC_N_ENDS && used < sizeof text->long_name; end++)
        used += (size_t)snprintf(text->long_name + used, sizeof text->long_name - used, "%s %d %s", end > 0 ? ";" : "", end,
                                 rc_measures_end_text(end));
}

rc_status rc_columns_list(struct rc_columns *columns, const rc_campaign *campaign, struct rc_error *err)
{
    *columns = (struct rc_columns){.n_quantities = rc_campaign_uncertain_count(campaign),
                                   .n_criteria = rc_campaign_criteria_count(campaign)};
    for (int measure = 0; measure < RC_N_MEASURES; measure++)
        if (rc_campaign_keeps(campaign, measure))
            columns->measure[columns->n_measures++] = measure;
    columns->n = columns->n_quantities + columns->n_measures + columns->n_criteria + 2;
    columns->text = calloc((size_t)columns->n, sizeof *columns->text);
    columns->column = calloc((size_t)columns->n, sizeof *columns->column);
    if (!columns->text || !columns->column)
        return rc_error_fill(err, RC_NO_MEMORY, NULL, "no memory for the list of columns");
    struct rc_columns_text *text = columns->text;
    for (int index = 0; index < columns->n_quantities; index++, text++) {
        const struct rc_quantity_view view = rc_campaign_uncertain(campaign, index);
        (void)snprintf(text->name, sizeof text->name, "quantities/%s", view.path);
        (void)snprintf(text->unit, sizeof text->unit, "%s", view.unit);
        (void)snprintf(text->long_name, sizeof text->long_name, "%s", view.meaning);
    }
    for (int index = 0; index < columns->n_measures; index++, text++) {
        const struct rc_measure_row *row = rc_measures_row(columns->measure[index]);
        (void)snprintf(text->name, sizeof text->name, "measures/%s", row->name);
        (void)snprintf(text->unit, sizeof text->unit, "%s", row->unit);
        (void)snprintf(text->long_name, sizeof text->long_name, "%s", row->meaning);
    }
    for (int index = 0; index < columns->n_criteria; index++, text++) {
        criterion_text(text, rc_campaign_criterion(campaign, index));
        make_unique(columns, (int)(text - columns->text));
    }
    criterion_name(text->name, sizeof text->name, rc_campaign_all_together(campaign)->name);
    make_unique(columns, (int)(text - columns->text));
    (void)snprintf(text->unit, sizeof text->unit, "1");
    (void)snprintf(text->long_name, sizeof text->long_name, "1 where the flight met all criteria, else 0");
    end_text(text + 1);
    for (int index = 0; index < columns->n; index++)
        columns->column[index] = (struct rc_store_column){columns->text[index].name, columns->text[index].unit,
                                                          columns->text[index].long_name};
    return RC_OK;
}

void rc_columns_free(struct rc_columns *columns)
{
    free(columns->text);
    free(columns->column);
    *columns = (struct rc_columns){0};
}

bool rc_columns_fill(const struct rc_columns *columns, const rc_campaign *campaign, const struct rc_record *record, double *row)
{
    double *at = row + columns->n_quantities;
    bool meets_all = record->end == RC_END_APOGEE;
    for (int index = 0; index < columns->n_measures; index++)
        *at++ = record->measure[columns->measure[index]];
    for (int index = 0; index < columns->n_criteria; index++) {
        const struct rc_criterion *criterion = rc_campaign_criterion(campaign, index);
        const bool meets = rc_odds_is_met(criterion, record->measure[criterion->measure], (double)record->end);
        meets_all = meets_all && meets;
        *at++ = meets ? 1.0 : 0.0;
    }
    *at++ = meets_all ? 1.0 : 0.0;
    *at = (double)record->end;
    return meets_all;
}
