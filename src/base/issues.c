/* Collecting every complaint about one input. The list is capped, the counts are not. */
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base.h"

/* Errors push out warnings when the list is full: what stops the user is worth more than what may not matter. */
static struct rc_error *place_for(struct rc_issues *issues, rc_status status)
{
    if (issues->n_kept < RC_MAX_ISSUES)
        return &issues->item[issues->n_kept++];
    if (status == RC_OK)
        return NULL;
    for (int item = RC_MAX_ISSUES - 1; item >= 0; item--) {
        if (issues->item[item].status == RC_OK)
            return &issues->item[item];
    }
    return NULL;
}

static void keep(struct rc_issues *issues, rc_status status, const char *where, const char *format, va_list arguments)
{
    struct rc_error *item = place_for(issues, status);
    if (!item)
        return;
    char what[RC_ERROR_WHAT + 1]; /* one byte more than fits, so that the cut is seen and made between characters */
    if (vsnprintf(what, sizeof what, format, arguments) < 0)
        what[0] = '\0';
    rc_error_fill(item, status, where, "%s", what);
}

void rc_issues_add(struct rc_issues *issues, const char *where, const char *format, ...)
{
    issues->n_errors++;
    va_list arguments;
    va_start(arguments, format);
    keep(issues, RC_BAD_INPUT, where, format, arguments);
    va_end(arguments);
}

void rc_issues_warn(struct rc_issues *issues, const char *where, const char *format, ...)
{
    issues->n_warnings++;
    va_list arguments;
    va_start(arguments, format);
    keep(issues, RC_OK, where, format, arguments);
    va_end(arguments);
}

bool rc_issues_has(const struct rc_issues *issues, const struct rc_error *item)
{
    for (int index = 0; index < issues->n_kept; index++) {
        const struct rc_error *kept = &issues->item[index];
        if (kept->status == item->status && strcmp(kept->where, item->where) == 0 && strcmp(kept->what, item->what) == 0)
            return true;
    }
    return false;
}

rc_status rc_issues_first_error(const struct rc_issues *issues, rc_status status, struct rc_error *err)
{
    for (int item = 0; item < issues->n_kept; item++) {
        if (issues->item[item].status != RC_OK)
            return rc_error_fill(err, status, issues->item[item].where, "%s", issues->item[item].what);
    }
    return rc_error_fill(err, status, "", "%s", rc_status_text(status));
}
