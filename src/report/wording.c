/* Shared words of the text answers. Layout is left to the callers. */
#include "wording.h"

#include <math.h>
#include <string.h>

#include "figures.h"
#include "measures/measures.h"

const char *rc_wording_unit(const char *unit)
{
    return strcmp(unit, "1") == 0 ? "" : unit;
}

const char *rc_wording_nose(enum rc_nose_shape shape)
{
    static const char *const words[] = {[RC_NOSE_CONE] = "cone", [RC_NOSE_OGIVE] = "ogive", [RC_NOSE_POWER] = "power-law",
                                        [RC_NOSE_VON_KARMAN] = "von Karman"};
    return words[shape];
}

void rc_wording_setting(const rc_campaign *campaign, const char *path, char *text, size_t size)
{
    (void)snprintf(text, size, "%s", "");
    for (int index = 0; index < rc_campaign_setting_count(campaign); index++) {
        const struct rc_setting_view view = rc_campaign_setting(campaign, index);
        if (strcmp(view.path, path) == 0) {
            (void)snprintf(text, size, "%s", view.value);
        }
    }
}

void rc_wording_camera(const rc_campaign *campaign, int camera, char *text, size_t size)
{
    char path[64];
    (void)snprintf(path, sizeof path, "cameras[%d].name", camera);
    rc_wording_setting(campaign, path, text, size);
}

void rc_wording_limit(FILE *out, const struct rc_criterion *criterion)
{
    const struct rc_measure_row *measure = rc_measures_row(criterion->measure);
    const char *unit = rc_wording_unit(measure->unit);
    const char *blank = *unit != '\0' ? " " : "";
    const int has_low = isfinite(criterion->at_least);
    const int has_high = isfinite(criterion->at_most);

    fputs(measure->name, out);
    if (has_low) {
        fprintf(out, " at least %s%s%s", rc_figures_plain(criterion->at_least).text, blank, unit);
    }
    if (has_high) {
        fprintf(out, "%s at most %s%s%s", has_low ? " and" : "", rc_figures_plain(criterion->at_most).text, blank, unit);
    }
    if (!has_low && !has_high) {
        fputs(" without a limit", out);
    }
}

void rc_wording_asked(FILE *out, const struct rc_criterion *criterion)
{
    fprintf(out, "asked in %s %% of flights @ %s %% confidence", rc_figures_plain(100.0 * criterion->odds).text,
            rc_figures_plain(100.0 * criterion->confidence).text);
}
